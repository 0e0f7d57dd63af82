# SPDX-License-Identifier: GPL-3.0-or-later
"""Scan files for the program tests, good and bad. Each maker returns the bytes of a file; numbers in mm."""
import math
import random
import struct


def ellipsoid(a, b, c, n=24):
    """Closed, outward; n rings of 2 n segments. Poles on z."""
    def at(i, j):
        t, p = math.pi * i / n, math.pi * (j % (2 * n)) / n
        if i in (0, n):
            return (0.0, 0.0, c if i == 0 else -c)
        return (a * math.sin(t) * math.cos(p), b * math.sin(t) * math.sin(p), c * math.cos(t))

    faces = []
    for i in range(n):
        for j in range(2 * n):
            p, q, r, s = at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)
            if i < n - 1:
                faces.append((p, q, r))
            if i > 0:
                faces.append((p, r, s))
    return faces


def shifted(faces, dx):
    return [tuple((x + dx, y, z) for x, y, z in f) for f in faces]


def turned(faces, degrees):
    """About z."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return [tuple((x * c - y * s, x * s + y * c, z) for x, y, z in f) for f in faces]


def flipped(faces, every=1):
    return [(f[0], f[2], f[1]) if k % every == 0 else f for k, f in enumerate(faces)]


def stl(faces):
    out = [b"test scan".ljust(80), struct.pack("<I", len(faces))]
    for f in faces:
        out.append(struct.pack("<12fH", 0, 0, 0, *(x for p in f for x in p), 0))
    return b"".join(out)


def ascii_stl(faces):
    lines = ["solid test"]
    for f in faces:
        lines += ["facet normal 0 0 0", "outer loop"]
        lines += ["vertex %r %r %r" % p for p in f]
        lines += ["endloop", "endfacet"]
    return ("\n".join(lines + ["endsolid test"]) + "\n").encode()


def plug(n=24, bow=0):
    """A plain plug that every stage can work with: 240 x 80 x 40 mm; its ends lifted by `bow`."""
    return [tuple((x, y, z + bow * (x / 120) ** 2) for x, y, z in f) for f in ellipsoid(120, 40, 20, n)]


def split(faces, step, seed):
    """Every corner written on its own, each number off by one step of its last digit or none."""
    draw = random.Random(seed)
    return [tuple(tuple((round(x / step) + draw.choice((-1, 0, 1))) * step for x in p) for p in f) for f in faces]


def moved_corner(faces, at, to):
    return [tuple(to if p == at else p for p in f) for f in faces]


def turned_over(faces, shift):
    """Half a turn about x, then moved: how a plug lies for the scan of its other side."""
    return [tuple((x + shift[0], -y + shift[1], -z + shift[2]) for x, y, z in f) for f in faces]


def above(faces, level):
    return [f for f in faces if min(p[2] for p in f) > level - 1e-6]


def below(faces, level):
    return [f for f in faces if max(p[2] for p in f) < level + 1e-6]


def block(draft=5.0, round=14.0, foot=14.0, dent=0.0, dent_at=20.0, down=25.0, step=4.0):
    """A moulder's block of 240 x 100 x 70 mm, closed, outward: widest at z = 0, walls leaning in by `draft` deg above
    and below, the upper rim rounded by `round`, the lower by `foot`, its corners in plan by 30. `dent` is the depth of
    a dent in the middle of the front wall with flanks of 45 deg, its bottom at the height `dent_at`. `down` = 0 leaves
    a flat underside. Faces are about `step` long, half of that up the walls."""
    lean = math.tan(math.radians(draft))

    def half(height, radius):
        """(inset, height above the widest line) along wall and rim, without the widest line."""
        turn = math.pi / 2 - math.radians(draft)  # of the rounding
        top_of_wall = height - radius + radius * math.sin(math.radians(draft))
        steps = round_up(2 * top_of_wall / step)
        points = [(top_of_wall * i / steps * lean, top_of_wall * i / steps) for i in range(1, steps + 1)]
        middle = top_of_wall * lean + radius * math.cos(math.radians(draft))
        arc = max(3, round_up(2 * radius * turn / step))
        for i in range(1, arc + 1):
            a = math.radians(draft) + turn * i / arc
            points.append((middle - radius * math.cos(a), height - radius + radius * math.sin(a)))
        return points

    below = [(i, -z) for i, z in reversed(half(down, foot))] if down > 0 else []
    outline = rounded_rectangle(240.0, 100.0, 30.0, step)

    def ring(inset, z):
        points = [(x + c * (r - inset), y + s * (r - inset), z) for x, y, c, s, r in outline]
        return [(x, y - max(0.0, dent - abs(z - dent_at) - abs(x) / 4), z) if s == 1 else (x, y, z)
                for (x, y, z), (_, _, _, s, _) in zip(points, outline)]

    return lofted([ring(inset, z) for inset, z in below + [(0.0, 0.0)] + half(45.0, round)])


def plate(lean=5.0, strip=6.0, step=3.0):
    """A plate of 240 x 120 x 24 mm, span along x, with a rounded nose at +y and a cut-off tail at -y: a flat strip of
    this height between sides that taper. Its draft toward half 1 goes from -`lean` deg at one end of the span to +`lean`
    at the other."""
    def corners(x):
        off = strip / 2 * math.tan(math.radians(lean) * x / 120)
        nose = [(45 + 12 * math.cos(a), 12 * math.sin(a)) for a in (math.pi / 2 * (i / 6 - 1) for i in range(13))]
        return nose + [(0.0, 12.0), (-60 + off, strip / 2), (-60 - off, -strip / 2), (0.0, -12.0)]

    def ring(x):
        """Anti-clockwise in (y, z); the same number of points on each piece at every x."""
        points, own, middle = [], corners(x), corners(0.0)
        for k, p in enumerate(own):
            q, a, b = own[(k + 1) % len(own)], middle[k], middle[(k + 1) % len(own)]
            fine = 1.0 if a[0] < -59 and b[0] < -59 else step
            pieces = max(1, round_up(math.hypot(b[0] - a[0], b[1] - a[1]) / fine))
            points += [(p[0] + (q[0] - p[0]) * i / pieces, p[1] + (q[1] - p[1]) * i / pieces, x) for i in range(pieces)]
        return points

    rows = round_up(240 / step)
    return [tuple((x, y, z) for y, z, x in f) for f in lofted([ring(-120 + 240 * i / rows) for i in range(rows + 1)])]


def toward(angle):
    """Unit vector, exactly along the axes at right angles."""
    return round(math.cos(angle), 12), round(math.sin(angle), 12)


def round_up(x):
    return math.ceil(x - 1e-9)


def rounded_rectangle(long, wide, radius, step):
    """Points counter-clockwise: centre of the corner's circle or its place along a side, direction outward, radius."""
    points = []
    centres = [(long / 2 - radius, wide / 2 - radius), (-long / 2 + radius, wide / 2 - radius),
               (-long / 2 + radius, -wide / 2 + radius), (long / 2 - radius, -wide / 2 + radius)]
    turns = round_up(radius * math.pi / 2 / step)
    for k, (x, y) in enumerate(centres):
        for i in range(turns + 1):
            a = math.pi / 2 * (k + i / turns)
            points.append((x, y, *toward(a), radius))
        nx, ny = centres[(k + 1) % 4]
        pieces = round_up(math.hypot(nx - x, ny - y) / step)
        a = math.pi / 2 * (k + 1)
        for i in range(1, pieces):
            share = i / pieces
            points.append((x + (nx - x) * share, y + (ny - y) * share, *toward(a), radius))
    return points


