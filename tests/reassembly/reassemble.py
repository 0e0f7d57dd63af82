# SPDX-License-Identifier: GPL-3.0-or-later
"""Puts a fixture together from its cut files and tries the plug in it.

Reads only cut/*.dxf, report.json and the scan. Every finding is a measured number against a stated limit; the limits are
those of the job, read from the report, plus the spread of the scan.
"""

import math

import plates as cut
from plug_field import PlugField

EDGE_STEP_MM = 2.0       # samples along outlines
LAYERS = 5               # samples through a thickness
ROUNDING_MM = 0.06       # chords of arcs and arcs fitted to chains
OVERLAP_STEP_MM = 0.7    # grid in which two parts are tried for the same space
TOUCH_MM = 0.1           # parts may share this much before they are said to clash
CONTACT_SPREAD_MM = 0.2  # saddle to pad: slices through a slab lie 1.5 mm apart
CONTACT_SHARE = 0.9      # of the saddle's samples
FILLED_GLUE_MM = 1.8     # strip to panel: 1.5 mm that filled glue bridges, glue and rounding
BACK_SPREAD_MM = 0.35    # plates to the moulded surface: columns of 0.3 mm beside upright walls; a soft strip takes it
BACK_SHARE = 0.7         # of a plate's fit edge; the rest lies over beads
STRIP_BEARING_MM = 2.9   # of a strip's foot on an upright; 3 less rounding
FOOT_HOLLOW_MM = 3.1     # between its feet an upright stands clear of the base
NOTCH_SLACK_MM = 1.0     # a strip may stand so far above the floor of its notch


class Result:
    """One finished job, put together."""

    def __init__(self, folder, scan, unit_mm, noise_mm):
        self.report = cut.read_report(folder)
        self.plates = cut.read_plates(folder, self.report)
        self.plug = PlugField(scan, unit_mm, self.report["pose"]["scan_to_fixture"])
        self.noise = 3 * noise_mm

    def kinds(self, *names):
        return [p for p in self.plates.values() if p.kind in names]

    def length(self, key):
        """A setting that is a length, mm."""
        return millimetres(self.report["settings"][key]["value"])


def millimetres(value):
    if isinstance(value, (int, float)):
        return float(value)
    number, unit = value.split()
    return float(number) * {"mm": 1, "cm": 10, "m": 1000, "in": 25.4}[unit]


def no_part_enters_the_plug(result):
    limit = -(TOUCH_MM + ROUNDING_MM + result.noise)
    for plate in result.plates.values():
        points = result.plug.near(list(plate.samples(EDGE_STEP_MM, LAYERS)), 1)
        depth = min(result.plug.distances(points), default=0)
        if depth < limit:
            yield f"{plate.id} enters the plug by {-depth:.3f} mm, allowed {-limit:.3f}"


def panels_keep_their_gap(result):
    gap = result.length("flange.gap")
    limit = gap - ROUNDING_MM - result.noise
    for panel in result.kinds("panel"):
        points = [panel.to_fixture((x, y, z)) for z in panel.layers(LAYERS) for x, y in panel.edge_points(1)]
        nearest = min(result.plug.distances(result.plug.near(points, gap)), default=gap)
        if nearest < limit:
            yield f"{panel.id} comes within {nearest:.3f} mm of the plug, asked {gap:.3f}"


def saddle_samples(plate, saddle, across):
    """Points of the fit edges that face up in the stretch of the reported saddle; `across`: 1 along y, 0 along x."""
    low, high = min(y for y, _ in saddle), max(y for y, _ in saddle)
    floor = min(z for _, z in saddle) - TOUCH_MM
    for e in plate.edges:
        if not e.is_fit:
            continue
        for x, y in plate.edge_points(1.0, [e]):
            *along, fz = plate.to_fixture((x, y, 0))
            fy = along[across]
            outward = (e.b[1] - e.a[1], -(e.b[0] - e.a[0]))
            rises = plate.axis(0)[2] * outward[0] + plate.axis(1)[2] * outward[1] > 0
            if rises and low < fy < high and fz > floor:
                yield x, y


