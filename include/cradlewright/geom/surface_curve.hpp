// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <span>
#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// A point that lies on the surface by construction: a face and weights of its three corners (sum 1, each >= 0).
struct SurfacePoint {
    FaceId face = no_id;
    std::array<double, 3> weight{1, 0, 0};
};

/// A chain of surface points.
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

/// A walk over the surface. Mesh frame, mm.
struct SurfaceWalk {
    std::vector<Vec3> points;   ///< where it starts, where it crosses mesh edges, where it ends
    std::vector<FaceId> faces;  ///< faces[i] holds points[i] and points[i + 1]
};

/// Walks from a point of the surface along its section by the plane through the point and square to `across`, at first
/// toward the side that `toward` points to. In: `adjacency` of the mesh (face_adjacency). Ends after `length_mm`, at
/// the surface's border, or back at the face where it began; from a face that the plane does not cut, at once.
/// Guarantees: each step crosses one mesh edge, corners that lie in the plane are passed on one side.
/// Cost: O(faces crossed).
SurfaceWalk walk_section(const TriMesh& mesh, std::span<const FaceId> adjacency, const SurfacePoint& from, Vec3 across,
                         Vec3 toward, double length_mm);

}  // namespace cradlewright
