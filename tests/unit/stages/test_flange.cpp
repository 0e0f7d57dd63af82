// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <numbers>

#include "cradlewright/catalog/cutting.hpp"
#include "cradlewright/geom/mesh_index.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/stages/flange.hpp"
#include "plugs.hpp"
#include "stages/flange_run.hpp"
#include "support/curves.hpp"
#include "support/plugs.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;

namespace {

constexpr double pi = std::numbers::pi;

double asked_gap(const Settings& settings) { return settings.flange.gap.mm() + Tolerances{}.arc_fit_mm; }

double total_area(const Flange& flange) {
    double area = 0;
    for (const FlangePanel& panel : flange.panels) area += area_of(panel.part.outline);
    return area;
}

/// A panel's drawn face seen from above, as it lies in the fixture.
Polygons in_plan(const FlangePanel& panel) {
    Polygons plan = to_polygons(panel.part.outline);
    for (std::vector<Vec2>& chain : plan)
        for (Vec2& p : chain) {
            const Vec3 q = placed(panel.part, p);
            p = {q.x, q.y};
        }
    return plan;
}

/// Least distance from a panel's edge that faces the plug to the plug, over the sheet's thickness, against all its
/// faces.
double least_gap(const FlangePanel& panel, const PosedPlug& posed, const MeshIndex& whole) {
    double least = std::numeric_limits<double>::infinity();
    for (const std::vector<Vec2>& chain : to_polygons(panel.part.outline))
        for (std::size_t i = 0; i < chain.size(); ++i) {
            const Vec2 a = chain[i], b = chain[(i + 1) % chain.size()];
            const int pieces = std::max(1, static_cast<int>(norm(b - a) / 3));
            for (int k = 0; k < pieces; ++k)
                for (int d = 0; d <= 6; ++d) {
                    const Vec2 p = a + (b - a) * (static_cast<double>(k) / pieces);
                    const Vec3 q = placed(panel.part, Vec3{p.x, p.y, -panel.part.thickness_mm * d / 6});
                    least = std::min(least, whole.nearest(posed.pose.to_scan(q)).distance_mm);
                }
        }
    return least;
}

/// Law of closed corners for a plug without bays in plan: together the panels' outer outline has no notch, and nothing
/// is open between them but set-backs of `slot_mm`. Notches show when the outline is filled to 10 mm: a step of 2 mm
/// leaves more than 2 mm2, a corner turned by less than 20 deg the other way less.
void check_closed_corners(const Flange& flange, double slot_mm) {
    Polygons all;
    for (const FlangePanel& panel : flange.panels)
        for (std::vector<Vec2>& chain : in_plan(panel)) all.push_back(std::move(chain));
    const Polygons closed = offset(offset(unite(all), slot_mm / 2), -slot_mm / 2);
    Polygons outer;
    int openings = 0;
    for (const std::vector<Vec2>& chain : closed) {
        if (signed_area(chain) > 1) outer.push_back(chain);
        openings += signed_area(chain) < -0.01;
    }
    CHECK(outer.size() == 1);
    CHECK(openings == 1);
    double notch = 0;
    for (const std::vector<Vec2>& chain : subtract(offset(offset(outer, 10), -10), outer))
        notch = std::max(notch, signed_area(chain));
    CHECK(notch < 2);
    for (std::size_t i = 0; i < flange.panels.size(); ++i)
        for (std::size_t k = i + 1; k < flange.panels.size(); ++k) {
            CAPTURE(flange.panels[i].id, flange.panels[k].id);
            CHECK(area_of(intersect(in_plan(flange.panels[i]), in_plan(flange.panels[k]))) < 1);
        }
}

}  // namespace

