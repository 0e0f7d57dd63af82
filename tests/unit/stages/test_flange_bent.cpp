// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/stages/flange.hpp"
#include "cradlewright/stages/panel_support.hpp"
#include "support/plugs.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;

namespace {

constexpr double pi = std::numbers::pi;

/// A panel's run of the line as it lies on the flat pattern.
std::vector<Vec2> line_on_pattern(const FlangePanel& panel, const Parting& parting) {
    std::vector<Vec2> flat;
    for (const Vec3& p : panel_run(panel, parting)) {
        const Vec3 q = on_pattern(panel.part, p);
        flat.push_back({q.x, q.y});
    }
    return flat;
}

double turn_of(const std::vector<Vec2>& chain) {
    double turn = 0;
    for (std::size_t i = 1; i + 1 < chain.size(); ++i) {
        const Vec2 a = chain[i] - chain[i - 1], b = chain[i + 1] - chain[i];
        turn += std::atan2(cross(a, b), dot(a, b));
    }
    return turn;
}

/// Laws of any bent panel: its flats make up the pattern, neighbouring flats meet along their ruling, places go there
/// and back.
void check_bend(const FlangePanel& panel) {
    CAPTURE(panel.id);
    REQUIRE(panel.is_curved());
    const BendMap& bend = *panel.part.bend;
    REQUIRE(bend.flats.size() == bend.rulings.size() + 1);
    double area = 0;
    for (const PlatePart& flat : flats_of(panel.part)) area += area_of(flat.outline);
    CHECK(area == Approx(area_of(panel.part.outline)).epsilon(1e-4));
    for (std::size_t k = 0; k < bend.rulings.size(); ++k) {
        const BendMap::Ruling& r = bend.rulings[k];
        for (const Vec2 p : {r.from, r.to})
            CHECK(norm(bend.flats[k].to_parent(p) - bend.flats[k + 1].to_parent(p)) < 1e-6);
        CHECK(std::abs(r.angle_rad) == Approx(angle_between(bend.flats[k].z, bend.flats[k + 1].z)).margin(1e-9));
    }
    for (const std::vector<Vec2>& chain : to_polygons(panel.part.outline))
        for (const Vec2& p : chain) {
            const Vec3 pattern{p.x, p.y, 0};  // below, flats overlap on the inside of a bend
            CHECK(norm(on_pattern(panel.part, placed(panel.part, pattern)) - pattern) < 1e-6);
        }
}

/// The least radius of the flats, whose lengths differ and which follow noise within the planarity: never gentler than
/// the true one, and a tenth sharper at most.
void check_radius(const FlangePanel& panel, double exact) {
    CHECK(panel.bend_radius_mm < 1.01 * exact);
    CHECK(panel.bend_radius_mm > 0.9 * exact);
}

}  // namespace

TEST_CASE("a sloped flange round a sphere unrolls as a cone", "[stages][flange]") {
    const double radius = 300, slope = 15 * pi / 180;
    const PartedPlug p = parted_plug(make_sphere(radius, 6));
    Settings settings;
    settings.flange.slope = Angle::rad(slope);
    const Flange flange = lay_flange(p.posed, p.parting, settings);
    REQUIRE(flange.panels.size() == 4);
    double turn = 0, area = 0;
    for (const FlangePanel& panel : flange.panels) {
        check_bend(panel);
        const std::vector<Vec2> line = line_on_pattern(panel, p.parting);
        turn += std::abs(turn_of(line));
        // Lengths are kept: a quarter of the circle.
        CHECK(polyline_length(line, false) == Approx(polyline_length(panel_run(panel, p.parting), false)).margin(0.1));
        area += area_of(panel.part.outline);
        for (const Frame3& flat : panel.part.bend->flats) CHECK(std::acos(flat.z.z) == Approx(slope).margin(0.012));
        // Normal curvature of a cone at its line: radius / sin slope (do Carmo, 3-3); the sheet starts 2 mm further in.
        check_radius(panel, radius / std::sin(slope));
    }
    // A full cone's sector is 360 radius / slant, slant = radius / cos slope; runs meet with a line point in common, so
    // three of 4 n turns are not seen.
    const double seen = 1 - 4.0 / static_cast<double>(p.parting.loops.front().panel_line.size());
    CHECK(turn == Approx(2 * pi * std::cos(slope) * seen).epsilon(2e-3));
    // The square-cut edge's lower corner stands further in.
    const double in = radius + settings.flange.gap.mm() + Tolerances{}.arc_fit_mm +
                      stock(settings, settings.flange.stock).thickness_mm * std::sin(slope),
                 out = radius + settings.flange.width.mm() * std::cos(slope);
    CHECK(area == Approx(pi * (out * out - in * in) / std::cos(slope)).epsilon(5e-3));
}

TEST_CASE("a line that bows gets one panel bent as a cylinder", "[stages][flange]") {
    const double bow_radius = 4000, length = 800;
    const auto bow = [&](double x) { return std::sqrt(bow_radius * bow_radius - x * x) - bow_radius; };
    PartedPlug p = parted_plug(lifted(make_elliptic_cylinder(80, 30, length, 96, 80), bow));
    // Parting straightens the line where the wall is upright; here it shall be the arc itself.
    std::vector<Vec3>& line = p.parting.loops.front().panel_line;
    const double top = line.front().z - bow(line.front().x);
    for (Vec3& q : line) q.z = top + bow(q.x);
    Settings settings;
    const auto on_edge = [&](const std::string& edge) {
        std::vector<FlangePanel> panels;
        for (const FlangePanel& panel : lay_flange(p.posed, p.parting, settings).panels)
            if (panel.edge == edge) panels.push_back(panel);
        return panels;
    };
    const std::vector<FlangePanel> bent = on_edge("front");
    REQUIRE(bent.size() == 1);
    check_bend(bent.front());
    CHECK(bent.front().off_plane_mm <= settings.flange.planarity.mm());
    check_radius(bent.front(), bow_radius);
    const std::vector<Vec3> run = panel_run(bent.front(), p.parting);
    const double arc =
        bow_radius * std::abs(std::asin(run.back().x / bow_radius) - std::asin(run.front().x / bow_radius));
    CHECK(polyline_length(line_on_pattern(bent.front(), p.parting), false) == Approx(arc).margin(0.1));
    for (const BendMap::Ruling& r : bent.front().part.bend->rulings) {
        const Vec3 along = placed(bent.front().part, r.to) - placed(bent.front().part, r.from);
        CHECK(std::abs(normalized(along).y) > 0.999);
    }
    settings.edges["front"].panel = "flat";
    const std::vector<FlangePanel> flat = on_edge("front");
    CHECK(flat.size() > 1);
    for (const FlangePanel& panel : flat) CHECK_FALSE(panel.is_curved());
    settings.edges["front"].panel = "curved";
    CHECK(on_edge("front").front().is_curved());
    // A sheet that breaks at this radius is not bent unless told.
    settings.edges["front"].panel = "auto";
    settings.stocks.at("pvc-3").thickness_mm = 60;
    const std::vector<FlangePanel> thick = on_edge("front");
    CHECK(thick.size() > 1);
    for (const FlangePanel& panel : thick)
        CHECK((!panel.is_curved() || panel.bend_radius_mm >= least_bend_radius_mm(settings.stocks.at("pvc-3"))));
}
