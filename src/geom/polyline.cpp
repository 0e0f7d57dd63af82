// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/geom/polyline.hpp"

#include <algorithm>
#include <cmath>

#include "cradlewright/base/error.hpp"

namespace cradlewright {

namespace {

std::size_t segment_count(std::size_t points, bool is_closed) {
    if (points < 2) return 0;
    return is_closed ? points : points - 1;
}

/// End of segment i; the last segment of a closed chain returns to the first point.
template <class Vec>
Vec segment_end(std::span<const Vec> points, std::size_t i) {
    return points[i + 1 == points.size() ? 0 : i + 1];
}

template <class Vec>
double length_of(std::span<const Vec> points, bool is_closed) {
    double sum = 0;
    for (std::size_t i = 0; i < segment_count(points.size(), is_closed); ++i)
        sum += norm(segment_end(points, i) - points[i]);
    return sum;
}

template <class Vec>
double square_of(Vec v) {
    return dot(v, v);
}

template <class Vec>
double squared_distance_to_segment(Vec p, Vec a, Vec b) {
    const Vec along = b - a;
    const double square = square_of(along);
    if (!(square > 0)) return square_of(p - a);
    const double t = std::clamp(dot(p - a, along) / square, 0.0, 1.0);
    return square_of(p - (a + along * t));
}

template <class Vec>
double distance_to_chain(Vec p, std::span<const Vec> points, bool is_closed) {
    CRADLEWRIGHT_PRECONDITION(!points.empty());
    double least = square_of(p - points.front());
    for (std::size_t i = 0; i < segment_count(points.size(), is_closed); ++i)
        least = std::min(least, squared_distance_to_segment(p, points[i], segment_end(points, i)));
    return std::sqrt(least);
}

}  // namespace

double polyline_length(std::span<const Vec3> points, bool is_closed) { return length_of(points, is_closed); }

double polyline_length(std::span<const Vec2> points, bool is_closed) { return length_of(points, is_closed); }

double signed_area(std::span<const Vec2> points) {
    double twice = 0;
    // Measured from the first point: a far-away origin would cost digits.
    for (std::size_t i = 1; i + 1 < points.size(); ++i)
        twice += cross(points[i] - points.front(), points[i + 1] - points.front());
    return twice / 2;
}

std::vector<Vec3> resample(std::span<const Vec3> points, bool is_closed, double spacing_mm) {
    CRADLEWRIGHT_PRECONDITION(spacing_mm > 0);
    CRADLEWRIGHT_PRECONDITION(points.size() >= 2);
    const double length = polyline_length(points, is_closed);
    const double least_pieces = is_closed ? 3 : 1;
    const double pieces = std::max(least_pieces, std::round(length / spacing_mm));
    const double step = length / pieces;

    std::vector<Vec3> result{points.front()};
    result.reserve(static_cast<std::size_t>(pieces) + 1);
    double walked = 0;  // arc length at the start of segment i
    double next = 1;    // number of the point wanted next
    for (std::size_t i = 0; i < segment_count(points.size(), is_closed); ++i) {
        const Vec3 a = points[i], b = segment_end(points, i);
        const double segment = norm(b - a);
        // The last point is not searched for: rounding of the sum must not decide whether it exists.
        for (; next < pieces && next * step <= walked + segment; ++next)
            result.push_back(segment > 0 ? a + (b - a) * ((next * step - walked) / segment) : a);
        walked += segment;
    }
    if (!is_closed) result.push_back(points.back());
    return result;
}

std::vector<Vec2> piece_middles(std::span<const Vec2> points, double longest_mm) {
    CRADLEWRIGHT_PRECONDITION(longest_mm > 0);
    std::vector<Vec2> middles;
    for (std::size_t i = 0; i + 1 < points.size(); ++i) {
        const Vec2 side = points[i + 1] - points[i];
        const int pieces = std::max(1, static_cast<int>(std::ceil(norm(side) / longest_mm)));
        for (int k = 0; k < pieces; ++k) middles.push_back(points[i] + side * ((k + 0.5) / pieces));
    }
    return middles;
}

double distance_to_polyline(Vec3 p, std::span<const Vec3> points, bool is_closed) {
    return distance_to_chain(p, points, is_closed);
}

double distance_to_polyline(Vec2 p, std::span<const Vec2> points, bool is_closed) {
    return distance_to_chain(p, points, is_closed);
}

bool is_inside(Vec2 p, std::span<const Vec2> closed_points) {
    bool inside = false;
    for (std::size_t i = 0; i < closed_points.size(); ++i) {
        const Vec2 a = closed_points[i], b = segment_end(closed_points, i);
        // Half-open in y, so that a corner on the ray's level is counted once.
        if ((a.y > p.y) == (b.y > p.y)) continue;
        const bool is_left_of_upward = cross(b - a, p - a) > 0;
        if (is_left_of_upward == (b.y > a.y)) inside = !inside;
    }
    return inside;
}

namespace {

/// Marks the points of an open stretch that a chain needs to stay within the tolerance. Source: D. Douglas, T. Peucker
/// (1973).
void mark_needed(std::span<const Vec2> p, std::size_t first, std::size_t last, double tolerance_mm,
                 std::vector<char>& is_needed) {
    std::vector<std::pair<std::size_t, std::size_t>> left{{first, last}};
    while (!left.empty()) {
        const auto [a, b] = left.back();
        left.pop_back();
        double worst = tolerance_mm;
        std::size_t at = 0;
        const std::vector<Vec2> chord{p[a % p.size()], p[b % p.size()]};
        for (std::size_t i = a + 1; i < b; ++i) {
            const double d = distance_to_polyline(p[i % p.size()], chord, false);
            if (d > worst) worst = d, at = i;
        }
        if (at == 0) continue;
        is_needed[at % p.size()] = 1;
        left.emplace_back(a, at);
        left.emplace_back(at, b);
    }
}

}  // namespace

std::vector<Vec2> thinned(std::span<const Vec2> loop, double tolerance_mm) {
    std::vector<char> is_needed(loop.size(), 0);
    const auto first = static_cast<std::size_t>(std::min_element(loop.begin(), loop.end()) - loop.begin());
    const auto last = static_cast<std::size_t>(std::max_element(loop.begin(), loop.end()) - loop.begin());
    is_needed[first] = is_needed[last] = 1;
    const std::size_t n = loop.size();
    mark_needed(loop, first, last > first ? last : last + n, tolerance_mm, is_needed);
    mark_needed(loop, last, first > last ? first : first + n, tolerance_mm, is_needed);
    std::vector<Vec2> kept;
    for (std::size_t i = 0; i < n; ++i)
        if (is_needed[i] != 0) kept.push_back(loop[i]);
    return kept;
}

}  // namespace cradlewright
