// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// True when the corners are in line so nearly that the direction of the normal means nothing: the height over the
/// longest edge is at most 1e-8 of that edge. That is far above the rounding of doubles (1e-16) and below what float
/// coordinates resolve (6e-8), so every face that is exactly in line is found and no measured sliver is.
bool is_degenerate(const std::array<Vec3, 3>& corners);

/// Takes degenerate faces away without opening the surface: two corners that nearly coincide are joined; a corner that
/// lies on the opposite edge splits the face beyond that edge. In: triangles with vertices welded, in any direction;
/// face_origin is carried along. Returns how many were taken away. Cost: O(F) when there is none; then O(F) for each of
/// at most 20 rounds, after which the rest is simply dropped.
std::size_t remove_degenerate_faces(TriMesh& mesh);

/// Drops the faces whose `drop` is not 0, in order, with their origin.
void drop_faces(TriMesh& mesh, const std::vector<char>& drop);

}  // namespace cradlewright
