// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cradlewright/base/vec.hpp"

namespace cradlewright {

/// The line at_zero + slope x on one side of a set of points.
struct BoundLine {
    double at_zero = 0, slope = 0;
    double worst_gap = 0;  ///< in y, to the point furthest from it
    [[nodiscard]] double at(double x) const { return at_zero + slope * x; }
};

/// The line under (side +1) or over (side -1) all points that stays nearest to the furthest of them; none for points
/// of one x. The lower hull holds them all, and that line lies along an edge of it. Cost: O(n log n + n h).
/// Source: linear programming in the plane, M. de Berg et al., Computational Geometry, ch. 4.
std::optional<BoundLine> bound_line(std::vector<Vec2> points, double side);

}  // namespace cradlewright
