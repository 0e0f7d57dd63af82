// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/flange_plan.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "cradlewright/geom/polyline.hpp"

namespace cradlewright {
namespace {

constexpr double fair_step_mm = 0.5;  // of two tops, that filler and sandpaper fair; assumed
constexpr double most_aslant = 0.5;   // cosine: a mitre leaves at most 60 deg off the bisector
constexpr double most_aside = 0.25;   // of the width: a mitre passes the corner within this
constexpr double blunt_share = 1.8;   // of the width: corners that reach further out are cut off
constexpr double own_share = 0.5;     // of the width: so far back into the plug a mitre cuts the run's own strip
constexpr double near_share = 2.5;    // of the width: so much of a neighbour's strip a mitre may cut off

using Chain = std::vector<Vec2>;

Chain counter_clockwise(Chain chain) {
    if (signed_area(chain) < 0) std::reverse(chain.begin(), chain.end());
    return chain;
}

/// What of a convex chain lies behind the line through `at` square to `normal`.
Chain behind(const Chain& chain, Vec2 at, Vec2 normal) {
    Chain kept;
    for (std::size_t i = 0; i < chain.size(); ++i) {
        const Vec2 p = chain[i], q = chain[(i + 1) % chain.size()];
        const double a = dot(p - at, normal), b = dot(q - at, normal);
        if (a <= 0) kept.push_back(p);
        if ((a < 0 && b > 0) || (a > 0 && b < 0)) kept.push_back(p + (q - p) * (a / (a - b)));
    }
    return kept;
}

/// Largest difference in height along a cut of the given length.
double step_along(const PlanPlane& a, const PlanPlane& b, Vec2 at, Vec2 direction, double length_mm) {
    const auto step = [&](Vec2 p) { return std::abs(a.height(p) - b.height(p)); };
    return std::max(step(at), step(at + direction * length_mm));
}

Mitre mitre_of_tops(const Run& before, const Run& after) {
    Mitre mitre;
    mitre.at = mitre.joint = after.points.front().at;
    const Vec2 a = before.outward.back(), b = after.outward.front();
    mitre.bisector = mitre.direction = normalized(a + b);
    mitre.turn_rad = std::atan2(cross(a, b), dot(a, b));
    const double width = std::max(before.width_mm, after.width_mm);
    const double length = width * std::min(blunt_share, 1 / std::max(std::cos(mitre.turn_rad / 2), 0.1));
    const PlanPlane &behind_it = before.flats.back(), &ahead_of_it = after.flats.front();
    mitre.step_mm = step_along(behind_it, ahead_of_it, mitre.joint, mitre.bisector, length);
    if (mitre.step_mm <= fair_step_mm) return mitre;
    // Line on which both planes have one height, if it leaves the corner outward.
    const Vec2 change = behind_it.gradient - ahead_of_it.gradient;
    if (norm(change) == 0) return mitre;
    const double offset = ahead_of_it.at_origin - behind_it.at_origin;
    Vec2 line = perp(normalized(change));
    if (dot(line, mitre.bisector) < 0) line = -line;
    if (dot(line, mitre.bisector) < most_aslant) return mitre;
    // From the plug on the cut follows the bisector until it meets that line.
    const double apart = dot(change, mitre.joint) - offset, along = -apart / dot(change, mitre.bisector);
    if (std::abs(apart) > fair_step_mm) {
        if (!(std::abs(along) <= most_aside * width)) return mitre;
        mitre.at = mitre.joint + mitre.bisector * along;
    }
    mitre.direction = line;
    mitre.step_mm = step_along(behind_it, ahead_of_it, mitre.at, line, length);
    return mitre;
}

Mitre mitre_between(const Run& before, const Run& after, double thickness_mm) {
    Mitre mitre = mitre_of_tops(before, after);
    const Vec2 ahead = perp(mitre.direction);
    const auto lean = [&](const PlanPlane& top) { return std::sin(std::atan(dot(top.gradient, ahead))); };
    mitre.set_back_mm = std::max(0.0, 0.5 * thickness_mm * (lean(before.flats.back()) - lean(after.flats.front())));
    return mitre;
}

/// Quads from just inside the plug to the full width, for the points first .. last of a run.
Polygons strip_in_plan(const Run& run, std::size_t first, std::size_t last) {
    Polygons quads;
    for (std::size_t i = first; i < last; ++i) {
        const auto outer = [&](std::size_t k) {
            return run.points[k].at +
                   run.outward[k] * run.plane_at(run.points[k].at).in_plan(run.width_mm, run.outward[k]);
        };
        const auto inner = [&](std::size_t k) { return run.points[k].at - run.outward[k] * panel_inward_mm; };
        quads.push_back(counter_clockwise({inner(i), outer(i), outer(i + 1), inner(i + 1)}));
    }
    return quads;
}

/// Points of a run within `length_mm` of its start (side -1) or end (side +1).
Polygons end_of_strip(const Run& run, double side, double length_mm) {
    const std::size_t last = run.points.size() - 1;
    std::size_t k = 0;
    for (double length = 0; k < last && length < length_mm; ++k) {
        const std::size_t at = side > 0 ? last - k : k, next = side > 0 ? at - 1 : at + 1;
        length += norm(run.points[next].at - run.points[at].at);
    }
    return side > 0 ? strip_in_plan(run, last - k, last) : strip_in_plan(run, 0, k);
}

/// What two strips leave open at a corner that sticks out: up to where their outer edges cross.
Chain corner_piece(const Run& before, const Run& after, const Mitre& mitre) {
    const Vec2 a = before.outward.back(), b = after.outward.front();
    const double width = std::max(before.width_mm, after.width_mm),
                 out_a = before.flats.back().in_plan(before.width_mm, a),
                 out_b = after.flats.front().in_plan(after.width_mm, b), far = 2 * blunt_share * width;
    if (mitre.turn_rad <= 0) return {};
    const Vec2 from = mitre.joint - mitre.bisector * panel_inward_mm;
    Chain piece = counter_clockwise({from, from + a * far, from + (a + b) * far, from + b * far});
    piece = behind(piece, mitre.joint + a * out_a, a);
    piece = behind(piece, mitre.joint + b * out_b, b);
    return behind(piece, mitre.joint + mitre.bisector * (blunt_share * width), mitre.bisector);
}

/// What lies beyond a mitre, near it. `side` +1: ahead of it along the line, -1: behind. Inside the plug it follows
/// the bisector, however aslant the mitre leaves.
Polygons beyond(const Mitre& m, double width, double side, double back_share) {
    const double back = back_share * width, far = 5 * width, deep = 5 * width;
    const Vec2 ahead = perp(m.bisector) * side, from = m.edge(side);
    return {counter_clockwise({from - m.bisector * back, from, from + m.direction * far,
                               from + m.direction * far + ahead * deep, from - m.bisector * back + ahead * deep})};
}

}  // namespace

LoopPlan plan_panels(const std::vector<Run>& runs, double thickness_mm, bool is_inner) {
    LoopPlan plan;
    const std::size_t n = runs.size();
    if (is_inner) {
        for (const Run& run : runs) {
            Chain inside;
            for (const PlanPoint& p : run.points) inside.push_back(p.at);
            plan.shapes.push_back(offset({counter_clockwise(std::move(inside))}, panel_inward_mm));
        }
        return plan;
    }
    if (n == 1 && runs.front().is_whole_loop) {
        plan.shapes.push_back(unite(strip_in_plan(runs.front(), 0, runs.front().points.size() - 1)));
        return plan;
    }
    for (std::size_t r = 0; r < n; ++r)
        plan.mitres.push_back(mitre_between(runs[(r + n - 1) % n], runs[r], thickness_mm));
    Polygons taken;
    for (std::size_t r = 0; r < n; ++r) {
        const Run &run = runs[r], &before = runs[(r + n - 1) % n], &after = runs[(r + 1) % n];
        const Mitre &start = plan.mitres[r], &end = plan.mitres[(r + 1) % n];
        // A mitre gives to a panel what lies on its side of it, be it of the neighbour's strip.
        const double width = std::max({before.width_mm, run.width_mm, after.width_mm}), near = near_share * width;
        Polygons pieces = strip_in_plan(run, 0, run.points.size() - 1);
        const auto add = [&](const Polygons& more) { pieces.insert(pieces.end(), more.begin(), more.end()); };
        add(subtract(unite(end_of_strip(before, 1, near)), beyond(start, width, -1, near_share)));
        add(subtract(unite(end_of_strip(after, -1, near)), beyond(end, width, 1, near_share)));
        add(unite({corner_piece(before, run, start)}));
        add(unite({corner_piece(run, after, end)}));
        const Polygons shape =
            subtract(subtract(unite(pieces), beyond(end, width, 1, own_share)), beyond(start, width, -1, own_share));
        // Panels that are no neighbours meet where a short edge's mitres cross, or over a bay of the plug.
        plan.shapes.push_back(subtract(shape, taken));
        taken = unite(taken, plan.shapes.back());
    }
    return plan;
}

}  // namespace cradlewright
