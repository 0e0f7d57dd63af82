// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <set>

#include "cradlewright/base/error.hpp"
#include "cradlewright/catalog/materials.hpp"

using namespace cradlewright;

namespace {

const Cloth& cloth(std::string_view name) {
    const auto all = default_cloths();
    const auto found = std::find_if(all.begin(), all.end(), [&](const Cloth& c) { return c.name == name; });
    REQUIRE(found != all.end());
    return *found;
}

bool is_ordered(const Spread& s) { return 0 < s.low && s.low <= s.value && s.value <= s.high; }

}  // namespace

TEST_CASE("materials have ordered spreads in sane units", "[catalog][materials]") {
    std::set<std::string_view> names;
    for (const Material& m : materials()) {
        CAPTURE(m.name);
        CHECK(names.insert(m.name).second);
        CHECK(is_ordered(m.e_mpa));
        CHECK(is_ordered(m.density_kg_mm3));
        CHECK((m.e_mpa.low >= 1 && m.e_mpa.high <= 3e5));                        // foam to carbon, MPa
        CHECK((m.density_kg_mm3.low >= 2e-8 && m.density_kg_mm3.high <= 3e-6));  // foam to glass, kg/mm3
        CHECK((m.poisson > 0 && m.poisson < 0.5));
        CHECK(&material(m.name) == &m);
    }
}

TEST_CASE("values quoted from the tables", "[catalog][materials]") {
    // Rigid PVC: 2.76 GPa, 1390 kg/m3; E-glass 72.4 GPa, 2540 kg/m3: the pages named in the rows.
    CHECK(material("rigid-pvc").e_mpa.value == 2760);
    CHECK(material("rigid-pvc").poisson == 0.38);
    CHECK(Density::kg_mm3(material("rigid-pvc").density_kg_mm3.value).kg_m3() == Approx(1390));
    CHECK(material("e-glass").e_mpa.value == Approx(72400));
    CHECK(material("pine").e_mpa.value == 8500);
}

TEST_CASE("an unknown material is refused with the known ones", "[catalog][materials]") {
    CHECK_THROWS_WITH(material("unobtainium"), Catch::Contains("unobtainium") && Catch::Contains("birch-plywood"));
}

TEST_CASE("stocks are made of known materials and have sizes", "[catalog][materials]") {
    std::set<std::string> names;
    for (const Stock& s : default_stocks()) {
        CAPTURE(s.name);
        CHECK(names.insert(s.name).second);
        CHECK_NOTHROW(material(s.material));
        CHECK((s.thickness_mm > 0 && s.thickness_mm <= 40));
        CHECK(s.length_mm >= s.width_mm);
        CHECK(s.width_mm > s.thickness_mm);
    }
}

TEST_CASE("free-filament stiffness of the cloths is that of the published fibres", "[catalog][materials]") {
    // B = f w E d^2 / (16 rho), from memory of fibre mechanics: E-glass 320 g/m2 of 9 um, carbon 93 and 200 g/m2 of 7
    // um worked out from 72.4 GPa / 2540 kg/m3 and 230 GPa / 1770 kg/m3; uN m = 1e-6 N m = 1e-3 N mm.
    const auto b_micro_n_m = [](const Cloth& c) {
        return c.filament_share * c.areal_mass_kg_mm2 * c.fibre_e_mpa * c.fibre_diameter_mm * c.fibre_diameter_mm /
               (16 * c.fibre_density_kg_mm3) * 1e3;
    };
    CHECK(b_micro_n_m(cloth("glass-320")) == Approx(23.088).epsilon(1e-3));
    CHECK(b_micro_n_m(cloth("carbon-93")) == Approx(18.505).epsilon(1e-3));
    CHECK(b_micro_n_m(cloth("carbon-200")) == Approx(39.795).epsilon(1e-3));
    CHECK(b_micro_n_m(cloth("roving-600")) == Approx(154.46).epsilon(1e-3));
}

