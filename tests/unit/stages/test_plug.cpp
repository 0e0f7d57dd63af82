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

TEST_CASE("an open underside is kept, and its volume unknown, unless told", "[stages][plug]") {
    const TriMesh open = without_bottom(make_box({800, 200, 40}), -20);
    const Plug plug = mend_plug(scan_of(open), {});
    CHECK_FALSE(plug.is_closed);
    CHECK(plug.has_assumed_cap);
    CHECK_FALSE(plug.has_volume());
    CHECK(std::isnan(plug.mass_kg));
    REQUIRE(plug.mesh->openings.size() == 1);
    CHECK(plug.mesh->openings[0].perimeter_mm == Approx(2000));
    CHECK(plug.mesh->openings[0].normal.z == Approx(-1));
    CHECK(std::count(plug.mesh->face_origin.begin(), plug.mesh->face_origin.end(), FaceOrigin::assumed) == 2);
    const TriMesh kept = kept_surface(plug);
    CHECK(kept.face_count() == 10);
    CHECK(kept.vertices.size() == 8);

    PlugOptions options;
    options.opening = PlugOpening::cap;
    const Plug capped = mend_plug(scan_of(open), options);
    CHECK(capped.has_volume());
    CHECK_FALSE(capped.is_closed);
    CHECK(capped.mass_properties.volume_mm3 == Approx(800.0 * 200 * 40));
    CHECK(capped.mass_kg == Approx(0.8 * 0.2 * 0.04 * 120));  // default density of PlugOptions
    CHECK(kept_surface(capped).face_count() == 12);
}

TEST_CASE("a half is mirrored in its opening", "[stages][plug]") {
    PlugOptions options;
    options.opening = PlugOpening::mirror;
    const Plug plug = mend_plug(scan_of(without_bottom(make_box({800, 200, 40}), -20)), options);
    CHECK(plug.is_closed);
    CHECK(plug.completion.how == PlugOpening::mirror);
    CHECK(plug.completion.mirror_move_mm == Approx(0).margin(1e-9));
    CHECK(plug.mass_properties.volume_mm3 == Approx(800.0 * 200 * 80));
    // A closed scan has no plane to mirror it in.
    CHECK_THROWS_WITH(mend_plug(scan_of(make_box({800, 200, 40})), options), Contains("no opening"));
}

namespace {

/// Above, or below, a level of an ellipsoid; noise of its own.
TriMesh ellipsoid_part(double level, bool upper, std::uint32_t seed) {
    TriMesh mesh = with_noise(make_ellipsoid({200, 70, 40}, 6), 0.03, seed);
    std::erase_if(mesh.triangles, [&](const Triangle& t) {
        const double z = (mesh.vertices[t[0]].z + mesh.vertices[t[1]].z + mesh.vertices[t[2]].z) / 3;
        return upper ? z < level : z > level;
    });
    return mesh;
}

std::string text_of(Vec3 p) { return std::to_string(p.x) + "," + std::to_string(p.y) + "," + std::to_string(p.z); }

}  // namespace

TEST_CASE("two scans are joined, in one frame or by points that both show", "[stages][plug]") {
    constexpr double volume = 4 * 3.14159265358979 / 3 * 200 * 70 * 40;
    PlugOptions options;
    options.opening = PlugOpening::join;
    ScanMesh scan = scan_of(ellipsoid_part(-10, true, 1));
    scan.second = ellipsoid_part(10, false, 2);
    const Plug plug = mend_plug(scan, options);
    CHECK(plug.is_closed);
    CHECK(plug.completion.how == PlugOpening::join);
    CHECK(plug.completion.overlap > 0.15);
    CHECK(plug.completion.residual_mm < 0.1);
    CHECK(plug.mass_properties.volume_mm3 == Approx(volume).epsilon(0.003));
    CHECK(plug.noise_mm == Approx(0.03).epsilon(0.2));

    // The plug was turned over for the second scan; the points are picked to 2 mm, in a file of centimetres.
    Frame3 turned = rotation_about({1, 0.1, 0}, 3.0);
    turned.origin = {300, 40, 90};
    scan.second = placed(scan.second, turned);
    scan.unit_factor = 10;
    options.second_points.clear();
    for (const Vec3 p : {Vec3{190, 0, 2}, Vec3{-180, 20, 3}, Vec3{0, 70, 0}, Vec3{20, -69, 1}}) {
        const Vec3 picked = turned.to_parent(p) + Vec3{1, -1, 1};
        options.second_points +=
            (options.second_points.empty() ? "" : "; ") + text_of(p / 10) + " = " + text_of(picked / 10);
    }
    const Plug fitted = mend_plug(scan, options);
    CHECK(fitted.is_closed);
    CHECK(fitted.completion.residual_mm < 0.1);
    CHECK(fitted.mass_properties.volume_mm3 == Approx(volume).epsilon(0.003));

    // Without the points it does not fit, or does not meet.
    options.second_points.clear();
    CHECK_THROWS_WITH(mend_plug(scan, options), Contains("do not") && Contains("mm"));
    options.second_points = "0,0,0 = 0,0,0; 10,0,0 = 10,0,0; 20,0,0 = 20,0,0";
    CHECK_THROWS_WITH(mend_plug(scan, options), Contains("one line"));
    options.second_points = "0,0,0 = 0,0,0; 10,0,0 = 19,0,0; 0,20,0 = 0,4,0";
    CHECK_THROWS_WITH(mend_plug(scan, options), Contains("do not match"));
}

TEST_CASE("a scan is thinned out when told", "[stages][plug]") {
    PlugOptions options;
    options.decimate = Length::mm(0.15);
    const TriMesh whole = with_noise(make_ellipsoid({200, 70, 40}, 6), 0.03, 1);
    const Plug plug = mend_plug(scan_of(whole), options);
    CHECK(plug.is_closed);
    CHECK(plug.mesh->face_count() < whole.face_count() / 3);
    CHECK(plug.decimated_by_mm > 0.01);
    CHECK(plug.decimated_by_mm <= 0.15);
    CHECK(plug.noise_mm == Approx(0.03).epsilon(0.2));  // of the scan, not of what is left of it
    options.opening = PlugOpening::cap;
    const Plug open = mend_plug(scan_of(ellipsoid_part(0, true, 1)), options);
    CHECK(open.has_volume());
    CHECK(open.mesh->openings.size() == 1);
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
