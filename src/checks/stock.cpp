// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <limits>

#include "checks/families.hpp"

namespace cradlewright {
namespace {

constexpr double sheet_margin_mm = 10;  // kept free along a sheet's edges; as LayoutOptions::margin_mm

constexpr double proud_mm = 0.2;  // what a file takes off without anyone noticing

struct TightArc {
    double radius_mm = std::numeric_limits<double>::infinity();
    Vec2 at;
};

/// Tightest inside arc on fit edges that a tool of `tool_mm` radius would leave standing proud. Sharp inside corners of
/// slots are sawn from both sides and do not count here.
TightArc tightest_arc(const Region& region, double tool_mm) {
    TightArc tight;
    const auto scan = [&](const Loop& loop) {
        for (std::size_t i = 0; i < loop.vertices.size(); ++i) {
            const PathVertex& v = loop.vertices[i];
            if (v.cut != CutKind::fit || !(v.bulge < 0)) continue;
            const Vec2 b = loop.vertices[(i + 1) % loop.vertices.size()].at;
            const double radius = arc_of(v.at, b, v.bulge).radius;
            // What the tool leaves over the arc's chord: difference of the two sagittas.
            const double left = dot(b - v.at, b - v.at) / 8 * (1 / radius - 1 / tool_mm);
            if (radius < tool_mm && left < proud_mm) continue;
            if (radius < tight.radius_mm) tight = {radius, (v.at + b) * 0.5};
        }
    };
    scan(region.outer);
    for (const Loop& hole : region.holes) scan(hole);
    return tight;
}

}  // namespace

std::vector<Check> check_tool_inside_radius(const Design& design) {
    std::vector<Check> checks;
    const double blade = bandsaw_min_radius_mm(design.settings.saw.blade.mm());
    const double drum = design.settings.saw.drum.mm() / 2;
    for (const PlatePart* part : all_parts(design)) {
        const bool is_routed = design.settings.cut_by == CutMethod::router;
        const TightArc tight = tightest_arc(part->outline, is_routed ? design.settings.router.cutter.mm() / 2 : blade);
        if (!std::isfinite(tight.radius_mm)) continue;
        Check c;
        c.id = "tool.inside-radius";
        c.subject = part->id;
        c.value = c.low = c.high = Quantity::of(Length::mm(tight.radius_mm));
        c.relation = Relation::at_least;
        c.at = part->frame.to_parent(tight.at);
        if (is_routed) {
            c.limit = Quantity::of(design.settings.router.cutter / 2);
            c.advice = "a cutter of " + fixed(2 * tight.radius_mm, 1) + " mm or less reaches it";
        } else {
            c.limit = Quantity::of(Length::mm(std::min(drum, blade)));
            c.good = Quantity::of(Length::mm(blade));
            c.advice = tight.radius_mm >= blade ? "the blade follows it"
                                                : "saw relief cuts to the line and finish with a drum of " +
                                                      fixed(std::floor(2 * tight.radius_mm), 0) + " mm or less";
        }
        c.formula = "smallest concave radius on edges cut to fit, against blade and drum (or cutter)";
        c.source = {"bandsaw-charts", "smallest radius by blade width"};
        checks.push_back(judged(std::move(c)));
    }
    if (checks.empty())
        checks.push_back(not_applicable_check("tool.inside-radius", "parts", "no curved inside edge to fit"));
    return checks;
}

std::vector<Check> check_stock_fit(const Design& design) {
    std::vector<Check> checks;
    for (const PlatePart* part : all_parts(design)) {
        if (part->outline.outer.vertices.empty()) continue;
        const Stock& from = stock(design.settings, part->stock);
        const Vec2 size = bounding_box(part->outline).size();
        const bool is_strip = part->kind == PartKind::stringer;
        const double margin = is_strip ? 0 : 2 * sheet_margin_mm;
        const double length = from.length_mm - margin, width = from.width_mm - margin;
        const double straight = std::max(size.x / length, size.y / width),
                     turned = std::max(size.y / length, size.x / width);
        Check c;
        c.id = "stock.fit";
        c.subject = part->id;
        c.value = c.low = c.high = Quantity::ratio(std::min(straight, turned));
        c.limit = Quantity::ratio(1);
        c.relation = Relation::at_most;
        c.formula = "part's box over the sheet less its margins, better of two directions";
        c.source = Source::derived("plain comparison of sizes");
        c.advice = c.value.value <= 1 ? "fits " + from.name
                                      : "needs " + fixed(std::ceil(std::max(size.x, size.y) + margin), 0) + " x " +
                                            fixed(std::ceil(std::min(size.x, size.y) + margin), 0) +
                                            " mm: give a larger stock." + from.name;
        checks.push_back(judged(std::move(c)));
    }
    if (checks.empty()) checks.push_back(unknown_check("stock.fit", "parts", "no part was made"));
    return checks;
}

}  // namespace cradlewright