def lofted(rings):
    """Closed solid of rings with equally many points, by rising height."""
    faces = []
    for low, high in zip(rings, rings[1:]):
        for i in range(len(low)):
            k = (i + 1) % len(low)
            faces += [(low[i], low[k], high[k]), (low[i], high[k], high[i])]
    return faces + [tuple(reversed(f)) for f in cap(rings[0])] + cap(rings[-1])


def cap(ring):
    """Flat lid in rings of smaller copies, so that its faces are no longer than the walls'."""
    shares = [1.0, 0.8, 0.6, 0.4, 0.2]
    z = ring[0][2]
    rings = [[(x * s, y * s, z) for x, y, _ in ring] for s in shares]
    faces = []
    for outer, inner in zip(rings, rings[1:]):
        for i in range(len(outer)):
            k = (i + 1) % len(outer)
            faces += [(outer[i], outer[k], inner[k]), (outer[i], inner[k], inner[i])]
    return faces + [(rings[-1][i], rings[-1][(i + 1) % len(ring)], (0.0, 0.0, z)) for i in range(len(ring))]


def noise_bytes(count, seed):
    return random.Random(seed).randbytes(count)


def with_corner(faces, value):
    first = faces[0]
    return [((value, first[0][1], first[0][2]), first[1], first[2])] + faces[1:]


