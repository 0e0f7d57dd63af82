# SPDX-License-Identifier: GPL-3.0-or-later
# Fish completion of cradlewright; tests/package/check_words.py holds it against the program's own --help.

set -l scan_commands survey sweep make parts layup new
set -l folder_commands make parts layup sweep
set -l all_commands $scan_commands fillet cloth explain
set -l none "not __fish_seen_subcommand_from $all_commands"
set -l any "__fish_seen_subcommand_from $all_commands"
set -l scans "__fish_seen_subcommand_from $scan_commands"
set -l folders "__fish_seen_subcommand_from $folder_commands"

complete -c cradlewright -n $none -f
complete -c cradlewright -n $none -a survey -d 'Say what a scan is and what to do about it'
complete -c cradlewright -n $none -a sweep -d 'Compare tilts and recommend one'
complete -c cradlewright -n $none -a make -d 'Design the fixture and write everything'
complete -c cradlewright -n $none -a parts -d 'Design the fixture, write the cut files only'
complete -c cradlewright -n $none -a layup -d 'Write cloth patterns and shopping list only'
complete -c cradlewright -n $none -a new -d 'Print a commented job file with every setting'
complete -c cradlewright -n $none -a fillet -d 'Will these plies lie on a clay bead?'
complete -c cradlewright -n $none -a cloth -d 'Bending length and rigidity of your own cloth'
complete -c cradlewright -n $none -a explain -d 'Say what a check computes and from where'
complete -c cradlewright -n $none -l version -d 'Show versions'
complete -c cradlewright -s h -l help -d 'Show help'

complete -c cradlewright -n $any -l set -x -d 'Any setting, KEY=VALUE'
complete -c cradlewright -n $any -l units -x -a 'metric inch' -d 'For what you read'
complete -c cradlewright -n $any -l json -d 'Print JSON on standard output'
complete -c cradlewright -n $any -l quiet -d 'Print nothing but warnings and errors'

complete -c cradlewright -n $scans -l unit -x -a 'mm cm m in ft' -d 'Unit of the scan'
complete -c cradlewright -n $scans -l known -x -d 'LENGTH along span fixes the scale'
complete -c cradlewright -n $scans -l tilt -x -d 'Lifts the front edge'
complete -c cradlewright -n $scans -l turn -x -d 'Turns about the vertical'
complete -c cradlewright -n $scans -l pull -x -a 'vertical plug-up best' -d 'Which way half 1 leaves'
complete -c cradlewright -n $scans -l up -x -a 'x -x y -y z -z' -d 'Which way is up in the scan'
complete -c cradlewright -n $scans -l span -x -a 'x -x y -y z -z' -d 'Which way is long in the scan'
complete -c cradlewright -n $scans -l ribs -x -d 'Number of ribs; 0 chooses'
complete -c cradlewright -n $scans -l stations -x -d 'Where ribs stand, along the span'
complete -c cradlewright -n $scans -l paper -x -a 'letter legal tabloid a4 a3' -d 'Size of the templates'
complete -c cradlewright -n '__fish_seen_subcommand_from survey sweep make parts layup' -l threads -x -d 'Use at most this many processors'

complete -c cradlewright -n $folders -l out -r -d 'Folder to write'
complete -c cradlewright -n '__fish_seen_subcommand_from survey sweep make parts layup' -l overwrite -d 'Replace it if it exists'
complete -c cradlewright -n '__fish_seen_subcommand_from make parts layup' -l dump-stages -r -d 'Also write what each stage found'
complete -c cradlewright -n '__fish_seen_subcommand_from survey' -l mended -r -d 'Write the mended mesh as PLY'
complete -c cradlewright -n '__fish_seen_subcommand_from sweep' -l from -x -d 'First tilt'
complete -c cradlewright -n '__fish_seen_subcommand_from sweep' -l to -x -d 'Last tilt'
complete -c cradlewright -n '__fish_seen_subcommand_from sweep' -l steps -x -d 'Tilts tried'
complete -c cradlewright -n '__fish_seen_subcommand_from parts' -l cut-by -x -a 'print saw router' -d 'How parts are cut'

complete -c cradlewright -n '__fish_seen_subcommand_from fillet' -l radius -x -a auto -d 'Of the bead'
complete -c cradlewright -n '__fish_seen_subcommand_from fillet' -l mould-plies -x -d 'NAME xN, NAME xN; outside first'
complete -c cradlewright -n '__fish_seen_subcommand_from fillet' -l part-plies -x -d 'The same for the part'
complete -c cradlewright -n '__fish_seen_subcommand_from fillet' -l corner -x -d 'Between plug and panel'
complete -c cradlewright -n '__fish_seen_subcommand_from cloth' -l overhang -x -d 'Of a strip whose tip meets 41.5 deg'
complete -c cradlewright -n '__fish_seen_subcommand_from cloth' -l areal -x -d 'Mass per area'
complete -c cradlewright -n '__fish_seen_subcommand_from explain' -a "(cradlewright explain 2>/dev/null | string match -r '^  [a-z]+\.[a-z-]+' | string trim)" -d Check
