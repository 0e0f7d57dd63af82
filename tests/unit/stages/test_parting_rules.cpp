// SPDX-License-Identifier: GPL-3.0-or-later
// What the builder tells about an edge: split, overrun, a line of their own, an edge between two points.
#include <algorithm>
#include <catch2/catch.hpp>
#include <numbers>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "support/plugs.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;

namespace {

constexpr double pi = std::numbers::pi;

const PartingEdge& edge_of(const PartedPlug& p, const std::string& id) {
    for (const PartingLoop& loop : p.parting.loops)
        for (const PartingEdge& edge : loop.edges)
            if (edge.id == id) return edge;
    FAIL("no edge " << id << ": " << p.parting.reason);
    return p.parting.loops.front().edges.front();
}

/// Points of an edge of the outer loop in mesh coordinates, without those within `leave_mm` of its ends.
std::vector<Vec3> points_of(const PartedPlug& p, const std::string& id, double leave_mm) {
    const PartingEdge& edge = edge_of(p, id);
    const PartingLoop& loop = p.parting.loops.front();
    const std::size_t n = loop.panel_line.size(), count = (edge.last + n - edge.first) % n;
    const double step = loop.length_mm / static_cast<double>(n);
    const auto leave = static_cast<std::size_t>(std::ceil(leave_mm / step));
    std::vector<Vec3> points;
    for (std::size_t i = leave; i + leave <= count; ++i)
        points.push_back(p.posed.pose.to_scan(loop.panel_line[(edge.first + i) % n]));
    REQUIRE(points.size() > 20);
    return points;
}

std::map<std::string, EdgeOptions> told(const std::string& edge, const EdgeOptions& options) {
    return {{edge, options}};
}
EdgeOptions split_at(double share) {
    EdgeOptions options;
    options.split = share;
    return options;
}
EdgeOptions overrun_by(double arc_mm) {
    EdgeOptions options;
    options.overrun = Length::mm(arc_mm);
    return options;
}

/// Faces of half 1 among those whose centroid is beyond the end region and on the tail's strip, above `z` or below it.
std::size_t wrong_faces_on_strip(const PartedPlug& p, const CutOffPlate& plate, double z) {
    std::size_t wrong = 0;
    const double slack = plate.strip / plate.strip_rows;
    for (FaceId f = 0; f < p.parting.half.size(); ++f) {
        const auto c = p.posed.mesh().corners(f);
        const Vec3 m = (c[0] + c[1] + c[2]) / 3;
        if (m.y > -plate.chord / 2 + 0.3 || std::abs(m.x) > plate.length / 2 - 20) continue;
        if (std::abs(m.z - z) < slack) continue;
        wrong += p.parting.half[f] != (m.z > z ? 1 : 2);
    }
    return wrong;
}

}  // namespace

TEST_CASE("a cut-off edge is split where told", "[stages][slow][parting][rules]") {
    const auto strip = GENERATE(1.0, 3.0);
    const auto share = GENERATE(0.25, 0.5, 0.8);
    const auto seed = GENERATE(1u, 2u, 3u);
    const double sigma = strip / 100;
    CutOffPlate plate;
    plate.strip = strip;
    plate.strip_rows = strip < 2 ? 4 : 8;
    const PartedPlug p =
        parted_plug(with_noise(make_cut_off_plate(plate), sigma, seed), {}, "vertical", told("back", split_at(share)));
    INFO(p.parting.reason);
    REQUIRE(p.parting.loops.size() == 1);
    CHECK(edge_of(p, "back").rule == EdgeRule::split);
    const double wanted = strip / 2 - share * strip;
    double most = 0, in_plan = 0;
    for (const Vec3& q : points_of(p, "back", 16)) {
        most = std::max(most, std::abs(q.z - wanted));
        in_plan = std::max(in_plan, std::abs(q.y + plate.chord / 2));
    }
    CAPTURE(strip, share, sigma, p.posed.plug.noise_mm, most, in_plan);
    CHECK(most < 3 * sigma + Tolerances{}.arc_fit_mm);
    CHECK(in_plan < 3 * sigma + Tolerances{}.arc_fit_mm);
    CHECK(wrong_faces_on_strip(p, plate, wanted) == 0);
}

