// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "geom/loop_patch.hpp"

namespace cradlewright {

/// A strip of triangles between two loops, each in the direction of the faces that would close it; the loops face each
/// other, so they run opposite ways. Corners are places in `first`, then in `second` counted on. Every edge of both
/// loops has one triangle. Of all strips that start at the nearest pair of points, the one with the shortest sum of
/// rungs. Where the loops share points the triangles have no area. Precondition: three points each.
/// Cost: O(n m) time and bytes. Source: H. Fuchs, Z. Kedem, S. Uselton, "Optimal surface reconstruction from planar
/// contours" (1977).
std::vector<Triangle> zip_loops(const PointLoop& first, const PointLoop& second);

/// How far apart two loops run: the largest distance of a point of either from the other, and where.
struct LoopGap {
    double widest_mm = 0, nearest_mm = 0;
    Vec3 at;  ///< of the widest
};
LoopGap gap_between(const PointLoop& first, const PointLoop& second);

}  // namespace cradlewright
