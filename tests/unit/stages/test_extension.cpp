// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <numbers>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/stages/cradle.hpp"
#include "cradlewright/stages/extension.hpp"
#include "cradlewright/stages/flange.hpp"
#include "cradlewright/stages/pose.hpp"
#include "plugs.hpp"
#include "support/plugs.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;

namespace {

constexpr double pi = std::numbers::pi;
constexpr double step = 0.3;
/// What outlines may be off their curve by, chord errors of thinning and of Clipper's grid included.
constexpr double outline_tolerance = 0.006;

EdgeOptions piece(double length_mm, const char* slope = "", double lean_deg = 0) {
    EdgeOptions options;
    options.extension = Length::mm(length_mm);
    options.extension_slope = slope;
    options.extension_lean = Angle::deg(lean_deg);
    return options;
}

Plug extended(TriMesh mesh, const std::map<std::string, EdgeOptions>& edges) {
    const PosedPlug posed = posed_plug(std::move(mesh));
    Settings settings;
    settings.edges = edges;
    return extend_plug(posed.plug, posed.pose, settings);
}

/// Closed, oriented, one body, no face without area.
void check_sound(const Plug& plug) {
    const TriMesh& mesh = *plug.mesh;
    CHECK(plug.is_closed);
    REQUIRE(plug.adjacency->size() == 3 * mesh.face_count());
    CHECK(std::ranges::count(*plug.adjacency, no_id) == 0);
    double thinnest = 1;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const auto c = mesh.corners(f);
        const double longest = std::max({norm(c[1] - c[0]), norm(c[2] - c[1]), norm(c[0] - c[2])});
        thinnest = std::min(thinnest, norm(area_vector(c)) / (longest * longest));
    }
    CHECK(thinnest > 1e-8);
    std::vector<char> is_used(mesh.vertices.size(), 0);
    for (const Triangle& t : mesh.triangles)
        for (const VertexId v : t) is_used[v] = 1;
    CHECK(std::ranges::count(is_used, 0) == 0);
    // Euler's formula for a body without holes.
    CHECK(static_cast<long>(mesh.vertices.size()) - static_cast<long>(mesh.face_count()) / 2 == 2);
}

/// Axis z turned into x, so that the top becomes end-b.
TriMesh lying(const TriMesh& upright) { return placed(upright, Frame3{{}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}}); }

double polygon_area(double radius, int n) { return 0.5 * n * radius * radius * std::sin(2 * pi / n); }

Box2 box_of(const std::vector<Vec2>& points) {
    Box2 box;
    for (const Vec2 p : points) box.add(p);
    return box;
}

std::string complaint(TriMesh mesh, const std::map<std::string, EdgeOptions>& edges) {
    try {
        extended(std::move(mesh), edges);
    } catch (const Error& error) {
        CHECK(error.code() == ErrorCode::bad_input);
        return error.what();
    }
    return "accepted";
}

}  // namespace

TEST_CASE("a plug without extensions is left as it is", "[stages][extension]") {
    const PosedPlug posed = posed_plug(make_box({200, 100, 50}));
    Settings settings;
    settings.edges["end-a"] = piece(0);
    settings.edges["front"].slope = Angle::deg(5);
    const Plug plug = extend_plug(posed.plug, posed.pose, settings);
    CHECK(plug.mesh == posed.plug.mesh);
    CHECK(plug.extensions.empty());
    CHECK(&plug.scanned() == &plug);
}

