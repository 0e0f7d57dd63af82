// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/convex_hull.hpp"

#include <algorithm>
#include <limits>

namespace cradlewright {

std::vector<Vec2> convex_hull(std::vector<Vec2> points) {
    std::sort(points.begin(), points.end());
    points.erase(std::unique(points.begin(), points.end()), points.end());
    if (points.size() < 3) return points;
    std::vector<Vec2> hull;
    const auto grow = [&](auto begin, auto end) {
        const std::size_t start = hull.size();
        for (auto it = begin; it != end; ++it) {
            while (hull.size() >= start + 2 && cross(hull.back() - hull[hull.size() - 2], *it - hull.back()) <= 0)
                hull.pop_back();
            hull.push_back(*it);
        }
        hull.pop_back();
    };
    grow(points.begin(), points.end());
    grow(points.rbegin(), points.rend());
    return hull;
}

double margin_inside(Vec2 p, const std::vector<Vec2>& hull) {
    if (hull.size() < 3) return -std::numeric_limits<double>::infinity();
    double margin = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < hull.size(); ++i) {
        const Vec2 a = hull[i], b = hull[(i + 1) % hull.size()];
        margin = std::min(margin, cross(normalized(b - a), p - a));
    }
    return margin;
}

}  // namespace cradlewright