MAKERS = {
    "plug.stl": lambda: stl(plug()),
    "large.stl": lambda: stl(plug(300)),
    "rounded-block.stl": lambda: stl(block(round=10.0, step=1.5)),
    "plug-ascii.stl": lambda: ascii_stl(plug()),
    "inside-out.stl": lambda: stl(flipped(plug())),
    "mixed.stl": lambda: stl(flipped(plug(), 3)),
    "doubled.stl": lambda: stl(plug() + plug()),
    "two-shells.stl": lambda: stl(plug() + shifted(ellipsoid(10, 10, 10, 8), 400)),
    "turned.stl": lambda: stl(turned(plug(), 40)),
    "hole.stl": lambda: stl(plug(24)[:-3] + plug(24)[-2:]),
    "open.stl": lambda: stl([f for f in plug() if max(p[2] for p in f) > -12]),
    "split.stl": lambda: stl(split(plug(), 1e-3, 1)),
    "upper-half.stl": lambda: stl(above(plug(), 0)),
    "skew-half.stl": lambda: stl([f for f in plug() if min(p[2] + 4 * math.sin(p[0] / 20) for p in f) > 0]),
    "upper.stl": lambda: stl(above(plug(), -12)),
    "lower.stl": lambda: stl(below(plug(26), 12)),
    "lower-turned.stl": lambda: stl(turned_over(below(plug(26), 12), (300, 20, 50))),
    "lowest.stl": lambda: stl(below(plug(26), -16)),
    "spike.stl": lambda: stl(moved_corner(plug(), (0.0, 0.0, 20), (0.0, 0.0, -30))),
    "fin.stl": lambda: stl(plug() + [(plug()[40][0], plug()[40][1], (0.0, 0.0, 90.0))]),
    "empty.stl": lambda: b"",
    "short-head.stl": lambda: b"x" * 40,
    "no-triangles.stl": lambda: stl([]),
    "one-triangle.stl": lambda: stl(plug()[:1]),
    "all-degenerate.stl": lambda: stl([(p, p, q) for p, q, _ in plug()]),
    "truncated.stl": lambda: stl(plug())[:-1000],
    "hostile-count.stl": lambda: b"x" * 80 + struct.pack("<I", 0xFFFFFFF0) + b"\0" * 500,
    "random.stl": lambda: noise_bytes(5000, 1),
    "random.obj": lambda: noise_bytes(5000, 2),
    "random.ply": lambda: noise_bytes(5000, 3),
    "random.off": lambda: noise_bytes(5000, 4),
    "random.3mf": lambda: noise_bytes(5000, 5),
    "random.glb": lambda: noise_bytes(5000, 6),
    "hostile.ply": lambda: b"ply\nformat binary_little_endian 1.0\nelement vertex 4000000000\nproperty float x\n"
                           b"property float y\nproperty float z\nelement face 4000000000\n"
                           b"property list uchar int vertex_indices\nend_header\n" + b"\0" * 200,
    "hostile.off": lambda: b"OFF\n2000000000 2000000000 0\n0 0 0\n",
    "bad-index.obj": lambda: b"v 0 0 0\nv 100 0 0\nv 0 100 0\nf 1 2 9\n",
    "nan.stl": lambda: stl(with_corner(plug(), math.nan)),
    "infinite.stl": lambda: stl(with_corner(plug(), math.inf)),
    "far.stl": lambda: stl(with_corner(plug(), 1e38)),
    "text.xyz": lambda: b"1 2 3\n4 5 6\n",
}
