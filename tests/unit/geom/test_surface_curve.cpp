// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <numbers>
#include <set>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/surface_curve.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;

namespace {

constexpr double pi = std::numbers::pi;

template <class Function>
std::vector<double> field_on(const TriMesh& mesh, Function&& f) {
    std::vector<double> field;
    for (const Vec3 v : mesh.vertices) field.push_back(f(v));
    return field;
}

/// Scatters over (-1, 1) with the vertex' place alone, so that it survives renumbering.
double scatter(Vec3 v) {
    const double s = std::sin(12.9898 * v.x + 78.233 * v.y + 37.719 * v.z) * 43758.5453;
    return 2 * (s - std::floor(s)) - 1;
}

using Edge = std::pair<VertexId, VertexId>;

std::set<Edge> crossed_edges(const TriMesh& mesh, const std::vector<double>& field) {
    std::set<Edge> edges;
    for (const Triangle& t : mesh.triangles)
        for (std::size_t k = 0; k < 3; ++k)
            if ((field[t[k]] >= 0) != (field[t[(k + 1) % 3]] >= 0)) edges.insert(std::minmax(t[k], t[(k + 1) % 3]));
    return edges;
}

/// The edge a curve point lies on: the two corners opposite its zero weight.
Edge edge_of(const TriMesh& mesh, const SurfacePoint& p, const std::vector<double>& field) {
    const Triangle& t = mesh.triangles[p.face];
    std::vector<Edge> fitting;
    for (std::size_t k = 0; k < 3; ++k) {
        const std::size_t a = (k + 1) % 3, b = (k + 2) % 3;
        if (p.weight[k] != 0 || (field[t[a]] >= 0) == (field[t[b]] >= 0)) continue;
        const VertexId above = field[t[a]] >= 0 ? t[a] : t[b], below = field[t[a]] >= 0 ? t[b] : t[a];
        const double w = field[above] / (field[above] - field[below]);
        if (std::abs(p.weight[field[t[a]] >= 0 ? b : a] - w) < 1e-15) fitting.emplace_back(std::minmax(above, below));
    }
    REQUIRE(!fitting.empty());
    return fitting.front();
}

/// Everything the header promises of any field on any mesh.
void check_promises(const TriMesh& mesh, const std::vector<double>& field) {
    const auto curves = zero_curves(mesh, field);
    std::size_t points = 0;
    for (const SurfaceCurve& curve : curves) {
        points += curve.points.size();
        const std::size_t segments = curve.is_closed ? curve.points.size() : curve.points.size() - 1;
        for (std::size_t i = 0; i < segments; ++i) {
            const SurfacePoint &p = curve.points[i], &q = curve.points[(i + 1) % curve.points.size()];
            REQUIRE(p.weight[0] + p.weight[1] + p.weight[2] == Approx(1).epsilon(1e-15));
            REQUIRE(std::min({p.weight[0], p.weight[1], p.weight[2]}) == 0);
            // The segment lies in p's face: its end is on that face's plane and the positive corners are to the left.
            const auto c = mesh.corners(p.face);
            const Vec3 n = normalized(area_vector(c)), from = position(mesh, p), along = position(mesh, q) - from;
            const double size = norm(c[1] - c[0]) + norm(c[2] - c[0]);
            REQUIRE(std::abs(dot(n, along)) <= 1e-12 * size);
            for (std::size_t k = 0; k < 3; ++k) {
                const double left = dot(cross(n, along), c[k] - from);
                if (field[mesh.triangles[p.face][k]] >= 0)
                    REQUIRE(left >= -1e-12 * size * size);
                else
                    REQUIRE(left <= 1e-12 * size * size);
            }
        }
    }
    CHECK(points == crossed_edges(mesh, field).size());  // each crossed edge once
    std::vector<Edge> starts;
    for (const SurfaceCurve& curve : curves) starts.push_back(edge_of(mesh, curve.points.front(), field));
    CHECK(std::is_sorted(starts.begin(), starts.end()));
}

TriMesh upper_half(const TriMesh& mesh) {
    TriMesh half = mesh;
    std::erase_if(half.triangles, [&](const Triangle& t) {
        return std::min({mesh.vertices[t[0]].z, mesh.vertices[t[1]].z, mesh.vertices[t[2]].z}) < 0;
    });
    return half;
}

}  // namespace

TEST_CASE("a level field on a sphere gives one circle", "[geom][surface_curve]") {
    const double r = 100, h = 17.3;
    const TriMesh mesh = shuffled(make_sphere(r, 6), 4);
    const auto curves = zero_curves(mesh, field_on(mesh, [&](Vec3 v) { return v.z - h; }));
    REQUIRE(curves.size() == 1);
    CHECK(curves[0].is_closed);
    const auto points = positions(mesh, curves[0]);
    const double sag = chord_sag(mesh, r);
    for (const Vec3 p : points) {
        CHECK(std::abs(p.z - h) < 1e-12 * r);
        CHECK(norm(p) <= r * (1 + 1e-15));
        CHECK(norm(p) >= r - sag);
    }
    // Inscribed in a circle whose radius is short by that sag at most (seen at the latitude of h).
    const double circle = 2 * pi * std::sqrt(r * r - h * h);
    CHECK(polyline_length(points, true) < circle);
    CHECK(polyline_length(points, true) > circle * (1 - 2 * sag / (r - h)));
}

