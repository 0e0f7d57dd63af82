// SPDX-License-Identifier: GPL-3.0-or-later
// Fits lines and arcs to a chain, greedily. Source: derived.
// Every circle through the run's ends a and b is one number, psi = half the arc's sweep. With chord c, p = m + u e + v
// n in the chord's frame, the power of p over twice the radius is (u^2 + v^2 - c^2/4) / c * sin(psi) - v * cos(psi),
// and it differs from the distance to the circle by distance^2 / (2 r) only. |that| <= tolerance is one interval of psi
// a point, so the arcs that pass within the tolerance of all points are one intersection of intervals: no iteration, no
// start value. Rejected: least squares circles (do not pass through the ends, minimise the wrong norm).
#include <algorithm>
#include <limits>
#include <numbers>
#include <optional>
#include <span>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/region_ops.hpp"

namespace cradlewright {

namespace {

constexpr double largest_sweep_rad = 170 * std::numbers::pi / 180;
constexpr double largest_radius_mm = 5000;
/// Share of the tolerance used for the search: leaves room for the curvature term above and for rounding.
constexpr double search_share = 0.99;

struct Interval {
    double low, high;
    void clip(double new_low, double new_high) {
        low = std::max(low, new_low);
        high = std::min(high, new_high);
    }
    [[nodiscard]] bool is_empty() const { return !(low <= high); }
};

double distance_to_segment(Vec2 p, Vec2 a, Vec2 b) {
    const Vec2 along = b - a;
    const double length2 = dot(along, along);
    const double t = length2 > 0 ? std::clamp(dot(p - a, along) / length2, 0.0, 1.0) : 0;
    return norm(p - (a + along * t));
}

double distance_to_arc(Vec2 p, const Arc& arc, Vec2 a, Vec2 b) {
    const Vec2 from_center = p - arc.center;
    const Vec2 start = a - arc.center;
    const double turn = std::atan2(cross(start, from_center), dot(start, from_center));
    const bool is_in_sector =
        arc.sweep_rad > 0 ? turn >= 0 && turn <= arc.sweep_rad : turn <= 0 && turn >= arc.sweep_rad;
    return is_in_sector ? std::abs(norm(from_center) - arc.radius) : std::min(norm(p - a), norm(p - b));
}

/// Largest distance of a run of chain edges from the line or arc between its ends. A chain that joins the ends crosses
/// every ray (or normal) of the primitive between them, so the same figure bounds the way back.
double deviation(std::span<const Vec2> run, double bulge) {
    const Vec2 a = run.front(), b = run.back();
    double worst = 0;
    if (bulge == 0) {
        for (const Vec2 p : run) worst = std::max(worst, distance_to_segment(p, a, b));
        return worst;
    }
    const Arc arc = arc_of(a, b, bulge);
    for (std::size_t i = 0; i + 1 < run.size(); ++i) {
        const Vec2 along = run[i + 1] - run[i];
        const double t = std::clamp(dot(arc.center - run[i], along) / dot(along, along), 0.0, 1.0);
        // Outward an edge is farthest at its ends, inward at the foot of the centre.
        worst =
            std::max({worst, distance_to_arc(run[i + 1], arc, a, b), distance_to_arc(run[i] + along * t, arc, a, b)});
    }
    return worst;
}

/// Bulge of an arc through the run's ends that stays within the tolerance, or nothing.
std::optional<double> fit_arc(std::span<const Vec2> run, double tolerance_mm) {
    const Vec2 a = run.front(), b = run.back();
    const double chord = norm(b - a);
    if (chord <= 2 * tolerance_mm) return std::nullopt;
    const Vec2 middle = (a + b) * 0.5, e = (b - a) / chord;
    const double search_mm = search_share * tolerance_mm;
    Interval psi{-largest_sweep_rad / 2, largest_sweep_rad / 2};
    const auto admit = [&](Vec2 p) {
        const double u = dot(p - middle, e), v = dot(p - middle, perp(e));
        const double x = (chord * chord / 4 - u * u - v * v) / chord;
        const double reach = std::hypot(x, v);
        if (reach <= search_mm) return true;  // so near an end that any arc will do
        if (x <= 0) return false;             // outside the circle over the chord: no arc up to half a turn passes
        const double through = std::atan2(-v, x), play = std::asin(search_mm / reach);
        psi.clip(through - play, through + play);
        return !psi.is_empty();
    };
    for (std::size_t i = 0; i + 1 < run.size(); ++i) {
        if (!admit((run[i] + run[i + 1]) * 0.5)) return std::nullopt;
        if (i > 0 && !admit(run[i])) return std::nullopt;
    }
    const double half_sweep = (psi.low + psi.high) / 2;
    if (std::abs(std::sin(half_sweep)) * 2 * largest_radius_mm < chord) return std::nullopt;
    const double bulge = std::tan(half_sweep / 2);
    if (deviation(run, bulge) > tolerance_mm) return std::nullopt;
    return bulge;
}

std::optional<double> fit_line(std::span<const Vec2> run, double tolerance_mm) {
    if (deviation(run, 0) > tolerance_mm) return std::nullopt;
    return 0.0;
}

struct Reach {
    std::size_t edges = 0;
    double bulge = 0;
};

/// The longest start of the run that `fit` accepts: doubling, then bisection. One failure is stepped over, as noise can
/// spoil a short start of a good long run.
template <class Fit>
Reach longest(std::span<const Vec2> run, std::size_t least_edges, const Fit& fit) {
    const std::size_t all = run.size() - 1;
    Reach best;
    std::size_t bad = all + 1;
    const auto attempt = [&](std::size_t edges) {
        const std::optional<double> bulge = fit(run.first(edges + 1));
        if (bulge) best = {edges, *bulge};
        return bulge.has_value();
    };
    for (std::size_t edges = least_edges, failures = 0; edges <= all && failures < 2; edges *= 2) {
        if (attempt(edges)) {
            bad = all + 1;
            failures = 0;
        } else {
            if (failures == 0) bad = edges;
            ++failures;
        }
    }
    if (best.edges == 0) return best;
    while (bad - best.edges > 1) {
        const std::size_t middle = best.edges + (bad - best.edges) / 2;
        if (!attempt(middle)) bad = middle;
    }
    return best;
}

/// Fits one run that holds neither a corner nor a change of kind, and appends all but its last point.
void fit_run(std::span<const Vec2> run, CutKind cut, double tolerance_mm, FitResult& result) {
    while (run.size() > 1) {
        const Reach line = longest(run, 1, [&](auto part) { return fit_line(part, tolerance_mm); });
        const Reach arc = longest(run, line.edges + 1, [&](auto part) { return fit_arc(part, tolerance_mm); });
        const Reach& chosen = arc.edges > line.edges ? arc : line;
        result.loop.vertices.push_back({run.front(), chosen.bulge, cut});
        result.max_deviation_mm =
            std::max(result.max_deviation_mm, deviation(run.first(chosen.edges + 1), chosen.bulge));
        run = run.subspan(chosen.edges);
    }
}

std::vector<PathVertex> without_repeats(const Loop& loop) {
    std::vector<PathVertex> vertices;
    const std::size_t n = loop.vertices.size();
    for (std::size_t i = 0; i < n; ++i) {
        if (loop.vertices[i].at != loop.vertices[(i + 1) % n].at) vertices.push_back(loop.vertices[i]);
    }
    return vertices;
}

bool is_break(const PathVertex& before, const PathVertex& here, const PathVertex& after, double corner_rad) {
    if (before.cut != here.cut || before.bulge != 0 || here.bulge != 0) return true;
    const Vec2 in = here.at - before.at, out = after.at - here.at;
    return std::abs(std::atan2(cross(in, out), dot(in, out))) > corner_rad;
}

/// True for what is left of a loop narrower than the tolerance.
bool is_collapsed(const Loop& loop) {
    const auto is_straight = [](const PathVertex& v) { return v.bulge == 0; };
    return loop.vertices.size() < 3 && std::all_of(loop.vertices.begin(), loop.vertices.end(), is_straight);
}

/// Where runs start. A loop without any break is broken at its first vertex.
std::vector<std::size_t> find_breaks(const std::vector<PathVertex>& vertices, double corner_rad) {
    std::vector<std::size_t> breaks;
    for (std::size_t i = 0, n = vertices.size(); i < n; ++i) {
        if (is_break(vertices[(i + n - 1) % n], vertices[i], vertices[(i + 1) % n], corner_rad)) breaks.push_back(i);
    }
    if (breaks.empty() && !vertices.empty()) breaks.push_back(0);
    return breaks;
}

}  // namespace

FitResult fit_lines_and_arcs(const Loop& polyline, const FitOptions& options) {
    CRADLEWRIGHT_PRECONDITION(options.tolerance_mm > 0 && options.corner_rad > 0);
    const std::vector<PathVertex> vertices = without_repeats(polyline);
    const std::vector<std::size_t> breaks = find_breaks(vertices, options.corner_rad);
    FitResult result;
    const std::size_t n = vertices.size();
    for (std::size_t k = 0; k < breaks.size(); ++k) {
        const std::size_t first = breaks[k];
        const std::size_t last = k + 1 < breaks.size() ? breaks[k + 1] : breaks[0] + n;
        if (vertices[first].bulge != 0) {
            result.loop.vertices.push_back(vertices[first]);
            continue;
        }
        std::vector<Vec2> run;
        run.reserve(last - first + 1);
        for (std::size_t i = first; i <= last; ++i) run.push_back(vertices[i % n].at);
        fit_run(run, vertices[first].cut, options.tolerance_mm, result);
    }
    return is_collapsed(result.loop) ? FitResult{polyline, 0} : result;
}

}  // namespace cradlewright
