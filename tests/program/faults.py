# SPDX-License-Identifier: GPL-3.0-or-later
"""What the program does when the world fails it: killed, interrupted, disk full, folder closed, scan changing, nobody
listening. Each test runs the built program in a folder of its own; the moments are drawn from a fixed seed.

The promise under test is the README's: exit 2 says why in one line and leaves every file as it was; an output folder is
replaced whole or not at all.
"""
import os
import random
import resource
import shutil
import signal
import stat
import subprocess
import sys
import tempfile
import time

import shapes
from run_case import SKIPPED, Failure, hidden_folder_is_there, listing, require

TIME_LIMIT = 60
STOP_LIMIT = 10  # seconds from the signal to the end of the program; assumed: longer, and people press again
NOBODY = 65534
JOB = ["make", "plug.stl", "--unit", "mm", "--up", "z", "--span", "x"]
OLD, NEW = ["--tilt", "0deg"], ["--tilt", "3deg"]


class Bench:
    """A program, a scan, and the folder they work in."""

    def __init__(self, program, folder):
        self.program, self.folder = program, folder
        self.put("plug.stl", shapes.MAKERS["plug.stl"]())

    def at(self, name):
        return os.path.join(self.folder, name)

    def put(self, name, data):
        with open(self.at(name), "wb") as file:
            file.write(data)

    def start(self, args, stdout=subprocess.PIPE, stderr=subprocess.PIPE, before=None):
        return subprocess.Popen([self.program, *args], cwd=self.folder, stdin=subprocess.DEVNULL, stdout=stdout,
                                stderr=stderr, env=dict(os.environ, LC_ALL="C", TERM="dumb"), preexec_fn=before)

    def run(self, args, wanted=(0, 1), **how):
        """Standard error as text. Fails when the exit code is none of those wanted."""
        process = self.start(args, **how)
        try:
            _, err = process.communicate(timeout=TIME_LIMIT)
        except subprocess.TimeoutExpired:
            process.kill()
            raise Failure(f"still running after {TIME_LIMIT} s: {args}") from None
        err = (err or b"").decode("utf-8", "replace")
        require(process.returncode in wanted, f"exit code {process.returncode}, wanted {wanted}: {args}\n{err}")
        return err

    def refuse(self, args, *words, **how):
        """Must exit with 2, say why in one line that has all of these words, and leave every file as it was."""
        before = listing(self.folder)
        err = self.run(args, (2,), **how)
        check_line(err, words)
        require(listing(self.folder) == before, f"files changed: {args}")


def check_line(err, words=()):
    lines = err.splitlines()
    require(len(lines) == 1 and lines[0].startswith("cradlewright: "), f"not one line of ours: {err!r}")
    for word in words:
        require(word in lines[0], f"'{word}' is not in: {lines[0]}")


def hidden(folder):
    return sorted(name for name in os.listdir(folder) if name.startswith("."))


def old_and_new(bench):
    """Output folder o as an earlier run left it; its files, those of the run that shall replace it, and its duration."""
    began = time.monotonic()
    bench.run([*JOB, *NEW, "--out", "new"])
    duration = time.monotonic() - began
    bench.run([*JOB, *OLD, "--out", "o"])
    old, new = listing(bench.at("o")), listing(bench.at("new"))
    shutil.rmtree(bench.at("new"))
    require(old != new and "report.json" in old, "the two runs must differ")
    return old, new, duration


def wait_for(process, condition):
    deadline = time.monotonic() + TIME_LIMIT
    while process.poll() is None and time.monotonic() < deadline and not condition():
        time.sleep(0.001)


def killed(bench, draw):
    """SIGKILL cannot be caught: what lies on disk at that moment is what stays."""
    old, new, duration = old_and_new(bench)
    replace = [*JOB, *NEW, "--out", "o", "--overwrite"]
    litter = seen_old = 0
    for number in range(9):
        process = bench.start(replace)
        if number < 4:  # anywhere
            time.sleep(draw.uniform(0.1, 0.95) * duration)
        else:  # while files are written, and around the moment when the folders change places
            written = bench.at(".o.partial-1/" + ("cut", "report.html", "report.json")[number % 3])
            wait_for(process, lambda: os.path.exists(written))
            time.sleep(draw.uniform(0, 0.01))
        process.kill()
        process.communicate()
        found = listing(bench.at("o"))
        require(found in (old, new), f"after kill {number} the folder is neither the old one nor the new one")
        litter += bool(hidden(bench.folder))
        seen_old += found == old
        if found == new:
            bench.run([*JOB, *OLD, "--out", "o", "--overwrite"])
    require(litter > 0 and seen_old > 0, "no kill came before the end of a run")
    bench.run(replace)
    require(listing(bench.at("o")) == new, "a run after the kills does not give its own files")
    require(hidden(bench.folder) == [], f"litter of killed runs stays: {hidden(bench.folder)}")


