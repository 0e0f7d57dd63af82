// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "measures.hpp"
#include "plugs.hpp"

using namespace cradlewright;
using namespace cradlewright::demo;

namespace {

constexpr double degree = std::numbers::pi / 180;

ScanOptions plain(std::size_t triangles, Triangulation style = Triangulation::irregular, std::uint32_t seed = 1) {
    ScanOptions options;
    options.triangles = triangles;
    options.triangulation = style;
    options.seed = seed;
    return options;
}

/// Unit normal of a parametric surface by central differences; error of the order step^2.
template <class Surface>
Vec3 normal_at(const Surface& surface, double a, double w) {
    constexpr double step = 1e-5;
    return normalized(cross(surface(a + step, w) - surface(a - step, w), surface(a, w + step) - surface(a, w - step)));
}

template <class Plug>
void check_sound(const Plug& plug, long euler, bool is_closed) {
    const auto style = GENERATE(Triangulation::regular, Triangulation::irregular, Triangulation::shuffled);
    const std::size_t triangles = GENERATE(1500u, 12000u);
    const TriMesh mesh = make_scan(plug, plain(triangles, style, 7));
    const measure::Edges edges = measure::edges(mesh);
    CHECK(edges.wrong == 0);
    CHECK((edges.open == 0) == is_closed);
    CHECK(measure::euler(mesh) == euler);
    CHECK(measure::volume(mesh) > 0);
    CHECK(static_cast<double>(mesh.face_count()) == Approx(static_cast<double>(triangles)).epsilon(0.1));
    for (FaceId f = 0; f < mesh.face_count(); ++f) REQUIRE(norm(area_vector(mesh.corners(f))) > 0);
}

}  // namespace

// Euler's V - E + F: 2 for a ball, 0 for a ring, 1 for a disc.
TEST_CASE("blade is a closed ball", "[demo][plugs]") { check_sound(Blade{}, 2, true); }
TEST_CASE("daggerboard is a closed ball", "[demo][plugs]") { check_sound(Daggerboard{}, 2, true); }
TEST_CASE("scoop is a closed ring", "[demo][plugs]") { check_sound(Scoop{}, 0, true); }
TEST_CASE("seat is an open disc", "[demo][plugs]") { check_sound(Seat{}, 1, false); }

TEMPLATE_TEST_CASE("mesh of a foil has the closed form's volume", "[demo][plugs]", Blade, Daggerboard) {
    const TestType foil;
    const double exact = volume_mm3(foil);
    const double coarse = measure::volume(make_scan(foil, plain(4000, Triangulation::regular))) - exact;
    const double fine = measure::volume(make_scan(foil, plain(64000, Triangulation::regular))) - exact;
    // Chords cut corners: the loss falls with the square of the step, here a quarter, so to about a sixteenth.
    CHECK(coarse < 0);
    CHECK(std::abs(coarse) < 0.01 * exact);
    CHECK(fine / coarse == Approx(1.0 / 16).epsilon(0.25));
}

TEST_CASE("seat's lip has its draft everywhere and ends in a plane", "[demo][plugs]") {
    const Seat seat;
    const auto surface = [&](double a, double w) { return surface_point(seat, a, w); };
    for (double a = 0.1; a < 6.2; a += 0.37)
        for (const double w : {2.1, 2.5, 2.9}) {
            CAPTURE(a, w);
            CHECK(std::asin(std::abs(normal_at(surface, a, w).z)) == Approx(seat.lip_draft_rad).epsilon(1e-5));
        }
    const TriMesh mesh = make_scan(seat, plain(8000));
    const Box3 box = measure::box(mesh);
    CHECK(box.low.z == Approx(0).margin(1e-9));
    CHECK(box.high.z == Approx(120).margin(0.1));  // crest 101 + 13 + 6 behind, which no vertex need meet exactly
    CHECK(crest_height(seat, 0) == Approx(108));
    CHECK(crest_height(seat, std::numbers::pi / 2) == Approx(88));
    CHECK(surface_point(seat, 1, 0).z == Approx(seat.bottom_mm));
}

TEST_CASE("seat is smooth across the crest and the end of the roll", "[demo][plugs]") {
    const Seat seat;
    const auto surface = [&](double a, double w) { return surface_point(seat, a, w); };
    for (double a = 0.1; a < 6.2; a += 0.37)
        for (const double w : {1.0, 2.0}) {
            CAPTURE(a, w);
            const Vec3 before = normal_at(surface, a, w - 2e-5), after = normal_at(surface, a, w + 2e-5);
            CHECK(norm(cross(before, after)) < 1e-3);  // a crease would stand out by far more than the two steps
        }
}

TEST_CASE("scoop's walls lean as told", "[demo][plugs]") {
    Scoop scoop;
    scoop.front_lean_rad = GENERATE(8, 12) * degree;
    const auto surface = [&](double a, double w) { return surface_point(scoop, a, w); };
    const auto draft = [&](double a, double w) { return std::asin(normal_at(surface, a, w).z); };
    for (const double t : {0.1, 0.5, 0.9}) {
        const auto at = [&](Stretch s) { return s.from + (s.to - s.from) * t; };
        CAPTURE(t);
        CHECK(draft(0, at(outer_wall(scoop))) == Approx(-scoop.front_lean_rad).epsilon(1e-5));
        CHECK(draft(std::numbers::pi, at(outer_wall(scoop))) == Approx(scoop.back_lean_rad).epsilon(1e-5));
        CHECK(draft(0, at(inner_wall(scoop))) == Approx(scoop.opening_draft_rad).epsilon(1e-5));
        CHECK(draft(std::numbers::pi, at(inner_wall(scoop))) == Approx(scoop.opening_draft_rad).epsilon(1e-5));
    }
}

TEST_CASE("scoop is open right through and locked under its front lip", "[demo][plugs]") {
    const Scoop scoop;
    const TriMesh mesh = make_scan(scoop, plain(20000));
    CHECK(measure::vertical_hits(mesh, 10.123, 0.211).empty());

    // From the overhanging wall, up and down both meet the plug again: lip above, foot below.
    const Stretch wall = outer_wall(scoop);
    const Vec3 p = surface_point(scoop, 0, (wall.from + wall.to) / 2) + Vec3{0.5, 0.211, 0};
    const auto hits = measure::vertical_hits(mesh, p.x, p.y);
    REQUIRE(hits.size() == 4);  // underside, foot, overhang, lip
    CHECK(hits[1].first < p.z);
    CHECK(hits[1].second > 0);
    CHECK(hits[2].first > p.z);
    CHECK(hits[2].second < 0);
}
