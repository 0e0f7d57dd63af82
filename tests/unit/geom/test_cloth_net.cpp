// SPDX-License-Identifier: GPL-3.0-or-later
// A pin-jointed net is a Chebyshev net: the angle w between its threads obeys w_uv = -K sin w (P. L. Chebyshev 1878; E.
// Bour's equation). From two geodesics at right angles on a sphere of radius R that makes w a function of z = u v / R^2
// with z w'' + w' = -sin w, w(0) = pi/2, w'(0) = -1, which the test integrates by itself.
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <numbers>

#include "geom/cloth_net.hpp"

using namespace cradlewright;
using Catch::Detail::Approx;

namespace {

/// A patch of surface over an even grid of parameters.
TriMesh patch(const std::function<Vec3(double, double)>& place, Vec2 low, Vec2 high, int steps) {
    TriMesh mesh;
    for (int j = 0; j <= steps; ++j)
        for (int i = 0; i <= steps; ++i)
            mesh.vertices.push_back(place(low.x + (high.x - low.x) * i / steps, low.y + (high.y - low.y) * j / steps));
    for (int j = 0; j < steps; ++j)
        for (int i = 0; i < steps; ++i) {
            const auto v = static_cast<VertexId>(j * (steps + 1) + i), up = v + static_cast<VertexId>(steps) + 1;
            mesh.triangles.push_back({v, v + 1, up + 1});
            mesh.triangles.push_back({v, up + 1, up});
        }
    return mesh;
}

/// Angle between threads where the product of their lengths over R^2 is z. Runge-Kutta of order 4.
double thread_angle(double z) {
    // Near 0: w = pi/2 - z + z^3/18 ... by putting a series into the equation.
    double s = std::min(z, 1e-3), w = std::numbers::pi / 2 - s, dw = -1;
    const int steps = 2000;
    const double h = (z - s) / steps;
    const auto bend = [](double at, double angle, double slope) { return (-std::sin(angle) - slope) / at; };
    for (int n = 0; n < steps && h > 0; ++n) {
        const double k1 = bend(s, w, dw), k2 = bend(s + h / 2, w + h / 2 * dw, dw + h / 2 * k1);
        const double k3 = bend(s + h / 2, w + h / 2 * (dw + h / 2 * k1), dw + h / 2 * k2);
        const double k4 = bend(s + h, w + h * (dw + h / 2 * k2), dw + h * k3);
        w += h * (dw + h / 6 * (k1 + k2 + k3));
        dw += h / 6 * (k1 + 2 * k2 + 2 * k3 + k4);
        s += h;
    }
    return w;
}

}  // namespace

TEST_CASE("on a sphere the net shears as Chebyshev's equation says", "[geom][cloth]") {
    constexpr double radius = 100, cell = 4;
    const TriMesh cap = patch(
        [](double x, double y) {
            const double bow = std::hypot(x, y);
            const double share = bow > 0 ? radius * std::sin(bow / radius) / bow : 1;
            return Vec3{x * share, y * share, radius * std::cos(bow / radius)};
        },
        {-110, -110}, {110, 110}, 220);
    const NetSurface surface(cap);
    NetOptions options;
    options.start = {0, 0, radius};
    options.warp = {1, 0, 0};
    options.cell_mm = cell;
    const ClothNet net = lay_net(surface, options);
    int compared = 0;
    for (const NetCell& c : net.cells) {
        const NetNode& node = net.nodes[c.corner[0]];
        const double u = std::abs(node.i + 0.5) * cell, v = std::abs(node.j + 0.5) * cell;
        if (u > 75 || v > 75) continue;
        ++compared;
        CAPTURE(node.i, node.j);
        const double shear = std::numbers::pi / 2 - thread_angle(u * v / (radius * radius));
        CHECK(c.shear_rad == Approx(shear).margin(0.006));
    }
    CHECK(compared > 1000);
    // Along the axes threads are great circles: a node stands at its own arc length, chords counted.
    for (const int i : {5, 10, 15}) {
        const NetNode* node = net.find(i, 0);
        REQUIRE(node != nullptr);
        const double turn = i * 2 * std::asin(cell / (2 * radius));
        CHECK(norm(node->at - Vec3{radius * std::sin(turn), 0, radius * std::cos(turn)}) < 0.1);
    }
}

