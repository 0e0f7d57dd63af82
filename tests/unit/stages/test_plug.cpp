// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "cradlewright/base/error.hpp"
#include "cradlewright/stages/plug.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;
using Catch::Matchers::Contains;

namespace {

ScanMesh scan_of(TriMesh mesh, double unit = 1) {
    ScanMesh scan;
    scan.soup = std::move(mesh);
    scan.name = "daggerboard";
    scan.unit_factor = unit;
    scan.unit_from = "told";
    scan.note = "read from a test";
    return scan;
}

TriMesh without_bottom(const TriMesh& box, double z) {
    TriMesh out;
    out.vertices = box.vertices;
    for (FaceId f = 0; f < box.face_count(); ++f) {
        const auto c = box.corners(f);
        if (c[0].z > z || c[1].z > z || c[2].z > z) out.triangles.push_back(box.triangles[f]);
    }
    return out;
}

}  // namespace

TEST_CASE("a closed plug has its volume's mass", "[stages][plug]") {
    PlugOptions options;
    options.density = Density::kg_m3(250);
    const Plug plug = mend_plug(scan_of(make_box({800, 200, 40})), options);
    CHECK(plug.name == "daggerboard");
    CHECK(plug.note == "read from a test");
    CHECK(plug.is_closed);
    CHECK_FALSE(plug.has_assumed_cap);
    CHECK(plug.mass_properties.volume_mm3 == Approx(800.0 * 200 * 40));
    CHECK(plug.mass_kg == Approx(0.8 * 0.2 * 0.04 * 250));  // m3 times kg/m3
    CHECK(plug.mesh->face_count() == 12);
    REQUIRE(plug.adjacency->size() == 36);
    CHECK(std::count(plug.adjacency->begin(), plug.adjacency->end(), no_id) == 0);
}

TEST_CASE("an inside-out plug has the same mass", "[stages][plug]") {
    TriMesh box = make_box({800, 200, 40});
    for (Triangle& t : box.triangles) std::swap(t[0], t[1]);
    const Plug plug = mend_plug(scan_of(box), {});
    CHECK(plug.repair.was_inside_out);
    CHECK(plug.mass_properties.volume_mm3 == Approx(800.0 * 200 * 40));
}

TEST_CASE("an open underside is capped and said", "[stages][plug]") {
    const Plug plug = mend_plug(scan_of(without_bottom(make_box({800, 200, 40}), -20)), {});
    CHECK_FALSE(plug.is_closed);
    CHECK(plug.has_assumed_cap);
    REQUIRE(plug.mesh->openings.size() == 1);
    CHECK(plug.mesh->openings[0].perimeter_mm == Approx(2000));
    CHECK(plug.mesh->openings[0].normal.z == Approx(-1));
    CHECK(plug.mass_properties.volume_mm3 == Approx(800.0 * 200 * 40));
    CHECK(plug.mass_kg == Approx(0.8 * 0.2 * 0.04 * 120));  // default density of PlugOptions
    CHECK(std::count(plug.mesh->face_origin.begin(), plug.mesh->face_origin.end(), FaceOrigin::assumed) == 2);
}

TEST_CASE("options reach the repair", "[stages][plug]") {
    TriMesh cracked = make_box({800, 200, 40});
    cracked.vertices.push_back(cracked.vertices[cracked.triangles[0][0]] + Vec3{0.01, 0, 0});
    cracked.triangles[0][0] = 8;
    PlugOptions options;
    options.weld = Length::mm(0.05);
    CHECK(mend_plug(scan_of(cracked), options).mesh->face_count() == 12);
    options = {};
    options.hole_perimeter = Length::mm(3000);
    // A limit above twice the root of the area is no limit: what is left is a rim.
    const Plug plug = mend_plug(scan_of(without_bottom(make_box({800, 200, 600}), -300)), options);
    CHECK(plug.repair.holes_closed == 1);
    CHECK(plug.is_closed);
}

TEST_CASE("sizes that smell of a wrong unit are refused", "[stages][plug]") {
    CHECK_NOTHROW(mend_plug(scan_of(make_box({49999, 10, 10})), {}));
    CHECK_NOTHROW(mend_plug(scan_of(make_box({5.001, 1, 1})), {}));
    const auto message = [](ScanMesh scan) {
        try {
            mend_plug(std::move(scan), {});
        } catch (const Error& e) {
            CHECK(e.code() == ErrorCode::bad_input);
            return std::string(e.what());
        }
        return std::string("no error");
    };
    CHECK_THAT(message(scan_of(make_box({4.9, 1, 1}))),
               Contains("smaller than 5 mm") && Contains("--unit in makes it 124 x 25.4"));
    // 812 file units, told as metres.
    CHECK_THAT(message(scan_of(make_box({812000, 20000, 20000}), 1000)),
               Contains("longer than 50 m") && Contains("--unit mm makes it 812 x 20.0 x 20.0 mm") && Contains("told"));
}
