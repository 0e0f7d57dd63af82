// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// A closed chain of points, first not repeated.
using PointLoop = std::vector<Vec3>;

/// Triangles that close loops. They run along each loop in its own direction.
struct LoopPatch {
    std::vector<Triangle>
        triangles;  ///< corners by place in the loops, one loop after the other; one past them for `middle`
    bool uses_middle = false;
    Vec3 middle;  ///< mean of the loop
};

/// Twice the vector area of the loop: square to its best plane, right-handed about its direction. Source: M. E.
/// Newell's method (from memory).
Vec3 loop_area_vector(const PointLoop& loop);

/// The loop seen square to `normal`, in a plane frame of its own about `origin`; counter-clockwise where it runs
/// right-handed.
std::vector<Vec2> project_loop(const PointLoop& loop, Vec3 normal, Vec3 origin);

/// Closes a loop.
/// In: k >= 3 different points. Out: a disc: each loop edge has one triangle, each inner edge two.
/// Method: where the loop folds over itself, seen square to its best plane, short stretches are cut off by patches of
/// least area; the rest is covered in that plane by constrained Delaunay triangles. Short loops that fold over as a
/// whole get the patch of least area, long ones a fan about their middle, the only case with an added point. Cost: O(k
/// log k) for loops that do not fold. Source: G. Barequet, M. Sharir, "Filling gaps in the boundary of a polyhedron"
/// (1995), sec. 4, for least area; our weight adds a hundredth of the squared edges, so that flat loops get round
/// triangles too.
LoopPatch patch_loop(const PointLoop& loop);

/// Closes the area between an outer loop, the first, and loops within it that run the other way, in the outer one's
/// best plane. Nothing when the loops fold too much or cross.
std::optional<LoopPatch> patch_between_loops(const std::vector<PointLoop>& loops);

}  // namespace cradlewright
