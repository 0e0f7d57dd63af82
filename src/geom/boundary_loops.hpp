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

/// Loops that one flat patch closes together: the first round the others, which run the other way.
using LoopGroup = std::vector<BoundaryLoop>;

/// Puts openings that lie within another one and in its plane (the underside of a ring) together with it; their normals
/// are turned to the outer one's, since that is how their common cap faces. In: loops and their openings, longest
/// first.
std::vector<LoopGroup> group_openings(const TriMesh& mesh, const std::vector<BoundaryLoop>& loops,
                                      std::vector<Opening>& openings);

/// How loops are closed: by the flattest triangles between their own points, or bent on as the surface bends (see
/// fair_patch; flat where that finds nothing).
enum class PatchKind { flat, fair };

/// Appends faces of the given origin that close the loops.
/// Flat ones add no vertex but where an inner edge of a patch would double an edge of the surface (its middle), or
/// where the loop folds over itself (see patch_loop). Returns true when a face is degenerate.
bool close_loops(TriMesh& mesh, const std::vector<SideId>& mate, const std::vector<LoopGroup>& groups,
                 FaceOrigin origin, PatchKind kind = PatchKind::flat);

}  // namespace cradlewright
