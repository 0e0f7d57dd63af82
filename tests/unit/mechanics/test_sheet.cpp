// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <cmath>

#include "cradlewright/mechanics/sheet.hpp"

using namespace cradlewright;

namespace {

SheetGrid rectangle(double length, double width, std::size_t columns, std::size_t rows) {
    return {{0, 0}, length / static_cast<double>(columns),       width / static_cast<double>(rows), columns,
            rows,   std::vector<std::uint8_t>(columns * rows, 1)};
}
std::vector<Vec2> along_x(const SheetGrid& grid, double y) {
    std::vector<Vec2> line;
    for (std::size_t c = 0; c <= grid.columns; ++c) line.push_back({grid.node(c, 0).x, y});
    return line;
}
std::vector<Vec2> frame_of(const SheetGrid& grid) {
    std::vector<Vec2> points;
    for (std::size_t c = 0; c <= grid.columns; ++c)
        for (std::size_t r = 0; r <= grid.rows; ++r)
            if (c == 0 || r == 0 || c == grid.columns || r == grid.rows) points.push_back(grid.node(c, r));
    return points;
}
double dip(const SheetGrid& grid, const std::vector<double>& dips, std::size_t column, std::size_t row) {
    return dips[row * (grid.columns + 1) + column];
}

}  // namespace

// Two lines of support `root` apart are a clamp with a back-span: its turn adds P c^2 root / (3 D b) in strips. With
// root -> 0 the dip must go to Jaramillo's 0.16654 P a^2 / D; extrapolated over two roots. Source: key jaramillo, from
// memory.
TEST_CASE("point force on the edge of a long clamped sheet", "[mechanics][sheet]") {
    const auto factor = [](std::size_t root_cells) {
        const double a = 50, step = a / 20;
        const SheetGrid grid = rectangle(8 * a, a + 4 * step, 160, 24);
        std::vector<Vec2> supports = along_x(grid, 4 * step);
        for (const Vec2 p : along_x(grid, (4 - static_cast<double>(root_cells)) * step)) supports.push_back(p);
        const BentSheet sheet(grid, isotropic_sheet(12 * (1 - 0.09), 0.3, 1), supports);
        const PatchLoad load{grid.node(80, 24), 0, 0, 1};
        return dip(grid, sheet.dips({&load, 1}), 80, 24) / (a * a);
    };
    const double one = factor(1), two = factor(2);
    CHECK(2 * one - two == Approx(0.16654).epsilon(0.01));
}

// Only along x stiff: the plate is a row of strips, 5/384 q L^4 / D.
TEST_CASE("orthotropic sheet bends as strips", "[mechanics][sheet]") {
    const SheetGrid grid = rectangle(200, 100, 40, 10);
    std::vector<Vec2> supports;
    for (std::size_t r = 0; r <= grid.rows; ++r)
        for (const std::size_t c : {std::size_t{0}, grid.columns}) supports.push_back(grid.node(c, r));
    const SheetStiffness stiffness = orthotropic_sheet(9000, 300, 200, 0, 4);
    CHECK(stiffness.d11 == Approx(9000.0 * 64 / 12));
    CHECK(stiffness.d22 == Approx(300.0 * 64 / 12));
    const BentSheet sheet(grid, stiffness, supports);
    std::vector<PatchLoad> loads;
    constexpr double q = 1e-3;
    for (std::size_t c = 0; c < grid.columns; ++c)
        for (std::size_t r = 0; r < grid.rows; ++r) loads.push_back({grid.node(c, r) + Vec2{2.5, 5}, 5, 10, q * 50});
    const double exact = 5.0 / 384 * q * std::pow(200.0, 4) / stiffness.d11;
    CHECK(dip(grid, sheet.dips(loads), 20, 5) == Approx(exact).epsilon(5e-3));
}

