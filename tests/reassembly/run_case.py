# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes one fixture from a demo plug, then puts it together from its files. `--list` names the cases."""

import argparse
import math
import pathlib
import subprocess
import sys

import reassemble
import routed

# Jobs as users get them: folder meshes/. Noise and unit are those of meshes/README.md.
JOBS = {
    "blade": {"noise_mm": 0.03, "unit_mm": 1},
    "daggerboard": {"noise_mm": 0.04, "unit_mm": 1},
    "seat": {"noise_mm": 0.03, "unit_mm": 10},
    "scoop": {"noise_mm": 0.03, "unit_mm": 1},
}

# Other triangles, noise, places in space and settings, so that nothing is fitted to one file.
MADE = {
    "blade-level": {
        "plug": "blade", "triangles": 12000, "style": "regular", "noise_mm": 0, "seed": 1, "turn": (0, 0, 0),
        "make": []},
    "blade-turned": {
        "plug": "blade", "triangles": 40000, "style": "shuffled", "noise_mm": 0.05, "seed": 21, "turn": (25, -40, 110),
        "make": ["--tilt", "6deg", "--ribs", "5"]},
    "blade-two-ties-thin-ribs": {
        "plug": "blade", "triangles": 25000, "style": "irregular", "noise_mm": 0.02, "seed": 3, "turn": (0, 0, 180),
        "make": ["--tilt", "-3deg", "--set", "cradle.rib-stock=birch-ply-6", "--set", "cradle.pad=2mm"]},
    "blade-short-sheets": {
        "plug": "blade", "triangles": 15000, "style": "irregular", "noise_mm": 0.02, "seed": 6, "turn": (0, 0, 0),
        "make": ["--set", "stock.pvc-3.length=600mm", "--set", "stock.pvc-3.width=400mm"]},
    "daggerboard-turned": {
        "plug": "daggerboard", "triangles": 30000, "style": "irregular", "noise_mm": 0.05, "seed": 8,
        "turn": (-70, 15, 5), "make": ["--tilt", "8deg", "--set", "cradle.slot-clearance=0.4mm"]},
    "daggerboard-wide-flange": {
        "plug": "daggerboard", "triangles": 9000, "style": "shuffled", "noise_mm": 0.02, "seed": 9, "turn": (0, 90, 0),
        "make": ["--set", "flange.width=110mm", "--set", "flange.gap=1mm", "--set", "cradle.pad=5mm"]},
}

# Jobs cut by a router: put together as the others, and every outline held against the way of the cutter.
ROUTED = {
    "blade-routed": ("blade", []),
    "scoop-routed": ("scoop", ["--set", "router.cutter=4mm"]),
}

# Faults put into a good fixture: a part, its shift in the fixture, and the check that must notice. The first ribs stand
# beyond the plug's end; rib-4 carries it.
SPOILS = [
    ("rib-4", (0, 0, 1), reassemble.saddles_touch),
    ("rib-4", (0, 0, 5), reassemble.no_part_enters_the_plug),
    ("rib-4", (0, 30, 20), reassemble.plug_drops_in),
    ("tie-1", (0, 1, 0), reassemble.slots_mate),
    ("tie-1", (0, 0, 3), reassemble.slots_mate),
    ("panel-back-1", (0, 0, -1), reassemble.parts_do_not_clash),
    ("panel-back-1", (0, 0, 2.5), reassemble.panels_are_carried),
    ("panel-back-1", (0, -4, 0), reassemble.panels_reach_the_line),
    ("panel-back-1", (0, 1, 0), reassemble.panels_keep_their_gap),
    ("back-1-rib-2", (0, 0, -1), reassemble.backs_keep_their_distance),
    ("back-2-rib-1", (0, 0, -1), reassemble.backs_keep_their_distance),
    ("back-2-rib-1", (0, 0, -1), reassemble.backs_stand_and_mate),
    ("back-1-long-1", (0, 1, 0), reassemble.backs_stand_and_mate),
]


