// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "checks/advice.hpp"
#include "checks/families.hpp"
#include "cradlewright/catalog/cutting.hpp"
#include "cradlewright/geom/cutter_reach.hpp"
#include "cradlewright/geom/polyline.hpp"

namespace cradlewright {
namespace {

constexpr double proud_mm = 0.2;  // what a file takes off without anyone noticing

// Tighter than this is a corner, not a curve: sawn or filed from both sides, as the corners of slots are. Source:
// common practice.
constexpr double corner_mm = 1;

// Chords that stand for arcs where reach is judged.
constexpr double reach_sag_mm = 0.01;

struct TightArc {
    double radius_mm = std::numeric_limits<double>::infinity();
    Vec2 at;
    void take(double radius, Vec2 where) {
        if (radius < radius_mm) *this = {radius, where};
    }
};

/// Concave arcs one after the other, as fitting splits one curve.
struct ArcRun {
    double length_mm = 0, turn_rad = 0;
    Vec2 first, last;
    [[nodiscard]] double radius_mm() const { return length_mm / turn_rad; }
    /// What a tool that touches both sides leaves standing in the middle: (R - r) (1 / cos(turn / 2) - 1).
    [[nodiscard]] double left_by(double tool_mm) const {
        const double half = std::min(turn_rad / 2, 1.5);
        return (tool_mm - radius_mm()) * (1 / std::cos(half) - 1);
    }
};

/// Tightest inside curve on a loop's fit edges, of those the tool follows and those it leaves standing proud.
void take_tightest(const Loop& loop, double tool_mm, TightArc& tight) {
    const std::size_t n = loop.vertices.size();
    const auto is_concave = [&](std::size_t i) {
        const PathVertex& v = loop.vertices[i % n];
        return v.cut == CutKind::fit && v.bulge < 0;
    };
    std::size_t start = 0;
    while (start < n && is_concave(start)) ++start;  // not in the middle of a run, unless all of it is one
    if (start == n) start = 0;
    ArcRun run;
    const auto end_run = [&] {
        if (run.turn_rad > 0 && run.radius_mm() >= corner_mm && run.left_by(tool_mm) >= proud_mm)
            tight.take(run.radius_mm(), (run.first + run.last) * 0.5);
        run = {};
    };
    for (std::size_t k = start; k < start + n; ++k) {
        const PathVertex& v = loop.vertices[k % n];
        const Vec2 b = loop.vertices[(k + 1) % n].at;
        const double radius = is_concave(k) ? arc_of(v.at, b, v.bulge).radius : 0;
        if (!is_concave(k) || radius >= tool_mm) {
            end_run();
            if (is_concave(k)) tight.take(radius, (v.at + b) * 0.5);
            continue;
        }
        if (!(run.turn_rad > 0)) run.first = v.at;
        run.last = b;
        const double turn = 4 * std::atan(-v.bulge);
        run.turn_rad += turn;
        run.length_mm += radius * turn;
    }
    end_run();
}

/// Where a cutter gets in only up to less than its radius, it stands off a slot or a hole, not off a corner: a corner
/// of 60 deg keeps just the radius.
bool is_too_narrow(const Region& region, const UnreachedPlace& place, double radius_mm) {
    constexpr double beside_mm = 0.1;
    if (place.left_mm < radius_mm) return false;
    double any = std::numeric_limits<double>::infinity(), fit = any;
    const auto look = [&](const Loop& loop) {
        for (std::size_t i = 0, n = loop.vertices.size(); i < n; ++i) {
            const PathVertex& v = loop.vertices[i];
            std::vector<Vec2> edge = flatten_edge(v.at, loop.vertices[(i + 1) % n].at, v.bulge, reach_sag_mm);
            edge.insert(edge.begin(), v.at);
            const double distance = distance_to_polyline(place.at, edge, false);
            any = std::min(any, distance);
            if (v.cut == CutKind::fit) fit = std::min(fit, distance);
        }
    };
    look(region.outer);
    for (const Loop& hole : region.holes) look(hole);
    return fit <= any + beside_mm;
}

/// Widest cutter radius up to `tool_mm` for which no fit edge lies in a slot or hole too narrow for it.
TightArc narrowest_slot(const Region& region, double tool_mm) {
    const Polygons shape = to_polygons(region, reach_sag_mm);
    const auto narrow_at = [&](double radius) -> std::optional<Vec2> {
        for (const UnreachedPlace& place : unreached_places(shape, radius, proud_mm, reach_sag_mm))
            if (is_too_narrow(region, place, radius)) return place.at;
        return std::nullopt;
    };
    TightArc tight;
    std::optional<Vec2> at = narrow_at(tool_mm);
    if (!at) return tight;
    double enters = 0, stays_out = tool_mm;
    for (int i = 0; i < 12; ++i) {  // to a thousandth of the cutter
        const double middle = (enters + stays_out) / 2;
        const std::optional<Vec2> there = narrow_at(middle);
        if (there) at = there;
        (there ? stays_out : enters) = middle;
    }
    // No slot, but a sharp corner that keeps its share of any cutter.
    constexpr double corner_share = 0.05;
    if (enters > corner_share * tool_mm) tight.take(enters, *at);
    return tight;
}

/// Of all loops.
TightArc tightest_arc(const Region& region, double tool_mm) {
    TightArc tight;
    take_tightest(region.outer, tool_mm, tight);
    for (const Loop& hole : region.holes) take_tightest(hole, tool_mm, tight);
    return tight;
}

/// The widest usual blade that still turns in a radius, by sixteenths of an inch, or 0.
int blade_sixteenths(double radius_mm) {
    constexpr int widest = 16, narrowest = 2;
    for (int n = widest; n >= narrowest; --n)
        if (bandsaw_min_radius_mm(Length::inch(n / 16.0).mm()) <= radius_mm) return n;
    return 0;
}

std::string smaller_tool(const Settings& settings, double radius_mm) {
    const std::string diameter = length_to_set(settings, 2 * radius_mm, Rounding::down);
    if (settings.cut_by == CutMethod::router) return "take a cutter of " + diameter + " or less (router.cutter)";
    // Blades are sold by the inch everywhere.
    if (const int n = blade_sixteenths(radius_mm))
        return "take a blade of " + inch_fraction(Length::inch(n / 16.0)) + " in or less (saw.blade)";
    return "saw relief cuts to the line and finish with a drum of " + diameter + " or less (saw.drum)";
}

}  // namespace

std::vector<Check> check_tool_inside_radius(const Design& design) {
    const Settings& settings = design.settings;
    const bool is_routed = settings.cut_by == CutMethod::router;
    const double blade = bandsaw_min_radius_mm(settings.saw.blade.mm());
    const double tool = is_routed ? settings.router.cutter.mm() / 2 : std::min(settings.saw.drum.mm() / 2, blade);
    std::vector<Check> checks;
    for (const PlatePart* part : all_parts(design)) {
        TightArc tight = tightest_arc(part->outline, tool);
        if (is_routed && part->kind != PartKind::stringer && !part->outline.outer.vertices.empty()) {
            const TightArc slot = narrowest_slot(part->outline, tool);
            tight.take(slot.radius_mm, slot.at);
        }
        if (!std::isfinite(tight.radius_mm)) continue;
        Check c;
        c.id = "tool.inside-radius";
        c.subject = part->id;
        c.value = c.low = c.high = Quantity::of(Length::mm(tight.radius_mm));
        c.limit = Quantity::of(Length::mm(tool));
        c.relation = Relation::at_least;
        c.at = placed(*part, tight.at);
        c.formula =
            "smallest concave radius on edges cut to fit, against the smaller of blade and drum (or cutter, then half "
            "the "
            "width of slots and holes too)";
        c.source = {"bandsaw-charts", "smallest radius by blade width"};
        c = judged(std::move(c));
        if (c.verdict != Verdict::pass)
            c.advice = smaller_tool(settings, tight.radius_mm);
        else if (is_routed)
            c.advice = "the cutter reaches it";
        else if (!(tightest_arc(part->outline, blade).radius_mm < blade))
            c.advice = "the blade follows it";
        else
            c.advice = "saw relief cuts to the line and finish with the drum of " +
                       length_text(settings, settings.saw.drum.mm());
        checks.push_back(std::move(c));
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
        Check c;
        c.id = "stock.fit";
        c.subject = part->id;
        c.value = c.low = c.high = Quantity::ratio(share_of_sheet(design.settings, from, size));
        c.limit = Quantity::ratio(1);
        c.relation = Relation::at_most;
        c.formula = "part's box over the sheet less its margins, better of two directions";
        c.source = Source::derived("plain comparison of sizes");
        const StockRoom room = room_on(design.settings, from);
        c.advice = c.value.value <= 1
                       ? "fits " + from.name
                       : "take a sheet of " +
                             length_to_set(design.settings, std::max(size.x, size.y) + 2 * room.end_mm, Rounding::up) +
                             " x " +
                             length_to_set(design.settings, std::min(size.x, size.y) + 2 * room.side_mm, Rounding::up) +
                             " or more (length and width of stock." + from.name + ")";
        checks.push_back(judged(std::move(c)));
    }
    if (checks.empty()) checks.push_back(unknown_check("stock.fit", "parts", "no part was made"));
    return checks;
}

}  // namespace cradlewright
