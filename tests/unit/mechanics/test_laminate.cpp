// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "cradlewright/mechanics/laminate.hpp"
#include "cradlewright/mechanics/resin.hpp"
#include "cradlewright/mechanics/section.hpp"

using namespace cradlewright;

namespace {

const Spread epoxy_e{2600, 3200, 3500};

Laminate glass_320(int plies, double gel_mm) {
    const Settings settings;
    return {{{settings.cloths.at("glass-320"), plies}}, gel_mm, 0, Density::kg_m3(1150).kg_mm3()};
}

}  // namespace

// Four plies of 320 g/m2, fibre mass share 0.5: fibre 1.28, resin 1.28 kg/m2. Source: trade data T6.1.
TEST_CASE("a cured laminate weighs its plies and coats", "[mechanics][laminate]") {
    const CuredLaminate cured = cure(glass_320(4, 0.5), epoxy_e);
    CHECK(cured.fibre_kg_mm2 * 1e6 == Approx(1.28));
    CHECK(cured.resin_kg_mm2 * 1e6 == Approx(1.28));
    CHECK(cured.gel_coat_kg_mm2 * 1e6 == Approx(0.6));
    CHECK(cured.mass_kg_mm2() * 1e6 == Approx(3.16));
    CHECK(cured.thickness_mm == Approx(0.5 + 4 * 0.404245).epsilon(1e-5));
    CHECK(cure({}, epoxy_e).d_n_mm.value == 0);
}

TEST_CASE("spread holds the usual value and more plies are stiffer", "[mechanics][laminate]") {
    double before = 0;
    for (int plies = 1; plies <= 8; ++plies) {
        const CuredLaminate cured = cure(glass_320(plies, 0), epoxy_e);
        CHECK(cured.d_n_mm.low < cured.d_n_mm.value);
        CHECK(cured.d_n_mm.value < cured.d_n_mm.high);
        CHECK(cured.e_mpa.low < cured.e_mpa.value);
        CHECK(cured.e_mpa.value == Approx(12356.4).epsilon(1e-4));  // Krenchel with crimp 0.9, T6.6
        CHECK(cured.d_n_mm.value == Approx(12356.4 * std::pow(plies * 0.404245, 3) / 12).epsilon(1e-4));
        CHECK(cured.d_n_mm.value > before);
        before = cured.d_n_mm.value;
    }
}

// Mat 450 g/m2 at a mass share of 0.30: 7.48 GPa by mixtures, 6.35 by the marine rule; the lower counts. Source: trade
// data T6.6.
TEST_CASE("glass mat takes the marine rule", "[mechanics][laminate]") {
    const Settings settings;
    const Laminate mat{{{settings.cloths.at("mat-450"), 2}}, 0, 0, Density::kg_m3(1200).kg_mm3()};
    CHECK(cure(mat, {3000, 3500, 3500}).e_mpa.value == Approx(6350));
}

TEST_CASE("no draft holds a shrunk mould for ever", "[mechanics][resin]") {
    CHECK(lift_to_free_mm(0.001, 100, 0) == std::numeric_limits<double>::infinity());
    CHECK(lift_to_free_mm(0, 100, 0.1) == 0);
}

// A square tube turned by any angle bends alike; a flat bar turned by a bends about the turned axis when it may move
// sideways: 1/EI = cos2/EI1 + sin2/EI2. Source: derived from the moment tensor.
TEST_CASE("unsymmetric sections move sideways", "[mechanics][section]") {
    for (const double angle : {0.0, 0.2, 0.7, 1.2}) {
        const double c = std::cos(angle), s = std::sin(angle);
        SliceLoop loop;
        for (const Vec2 p : {Vec2{-30, -5}, Vec2{30, -5}, Vec2{30, 5}, Vec2{-30, 5}})
            loop.points.push_back({c * p.x - s * p.y, s * p.x + c * p.y});
        const Slice bar{loop};
        const Elastic solid = isotropic(1000, 0.25);
        const SectionStiffness stiffness =
            section_stiffness(section_properties(bar), skin_moments(bar, 0), {solid, {}, 0});
        const double flat = 1000 * 60 * std::pow(10.0, 3) / 12, upright = 1000 * 10 * std::pow(60.0, 3) / 12;
        CHECK(stiffness.ei_n_mm2 == Approx(1 / (c * c / flat + s * s / upright)));
        CHECK(stiffness.ga_n == Approx(5.0 / 6 * 400 * 600));
    }
}

// Skin of the core's own stuff adds nothing: it stands in the core's place.
TEST_CASE("skin counts by what it adds", "[mechanics][section]") {
    SliceLoop box;
    box.points = {{-50, -20}, {50, -20}, {50, 20}, {-50, 20}};
    const Slice slice{box};
    const Elastic foam = isotropic(10, 0.3), glass = isotropic(12000, 0.15);
    const auto with = [&](const Elastic& skin, double t) {
        return section_stiffness(section_properties(slice), skin_moments(slice, t / 2), {foam, skin, t});
    };
    CHECK(with(foam, 1).ei_n_mm2 == Approx(with(foam, 0).ei_n_mm2));
    CHECK(with(foam, 1).ga_n == Approx(with(foam, 0).ga_n));
    // Faces 1 mm on 100 x 40: difference of two rectangles, less 0.2 % for corners cut by the vertex inset.
    const double shell = (100 * std::pow(40.0, 3) - 98 * std::pow(38.0, 3)) / 12;
    CHECK(with(glass, 1).ei_n_mm2 == Approx(10 * 100 * std::pow(40.0, 3) / 12 + (12000 - 10) * shell).epsilon(0.01));
}
