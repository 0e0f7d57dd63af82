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

}  // namespace cradlewright
