// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <numbers>

#include "cradlewright/base/units.hpp"
#include "geom/flatten_patch.hpp"

using namespace cradlewright;

namespace {

/// A grid of `m` by `n` cells carried on to a surface; each cell is two faces, the diagonals turned about.
TriMesh grid(unsigned m, unsigned n, const std::function<Vec3(double, double)>& at) {
    TriMesh mesh;
    for (unsigned i = 0; i <= m; ++i)
        for (unsigned k = 0; k <= n; ++k) mesh.vertices.push_back(at(double(i) / m, double(k) / n));
    const auto id = [&](unsigned i, unsigned k) { return VertexId(i * (n + 1) + k); };
    for (unsigned i = 0; i < m; ++i)
        for (unsigned k = 0; k < n; ++k) {
            const VertexId a = id(i, k), b = id(i + 1, k), c = id(i + 1, k + 1), d = id(i, k + 1);
            if ((i + k) % 2 == 0) {
                mesh.triangles.push_back({a, b, c});
                mesh.triangles.push_back({a, c, d});
            } else {
                mesh.triangles.push_back({a, b, d});
                mesh.triangles.push_back({b, c, d});
            }
        }
    return mesh;
}

}  // namespace

TEST_CASE("a cylinder unrolls to its rectangle", "[geom][flatten]") {
    const double radius = 80, length = 200, angle = 2.5;
    const TriMesh patch = grid(60, 20, [&](double u, double v) {
        return Vec3{radius * std::sin(angle * (u - 0.5)), length * v, radius * std::cos(angle * (u - 0.5))};
    });
    const auto flat = flatten_patch(patch);
    REQUIRE(flat);
    CHECK(std::abs(flat->least_strain) < 1e-4);
    CHECK(std::abs(flat->most_strain) < 1e-4);
    // Chords of the arc: 60 of them.
    const double arc = 60 * 2 * radius * std::sin(angle / 120);
    CHECK(flat->area_mm2 == Approx(arc * length));
    CHECK(norm(flat->at.front() - flat->at.back()) == Approx(std::hypot(arc, length)));
}

TEST_CASE("a cone unrolls to its sector", "[geom][flatten]") {
    // Half angle 20 deg: the sector's angle is sin 20 deg of the turn about the axis. Source: closed form.
    const double half = Angle::deg(20).rad(), turn = 4, s0 = 100, s1 = 300;
    const TriMesh patch = grid(160, 20, [&](double u, double v) {
        const double s = s0 + (s1 - s0) * v, r = s * std::sin(half), t = turn * (u - 0.5);
        return Vec3{r * std::cos(t), r * std::sin(t), -s * std::cos(half)};
    });
    const auto flat = flatten_patch(patch);
    REQUIRE(flat);
    CHECK(std::abs(flat->least_strain) < 1e-4);
    CHECK(std::abs(flat->most_strain) < 1e-4);
    const double sector = turn * std::sin(half);
    CHECK(flat->area_mm2 == Approx(sector * (s1 * s1 - s0 * s0) / 2).epsilon(2e-3));
    // Chord of the outer arc, from corner to corner.
    const Vec2 a = flat->at[20], b = flat->at[160 * 21 + 20];
    CHECK(norm(a - b) == Approx(2 * s1 * std::sin(sector / 2)).epsilon(2e-3));
}

TEST_CASE("a cap of a sphere is flattened no worse than by the known maps", "[geom][flatten]") {
    const double radius = 100, cap = GENERATE(0.3, 0.7, 1.1);
    // Square of the disc, so that no place of the grid is drawn together.
    const TriMesh patch = grid(60, 60, [&](double u, double v) {
        const double x = 2 * u - 1, y = 2 * v - 1;
        const double dx = x * std::sqrt(1 - y * y / 2), dy = y * std::sqrt(1 - x * x / 2);
        const double t = cap * std::hypot(dx, dy), turn = std::atan2(dy, dx);
        return Vec3{radius * std::sin(t) * std::cos(turn), radius * std::sin(t) * std::sin(turn), radius * std::cos(t)};
    });
    const auto flat = flatten_patch(patch);
    REQUIRE(flat);
    // Azimuthal maps: stretches along and round are rho'(t) / R and rho(t) / (R sin t). Source: J. Snyder, "Map
    // Projections, A Working Manual", USGS Professional Paper 1395 (1987), ch. 24 and 25.
    const auto distortion = [&](const std::function<double(double)>& along,
                                const std::function<double(double)>& round) {
        double sum = 0;
        const int steps = 2000;
        for (int i = 0; i < steps; ++i) {
            const double t = cap * (i + 0.5) / steps;
            const double a = along(t) - 1, r = round(t) - 1;
            sum += 2 * std::numbers::pi * radius * radius * std::sin(t) * cap / steps * (a * a + r * r);
        }
        return sum;
    };
    const double equidistant = distortion([](double) { return 1.0; }, [](double t) { return t / std::sin(t); });
    const double equal_area =
        distortion([](double t) { return std::cos(t / 2); }, [](double t) { return 1 / std::cos(t / 2); });
    const double least = std::min(equidistant, equal_area);
    CHECK(flat->distortion_mm2 < least);
    CHECK(flat->distortion_mm2 > 0.25 * least);
    CHECK(flat->least_strain < 0);
    CHECK(flat->most_strain > 0);
}

TEST_CASE("what has no rim is not flattened", "[geom][flatten]") {
    TriMesh ball;
    ball.vertices = {{1, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {0, -1, 0}, {0, 0, 1}, {0, 0, -1}};
    ball.triangles = {{0, 2, 4}, {2, 1, 4}, {1, 3, 4}, {3, 0, 4}, {2, 0, 5}, {1, 2, 5}, {3, 1, 5}, {0, 3, 5}};
    CHECK_FALSE(flatten_patch(ball));
}