TEST_CASE("a box gets a block with a step", "[stages][extension]") {
    const Plug plug = extended(make_box({200, 100, 50}), {{"end-a", piece(30)}, {"end-b", piece(40)}});
    check_sound(plug);
    const double section = (100 - 2 * step) * (50 - 2 * step);
    CHECK(plug.mass_properties.volume_mm3 == Approx(200.0 * 100 * 50 + 70 * section).epsilon(1e-9));
    // Walls, the outer faces, and two steps that together with them make up the plug's own ends.
    CHECK(plug.mass_properties.area_mm2 ==
          Approx(200.0 * 2 * 150 + 2 * 100 * 50 + 70 * 2 * (150 - 4 * step)).epsilon(1e-9));
    const Box3 box = bounding_box(*plug.mesh);
    CHECK(box.low.x == Approx(-130));
    CHECK(box.high.x == Approx(140));

    REQUIRE(plug.extensions.size() == 2);
    for (const Extension& e : plug.extensions) {
        CAPTURE(e.edge);
        const double side = e.edge == "end-a" ? -1 : 1;
        CHECK(e.joint.origin.x == Approx(side * 100));
        CHECK(e.joint.z.x == Approx(side));
        CHECK(e.joint.y.z == Approx(1));
        CHECK(e.gap_mm < 0.02);
        CHECK(signed_area(e.end) == Approx(100.0 * 50));
        CHECK(signed_area(e.inner) == Approx(section));
        CHECK(signed_area(e.outer) == Approx(section));
        CHECK(e.volume_mm3 == Approx(e.length_mm * section));
        CHECK(e.mass_kg == Approx(e.volume_mm3 * 120e-9));
        // Its faces are those beyond the joint and the fill just behind it.
        for (FaceId f = 0; f < plug.mesh->face_count(); ++f) {
            const auto c = plug.mesh->corners(f);
            const bool is_beyond = side * (c[0].x + c[1].x + c[2].x) / 3 > 99;
            const bool is_of = f >= e.first_face && f < e.first_face + e.face_count;
            CHECK(is_beyond == is_of);
            CHECK((plug.mesh->origin_of(f) == FaceOrigin::extended) == (std::abs(c[0].x + c[1].x + c[2].x) / 3 > 99));
        }
    }
    CHECK(plug.scanned().mass_properties.volume_mm3 == Approx(200.0 * 100 * 50));
}

TEST_CASE("the outer face leans back from its middle to both halves", "[stages][extension]") {
    const double lean_deg = 5, high = 50 - 2 * step, wide = 100 - 2 * step;
    const Plug plug = extended(make_box({200, 100, 50}), {{"end-b", piece(40, "", lean_deg)}});
    check_sound(plug);
    const double wedge = 0.5 * (high / 2) * (high / 2) * std::tan(Angle::deg(lean_deg).rad()) * wide;
    REQUIRE(plug.extensions.size() == 1);
    const Extension& e = plug.extensions.front();
    CHECK(e.volume_mm3 == Approx(40 * wide * high - 2 * wedge).epsilon(1e-9));
    CHECK(std::abs(e.ridge[0].y) < 1e-9);
    CHECK(std::abs(e.ridge[1].y) < 1e-9);
    CHECK(std::abs(e.ridge[0].x - e.ridge[1].x) == Approx(wide));
    double least = 90;
    for (FaceId f = 0; f < plug.mesh->face_count(); ++f) {
        const auto c = plug.mesh->corners(f);
        if (c[0].x + c[1].x + c[2].x < 3 * 136) continue;
        const Vec3 n = normalized(area_vector(c));
        if (n.x > 0.9) least = std::min(least, std::abs(Angle::rad(std::asin(n.z)).deg()));
    }
    CHECK(least == Approx(lean_deg));
}

TEST_CASE("a sloped piece carries the walls of a cone on", "[stages][extension]") {
    const int n = 96;
    const double top = 40, slope = 0.1, length = 50, apothem = std::cos(pi / n);
    const Plug plug = extended(lying(make_cone(60, top, 200, n)), {{"end-b", piece(length, "sloped")}});
    check_sound(plug);
    REQUIRE(plug.extensions.size() == 1);
    const Extension& e = plug.extensions.front();
    CHECK(e.is_sloped);
    // Radii of the corners of regular polygons: sides are set back by the step.
    const double inner = top - step / apothem, outer = top - slope * length - step / apothem;
    for (const Vec2 p : e.inner) CHECK(norm(p) <= inner + outline_tolerance);
    for (const Vec2 p : e.inner) CHECK(norm(p) >= inner * apothem - outline_tolerance);
    for (const Vec2 p : e.outer) CHECK(norm(p) <= outer + outline_tolerance);
    for (const Vec2 p : e.outer) CHECK(norm(p) >= outer * apothem - outline_tolerance);
    const double a = polygon_area(inner, n), b = polygon_area(outer, n);
    CHECK(e.volume_mm3 == Approx(length / 3 * (a + b + std::sqrt(a * b))).epsilon(1e-4));
    CHECK(e.slope_deg_low == Approx(Angle::rad(std::atan(slope * apothem)).deg()).epsilon(1e-3));
    CHECK(e.slope_deg_high == Approx(e.slope_deg_low).epsilon(1e-3));

    const Plug straight = extended(lying(make_cone(60, top, 200, n)), {{"end-b", piece(length, "straight")}});
    CHECK(straight.extensions.front().volume_mm3 == Approx(length * a).epsilon(1e-4));
    CHECK(straight.extensions.front().slope_deg_high == Approx(0).margin(1e-9));
    // The wider end's walls open outward.
    const Plug wide = extended(lying(make_cone(60, top, 200, n)), {{"end-a", piece(length, "sloped")}});
    CHECK(box_of(wide.extensions.front().outer).size().x == Approx(2 * (60 + slope * length - step)).epsilon(1e-3));
    check_sound(wide);
}

