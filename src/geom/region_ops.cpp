// SPDX-License-Identifier: GPL-3.0-or-later
// Booleans and offsets: B. R. Vatti, "A generic solution to polygon clipping", Communications of the ACM 35 (1992)
// 56-63, as in the Clipper library 6.4 (A. Johnson). Lower envelope: divide and conquer, S. Hart and M. Sharir,
// "Nonlinearity of Davenport-Schinzel sequences and of generalized path compression schemes", Combinatorica 6 (1986)
// 151-177, bounds its size. Pieces keep their source segment, so that heights are interpolated once and corners are
// copied.
#include "cradlewright/geom/region_ops.hpp"

#include <algorithm>
#include <initializer_list>
#include <limits>
#include <map>
#include <numbers>
#include <polyclipping/clipper.hpp>
#include <span>

#include "cradlewright/base/error.hpp"

namespace cradlewright {

namespace {

constexpr double steps_per_mm = 1e5;
/// 10 km: far beyond any workshop, and far inside the 62 bits that Clipper's exact arithmetic needs.
constexpr double largest_mm = 1e7;

/// How polygons are handed to Clipper: in whole steps, turned by a quarter where they are wider than tall. Clipper
/// sweeps upward and looks at all edges a level line meets, which are thousands where the outline of a noisy scan lies
/// level.
class ClipperGrid {
public:
    explicit ClipperGrid(std::initializer_list<const Polygons*> operands) {
        Box2 box;
        for (const Polygons* polygons : operands)
            for (const std::vector<Vec2>& loop : *polygons)
                for (const Vec2 p : loop) box.add(p);
        is_turned_ = box.size().x > box.size().y;
    }

    [[nodiscard]] ClipperLib::Paths to_steps(const Polygons& polygons) const {
        ClipperLib::Paths paths;
        paths.reserve(polygons.size());
        for (const std::vector<Vec2>& loop : polygons) {
            ClipperLib::Path& path = paths.emplace_back();
            path.reserve(loop.size());
            for (const Vec2 p : loop) path.push_back(to_step(p));
        }
        return paths;
    }

    /// Starts at the least point.
    [[nodiscard]] std::vector<Vec2> to_mm(const ClipperLib::Path& path) const {
        std::vector<Vec2> points;
        points.reserve(path.size());
        for (const ClipperLib::IntPoint& p : path) {
            const Vec2 at{static_cast<double>(p.X) / steps_per_mm, static_cast<double>(p.Y) / steps_per_mm};
            points.push_back(is_turned_ ? Vec2{at.y, -at.x} : at);
        }
        std::rotate(points.begin(), std::min_element(points.begin(), points.end()), points.end());
        return points;
    }

private:
    [[nodiscard]] ClipperLib::IntPoint to_step(Vec2 p) const {
        // Written so that NaN fails as well.
        CRADLEWRIGHT_PRECONDITION(std::abs(p.x) <= largest_mm && std::abs(p.y) <= largest_mm);
        const ClipperLib::cInt x = std::llround(p.x * steps_per_mm), y = std::llround(p.y * steps_per_mm);
        return is_turned_ ? ClipperLib::IntPoint(-y, x) : ClipperLib::IntPoint(x, y);
    }

    bool is_turned_ = false;
};

/// Cuts a loop that touches itself at a vertex into loops that do not.
ClipperLib::Paths without_pinches(const ClipperLib::Path& path) {
    ClipperLib::Paths simple;
    ClipperLib::Path open;
    std::map<std::pair<ClipperLib::cInt, ClipperLib::cInt>, std::size_t> place;
    for (const ClipperLib::IntPoint& p : path) {
        const auto [found, is_new] = place.try_emplace({p.X, p.Y}, open.size());
        if (!is_new) {
            const auto first = open.begin() + static_cast<std::ptrdiff_t>(found->second);
            simple.emplace_back(first, open.end());
            for (auto gone = first + 1; gone != open.end(); ++gone) place.erase({gone->X, gone->Y});
            open.erase(first, open.end());
        }
        open.push_back(p);
    }
    simple.push_back(std::move(open));
    return simple;
}

Polygons canonical(const ClipperLib::Paths& paths, const ClipperGrid& grid) {
    Polygons polygons;
    for (const ClipperLib::Path& path : paths) {
        for (const ClipperLib::Path& simple : without_pinches(path)) {
            if (simple.size() >= 3 && ClipperLib::Area(simple) != 0) polygons.push_back(grid.to_mm(simple));
        }
    }
    std::sort(polygons.begin(), polygons.end());
    return polygons;
}

/// The same area with no loop over another.
ClipperLib::Paths cleaned(const ClipperLib::Paths& paths) {
    ClipperLib::Clipper clipper;
    ClipperLib::Paths result, simple;
    if (!clipper.AddPaths(paths, ClipperLib::ptSubject, true)) return {};
    CRADLEWRIGHT_POSTCONDITION(
        clipper.Execute(ClipperLib::ctUnion, result, ClipperLib::pftNonZero, ClipperLib::pftNonZero));
    for (const ClipperLib::Path& path : result)
        for (ClipperLib::Path& piece : without_pinches(path)) simple.push_back(std::move(piece));
    return simple;
}

Polygons combine(ClipperLib::ClipType operation, const Polygons& a, const Polygons& b) {
    const ClipperGrid grid({&a, &b});
    ClipperLib::Clipper clipper;
    ClipperLib::Paths result;
    ClipperLib::Paths from = grid.to_steps(a), with = grid.to_steps(b);
    // Clipper loses area where an operand's own loops run along each other (tests/corpus/regions/own-edges.txt), so
    // what has several is made simple first.
    if (operation != ClipperLib::ctUnion) {
        if (from.size() > 1) from = cleaned(from);
        if (with.size() > 1) with = cleaned(with);
    }
    // AddPaths says false when nothing but points and lines came in: an empty operand. Execute fails on two of them.
    const bool has_a = clipper.AddPaths(from, ClipperLib::ptSubject, true);
    const bool has_b = clipper.AddPaths(with, ClipperLib::ptClip, true);
    if (!has_a && !has_b) return {};
    const bool is_done = clipper.Execute(operation, result, ClipperLib::pftNonZero, ClipperLib::pftNonZero);
    CRADLEWRIGHT_POSTCONDITION(is_done);
    return canonical(result, grid);
}

/// Part of a segment that is lowest over [x0, x1]. Segments run from left to right.
struct Piece {
    Vec2 left, right;
    double x0, x1;

