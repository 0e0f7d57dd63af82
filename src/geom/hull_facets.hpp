// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/base/vec.hpp"

namespace cradlewright {

struct HullFacet {
    Vec3 normal;        ///< outward, unit
    double offset = 0;  ///< of its plane along the normal
};
/// Facets of the points' convex hull, one a triangle, in a fixed order. Flat sets have facets of either or of both
/// sides; points on one line, none. Source: CGAL, 3D convex hulls. Cost: O(n log n) expected.
std::vector<HullFacet> hull_facets(const std::vector<Vec3>& points);

}  // namespace cradlewright
