// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>

#include "cradlewright/base/error.hpp"
#include "cradlewright/stages/mould_skin.hpp"

namespace cradlewright {
namespace {

PosedPlug boxed(double x_mm, double y_mm, double z_mm) {
    PosedPlug posed;
    posed.box_fixture = {{0, 0, 0}, {x_mm, y_mm, z_mm}};
    return posed;
}

Flange one_panel(double width_mm) {
    Flange flange;
    flange.panels.emplace_back().width_mm = width_mm;
    return flange;
}

Settings with_plies(const std::string& plies) {
    Settings settings;
    settings.laminate_mould = {.plies = plies, .gel_coat = Length::mm(0), .veil = Length::mm(0)};
    return settings;
}

double worst_dip(const Settings& settings, const std::vector<MouldPlace>& places, int plies) {
    LaminateOptions options = settings.laminate_mould;
    options.auto_count = plies;
    const Laminate laminate = make_laminate(settings, options, "test");
    double worst = 0;
    for (const MouldPlace& place : places) worst = std::max(worst, mould_dip_mm(place, laminate, settings).high);
    return worst;
}

}  // namespace

TEST_CASE("places of a mould: its widest flange, its shell between stiffeners", "[stages][mould]") {
    Settings settings;
    settings.mould.stiffener_spacing = Length::mm(250);
    Flange flange = one_panel(40);
    flange.panels.emplace_back().width_mm = 65;
    const auto places = mould_places(boxed(900, 130, 30), flange, settings);
    REQUIRE(places.size() == 2);
    CHECK(places[0].kind == MouldPlace::Kind::flange);
    CHECK(places[0].reach_mm == 65);
    CHECK(places[1].reach_mm == 130);  // a narrow mould needs no stiffener
    CHECK(mould_places(boxed(900, 400, 30), {}, settings).size() == 1);
    CHECK(mould_places(boxed(900, 400, 30), {}, settings).front().reach_mm == 250);
}

// Long plate between simple supports, force P in its middle: 0.01695 P b^2 / D, D = E t^3 / 12 of one material.
// Source: S. Timoshenko and S. Woinowsky-Krieger, Theory of Plates and Shells, Table 23 (infinite length).
TEST_CASE("dip of a shell goes with the cube of its plies", "[stages][mould]") {
    const Settings settings = with_plies("glass-300 xauto");
    const std::vector<MouldPlace> shell{{MouldPlace::Kind::shell, 200, {}}};
    CHECK(worst_dip(settings, shell, 4) == Approx(worst_dip(settings, shell, 8) * 8).epsilon(1e-9));
    const std::vector<MouldPlace> wider{{MouldPlace::Kind::shell, 400, {}}};
    CHECK(worst_dip(settings, wider, 4) == Approx(worst_dip(settings, shell, 4) * 4).epsilon(1e-9));
}

TEST_CASE("as few plies as keep the dip", "[stages][mould]") {
    Settings settings = with_plies("glass-160 x1, glass-300 xauto");
    const PosedPlug posed = boxed(900, 300, 60);
    const Flange flange = one_panel(65);
    const auto places = mould_places(posed, flange, settings);
    int before = 100;
    for (const double limit : {0.5, 1.0, 2.0, 4.0}) {
        CAPTURE(limit);
        settings.limits.mould_dip = Length::mm(limit);
        const MouldPlies chosen = choose_mould_plies(posed, flange, settings);
        CHECK(chosen.cloth == "glass-300");
        REQUIRE(chosen.count >= 1);
        CHECK(worst_dip(settings, places, chosen.count) <= limit);
        if (chosen.count > 1) CHECK(worst_dip(settings, places, chosen.count - 1) > limit);
        CHECK(chosen.count <= before);
        before = chosen.count;
        REQUIRE(chosen.trials.size() == std::size_t(chosen.count));
        CHECK(chosen.trials.back().is_enough);
        CHECK_THAT(chosen.reason, Catch::Contains(std::to_string(chosen.count) + ": "));
    }
    CHECK(before < 10);
}

TEST_CASE("a skin is not laid thicker than sensible", "[stages][mould]") {
    Settings settings = with_plies("glass-300 xauto");
    settings.limits.mould_dip = Length::mm(1e-4);
    const MouldPlies chosen = choose_mould_plies(boxed(900, 300, 60), one_panel(65), settings);
    CHECK_FALSE(chosen.trials.back().is_enough);
    settings.laminate_mould.auto_count = chosen.count;
    const double thick = laminate_thickness_mm(make_laminate(settings, settings.laminate_mould, "test"));
    CHECK(thick <= thickest_skin_mm);
    CHECK(thick > 0.9 * thickest_skin_mm);
}

TEST_CASE("told plies are not chosen", "[stages][mould]") {
    const MouldPlies chosen =
        choose_mould_plies(boxed(900, 300, 60), one_panel(65), with_plies("glass-160 x1, glass-300 x2"));
    CHECK(chosen.count == 0);
    CHECK(chosen.reason.empty());
}

}  // namespace cradlewright