TEST_CASE("panels close their corners without notch, hole or overlap", "[stages][slow][flange]") {
    const auto tilt_deg = GENERATE(0.0, 6.0, 12.0);
    const auto slope_deg = GENERATE(0.0, 8.0, -6.0);
    CAPTURE(tilt_deg, slope_deg);
    Settings settings;
    settings.flange.slope = Angle::deg(slope_deg);
    const double most_set_back = stock(settings, settings.flange.stock).thickness_mm * 0.5;
    const auto check = [&](const PartedPlug& p) {
        REQUIRE(p.parting.is_found());
        const Flange flange = lay_flange(p.posed, p.parting, settings);
        CHECK(flange.note.empty());
        check_closed_corners(flange, 2 * most_set_back);
    };
    demo::ScanOptions scan;
    scan.triangles = 16000;
    SECTION("blade") { check(parted_plug(demo::make_scan(demo::Blade{}, scan), Angle::deg(tilt_deg))); }
    SECTION("ellipsoid") { check(parted_plug(make_ellipsoid({300, 90, 50}, 6), Angle::deg(tilt_deg))); }
    SECTION("frustum") { check(parted_plug(make_pyramid(200, 150, 60), Angle::deg(tilt_deg))); }
}

TEST_CASE("panels round a square foot are a mitred frame", "[stages][flange]") {
    const PartedPlug p = parted_plug(make_pyramid(100, 80, 50));
    const Settings settings;
    const Flange flange = lay_flange(p.posed, p.parting, settings);
    REQUIRE(flange.panels.size() == 4);
    CHECK(flange.note.empty());
    const double width = settings.flange.width.mm(), gap = asked_gap(settings);
    // A square frame, its opening rounded by the gap.
    const double outer = 100 + 2 * width;
    const double opening = 100 * 100 + 4 * 100 * gap + pi * gap * gap;
    CHECK(total_area(flange) == Approx(outer * outer - opening).epsilon(5e-4));
    for (const FlangePanel& panel : flange.panels) {
        CHECK(area_of(panel.part.outline) == Approx((outer * outer - opening) / 4).epsilon(1e-3));
        CHECK(panel.normal.z == Approx(1));
        // Mitres at 45 deg: the outer edge is longer than the foot by the width on either side.
        CHECK(bounding_box(panel.part.outline).size().x == Approx(outer).margin(0.05));
    }
}

TEST_CASE("a panel round a sphere is one ring without a slit", "[stages][flange]") {
    const double radius = 80;
    const PartedPlug p = parted_plug(make_sphere(radius, 6));
    const Settings settings;
    const Flange flange = lay_flange(p.posed, p.parting, settings);
    REQUIRE(flange.panels.size() == 1);
    const Region& outline = flange.panels[0].part.outline;
    REQUIRE(outline.holes.size() == 1);
    const double in = radius + asked_gap(settings), out = radius + settings.flange.width.mm();
    CHECK(area_of(outline.outer) == Approx(pi * out * out).epsilon(2e-3));
    CHECK(area_of(outline) == Approx(pi * (out * out - in * in)).epsilon(5e-3));
}

TEST_CASE("a torus gets a ring outside and a disc inside", "[stages][flange]") {
    const PartedPlug p = parted_plug(make_torus(100, 30, 240, 90));
    const Settings settings;
    const Flange flange = lay_flange(p.posed, p.parting, settings);
    REQUIRE(flange.panels.size() == 2);
    CHECK_FALSE(flange.panels[0].is_inner);
    CHECK(flange.panels[1].is_inner);
    const double disc = 70 - asked_gap(settings);
    CHECK(area_of(flange.panels[1].part.outline) == Approx(pi * disc * disc).epsilon(5e-3));
}

TEMPLATE_TEST_CASE("panels of a foil keep their gap and do not overlap", "[stages][flange]", demo::Blade,
                   demo::Daggerboard) {
    const auto tilt_deg = GENERATE(0.0, 3.0, 8.0);
    const auto seed = GENERATE(1u, 2u);
    CAPTURE(tilt_deg, seed);
    demo::ScanOptions scan;
    scan.triangles = 16000;
    scan.noise_mm = 0.03;
    scan.seed = seed;
    const PartedPlug p = parted_plug(demo::make_scan(TestType{}, scan), Angle::deg(tilt_deg));
    const Settings settings;
    const Flange flange = lay_flange(p.posed, p.parting, settings);
    REQUIRE(flange.panels.size() >= 4);
    const MeshIndex whole(p.posed.mesh());
    for (const FlangePanel& panel : flange.panels) {
        CAPTURE(panel.id);
        // Sections a quarter of the sheet apart can miss a bump of the noise.
        CHECK(least_gap(panel, p.posed, whole) > settings.flange.gap.mm() - 3 * scan.noise_mm - 0.02);
        CHECK(panel.max_gap_mm < settings.flange.gap_limit.mm());
        CHECK(panel.off_plane_mm <= settings.flange.planarity.mm() + 1e-9);
        const OutlineFit& fit = panel.part.fit;
        CHECK(fit.off_mm <= Tolerances{}.arc_fit_mm);
        CHECK(fit.edges == edge_count(panel.part.outline));
        CHECK(fit.points >= fit.edges);
    }
    for (std::size_t i = 0; i < flange.panels.size(); ++i)
        for (std::size_t k = i + 1; k < flange.panels.size(); ++k) {
            CAPTURE(flange.panels[i].id, flange.panels[k].id);
            CHECK(area_of(intersect(in_plan(flange.panels[i]), in_plan(flange.panels[k]))) < 1);
        }
}