TEST_CASE("zeros on vertices and along edges leave one closed curve", "[geom][surface_curve]") {
    const TriMesh mesh = make_sphere(100, 5);
    const auto field = field_on(mesh, [](Vec3 v) { return v.z; });
    REQUIRE(std::count(field.begin(), field.end(), 0.0) == 4 * 32);  // the whole equator
    const auto curves = zero_curves(mesh, field);
    REQUIRE(curves.size() == 1);
    CHECK(curves[0].is_closed);
    // The equator polygon: 128 chords.
    CHECK(polyline_length(positions(mesh, curves[0]), true) ==
          Approx(2 * 100 * 128 * std::sin(pi / 128)).epsilon(1e-3));
    check_promises(mesh, field);

    const auto none = zero_curves(mesh, std::vector<double>(mesh.vertices.size(), 0.0));
    CHECK(none.empty());
}

TEST_CASE("each circle of a torus is found", "[geom][surface_curve]") {
    const double major = 100, minor = 30;
    const int nu = 400;
    const TriMesh mesh = make_torus(major, minor, nu, 101);
    const auto curves = zero_curves(mesh, field_on(mesh, [](Vec3 v) { return v.z - 5; }));
    REQUIRE(curves.size() == 2);
    std::vector<double> lengths;
    for (const auto& curve : curves) lengths.push_back(polyline_length(positions(mesh, curve), true));
    std::sort(lengths.begin(), lengths.end());
    // A chord of the tube sags by at most minor (1 - cos(pi / 101)), one of the ring by (1 - cos(pi / nu)) in
    // proportion.
    const double tube = std::sqrt(minor * minor - 25), sag = minor * (1 - std::cos(pi / 101));
    CHECK(lengths[0] == Approx(2 * pi * (major - tube)).margin(2 * pi * 1.1 * sag).epsilon(0));
    CHECK(lengths[1] == Approx(2 * pi * (major + tube)).margin(2 * pi * 1.1 * sag).epsilon(0));
}

TEST_CASE("curves keep their promises on smooth and on wild fields", "[geom][surface_curve]") {
    for (const TriMesh& mesh :
         {make_sphere(10, 4), shuffled(make_sphere(10, 4), 9), shuffled(make_torus(20, 7, 40, 30), 2),
          make_box({1, 2, 3}), shuffled(make_naca_prism(12, 100, 200, 40, 20), 5)}) {
        check_promises(mesh, field_on(mesh, [](Vec3 v) { return v.x + 0.3 * v.y - 0.1; }));
        const auto wild = field_on(mesh, scatter);
        check_promises(mesh, wild);
        for (const SurfaceCurve& curve : zero_curves(mesh, wild)) CHECK(curve.is_closed);
    }
}

TEST_CASE("on an open mesh curves run from boundary to boundary", "[geom][surface_curve]") {
    const double r = 50;
    const TriMesh half = shuffled(upper_half(make_sphere(r, 5)), 3);
    const auto field = field_on(half, [](Vec3 v) { return v.x + 1e-3 * v.z; });
    const auto curves = zero_curves(half, field);
    REQUIRE(curves.size() == 1);
    CHECK_FALSE(curves[0].is_closed);
    check_promises(half, field);
    const auto points = positions(half, curves[0]);
    const double step = r * pi / 2 / 32;
    CHECK(points.front().z < step);
    CHECK(points.back().z < step);
    // Seen from above, where +y is ahead and +x to the right, positive x on the left means walking toward -y.
    CHECK(points.front().y > 0);
    CHECK(points.back().y < 0);
    check_promises(half, field_on(half, scatter));
}

TEST_CASE("curves do not depend on the order of the faces", "[geom][surface_curve]") {
    const TriMesh mesh = make_sphere(10, 4);
    TriMesh reordered = mesh;
    std::reverse(reordered.triangles.begin(), reordered.triangles.end());
    for (Triangle& t : reordered.triangles) std::rotate(t.begin(), t.begin() + 1, t.end());
    const auto field = field_on(mesh, scatter);
    const auto a = zero_curves(mesh, field), b = zero_curves(reordered, field);
    REQUIRE(a.size() == b.size());
    for (std::size_t i = 0; i < a.size(); ++i) {
        const auto p = positions(mesh, a[i]), q = positions(reordered, b[i]);
        REQUIRE(p.size() == q.size());
        for (std::size_t k = 0; k < p.size(); ++k) REQUIRE(norm(p[k] - q[k]) < 1e-13 * 10);
    }
}

TEST_CASE("renumbering, moving and doubling change nothing else", "[geom][surface_curve]") {
    const auto lengths = [](const TriMesh& mesh, const std::vector<double>& field) {
        std::vector<double> result;
        for (const auto& curve : zero_curves(mesh, field))
            result.push_back(polyline_length(positions(mesh, curve), curve.is_closed));
        std::sort(result.begin(), result.end());
        return result;
    };
    const TriMesh mesh = make_torus(20, 7, 40, 30);
    const TriMesh other = shuffled(mesh, 11);
    const auto expected = lengths(mesh, field_on(mesh, scatter));
    const auto found = lengths(other, field_on(other, scatter));
    REQUIRE(found.size() == expected.size());
    for (std::size_t i = 0; i < found.size(); ++i) CHECK(found[i] == Approx(expected[i]).epsilon(1e-12));

    Frame3 motion = rotation_about({1, 2, 3}, 0.7);
    motion.origin = {10, 20, 30};
    TriMesh moved = placed(mesh, motion);
    for (Vec3& v : moved.vertices) v = v * 2;
    const auto doubled = lengths(moved, field_on(mesh, scatter));
    REQUIRE(doubled.size() == expected.size());
    for (std::size_t i = 0; i < found.size(); ++i) CHECK(doubled[i] == Approx(2 * expected[i]).epsilon(1e-12));
}

TEST_CASE("a field of the wrong length is refused", "[geom][surface_curve]") {
    CHECK_THROWS_AS(zero_curves(make_box({1, 1, 1}), {1, 2, 3}), Error);
}
