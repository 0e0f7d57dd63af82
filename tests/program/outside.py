# SPDX-License-Identifier: GPL-3.0-or-later
"""Models that nobody here made, many of them broken on purpose, through the whole program: each ends with 0, 1 or 2, a
refusal is one line, within bounded time and memory, and nothing is left lying about. Folders of Debian packages; a package
that is not installed skips its test.
"""
import gzip
import os
import resource
import subprocess
import sys
import tarfile
import tempfile
import time

from run_case import SKIPPED, Failure, listing, require

ENDINGS = (".stl", ".obj", ".ply", ".off", ".3mf", ".glb")
TIME_LIMIT = 120       # seconds a run, on a busy machine
MEMORY_LIMIT_KIB = 600 * 1024  # measured: 145 MiB for the largest model here; fourfold
MAKE_UNDER = 200_000   # bytes of a model that goes all the way; the others are surveyed
SURVEY_UNDER = 3_000_000

PLACES = {
    "assimp-testmodels": "/usr/share/assimp/models",
    "gmsh-doc": "/usr/share/doc/gmsh-doc",
    "libcgal-demo": "/usr/share/doc/libcgal-demo/data.tar.gz",
}


def models_of(place):
    """Name, bytes."""
    if place.endswith(".tar.gz"):
        with tarfile.open(place) as archive:
            for member in sorted(archive.getmembers(), key=lambda m: m.name):
                if member.isfile() and member.name.lower().endswith(ENDINGS):
                    yield member.name, archive.extractfile(member).read()
        return
    for root, _, names in sorted(os.walk(place)):
        for name in sorted(names):
            path = os.path.join(root, name)
            with (gzip.open if name.endswith(".gz") else open)(path, "rb") as file:
                if name.removesuffix(".gz").lower().endswith(ENDINGS):
                    yield path.removesuffix(".gz"), file.read()


def run(program, folder, args):
    """Exit code, standard error."""
    process = subprocess.Popen([program, *args], cwd=folder, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                               stderr=subprocess.PIPE, env=dict(os.environ, LC_ALL="C", TERM="dumb"))
    try:
        _, err = process.communicate(timeout=TIME_LIMIT)
    except subprocess.TimeoutExpired:
        process.kill()
        raise Failure(f"still running after {TIME_LIMIT} s") from None
    return process.returncode, err.decode("utf-8", "replace")


def try_model(program, folder, scan):
    """The exit codes of its runs."""
    before = listing(folder)
    codes = []
    # Formats without a unit are scaled to a size that can be designed for; the others are what they say.
    size = ["--known", "300mm along span"]
    small = os.path.getsize(os.path.join(folder, scan)) < MAKE_UNDER
    for command in (["survey"], ["make", "--out", "o"]) if small else (["survey"],):
        code, err = run(program, folder, [command[0], scan, *command[1:], *size])
        require(code in (0, 1, 2), f"{command[0]} ended with {code}: {err[-1000:]}")
        codes.append(code)
        if code == 2:
            lines = err.splitlines()
            require(len(lines) == 1 and lines[0].startswith("cradlewright: "), f"no refusal in one line: {err[-1000:]}")
            require("defect in the program" not in err, err)
            require(listing(folder) == before, "a refusal changed files")
            break
        require(command[0] == "survey" or os.path.isfile(os.path.join(folder, "o", "report.json")), "no report")
    return codes


def try_all(program, place, measures_memory):
    faults, count, went_through = [], 0, 0
    for name, data in models_of(place):
        if len(data) > SURVEY_UNDER:
            continue
        count += 1
        with tempfile.TemporaryDirectory(prefix="cradlewright-outside-") as folder:
            scan = os.path.basename(name)
            with open(os.path.join(folder, scan), "wb") as file:
                file.write(data)
            began = time.monotonic()
            try:
                codes = try_model(program, folder, scan)
                went_through += codes[-1] != 2
                print(f"{time.monotonic() - began:6.2f} s  {codes}  {name}")
            except Failure as failure:
                faults.append(f"{name}: {failure}")
    used = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    print(f"{count} models, {went_through} of them used, {used} KiB at most")
    require(count > 0, f"no model in {place}")
    require(not measures_memory or used < MEMORY_LIMIT_KIB, f"used {used} KiB")
    require(not faults, "\n  " + "\n  ".join(faults))


def main():
    if sys.argv[1:] == ["--list"]:
        print("\n".join(PLACES))
        return
    program, name = sys.argv[1:3]
    if not os.path.exists(PLACES[name]):
        print(f"skipped: {PLACES[name]} is not installed")
        sys.exit(SKIPPED)
    try:
        try_all(os.path.abspath(program), PLACES[name], "--sanitized" not in sys.argv)
    except Failure as failure:
        sys.exit(f"{name}: {failure}")


if __name__ == "__main__":
    main()