TEST_CASE("the set slope falls away from the plug", "[stages][flange]") {
    const PartedPlug p = parted_plug(make_pyramid(100, 80, 50));
    Settings settings;
    settings.flange.slope = Angle::deg(GENERATE(-5.0, 5.0, 10.0));
    const Flange flange = lay_flange(p.posed, p.parting, settings);
    REQUIRE(flange.panels.size() == 4);
    for (const FlangePanel& panel : flange.panels) {
        CHECK(std::acos(panel.normal.z) == Approx(std::abs(settings.flange.slope.rad())).margin(2e-3));
        const Vec3 away = panel.part.frame.y;
        CHECK(away.z * settings.flange.slope.rad() < 0);
    }
}

TEST_CASE("a panel longer than its sheet is laid in pieces that butt", "[stages][flange]") {
    const PartedPlug plug = parted_plug(make_cut_off_plate({.length = 600, .step_mm = 4}));
    Settings settings;
    const Flange whole = lay_flange(plug.posed, plug.parting, settings);
    Stock& sheet = settings.stocks.at(settings.flange.stock);
    sheet.length_mm = 420;
    sheet.width_mm = 400;
    const Flange pieces = lay_flange(plug.posed, plug.parting, settings);
    const auto on_front = [](const Flange& flange) {
        return std::ranges::count(flange.panels, "front", &FlangePanel::edge);
    };
    REQUIRE(on_front(whole) == 1);
    CHECK(on_front(pieces) == 2);
    const double margin = 2 * room_on(settings, sheet).end_mm;
    for (const FlangePanel& panel : pieces.panels) {
        CAPTURE(panel.id);
        const Vec2 size = bounding_box(panel.part.outline).size();
        CHECK(std::max(size.x, size.y) <= 420 - margin);
        CHECK(panel.off_plane_mm <= settings.flange.planarity.mm());
    }
    // Nothing is lost or doubled at the joints.
    CHECK(total_area(pieces) == Approx(total_area(whole)).epsilon(1e-3));
    Polygons all;
    double sum = 0;
    for (const FlangePanel& panel : pieces.panels) {
        const Polygons plan = in_plan(panel);
        sum += area_of(plan);
        all = unite(all, plan);
    }
    CHECK(area_of(all) == Approx(sum).epsilon(1e-4));
}

// Corpus: the silhouettes of libcgal-demo's tripod and corner_with_hole climb along the pull over a few microns in
// plan.
TEST_CASE("no flange stands on end where the line climbs along the pull", "[stages]") {
    PartingLoop loop;
    for (int i = 0; i <= 40; ++i) loop.panel_line.push_back({0.0001 * i, 0, 2.0 * i});
    for (int i = 0; i <= 40; ++i) loop.panel_line.push_back({80, 1.0 * i, 80});
    loop.edges.push_back({"front", EdgeRule::silhouette, 0, 40, {}});
    loop.edges.push_back({"back", EdgeRule::silhouette, 41, 81, {}});
    loop.length_mm = polyline_length(loop.panel_line, true);
    const std::vector<Run> runs = split_loop(loop, Frame3{}, Settings{});
    REQUIRE_FALSE(runs.empty());
    for (const Run& run : runs)
        for (const PlanPlane& flat : run.flats) CHECK(norm(flat.gradient) <= steepest_rise * 1.01);
    CHECK(std::ranges::any_of(runs, [](const Run& run) { return run.off_plane_mm > 1; }));  // and says so
}
