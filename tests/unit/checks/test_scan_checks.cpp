// SPDX-License-Identifier: GPL-3.0-or-later
// The scan held against a caliper, and the surface beside the parting line. Sizes are those of the shapes.
#include <catch2/catch.hpp>
#include <memory>

#include "checks/families.hpp"
#include "support/plugs.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using Catch::Matchers::Contains;

namespace {

Design ellipsoid_design() {
    const test::PartedPlug p = test::parted_plug(test::make_ellipsoid({120, 40, 20}, 5));
    Design d;
    d.posed = p.posed;
    d.parting = p.parting;
    d.release = p.release;
    return d;
}

/// A thin wedge of two faces pushed through the surface at a point of the scan.
void push_through(Design& d, Vec3 at) {
    TriMesh mesh = d.posed.mesh();
    const auto first = static_cast<VertexId>(mesh.vertices.size());
    for (const Vec3 by : {Vec3{0, -3, 0.2}, Vec3{0, 3, 0.3}, Vec3{0.4, 0, 3}, Vec3{0.4, 0.1, -3}})
        mesh.vertices.push_back(at + by);
    mesh.triangles.push_back({first, first + 1, first + 2});
    mesh.triangles.push_back({first + 1, first, first + 3});
    if (!mesh.face_origin.empty()) mesh.face_origin.resize(mesh.face_count(), FaceOrigin::scanned);
    d.posed.plug.mesh = std::make_shared<const TriMesh>(std::move(mesh));
}

Check caliper_check(Design& d, CaliperCheck caliper) {
    d.settings.calipers = {std::move(caliper)};
    const std::vector<Check> checks = check_scan_caliper(d);
    REQUIRE(checks.size() == 1);
    return checks.front();
}

}  // namespace

TEST_CASE("a surface that crosses itself beside the parting line fails", "[checks][scan]") {
    const Design sound = ellipsoid_design();
    REQUIRE(check_scan_quality(sound).size() == 1);

    Design crossed = sound;
    const Vec3 nose = crossed.posed.pose.plug_in_scan.to_parent({0, 40, 0});
    push_through(crossed, nose);
    const std::vector<Check> checks = check_scan_quality(crossed);
    REQUIRE(checks.size() == 2);
    const Check& c = checks[1];
    CHECK(c.subject == "surface at the parting line");
    CHECK(c.verdict == Verdict::fail);
    CHECK(c.value.value == 1);
    REQUIRE(c.at);
    CHECK(norm(*c.at - crossed.posed.pose.to_fixture(nose)) < 6);
    CHECK_THAT(c.advice, Contains("1 place"));

    // Far from the line it is survey's business.
    Design elsewhere = sound;
    push_through(elsewhere, elsewhere.posed.pose.plug_in_scan.to_parent({0, 0, 20}));
    CHECK(check_scan_quality(elsewhere).size() == 1);
}

TEST_CASE("calipers along an axis and between two points", "[checks][scan]") {
    Design d = ellipsoid_design();
    // Limit: the larger of 0.5 mm and 0.3 % of the measured length.
    const auto along = [&](const char* axis, double measured) {
        return caliper_check(d, {.name = "size", .axis = axis, .from = {}, .to = {}, .measured = Length::mm(measured)});
    };
    CHECK(along("span", 240).value.value == Approx(0).margin(1e-6));
    CHECK(along("span", 240.7).verdict == Verdict::pass);
    CHECK(along("span", 240.9).verdict == Verdict::fail);
    CHECK(along("front", 80.4).verdict == Verdict::pass);
    CHECK(along("front", 80.6).verdict == Verdict::fail);
    CHECK(along("up", 24).verdict == Verdict::fail);
    CHECK_THAT(along("up", 24).advice, Contains("40.0 mm where the caliper reads 24.0 mm"));
    // Jaws stand a little off the surface: the nearest points count.
    const Check across = caliper_check(
        d, {.name = "across", .axis = {}, .from = Vec3{0, -41, 0}, .to = Vec3{0, 41, 0}, .measured = Length::mm(80)});
    CHECK(across.value.value == Approx(0).margin(0.02));
    CHECK(across.verdict == Verdict::pass);
    d.settings.calipers.clear();
    CHECK(check_scan_caliper(d).front().verdict == Verdict::not_applicable);
}