def turned(axis, turn_deg):
    """Turned about the fixed X, then Y, then Z, as the generator does."""
    x, y, z = axis
    a, b, c = (math.radians(t) for t in turn_deg)
    y, z = y * math.cos(a) - z * math.sin(a), y * math.sin(a) + z * math.cos(a)
    x, z = x * math.cos(b) + z * math.sin(b), -x * math.sin(b) + z * math.cos(b)
    return x * math.cos(c) - y * math.sin(c), x * math.sin(c) + y * math.cos(c), z


def vector(axis, turn_deg):
    return ",".join(f"{c:.12f}" for c in turned(axis, turn_deg))


def run(command, allowed):
    done = subprocess.run([str(word) for word in command], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, text=True, timeout=600, check=False)
    if done.returncode not in allowed:
        raise AssertionError(f"exit {done.returncode}: {' '.join(map(str, command))}\n{done.stdout}")


def make_job(options, name, folder_name=None, words=()):
    """A job of meshes/ as it stands. A failed check of the design is not this test's business: exit 1 will do."""
    folder = options.work / (folder_name or name)
    run([options.program, "make", options.meshes / (name + ".toml"), "--out", folder, "--overwrite", "--quiet", *words],
        (0, 1))
    return reassemble.Result(folder, options.meshes / (name + ".stl"), JOBS[name]["unit_mm"], JOBS[name]["noise_mm"])


def make_scan(options, name, folder_name):
    case = MADE[name]
    scan = options.work / (folder_name + ".stl")
    run([options.generator, case["plug"], "--triangles", case["triangles"], "--style", case["style"],
         "--noise", case["noise_mm"], "--seed", case["seed"], "--turn=" + ",".join(map(str, case["turn"])),
         "--shift=310,-45,77", "--strays", 1, "--out", scan], (0,))
    folder = options.work / folder_name
    run([options.program, "make", scan, "--unit", "mm", "--up=" + vector((0, 0, 1), case["turn"]),
         "--span=" + vector((1, 0, 0), case["turn"]), "--out", folder, "--overwrite", "--quiet", *case["make"]], (0, 1))
    return reassemble.Result(folder, scan, 1, case["noise_mm"])


def check_all(result):
    findings = []
    for check in reassemble.CHECKS:
        found = list(check(result))
        print(f"{'ok  ' if not found else 'BAD '} {check.__name__.replace('_', ' ')}")
        findings += found
    return findings


def check_routed(options, name):
    job, words = ROUTED[name]
    result = make_job(options, job, name, ["--set", "cut-by=router", *words])
    radius = result.length("router.cutter") / 2
    mark = result.length("router.engrave")
    return check_all(result) + routed.outlines_are_cut(options.work / name, options.work, result.report, radius, mark)


def check_spoils(result):
    """Every fault must give a finding that the fixture did not have before, or the checks are worth nothing."""
    findings = []
    for name, shift, check in SPOILS:
        before = set(check(result))
        result.plates[name].shift(shift)
        is_noticed = bool(set(check(result)) - before)
        result.plates[name].shift([-s for s in shift])
        print(f"{'ok  ' if is_noticed else 'BAD '} {name} shifted by {shift}")
        if not is_noticed:
            findings.append(f"{check.__name__} does not notice {name} shifted by {shift}")
    return findings


def parse(arguments):
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--list", action="store_true")
    parser.add_argument("--program")
    parser.add_argument("--generator")
    parser.add_argument("--meshes", type=pathlib.Path)
    parser.add_argument("--work", type=pathlib.Path)
    parser.add_argument("case", nargs="?")
    return parser.parse_args(arguments)


def main(arguments):
    options = parse(arguments)
    if options.list:
        print("\n".join([*JOBS, *MADE, *ROUTED, "spoiled"]))
        return 0
    options.work.mkdir(parents=True, exist_ok=True)
    if options.case == "spoiled":
        findings = check_spoils(make_scan(options, "blade-level", "spoiled"))
    elif options.case in ROUTED:
        findings = check_routed(options, options.case)
    elif options.case in JOBS:
        findings = check_all(make_job(options, options.case))
    else:
        findings = check_all(make_scan(options, options.case, options.case))
    print("\n".join(findings))
    return 1 if findings else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