def saddles_touch(result):
    pad = result.length("cradle.pad")
    spread = CONTACT_SPREAD_MM + result.noise
    ribs = [r for r in result.report["cradle"]["ribs"] if r["saddle_mm"]]
    if len(ribs) < 2:
        yield f"only {len(ribs)} ribs carry the plug"
    for rib in ribs:
        plate = result.plates[rib["id"]]
        points = list(saddle_samples(plate, rib["saddle_mm"], 1 if rib["direction"] == "x" else 0))
        if not points:
            yield f"{rib['id']}: no fit edge where the report says the saddle is"
            continue
        # The pad bears where the plug comes nearest to the edge, somewhere in the thickness of the rib.
        layers = [result.plug.distances([plate.to_fixture((x, y, z)) for x, y in points]) for z in plate.layers(9)]
        nearest = [min(column) for column in zip(*layers)]
        share = sum(1 for d in nearest if abs(d - pad) < spread) / len(nearest)
        if share < CONTACT_SHARE:
            yield f"{rib['id']}: {share:.0%} of {len(nearest)} saddle samples touch, asked {CONTACT_SHARE:.0%}"
        if min(nearest) < pad - spread:
            yield f"{rib['id']}: saddle comes within {min(nearest):.3f} mm of the plug, pad is {pad:.3f}"


def fixture_box(plate):
    x0, y0, x1, y1 = plate.box
    flat = [(x, y) for x in (x0, x1) for y in (y0, y1)] + [end for ruling in plate.rulings for end in ruling]
    corners = [plate.to_fixture((x, y, z)) for x, y in flat for z in (0, -plate.thickness)]
    return [(min(c[k] for c in corners), max(c[k] for c in corners)) for k in range(3)]


def shared_window(plate, other, boxes):
    """Window of `plate` in which `other` can be met, or None."""
    ranges = [(max(a[0], b[0]), min(a[1], b[1])) for a, b in zip(boxes[plate.id], boxes[other.id])]
    if any(high - low < TOUCH_MM for low, high in ranges):
        return None
    corners = [plate.to_part((x, y, z)) for x in ranges[0] for y in ranges[1] for z in ranges[2]]
    window = (min(c[0] for c in corners), min(c[1] for c in corners),
              max(c[0] for c in corners), max(c[1] for c in corners))
    x0, y0, x1, y1 = plate.box
    slack = 5.0 if plate.rulings else 0.0  # a bent part leaves the box of its corners
    return (max(window[0] - slack, x0), max(window[1] - slack, y0),
            min(window[2] + slack, x1), min(window[3] + slack, y1))


def is_well_inside(plate, x, y):
    return all(plate.contains(x + dx, y + dy) for dx in (-TOUCH_MM, TOUCH_MM) for dy in (-TOUCH_MM, TOUCH_MM))


def shared_samples(plate, other, window):
    """Sample points deeper than TOUCH_MM in both parts."""
    count = 0
    layers = [-TOUCH_MM - (plate.thickness - 2 * TOUCH_MM) * i / (LAYERS - 1) for i in range(LAYERS)]
    for x, y in plate.inner_points(OVERLAP_STEP_MM, window):
        for z in layers:
            u, v, w = other.to_part(plate.to_fixture((x, y, z)))
            if not (-other.thickness + TOUCH_MM < w < -TOUCH_MM) or not other.contains(u, v):
                continue
            if is_well_inside(other, u, v) and is_well_inside(plate, x, y):
                count += 1
    return count


def stand_together(plate, other):
    """Plates behind a half of the mould stand among themselves; the fixture is not there any more."""
    return behind(plate) == behind(other)


def behind(plate):
    """ "1" or "2": the half that a plate is tabbed to; None for parts of the fixture."""
    return plate.id.split("-")[1] if plate.kind == "mould-rib" else None


def parts_do_not_clash(result):
    boxes = {p.id: fixture_box(p) for p in result.plates.values()}
    all_plates = list(result.plates.values())
    for i, plate in enumerate(all_plates):
        for other in all_plates[i + 1:]:
            if not stand_together(plate, other):
                continue
            # The upright with the smaller window is sampled; either sees the same space.
            window = shared_window(plate, other, boxes)
            if window is None:
                continue
            count = shared_samples(plate, other, window)
            if count > 0:
                volume = count * OVERLAP_STEP_MM ** 2 * plate.thickness / LAYERS
                yield f"{plate.id} and {other.id} share {volume:.0f} mm3"


def slot_round(plate, x, y):
    """Ends of the empty stretch round x at the height y, or None where it is open to a side."""
    xs = plate.crossings(y)
    below = [c for c in xs if c <= x]
    above = [c for c in xs if c > x]
    return (below[-1], above[0]) if below and above and len(below) % 2 == 0 else None