TEST_CASE("cloth names carry their weight and heavier glass needs no smaller radius", "[catalog][materials]") {
    for (const Cloth& c : default_cloths()) {
        CAPTURE(c.name);
        const std::string weight = c.name.substr(c.name.rfind('-') + 1);
        CHECK(std::stod(weight) == Approx(ArealMass::kg_mm2(c.areal_mass_kg_mm2).g_m2()));
        CHECK((c.class_radius_mm >= 6 && c.class_radius_mm <= 30));
        CHECK(c.class_radius_low_mm > 0);
        CHECK(c.class_radius_low_mm < c.class_radius_high_mm);
        CHECK(c.class_radius_low_mm <= c.class_radius_mm);
        CHECK(c.class_radius_mm <= c.class_radius_high_mm);
        CHECK((c.fibre_mass_fraction >= 0.3 && c.fibre_mass_fraction <= 0.55));
    }
    CHECK(cloth("glass-160").class_radius_mm <= cloth("glass-300").class_radius_mm);
    CHECK(cloth("glass-320").class_radius_mm <= cloth("roving-600").class_radius_mm);
}

TEST_CASE("paper sizes", "[catalog][materials]") {
    // ISO 216: each A size is the next one doubled over its short side. US sizes in whole quarter inches.
    const auto paper = [](std::string_view name) {
        const auto all = papers();
        return *std::find_if(all.begin(), all.end(), [&](const PaperSize& p) { return p.name == name; });
    };
    CHECK(paper("a4").width_mm == 210);
    CHECK(paper("a3").width_mm == paper("a4").height_mm);
    CHECK(paper("a3").height_mm == 2 * paper("a4").width_mm);
    CHECK(paper("letter").width_mm == Approx(215.9));
    CHECK(paper("letter").height_mm == Approx(279.4));
    CHECK(paper("legal").height_mm == Approx(355.6));
    CHECK(paper("tabloid").width_mm == paper("letter").height_mm);
    CHECK(paper("tabloid").height_mm == 2 * paper("letter").width_mm);
}

TEST_CASE("bandsaw radius: chart rows, straight between them, scaled beyond", "[catalog][materials]") {
    // Published charts, largest of three in each row, inches: 1/8 3/16, 1/4 5/8, 3/8 1 1/2, 1 7 5/8.
    const auto radius_in = [](double width_in) { return bandsaw_min_radius_mm(width_in * 25.4) / 25.4; };
    CHECK(radius_in(1.0 / 8) == Approx(3.0 / 16));
    CHECK(radius_in(1.0 / 4) == Approx(5.0 / 8));
    CHECK(radius_in(3.0 / 8) == Approx(1.5));
    CHECK(radius_in(1) == Approx(7.625));
    CHECK(radius_in(5.0 / 16) == Approx((0.625 + 1.5) / 2));
    CHECK(radius_in(1.0 / 16) == Approx(3.0 / 32));
    CHECK(radius_in(2) == Approx(15.25));
    CHECK_THROWS_AS(bandsaw_min_radius_mm(0), Error);
    CHECK_THROWS_AS(bandsaw_min_radius_mm(std::nan("")), Error);
    for (double mm = 0.1; mm < 60; mm += 0.1) {
        REQUIRE(bandsaw_min_radius_mm(mm + 0.1) > bandsaw_min_radius_mm(mm));
    }
}

TEST_CASE("resins have a material of their name and an ordered shrinkage", "[catalog][materials]") {
    for (const Resin& r : resins()) {
        CAPTURE(r.name);
        CHECK_NOTHROW(material(r.name));
        CHECK(is_ordered(r.volume_shrinkage));
        CHECK(r.volume_shrinkage.high < 0.2);
        CHECK(&resin(r.name) == &r);
    }
    CHECK_THROWS_AS(resin("glue"), Error);
}

TEST_CASE("shear modulus: isotropic, or by the grain", "[catalog][materials]") {
    CHECK(shear_modulus_mpa(material("rigid-pvc"), 2760) == Approx(1000));
    CHECK(shear_modulus_mpa(material("pine"), 8500) == Approx(8500.0 / 16));
}
