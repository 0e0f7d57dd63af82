# SPDX-License-Identifier: GPL-3.0-or-later
# Bash completion of cradlewright; tests/package/check_words.py holds it against the program's own --help.

_cradlewright_options() {
    local common="--help --set --units --json --quiet"
    local settings="--unit --known --tilt --turn --pull --up --span --ribs --stations --paper"
    local folder="--out --overwrite --dump-stages --threads"
    case $1 in
        survey) echo "$common $settings --mended --overwrite --threads" ;;
        sweep) echo "$common $settings --from --to --steps --out --overwrite --threads" ;;
        make | layup) echo "$common $settings $folder" ;;
        parts) echo "$common $settings $folder --cut-by" ;;
        new) echo "$common $settings" ;;
        fillet) echo "$common --radius --mould-plies --part-plies --corner" ;;
        cloth) echo "$common --overhang --areal" ;;
        explain) echo "$common" ;;
        *) echo "--help --version" ;;
    esac
}

_cradlewright() {
    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} command=${COMP_WORDS[1]} choices=""
    COMPREPLY=()
    if ((COMP_CWORD == 1)); then
        choices="survey sweep make parts layup new fillet cloth explain $(_cradlewright_options)"
        mapfile -t COMPREPLY < <(compgen -W "$choices" -- "$word")
        return
    fi
    case $before in
        --unit) choices="mm cm m in ft" ;;
        --units) choices="metric inch" ;;
        --pull) choices="vertical plug-up best" ;;
        --up | --span) choices="x -x y -y z -z" ;;
        --paper) choices="letter legal tabloid a4 a3" ;;
        --cut-by) choices="print saw router" ;;
        --out | --dump-stages)
            mapfile -t COMPREPLY < <(compgen -d -- "$word")
            compopt -o filenames 2>/dev/null
            return
            ;;
        --mended)
            mapfile -t COMPREPLY < <(compgen -f -- "$word")
            compopt -o filenames 2>/dev/null
            return
            ;;
        --set | --known | --tilt | --turn | --ribs | --stations | --threads | --from | --to | --steps | --radius | --mould-plies | \
            --part-plies | --corner | --overhang | --areal) return ;;
    esac
    if [[ -z $choices && $word == -* ]]; then
        choices=$(_cradlewright_options "$command")
    elif [[ -z $choices && $command == explain ]] && ((COMP_CWORD == 2)); then
        choices=$("${COMP_WORDS[0]}" explain 2>/dev/null | awk '$1 ~ /^[a-z]+\.[a-z-]+$/ { print $1 }')
    fi
    if [[ -n $choices ]]; then
        mapfile -t COMPREPLY < <(compgen -W "$choices" -- "$word")
        return
    fi
    # Scans and jobs, and the folders on the way to them.
    local file
    while IFS= read -r file; do
        case ${file,,} in
            *.stl | *.obj | *.ply | *.off | *.3mf | *.glb | *.toml | *.json) COMPREPLY+=("$file") ;;
            *) [[ -d $file ]] && COMPREPLY+=("$file") ;;
        esac
    done < <(compgen -f -- "$word")
    compopt -o filenames 2>/dev/null
}

complete -F _cradlewright cradlewright