TEST_CASE("on what unrolls the net keeps lengths and does not shear", "[geom][cloth]") {
    constexpr double cell = 4;
    constexpr double bias = 0.5;  // the warp's direction, rad
    SECTION("cylinder") {
        constexpr double radius = 50;
        const TriMesh mesh = patch(
            [](double x, double bow) {
                return Vec3{x, radius * std::sin(bow / radius), radius * std::cos(bow / radius)};
            },
            {-100, -70}, {100, 70}, 200);
        const NetSurface surface(mesh);
        NetOptions options;
        options.start = {0, 0, radius};
        options.warp = {std::cos(bias), std::sin(bias), 0};
        options.cell_mm = cell;
        const ClothNet net = lay_net(surface, options);
        for (const NetCell& c : net.cells) CHECK(c.shear_rad < 0.004);
        std::size_t inside = 0;
        for (const NetNode& node : net.nodes) {
            if (node.steps_beyond > 0) continue;
            ++inside;
            const double u = node.i * cell, v = node.j * cell;
            const double x = u * std::cos(bias) - v * std::sin(bias), bow = u * std::sin(bias) + v * std::cos(bias);
            // Chords of the cell on the bow: bow^1 (cell / radius)^2 / 24 short of the arc, 0.03 mm here.
            CHECK(norm(node.at - Vec3{x, radius * std::sin(bow / radius), radius * std::cos(bow / radius)}) < 0.25);
        }
        CHECK(double(inside) * cell * cell == Approx(200 * 140).epsilon(0.03));
        CHECK(area_of(net.outline(1.4)) == Approx(200 * 140).epsilon(0.01));
    }
    SECTION("cone") {
        // Half angle 20 deg, unrolled to a sector: distance from the tip and angle times sin(half angle).
        const double half = 20 * std::numbers::pi / 180;
        const auto place = [&](double from_tip, double turn) {
            return Vec3{from_tip * std::sin(half) * std::cos(turn), from_tip * std::sin(half) * std::sin(turn),
                        -from_tip * std::cos(half)};
        };
        const TriMesh mesh = patch([&](double s, double turn) { return place(s, turn); }, {100, -1.2}, {300, 1.2}, 200);
        const NetSurface surface(mesh);
        NetOptions options;
        options.start = place(200, 0);
        options.warp = {std::sin(half), 0, -std::cos(half)};
        options.cell_mm = cell;
        const ClothNet net = lay_net(surface, options);
        const double side = net.nodes.front().normal.x > 0 ? 1 : -1;  // weft is left of warp seen from the normal
        for (const NetNode& node : net.nodes) {
            if (node.steps_beyond > 0) continue;
            const double u = 200 + node.i * cell, v = side * node.j * cell;
            const double s = std::hypot(u, v), turn = std::atan2(v, u) / std::sin(half);
            if (std::abs(turn) > 1.1 || s < 105 || s > 295) continue;
            CAPTURE(node.i, node.j);
            CHECK(std::min(norm(node.at - place(s, turn)), norm(node.at - place(s, -turn))) < 0.4);
        }
        for (const NetCell& c : net.cells) CHECK(c.shear_rad < 0.01);
    }
}

TEST_CASE("round a closed tube the net ends where it would lie on itself", "[geom][cloth]") {
    constexpr double radius = 30, length = 120, cell = 4;
    TriMesh tube = patch(
        [](double x, double turn) {
            return Vec3{x, radius * std::sin(turn), radius * std::cos(turn)};
        },
        {0, -std::numbers::pi}, {length, std::numbers::pi}, 96);
    for (Triangle& t : tube.triangles)  // the seam of the parameters is none of the surface
        for (VertexId& v : t)
            if (v >= 96 * 97) v -= 96 * 97;
    const NetSurface surface(tube);
    NetOptions options;
    options.start = {length / 2, 0, radius};
    options.warp = {1, 0, 0};
    options.cell_mm = cell;
    const ClothNet net = lay_net(surface, options);
    const double whole = 2 * std::numbers::pi * radius * length, laid = area_of(net.outline(1.4));
    CHECK(laid < 1.02 * whole);
    CHECK(laid > 0.93 * whole);
}

TEST_CASE("nothing grows out of a locked cell", "[geom][cloth]") {
    const TriMesh cap = patch(
        [](double x, double y) {
            const double bow = std::hypot(x, y);
            const double share = bow > 0 ? 100 * std::sin(bow / 100) / bow : 1;
            return Vec3{x * share, y * share, 100 * std::cos(bow / 100)};
        },
        {-110, -110}, {110, 110}, 120);
    const NetSurface surface(cap);
    NetOptions options;
    options.start = {0, 0, 100};
    options.warp = {1, 0, 0};
    options.cell_mm = 5;
    options.most_shear_rad = 0.3;
    const ClothNet net = lay_net(surface, options);
    const std::size_t worst = net.worst_cell(0.3);
    REQUIRE(worst < net.cells.size());
    CHECK(net.cells[worst].shear_rad < 0.3);
    CHECK(net.cells[worst].shear_rad > 0.2);  // a row of cells below the limit at least
    for (const NetNode& node : net.nodes) {
        if (!node.is_locked || node.i <= 0 || node.j <= 0) continue;
        CHECK(net.find(node.i + 1, node.j + 1) == nullptr);
    }
}
