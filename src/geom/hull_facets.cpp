// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/hull_facets.hpp"

#include <CGAL/convex_hull_3.h>

#include <array>
#include <cstddef>

#include "geom/cgal.hpp"

namespace cradlewright {

std::vector<HullFacet> hull_facets(const std::vector<Vec3>& points) {
    if (points.size() < 3) return {};
    std::vector<cgal::Point> in, corners;
    in.reserve(points.size());
    for (const Vec3& p : points) in.push_back(cgal::to_cgal(p));
    std::vector<std::array<std::size_t, 3>> triangles;
    CGAL::convex_hull_3(in.begin(), in.end(), corners, triangles);
    std::vector<HullFacet> facets;
    for (const auto& t : triangles) {
        const Vec3 a = cgal::from_cgal(corners[t[0]]);
        const Vec3 normal = cross(cgal::from_cgal(corners[t[1]]) - a, cgal::from_cgal(corners[t[2]]) - a);
        if (norm(normal) > 0) facets.push_back({normalized(normal), dot(normalized(normal), a)});
    }
    return facets;
}

}  // namespace cradlewright