TEST_CASE("a strip that leans goes whole to the half it drafts for", "[stages][parting][rules]") {
    const auto lean_deg = GENERATE(4.0, -4.0);
    const auto seed = GENERATE(1u, 2u);
    CutOffPlate plate;
    plate.lean_rad = lean_deg * pi / 180;
    const PartedPlug p =
        parted_plug(with_noise(make_cut_off_plate(plate), 0.02, seed), {}, "vertical", told("back", split_at(0.5)));
    INFO(p.parting.reason);
    const double wanted = lean_deg > 0 ? -plate.strip / 2 : plate.strip / 2;
    double most = 0;
    for (const Vec3& q : points_of(p, "back", 16)) most = std::max(most, std::abs(q.z - wanted));
    CAPTURE(most);
    CHECK(most < 0.06 + Tolerances{}.arc_fit_mm);
    const std::string half = lean_deg > 0 ? "whole to half 1" : "whole to half 2";
    CHECK(edge_of(p, "back").finding.find(half) != std::string::npos);
    CHECK(p.parting.reason.find(half) != std::string::npos);
}

// A nick takes the upper corner of a square strip back by 4 mm over a twelfth of the edge: its sections lean by up to
// 53 deg, the rest by noise alone. The strip stays square, so it is split.
TEST_CASE("a nicked strip is judged by the rest of its edge", "[stages][parting][rules]") {
    const auto sigma = GENERATE(0.0, 0.02);
    const auto seed = GENERATE(1u, 2u);
    CutOffPlate plate;
    TriMesh mesh = make_cut_off_plate(plate);
    for (Vec3& p : mesh.vertices)
        if (p.y < -plate.chord / 2 + 1 && p.z > 0 && std::abs(p.x - 40) < plate.length / 24)
            p.y += 4 * p.z / (plate.strip / 2);
    const PartedPlug p =
        parted_plug(with_noise(std::move(mesh), sigma, seed), {}, "vertical", told("back", split_at(0.5)));
    INFO(p.parting.reason);
    CAPTURE(edge_of(p, "back").finding);
    CHECK(edge_of(p, "back").finding.find("split at 1.5") != std::string::npos);
    CHECK(edge_of(p, "back").finding.find("leans") == std::string::npos);
}

// Half the strip's sections lean by 4 deg; what is told is that, not the 50 deg of the nick.
TEST_CASE("a nick is not told as the lean of a strip", "[stages][parting][rules]") {
    CutOffPlate plate;
    plate.lean_rad = 4 * pi / 180;
    TriMesh mesh = make_cut_off_plate(plate);
    for (Vec3& p : mesh.vertices)
        if (p.y < -plate.chord / 2 + 1 && p.z > 0 && std::abs(p.x - 40) < plate.length / 24)
            p.y += 4 * p.z / (plate.strip / 2);
    const PartedPlug p = parted_plug(with_noise(std::move(mesh), 0.02, 1), {}, "vertical", told("back", split_at(0.5)));
    const std::string& finding = edge_of(p, "back").finding;
    CAPTURE(finding);
    const std::size_t at = finding.find("leans up to ");
    REQUIRE(at != std::string::npos);
    CHECK(std::stod(finding.substr(at + 12)) == Approx(4).margin(1));
    CHECK(finding.find("whole to half 1") != std::string::npos);
}

TEST_CASE("a strip that the scan does not show is not resolvable", "[stages][parting][rules]") {
    SECTION("two triangles across") {
        CutOffPlate plate;
        plate.strip = 1;
        plate.strip_rows = 1;
        const PartedPlug p = parted_plug(make_cut_off_plate(plate), {}, "vertical", told("back", split_at(0.5)));
        INFO(p.parting.reason);
        CHECK(edge_of(p, "back").finding.starts_with("not resolvable"));
        CHECK(edge_of(p, "back").rule == EdgeRule::silhouette);
    }
    SECTION("narrower than the noise allows") {
        CutOffPlate plate;
        plate.strip = 0.6;
        plate.strip_rows = 4;
        const PartedPlug p =
            parted_plug(with_noise(make_cut_off_plate(plate), 0.12, 1), {}, "vertical", told("back", split_at(0.5)));
        INFO(p.parting.reason);
        CHECK(edge_of(p, "back").finding.starts_with("not resolvable"));
    }
    SECTION("a round nose is no strip") {
        CutOffPlate plate;
        const PartedPlug p = parted_plug(make_cut_off_plate(plate), {}, "vertical", told("front", split_at(0.5)));
        INFO(p.parting.reason);
        CHECK(edge_of(p, "front").finding.starts_with("not resolvable"));
        CHECK(p.parting.reason.find("front: not resolvable") != std::string::npos);
    }
}

