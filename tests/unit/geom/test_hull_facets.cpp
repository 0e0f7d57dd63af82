// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

#include "geom/hull_facets.hpp"

using namespace cradlewright;

TEST_CASE("hull facets of a cube and of a tetrahedron lie on their planes") {
    std::vector<Vec3> cube{{0.3, -0.2, 0.1}};
    for (int i = 0; i < 8; ++i) cube.push_back({i & 1 ? 1.0 : -1.0, i & 2 ? 1.0 : -1.0, i & 4 ? 1.0 : -1.0});
    const auto sides = hull_facets(cube);
    CHECK(sides.size() == 12);
    for (const HullFacet& f : sides) {
        CHECK(f.offset == Approx(1));
        CHECK(std::abs(f.normal.x) + std::abs(f.normal.y) + std::abs(f.normal.z) == Approx(1));
    }
    // Regular, of circumradius sqrt 3: the inradius is a third of it (closed form).
    const auto faces = hull_facets({{1, 1, 1}, {1, -1, -1}, {-1, 1, -1}, {-1, -1, 1}});
    CHECK(faces.size() == 4);
    for (const HullFacet& f : faces) CHECK(f.offset == Approx(std::sqrt(3.0) / 3));
}

TEST_CASE("hull facets of points in one plane lie in it, of points on one line there are none") {
    for (const int corners : {3, 4, 7}) {
        std::vector<Vec3> flat;
        for (int i = 0; i < corners; ++i)
            flat.push_back({std::cos(i * 6.28318 / corners), std::sin(i * 6.28318 / corners), 0.25});
        const auto facets = hull_facets(flat);
        REQUIRE(!facets.empty());
        for (const HullFacet& f : facets) {
            CHECK(std::abs(f.normal.z) == Approx(1));
            CHECK(std::abs(f.offset) == Approx(0.25));
        }
    }
    CHECK(hull_facets({{0, 0, 0}, {1, 1, 1}, {2, 2, 2}, {3, 3, 3}}).empty());
    CHECK(hull_facets({{0, 0, 0}, {1, 1, 1}}).empty());
}
