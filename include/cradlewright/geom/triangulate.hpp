// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// A flat area as triangles.
struct Triangulation {
    std::vector<Vec2> points;         ///< the loops' points in order, those within, then any where edges cross
    std::vector<Triangle> triangles;  ///< counter-clockwise, indices into `points`, in a canonical order
};

/// Covers the area inside closed chains by triangles.
/// In: loops of at least 3 points, first not repeated, direction free; a point is inside when it is enclosed by an odd
/// number of loops (so a loop within a loop is a hole, and a loop within that is solid again). Loops share no edge.
/// `within`: further corners for triangles; those outside are left out of them.
/// Out: every triangle corner is a point of a loop, or a crossing of two edges when the loops are not simple; of equal
/// points the first stands for all. Guarantees: areas add up to the loops' area; each inner edge has two triangles;
/// same input, same result. Cost: O(n log n) expected. Source: L. P. Chew, "Constrained Delaunay triangulations"
/// (1989), as in CGAL 5.5.
Triangulation triangulate(const std::vector<std::vector<Vec2>>& loops, const std::vector<Vec2>& within = {});

}  // namespace cradlewright
