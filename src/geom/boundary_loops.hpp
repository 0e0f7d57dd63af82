// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/geom/mesh.hpp"
#include "geom/mesh_edges.hpp"

namespace cradlewright {

/// A closed chain of boundary edges in the direction of the faces that would close it.
struct BoundaryLoop {
    std::vector<VertexId> vertices;  ///< the lexicographically smallest point first
    double perimeter_mm = 0;
};

/// All boundary loops, longest first.
/// Precondition: oriented, one fan a vertex, so loops are simple and share no vertex.
std::vector<BoundaryLoop> find_boundary_loops(const TriMesh& mesh, const std::vector<SideId>& mate);

/// What the loop looks like as an opening.
Opening describe_opening(const TriMesh& mesh, const BoundaryLoop& loop);

/// Appends faces of the given origin that close the loops.
/// Adds no vertex but where an inner edge of a patch would double an edge of the surface (its middle), or where the loop folds
/// over itself (see patch_loop). Returns true when a face is degenerate.
bool close_loops(TriMesh& mesh, const std::vector<SideId>& mate, const std::vector<BoundaryLoop>& loops,
                 FaceOrigin origin);

}  // namespace cradlewright
