// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <map>
#include <numbers>
#include <set>

#include "cradlewright/base/error.hpp"
#include "cradlewright/output/scene.hpp"
#include "support/sample_design.hpp"
#include "support/shapes.hpp"

namespace cradlewright {
namespace {

using S = test::SampleSizes;
using std::numbers::pi;

/// Every edge is crossed once each way.
bool is_closed(const TriMesh& mesh) {
    std::map<std::pair<VertexId, VertexId>, int> balance;
    for (const Triangle& t : mesh.triangles) {
        for (std::size_t k = 0; k < 3; ++k) {
            const VertexId a = t[k], b = t[(k + 1) % 3];
            balance[std::minmax(a, b)] += a < b ? 1 : -1;
        }
    }
    return std::all_of(balance.begin(), balance.end(), [](const auto& edge) { return edge.second == 0; });
}

const SceneNode& node(const Scene& scene, const std::string& name) {
    const auto found =
        std::find_if(scene.nodes.begin(), scene.nodes.end(), [&](const auto& n) { return n.name == name; });
    REQUIRE(found != scene.nodes.end());
    return *found;
}

PlatePart tilted(const Loop& outer) {
    PlatePart part;
    part.id = "panel-test";
    part.outline.outer = outer;
    part.thickness_mm = 7;
    part.frame = rotation_about(normalized(Vec3{1, 2, 3}), 0.8);
    part.frame.origin = {10, -20, 30};
    return part;
}

TEST_CASE("a plate's solid holds area times thickness, wherever it lies", "[output]") {
    PlatePart part = tilted(make_loop({{0, 0}, {200, 0}, {200, 60}, {90, 60}, {90, 110}, {0, 110}}, CutKind::fit));
    part.outline.holes = {reversed(make_rectangle({20, 20}, {60, 45}, CutKind::rough))};
    const TriMesh solid = extrude_plate(part, 0.1);
    CHECK(is_closed(solid));
    CHECK(mass_properties(solid).volume_mm3 == Approx((200 * 60 + 90 * 50 - 40 * 25) * 7.0));
    for (const Vec3 v : solid.vertices) {
        const double z = part.frame.to_local(v).z;
        CHECK((std::abs(z) < 1e-9 || std::abs(z + 7) < 1e-9));
    }
}

TEST_CASE("arcs of a plate become chords within the sag", "[output]") {
    constexpr double r = 50, sag = 0.05;
    PlatePart part = tilted(make_circle({3, 4}, r, CutKind::fit, false));
    const double exact = std::numbers::pi * r * r * 7;
    const double volume = mass_properties(extrude_plate(part, sag)).volume_mm3;
    CHECK(volume < exact);
    CHECK(volume > exact * (1 - 2 * sag / r));  // nothing inside r - sag is lost
}

TEST_CASE("an outline that crosses itself still gives a closed solid", "[output]") {
    const TriMesh solid = extrude_plate(tilted(make_loop({{0, 0}, {10, 10}, {10, 0}, {0, 10}}, CutKind::rough)), 0.1);
    CHECK(is_closed(solid));
    CHECK(mass_properties(solid).volume_mm3 == Approx(50 * 7.0));
}

TEST_CASE("thinning keeps to the surface and near the wanted size", "[output]") {
    constexpr double r = 100;
    const TriMesh sphere = test::make_sphere(r, 7);  // 131072 faces
    for (const std::size_t wanted : {2000u, 20000u}) {
        const ThinnedMesh thin = thin_by_clustering(sphere, wanted);
        CHECK(thin.mesh.face_count() > wanted / 2);
        CHECK(thin.mesh.face_count() < wanted * 3 / 2);
        REQUIRE(thin.source.size() == thin.mesh.face_count());
        // A cell of side h moves nothing further than its diagonal; see cell_size for h.
        const double cell = std::sqrt(3 * 4 * std::numbers::pi * r * r / static_cast<double>(wanted));
        CHECK(thin.deviation_mm <= cell * std::numbers::sqrt3);
        CHECK(thin.deviation_mm > cell / 4);
        double deepest = 0;
        for (FaceId f = 0; f < thin.mesh.face_count(); ++f) {
            const auto c = thin.mesh.corners(f);
            CHECK(norm(c[0]) == Approx(r));  // corners are vertices of the input
            deepest = std::max(deepest, r - norm(c[0] + c[1] + c[2]) / 3);
            CHECK(norm(sphere.corners(thin.source[f])[0] - c[0]) < 2 * cell * std::numbers::sqrt3);
        }
        CHECK(deepest <= thin.deviation_mm + test::chord_sag(sphere, r));
    }
}

TEST_CASE("thinning leaves small meshes alone and repeats itself", "[output]") {
    const TriMesh box = test::make_box({10, 20, 30});
    const ThinnedMesh same = thin_by_clustering(box, 12);
    CHECK(same.mesh.triangles == box.triangles);
    CHECK(same.mesh.vertices == box.vertices);
    CHECK(same.deviation_mm == 0);
    const TriMesh sphere = test::make_sphere(50, 5);
    CHECK(thin_by_clustering(sphere, 500).mesh.triangles == thin_by_clustering(sphere, 500).mesh.triangles);
    CHECK(thin_by_clustering(TriMesh{}, 10).mesh.triangles.empty());
    CHECK_THROWS_AS(thin_by_clustering(box, 0), Error);
}

TEST_CASE("thinning turns no face over", "[output]") {
    const ThinnedMesh thin = thin_by_clustering(test::make_sphere(80, 7), 5000);
    // Enclosed volume of an inscribed shape: less than the sphere's, and by no more than the deviation shell.
    const double exact = 4.0 / 3 * std::numbers::pi * std::pow(80, 3);
    const double volume = mass_properties(thin.mesh).volume_mm3;
    CHECK(volume < exact);
    CHECK(volume > exact - 4 * std::numbers::pi * 80 * 80 * thin.deviation_mm);
}

TEST_CASE("the scene has a node for everything, named as the contract says", "[output]") {
    const Scene scene = make_scene(test::sample_design());
    std::vector<std::string> names;
    for (const SceneNode& n : scene.nodes) {
        names.push_back(n.name);
        CHECK_FALSE(n.mesh.triangles.empty());
    }
    CHECK(names ==
          std::vector<std::string>{
              "plug",          "mould-surface", "parting-line", "panel-back-1", "panel-end-b-1",    "panel-front-1",
              "panel-end-a-1", "rib-1",         "rib-2",        "rib-3",        "stringer-front-1", "tie-1",
              "tie-2",         "stop-end-a",    "base",         "bead-back-1",  "bead-end-b-1",     "bead-front-1",
              "bead-end-a-1",  "locator-1"});
    CHECK(scene.plug_deviation_mm == 0);
}

TEST_CASE("plates stand where the design puts them", "[output]") {
    const Scene scene = make_scene(test::sample_design());
    const Box3 rib = bounding_box(node(scene, "rib-1").mesh);
    CHECK(rib.low.x == Approx(-300));
    CHECK(rib.high.x == Approx(-291));
    CHECK(rib.high.z == Approx(97));
    const Box3 panel = bounding_box(node(scene, "panel-front-1").mesh);
    CHECK(panel.low.y == Approx(100));
    CHECK(panel.high.y == Approx(160));
    CHECK(panel.low.z == Approx(97));
    CHECK(panel.high.z == Approx(100));
    CHECK(mass_properties(node(scene, "panel-front-1").mesh).volume_mm3 == Approx(660.0 * 60 * 3));
    CHECK(bounding_box(node(scene, "base").mesh).low.z == Approx(-18));
}

TEST_CASE("the mould surface is half 1 of the plug", "[output]") {
    const Scene scene = make_scene(test::sample_design());
    const TriMesh& mould = node(scene, "mould-surface").mesh;
    CHECK(mould.face_count() == 2);
    CHECK(mass_properties(mould).area_mm2 == Approx(600.0 * 200));
    CHECK(bounding_box(mould).low.z == Approx(120));
    CHECK(bounding_box(node(scene, "plug").mesh).low.z == Approx(80));
}

TEST_CASE("the parting line is a closed tube about the line", "[output]") {
    const TriMesh tube = node(make_scene(test::sample_design()), "parting-line").mesh;
    CHECK(is_closed(tube));
    constexpr double radius = 0.9;  // 0.0015 of 600 mm
    const Box3 box = bounding_box(tube);
    CHECK(box.high.z - S::line_z <= radius + 1e-9);
    CHECK(box.high.z - S::line_z > radius * std::cos(std::numbers::pi / 6) - 1e-9);
    // A hexagon of circumradius r has area 3 sqrt(3) / 2 r2; the corners cost less than one radius each of the length.
    const double section = 1.5 * std::numbers::sqrt3 * radius * radius;
    const double volume = mass_properties(tube).volume_mm3;
    CHECK(volume <= section * 1600 + 1e-6);
    CHECK(volume >= section * (1600 - 4 * 20.0));
}

TEST_CASE("a bead is the solid between panel, ball and plug", "[output]") {
    Design design = test::sample_design();
    const TriMesh bead = node(make_scene(design), "bead-front-1").mesh;
    CHECK(is_closed(bead));
    // Corner square r2 less the fan of 8 chords over a quarter turn, 8 (r2 / 2) sin(pi / 16). Source: derived.
    constexpr double r = S::bead_radius;
    const double section = r * r * (1 - 4 * std::sin(std::numbers::pi / 16));
    CHECK(mass_properties(bead).volume_mm3 == Approx(section * 600));
    const Box3 box = bounding_box(bead);
    CHECK(box.low.y == Approx(100));
    CHECK(box.high.y == Approx(110));
    CHECK(box.low.z == Approx(100));
    CHECK(box.high.z == Approx(110));

    // Where the ball found no place there is a gap of two steps, closed on both sides.
    design.beads.runs[2].sections[10].is_valid = false;
    const TriMesh broken = node(make_scene(design), "bead-front-1").mesh;
    CHECK(is_closed(broken));
    CHECK(mass_properties(broken).volume_mm3 == Approx(section * (600 - 2 * 20)));
}

TEST_CASE("a rolled bead's solid holds its clay", "[output]") {
    // By the divergence theorem over the node's triangles, against flats and Pappus with the arc as eight chords:
    // A = r^2 (cot(a/2) - 8/2 sin((pi - a)/8)), and against the stage's own volume. [derived]
    constexpr double r = 9.525;
    constexpr int chords = 8, n = 720;
    const auto faceted = [](double corner) {
        return r * r * (1 / std::tan(corner / 2) - chords / 2.0 * std::sin((pi - corner) / chords));
    };
    Design d;
    d.settings.bead.radius = "9.525mm";
    PartingLoop loop;
    FlangePanel panel;
    panel.id = "panel-rim-1";
    double wanted = 0;
    SECTION("straight, at an angle") {
        const double corner = Angle::deg(GENERATE(60.0, 90.0, 130.0)).rad();
        d.posed.plug.mesh = std::make_shared<const TriMesh>(test::make_box({400, 100, 120}));
        for (int k = 0; k <= 10; ++k) loop.panel_line.push_back({100.0 - 20 * k, 50, 0});
        loop.panel_line.push_back({-100, -50, 0});
        loop.panel_line.push_back({100, -50, 0});
        panel.last = 10;
        panel.point = {0, 50, 0};
        panel.normal = {0, std::sin(corner - pi / 2), std::cos(corner - pi / 2)};
        wanted = 200 * faceted(corner);
    }
    SECTION("round a post") {
        const double rp = 60;
        const Frame3 upright{{}, {0, 0, 1}, {1, 0, 0}, {0, 1, 0}};
        d.posed.plug.mesh =
            std::make_shared<const TriMesh>(test::placed(test::make_elliptic_cylinder(rp, rp, 200, n, 8), upright));
        for (int k = 0; k < n; ++k)
            loop.panel_line.push_back({rp * std::cos(2 * pi * k / n), rp * std::sin(2 * pi * k / n), 0});
        panel.normal = {0, 0, 1};
        // Corner square less quarter disc as chords: first moments about the wall.
        double moment = r * r * r / 2;
        for (int k = 0; k < chords; ++k) {
            const double half = pi / 4 / chords, at = (2 * k + 1) * half;  // triangle at the ball's middle
            moment -= r * r * std::sin(2 * half) / 2 * (r - 2.0 / 3 * r * std::cos(half) * std::cos(at));
        }
        wanted = 2 * pi * (rp * faceted(pi / 2) + moment);
    }
    d.parting.half.assign(d.posed.mesh().face_count(), 1);
    d.parting.loops.push_back(loop);
    d.flange.panels.push_back(panel);
    d.beads = lay_beads(d.posed, d.parting, d.flange, d.settings);
    const Scene scene = make_scene(d);
    const auto node = std::ranges::find(scene.nodes, "bead-rim-1", &SceneNode::name);
    REQUIRE(node != scene.nodes.end());
    double six = 0;
    for (const Triangle& t : node->mesh.triangles)
        six += dot(node->mesh.vertices[t[0]], cross(node->mesh.vertices[t[1]], node->mesh.vertices[t[2]]));
    CHECK(six / 6 == Approx(wanted).epsilon(2e-3));  // contact tolerance, chords of the post
    // Eight chords take up to 2.4 % more clay than the arc at a square corner, more where the arc turns further.
    CHECK(six / 6 > d.beads.clay_volume_mm3);
    CHECK(six / 6 == Approx(d.beads.clay_volume_mm3).epsilon(0.045));
}

TEST_CASE("a locator is a drafted button that stands on its panel", "[output]") {
    Design design = test::sample_design();
    const HardwareItem& item = design.hardware.items[0];
    const LocatorShape& shape = design.hardware.locator;
    const TriMesh leaning = node(make_scene(design), "locator-1").mesh;
    CHECK(is_closed(leaning));
    // Its foot lies in the panel, here leaning by 10 deg, its top square to the axis at its height.
    double least = 1e9;
    for (const Vec3 v : leaning.vertices) least = std::min(least, dot(v - item.at, item.normal));
    CHECK(least == Approx(0).margin(1e-9));
    CHECK(bounding_box(leaning).high.z == Approx(S::line_z + 8));
    // Of 48 flats round the axis each leans by atan(tan(draft) cos(pi / 48)).
    const double flat_draft = std::atan(std::tan(shape.draft_rad) * std::cos(pi / 48));
    // No place of it holds on to the mould: every face but the foot has the draft or more.
    for (FaceId f = 0; f < leaning.face_count(); ++f) {
        const Vec3 n = normalized(area_vector(leaning.corners(f)));
        if (dot(n, item.normal) > -0.999) CHECK(n.z >= std::sin(flat_draft) - 1e-9);
    }

    design.hardware.items[0].shim_rad = 0;
    design.hardware.items[0].normal = {0, 0, 1};
    const double volume = mass_properties(node(make_scene(design), "locator-1").mesh).volume_mm3;
    // Frustum up to where the rounding starts, then slices through the rounding. Source: derived, solid of revolution.
    const double d = shape.draft_rad, r = shape.round_mm, c = shape.round_center().x;
    const double high = shape.round_center().y + r * std::sin(d), top = c + r * std::cos(d);
    const auto rounding = [&](double t) {
        return r * (c * c * std::sin(t) + c * r * (t + std::sin(2 * t) / 2) +
                    r * r * (std::sin(t) - std::pow(std::sin(t), 3) / 3));
    };
    const double exact = pi * (high / 3 * (100 + 10 * top + top * top) + rounding(pi / 2) - rounding(d));
    CHECK(volume < exact);
    CHECK(volume == Approx(exact).epsilon(0.006));  // 48 sides take 0.3 %, six chords of the rounding less than that
    CHECK(top == Approx(10 - high * std::tan(d)));
}

TEST_CASE("a design without a parting line shows its plug alone", "[output]") {
    const Scene scene = make_scene(test::unparted_design());
    REQUIRE(scene.nodes.size() == 1);
    CHECK(scene.nodes[0].name == "plug");
    CHECK(make_scene(Design{}).nodes.empty());
}

TEST_CASE("a thinned plug keeps its halves apart", "[output]") {
    Design design = test::sample_design();
    const TriMesh sphere = test::make_sphere(90, 6);
    design.posed.plug.mesh = std::make_shared<TriMesh>(sphere);
    design.parting.half.clear();
    for (FaceId f = 0; f < sphere.face_count(); ++f) {
        const auto c = sphere.corners(f);
        design.parting.half.push_back((c[0] + c[1] + c[2]).z > 0 ? 1 : 2);
    }
    const Scene scene = make_scene(design, {.max_plug_faces = 4000, .plate_sag_mm = 0.1});
    CHECK(scene.plug_deviation_mm > 0);
    const TriMesh& mould = node(scene, "mould-surface").mesh;
    const double area = mass_properties(mould).area_mm2, whole = mass_properties(node(scene, "plug").mesh).area_mm2;
    CHECK(area == Approx(whole / 2).epsilon(0.05));  // the seam follows cells, here 1/50 of the girth
    CHECK(bounding_box(mould).low.z > 100 - 2 * scene.plug_deviation_mm);
}

}  // namespace
TEST_CASE("halves on their stands are set down beside the fixture, on its floor", "[output]") {
    Design design = test::sample_design();
    const Scene fixture = make_scene(design);
    for (const int number : {1, 2}) {
        BackHalf half;
        half.half = number;
        half.stand = rotation_about({1, 0, 0}, number == 1 ? std::numbers::pi : 0);
        half.stand.origin = {0, 0, number == 1 ? 200.0 : 20.0};
        BackPlate plate;
        plate.part.id = "back-" + std::to_string(number) + "-rib-1";
        plate.part.thickness_mm = 9;
        plate.part.outline.outer = make_rectangle({-90, 0}, {90, 60}, CutKind::fit);
        plate.part.frame = compose(half.stand, {{0, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}});
        half.plates.push_back(plate);
        design.back.halves.push_back(half);
    }
    Scene scene = fixture;
    add_mould_backs(scene, design);
    REQUIRE(scene.nodes.size() == fixture.nodes.size() + 2);
    Box3 whole;
    for (const SceneNode& node : fixture.nodes)
        for (const Vec3& p : node.mesh.vertices) whole.add(p);
    for (const bool is_first : {true, false}) {
        const TriMesh& mesh = scene.nodes[scene.nodes.size() - (is_first ? 2 : 1)].mesh;
        const Box3 box = bounding_box(mesh);
        CHECK(box.low.z == Approx(whole.low.z));
        CHECK(box.high.z == Approx(whole.low.z + 60));
        CHECK((is_first ? box.low.y > whole.high.y : box.high.y < whole.low.y));
        CHECK(mass_properties(mesh).volume_mm3 == Approx(180.0 * 60 * 9));  // outward: moved, not mirrored
    }
}

}  // namespace cradlewright
