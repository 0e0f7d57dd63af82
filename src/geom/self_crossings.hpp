// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>
#include <utility>
#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// A place where the surface passes through itself.
struct Crossing {
    Vec3 center;            ///< mean of the crossing pairs' middles
    double reach_mm = 0;    ///< from the center to the furthest of them
    std::size_t pairs = 0;  ///< of faces
};

/// Pairs of faces that cross or overlap; faces that share an edge or a corner count only where they do so beyond it.
/// Decisions are exact. In: `faces` empty = all. Out: each pair once, lower face first, in order.
/// Cost: O(F log^2 F) and the pairs whose boxes meet: seconds for a million faces, so on demand only.
/// Source: A. Zomorodian, H. Edelsbrunner, "Fast software for box intersections" (2000); CGAL's.
std::vector<std::pair<FaceId, FaceId>> crossing_faces(const TriMesh& mesh, std::span<const FaceId> faces = {});

/// Puts pairs near each other together to places (see cluster_points), the one with most pairs first.
std::vector<Crossing> crossing_places(const TriMesh& mesh, std::span<const std::pair<FaceId, FaceId>> pairs,
                                      double apart_mm);

}  // namespace cradlewright
