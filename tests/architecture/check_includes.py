# SPDX-License-Identifier: GPL-3.0-or-later
"""Keeps the room plan true: reads every #include, every list of files and every path that DEVELOPERS.md names.

  check_includes.py ROOT        exits 1 and prints one line for each fault
  check_includes.py --self-test builds small trees with one known fault each and demands that it is found
"""
import re
import sys
import tempfile
from pathlib import Path

ROOMS = ["base", "geom", "catalog", "mechanics", "stages", "checks", "output", "files", "pipeline", "app"]

# Who may include which library; everything else that is not the standard library is a fault.
LIBRARIES = {
    "CGAL/": {"geom"},
    "Eigen/": {"geom", "stages"},
    "boost/": {"geom", "stages"},
    "polyclipping/": {"geom"},
    "assimp/": {"files"},
    "cairo": {"files"},
    "toml++/": {"files"},
    "nlohmann/": {"files", "app"},
    "CLI/": {"app"},
    "zlib.h": {"files"},
}
# POSIX, beside the standard library: only where the program meets the machine.
SYSTEM = {"signal.h": {"app"}, "sched.h": {"app"},
          # Locks and the exchange of two folders have no form in the standard library.
          "unistd.h": {"app", "files"}, "fcntl.h": {"app", "files"}, "sys/file.h": {"files"}}

INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]', re.M)
LICENCE = "SPDX-License-Identifier: GPL-3.0-or-later"


def room_of(path, root):
    """Room of a file under include/cradlewright or src; None for build files."""
    parts = path.relative_to(root).parts
    inner = parts[2:] if parts[0] == "include" else parts[1:]
    if inner[0] in ("pipeline.hpp", "pipeline.cpp", "pipeline_sweep.cpp"):
        return "pipeline"
    return inner[0] if inner[0] in ROOMS else None


def room_of_include(name):
    inner = name.removeprefix("cradlewright/").split("/")
    return "pipeline" if inner[0] == "pipeline.hpp" else inner[0]


def is_standard(name):
    return re.fullmatch(r"[a-z_0-9]+", name) is not None


def include_faults(path, root):
    room, is_public = room_of(path, root), path.relative_to(root).parts[0] == "include"
    where = path.relative_to(root)
    for mark, name in INCLUDE.findall(path.read_text(encoding="utf-8")):
        own = name.startswith("cradlewright/") or mark == '"'
        if own:
            target = room_of_include(name)
            if is_public and not name.startswith("cradlewright/"):
                yield f"{where}: a public header includes the private {name}"
            elif target not in ROOMS:
                yield f"{where}: {name} is in no room (write it as \"ROOM/file.hpp\")"
            elif ROOMS.index(target) > ROOMS.index(room):
                yield f"{where}: {room} includes {name}, but {target} lies to its right"
            continue
        if is_standard(name):
            continue
        allowed = next((rooms for prefix, rooms in LIBRARIES.items() if name.startswith(prefix)), SYSTEM.get(name, set()))
        if is_public:
            yield f"{where}: a public header includes {name}; only the standard library and cradlewright/ may be seen"
        elif room not in allowed:
            yield f"{where}: {room} includes {name}; allowed in {sorted(allowed) or 'no room'}"


def listing_faults(root):
    headers = (root / "src/cmake/headers.cmake").read_text(encoding="utf-8")
    listed = set(re.findall(r"include/(cradlewright/[\w/]+\.hpp)", headers))
    present = {str(p.relative_to(root / "include")) for p in (root / "include").rglob("*.hpp")}
    for name in sorted(listed ^ present):
        yield f"src/cmake/headers.cmake: {name} is " + ("listed but missing" if name in listed else "not listed")
    for folder in [root / "src", *(p for p in (root / "src").iterdir() if p.is_dir())]:
        lists = folder / "CMakeLists.txt"
        text = lists.read_text(encoding="utf-8") if lists.exists() else (root / "src/CMakeLists.txt").read_text("utf-8")
        for source in sorted(folder.glob("*.cpp")):
            if not re.search(rf"\b{re.escape(source.name)}\b", text):
                yield f"{source.relative_to(root)}: not in any CMakeLists.txt"


