# SPDX-License-Identifier: GPL-3.0-or-later
"""What the router's programs leave of the sheets, by another interpreter of RS274/NGC (Debian's linuxcnc-uspace).

The programs are run, the way of the cutter's tip is sampled, and every outline of a part as it lies on its sheet is held
against it: the cutter never comes nearer than its radius, and on fit edges, but for places that the program names, it
comes as near as that; rough inside corners keep its roundness. So the outlines that a fixture is put together from are those that the router cuts.
"""

import collections
import math
import re
import subprocess

import plates as cut

STEP_MM = 0.25       # of the tip's way
EDGE_STEP_MM = 1.0   # of outlines
NEAR_MM = 0.06       # chords of arcs, steps, four decimals in the interpreter's answer and the planner's 0.03
PROUD_MM = 0.2      # the program names no place where less stays: a file takes it off
NAMED_MM = 12        # from a place that the program says it does not clear

CALL = re.compile(r"(STRAIGHT_TRAVERSE|STRAIGHT_FEED|ARC_FEED)\(([^)]*)\)")
NOT_CLEARED = re.compile(r"not cleared: \S+ at X([-\d.]+) Y([-\d.]+)")


def interpreted(path, scratch):
    """The interpreter's canonical calls; its parameter file is its own business."""
    parameters = scratch / "rs274.var"
    parameters.write_text("")
    done = subprocess.run(["rs274", "-g", "-v", str(parameters), str(path)], stdin=subprocess.DEVNULL,
                          stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, timeout=300, check=False)
    return [(name, [float(v) for v in values.split(",")]) for name, values in CALL.findall(done.stdout)]


def tips(calls):
    """Points (x, y, z) of the tip while it cuts. ARC_FEED: end x, y, centre x, y, turns, end z."""
    x = y = z = 0.0
    for name, v in calls:
        if name == "ARC_FEED":
            ex, ey, cx, cy, turns, ez = v[:6]
            start, end = math.atan2(y - cy, x - cx), math.atan2(ey - cy, ex - cx)
            sweep = (end - start) % (2 * math.pi) if turns > 0 else -((start - end) % (2 * math.pi))
            if abs(sweep) < 1e-9:
                sweep = math.copysign(2 * math.pi, turns)
            radius = math.hypot(x - cx, y - cy)
            n = max(2, math.ceil(abs(sweep) * radius / STEP_MM))
            for k in range(1, n + 1):
                a = start + sweep * k / n
                yield cx + radius * math.cos(a), cy + radius * math.sin(a), z + (ez - z) * k / n
            x, y, z = ex, ey, ez
            continue
        ex, ey, ez = v[:3]
        if name == "STRAIGHT_FEED":
            n = max(1, math.ceil(math.dist((x, y, z), (ex, ey, ez)) / STEP_MM))
            for k in range(1, n + 1):
                yield x + (ex - x) * k / n, y + (ey - y) * k / n, z + (ez - z) * k / n
        x, y, z = ex, ey, ez


class Near:
    """Distance to the nearest of many points, by cells."""

    def __init__(self, points, reach):
        self.reach, self.cells = reach, collections.defaultdict(set)
        for x, y in points:
            self.cells[math.floor(x / reach), math.floor(y / reach)].add((round(x, 4), round(y, 4)))

    def distance(self, p):
        i, j = math.floor(p[0] / self.reach), math.floor(p[1] / self.reach)
        return min((math.dist(p, q) for a in (-1, 0, 1) for b in (-1, 0, 1) for q in self.cells.get((i + a, j + b), ())),
                   default=math.inf)


def laid(loop, placement):
    """A loop of a part's own drawing where the part lies on its sheet."""
    angle, (dx, dy) = math.radians(placement["angle_deg"]), placement["shift_mm"]
    c, s = math.cos(angle), math.sin(angle)
    return [cut.Edge(*((c * x - s * y + dx, s * x + c * y + dy) for x, y in (e.a, e.b)), e.is_fit) for e in loop]


def outlines_are_cut(folder, scratch, report, radius, mark_mm):
    """Findings over all programs of a job, and how many parts and points were looked at."""
    findings, parts, points = [], 0, 0
    for sheet in report["sheets"]:
        program = folder / "router" / (sheet["id"] + ".ngc")
        if not program.exists():
            continue  # strips are sawn
        unreached = [(float(x), float(y)) for x, y in NOT_CLEARED.findall(program.read_text())]
        way = Near([(x, y) for x, y, z in tips(interpreted(program, scratch)) if z < -mark_mm - 0.05], 2 * radius)
        for placement in sheet["placements"]:
            parts += 1
            worst_in, worst_out, worst_at = 0.0, 0.0, None
            for loop in cut.read_outline(folder / "cut" / (placement["part"] + ".dxf")):
                for edge in laid(loop, placement):
                    n = max(1, math.ceil(edge.length / EDGE_STEP_MM))
                    for p in (edge.at((k + 0.5) / n) for k in range(n)):
                        points += 1
                        off = way.distance(p) - radius
                        worst_in = max(worst_in, -off)
                        if not edge.is_fit:
                            off -= (math.sqrt(2) - 1) * radius
                        if not any(math.dist(p, q) < NAMED_MM for q in unreached):
                            worst_out, worst_at = max((worst_out, worst_at), (off, p))
            if worst_in > NEAR_MM:
                findings.append(f"{placement['part']}: the cutter enters it by {worst_in:.3f} mm")
            if worst_out > PROUD_MM:
                findings.append(f"{placement['part']}: the cutter stays {worst_out:.3f} mm off its outline at {worst_at}")
    if parts == 0:
        findings.append("no program was written")
    print(f"{parts} parts, {points} points of their outlines")
    return findings
