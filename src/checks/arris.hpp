// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <limits>
#include <span>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// The sharpest place of one sense.
struct Arris {
    double radius_mm = std::numeric_limits<double>::infinity();      ///< of the surface; infinity: no turn beyond noise
    double radius_low_mm = std::numeric_limits<double>::infinity();  ///< less by half a patch, which is not resolved
    double radius_high_mm = std::numeric_limits<double>::infinity();  ///< with five deviations of the noise taken off
    Vec3 at;                                                          ///< mesh frame
};
struct Arrises {
    Arris outside, inside;     ///< convex and concave places
    double resolution_mm = 0;  ///< half a patch
};

/// Sharpest outside edge and inside corner among the faces with `half` 1 that were scanned.
/// Faces are gathered into patches, and neighbouring patches compared: on a circle their mean normals differ by exactly
/// (distance of the centres) / radius. Patch size: 1 mm, larger on meshes with edges over 0.4 mm and on noisy scans, so
/// that noise alone stays under half the curvature of `radius_of_interest_mm`; 4 mm at most. In: `adjacency` of
/// face_adjacency, `half` one a face. Mesh frame. Does not promise: radii below half a patch; the radius of edges in
/// coarse meshes, where a turn under 30 deg between faces longer than a patch counts as a facet of something round.
/// Cost: O(F), three passes. Source: derived.
Arrises find_arrises(const TriMesh& mesh, std::span<const FaceId> adjacency, std::span<const std::uint8_t> half,
                     double noise_mm, double radius_of_interest_mm);

}  // namespace cradlewright