def licence_faults(root):
    for top in ("include", "src", "tests"):
        for path in sorted((root / top).rglob("*")):
            if path.suffix in {".hpp", ".cpp", ".py", ".cmake"} or path.name == "CMakeLists.txt":
                if LICENCE not in path.read_text(encoding="utf-8").split("\n", 2)[0]:
                    yield f"{path.relative_to(root)}: first line lacks {LICENCE}"


def document_faults(root):
    """Every path between backticks in DEVELOPERS.md leads somewhere."""
    for name in re.findall(r"`([\w.*-]+(?:/[\w.*-]+)+/?)`", (root / "DEVELOPERS.md").read_text(encoding="utf-8")):
        starts = name.split("/")[0] in {"include", "src", "tests", "meshes", ".ci"}
        if starts and not list(root.glob(name.rstrip("/"))):
            yield f"DEVELOPERS.md: there is no {name}"


def faults(root):
    for top in ("include/cradlewright", "src"):
        for path in sorted((root / top).rglob("*")):
            if path.suffix in {".hpp", ".cpp"}:
                if room_of(path, root) is None:
                    yield f"{path.relative_to(root)}: lies in no room"
                else:
                    yield from include_faults(path, root)
    yield from listing_faults(root)
    yield from licence_faults(root)
    yield from document_faults(root)


# ---- self test -------------------------------------------------------------------------------------------------------

SOUND = {
    "include/cradlewright/base/vec.hpp": "#include <vector>\n",
    "include/cradlewright/stages/pose.hpp": '#include "cradlewright/base/vec.hpp"\n',
    "src/base/vec.cpp": '#include "cradlewright/base/vec.hpp"\n',
    "src/base/CMakeLists.txt": "room(base vec.cpp)\n",
    "src/geom/index.cpp": "#include <CGAL/AABB_tree.h>\n",
    "src/geom/CMakeLists.txt": "room(geom index.cpp)\n",
    "src/CMakeLists.txt": "add_subdirectory(base)\n",
    "src/cmake/headers.cmake": "include/cradlewright/base/vec.hpp include/cradlewright/stages/pose.hpp\n",
    "tests/CMakeLists.txt": "\n",
    "DEVELOPERS.md": "Look at `src/base/vec.cpp`.\n",
}
# One change to the sound tree, and a part of the line that must come of it.
UNSOUND = [
    ("src/base/vec.cpp", '#include "cradlewright/stages/pose.hpp"\n', "lies to its right"),
    ("src/base/vec.cpp", "#include <CGAL/number_utils.h>\n", "allowed in ['geom']"),
    ("src/geom/index.cpp", "#include <unistd.h>\n", "allowed in ['app', 'files']"),
    ("src/geom/index.cpp", "#include <qt/window.h>\n", "allowed in no room"),
    ("include/cradlewright/base/vec.hpp", "#include <CGAL/AABB_tree.h>\n", "a public header includes CGAL"),
    ("include/cradlewright/stages/pose.hpp", '#include "stages/min_cut.hpp"\n', "includes the private"),
    ("include/cradlewright/base/new.hpp", "\n", "not listed"),
    ("src/base/new.cpp", "\n", "not in any CMakeLists.txt"),
    ("src/shed/thing.cpp", "\n", "lies in no room"),
    ("DEVELOPERS.md", "See `src/base/gone.cpp`.\n", "there is no src/base/gone.cpp"),
    ("src/base/vec.cpp", None, "first line lacks"),
]


def plant(root, files):
    for name, text in files.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        mark = "" if text is None or name.endswith(".md") else ("# " if name.endswith((".txt", ".cmake")) else "// ") + LICENCE + "\n"
        path.write_text(mark + (text or "int x;\n"), encoding="utf-8")


def self_test():
    missed = []
    for name, text, wanted in [("", "", ""), *UNSOUND]:
        with tempfile.TemporaryDirectory() as folder:
            plant(Path(folder), SOUND if not name else SOUND | {name: text})
            found = list(faults(Path(folder)))
            if (bool(found) and not name) or (name and not any(wanted in line for line in found)):
                missed.append(f"{name or 'sound tree'}: wanted {wanted or 'nothing'!r}, found {found}")
    return missed


def main():
    found = self_test() if sys.argv[1] == "--self-test" else list(faults(Path(sys.argv[1]).resolve()))
    print("\n".join(found))
    sys.exit(1 if found else 0)


if __name__ == "__main__":
    main()
