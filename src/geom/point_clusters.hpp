// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "cradlewright/base/vec.hpp"

namespace cradlewright {

struct PointCluster {
    Vec3 center;                       ///< mean of its points
    double reach_mm = 0;               ///< from the center to the furthest
    std::vector<std::size_t> members;  ///< places in the points given, ascending
};

/// Points in one cell of a grid as wide as `apart_mm`, or in cells side by side, are one cluster. The largest first.
/// Precondition: apart_mm > 0, points finite. Cost: O(n log n).
std::vector<PointCluster> cluster_points(std::span<const Vec3> points, double apart_mm);

}  // namespace cradlewright
