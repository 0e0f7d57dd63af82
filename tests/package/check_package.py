# SPDX-License-Identifier: GPL-3.0-or-later
"""Packages as a stranger gets them: made by cpack, unpacked into an empty folder, and the demo run from there.

The program in them must name no folder of this machine, ask for the libraries it links, and give the same bytes as the build.
"""
import glob
import os
import re
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.join(os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "program"))
from run_case import Failure, listing, require  # noqa: E402

JOB = "blade"
OF_PROGRAM = ["bin/cradlewright", "share/man/man1/cradlewright.1.gz", "share/bash-completion/completions/cradlewright",
              "share/zsh/vendor-completions/_cradlewright", "share/fish/vendor_completions.d/cradlewright.fish",
              "share/doc/cradlewright/copyright", "share/doc/cradlewright/README.md", "share/doc/cradlewright/CHANGELOG.md",
              "share/doc/cradlewright/LICENSE", f"share/doc/cradlewright/examples/{JOB}.toml",
              f"share/doc/cradlewright/examples/{JOB}.stl"]
OF_DEVELOPMENT = ["include/cradlewright/pipeline.hpp"]


def run(*args, **how):
    done = subprocess.run(args, capture_output=True, text=True, check=False, **how)
    require(done.returncode in (0, 1), f"{args} ended with {done.returncode}: {done.stdout[-1000:]}{done.stderr[-1000:]}")
    return done


def one(pattern):
    found = glob.glob(pattern)
    require(len(found) == 1, f"{pattern}: {found}")
    return found[0]


def make_packages(build, work):
    done = run("cpack", "--config", os.path.join(build, "CPackConfig.cmake"), "-B", work)
    require(done.returncode == 0, done.stdout + done.stderr)
    return one(f"{work}/cradlewright_*.deb"), one(f"{work}/cradlewright-dev_*.deb"), one(f"{work}/cradlewright-*.tar.gz")


def fields(package):
    text = run("dpkg-deb", "-f", package).stdout
    return dict(re.findall(r"^([A-Za-z-]+): (.*)$", text, re.M))


def packages_of_libraries(program):
    """Debian packages of the libraries that the program names itself."""
    names = re.findall(r"\(NEEDED\).*\[(.*)\]", run("readelf", "-d", program).stdout)
    where = {name: path for name, path in re.findall(r"(\S+) => (\S+)", run("ldd", program).stdout)}
    found = set()
    for name in names:
        path = where.get(name)
        for candidate in [path, path and os.path.realpath(path), path and "/usr" + path]:
            owner = candidate and subprocess.run(["dpkg", "-S", candidate], capture_output=True, text=True, check=False).stdout
            if owner:
                found.add(owner.split(":")[0])
                break
    return found


def check_fields(package, version, program):
    told = fields(package)
    require(told["Version"] == version, f"version {told['Version']}, the program is {version}")
    for name in ("Maintainer", "Description", "Section", "Architecture", "Installed-Size"):
        require(told.get(name), f"{name} is missing")
    needed = packages_of_libraries(program)
    asked = {re.split(r"[ (]", item.strip())[0] for item in re.split(r"[,|]", told["Depends"])}
    require(len(needed) > 3 and needed <= asked, f"needs {sorted(needed)}, asks for {sorted(asked)}")


def check_files(root, wanted, unwanted):
    for name in wanted:
        require(os.path.isfile(os.path.join(root, name)), f"{name} is not in it")
    for name in unwanted:
        require(not os.path.exists(os.path.join(root, name)), f"{name} should not be in it")
    for folder, _, names in os.walk(root):
        for name in names:
            mode = os.stat(os.path.join(folder, name)).st_mode & 0o777
            require(mode in (0o644, 0o755), f"{name} has the rights {mode:o}")


def check_program(root, folders, expected):
    program = os.path.join(root, "bin/cradlewright")
    with open(program, "rb") as file:
        data = file.read()
    for folder in folders:
        require(folder.encode() not in data, f"the program names {folder}")
    require(not re.search(r"RPATH|RUNPATH", run("readelf", "-d", program).stdout), "the program has a search path of its own")
    # Away from build and sources, with nothing of this user's settings.
    with tempfile.TemporaryDirectory(prefix="cradlewright-home-") as home:
        examples = os.path.join(root, "share/doc/cradlewright/examples")
        run(program, "make", os.path.join(examples, JOB + ".toml"), "--out", "out", "--quiet", cwd=home,
            env={"PATH": "/usr/bin:/bin", "HOME": home, "LC_ALL": "C"})
        require(listing(os.path.join(home, "out")) == expected, "its files differ from those of the build")


def check_all(build, source, work):
    program = os.path.join(build, "bin/cradlewright")
    version = run(program, "--version").stdout.split()[1]
    deb, development, archive = make_packages(build, work)
    run(program, "make", os.path.join(source, "meshes", JOB + ".toml"), "--out", os.path.join(work, "expected"), "--quiet")
    expected = listing(os.path.join(work, "expected"))
    folders = (os.path.realpath(build), os.path.realpath(source))

    roots = {name: os.path.join(work, "root-" + name) for name in ("program", "development", "archive")}
    for folder in roots.values():
        os.mkdir(folder)
    run("dpkg-deb", "-x", deb, roots["program"])
    run("dpkg-deb", "-x", development, roots["development"])
    run("tar", "xzf", archive, "-C", roots["archive"])

    check_fields(deb, version, os.path.join(roots["program"], "usr/bin/cradlewright"))
    check_files(os.path.join(roots["program"], "usr"), OF_PROGRAM, OF_DEVELOPMENT)
    check_files(os.path.join(roots["development"], "usr"), OF_DEVELOPMENT, OF_PROGRAM[:1])
    inside = one(roots["archive"] + "/*")
    check_files(inside, OF_PROGRAM + OF_DEVELOPMENT, [])
    check_program(os.path.join(roots["program"], "usr"), folders, expected)
    check_program(inside, folders, expected)


def main():
    build, source = (os.path.abspath(folder) for folder in sys.argv[1:3])
    with tempfile.TemporaryDirectory(prefix="cradlewright-package-") as work:
        try:
            check_all(build, source, work)
        except Failure as failure:
            sys.exit(f"package: {failure}")


if __name__ == "__main__":
    main()
