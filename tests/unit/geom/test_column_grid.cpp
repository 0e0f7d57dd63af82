// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <limits>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/column_grid.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;

namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

Frame3 any_frame() {
    Frame3 f = compose(rotation_about({1, 2, 3}, 0.7), rotation_about({-1, 1, 0}, 0.4));
    f.origin = {3, -2, 5};
    return f;
}

/// One cell over everything: each face is tested, whatever the grid does.
ColumnGrid without_grid(const TriMesh& mesh, const Frame3& frame) { return ColumnGrid(mesh, frame, 1e6); }

}  // namespace

TEST_CASE("a box has its two faces, and walls to the very edge", "[geom][column_grid]") {
    const TriMesh box = make_box({4, 6, 10});
    for (const double cell : {0.1, 1.0, 100.0}) {
        const ColumnGrid grid(box, Frame3{}, cell);
        for (const double x : {-2.0, -1.3, 0.0, 1.0, 2.0})
            for (const double y : {-3.0, -1.0, 0.0, 1.5, 2.1, 3.0}) {
                CHECK(grid.top({x, y}) == 5);
                CHECK(grid.bottom({x, y}) == -5);
            }
        for (const Vec2 outside : {Vec2{2.001, 0}, Vec2{-2.001, 0}, Vec2{0, 3.001}, Vec2{0, -3.001}, Vec2{1e300, 0}}) {
            CHECK(grid.top(outside) == -infinity);
            CHECK(grid.bottom(outside) == infinity);
        }
    }
}

TEST_CASE("a sphere has height sqrt(R^2 - r^2)", "[geom][column_grid]") {
    const double r = 100;
    const Frame3 frame = any_frame();
    const TriMesh mesh = shuffled(make_sphere(r, 6), 1);
    const ColumnGrid grid(mesh, frame, 2);
    const Vec3 center = frame.to_local(Vec3{});
    const double sag = chord_sag(mesh, r);
    for (double d = 0; d < 0.95 * r; d += 3.7) {
        const Vec2 at{center.x + d * std::cos(d), center.y + d * std::sin(d)};
        const double height = std::sqrt(r * r - d * d), low = std::sqrt((r - sag) * (r - sag) - d * d);
        CHECK(grid.top(at) - center.z <= height + 1e-9);
        CHECK(grid.top(at) - center.z >= low - 1e-9);
        CHECK(center.z - grid.bottom(at) <= height + 1e-9);
        CHECK(center.z - grid.bottom(at) >= low - 1e-9);
    }
}

TEST_CASE("no column slips through a seam", "[geom][column_grid]") {
    // Columns through vertices, edge middles and points along edges of a turned sphere, where faces meet.
    const TriMesh mesh = shuffled(make_sphere(50, 4), 2);
    const Frame3 frame = any_frame();
    for (const double cell : {0.7, 3.0, 20.0}) {
        const ColumnGrid grid(mesh, frame, cell);
        for (FaceId f = 0; f < mesh.face_count(); ++f) {
            const auto c = mesh.corners(f);
            for (const double s : {0.0, 0.5, 0.1, 1.0 / 3}) {
                const Vec3 p = frame.to_local(c[0] + (c[1] - c[0]) * s);
                REQUIRE(grid.top({p.x, p.y}) >= p.z - 1e-9);
                REQUIRE(grid.bottom({p.x, p.y}) <= p.z + 1e-9);
            }
        }
    }
}

TEST_CASE("the cell size changes nothing", "[geom][column_grid]") {
    const Frame3 frame = any_frame();
    // Long slanting faces, upright walls, slivers, noise.
    for (const TriMesh& mesh :
         {make_elliptic_cylinder(8, 5, 300, 24, 1), make_pyramid(100, 80, 50), make_cone(40, 0, 90, 400),
          make_naca_prism(12, 100, 200, 60, 1), with_noise(make_torus(20, 7, 60, 40), 0.1, 3)}) {
        for (const Frame3& f : {Frame3{}, frame}) {
            const ColumnGrid plain = without_grid(mesh, f);
            const std::vector<double> cells{0.9, 5, 31};
            std::vector<ColumnGrid> grids;
            for (const double cell : cells) grids.emplace_back(mesh, f, cell);
            Box2 box;
            for (const Vec3 v : mesh.vertices) box.add({f.to_local(v).x, f.to_local(v).y});
            std::size_t hits = 0;
            for (int i = -2; i <= 42; ++i)
                for (int j = -2; j <= 42; ++j) {
                    const Vec2 at{box.low.x + box.size().x * i / 40, box.low.y + box.size().y * j / 40};
                    const double top = plain.top(at), bottom = plain.bottom(at);
                    hits += std::isfinite(top) ? 1u : 0u;
                    for (const ColumnGrid& grid : grids) {
                        REQUIRE(grid.top(at) == top);
                        REQUIRE(grid.bottom(at) == bottom);
                    }
                }
            CHECK(hits > 100);
        }
    }
}

