// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <memory>
#include <utility>

#include "cradlewright/stages/mould_back.hpp"
#include "stages/mould_back_parts.hpp"
#include "support/cradle_rig.hpp"

namespace cradlewright {
namespace {

using Rig = test::CradleRig;

// Slices lie 1.5 mm apart, edges are made of straight pieces of 0.3 mm.
constexpr double edge_off_mm = 0.1;

MouldBack back_of(const Rig& rig, const Hardware& hardware = {}, const Layup& layup = {}) {
    return build_mould_back(rig.posed, rig.parting, rig.flange, {}, hardware, layup, rig.settings);
}

/// Panels round the plug's box, and a line that is the box itself.
Rig surrounded(TriMesh mesh) {
    Rig rig(std::move(mesh));
    rig.surround(60);
    const Box3& box = rig.posed.box_fixture;
    const double z = rig.panel_top;
    rig.parting.loops.front().panel_line = resample(std::vector<Vec3>{{box.low.x, box.low.y, z},
                                                                      {box.high.x, box.low.y, z},
                                                                      {box.high.x, box.high.y, z},
                                                                      {box.low.x, box.high.y, z}},
                                                    true, 5);
    return rig;
}

double reach(const MouldBack& back) { return back.skin_mm + back.strip_mm; }

/// Is the plate solid there? Stand frame of its half.
bool is_solid(const BackPlate& plate, Vec3 p) {
    const double off = (plate.is_along ? p.y : p.x) - plate.station_mm;
    if (std::abs(off) > plate.part.thickness_mm / 2) return false;
    return contains(to_polygons(plate.part.outline), plate.is_along ? Vec2{p.x, p.z} : Vec2{p.y, p.z});
}

std::vector<const BackPlate*> plates(const BackHalf& half, bool along) {
    std::vector<const BackPlate*> found;
    for (const BackPlate& plate : half.plates)
        if (plate.is_along == along) found.push_back(&plate);
    return found;
}

}  // namespace

TEST_CASE("behind half a cylinder the edge is a circle of radius R + laminate + strip", "[stages][mould-back]") {
    constexpr double radius = 60;
    Rig rig = surrounded(test::make_elliptic_cylinder(radius, radius, 400, 720, 20));
    const double strip = GENERATE(0.0, 6.0, 11.0);
    rig.settings.mould.soft_strip = Length::mm(strip);
    const MouldBack back = back_of(rig);
    REQUIRE(back.halves.size() == 2);
    CHECK(back.strip_mm == strip);
    for (const BackHalf& half : back.halves) {
        const Vec3 axis = half.stand.to_local(rig.posed.box_fixture.center());
        REQUIRE(plates(half, false).size() >= 2);
        for (const BackPlate* plate : plates(half, false)) {
            std::size_t on_plug = 0;
            for (const Vec2& p : plate->edge) {
                const Vec2 from{p.x - axis.y, p.y - axis.z};
                // Above the panels' plane, turned over: axis.z, by more than the offset the plug alone decides.
                if (-from.y < reach(back) + 1) continue;
                CHECK(std::abs(norm(from) - (radius + reach(back))) < edge_off_mm);
                ++on_plug;
            }
            CHECK(on_plug > 200);
            // Far out only the panels do: a plane as far off.
            for (const Vec2& p : plate->edge)
                if (std::abs(p.x - axis.y) > radius + 2 * reach(back))
                    CHECK(std::abs(axis.z - p.y - reach(back)) < edge_off_mm);
        }
    }
}

TEST_CASE("a plate keeps its distance over its whole thickness: slab of a sphere", "[stages][mould-back]") {
    constexpr double radius = 80;
    Rig rig = surrounded(test::make_sphere(radius, 6));
    rig.settings.stocks.at("birch-ply-9").thickness_mm = GENERATE(3.0, 18.0);
    const MouldBack back = back_of(rig);
    const BackHalf& half = back.halves.front();
    const Vec3 middle = half.stand.to_local(rig.posed.box_fixture.center());
    const double r = radius + reach(back);
    for (const BackPlate* plate : plates(half, false)) {
        const double off = std::abs(plate->station_mm - middle.x) - plate->part.thickness_mm / 2;
        REQUIRE(off > 0);
        std::size_t count = 0;
        for (const Vec2& p : plate->edge) {
            const double y = p.x - middle.y, square = r * r - off * off - y * y;
            if (square < 900) continue;  // 30 mm above the panels the sphere alone decides
            CHECK(std::abs(middle.z - p.y - std::sqrt(square)) < 2 * edge_off_mm);
            ++count;
        }
        CHECK(count > 50);
    }
}

TEST_CASE("all plates of a half end on one bench, and are as deep as asked where it is lowest",
          "[stages][mould-back]") {
    Rig rig = surrounded(test::make_elliptic_cylinder(90, 50, 700, 360, 20));
    const double depth = GENERATE(30.0, 80.0);
    rig.settings.mould.stiffener_depth = Length::mm(depth);
    const MouldBack back = back_of(rig);
    for (const BackHalf& half : back.halves) {
        double least = std::numeric_limits<double>::infinity();
        for (const BackPlate& plate : half.plates) {
            CHECK(std::abs(bounding_box(plate.part.outline).low.y) < 1e-4);
            for (const Vec2& p : plate.edge) least = std::min(least, p.y);
        }
        CHECK(least == Approx(depth).margin(1e-6));
    }
}

TEST_CASE("no shell between plates is wider than asked", "[stages][mould-back]") {
    Rig rig = surrounded(test::make_elliptic_cylinder(200, 80, 1000, 360, 20));
    const double spacing = GENERATE(120.0, 250.0, 400.0);
    rig.settings.mould.stiffener_spacing = Length::mm(spacing);
    const MouldBack back = back_of(rig);
    CHECK(back.free_width_mm() <= spacing + 1e-6);
    std::size_t before = 0;
    for (const BackHalf& half : back.halves) {
        const auto across = plates(half, false);
        if (before > 0) CHECK(across.size() == before);
        before = across.size();
        CHECK(across.size() <= std::size_t(std::ceil(0.8 * 1000 / spacing)) + 1);
        CHECK(plates(half, true).size() == 2);  // wider than 150 mm
    }
}

TEST_CASE("plates slot together: at every height of a lap one of the two is there", "[stages][mould-back]") {
    Rig rig = surrounded(test::make_elliptic_cylinder(90, 50, 700, 360, 20));
    const MouldBack back = back_of(rig);
    for (const BackHalf& half : back.halves)
        for (const BackPlate* across : plates(half, false))
            for (const BackPlate* along : plates(half, true)) {
                const double x = across->station_mm, y = along->station_mm;
                double top = 0, both = 0, none = 0;
                for (double z = 3.5; z < 200; z += 0.5) {
                    const bool a = is_solid(*across, {x, y, z}), b = is_solid(*along, {x, y, z});
                    if (a || b) top = z;
                    both += a && b;
                }
                for (double z = 3.5; z < std::min(top, 29.0); z += 0.5)
                    none += !is_solid(*across, {x, y, z}) && !is_solid(*along, {x, y, z});
                CHECK(both == 0);
                CHECK(none == 0);
                // Slots are as wide as the other plate and the clearance.
                const double half_slot = 0.5 * (across->part.thickness_mm + rig.settings.cradle.slot_clearance.mm());
                CHECK_FALSE(is_solid(*across, {x, y + half_slot - 0.05, 10}));
                CHECK(is_solid(*across, {x, y + half_slot + 0.05, 10}));
            }
}

TEST_CASE("the tilt lifts the front of either half", "[stages][mould-back]") {
    Rig rig = surrounded(test::make_elliptic_cylinder(90, 50, 700, 360, 20));
    const double deg = GENERATE(-20.0, 0.0, 12.0);
    rig.settings.mould.stand_tilt = Angle::deg(deg);
    const MouldBack back = back_of(rig);
    for (const BackHalf& half : back.halves) {
        const Vec3 cavity = half.half == 1 ? -rig.posed.pose.pull_fixture : rig.posed.pose.pull_fixture;
        CHECK(angle_between(half.stand.z, cavity) == Approx(std::abs(Angle::deg(deg).rad())).margin(1e-9));
        const Vec3 center = rig.posed.box_fixture.center();
        const double rise = half.stand.to_local(center + Vec3{0, 100, 0}).z - half.stand.to_local(center).z;
        CHECK(rise == Approx(100 * std::sin(Angle::deg(deg).rad())).margin(1e-9));
    }
}

TEST_CASE("plates keep off what sits on the flange", "[stages][mould-back]") {
    Rig rig = surrounded(test::make_box({600, 200, 60}));
    // Bolts so close that shifting alone does not help.
    Hardware hardware;
    for (double x = -280; x <= 280; x += 40)
        for (const double y : {-130.0, 130.0}) {
            HardwareItem bolt;
            bolt.kind = HardwareKind::bolt;
            bolt.at = rig.posed.box_fixture.center() + Vec3{x, y, 0};
            hardware.items.push_back(bolt);
        }
    const MouldBack back = back_of(rig, hardware);
    REQUIRE(back.has_plates());
    for (const BackHalf& half : back.halves)
        for (const HardwareItem& item : hardware.items) {
            const Vec3 at = half.stand.to_local(item.at);
            for (const BackPlate& plate : half.plates)
                for (const double down : {1.0, 10.0, 20.0})
                    for (const double side : {-1.0, 0.0, 1.0}) {
                        const double washer = HardwareSizes::washer / 2;
                        CAPTURE(plate.part.id, at.x, at.y, down, side);
                        CHECK_FALSE(is_solid(plate, at + Vec3{0, side * washer, -reach(back) - down}));
                        CHECK_FALSE(is_solid(plate, at + Vec3{side * washer, 0, -reach(back) - down}));
                    }
        }
}

TEST_CASE("a narrow shell with a flat back needs no plates, a round one does", "[stages][mould-back]") {
    const bool is_flat = GENERATE(true, false);
    Rig rig = surrounded(is_flat ? test::make_box({300, 200, 60}) : test::make_elliptic_cylinder(100, 30, 300, 90, 10));
    rig.settings.mould.use = MouldUse::single;
    TriMesh mesh = rig.posed.mesh();
    for (Vec3& p : mesh.vertices) p = rig.posed.pose.to_fixture(p);
    Layup layup;
    LaidSurface& surface = layup.surfaces.emplace_back();
    surface.id = "mould-1";
    surface.area_mm2 = 1e5;
    surface.laminate = make_laminate(rig.settings, rig.settings.laminate_mould, "test");
    surface.mesh = std::make_shared<const TriMesh>(mesh);
    const MouldBack back = back_of(rig, {}, layup);
    CHECK(back.has_plates() == !is_flat);
    REQUIRE(back.halves.size() == 1);
    CHECK(back.halves.front().footprint.size() >= 4);
    CHECK_FALSE(back.reason.empty());
    // Wider than the plates' spacing it is not stiff by itself.
    rig.settings.mould.stiffener_spacing = Length::mm(150);
    CHECK(back_of(rig, {}, layup).has_plates());
    rig.settings.mould.back = "no";
    CHECK(back_of(rig, {}, layup).halves.empty());
}

TEST_CASE("stations step aside from obstacles and keep the gap", "[stages][mould-back]") {
    const BackStations free = clear_stations(0, 300, 4, 9, {}, 100);
    CHECK(free.at == std::vector<double>{0, 100, 200, 300});
    CHECK(free.conflicts == 0);
    const BackStations moved = clear_stations(0, 300, 4, 9, {{100, 12}}, 110);
    CHECK(moved.conflicts == 0);
    CHECK(std::abs(moved.at[1] - 100) >= 16.5);
    CHECK(std::abs(moved.at[1] - 100) < 17.5 + 1e-9);
    for (std::size_t k = 1; k < 4; ++k) CHECK(moved.at[k] - moved.at[k - 1] - 9 <= 110 + 1e-6);
    CHECK(clear_stations(0, 300, 4, 9, {{100, 60}}, 110).conflicts > 0);
}

TEST_CASE("a plate longer than its sheet is cut between plates across, and nothing of it is lost",
          "[stages][mould-back]") {
    BackEdge whole;
    for (int k = 0; k <= 3000; ++k) whole.edge.push_back({k - 1500.0, 60 + 0.01 * k});
    whole.surface = whole.edge;
    BackEdge shorter;
    shorter.edge = {{-400, 50}, {400, 50}};
    std::vector<BackEdge> edges{whole, shorter};
    std::vector<double> stations{-30, 40};
    std::vector<double> across;
    for (int k = -7; k <= 7; ++k) across.push_back(200.0 * k);
    const std::vector<BackJoint> joints = splice(edges, stations, 1250, across);
    // 3000 mm take three sheets; thirds at -500 and 500 lie midway between the plates at -600 and -400, 400 and 600.
    REQUIRE(joints.size() == 2);
    CHECK(joints[0].at == Approx(-500));
    CHECK(joints[1].at == Approx(500));
    CHECK(joints[1].right == 2);
    REQUIRE(edges.size() == 4);
    CHECK(stations == std::vector<double>{-30, -30, -30, 40});
    double length = 0;
    for (std::size_t k = 0; k < 3; ++k) {
        const std::vector<Vec2>& edge = edges[k].edge;
        CHECK(edge.back().x - edge.front().x <= 1250);
        length += edge.back().x - edge.front().x;
        if (k > 0) CHECK(norm(edge.front() - edges[k - 1].edge.back()) < 1e-9);
    }
    CHECK(length == Approx(3000));
    CHECK(edges[3].edge.size() == 2);
    // Twelve thicknesses to each side would reach the plates across: 100 - 4.5 - 3 are left.
    const Region strap = splice_strap(-500, edges[0].edge, edges[1].edge, 9, across, 0);
    const Box2 box = bounding_box(strap);
    CHECK(box.low.x == Approx(-500 - 92.5));
    CHECK(box.high.x == Approx(-500 + 92.5));
    CHECK(box.high.y < 60 + 0.01 * (1000 - 92.5));  // under the inner edge where it is lowest
    CHECK(splice_strap(-500, edges[0].edge, edges[1].edge, 9, across, 40).outer.vertices.empty());  // no room left
}

TEST_CASE("a mould longer than the sheet stands on spliced plates", "[stages][mould-back]") {
    Rig rig = surrounded(test::make_elliptic_cylinder(60, 60, 700, 360, 20));
    Stock sheet = stock(rig.settings, rig.settings.mould.stiffener_stock);
    sheet.length_mm = 500, sheet.width_mm = 300;
    rig.settings.stocks[rig.settings.mould.stiffener_stock] = sheet;
    const MouldBack back = back_of(rig);
    const double most = 500;
    for (const BackHalf& half : back.halves) {
        Box2 along;
        std::size_t straps = 0;
        for (const BackPlate* plate : plates(half, true)) {
            const Box2 box = bounding_box(plate->part.outline);
            CHECK(box.size().x <= most);
            if (!plate->edge.empty()) along.add(box.low), along.add(box.high);
            if (!plate->edge.empty()) continue;
            ++straps;
            // Flat on the plates' face, clear of those across.
            for (const BackPlate* rib : plates(half, false))
                CHECK(std::abs(rib->station_mm - box.center().x) > box.size().x / 2 + rib->part.thickness_mm / 2);
        }
        CHECK(straps >= 1);
        CHECK(along.size().x > 700);  // as long as the mould, which the sheet is not
    }
    CHECK(back.notes.empty());
}

// Moments about the edges of a rectangle. Source: derived by hand.
TEST_CASE("a half tips over the nearest edge, by its slope or by a load on its rim", "[stages][mould-back]") {
    BackHalf half;
    half.footprint = {{-100, -50}, {100, -50}, {100, 50}, {-100, 50}};
    half.centre = {0, 10, 60};
    half.laminate_kg = 2;
    half.rim = {{-110, -80}, {110, -80}, {110, 80}, {-110, 80}};
    CHECK(stand_tip(half).margin_mm == Approx(40));
    CHECK(stand_tip(half).angle_rad == Approx(std::atan2(40, 60)));
    CHECK(stand_tip(half).low_rad == Approx(std::atan2(38, 60)));  // 2 % of 100 mm
    CHECK(rim_load_n(half) == Approx(2 * 9.80665 * 40 / 30));
    half.rim.clear();
    CHECK(std::isinf(rim_load_n(half)));
}

TEST_CASE("the shopping list gets strip and tabbing by the plates' edges", "[stages][mould-back]") {
    Rig rig = surrounded(test::make_elliptic_cylinder(90, 50, 700, 360, 20));
    const MouldBack back = back_of(rig);
    double edges = 0;
    for (const BackHalf& half : back.halves)
        for (const BackPlate& plate : half.plates) edges += polyline_length(plate.edge, false);
    CHECK(back.strip_length_mm() == Approx(edges));
    LayupKit kit;
    kit.pours = {{.surface = "mould-1"}, {.surface = "mould-2"}, {.surface = "part-1"}};
    add_to_kit(kit, back, rig.settings);
    REQUIRE(kit.lines.size() == 4);
    CHECK(kit.lines[0].amount == Approx(edges / 1000));
    const Cloth& cloth = rig.settings.cloths.at(back.tab_cloth);
    const double strips = std::floor(cloth.roll_mm / rig.settings.mould.tab_width.mm());
    CHECK(kit.lines[1].amount == Approx(2 * 2 * edges / strips / 1000));
    // As much resin as the fibre's share by mass leaves, with waste.
    const double fibre = 2 * 2 * edges * rig.settings.mould.tab_width.mm() * cloth.areal_mass_kg_mm2;
    const double wanted = fibre * (1 / cloth.fibre_mass_fraction - 1) * (1 + rig.settings.kit.waste);
    CHECK(kit.lines[2].amount + kit.lines[3].amount == Approx(wanted));
    // Each half's own, which add up.
    CHECK(kit.pours[0].strip_mm + kit.pours[1].strip_mm == Approx(edges));
    CHECK(kit.pours[0].tab_resin_kg + kit.pours[1].tab_resin_kg == Approx(kit.lines[2].amount));
    CHECK(kit.pours[0].tab_hardener_kg + kit.pours[1].tab_hardener_kg == Approx(kit.lines[3].amount));
    CHECK(kit.pours[0].tab_mm2 + kit.pours[1].tab_mm2 ==
          Approx(tab_plies * 2 * edges * rig.settings.mould.tab_width.mm()));
    CHECK(kit.pours[1].strip_mm > 0);
    CHECK(kit.pours[2].strip_mm == 0);
}

}  // namespace cradlewright