TEST_CASE("a sloped piece keeps corners and their step", "[stages][extension]") {
    const Plug plug = extended(lying(make_pyramid(100, 60, 200)), {{"end-b", piece(30, "sloped")}});
    check_sound(plug);
    const Extension& e = plug.extensions.front();
    const double side = 60 - 2 * step, outer = 60 - 0.2 * 30 - 2 * step;
    CHECK(box_of(e.inner).size().x == Approx(side).epsilon(1e-6));
    CHECK(box_of(e.outer).size().x == Approx(outer).epsilon(1e-5));
    CHECK(box_of(e.outer).size().y == Approx(outer).epsilon(1e-5));
    CHECK(signed_area(e.outer) == Approx(outer * outer).epsilon(1e-5));
}

TEST_CASE("scan noise is smoothed out of the piece", "[stages][extension]") {
    const double radius = 40, noise = 0.1;
    const TriMesh cylinder = make_elliptic_cylinder(radius, radius, 300, 200, 200);
    for (const std::uint32_t seed : {1u, 7u}) {
        CAPTURE(seed);
        const Plug plug = extended(with_noise(cylinder, noise, seed), {{"end-b", piece(40, "sloped")}});
        CHECK(plug.noise_mm == Approx(noise).epsilon(0.2));
        check_sound(plug);
        const Extension& e = plug.extensions.front();
        CHECK(std::abs(e.joint.origin.x - 150) < 2 * noise);
        CHECK(angle_between(e.joint.z, {1, 0, 0}) < 1e-9);
        double sum = 0, worst = 0;
        for (const Vec2 p : e.end) {
            sum += norm(p) - radius;
            worst = std::max(worst, std::abs(norm(p) - radius));
        }
        CHECK(std::abs(sum / static_cast<double>(e.end.size())) < noise / 4);
        CHECK(worst < 2 * noise);  // of some 300 points of the raw section the worst is off by 3 and more
        CHECK(std::abs(e.slope_deg_low) < 0.6);
        CHECK(std::abs(e.slope_deg_high) < 0.6);
    }
}

TEST_CASE("an end cut at a slant is joined along its own plane", "[stages][extension]") {
    TriMesh box = make_box({200, 100, 50});
    const double slant = std::tan(Angle::deg(12).rad());
    for (Vec3& p : box.vertices)
        if (p.x > 0) p.x += slant * p.y;
    const Plug plug = extended(box, {{"end-b", piece(40)}});
    check_sound(plug);
    const Extension& e = plug.extensions.front();
    CHECK(Angle::rad(angle_between(e.joint.z, {1, 0, 0})).deg() == Approx(12));
    const double wide = 100 / std::cos(Angle::deg(12).rad()) - 2 * step;
    CHECK(e.volume_mm3 == Approx(40 * wide * (50 - 2 * step)));  // Cavalieri: planes 40 apart
    // Straight means along the span.
    CHECK(box_of(e.outer).center().x - box_of(e.inner).center().x == Approx(40 * slant).margin(1e-6));
    CHECK(bounding_box(*plug.mesh).high.y == Approx(50));
}