TEST_CASE("orthotropic with equal moduli is isotropic", "[mechanics][sheet]") {
    const SheetStiffness a = isotropic_sheet(3000, 0.3, 3), b = orthotropic_sheet(3000, 3000, 3000 / 2.6, 0.3, 3);
    CHECK(a.d11 == Approx(b.d11));
    CHECK(a.d12 == Approx(b.d12));
    CHECK(a.d22 == Approx(b.d22));
    CHECK(a.d66 == Approx(b.d66));
}

TEST_CASE("thickness to the third, mirrored and turned", "[mechanics][sheet]") {
    const SheetGrid grid = rectangle(120, 60, 24, 12), turned = rectangle(60, 120, 12, 24);
    const PatchLoad load{{35, 20}, 10, 0, 30}, mirrored{{85, 20}, 10, 0, 30}, turned_load{{20, 35}, 0, 10, 30};
    const BentSheet thin(grid, isotropic_sheet(3000, 0.38, 2), frame_of(grid)),
        thick(grid, isotropic_sheet(3000, 0.38, 4), frame_of(grid)),
        other_way(turned, isotropic_sheet(3000, 0.38, 2), frame_of(turned));
    const double here = dip(grid, thin.dips({&load, 1}), 7, 4);
    CHECK(here == Approx(8 * dip(grid, thick.dips({&load, 1}), 7, 4)).epsilon(1e-6));
    CHECK(here == Approx(dip(grid, thin.dips({&mirrored, 1}), 17, 4)).epsilon(1e-6));
    CHECK(here == Approx(dip(turned, other_way.dips({&turned_load, 1}), 4, 7)).epsilon(1e-6));
}

TEST_CASE("dip at A from a force at B is the dip at B from a force at A", "[mechanics][sheet]") {
    SheetGrid grid = rectangle(120, 60, 24, 12);
    for (std::size_t i = 0; i < 6; ++i) grid.is_solid[i] = 0;  // a corner is missing
    std::vector<Vec2> supports = along_x(grid, 55);
    for (const Vec2 p : along_x(grid, 25)) supports.push_back(p);
    const BentSheet sheet(grid, isotropic_sheet(3000, 0.38, 3), supports);
    REQUIRE(sheet.is_held());
    const PatchLoad a{grid.node(12, 0), 0, 0, 1}, b{grid.node(20, 3), 0, 0, 1};
    CHECK(dip(grid, sheet.dips({&a, 1}), 20, 3) == Approx(dip(grid, sheet.dips({&b, 1}), 12, 0)).epsilon(1e-8));
}

TEST_CASE("halved cells change little", "[mechanics][sheet]") {
    const auto at = [](std::size_t rows) {
        const SheetGrid grid = rectangle(240, 60, 4 * rows, rows);
        std::vector<Vec2> supports = along_x(grid, 15);
        for (const Vec2 p : along_x(grid, 45)) supports.push_back(p);
        const BentSheet sheet(grid, isotropic_sheet(2760, 0.38, 3), supports);
        const PatchLoad load{{120, 0}, 50, 0, 30};
        return dip(grid, sheet.dips({&load, 1}), 2 * rows, 0);
    };
    CHECK(at(8) == Approx(at(16)).epsilon(0.03));
    CHECK(at(16) == Approx(at(32)).epsilon(0.015));
}

TEST_CASE("a sheet that nothing holds says so", "[mechanics][sheet]") {
    const SheetGrid grid = rectangle(120, 60, 12, 6);
    const SheetStiffness stiffness = isotropic_sheet(3000, 0.38, 3);
    CHECK_FALSE(BentSheet(grid, stiffness, {}).is_held());
    CHECK_FALSE(BentSheet(grid, stiffness, along_x(grid, 30)).is_held());
    CHECK_FALSE(BentSheet(grid, stiffness, std::vector<Vec2>{{500, 500}, {600, 500}, {500, 600}}).is_held());
    CHECK(BentSheet(grid, stiffness, std::vector<Vec2>{{0, 0}, {120, 0}, {0, 60}}).is_held());
}
