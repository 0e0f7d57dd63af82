# SPDX-License-Identifier: GPL-3.0-or-later
"""Parts as they will be cut: outlines from cut/*.dxf, thickness and place from report.json, nothing else."""

import json
import math
import pathlib

import ezdxf

CUT_LAYERS = ("cut-fit", "cut-rough")
SAGITTA_MM = 0.005  # chords that stand for arcs; far below every tolerance in use here
JOIN_MM = 0.002     # end points of one outline's chains; the files carry at least three decimals
SAME_MM = 0.02      # a part on its sheet and in its own drawing: chords of arcs may be spread otherwise


def placed(frame, p):
    return tuple(row[0] * p[0] + row[1] * p[1] + row[2] * p[2] + row[3] for row in frame[:3])


def left_of(a, b, p):
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])


class Edge:
    """A straight piece of an outline, material on its left."""

    def __init__(self, a, b, is_fit):
        self.a, self.b, self.is_fit = a, b, is_fit
        self.length = math.dist(a, b)

    def at(self, t):
        return (self.a[0] + (self.b[0] - self.a[0]) * t, self.a[1] + (self.b[1] - self.a[1]) * t)


class Plate:
    """Material between z = -thickness and the drawn face z = 0 of the part's frame."""

    def __init__(self, entry, loops, marks):
        self.id, self.kind = entry["id"], entry["kind"]
        self.marks = marks  # chains of points drawn on the part
        self.thickness = entry["thickness_mm"]
        bend = entry.get("bend", {"rulings": [], "frames": [entry["frame"]]})
        self.rulings = [(r["from_mm"], r["to_mm"]) for r in bend["rulings"]]
        self.flats = [[list(row) for row in frame] for frame in bend["frames"]]  # one more than rulings
        self.edges = [edge for loop in loops for edge in loop]
        xs = [e.a[0] for e in self.edges]
        ys = [e.a[1] for e in self.edges]
        self.box = (min(xs), min(ys), max(xs), max(ys))

    def to_fixture(self, p):
        """A bent part lies on flats hinged along its rulings; what is left of one lies on the next flat."""
        k = 0
        while k < len(self.rulings) and left_of(*self.rulings[k], p) > 0:
            k += 1
        return placed(self.flats[k], p)

    def to_part(self, q):
        """By the nearest flat: planes that halve the angle between two flats part them."""
        k = 0
        while k < len(self.rulings) and self.is_beyond(k, q):
            k += 1
        d = [q[i] - self.flats[k][i][3] for i in range(3)]
        return tuple(sum(self.flats[k][i][axis] * d[i] for i in range(3)) for axis in range(3))

    def is_beyond(self, k, q):
        a, b = (placed(self.flats[k], (*end, 0)) for end in self.rulings[k])
        up = [self.flats[k][i][2] + self.flats[k + 1][i][2] for i in range(3)]
        along = [b[i] - a[i] for i in range(3)]
        beyond = [up[(i + 1) % 3] * along[(i + 2) % 3] - up[(i + 2) % 3] * along[(i + 1) % 3] for i in range(3)]
        return sum(beyond[i] * (q[i] - a[i]) for i in range(3)) > 0

    def axis(self, k):
        return tuple(self.flats[0][row][k] for row in range(3))

    def shift(self, by):
        """Moves the part in the fixture; for spoiling a good design on purpose."""
        for frame in self.flats:
            for k in range(3):
                frame[k][3] += by[k]

    def crossings(self, y):
        """x of the outline at the height y, sorted: material between each first and second."""
        xs = []
        for e in self.edges:
            if (e.a[1] < y) != (e.b[1] < y):
                xs.append(e.a[0] + (e.b[0] - e.a[0]) * (y - e.a[1]) / (e.b[1] - e.a[1]))
        return sorted(xs)

    def contains(self, x, y):
        return sum(1 for other in self.crossings(y) if other > x) % 2 == 1

    def area(self):
        return sum(e.a[0] * e.b[1] - e.a[1] * e.b[0] for e in self.edges) / 2

    def layers(self, count):
        return [-self.thickness * i / (count - 1) for i in range(count)]

    def edge_points(self, step, edges=None):
        """Points (x, y) along the outline, not more than `step` apart."""
        for e in self.edges if edges is None else edges:
            n = max(1, math.ceil(e.length / step))
            for i in range(n):
                yield e.at(i / n)

    def inner_points(self, step, window=None):
        """Points (x, y) of a grid inside the outline, at most within a window (x0, y0, x1, y1)."""
        x0, y0, x1, y1 = self.box if window is None else window
        for j in range(int((y1 - y0) / step) + 1):
            y = y0 + (j + 0.5) * step
            xs = self.crossings(y)
            for low, high in zip(xs[::2], xs[1::2]):
                low, high = max(low, x0), min(high, x1)
                for i in range(max(0, math.floor((high - low) / step))):
                    yield (low + (i + 0.5) * step, y)

    def samples(self, step, layer_count):
        """Points of the solid in the fixture: its outline and its inside, in several layers through the thickness."""
        for z in self.layers(layer_count):
            for x, y in self.edge_points(step):
                yield self.to_fixture((x, y, z))
            for x, y in self.inner_points(2 * step):
                yield self.to_fixture((x, y, z))


