# SPDX-License-Identifier: GPL-3.0-or-later
"""Man page and shell completions know exactly the commands and options that the program's own --help tells.

Each shell that is installed is also asked what it would offer.
"""
import os
import re
import shutil
import subprocess
import sys


def run(*args, **how):
    return subprocess.run(args, capture_output=True, text=True, check=True, **how).stdout


def help_words(program):
    """{command: set of long options}; '' is the program itself."""
    def options(text):
        return set(re.findall(r"^  (?:-\w,)?(--[a-z-]+)", text, re.M))
    text = run(program, "--help")
    commands = re.findall(r"^  ([a-z]+) +\S", text[text.index("Subcommands:"):], re.M)
    return {"": options(text)} | {c: options(run(program, c, "--help")) for c in commands}


def difference(name, wanted, found):
    lines = []
    if wanted - found:
        lines.append(f"{name} lacks {sorted(wanted - found)}")
    if found - wanted:
        lines.append(f"{name} has {sorted(found - wanted)}, which the program does not know")
    return lines


def man_faults(page, words):
    with open(page, encoding="utf-8") as file:
        text = file.read()
    found = set(re.findall(r"--[a-z][a-z-]+", text.replace("\\-", "-")))
    faults = difference("the man page", set().union(*words.values()), found)
    section = text[text.index(".SH COMMANDS"):text.index(".SH OPTIONS")]
    faults += difference("the man page's commands", set(words) - {""}, set(re.findall(r"^\.B ([a-z]+)$", section, re.M)))
    if shutil.which("man"):
        run_ = subprocess.run(["man", "--warnings", "-E", "UTF-8", "-l", "-Tutf8", "-Z", page], capture_output=True, text=True,
                              env=dict(os.environ, MANWIDTH="80", LC_ALL="C.UTF-8"), check=False)
        if run_.returncode != 0 or run_.stderr:
            faults.append(f"man complains: {run_.stderr[:500]}")
    return faults


BASH = """
source "$1"
shift
COMP_WORDS=("$@")
COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
_cradlewright
printf '%s\\n' "${COMPREPLY[@]}"
"""


def bash_offers(folder, *typed):
    return set(run("bash", "-c", BASH, "bash", os.path.join(folder, "cradlewright.bash"), *typed).split())


def fish_offers(folder, *typed):
    script = f"source {os.path.join(folder, 'cradlewright.fish')}; complete -C '{' '.join(typed)}'"
    return {line.split("\t")[0] for line in run("fish", "--no-config", "-c", script, env=dict(os.environ, HOME="/nonexistent")).splitlines()}


def shell_faults(shell, offers, words):
    faults = difference(f"{shell}'s commands", set(words) - {""}, {w for w in offers("cradlewright", "") if not w.startswith("-")})
    for command, options in words.items():
        typed = ("cradlewright", command, "--") if command else ("cradlewright", "--")
        faults += difference(f"{shell} for '{command}'", options, {w for w in offers(*typed) if w.startswith("--")})
    return faults


def zsh_faults(path, words):
    """Its completion cannot be asked without a terminal: the words are read, and the shell reads the file."""
    with open(path, encoding="utf-8") as file:
        text = file.read()
    faults = difference("zsh", set().union(*words.values()), set(re.findall(r"--[a-z][a-z-]+", re.sub(r"^#.*", "", text, flags=re.M))))
    faults += difference("zsh's commands", set(words) - {""}, set(re.findall(r"^            '([a-z]+):", text, re.M)))
    for command, options in words.items():
        case = re.search(rf"^        (?:\w+ \| )*{command}(?: \| \w+)*\)(.*?);;", text, re.M | re.S) if command else None
        if case is None:
            continue
        known = set(re.findall(r"--[a-z-]+", case[1]))
        for group in re.findall(r"\$(common|settings|folder|dump)\b", case[1]):
            body = re.search(rf"^    (?:local )?{group}=(\(.*?^    \)|'.*?'$)", text, re.M | re.S)[1]
            known |= set(re.findall(r"--[a-z-]+", body))
        faults += difference(f"zsh for '{command}'", options, known)
    if shutil.which("zsh"):
        subprocess.run(["zsh", "-n", path], check=True)
    return faults


def main():
    program, source = os.path.abspath(sys.argv[1]), sys.argv[2]
    words = help_words(program)
    folder = os.path.join(source, "src/app/completions")
    faults = [] if len(words) > 5 else ["--help was not understood"]
    faults += man_faults(os.path.join(source, "src/app/man/cradlewright.1"), words)
    faults += shell_faults("bash", lambda *typed: bash_offers(folder, *typed), words)
    if shutil.which("fish"):
        faults += shell_faults("fish", lambda *typed: fish_offers(folder, *typed), words)
    faults += zsh_faults(os.path.join(folder, "_cradlewright"), words)
    sys.exit("\n".join(faults) if faults else 0)


if __name__ == "__main__":
    main()