def interrupted(bench, draw):
    old, _, duration = old_and_new(bench)
    replace = [*JOB, *NEW, "--out", "o", "--overwrite"]
    before = listing(bench.folder)
    caught = 0
    for number in range(6):
        sent = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)[number % 3]
        process = bench.start(replace)
        wait_for(process, lambda: hidden_folder_is_there(bench.folder))  # by then signals are watched for
        time.sleep(draw.uniform(0, 0.8) * duration)
        sent_at = time.monotonic()
        process.send_signal(sent)
        _, err = process.communicate(timeout=TIME_LIMIT)
        took = time.monotonic() - sent_at
        if process.returncode in (0, 1):  # it was done before the signal came
            bench.run([*JOB, *OLD, "--out", "o", "--overwrite"])
            continue
        caught += 1
        require(process.returncode == 2, f"exit code {process.returncode} after {sent.name}")
        check_line(err.decode(), ["interrupt"])
        require(took < STOP_LIMIT, f"took {took:.1f} s to stop")
        require(listing(bench.folder) == before, f"files changed by a run that {sent.name} ended")
    require(caught > 2, "too few runs were caught at work")
    require(listing(bench.at("o")) == old, "the old folder has changed")


def full_disk(bench, draw):
    """A small disk of its own; needs the right to mount one, at least in a name space of its own."""
    size = sum(len(data) for data in listing_of_run(bench).values() if data)
    disk = bench.at("disk")
    os.mkdir(disk)
    mount = ["mount", "-t", "tmpfs", "-o", "size=1M", "tmpfs", disk]
    if subprocess.run(mount, stderr=subprocess.DEVNULL, check=False).returncode != 0:
        skip_or_try_inside()
    try:
        os.mkdir(os.path.join(disk, "o"))
        bench.put("disk/o/old.txt", b"old")
        for share in (0.02, draw.uniform(0.1, 0.5), draw.uniform(0.5, 0.9)):
            subprocess.run(["mount", "-o", f"remount,size={int(share * size) // 4096 * 4096}", disk], check=True)
            bench.refuse([*JOB, *NEW, "--out", "disk/o", "--overwrite"], "/disk/o", "No space left on device")
        subprocess.run(["mount", "-o", "remount,size=8k", disk], check=True)  # a page beside that of old.txt
        bench.refuse(["survey", "plug.stl", "--unit", "mm", "--mended", "disk/mended.ply"], "mended.ply",
                     "No space left on device")
        subprocess.run(["mount", "-o", f"remount,size={4 * size + (4 << 20)}", disk], check=True)
        bench.run([*JOB, *NEW, "--out", "disk/o", "--overwrite"])
        require(hidden(disk) == [], "litter on the disk")
    finally:
        subprocess.run(["umount", disk], check=True)


def skip_or_try_inside():
    inside = "--inside"
    namespace = ["unshare", "--map-root-user", "--mount"]
    if inside not in sys.argv and subprocess.run([*namespace, "true"], stderr=subprocess.DEVNULL, check=False).returncode == 0:
        sys.exit(subprocess.run([*namespace, sys.executable, "-B", *sys.argv, inside], check=False).returncode)
    print("skipped: no right to mount a disk of a given size here")
    sys.exit(SKIPPED)


def listing_of_run(bench):
    bench.run([*JOB, *NEW, "--out", "whole"])
    found = listing(bench.at("whole"))
    shutil.rmtree(bench.at("whole"))
    return found


def file_too_large(bench, draw):
    """A limit to the size of files needs no rights, and says which file must be named: here the largest, or one of
    those over a drawn size."""
    sizes = {name: len(data) for name, data in listing_of_run(bench).items() if data}
    os.mkdir(bench.at("o"))
    bench.put("o/old.txt", b"old")
    by_size = sorted(sizes, key=sizes.get)
    for limit in (sizes[by_size[-1]] - 1, draw.randrange(sizes[by_size[-2]]), draw.randrange(5000)):
        def bound():
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
        before = listing(bench.folder)
        err = bench.run([*JOB, *NEW, "--out", "o", "--overwrite"], (2,), before=bound)
        check_line(err, ["File too large"])
        named = [name for name in sizes if f"/o/{name}: " in err]
        require(len(named) == 1 and sizes[named[0]] > limit, f"names no file that is over {limit} bytes: {err}")
        require(listing(bench.folder) == before, "files changed")


def as_nobody():
    """Root may write anywhere, so the tests of rights run as somebody else."""
    if os.geteuid() == 0:
        os.setgroups([])
        os.setgid(NOBODY)
        os.setuid(NOBODY)


def lend(bench):
    """A copy of the program that others may run, whatever the rights of the build folder."""
    os.chmod(bench.folder, 0o755)
    shutil.copy(bench.program, bench.at("program"))
    os.chmod(bench.at("program"), 0o755)
    bench.program = bench.at("program")