TEST_CASE("leaning ends of a foil are carried on from their ridge", "[stages][extension]") {
    const demo::Blade blade;
    demo::ScanOptions scan;
    scan.triangles = 60000;
    for (const double noise : {0.0, 0.05}) {
        CAPTURE(noise);
        scan.noise_mm = noise;
        const Plug plug =
            extended(demo::make_scan(blade, scan), {{"end-a", piece(40, "sloped", 5)}, {"end-b", piece(30, "", 5)}});
        check_sound(plug);
        REQUIRE(plug.extensions.size() == 2);
        for (const Extension& e : plug.extensions) {
            CAPTURE(e.edge);
            const double v = e.edge == "end-a" ? 0 : 1;
            CHECK(std::abs(e.joint.origin.x - v * blade.span_mm) < 0.1 + 2 * noise);
            CHECK(e.lean_rad == Approx(Angle::deg(5).rad()));
            // The closed form of the section's area, within a tenth of a millimetre and some noise round it.
            const double around = polyline_length(e.end, true);
            CHECK(std::abs(signed_area(e.end) - demo::section_area_mm2(blade, v)) < around * (0.05 + noise / 2));
            CHECK(e.gap_mm < 3);
        }
        // Root: chord 140 with 80 mm of taper over the span.
        const Extension& root = plug.extensions.front();
        const demo::FoilStation beyond = demo::station(blade, -40 / blade.span_mm);
        CHECK(signed_area(root.outer) ==
              Approx(beyond.chord_mm * beyond.chord_mm *
                         demo::section_area(blade.section,
                                            demo::tail_cut(blade.section, blade.tail_mm / beyond.chord_mm)) -
                     step * polyline_length(root.outer, true))
                  .epsilon(0.02 + noise / 4));
    }
}

TEST_CASE("a turned scan gets the same piece", "[stages][extension]") {
    const TriMesh mesh = lying(make_pyramid(100, 60, 200));
    const auto piece_of = [](const TriMesh& scan, const std::string& up, const std::string& span) {
        PoseOptions options;
        options.up = up;
        options.span = span;
        const PosedPlug posed = pose_plug(plug_of(scan), options, 70);
        Settings settings;
        settings.edges["end-b"] = piece(30, "sloped", 4);
        return extend_plug(posed.plug, posed.pose, settings).extensions.front();
    };
    Frame3 turn = compose(rotation_about({1, 2, 3}, 0.7), rotation_about({0, 1, 1}, -1.1));
    turn.origin = {300, -200, 50};
    const auto text = [](Vec3 d) {
        return std::to_string(d.x) + "," + std::to_string(d.y) + "," + std::to_string(d.z);
    };
    const Extension a = piece_of(mesh, "z", "x"),
                    b = piece_of(shuffled(placed(mesh, turn), 3), text(turn.z), text(turn.x));
    CHECK(b.volume_mm3 == Approx(a.volume_mm3).epsilon(1e-5));
    CHECK(box_of(b.outer).size().x == Approx(box_of(a.outer).size().x).epsilon(1e-5));
    CHECK(norm(b.joint.origin - turn.to_parent(a.joint.origin)) < 1e-3);
    CHECK(b.gap_mm == Approx(a.gap_mm).margin(1e-3));
}

TEST_CASE("ends that take no piece are refused with what to do", "[stages][extension]") {
    using Catch::Matchers::Contains;
    CHECK_THAT(complaint(make_box({200, 100, 50}), {{"front", piece(30)}}),
               Contains("edge.front.extension") && Contains("edge.end-a or edge.end-b"));
    for (const TriMesh& round : {make_ellipsoid({150, 60, 30}, 5), make_sphere(50, 5), make_torus(100, 30, 90, 60)})
        CHECK_THAT(complaint(round, {{"end-b", piece(30)}}),
                   Contains("edge.end-b.extension") && Contains("no flat end") && Contains("cut the plug's end flat"));
    // 40 - 0.1 x 400 = 0.
    const TriMesh cone = lying(make_cone(60, 40, 200, 96));
    CHECK_THAT(complaint(cone, {{"end-b", piece(399, "sloped")}}),
               Contains("close in") && Contains("at most 31") && Contains("extension-slope"));
    CHECK(complaint(cone, {{"end-b", piece(310, "sloped")}}) == "accepted");
    CHECK(complaint(cone, {{"end-b", piece(399)}}) == "accepted");
    EdgeOptions deep = piece(30);
    deep.trim_step = Length::mm(5);
    CHECK_THAT(complaint(make_box({200, 100, 9}), {{"end-b", deep}}),
               Contains("edge.end-b.trim-step") && Contains("smaller step"));
    CHECK_THAT(complaint(make_box({200, 100, 90}), {{"end-b", piece(10, "", 20)}}),
               Contains("edge.end-b.extension-lean") && Contains("smaller lean"));
}

