// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/geom/surface_curve.hpp"

namespace cradlewright {

std::vector<Vec3> positions(const TriMesh& mesh, const SurfaceCurve& curve) {
    std::vector<Vec3> result;
    result.reserve(curve.points.size());
    for (const SurfacePoint& p : curve.points) result.push_back(position(mesh, p));
    return result;
}

}  // namespace cradlewright
