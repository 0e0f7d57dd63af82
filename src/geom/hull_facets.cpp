// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/hull_facets.hpp"

#include <CGAL/Surface_mesh.h>
#include <CGAL/convex_hull_3.h>

#include "geom/cgal.hpp"

namespace cradlewright {

std::vector<HullFacet> hull_facets(const std::vector<Vec3>& points) {
    if (points.size() < 3) return {};
    std::vector<cgal::Point> in;
    in.reserve(points.size());
    for (const Vec3& p : points) in.push_back(cgal::to_cgal(p));
    // A mesh rather than CGAL's indexed triangles: for points in one plane those name corners that do not exist.
    CGAL::Surface_mesh<cgal::Point> hull;
    CGAL::convex_hull_3(in.begin(), in.end(), hull);
    Vec3 inside{};
    for (const auto v : hull.vertices())
        inside += cgal::from_cgal(hull.point(v)) / static_cast<double>(num_vertices(hull));
    std::vector<HullFacet> facets;
    for (const auto f : hull.faces()) {
        const auto h = hull.halfedge(f);
        const Vec3 a = cgal::from_cgal(hull.point(hull.source(h)));
        const Vec3 b = cgal::from_cgal(hull.point(hull.target(h)));
        const Vec3 c = cgal::from_cgal(hull.point(hull.target(hull.next(h))));
        const Vec3 normal = normalized(cross(b - a, c - a));
        if (norm(normal) == 0) continue;
        // CGAL does not turn the facets of a tetrahedron outward.
        const Vec3 outward = dot(normal, a - inside) < 0 ? -normal : normal;
        facets.push_back({outward, dot(outward, a)});
    }
    return facets;
}

}  // namespace cradlewright
