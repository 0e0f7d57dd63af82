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
    Vec3 inside{};
    for (const cgal::Point& p : corners) inside += cgal::from_cgal(p) / static_cast<double>(corners.size());
    std::vector<HullFacet> facets;
    for (const auto& t : triangles) {
        const Vec3 a = cgal::from_cgal(corners[t[0]]);
        const Vec3 normal = normalized(cross(cgal::from_cgal(corners[t[1]]) - a, cgal::from_cgal(corners[t[2]]) - a));
        if (norm(normal) == 0) continue;
        // CGAL does not turn the facets of a tetrahedron outward.
        const Vec3 outward = dot(normal, a - inside) < 0 ? -normal : normal;
        facets.push_back({outward, dot(outward, a)});
    }
    return facets;
}

}  // namespace cradlewright
