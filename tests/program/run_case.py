# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs one case of cases.toml against the built program, in a folder of its own.

A case has `steps` (or is one step itself). A step: args, exit, and what must hold afterwards:
  stdout, stderr   regular expressions that must be found      not_stdout   that must not
  save             file that standard output is kept in        writes, absent   files that must (not) be there
  equal            pairs of folders or files with the same bytes
  for_each         runs the step once per word, put in place of {}
  max_file         file size limit in bytes: a stand-in for a full disk
  interrupts       sends an interrupt as soon as the hidden output folder appears
  routed           every program of this folder's router/ is run by Debian's rs274 without complaint
  lists_files      report.json in this folder names exactly the files beside it
  terminal         "colour" or "plain" (with NO_COLOR): run on a terminal; both streams are one, no line passes 80 columns
A case may also have
  slow             true: too long for the sanitizers; so is every case with `outside`
  outside          scans nobody here made: name -> FILE.gz, or ARCHIVE.tar.gz:MEMBER. Without the file the case is skipped.
A step that exits with 2 must say so in one line and leave every file as it was, hidden ones too.
"""
import gzip
import json
import os
import pty
import re
import resource
import signal
import subprocess
import sys
import tarfile
import tempfile
import time
import tomllib

import shapes

TIME_LIMIT = 120
MEMORY_LIMIT_KIB = 400 * 1024  # bad input is small; more means the program believed a hostile count


SKIPPED = 77  # as told to CTest


class Failure(Exception):
    pass


def outside_scan(place):
    path, _, member = place.partition(":")
    if not os.path.exists(path):
        print(f"skipped: {path} is not installed")
        sys.exit(SKIPPED)
    if not member:
        with gzip.open(path) as file:
            return file.read()
    with tarfile.open(path) as archive:
        return archive.extractfile(member).read()


def listing(folder):
    found = {}
    for root, _, names in os.walk(folder):
        found[os.path.relpath(root, folder)] = None
        for name in names:
            path = os.path.join(root, name)
            with open(path, "rb") as file:
                found[os.path.relpath(path, folder)] = file.read()
    return found


def hidden_folder_is_there(folder):
    return any(".partial-" in name for _, names, _ in os.walk(folder) for name in names)


def start(program, args, folder, step):
    def limit():
        if "max_file" in step:
            resource.setrlimit(resource.RLIMIT_FSIZE, (step["max_file"], step["max_file"]))

    environment = dict(os.environ, LC_ALL="C", TERM="dumb")
    return subprocess.Popen([program, *args], cwd=folder, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                            stderr=subprocess.PIPE, env=environment, preexec_fn=limit)


def run_on_terminal(program, args, folder, kind):
    """Exit code and what came on the terminal."""
    ours, its = pty.openpty()
    environment = dict(os.environ, LC_ALL="C", TERM="xterm")
    environment.pop("NO_COLOR", None)
    if kind == "plain":
        environment["NO_COLOR"] = "1"
    process = subprocess.Popen([program, *args], cwd=folder, stdin=its, stdout=its, stderr=its, env=environment)
    os.close(its)
    shown = b""
    deadline = time.monotonic() + TIME_LIMIT
    while time.monotonic() < deadline:
        try:
            some = os.read(ours, 65536)
        except OSError:  # the other end is closed
            break
        if not some:
            break
        shown += some
    os.close(ours)
    return process.wait(timeout=TIME_LIMIT), shown.decode("utf-8", "replace")


def check_terminal(shown, kind):
    colours = re.findall(r"\x1b\[[0-9;]*m", shown)
    require(bool(colours) == (kind == "colour"), f"{len(colours)} changes of colour")
    require(re.search(r"\r\x1b\[K *[0-9]+ %  ", shown), "no progress")
    plain = re.sub(r"\x1b\[[0-9;]*[A-Za-z]", "", shown)
    for line in re.split(r"[\r\n]+", plain):
        require(len(line) <= 80, f"a line of {len(line)} columns: {line}")


def interrupt(process, folder):
    deadline = time.monotonic() + TIME_LIMIT
    while not hidden_folder_is_there(folder):
        if process.poll() is not None or time.monotonic() > deadline:
            raise Failure("ended before it could be interrupted")
        time.sleep(0.002)
    process.send_signal(signal.SIGINT)


def require(condition, message):
    if not condition:
        raise Failure(message)


def check_refusal(step, before, folder, err):
    lines = err.splitlines()
    require(len(lines) == 1, "a refusal is one line on standard error")
    require(lines[0].startswith("cradlewright: "), "the line names the program")
    require(listing(folder) == before, "a refusal leaves every file as it was")


def check_programs(folder):
    names = sorted(os.listdir(folder))
    require(names, "no program was written")
    for name in names:
        with tempfile.TemporaryDirectory() as scratch:  # it keeps its parameters where it runs
            run = subprocess.run(["rs274", "-g", os.path.join(folder, name)], cwd=scratch, capture_output=True, text=True,
                                 timeout=TIME_LIMIT)
        require(run.returncode == 0, f"rs274 refuses {name}: {run.stderr[-300:]}")
        require(re.search(r"PROGRAM_END", run.stdout), f"rs274 finds no end of {name}")
        require(len(re.findall(r"ARC_FEED|STRAIGHT_FEED", run.stdout)) > 20, f"{name} cuts nothing")


def check_files(step, folder):
    for path in step.get("writes", []):
        require(os.path.isfile(os.path.join(folder, path)), f"{path} was not written")
    for path in step.get("absent", []):
        require(not os.path.lexists(os.path.join(folder, path)), f"{path} should not be there")
    for first, second in step.get("equal", []):
        a, b = listing(os.path.join(folder, first)), listing(os.path.join(folder, second))
        require(len(a) > 1, f"{first} is empty")
        differing = [name for name in sorted(a.keys() | b.keys()) if a.get(name) != b.get(name)]
        require(not differing, f"{first} and {second} differ in {differing}")
    if "routed" in step:
        check_programs(os.path.join(folder, step["routed"], "router"))
    if "lists_files" in step:
        root = os.path.join(folder, step["lists_files"])
        with open(os.path.join(root, "report.json"), encoding="utf-8") as file:
            named = json.load(file)["files"]
        found = sorted(name for name, data in listing(root).items() if data is not None)
        require(sorted(named) == found, f"report.json names {sorted(named)}, the folder holds {found}")


def run_step(program, step, folder, args, measures_memory):
    if "terminal" in step:
        code, shown = run_on_terminal(program, args, folder, step["terminal"])
        require(code == step["exit"], f"exit code {code}, wanted {step['exit']}: {shown[-2000:]}")
        check_terminal(shown, step["terminal"])
        for pattern in step.get("stdout", []):
            require(re.search(pattern, shown, re.M), f"the terminal lacks /{pattern}/")
        return
    before = listing(folder) if step["exit"] == 2 else None
    process = start(program, args, folder, step)
    if step.get("interrupts"):
        interrupt(process, folder)
    try:
        out, err = (text.decode("utf-8", "replace") for text in process.communicate(timeout=TIME_LIMIT))
    except subprocess.TimeoutExpired:
        process.kill()
        raise Failure(f"still running after {TIME_LIMIT} s: {args}") from None
    try:
        require(process.returncode == step["exit"], f"exit code {process.returncode}, wanted {step['exit']}")
        for pattern in step.get("stdout", []):
            require(re.search(pattern, out, re.M), f"standard output lacks /{pattern}/")
        for pattern in step.get("not_stdout", []):
            require(not re.search(pattern, out, re.M), f"standard output has /{pattern}/")
        for pattern in step.get("stderr", []):
            require(re.search(pattern, err, re.M), f"standard error lacks /{pattern}/")
        require(step.get("prints_json") is None or json.loads(out) is not None, "standard output is not JSON")
        widest = max((len(line) for line in out.splitlines()), default=0)
        require(not step.get("fits_page") or widest <= 80, f"a line of {widest} columns")
        if step["exit"] == 2:
            check_refusal(step, before, folder, err)
            used = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
            require(not measures_memory or step.get("interrupts") or used < MEMORY_LIMIT_KIB, f"used {used} KiB")
        if "save" in step:
            with open(os.path.join(folder, step["save"]), "w", encoding="utf-8") as file:
                file.write(out)
        check_files(step, folder)
    except (Failure, json.JSONDecodeError) as failure:
        raise Failure(f"{failure}\n  args: {args}\n  stdout: {out[-3000:]}\n  stderr: {err[-3000:]}") from None


def run_case(program, case, source, measures_memory):
    with tempfile.TemporaryDirectory(prefix="cradlewright-program-") as folder:
        for name in case.get("scans", []):
            with open(os.path.join(folder, name), "wb") as file:
                file.write(shapes.MAKERS[name]())
        for name, place in case.get("outside", {}).items():
            with open(os.path.join(folder, name), "wb") as file:
                file.write(outside_scan(place))
        for name, text in case.get("files", {}).items():
            os.makedirs(os.path.dirname(os.path.join(folder, name)), exist_ok=True)
            with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
                file.write(text)
        for step in case.get("steps", [case]):
            for word in step.get("for_each", [""]):
                args = [arg.replace("{}", word).replace("{source}", source) for arg in step["args"]]
                run_step(program, step, folder, args, measures_memory)


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    with open(os.path.join(here, "cases.toml"), "rb") as file:
        cases = tomllib.load(file)["case"]
    names = [case["name"] for case in cases]
    if len(set(names)) != len(names):
        sys.exit("two cases share a name")
    if sys.argv[1:] == ["--list"]:
        print("\n".join(names))
        return
    if sys.argv[1:] == ["--list-slow"]:
        print("\n".join(case["name"] for case in cases if case.get("slow") or "outside" in case))
        return
    program, name = sys.argv[1:3]
    measures_memory = "--sanitized" not in sys.argv
    [case] = [case for case in cases if case["name"] == name]
    try:
        run_case(os.path.abspath(program), case, os.path.dirname(os.path.dirname(here)), measures_memory)
    except Failure as failure:
        sys.exit(f"{name}: {failure}")


if __name__ == "__main__":
    main()
