// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/bound_line.hpp"

#include <algorithm>

namespace cradlewright {

std::optional<BoundLine> bound_line(std::vector<Vec2> points, double side) {
    for (Vec2& p : points) p.y *= side;
    std::sort(points.begin(), points.end());
    std::vector<Vec2> hull;
    for (const Vec2& p : points) {
        if (!hull.empty() && hull.back().x == p.x) continue;  // sorted: the lowest of equal x came first
        while (hull.size() > 1 && cross(hull.back() - hull[hull.size() - 2], p - hull.back()) <= 0) hull.pop_back();
        hull.push_back(p);
    }
    std::optional<BoundLine> best;
    for (std::size_t i = 0; i + 1 < hull.size(); ++i) {
        BoundLine line;
        line.slope = (hull[i + 1].y - hull[i].y) / (hull[i + 1].x - hull[i].x);
        line.at_zero = hull[i].y - line.slope * hull[i].x;
        for (const Vec2& p : points) line.worst_gap = std::max(line.worst_gap, p.y - line.at(p.x));
        if (!best || line.worst_gap < best->worst_gap) best = line;
    }
    if (best) {
        best->at_zero *= side;
        best->slope *= side;
    }
    return best;
}

}  // namespace cradlewright
