// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/layup_outline.hpp"

#include <algorithm>
#include <utility>

namespace cradlewright {
namespace {

constexpr double half_edge_mm = 0.5;  // of the strips that edges are widened to before they are offset
constexpr double cross_mm = 5, text_mm = 8, arrow_mm = 60;

}  // namespace

Polygons with_margins(const Polygons& net, const std::function<bool(Vec2)>& is_seam, const KitOptions& kit) {
    const double margin = kit.cloth_margin.mm(), lap = kit.overlap.mm();
    const bool is_wide_at_seam = lap > margin;
    Polygons wide;  // edges that take the wider of the two
    for (const auto& loop : net)
        for (std::size_t k = 0; k < loop.size(); ++k) {
            const Vec2 a = loop[k], b = loop[(k + 1) % loop.size()];
            if (is_seam((a + b) * 0.5) != is_wide_at_seam) continue;
            const Vec2 along = normalized(b - a), aside{-along.y * half_edge_mm, along.x * half_edge_mm};
            wide.push_back({a - aside, b - aside, b + aside, a + aside});
        }
    return unite(offset(net, std::min(margin, lap), cloth_fit_mm),
                 offset(unite(wide), std::max(margin, lap) - half_edge_mm, cloth_fit_mm));
}

Region cut_region(const Polygons& loops, const KitOptions& kit, OutlineFit& fit) {
    Region region;
    double most = 0;
    for (const auto& loop : loops) {
        const double area = area_of({loop});
        if (area <= most) continue;
        most = area;
        region.outer = fitted(make_loop(loop, CutKind::rough), cloth_fit_mm, fit);
    }
    // What is left open between overlaps is no hole to cut.
    const double least_hole_mm2 = 4 * kit.overlap.mm() * kit.overlap.mm();
    for (const auto& loop : loops)
        if (area_of({loop}) < -least_hole_mm2)
            region.holes.push_back(fitted(make_loop(loop, CutKind::rough), cloth_fit_mm, fit));
    return region;
}

void add_cloth_marks(PlatePart& part, const Polygons& net) {
    const auto line = [&](std::vector<Vec2> points) {
        part.marks.push_back({MarkKind::line, std::move(points), {}, 0});
    };
    for (const auto& loop : net) {
        std::vector<Vec2> closed = loop;
        closed.push_back(loop.front());
        line(std::move(closed));
    }
    const Box2 box = bounding_box(part.outline);
    const double y = std::clamp(0.0, box.low.y + 2 * cross_mm, std::max(box.low.y, box.high.y - 2 * cross_mm));
    part.marks.push_back({MarkKind::cross, {{0, y}}, {}, cross_mm});
    line({{0, y}, {arrow_mm, y}});
    line({{arrow_mm - text_mm, y + text_mm / 2}, {arrow_mm, y}, {arrow_mm - text_mm, y - text_mm / 2}});
    part.marks.push_back({MarkKind::text, {{cross_mm, y + text_mm / 2}}, "warp", text_mm});
}

}  // namespace cradlewright