def flatten(points, is_closed):
    """Chain of points from (x, y, bulge) triples."""
    count = len(points) if is_closed else len(points) - 1
    chain = []
    for i in range(count):
        (x0, y0, bulge), (x1, y1, _) = points[i], points[(i + 1) % len(points)]
        chain.append((x0, y0))
        if abs(bulge) < 1e-9:
            continue
        turn = 4 * math.atan(bulge)  # DXF reference: bulge = tan(angle / 4), positive counter-clockwise
        half = math.dist((x0, y0), (x1, y1)) / 2
        radius = half / math.sin(abs(turn) / 2)
        parts = max(2, math.ceil(abs(turn) / (2 * math.acos(max(0.0, 1 - SAGITTA_MM / radius)))))
        away = half / math.tan(turn / 2)
        cx = (x0 + x1) / 2 - (y1 - y0) / (2 * half) * away
        cy = (y0 + y1) / 2 + (x1 - x0) / (2 * half) * away
        start = math.atan2(y0 - cy, x0 - cx)
        for k in range(1, parts):
            angle = start + turn * k / parts
            chain.append((cx + radius * math.cos(angle), cy + radius * math.sin(angle)))
    if not is_closed:
        chain.append(tuple(points[-1][:2]))
    return chain


def edges_of(chain, is_closed, is_fit):
    ends = chain[1:] + chain[:1] if is_closed else chain[1:]
    return [Edge(a, b, is_fit) for a, b in zip(chain, ends) if math.dist(a, b) > 0]


def close_loops(open_chains, name):
    """Joins open chains end to start into loops."""
    loops = []
    while open_chains:
        loop = open_chains.pop(0)
        while math.dist(loop[-1].b, loop[0].a) > JOIN_MM:
            following = min(open_chains, key=lambda c: math.dist(loop[-1].b, c[0].a), default=None)
            if following is None or math.dist(loop[-1].b, following[0].a) > JOIN_MM:
                raise AssertionError(f"{name}: outline does not close at {loop[-1].b}")
            open_chains.remove(following)
            loop += following
        loops.append(loop)
    return loops


def read_outline(path):
    """Loops of edges on the cut layers of one part's drawing."""
    loops, open_chains = [], []
    for entity in ezdxf.readfile(path).modelspace():
        if entity.dxf.layer not in CUT_LAYERS:
            continue
        if entity.dxftype() != "LWPOLYLINE":
            raise AssertionError(f"{path.name}: {entity.dxftype()} on layer {entity.dxf.layer}")
        points = [tuple(p) for p in entity.get_points("xyb")]
        is_closed = bool(entity.closed)
        edges = edges_of(flatten(points, is_closed), is_closed, entity.dxf.layer == "cut-fit")
        (loops if is_closed else open_chains).append(edges)
    return loops + close_loops(open_chains, path.name)


def text_outline(entity):
    """Points round and across a text; a character is taken as 0.7 of its height wide, Helvetica's mean is 0.65."""
    x, y, _ = entity.dxf.insert
    angle, height = math.radians(entity.dxf.get("rotation", 0)), entity.dxf.height
    width = 0.7 * height * len(entity.dxf.text)
    c, s = math.cos(angle), math.sin(angle)
    places = [(width * i / 8, height * j / 2) for i in range(9) for j in range(3)]
    return [(x + c * u - s * v, y + s * u + c * v) for u, v in places]


