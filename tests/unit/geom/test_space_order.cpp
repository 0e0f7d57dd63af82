// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "cradlewright/base/error.hpp"
#include "geom/space_order.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;

namespace {

/// The faces as corner points, smallest first, in sorted order: the same for every order of faces and vertices.
std::vector<std::array<Vec3, 3>> surface_of(const TriMesh& mesh) {
    std::vector<std::array<Vec3, 3>> faces;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        auto c = mesh.corners(f);
        std::rotate(c.begin(), std::min_element(c.begin(), c.end()), c.end());
        faces.push_back(c);
    }
    std::sort(faces.begin(), faces.end());
    return faces;
}

/// Mean distance between the middles of faces that follow each other.
double mean_step(const TriMesh& mesh) {
    double sum = 0;
    const auto middle = [&](FaceId f) {
        const auto c = mesh.corners(f);
        return (c[0] + c[1] + c[2]) / 3;
    };
    for (FaceId f = 1; f < mesh.face_count(); ++f) sum += norm(middle(f) - middle(f - 1));
    return sum / static_cast<double>(mesh.face_count() - 1);
}

}  // namespace

TEST_CASE("ordering in space keeps the surface and brings neighbours together", "[geom][space_order]") {
    const TriMesh given = shuffled(make_sphere(50, 5), 3);
    TriMesh mesh = given;
    order_in_space(mesh);
    CHECK(surface_of(mesh) == surface_of(given));
    CHECK(mesh.vertices.size() == given.vertices.size());
    CHECK(mean_step(given) > 20 * mean_edge_length(given));
    CHECK(mean_step(mesh) < 3 * mean_edge_length(mesh));
    VertexId seen = 0;
    for (const Triangle& t : mesh.triangles)
        for (const VertexId v : t) {
            CHECK(v <= seen);
            seen = std::max(seen, v + 1);
        }
}

TEST_CASE("the order depends on the surface, not on the order it came in", "[geom][space_order]") {
    // Apart from faces whose middles fall into one cell; a coarse sphere has none.
    TriMesh a = shuffled(make_sphere(50, 3), 1), b = shuffled(make_sphere(50, 3), 2);
    order_in_space(a);
    order_in_space(b);
    for (FaceId f = 0; f < a.face_count(); ++f) {
        auto p = a.corners(f), q = b.corners(f);
        std::sort(p.begin(), p.end());
        std::sort(q.begin(), q.end());
        CHECK(p == q);
    }
}

TEST_CASE("ordering carries origins along and drops unused vertices", "[geom][space_order]") {
    TriMesh mesh;
    mesh.vertices = {{9, 9, 9}, {8, 8, 8}, {9, 8, 8}, {8, 9, 8}, {0, 0, 0}, {1, 0, 0}, {0, 1, 0}};
    mesh.triangles = {{1, 2, 3}, {4, 5, 6}};
    mesh.face_origin = {FaceOrigin::patched, FaceOrigin::scanned};
    order_in_space(mesh);
    CHECK(mesh.vertices.size() == 6);
    CHECK(mesh.vertices[0] == Vec3{0, 0, 0});
    CHECK((mesh.triangles == std::vector<Triangle>{{0, 1, 2}, {3, 4, 5}}));
    CHECK((mesh.face_origin == std::vector{FaceOrigin::scanned, FaceOrigin::patched}));
}

TEST_CASE("ordering takes empty, flat and far meshes, and refuses broken ones", "[geom][space_order]") {
    TriMesh empty;
    order_in_space(empty);
    CHECK(empty.face_count() == 0);
    TriMesh point;
    point.vertices = {{1, 2, 3}};
    point.triangles = {{0, 0, 0}, {0, 0, 0}};
    order_in_space(point);
    CHECK(point.face_count() == 2);
    TriMesh far = make_box({4, 6, 10});
    for (Vec3& v : far.vertices) v += Vec3{1e15, -1e15, 1e12};
    order_in_space(far);
    CHECK(far.face_count() == 12);

    TriMesh broken = make_box({1, 1, 1});
    broken.triangles[0][0] = 99;
    CHECK_THROWS_AS(order_in_space(broken), Error);
    TriMesh infinite = make_box({1, 1, 1});
    infinite.vertices[0].x = std::numeric_limits<double>::infinity();
    CHECK_THROWS_AS(order_in_space(infinite), Error);
}