    [[nodiscard]] double at(double x) const {
        if (x == left.x) return left.y;
        if (x == right.x) return right.y;
        return left.y + (right.y - left.y) * ((x - left.x) / (right.x - left.x));
    }
    [[nodiscard]] bool is_same_segment(const Piece& other) const { return left == other.left && right == other.right; }
};
using Envelope = std::vector<Piece>;

void append(Envelope& envelope, const Piece& source, double x0, double x1) {
    if (!(x0 < x1)) return;
    if (!envelope.empty() && envelope.back().x1 == x0 && envelope.back().is_same_segment(source)) {
        envelope.back().x1 = x1;
    } else {
        envelope.push_back({source.left, source.right, x0, x1});
    }
}

/// The lower of two pieces over a range that both cover.
void append_lower(Envelope& envelope, const Piece& a, const Piece& b, double x0, double x1) {
    const double above_left = b.at(x0) - a.at(x0), above_right = b.at(x1) - a.at(x1);
    if (above_left >= 0 && above_right >= 0) return append(envelope, a, x0, x1);
    if (above_left <= 0 && above_right <= 0) return append(envelope, b, x0, x1);
    const double crossing = x0 + (x1 - x0) * (above_left / (above_left - above_right));
    append(envelope, above_left > 0 ? a : b, x0, crossing);
    append(envelope, above_left > 0 ? b : a, crossing, x1);
}

Envelope merged(const Envelope& a, const Envelope& b) {
    Envelope result;
    result.reserve(a.size() + b.size());
    std::size_t i = 0, j = 0;
    double x = -std::numeric_limits<double>::infinity();
    while (i < a.size() || j < b.size()) {
        const double infinity = std::numeric_limits<double>::infinity();
        const double a0 = i < a.size() ? std::max(a[i].x0, x) : infinity;
        const double b0 = j < b.size() ? std::max(b[j].x0, x) : infinity;
        const double start = std::min(a0, b0);
        const double a_end = i < a.size() ? (a0 > start ? a0 : a[i].x1) : infinity;
        const double b_end = j < b.size() ? (b0 > start ? b0 : b[j].x1) : infinity;
        const double end = std::min(a_end, b_end);
        if (a0 == start && b0 == start) {
            append_lower(result, a[i], b[j], start, end);
        } else {
            append(result, a0 == start ? a[i] : b[j], start, end);
        }
        x = end;
        if (i < a.size() && a[i].x1 <= x) ++i;
        if (j < b.size() && b[j].x1 <= x) ++j;
    }
    return result;
}

Envelope envelope_of(std::span<const Piece> segments) {
    if (segments.size() <= 1) return {segments.begin(), segments.end()};
    const std::size_t half = segments.size() / 2;
    return merged(envelope_of(segments.first(half)), envelope_of(segments.subspan(half)));
}

/// Right turn at a vertex, rad; negative or 0 when it turns left.
double right_turn(const PathVertex& before, const PathVertex& corner, const PathVertex& after) {
    const Vec2 in = -edge_direction(corner.at, before.at, -before.bulge);
    const Vec2 out = edge_direction(corner.at, after.at, corner.bulge);
    return -std::atan2(cross(in, out), dot(in, out));
}

/// Radius of the tool that leaves at most `leftover_mm` in an inside corner of the given turn. Source: derived, a
/// circle tangent to both flanks stays r (1 / cos(turn / 2) - 1) off the corner.
double kink_radius(double turn_rad, double leftover_mm) { return leftover_mm / (1 / std::cos(turn_rad / 2) - 1); }

void look_at_loop(const Loop& loop, CutKind cut, InsideRadius& least) {
    constexpr double smooth_rad = 3 * std::numbers::pi / 180;
    const FitOptions fit;
    const auto offer = [&](double radius, Vec2 at) {
        if (radius < least.radius_mm) least = {radius, at};
    };
    const std::size_t n = loop.vertices.size();
    for (std::size_t i = 0; i < n; ++i) {
        const PathVertex& before = loop.vertices[(i + n - 1) % n];
        const PathVertex& corner = loop.vertices[i];
        const PathVertex& after = loop.vertices[(i + 1) % n];
        if (corner.cut == cut && corner.bulge < 0 && corner.at != after.at) {
            const Arc arc = arc_of(corner.at, after.at, corner.bulge);
            const double middle = arc.start_rad + arc.sweep_rad / 2;
            offer(arc.radius, arc.center + Vec2{std::cos(middle), std::sin(middle)} * arc.radius);
        }
        if (corner.cut != cut && before.cut != cut) continue;
        const double turn = right_turn(before, corner, after);
        if (turn > fit.corner_rad) {
            offer(0, corner.at);
        } else if (turn > smooth_rad) {
            offer(kink_radius(turn, fit.tolerance_mm), corner.at);
        }
    }
}

}  // namespace

Polygons unite(const Polygons& a, const Polygons& b) { return combine(ClipperLib::ctUnion, a, b); }
Polygons subtract(const Polygons& a, const Polygons& b) { return combine(ClipperLib::ctDifference, a, b); }
Polygons intersect(const Polygons& a, const Polygons& b) { return combine(ClipperLib::ctIntersection, a, b); }

Polygons offset(const Polygons& a, double distance_mm, double sag_mm) {
    CRADLEWRIGHT_PRECONDITION(std::isfinite(distance_mm) && sag_mm > 0);
    // Crossing or nested solid loops would be offset one by one; united first, every loop is a true boundary.
    const Polygons clean = unite(a);
    if (distance_mm == 0) return clean;
    // Clipper rounds the number of chords in a join: the last may be one and a half times as long, its sag 2.25 times.
    ClipperLib::ClipperOffset grower(2, sag_mm / 2.25 * steps_per_mm);
    const ClipperGrid grid({&clean});
    grower.AddPaths(grid.to_steps(clean), ClipperLib::jtRound, ClipperLib::etClosedPolygon);
    ClipperLib::Paths result;
    grower.Execute(result, distance_mm * steps_per_mm);
    return canonical(result, grid);
}

double area_of(const Polygons& a) {
    double area = 0;
    for (const std::vector<Vec2>& loop : a) area += area_of(make_loop(loop, CutKind::rough));
    return area;
}

bool contains(const Polygons& a, Vec2 p) {
    int winding = 0;
    for (const std::vector<Vec2>& loop : a) {
        for (std::size_t i = 0, n = loop.size(); i < n; ++i) {
            const Vec2 from = loop[i], to = loop[(i + 1) % n];
            if ((from.y <= p.y) == (to.y <= p.y)) continue;
            const bool is_left = cross(to - from, p - from) > 0;
            if (is_left == (to.y > from.y)) winding += to.y > from.y ? 1 : -1;
        }
    }
    return winding != 0;
}

Polygons to_polygons(const Region& region, double sag_mm) {
    Polygons polygons{flatten(region.outer, sag_mm)};
    for (const Loop& hole : region.holes) polygons.push_back(flatten(hole, sag_mm));
    return polygons;
}

std::vector<Vec2> lower_envelope(const Polygons& a) {
    std::vector<Piece> segments;
    for (const std::vector<Vec2>& loop : a) {
        for (std::size_t i = 0, n = loop.size(); i < n; ++i) {
            const auto [left, right] = std::minmax(loop[i], loop[(i + 1) % n]);
            if (left.x < right.x) segments.push_back({left, right, left.x, right.x});
        }
    }
    std::vector<Vec2> chain;
    const auto add = [&](Vec2 p) {
        if (chain.empty() || chain.back() != p) chain.push_back(p);
    };
    for (const Piece& piece : envelope_of(segments)) {
        add({piece.x0, piece.at(piece.x0)});
        add({piece.x1, piece.at(piece.x1)});
    }
    return chain;
}

InsideRadius min_inside_radius(const Region& region, CutKind cut) {
    InsideRadius least{std::numeric_limits<double>::infinity(), {}};
    look_at_loop(region.outer, cut, least);
    for (const Loop& hole : region.holes) look_at_loop(hole, cut, least);
    return least;
}

}  // namespace cradlewright