def crossing_of(upright, tie):
    """Where the middle planes of two upright plates meet: a function height -> fixture point, or None."""
    n1, n2 = upright.axis(2), tie.axis(2)
    det = n1[0] * n2[1] - n1[1] * n2[0]
    if abs(det) < 0.5 or abs(n1[2]) > 1e-6 or abs(n2[2]) > 1e-6:
        return None
    c1 = sum(a * b for a, b in zip(n1, upright.to_fixture((0, 0, -upright.thickness / 2))))
    c2 = sum(a * b for a, b in zip(n2, tie.to_fixture((0, 0, -tie.thickness / 2))))
    x, y = (c1 * n2[1] - c2 * n1[1]) / det, (n1[0] * c2 - n2[0] * c1) / det
    return lambda z: (x, y, z)


def half_lap_findings(upright, tie, clearance, boxes):
    where = crossing_of(upright, tie)
    low = max(boxes[upright.id][2][0], boxes[tie.id][2][0])
    high = min(boxes[upright.id][2][1], boxes[tie.id][2][1])
    x, y, _ = where(0)
    if not all(boxes[p.id][k][0] < v < boxes[p.id][k][1] for p in (upright, tie) for k, v in ((0, x), (1, y))):
        return
    yield from lap_findings(upright, tie, clearance, where, low, high)