TEST_CASE("the frame of the plug is that of the scan", "[stages][extension]") {
    const TriMesh mesh = make_elliptic_cylinder(60, 20, 300, 120, 60);
    const PosedPlug bare = posed_plug(mesh);
    const Plug plug = extended(mesh, {{"end-b", piece(40)}});
    PoseOptions options;
    options.up = "z";
    options.span = "x";
    const PosedPlug posed = pose_plug(plug, options, 70);
    CHECK(posed.pose.plug_in_scan.origin == bare.pose.plug_in_scan.origin);
    CHECK(posed.box_fixture.size().x == Approx(340));
    CHECK(scanned_size(posed).x == Approx(300));
    CHECK(plug.mass_properties.centroid.x > bare.plug.mass_properties.centroid.x + 10);
}

TEST_CASE("the parting line runs straight over a straight piece", "[stages][extension]") {
    const TriMesh mesh = make_elliptic_cylinder(60, 20, 300, 240, 200);
    PartedPlug p;
    p.posed = posed_plug(mesh);
    const Plug plug = extended(mesh, {{"end-b", piece(40, "", 5)}});
    PoseOptions options;
    options.up = "z";
    options.span = "x";
    p.posed = pose_plug(plug, options, 70);
    p.map = map_release(p.posed);
    p.parting = find_parting(p.posed, p.map);
    p.release = measure_release(p.posed, p.map, p.parting, {});
    REQUIRE(p.parting.loops.size() == 1);
    double furthest = 0;
    std::size_t on_piece = 0;
    for (const Vec3& at : p.parting.loops.front().panel_line) {
        const Vec3 q = p.posed.pose.to_scan(at);
        furthest = std::max(furthest, q.x);
        CHECK(std::abs(q.z) < 0.1);
        if (q.x < 150 + 3 || q.x > 190 - 5) continue;
        ++on_piece;
        CHECK(std::abs(q.y) == Approx(60 - step).margin(step / 2));  // the line's smoothing takes the step gently
    }
    CHECK(on_piece > 20);
    CHECK(furthest == Approx(190).margin(0.5));
    // The step is square to the pull's plane: it is no undercut.
    CHECK(p.release.half1.undercut_depth_mm < 0.01);
    CHECK(p.release.half2.undercut_depth_mm < 0.01);
}

TEST_CASE("panels and saddles run on over an extension", "[stages][extension]") {
    const double half_wide = 60, half_high = 20, length = 300, more = 80;
    const TriMesh mesh = make_elliptic_cylinder(half_wide, half_high, length, 240, 200);
    Settings settings;
    settings.cradle.ribs = 5;
    PoseOptions pose;
    pose.up = "z";
    pose.span = "x";
    PartedPlug p;
    p.posed = pose_plug(extended(mesh, {{"end-b", piece(more)}}), pose, 70);
    p.map = map_release(p.posed);
    p.parting = find_parting(p.posed, p.map);
    const double joint = p.posed.pose.to_fixture(Vec3{length / 2, 0, 0}).x, end = joint + more;
    const Flange flange = lay_flange(p.posed, p.parting, settings);
    for (const char* edge : {"front", "back"}) {
        const auto panel = std::ranges::find(flange.panels, edge, &FlangePanel::edge);
        REQUIRE(panel != flange.panels.end());
        CHECK(std::ranges::count(flange.panels, edge, &FlangePanel::edge) == 1);
        Box2 box;
        for (const Vec2 q : flatten(panel->part.outline.outer, 0.05)) {
            const Vec3 at = placed(panel->part, q);
            box.add({at.x, at.y});
        }
        CHECK(box.high.x > end);
        CHECK(box.low.x < joint - length);
    }
    const Cradle cradle = build_cradle(p.posed, p.parting, flange, settings);
    const auto on_piece = std::ranges::find_if(cradle.ribs, [&](const Rib& rib) {
        return rib.station_mm > joint + 10 && rib.station_mm < end && !rib.saddle.empty();
    });
    REQUIRE(on_piece != cradle.ribs.end());
    // Its saddle keeps the pad from the piece's own surface, the trim step inside the plug's.
    const double middle_y = p.posed.box_fixture.center().y, middle_z = p.posed.box_fixture.center().z;
    for (const Vec2 q : on_piece->saddle) {
        double nearest = half_wide;
        for (int k = 0; k < 3600; ++k) {
            const double t = 2 * pi * k / 3600;
            nearest = std::min(nearest,
                               norm(q - Vec2{middle_y + half_wide * std::cos(t), middle_z + half_high * std::sin(t)}));
        }
        CHECK(nearest == Approx(settings.cradle.pad.mm() - step).margin(0.1));
    }
}
