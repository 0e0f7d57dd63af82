# SPDX-License-Identifier: GPL-3.0-or-later
"""The design depends on the plug, not on how its scan is written: triangles in another order, or the scan turned and moved
as a whole with --up and --span told accordingly, give the same fixture.

Not the same bytes: numbers of the file are rounded anew when it is turned, and what samples the surface starts elsewhere.
What is held here is what a builder would see; the limits are stated below.
"""
import json
import math
import os
import random
import re
import struct
import subprocess
import sys
import tempfile

import ezdxf
from ezdxf import path as paths

from run_case import Failure, require

TIME_LIMIT = 120
STATION_MM = 0.1    # a saw line
OUTLINE_MM = 0.2    # derived: parting line and outlines are laid within 0.05 to 0.1 mm, twice, once a run
STEP_MM = 0.05      # of flattened arcs and between points that are compared

JOBS = ("blade", "daggerboard", "scoop", "seat")


def read_stl(name):
    with open(name, "rb") as file:
        data = file.read()
    count = struct.unpack_from("<I", data, 80)[0]
    return [struct.unpack_from("<12f", data, 84 + 50 * i)[3:] for i in range(count)]


def write_stl(name, faces):
    with open(name, "wb") as file:
        file.write(b"turned or shuffled".ljust(80) + struct.pack("<I", len(faces)))
        for face in faces:
            file.write(struct.pack("<12fH", 0, 0, 0, *face, 0))


def shuffled(faces, seed):
    """Triangles in another order, each begun at another of its corners."""
    draw = random.Random(seed)
    faces = [face[3 * k:] + face[:3 * k] for face in faces for k in [draw.randrange(3)]]
    draw.shuffle(faces)
    return faces


def rotation(axis, degrees):
    """Rodrigues: R = cos I + sin [a]x + (1 - cos) a a^T."""
    length = math.sqrt(sum(c * c for c in axis))
    x, y, z = (c / length for c in axis)
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return ((c + x * x * (1 - c), x * y * (1 - c) - z * s, x * z * (1 - c) + y * s),
            (y * x * (1 - c) + z * s, c + y * y * (1 - c), y * z * (1 - c) - x * s),
            (z * x * (1 - c) - y * s, z * y * (1 - c) + x * s, c + z * z * (1 - c)))


def apply(turn, p):
    return tuple(sum(row[i] * p[i] for i in range(3)) for row in turn)


def turned(faces, turn, shift):
    return [tuple(c + d for k in (0, 3, 6) for c, d in zip(apply(turn, face[k:k + 3]), shift)) for face in faces]


def axis_of(job, key):
    """The job's --up or --span as a vector of the scan."""
    with open(job, encoding="utf-8") as file:
        text = re.search(rf'^{key} = "(-?)([xyz])"', file.read(), re.M)
    return tuple((-1 if text[1] else 1) * float("xyz"[i] == text[2]) for i in range(3))


def vector_text(v):
    return ",".join(f"{c:.9f}" for c in v)


def make(program, folder, job, name, options):
    args = [program, "make", job, "--out", name, "--quiet", *options]
    run = subprocess.run(args, cwd=folder, capture_output=True, text=True, timeout=TIME_LIMIT, check=False)
    require(run.returncode in (0, 1), f"exit code {run.returncode}: {run.stderr}")
    with open(os.path.join(folder, name, "report.json"), encoding="utf-8") as file:
        return run.returncode, json.load(file)


def outlines(name):
    """Points along all cut lines of a part, no further apart than STEP_MM allows to be missed."""
    points = []
    for entity in ezdxf.readfile(name).modelspace():
        if not entity.dxf.layer.startswith("cut"):
            continue
        flat = [(p.x, p.y) for p in paths.make_path(entity).flattening(STEP_MM)]
        points.append(flat)
    require(points, f"{name} has no cut line")
    return points


def distance_to(p, lines):
    best = math.inf
    for line in lines:
        for (ax, ay), (bx, by) in zip(line, line[1:]):
            dx, dy = bx - ax, by - ay
            square = dx * dx + dy * dy
            t = 0 if square == 0 else max(0, min(1, ((p[0] - ax) * dx + (p[1] - ay) * dy) / square))
            best = min(best, math.hypot(p[0] - ax - t * dx, p[1] - ay - t * dy))
    return best