def lap_findings(upright, tie, clearance, where, low, high):
    """`where`: fixture point of the crossing at a height over what the plates stand on."""
    step, empty, since = 0.25, 0, 0
    slots = {upright.id: [], tie.id: []}
    for i in range(int((high - low) / step)):
        height = low + (i + 0.5) * step
        point = where(height)
        solid = []
        for p in (upright, tie):
            u, v, _ = p.to_part(point)
            solid.append(p.contains(u, v))
        if all(solid):
            yield f"{upright.id} and {tie.id} are both solid at height {height:.2f}"
            return
        # Above the top of both, and under feet that are hollow between their ends, nothing is missing.
        since += not any(solid) and height > FOOT_HOLLOW_MM
        if any(solid):
            empty, since = empty + since, 0
        for p, is_solid, other in ((upright, solid[0], tie), (tie, solid[1], upright)):
            u, v, _ = p.to_part(point)
            ends = None if is_solid else slot_round(p, u, v)
            if ends:
                slots[p.id].append((ends[1] - ends[0], (ends[0] + ends[1]) / 2 - u, other.thickness + clearance))
    if empty * step > 1:
        yield f"{upright.id} and {tie.id} leave {empty * step:.2f} mm of their lap empty"
    for name, found in slots.items():
        if not found:
            yield f"{name} has no slot where {upright.id} and {tie.id} cross"
            continue
        width, off, wanted = sorted(found)[len(found) // 10]  # a round cutter has widened some heights
        if abs(width - wanted) > ROUNDING_MM or abs(off) > ROUNDING_MM:
            yield f"{name}: slot {width:.3f} wide and {off:.3f} off the middle, wanted {wanted:.3f}"


def slots_mate(result):
    clearance = result.length("cradle.slot-clearance")
    boxes = {p.id: fixture_box(p) for p in result.plates.values()}
    along = [p for p in result.kinds("rib", "tie") if abs(p.axis(2)[1]) > 0.5]
    for upright in (p for p in result.kinds("rib", "stop") if abs(p.axis(2)[0]) > 0.5):
        for tie in along:
            if crossing_of(upright, tie):
                yield from half_lap_findings(upright, tie, clearance, boxes)


def distance_from_edge(e, x, y):
    dx, dy = e.b[0] - e.a[0], e.b[1] - e.a[1]
    t = ((x - e.a[0]) * dx + (y - e.a[1]) * dy) / (e.length ** 2)
    t = min(1.0, max(0.0, t))
    return math.hypot(x - e.a[0] - t * dx, y - e.a[1] - t * dy)


def distance_from_top(panel, point, reach):
    """Distance of a fixture point from the panel's top face; `reach` when it is further."""
    x, y, z = panel.to_part(point)
    x0, y0, x1, y1 = panel.box
    if abs(z) > reach or not (x0 - reach < x < x1 + reach and y0 - reach < y < y1 + reach):
        return reach
    flat = 0.0 if panel.contains(x, y) else min(distance_from_edge(e, x, y) for e in panel.edges)
    return min(reach, math.hypot(flat, z))


def panels_reach_the_line(result):
    """The plug's edge may round away below the line by as much as the sheet's gap limit allows; most of it may not."""
    usual = result.length("flange.gap") + result.length("flange.planarity") + ROUNDING_MM + result.noise
    most = result.length("flange.gap-limit") + result.length("flange.planarity") + ROUNDING_MM + result.noise
    panels = result.kinds("panel")
    for number, loop in enumerate(result.report["parting"]["loops"], start=1):
        misses = [(min(distance_from_top(p, q, 50.0) for p in panels), q) for q in loop["panel_line_mm"]]
        share = sum(1 for miss, _ in misses if miss <= usual) / len(misses)
        worst, place = max(misses)
        if worst > most:
            yield f"loop {number}: {worst:.3f} mm from line to panel at {place}, allowed {most:.3f}"
        if share < 0.9:
            yield f"loop {number}: only {share:.0%} of the line within {usual:.3f} mm of a panel"


def boxes_meet(a, b):
    return all(low_a < high_b and low_b < high_a for (low_a, high_a), (low_b, high_b) in zip(a, b))


def uprights_under(strip, uprights, boxes):
    """Uprights in whose notches a strip rests, by contact just under its lower edge."""
    found = []
    for upright in uprights:
        if not boxes_meet(boxes[strip.id], boxes[upright.id]):
            continue
        start, along = strip.to_fixture((0, 0, -strip.thickness / 2)), strip.axis(0)
        faces = [(upright.to_fixture((0, 0, z))[0] - start[0]) / along[0] for z in (0, -upright.thickness)]
        low, high = max(min(faces), strip.box[0]), min(max(faces), strip.box[2])
        if high - low < STRIP_BEARING_MM:
            continue
        x = (low + high) / 2
        below = [strip.to_fixture((x, -depth, -strip.thickness / 2)) for depth in (NOTCH_SLACK_MM, 5.0)]
        u, v, _ = upright.to_part(below[1])
        if upright.contains(u, v):
            found.append(upright.id)
    return found


def panels_are_carried(result):
    """Every panel lies on a strip that two uprights carry, on two uprights itself, or on one under its middle third. Glue is between; a straight strip
    may leave as much again as the filled glue that its note asks for."""
    glue = result.length("flange.glue")
    boxes = {p.id: fixture_box(p) for p in result.plates.values()}
    uprights, strips = result.kinds("rib", "stop", "tie"), result.kinds("stringer")
    for strip in strips:
        resting = uprights_under(strip, uprights, boxes)
        if len(resting) < 2:
            yield f"{strip.id} rests only on {resting}"
    clouds = {s.id: [s.to_fixture((x, y, z)) for z in s.layers(3) for x, y in s.edge_points(1)]
              for s in uprights + strips}
    for panel in result.kinds("panel"):
        carriers = []
        for s in uprights + strips:
            under = (panel.to_part(q) for q in clouds[s.id])
            most = FILLED_GLUE_MM if s.kind == "stringer" else glue + ROUNDING_MM
            if any(glue - ROUNDING_MM < -panel.thickness - z < most and panel.contains(x, y) for x, y, z in under):
                carriers.append(s)
        box = boxes[panel.id][0]
        middles = [sum(boxes[s.id][0]) / 2 for s in carriers]
        is_balanced = any(abs(x - sum(box) / 2) <= (box[1] - box[0]) / 6 for x in middles)
        if len(carriers) < 2 and not is_balanced and not any(s.kind == "stringer" for s in carriers):
            yield f"{panel.id} lies only on {[s.id for s in carriers]}"


def marks_lie_on_material(result):
    """What is drawn across a notch cannot be read once the part is cut."""
    for plate in result.kinds("rib", "tie", "stop", "base", "mould-rib"):
        for chain in plate.marks:
            off = [p for p in chain if not plate.contains(*p)]
            if off and len(off) < len(chain):  # wholly outside: a saw's relief cut
                yield f"{plate.id}: a mark at {chain[0]} runs off the material at {off[0]}"


def mould_backs(result):
    """The stand of each half with its plates: (stand as reported, plates)."""
    for stand in result.report["mould"]["stand"] or []:
        plates = [p for p in result.kinds("mould-rib") if behind(p) == str(stand["half"])]
        if plates:
            yield stand, plates


def backs_keep_their_distance(result):
    """Laminate and soft strip fit between plates and moulded surface, and fill what is between: a bead lifts the
    laminate further off, so not everywhere."""
    wanted = result.report["layup"]["laminate_thickness_mm"] + result.length("mould.soft-strip")
    spread = BACK_SPREAD_MM + result.noise
    panels = result.kinds("panel")
    for _, plates in mould_backs(result):
        for plate in plates:
            spots = [p for e in plate.edges if e.is_fit and e.b[0] < e.a[0] for p in plate.edge_points(2.0, [e])]
            columns = []
            for z in plate.layers(LAYERS):
                points = [plate.to_fixture((x, y, z)) for x, y in spots]
                off = result.plug.distances(points)
                columns.append([min([d] + [distance_from_top(panel, q, wanted + 20) for panel in panels])
                                for d, q in zip(off, points)])
            nearest = [min(column) for column in zip(*columns)]
            if min(nearest) < wanted - spread:
                yield f"{plate.id} comes within {min(nearest):.3f} mm of the moulded surface, asked {wanted:.3f}"
            close = [d for d in nearest if d < wanted + 15]  # neither the bench nor the bottom of a slot
            share = sum(1 for d in close if abs(d - wanted) < spread) / max(1, len(close))
            if share < BACK_SHARE:
                yield f"{plate.id}: {share:.0%} of {len(close)} samples {wanted:.2f} mm off, asked {BACK_SHARE:.0%}"


def backs_stand_and_mate(result):
    """All plates of a half touch one bench, the plane z = 0 of the reported stand; across and along slot together."""
    clearance = result.length("cradle.slot-clearance")
    for stand, plates in mould_backs(result):
        frame = stand["frame"]

        def in_stand(q, frame=frame):
            d = [q[i] - frame[i][3] for i in range(3)]
            return [sum(frame[i][axis] * d[i] for i in range(3)) for axis in range(3)]

        for plate in plates:
            least = min(in_stand(plate.to_fixture((x, y, 0)))[2] for x, y in plate.edge_points(5))
            if abs(least) > ROUNDING_MM:
                yield f"{plate.id} ends {least:.3f} mm over the bench"
        upright = [p for p in plates if "-rib-" in p.id]
        for across in upright:
            for along in (p for p in plates if "-long-" in p.id):
                x = in_stand(across.to_fixture((0, 0, -across.thickness / 2)))[0]
                y = in_stand(along.to_fixture((0, 0, -along.thickness / 2)))[1]
                ends = [in_stand(p.to_fixture((p.box[k], 0, 0)))[axis] for p, axis in ((across, 1), (along, 0))
                        for k in (0, 2)]
                if not (min(ends[:2]) < y < max(ends[:2]) and min(ends[2:]) < x < max(ends[2:])):
                    continue
                top = min(p.box[3] for p in (across, along))
                yield from lap_findings(across, along, clearance, lambda h, x=x, y=y: placed_in(frame, x, y, h), 0, top)


def placed_in(frame, x, y, z):
    return cut.placed(frame, (x, y, z))


def plug_drops_in(result):
    limit = -(TOUCH_MM + ROUNDING_MM + result.noise)
    supports = result.kinds("rib", "stop", "stringer", "tie")
    points = [(p.id, q) for p in supports for q in p.samples(3, 3)]
    height = result.plug.bounds[5] - result.plug.bounds[4]
    top = max(q[2] for _, q in points)
    rises = [0.5, 1, 2, 3, 5, 8]
    while rises[-1] < top - result.plug.bounds[4]:
        rises.append(rises[-1] + max(2.0, height / 12))
    for rise in rises:
        close = [(name, q) for name, q in points if result.plug.near([q], 0, rise)]
        depths = result.plug.distances([q for _, q in close], rise)
        worst = min(zip(depths, (name for name, _ in close)), default=(0, ""))
        if worst[0] < limit:
            yield f"raised by {rise:.1f} mm the plug cuts {worst[1]} by {-worst[0]:.3f} mm, allowed {-limit:.3f}"


CHECKS = [no_part_enters_the_plug, panels_keep_their_gap, saddles_touch, parts_do_not_clash, slots_mate,
          panels_reach_the_line, panels_are_carried, marks_lie_on_material, plug_drops_in, backs_keep_their_distance,
          backs_stand_and_mate]
