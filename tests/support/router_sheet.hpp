// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>

#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/output/layout.hpp"

/// A sheet with all that makes a router's work hard. Header only: used with the rooms up to output.
namespace cradlewright::test {

inline PlatePart routed_part(const std::string& id, Region outline) {
    PlatePart part;
    part.id = id;
    part.kind = PartKind::rib;
    part.stock = "birch-ply-9";
    part.thickness_mm = 9;
    part.outline = std::move(outline);
    return part;
}

/// 300 x 120 with a saddle (fit arc of radius 140 on top), an open slot of 9.2 x 25 below, a round hole of 40, one of 8
/// (waste narrower than the cutter) and a rectangular window of 80 x 40.
inline Region rib_outline() {
    Region region;
    region.outer = make_loop(
        {{0, 0}, {60, 0}, {60, 25}, {69.2, 25}, {69.2, 0}, {300, 0}, {300, 120}, {250, 120}, {50, 120}, {0, 120}},
        CutKind::rough);
    std::vector<PathVertex>& v = region.outer.vertices;
    for (const std::size_t i : {1u, 2u, 3u}) v[i].cut = CutKind::fit;
    v[7].cut = CutKind::fit;
    v[7].bulge = -std::tan(std::asin(100.0 / 140.0) / 2);  // hollow, seen from the part
    Loop window = reversed(make_rectangle({150, 20}, {230, 60}, CutKind::rough));
    region.holes = {make_circle({110, 40}, 20, CutKind::rough, true), make_circle({270, 40}, 4, CutKind::rough, true),
                    window};
    return region;
}

/// Three parts on one sheet: the rib above, the same turned by a quarter, and a small plate that lies in the window of
/// a frame.
inline Design routed_design() {
    Design design;
    design.settings.cut_by = CutMethod::router;
    Region frame{make_rectangle({0, 0}, {200, 150}, CutKind::rough), {}};
    frame.holes.push_back(reversed(make_rectangle({30, 25}, {170, 125}, CutKind::rough)));
    for (const PlatePart& part :
         {routed_part("rib-1", rib_outline()), routed_part("rib-2", rib_outline()), routed_part("frame", frame),
          routed_part("plate", {make_rectangle({0, 0}, {60, 40}, CutKind::fit), {}})}) {
        design.cradle.ribs.push_back({});
        design.cradle.ribs.back().part = part;
    }
    return design;
}
inline Layout routed_layout() {
    const double quarter = std::acos(0.0);
    Sheet sheet;
    sheet.stock = "birch-ply-9";
    sheet.length_mm = sheet.width_mm = 1525;
    sheet.placements = {
        {"rib-1", 0, {20, 20}}, {"rib-2", quarter, {480, 20}}, {"frame", 0, {20, 170}}, {"plate", 0, {90, 225}}};
    return {{sheet}, {}};
}
/// A part as it lies on its sheet, chords at most 0.001 mm off.
inline Polygons placed_polygons(const Design& design, const Placement& placement) {
    const std::vector<const PlatePart*> parts = all_parts(design);
    const PlatePart& part =
        **std::find_if(parts.begin(), parts.end(), [&](auto* p) { return p->id == placement.part; });
    return to_polygons(moved(part.outline, placement.angle_rad, placement.shift), 0.001);
}

}  // namespace cradlewright::test