TEST_CASE("an overrun is an arc over the surface", "[stages][parting][rules]") {
    // The plate's nose is round, radius thickness / 2: an arc s from the level place lies at the angle s / r.
    const auto arc = GENERATE(3.0, -5.0);
    const auto seed = GENERATE(1u, 2u, 3u);
    const double sigma = 0.03;
    CutOffPlate plate;
    const PartedPlug p =
        parted_plug(with_noise(make_cut_off_plate(plate), sigma, seed), {}, "vertical", told("front", overrun_by(arc)));
    CHECK(edge_of(p, "front").rule == EdgeRule::overrun);
    const double r = plate.thickness / 2, nose = plate.chord / 2 - r;
    // The silhouette itself may be off by sqrt(2 R sigma) + an edge (contract 2.4), and the arc begins there.
    const double allowed = std::sqrt(2 * r * sigma) + p.map.mean_edge_mm;
    double most_arc = 0, most_off = 0, mean = 0;
    const auto points = points_of(p, "front", 16);
    for (const Vec3& q : points) {
        const double found = -std::atan2(q.z, q.y - nose) * r;
        mean += found / static_cast<double>(points.size());
        most_arc = std::max(most_arc, std::abs(found - arc));
        most_off = std::max(most_off, std::abs(std::hypot(q.z, q.y - nose) - r));
    }
    CAPTURE(arc, most_arc, most_off, mean);
    CHECK(most_arc < allowed);
    CHECK(mean == Approx(arc).margin(0.25 * allowed));
    CHECK(most_off < 3 * sigma + Tolerances{}.arc_fit_mm);
    // The half's border goes with the line: half 1 gets, or loses, the strip between.
    for (FaceId f = 0; f < p.parting.half.size(); ++f) {
        const auto c = p.posed.mesh().corners(f);
        const Vec3 m = (c[0] + c[1] + c[2]) / 3;
        if (m.y < nose || std::abs(m.x) > plate.length / 2 - 20) continue;
        const double at = -std::atan2(m.z, m.y - nose) * r;
        if (std::abs(at - arc) > allowed + p.map.mean_edge_mm && std::abs(at) < 10)
            CHECK(p.parting.half[f] == (at < arc ? 1 : 2));
    }
}

TEST_CASE("an overrun changes no half beside its edge", "[stages][parting][rules]") {
    const auto arc = GENERATE(2.0, -2.0);
    const auto sigma = GENERATE(0.0, 0.03);
    CutOffPlate plate;
    const TriMesh mesh = with_noise(make_cut_off_plate(plate), sigma, 1);
    const PartedPlug before = parted_plug(mesh);
    const PartedPlug p = parted_plug(mesh, {}, "vertical", told("front", overrun_by(arc)));
    const double r = plate.thickness / 2, nose = plate.chord / 2 - r, edge = p.map.mean_edge_mm;
    std::size_t changed = 0;
    for (FaceId f = 0; f < p.parting.half.size(); ++f) {
        if (p.parting.half[f] == before.parting.half[f]) continue;
        ++changed;
        const auto c = p.posed.mesh().corners(f);
        const Vec3 m = (c[0] + c[1] + c[2]) / 3;
        const double at = -std::atan2(m.z, m.y - nose) * r;
        CAPTURE(m.x, m.y, m.z, at);
        CHECK(m.y > nose);
        CHECK(std::abs(m.x) < plate.length / 2 - 1e-6);
        CHECK(at > std::min(0.0, arc) - std::sqrt(2 * r * sigma) - edge);
        CHECK(at < std::max(0.0, arc) + std::sqrt(2 * r * sigma) + edge);
    }
    CHECK(changed > 100);
}

TEST_CASE("all edges overrun alike run on through the corners", "[stages][parting][rules]") {
    const double radius = 80, arc = 4;
    const PartedPlug p = parted_plug(make_sphere(radius, 6), {}, "vertical", told("rim", overrun_by(arc)));
    REQUIRE(p.parting.loops.size() == 1);
    for (const Vec3& q : p.parting.loops[0].panel_line) {
        const Vec3 s = p.posed.pose.to_scan(q);
        CHECK(-std::asin(s.z / norm(s)) * radius == Approx(arc).margin(p.map.mean_edge_mm));
    }
}