def far_apart(a, b):
    """Hausdorff distance of two drawings, measured at corners and middles."""
    def one_way(first, second):
        worst = 0
        for line in first:
            middles = [((p[0] + q[0]) / 2, (p[1] + q[1]) / 2) for p, q in zip(line, line[1:])]
            worst = max([worst] + [distance_to(p, second) for p in line + middles])
        return worst
    return max(one_way(a, b), one_way(b, a))


# Radii read off patches of faces scatter by a millimetre or two with where the patches begin; the check says so by its spread.
SAMPLED = ("plug.arris-plies",)


def agree(a, b):
    """Same verdict on the same subject; for what is sampled, pass and marginal may change places where each run's value
    lies within the other's spread."""
    if (a["id"], a["subject"]) != (b["id"], b["subject"]):
        return False
    if a["id"] in SAMPLED and {a["verdict"], b["verdict"]} <= {"pass", "marginal"}:
        return a["low"] <= b["value"] <= a["high"] and b["low"] <= a["value"] <= b["high"]
    return a["verdict"] == b["verdict"]


def differences(folder, base, other, name):
    """What a builder would see differ, one line each."""
    (code, first), (other_code, second) = base, other
    found = []
    if code != other_code:
        found.append(f"exit code {code} and {other_code}")
    ids = [[part["id"] for part in report["parts"]] for report in (first, second)]
    if ids[0] != ids[1]:
        found.append(f"parts differ: {sorted(set(ids[0]) ^ set(ids[1]))}")
        return found
    for a, b in zip(first["cradle"]["ribs"], second["cradle"]["ribs"]):
        if abs(a["station_mm"] - b["station_mm"]) > STATION_MM:
            found.append(f"{a['id']} stands at {a['station_mm']} and {b['station_mm']} mm")
    for part in ids[0]:
        drawn = [outlines(os.path.join(folder, run, "cut", part + ".dxf")) for run in ("base", name)]
        off = far_apart(*drawn)
        if off > OUTLINE_MM:
            found.append(f"{part} differs by {off:.3f} mm")
    checks = [first["checks"], second["checks"]]
    if len(checks[0]) != len(checks[1]):
        found.append(f"{len(checks[0])} and {len(checks[1])} verdicts")
    return found + [f"{said(a)} but {said(b)}" for a, b in zip(*checks) if not agree(a, b)]


def said(check):
    return f"{check['id']} of {check['subject']}: {check['verdict']}, {check['value']} ({check['low']} to {check['high']})"


def run_job(program, source, name):
    job = os.path.join(source, "meshes", name + ".toml")
    faces = read_stl(os.path.join(source, "meshes", name + ".stl"))
    turn = rotation((1, -2, 0.5), 77)
    told = [f"--{key}=" + vector_text(apply(turn, axis_of(job, key))) for key in ("up", "span")]
    with tempfile.TemporaryDirectory(prefix="cradlewright-same-") as folder:
        written = {"shuffled": shuffled(faces, 5), "turned": turned(faces, turn, (31.7, -12.9, 5.3))}
        base = make(program, folder, job, "base", [])
        found = []
        for other, options in (("shuffled", []), ("turned", told)):
            scan = os.path.join(folder, other + "-scan", name + ".stl")  # its name is told in the report
            os.mkdir(os.path.dirname(scan))
            write_stl(scan, written[other])
            run = make(program, folder, job, other, [f"--set=plug.scan={scan}", *options])
            found += [f"{other}: {line}" for line in differences(folder, base, run, other)]
    require(not found, "\n  " + "\n  ".join(found))


def main():
    if sys.argv[1:] == ["--list"]:
        print("\n".join(JOBS))
        return
    program, name = sys.argv[1:3]
    try:
        run_job(os.path.abspath(program), os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__)))), name)
    except Failure as failure:
        sys.exit(f"{name}: {failure}")


if __name__ == "__main__":
    main()