TEST_CASE("columns follow turns, moves and renumbering", "[geom][column_grid]") {
    const TriMesh mesh = with_noise(make_torus(20, 7, 60, 40), 0.1, 3);
    const Frame3 frame = any_frame();
    const TriMesh other = shuffled(placed(mesh, frame), 9);
    const ColumnGrid still(mesh, Frame3{}, 1.5), moved(other, frame, 1.5);
    for (double x = -26.3; x < 27; x += 2.9)
        for (double y = -26.1; y < 27; y += 3.1) {
            // Same side of the rim for certain: well inside or well outside the ring.
            const double d = std::abs(norm(Vec2{x, y}) - 20);
            if (d > 6 && d < 8) continue;
            if (d >= 8) {
                CHECK(moved.top({x, y}) == -infinity);
                CHECK(still.top({x, y}) == -infinity);
            } else {
                CHECK(moved.top({x, y}) == Approx(still.top({x, y})).epsilon(0).margin(1e-9));
                CHECK(moved.bottom({x, y}) == Approx(still.bottom({x, y})).epsilon(0).margin(1e-9));
            }
        }
}

TEST_CASE("nearly upright faces never answer beyond their own height", "[geom][column_grid]") {
    TriMesh mesh = make_box({4, 6, 10});
    for (Vec3& v : mesh.vertices)
        if (v.z > 0) v = {v.x + 1e-13, v.y - 1e-14, v.z};
    const ColumnGrid grid(mesh, Frame3{}, 0.5);
    for (double x = 2 - 3e-13; x <= 2 + 3e-13; x += 1e-14) {
        const double top = grid.top({x, 0.3});
        CHECK((top == -infinity || (top >= -5 && top <= 5)));
    }
}

TEST_CASE("odd grids", "[geom][column_grid]") {
    const TriMesh box = make_box({4, 6, 10});
    CHECK(ColumnGrid(TriMesh{}, Frame3{}, 1).top({0, 0}) == -infinity);
    CHECK_THROWS_AS(ColumnGrid(box, Frame3{}, 0), Error);
    const double nan = std::numeric_limits<double>::quiet_NaN();
    CHECK(ColumnGrid(box, Frame3{}, 1).top({nan, 0}) == -infinity);
    // A cell that would need 10^13 of them is enlarged.
    const ColumnGrid fine(box, Frame3{}, 1e-6);
    CHECK(fine.cell_mm() > 1e-6);
    CHECK(fine.top({1, 1}) == 5);
    // A mesh seen edge on has no columns but its line.
    TriMesh square;
    square.vertices = {{0, 0, 0}, {0, 4, 0}, {0, 4, 4}, {0, 0, 4}};
    square.triangles = {{0, 1, 2}, {0, 2, 3}};
    const ColumnGrid edge_on(square, Frame3{}, 0.1);
    CHECK(edge_on.top({0.05, 2}) == -infinity);
}

TEST_CASE("asking whether something is above or below agrees with the highest and lowest", "[geom][column_grid]") {
    const Frame3 frame = any_frame();
    const TriMesh mesh = shuffled(make_sphere(20, 4), 1);
    const ColumnGrid grid(mesh, frame, 1.5);
    const Vec3 center = frame.to_local(Vec3{});
    for (double x = -22; x <= 22; x += 1.7)
        for (double y = -22; y <= 22; y += 2.3) {
            const Vec2 at{center.x + x, center.y + y};
            const double top = grid.top(at), bottom = grid.bottom(at);
            for (const double z : {-30.0, -15.0, 0.0, 7.0, 30.0}) {
                const double low = center.z + z, high = low + 3;
                CHECK(grid.cover(at, low, high).is_above == (top > high));
                CHECK(grid.cover(at, low, high).is_below == (bottom < low));
            }
            CHECK_FALSE(grid.cover(at, bottom, top).is_above);
            CHECK_FALSE(grid.cover(at, bottom, top).is_below);
        }
}