def read_marks(path):
    """What is drawn but not cut, as dense chains of points: strokes and texts."""
    chains = []
    for entity in ezdxf.readfile(path).modelspace():
        if entity.dxf.layer in CUT_LAYERS:
            continue
        if entity.dxftype() == "TEXT":
            chains.append(text_outline(entity))
        elif entity.dxftype() == "LWPOLYLINE":
            chain = flatten([tuple(p) for p in entity.get_points("xyb")], bool(entity.closed))
            chains.append([e.at(i / 20) for e in edges_of(chain, bool(entity.closed), False) for i in range(21)])
    return chains


def taken_off(loop, placement):
    """A loop of a sheet's drawing in the frame of the part that was turned and shifted onto the sheet."""
    angle, (dx, dy) = math.radians(placement["angle_deg"]), placement["shift_mm"]
    c, s = math.cos(angle), math.sin(angle)

    def back(p):
        x, y = p[0] - dx, p[1] - dy
        return (c * x + s * y, c * y - s * x)

    return [Edge(back(e.a), back(e.b), e.is_fit) for e in loop]


def box_of(loop):
    xs, ys = zip(*(e.a for e in loop))
    return min(xs), min(ys), max(xs), max(ys)


def distance_to(edges, p):
    """Of a point from the nearest of some edges."""
    def one(e):
        dx, dy = e.b[0] - e.a[0], e.b[1] - e.a[1]
        t = max(0.0, min(1.0, ((p[0] - e.a[0]) * dx + (p[1] - e.a[1]) * dy) / (dx * dx + dy * dy)))
        return math.dist(p, e.at(t))
    return min(map(one, edges))


def lies_on(loop, other):
    """Whether every edge's start of one loop is on an edge of the other of the same kind, fit or rough."""
    return all(distance_to([f for f in other if f.is_fit == e.is_fit] or other, e.a) <= SAME_MM for e in loop)


def same_loop(own, sheet_loops, name):
    """The loop of the sheet that is this one of the part's own drawing."""
    for loop in sheet_loops:
        if math.dist(box_of(loop), box_of(own)) <= SAME_MM and lies_on(own, loop) and lies_on(loop, own):
            return loop
    raise AssertionError(f"{name}: its sheet does not show the outline round {box_of(own)}")


def read_sheets(cut, report):
    """Outlines of all parts that lie on a sheet, by id, from the drawings of the sheets."""
    outlines = {}
    for sheet in report["sheets"]:
        loops = read_outline(cut / (sheet["id"] + ".dxf"))
        count = 0
        for placement in sheet["placements"]:
            moved = [taken_off(loop, placement) for loop in loops]
            own = read_outline(cut / (placement["part"] + ".dxf"))
            outlines[placement["part"]] = [same_loop(loop, moved, placement["part"]) for loop in own]
            count += len(own)
        if count != len(loops):
            raise AssertionError(f"{sheet['id']}: {len(loops)} outlines drawn, its parts have {count}")
    return outlines


def read_plates(folder, report):
    """All parts of a fixture, by id: outlines from the sheets where they lie on one, marks from their own drawings."""
    cut = pathlib.Path(folder) / "cut"
    on_sheets = read_sheets(cut, report)
    plates = {}
    for entry in report["parts"]:
        path = cut / (entry["id"] + ".dxf")
        plates[entry["id"]] = Plate(entry, on_sheets.get(entry["id"]) or read_outline(path), read_marks(path))
    drawn = {p.stem for p in cut.glob("*.dxf") if not p.stem.startswith("sheet-")}
    if drawn != set(plates):
        raise AssertionError(f"parts drawn but not reported, or the other way: {sorted(drawn ^ set(plates))}")
    # Scraper cards are drawn along the line by hand: they stand nowhere.
    return {name: plate for name, plate in plates.items() if plate.kind != "card"}


def read_report(folder):
    return json.loads((pathlib.Path(folder) / "report.json").read_text(encoding="utf-8"))