TEST_CASE("a told line replaces the found one", "[stages][parting][rules]") {
    CutOffPlate plate;
    const double r = plate.thickness / 2, nose = plate.chord / 2 - r, deep = 4;
    // On the round nose at the height -deep, told by points 1 mm off the surface.
    const double y = nose + std::sqrt(r * r - deep * deep) + 1;
    EdgeOptions options;
    // The plug frame's origin is the middle of the span on the centroid's line: taken from a first run.
    const Vec3 origin = parted_plug(make_cut_off_plate(plate)).posed.pose.plug_in_scan.origin;
    for (const double x : {-150.0, 0.0, 150.0})
        options.polyline.push_back(Vec3{std::clamp(x, -119.0, 119.0), y, -deep} - origin);
    const PartedPlug p = parted_plug(make_cut_off_plate(plate), {}, "vertical", told("front", options));
    INFO(p.parting.reason);
    CHECK(edge_of(p, "front").rule == EdgeRule::polyline);
    CHECK(edge_of(p, "front").finding.find("as told") != std::string::npos);
    for (const Vec3& q : points_of(p, "front", 16)) {
        // Snapped square to the surface, so between the told height and what a millimetre outside it makes of it.
        CHECK(q.z == Approx(-deep).margin(0.6));
        CHECK(std::hypot(q.z, q.y - nose) == Approx(r).margin(0.1));
    }
    SECTION("points off the plug are an error that names the setting") {
        options.polyline[1].y += 60;
        CHECK_THROWS_WITH(parted_plug(make_cut_off_plate(plate), {}, "vertical", told("front", options)),
                          Catch::Contains("edge.front.polyline") && Catch::Contains("point 2"));
    }
    SECTION("rim means all round") {
        EdgeOptions round;
        for (int i = 0; i < 120; ++i) {
            const double a = 2 * pi * i / 120;
            round.polyline.push_back({80 * std::cos(10 * pi / 180) * std::cos(a),
                                      80 * std::cos(10 * pi / 180) * std::sin(a), 80 * std::sin(10 * pi / 180)});
        }
        const PartedPlug s = parted_plug(make_sphere(80, 5), {}, "vertical", told("rim", round));
        for (const Vec3& q : s.parting.loops[0].panel_line)
            CHECK(s.posed.pose.to_scan(q).z == Approx(80 * std::sin(10 * pi / 180)).margin(0.3));
    }
}

TEST_CASE("an edge between two told points", "[stages][parting][rules]") {
    CutOffPlate plate;
    EdgeOptions options = overrun_by(3);
    options.from = Vec3{-40, plate.chord / 2, 0};
    options.to = Vec3{50, plate.chord / 2, 0};
    const PartedPlug p = parted_plug(make_cut_off_plate(plate), {}, "vertical", told("handle", options));
    std::vector<std::string> names;
    for (const PartingEdge& e : p.parting.loops[0].edges) names.push_back(e.id);
    CHECK(std::count(names.begin(), names.end(), "handle") == 1);
    CHECK(std::count(names.begin(), names.end(), "front") == 1);
    CHECK(std::count(names.begin(), names.end(), "front-2") == 1);
    const auto& edges = p.parting.loops[0].edges;
    for (std::size_t e = 0; e < edges.size(); ++e) CHECK(edges[e].last == edges[(e + 1) % edges.size()].first);
    const double r = plate.thickness / 2;
    for (const Vec3& q : points_of(p, "handle", 16)) {
        CHECK(q.x > -40);
        CHECK(q.x < 50);
        CHECK(-q.z == Approx(r * std::sin(3 / r)).margin(p.map.mean_edge_mm));
    }
    for (const std::string id : {"front", "front-2"})
        for (const Vec3& q : points_of(p, id, 4)) CHECK(std::abs(q.z) < p.map.mean_edge_mm);
}

TEST_CASE("settings for an edge that does not exist are said", "[stages][parting][rules]") {
    const PartedPlug p = parted_plug(make_sphere(60, 4), {}, "vertical", told("front", overrun_by(2)));
    CHECK(p.parting.reason.find("edge.front is told but there is no such edge; edges are rim") != std::string::npos);
}

TEST_CASE("rules that contradict each other name the setting", "[catalog][rules]") {
    Settings settings;
    set_setting(settings, "edge.back.split", "0.4", Origin::job, "here");
    set_setting(settings, "edge.back.overrun", "2mm", Origin::job, "here");
    CHECK_THROWS_WITH(check_settings(settings),
                      Catch::Contains("edge.back.overrun") && Catch::Contains("edge.back.split"));
    Settings points;
    set_setting(points, "edge.front.polyline", "0mm, 40mm, 1mm, 10mm, 41mm, 1mm", Origin::job, "here");
    CHECK(points.edges.at("front").polyline == std::vector<Vec3>{{0, 40, 1}, {10, 41, 1}});
    CHECK(get_setting(points, "edge.front.polyline").find("41 mm") != std::string::npos);
    CHECK_THROWS_AS(set_setting(points, "edge.front.polyline", "0mm, 40mm", Origin::job, "here"), Error);
    CHECK_THROWS_AS(set_setting(points, "edge.front.from", "0mm, 1mm, 2mm, 3mm, 4mm, 5mm", Origin::job, "here"), Error);
    set_setting(points, "edge.tip.from", "0mm, 40mm, 1mm", Origin::job, "here");
    CHECK_THROWS_WITH(check_settings(points), Catch::Contains("edge.tip.to"));
}
