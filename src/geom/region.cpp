// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/geom/region.hpp"

#include <numbers>

#include "cradlewright/base/error.hpp"

namespace cradlewright {

namespace {

using std::numbers::pi;

/// Calls f(a, b, bulge) for every edge of a closed loop.
template <class F>
void for_each_edge(const Loop& loop, F&& f) {
    const std::size_t n = loop.vertices.size();
    for (std::size_t i = 0; i < n; ++i) {
        const PathVertex& v = loop.vertices[i];
        f(v.at, loop.vertices[i + 1 < n ? i + 1 : 0].at, v.bulge);
    }
}

Vec2 turned(Vec2 p, double cosine, double sine) { return {cosine * p.x - sine * p.y, sine * p.x + cosine * p.y}; }

/// Area between an arc and its chord, positive for a counter-clockwise arc.
double segment_area(double chord, double bulge) {
    // theta - sin(theta) cancels for flat arcs; there the segment is a parabola's, 2/3 chord x sagitta, to O(bulge^2).
    if (std::abs(bulge) < 1e-4) return chord * chord * bulge / 3;
    const double sweep = 4 * std::atan(bulge);
    const double r = chord * (1 + bulge * bulge) / (4 * bulge);
    return r * r * (sweep - std::sin(sweep)) / 2;
}

Loop moved(const Loop& loop, double cosine, double sine, Vec2 shift) {
    Loop result = loop;
    for (PathVertex& v : result.vertices) v.at = turned(v.at, cosine, sine) + shift;
    return result;
}

}  // namespace

Arc arc_of(Vec2 a, Vec2 b, double bulge) {
    CRADLEWRIGHT_PRECONDITION(bulge != 0 && a != b);
    const Vec2 chord = b - a;
    const Vec2 center = (a + b) * 0.5 + perp(chord) * ((1 - bulge * bulge) / (4 * bulge));
    const Vec2 start = a - center;
    return {center, norm(chord) * (1 + bulge * bulge) / (4 * std::abs(bulge)), std::atan2(start.y, start.x),
            4 * std::atan(bulge)};
}

double edge_length(Vec2 a, Vec2 b, double bulge) {
    const double chord = norm(b - a);
    if (bulge == 0) return chord;
    const double quarter = std::atan(bulge);
    return chord * 2 * quarter / std::sin(2 * quarter);
}

Vec2 edge_direction(Vec2 a, Vec2 b, double bulge) {
    // The tangent at the start leads the chord by half the sweep, clockwise for a counter-clockwise arc.
    const double s = 1 + bulge * bulge;
    return turned(normalized(b - a), (1 - bulge * bulge) / s, -2 * bulge / s);
}

Box2 edge_box(Vec2 a, Vec2 b, double bulge) {
    Box2 box;
    box.add(a);
    box.add(b);
    if (bulge == 0 || a == b) return box;
    const Arc arc = arc_of(a, b, bulge);
    const double low = std::min(arc.start_rad, arc.start_rad + arc.sweep_rad);
    const double high = std::max(arc.start_rad, arc.start_rad + arc.sweep_rad);
    constexpr Vec2 axes[] = {{1, 0}, {0, 1}, {-1, 0}, {0, -1}};
    for (int quarter = static_cast<int>(std::ceil(low / (pi / 2))); quarter * (pi / 2) < high; ++quarter) {
        box.add(arc.center + arc.radius * axes[((quarter % 4) + 4) % 4]);
    }
    return box;
}

std::vector<Vec2> flatten_edge(Vec2 a, Vec2 b, double bulge, double sag_mm) {
    CRADLEWRIGHT_PRECONDITION(sag_mm > 0);
    if (bulge == 0 || a == b) return {b};
    const Arc arc = arc_of(a, b, bulge);
    // Chords longer than a quarter turn are never wanted, however coarse the sag.
    const double step = 2 * std::acos(std::max(1 - sag_mm / arc.radius, std::cos(pi / 4)));
    const int count = std::max(1, static_cast<int>(std::ceil(std::abs(arc.sweep_rad) / step)));
    std::vector<Vec2> points;
    points.reserve(static_cast<std::size_t>(count));
    for (int i = 1; i < count; ++i) {
        const double angle = arc.start_rad + arc.sweep_rad * i / count;
        points.push_back(arc.center + Vec2{std::cos(angle), std::sin(angle)} * arc.radius);
    }
    points.push_back(b);
    return points;
}

double area_of(const Loop& loop) {
    if (loop.vertices.empty()) return 0;
    // About the first vertex, so that a small loop far from the origin keeps its digits.
    const Vec2 origin = loop.vertices.front().at;
    double area = 0;
    for_each_edge(loop, [&](Vec2 a, Vec2 b, double bulge) {
        area += cross(a - origin, b - origin) / 2 + segment_area(norm(b - a), bulge);
    });
    return area;
}

double area_of(const Region& region) {
    double area = area_of(region.outer);
    for (const Loop& hole : region.holes) area += area_of(hole);
    return area;
}

double perimeter_of(const Loop& loop) {
    double length = 0;
    for_each_edge(loop, [&](Vec2 a, Vec2 b, double bulge) { length += edge_length(a, b, bulge); });
    return length;
}

Box2 bounding_box(const Loop& loop) {
    Box2 box;
    for_each_edge(loop, [&](Vec2 a, Vec2 b, double bulge) {
        const Box2 edge = edge_box(a, b, bulge);
        box.add(edge.low);
        box.add(edge.high);
    });
    return box;
}

Box2 bounding_box(const Region& region) { return bounding_box(region.outer); }

std::vector<Vec2> flatten(const Loop& loop, double sag_mm) {
    std::vector<Vec2> points;
    points.reserve(loop.vertices.size());
    for_each_edge(loop, [&](Vec2 a, Vec2 b, double bulge) {
        points.push_back(a);
        const std::vector<Vec2> chords = flatten_edge(a, b, bulge, sag_mm);
        points.insert(points.end(), chords.begin(), chords.end() - 1);
    });
    return points;
}

Loop make_loop(const std::vector<Vec2>& points, CutKind cut) {
    Loop loop;
    loop.vertices.reserve(points.size());
    for (const Vec2 p : points) loop.vertices.push_back({p, 0, cut});
    return loop;
}

Loop make_rectangle(Vec2 low, Vec2 high, CutKind cut) {
    return make_loop({low, {high.x, low.y}, high, {low.x, high.y}}, cut);
}

Loop make_circle(Vec2 center, double radius, CutKind cut, bool is_hole) {
    const double bulge = is_hole ? -1 : 1;
    return {{{{center.x - radius, center.y}, bulge, cut}, {{center.x + radius, center.y}, bulge, cut}}};
}

Loop reversed(const Loop& loop) {
    Loop result;
    const std::size_t n = loop.vertices.size();
    result.vertices.reserve(n);
    for (std::size_t i = n; i-- > 0;) {
        const PathVertex& edge = loop.vertices[i > 0 ? i - 1 : n - 1];
        result.vertices.push_back({loop.vertices[i].at, -edge.bulge, edge.cut});
    }
    return result;
}

Region moved(const Region& region, double angle_rad, Vec2 shift) {
    const double cosine = std::cos(angle_rad), sine = std::sin(angle_rad);
    Region result{moved(region.outer, cosine, sine, shift), {}};
    result.holes.reserve(region.holes.size());
    for (const Loop& hole : region.holes) result.holes.push_back(moved(hole, cosine, sine, shift));
    return result;
}

}  // namespace cradlewright
