// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// A point that lies on the surface by construction: a face and weights of its three corners (sum 1, each >= 0).
struct SurfacePoint {
    FaceId face = no_id;
    std::array<double, 3> weight{1, 0, 0};
};

/// A chain of surface points; consecutive points share a face or an edge's two faces where `is_traced`.
struct SurfaceCurve {
    std::vector<SurfacePoint> points;  ///< first not repeated when closed
    bool is_closed = true;
};

/// Position in the mesh's frame.
inline Vec3 position(const TriMesh& mesh, const SurfacePoint& p) {
    const auto c = mesh.corners(p.face);
    return c[0] * p.weight[0] + c[1] * p.weight[1] + c[2] * p.weight[2];
}
std::vector<Vec3> positions(const TriMesh& mesh, const SurfaceCurve& curve);

/// Closed curves on which a per-vertex field is zero, as crossings of mesh edges, one segment a face.
/// In: `field` one value a vertex; exact zeros count as tiny positive, so loops close without T-junctions.
/// Out: curves, closed except where they end at a mesh boundary; faces with the field positive lie to the left, seen
/// from outside. One point a crossed edge, stored in the face that the curve goes on through (an open curve's last:
/// came through), with one weight 0. Closed curves start at the crossing with the smallest edge (vertex ids), open
/// ones where they come in; curves are sorted by first edge, so the result does not depend on visiting order.
/// Cost: O(F), with memory for the crossed faces only.
/// Source: A. Hertzmann, D. Zorin, "Illustrating Smooth Surfaces" (SIGGRAPH 2000), sec. 3 [from memory].
std::vector<SurfaceCurve> zero_curves(const TriMesh& mesh, const std::vector<double>& field);

}  // namespace cradlewright