def closed_folder(bench, draw):
    lend(bench)
    for folder in ("closed/o", "open"):
        os.makedirs(bench.at(folder))
    bench.put("closed/o/old.txt", b"old")
    os.chmod(bench.at("closed"), 0o555)
    os.chmod(bench.at("open"), 0o777)
    try:
        for out in (["closed/new"], ["closed/deep/new"], ["closed/o", "--overwrite"]):
            bench.refuse([*JOB, "--out", *out], "closed", "Permission denied", before=as_nobody)
        bench.refuse(["survey", "plug.stl", "--unit", "mm", "--mended", "closed/m.ply"], "m.ply", "Permission denied",
                     before=as_nobody)
        os.chmod(bench.at("plug.stl"), 0o000)
        bench.refuse([*JOB, "--out", "open/o"], "plug.stl", "Permission denied", before=as_nobody)
        os.chmod(bench.at("plug.stl"), 0o444)
        bench.run([*JOB, "--out", "open/o"], before=as_nobody)
        require("report.json" in listing(bench.at("open/o")), "a scan that may only be read gives no report")
        require(stat.S_IMODE(os.stat(bench.at("plug.stl")).st_mode) == 0o444, "the rights of the scan changed")
    finally:
        os.chmod(bench.at("closed"), 0o755)


def scan_changes(bench, draw):
    """The scan goes away, is cut short or becomes another one at some moment of the run."""
    whole = shapes.MAKERS["plug.stl"]()
    first = listing_of_run(bench)
    other = shapes.stl(shapes.plug(20))
    bench.put("plug.stl", other)
    second = listing_of_run(bench)
    for number in range(6):
        bench.put("plug.stl", whole)
        process = bench.start([*JOB, *NEW, "--out", "o", "--overwrite"])
        wait_for(process, lambda: hidden_folder_is_there(bench.folder))
        time.sleep(draw.uniform(0, 0.02))
        if number % 3 == 0:
            os.remove(bench.at("plug.stl"))
        elif number % 3 == 1:
            os.truncate(bench.at("plug.stl"), draw.randrange(len(whole)))
        else:
            bench.put("plug.stl", other)
        check_either(process, bench, (first, second))
    # A large scan takes longer to read than to cut short.
    large = shapes.MAKERS["large.stl"]()
    for _ in range(4):
        bench.put("large.stl", large)
        process = bench.start(["survey", "large.stl", "--unit", "mm", "--quiet"])
        time.sleep(draw.uniform(0, 0.06))
        os.truncate(bench.at("large.stl"), draw.randrange(len(large)))
        check_either(process, bench, ())


def check_either(process, bench, results):
    _, err = process.communicate(timeout=TIME_LIMIT)
    require(process.returncode in (0, 1, 2), f"exit code {process.returncode}: {err}")
    if process.returncode == 2:
        check_line(err.decode())
    elif results:
        require(listing(bench.at("o")) in results, "the files are of neither scan")
    require(hidden(bench.folder) == [], "litter stays")


def nobody_listens(bench, draw):
    """Standard output full, its reader gone, or closed; each must be said, and nothing may be replaced."""
    os.mkdir(bench.at("o"))
    bench.put("o/old.txt", b"old")
    make = [*JOB, "--out", "o", "--overwrite"]
    commands = [["--help"], ["--version"], ["new", "plug.stl"], ["explain"], ["explain", "panel.gap", "--json"],
                ["cloth", "--overhang", "100mm", "--areal", "320g/m2"],
                ["survey", "plug.stl", "--unit", "mm", "--mended", "m.ply"], make, [*make, "--json"]]
    for args in commands:
        with open("/dev/full", "wb") as full:
            bench.refuse(args, "standard output", stdout=full)
        reader, writer = os.pipe()
        os.close(reader)
        bench.refuse(args, "standard output", stdout=writer)
        os.close(writer)
        bench.refuse(args, "standard output", stdout=None, before=lambda: os.close(1))
    # Nothing is printed, so nobody is missed; and no file of ours may take the place of a closed stream.
    streams = {"stdout": None, "stderr": None, "before": lambda: [os.close(i) for i in (0, 1, 2)]}
    bench.run([*make, "--quiet"], **streams)
    found = listing(bench.at("o"))
    bench.run([*JOB, "--out", "usual"])
    require(found == listing(bench.at("usual")), "files differ when the standard streams are closed")
    # Progress and warnings are no result: without a place for them the work still counts.
    with open("/dev/full", "wb") as full:
        bench.run(make, stderr=full)


TESTS = {
    "killed": killed,
    "interrupted": interrupted,
    "full disk": full_disk,
    "file too large": file_too_large,
    "closed folder": closed_folder,
    "scan changes": scan_changes,
    "nobody listens": nobody_listens,
}


def main():
    if sys.argv[1:] == ["--list"]:
        print("\n".join(TESTS))
        return
    program, name = sys.argv[1:3]
    with tempfile.TemporaryDirectory(prefix="cradlewright-faults-") as folder:
        try:
            TESTS[name](Bench(os.path.abspath(program), folder), random.Random(name))
        except Failure as failure:
            sys.exit(f"{name}: {failure}")


if __name__ == "__main__":
    main()
