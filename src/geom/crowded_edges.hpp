// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/geom/mesh.hpp"
#include "geom/mesh_edges.hpp"

namespace cradlewright {

/// Faces that repeat another face's three corners, in either direction; the first of each stays. One flag a face, or
/// empty when there is none.
std::vector<char> find_duplicate_faces(const TriMesh& mesh, const SideMates& sides);

/// Pieces of surface to drop so that edges with an odd number of faces are left with an even one: dangling flaps
/// (smaller than what they hang on), and walls inside a body (dropping any other piece would leave less volume). A
/// piece is what is connected by edges of two faces. One flag a face, or empty when there is none.
std::vector<char> find_membranes(const TriMesh& mesh, const SideMates& sides);

/// Pairs the sides of the remaining crowded edges. An even number: neighbours in angle round the edge, with the solid
/// between them where the directions say so, else the pairing with the sharper wedges. An odd number: the two that
/// continue each other most smoothly, again and again; the last stays alone.
void pair_crowded_sides(const TriMesh& mesh, SideMates& sides);

}  // namespace cradlewright
