// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// Every face that comes within `radius_mm` of one of the points, and some further ones up to about 3.5 radii away;
/// in face order. For building a MeshIndex on the piece that is needed.
/// Precondition: radius_mm > 0. Cost: O(F + points), one linear pass over the mesh.
std::vector<FaceId> faces_near(const TriMesh& mesh, std::span<const Vec3> points, double radius_mm);

}  // namespace cradlewright
