// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <limits>
#include <numbers>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/stages/bead.hpp"
#include "stages/bead_plan.hpp"
#include "support/shapes.hpp"

// Plug, panel line and panels are made by hand, so the expected numbers are closed forms. Numbers labelled T are check
// values of the project's trade data, section 8 [derived].

using namespace cradlewright;
using std::numbers::pi;

namespace {

// What the stage promises: contact_mm / 100.
const double contact = Tolerances{}.contact_mm / 100;

/// Distance of a chord's middle from its circle of radius r when n chords go round.
double chord_error(double r, int n) { return r * (1 - std::cos(pi / n)); }

struct Rig {
    PosedPlug posed;
    Parting parting;
    Flange flange;
    Settings settings;

    Rig(TriMesh mesh, double radius_mm, const Frame3& scan_to_fixture = {}) {
        posed.plug.mesh = std::make_shared<const TriMesh>(test::placed(std::move(mesh), inverse(scan_to_fixture)));
        posed.pose.scan_to_fixture = scan_to_fixture;
        settings.bead.radius = format_exact(Quantity::of(Length::mm(radius_mm)));
    }
    void add_loop(std::vector<Vec3> line) {
        PartingLoop loop;
        loop.panel_line = std::move(line);
        parting.loops.push_back(std::move(loop));
    }
    void add_panel(std::size_t first, std::size_t last, Vec3 point, Vec3 normal) {
        FlangePanel panel;
        panel.id = "panel-edge-" + std::to_string(flange.panels.size() + 1);
        panel.edge = "edge";
        panel.loop = parting.loops.size() - 1;
        panel.first = first;
        panel.last = last;
        panel.point = point;
        panel.normal = normalized(normal);
        flange.panels.push_back(panel);
    }
    [[nodiscard]] Beads lay() const { return lay_beads(posed, parting, flange, settings); }
};

std::vector<Vec3> circle(double radius_mm, double z, int count, double turn = 1) {
    std::vector<Vec3> points;
    for (int k = 0; k < count; ++k) {
        const double a = turn * 2 * pi * k / count;
        points.push_back({radius_mm * std::cos(a), radius_mm * std::sin(a), z});
    }
    return points;
}

/// Corners joined by evenly spaced points; index of each corner in `corner`.
struct Ring {
    std::vector<Vec3> points;
    std::vector<std::size_t> corner;
};
Ring ring_through(const std::vector<Vec3>& corners, int steps) {
    Ring ring;
    for (std::size_t k = 0; k < corners.size(); ++k) {
        const Vec3 a = corners[k], b = corners[(k + 1) % corners.size()];
        ring.corner.push_back(ring.points.size());
        for (int i = 0; i < steps; ++i) ring.points.push_back(a + (b - a) * (static_cast<double>(i) / steps));
    }
    return ring;
}

double distance_to_triangle(Vec3 p, const std::array<Vec3, 3>& t) {
    // Closest point by Voronoi regions. Source: C. Ericson, Real-Time Collision Detection, 5.1.5 [from memory].
    const Vec3 ab = t[1] - t[0], ac = t[2] - t[0], ap = p - t[0];
    const double d1 = dot(ab, ap), d2 = dot(ac, ap);
    if (d1 <= 0 && d2 <= 0) return norm(ap);
    const Vec3 bp = p - t[1];
    const double d3 = dot(ab, bp), d4 = dot(ac, bp);
    if (d3 >= 0 && d4 <= d3) return norm(bp);
    const double vc = d1 * d4 - d3 * d2;
    if (vc <= 0 && d1 >= 0 && d3 <= 0) return norm(ap - ab * (d1 / (d1 - d3)));
    const Vec3 cp = p - t[2];
    const double d5 = dot(ab, cp), d6 = dot(ac, cp);
    if (d6 >= 0 && d5 <= d6) return norm(cp);
    const double vb = d5 * d2 - d1 * d6;
    if (vb <= 0 && d2 >= 0 && d6 <= 0) return norm(ap - ac * (d2 / (d2 - d6)));
    const double va = d3 * d6 - d5 * d4;
    if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0) return norm(bp - (t[2] - t[1]) * ((d4 - d3) / (d4 - d3 + d5 - d6)));
    const double sum = va + vb + vc;
    return norm(ap - ab * (vb / sum) - ac * (vc / sum));
}

double distance_to_plug(const PosedPlug& posed, Vec3 fixture_point) {
    const Vec3 p = posed.pose.to_scan(fixture_point);
    double least = std::numeric_limits<double>::infinity();
    for (FaceId f = 0; f < posed.mesh().face_count(); ++f)
        least = std::min(least, distance_to_triangle(p, posed.mesh().corners(f)));
    return least;
}

/// Every ball touches plug and its panel and cuts neither, against every triangle.
void check_contact(const Rig& rig, const Beads& beads, std::size_t every = 1) {
    for (std::size_t k = 0; k < beads.runs.size(); ++k) {
        const FlangePanel& panel = rig.flange.panels[k];
        const auto& sections = beads.runs[k].sections;
        for (std::size_t i = 0; i < sections.size(); i += every) {
            const BeadSection& s = sections[i];
            if (!s.is_valid) continue;
            INFO("run " << k << " section " << i);
            const double r = beads.radius_mm, d = distance_to_plug(rig.posed, s.center);
            CHECK(d >= r - 1e-9);
            CHECK(d <= r + contact + 1e-9);
            CHECK(norm(s.center - s.on_plug) == Approx(d).margin(1e-9));
            CHECK(dot(s.center - panel.point, panel.normal) == Approx(r).margin(1e-9));
            CHECK(dot(s.on_panel - panel.point, panel.normal) == Approx(0).margin(1e-9));
        }
    }
}

void require_all_valid(const Beads& beads) {
    REQUIRE_FALSE(beads.runs.empty());
    for (const BeadRun& run : beads.runs) {
        REQUIRE_FALSE(run.sections.empty());
        REQUIRE(run.valid_count() == run.sections.size());
    }
}

/// Cylinder along x with panels at height h on both sides.
Rig cylinder_rig(double rp, double h, double radius_mm, int n, const Frame3& pose = {}) {
    Rig rig(test::make_elliptic_cylinder(rp, rp, 400, n, 8), radius_mm, pose);
    const double y = std::sqrt(rp * rp - h * h);
    std::vector<Vec3> line;
    for (int k = 0; k <= 20; ++k) line.push_back({100.0 - 10 * k, y, h});
    for (int k = 0; k <= 20; ++k) line.push_back({-100.0 + 10 * k, -y, h});
    rig.add_loop(line);
    rig.add_panel(0, 20, {0, y, h}, {0, 0, 1});
    rig.add_panel(21, 41, {0, -y, h}, {0, 0, 1});
    return rig;
}

/// Section values for a flat at height h against a circle of radius rp. Source: trade data, section 8.
struct RoundSection {
    double xc, alpha, area, strip;
};
RoundSection round_section(double rp, double h, double r) {
    const double xc = std::sqrt((rp + r) * (rp + r) - (h + r) * (h + r));
    const double alpha = std::atan2(h + r, xc), xi = std::sqrt(rp * rp - h * h), beta = std::atan2(h, xi);
    const double area = xc * r / 2 - rp * rp * (alpha - beta) / 2 - r * r * (pi / 2 - alpha) / 2 - h * (xc - xi) / 2;
    return {xc, alpha, area, rp * (alpha - beta)};
}

/// Clay round a sphere of radius rp on a level panel through its centre, as rings of height dh. Composite Simpson.
double clay_round_sphere(double rp, double r) {
    const RoundSection s = round_section(rp, 0, r);
    const double end_rad = std::acos(1 - rp * std::sin(s.alpha) / r);
    const auto ring = [&](double phi) {
        const double h = r * (1 - std::cos(phi)), arc = s.xc - r * std::sin(phi);
        return pi * (arc * arc - (rp * rp - h * h)) * r * std::sin(phi);
    };
    constexpr int steps = 2000;
    double sum = 0;
    for (int k = 0; k <= steps; ++k) sum += ring(end_rad * k / steps) * (k == 0 || k == steps ? 1 : (k % 2 ? 4 : 2));
    return sum * end_rad / steps / 3;
}

const Frame3 odd_pose =
    compose(Frame3{.origin = {12, -340, 55}},
            compose(rotation_about(normalized(Vec3{1, 2, 3}), 0.7), rotation_about({0, 0, 1}, 2.1)));

/// A box whose flange is level along its sides and falls away at its ends, seen from half 1.
Rig rig_with_falling_ends(double r, double fall) {
    Rig rig(test::make_box({200, 100, 120}), r);
    const Ring ring = ring_through({{100, -50, 0}, {100, 50, 0}, {-100, 50, 0}, {-100, -50, 0}}, 50);
    rig.add_loop(ring.points);
    const Vec3 normals[] = {
        {std::sin(fall), 0, std::cos(fall)}, {0, 0, 1}, {-std::sin(fall), 0, std::cos(fall)}, {0, 0, 1}};
    for (std::size_t k = 0; k < 4; ++k)
        rig.add_panel(ring.corner[k], ring.corner[(k + 1) % 4], ring.points[ring.corner[k]], normals[k]);
    return rig;
}

}  // namespace

TEST_CASE("section area between two flats", "[stages][bead]") {
    // T8.1-T8.4.
    CHECK(flat_bead_area_mm2(9.525, Angle::deg(90).rad()) == Approx(19.4699).epsilon(1e-5));
    CHECK(flat_bead_area_mm2(9.525, Angle::deg(60).rad()) == Approx(62.1337).epsilon(1e-5));
    CHECK(flat_bead_area_mm2(9.525, Angle::deg(120).rad()) == Approx(4.87664).epsilon(1e-5));
    CHECK(flat_bead_area_mm2(12.7, Angle::deg(75).rad()) == Approx(62.4075).epsilon(1e-5));
    CHECK(flat_bead_area_mm2(12.7, pi) == Approx(0).margin(1e-12));
    CHECK_THROWS_AS(flat_bead_area_mm2(12.7, 0), Error);
}

TEST_CASE("a bead between a flat wall and a sloping panel", "[stages][bead]") {
    // A panel that falls away from the wall by `slope` meets it at 90 deg + slope. Flats: everything is exact.
    const double radius_mm = GENERATE(3.0, 9.525, 12.7);
    const double corner_deg = GENERATE(50.0, 60.0, 75.0, 90.0, 120.0, 150.0);
    const double slope = Angle::deg(corner_deg - 90).rad();
    Rig rig(test::make_box({400, 100, 120}), radius_mm);
    std::vector<Vec3> line;
    for (int k = 0; k <= 10; ++k) line.push_back({100.0 - 20 * k, 50, 0});
    line.push_back({-100, -50, 0});
    line.push_back({100, -50, 0});
    rig.add_loop(line);
    rig.add_panel(0, 10, {0, 50, 0}, {0, std::sin(slope), std::cos(slope)});
    const Beads beads = rig.lay();
    require_all_valid(beads);
    const double corner = Angle::deg(corner_deg).rad(), tangent = radius_mm / std::tan(corner / 2);
    const double area = flat_bead_area_mm2(radius_mm, corner);
    // The ball stops up to `contact` outside, along a wall at this angle.
    const double off = contact / std::sin(corner);
    for (const BeadSection& s : beads.runs[0].sections) {
        CHECK(s.corner_rad == Approx(corner).margin(1e-9));
        CHECK(norm(s.on_plug - s.joint) == Approx(tangent).margin(off));
        CHECK(norm(s.on_panel - s.joint) == Approx(tangent).margin(off));
        CHECK(s.area_mm2 == Approx(area).margin(off * 3 * radius_mm).epsilon(1e-4));
        CHECK(s.plug_strip_mm == Approx(tangent).margin(off));
    }
    CHECK(beads.runs[0].length_mm == Approx(200).epsilon(1e-9));
    CHECK(beads.clay_volume_mm3 == Approx(area * 200).epsilon(2e-3).margin(200 * off * 3 * radius_mm));
    CHECK(beads.clay_mass_kg == Approx(beads.clay_volume_mm3 * 1700e-9));
    CHECK(beads.strip_per_radius == Approx(1 / std::tan(corner / 2)).epsilon(1e-3));
    check_contact(rig, beads);
}

TEST_CASE("an acute corner beyond the reach is left without a ball", "[stages][bead]") {
    Rig rig(test::make_box({400, 100, 300}), 9.5);
    std::vector<Vec3> line{{100, 50, 0}, {0, 50, 0}, {-100, 50, 0}, {0, -50, 0}};
    rig.add_loop(line);
    const double slope = Angle::deg(30 - 90).rad();
    rig.add_panel(0, 2, {0, 50, 0}, {0, std::sin(slope), std::cos(slope)});
    const Beads beads = rig.lay();
    CHECK(beads.runs[0].valid_count() == 0);
    CHECK(beads.clay_volume_mm3 == 0);
    CHECK(beads.trim_lines[0] == line);
}

TEST_CASE("an acute corner gets its bead as far as the panel reaches", "[stages][bead]") {
    // Wall and panel at 24 to 40 deg: foot at r cot(a/2), area r^2 (cot(a/2) - (pi - a)/2) [derived].
    constexpr double r = 6;
    const double corner = Angle::deg(GENERATE(24.0, 30.0, 40.0)).rad(), foot = r / std::tan(corner / 2);
    Rig rig(test::make_box({400, 100, 300}), r);
    std::vector<Vec3> line;
    for (int k = 0; k <= 10; ++k) line.push_back({100.0 - 20 * k, 50, 0});
    line.push_back({-100, -50, 0});
    line.push_back({100, -50, 0});
    rig.add_loop(line);
    rig.add_panel(0, 10, {0, 50, 0}, {0, std::sin(corner - pi / 2), std::cos(corner - pi / 2)});
    rig.flange.panels[0].width_mm = 60;
    const Beads beads = rig.lay();
    require_all_valid(beads);
    check_contact(rig, beads);
    const double area = flat_bead_area_mm2(r, corner), off = 3 * r * contact / std::sin(corner);
    for (const BeadSection& s : beads.runs[0].sections) {
        CHECK(norm(s.on_plug - s.joint) == Approx(foot).margin(contact / std::sin(corner)));
        CHECK(s.area_mm2 == Approx(area).margin(off).epsilon(1e-3));
    }
    CHECK(beads.clay_volume_mm3 == Approx(area * 200).epsilon(2e-3).margin(200 * off));
    // The foot has to lie on the panel.
    rig.flange.panels[0].width_mm = 0.9 * foot;
    CHECK(rig.lay().runs[0].valid_count() == 0);
}

TEST_CASE("a bead round an upright post is a ring by Pappus", "[stages][bead]") {
    // Section of a square corner, centroid at r (10 - 3 pi) / (3 (4 - pi)) from the wall: V = 2 pi (Rp + c) A
    // [derived].
    const double rp = GENERATE(20.0, 60.0), r = GENERATE(4.0, 9.525);
    constexpr int n = 720;
    const Frame3 upright{{}, {0, 0, 1}, {1, 0, 0}, {0, 1, 0}};  // the cylinder's axis becomes z
    Rig rig(test::placed(test::make_elliptic_cylinder(rp, rp, 200, n, 8), upright), r);
    rig.add_loop(circle(rp, 0, n));
    rig.add_panel(0, 0, {}, {0, 0, 1});
    const Beads beads = rig.lay();
    require_all_valid(beads);
    CHECK(beads.runs[0].is_ring);
    const double area = flat_bead_area_mm2(r, pi / 2), c = r * (10 - 3 * pi) / (3 * (4 - pi));
    CHECK(beads.clay_volume_mm3 ==
          Approx(2 * pi * (rp + c) * area).epsilon(3 * r * (contact + chord_error(rp, n)) / area + 1e-4));
    REQUIRE(beads.groove);
    CHECK(beads.groove->clay_volume_mm3 == Approx(beads.clay_volume_mm3).epsilon(1e-3));
}

TEST_CASE("half 2 finds a groove as wide as the clay was, and gets a bead and trim line of its own", "[stages][bead]") {
    constexpr double rp = 100, r = 9.525, h = 20;
    constexpr int n = 1440;
    const Rig rig = cylinder_rig(rp, h, r, n);
    const Beads beads = rig.lay();
    REQUIRE(beads.groove);
    const Groove& groove = *beads.groove;
    const RoundSection upper = round_section(rp, h, r), lower = round_section(rp, -h, r);
    const double facet = rp * 2 * pi / n;
    CHECK(groove.width_mm == Approx(upper.xc - std::sqrt(rp * rp - h * h)).margin(0.05));
    CHECK(groove.depth_mm == Approx(upper.strip).margin(facet));
    CHECK(groove.fill_volume_mm3 == beads.clay_volume_mm3);
    CHECK(groove.fill_mass_kg == beads.clay_mass_kg);
    REQUIRE(groove.runs.size() == beads.runs.size());
    for (const BeadRun& run : groove.runs) {
        CHECK(run.valid_count() == run.sections.size());
        CHECK(run.volume_mm3 == Approx(lower.area * 200).epsilon(0.01));
        for (const BeadSection& s : run.sections) CHECK(s.on_panel.z == Approx(h));
    }
    REQUIRE(groove.trim_lines.size() == 1);
    for (const BeadRun& run : groove.runs)
        for (const BeadSection& s : run.sections) CHECK(s.on_plug.z < h - lower.strip / 2);
    Rig alone = rig;
    alone.settings.mould.use = MouldUse::single;
    CHECK_FALSE(alone.lay().groove);
    alone.settings.mould.use = MouldUse::join_in_mould;
    alone.settings.bead.radius = "auto";
    CHECK_FALSE(alone.lay().groove);
}

TEST_CASE("half 2's ball minds the neighbour that half 1's ran past", "[stages][bead]") {
    // Ends fall away seen from half 1, so they rise seen from half 2.
    constexpr double r = 9.525;
    const double fall = Angle::deg(15).rad();
    const Rig rig = rig_with_falling_ends(r, fall);
    const Beads beads = rig.lay();
    REQUIRE(beads.groove);
    for (std::size_t k = 0; k < 4; ++k)
        for (const std::size_t other : {(k + 1) % 4, (k + 3) % 4}) {
            const FlangePanel& panel = rig.flange.panels[other];
            for (const BeadSection& s : beads.groove->runs[k].sections)
                if (s.is_valid) CHECK(-dot(s.center - panel.point, panel.normal) >= r - contact - 1e-9);
        }
}

TEST_CASE("clay by edge: none, ramp, round", "[stages][bead]") {
    constexpr double r = 8;
    Rig rig(test::make_box({400, 100, 120}), r);
    std::vector<Vec3> line;
    for (int k = 0; k <= 10; ++k) line.push_back({100.0 - 20 * k, 50, 0});
    line.push_back({-100, -50, 0});
    line.push_back({100, -50, 0});
    rig.add_loop(line);
    rig.add_panel(0, 10, {0, 50, 0}, {0, 0, 1});
    const double round = rig.lay().clay_volume_mm3;
    rig.settings.edges["edge"].bead = "ramp";
    const Beads ramp = rig.lay();
    CHECK(ramp.runs[0].kind == BeadKind::ramp);
    CHECK(ramp.runs[0].radius_mm == 0);
    CHECK(ramp.clay_volume_mm3 == Approx(r * r / 2 * 200));
    CHECK(ramp.max_plug_strip_mm == Approx(r));
    CHECK(ramp.clay_volume_mm3 > 2 * round);  // 1/2 against 1 - pi/4
    rig.settings.edges["edge"].bead = "none";
    const Beads none = rig.lay();
    CHECK(none.clay_volume_mm3 == 0);
    CHECK(none.trim_lines[0] == line);
}

TEST_CASE("a bead against a round side", "[stages][bead]") {
    // T8.5, T8.6: A = 16.9486 (Rp 100), 11.0431 (Rp 20), 13.4708 and 21.1291 (Rp 100, h = +10 and -10); xc 109.110.
    struct Case {
        double rp, h, area;
    };
    const Case c =
        GENERATE(Case{100, 0, 16.9486}, Case{20, 0, 11.0431}, Case{100, 10, 13.4708}, Case{100, -10, 21.1291});
    const bool is_moved = GENERATE(false, true);
    constexpr double r = 9.525;
    constexpr int n = 1440;
    const Rig rig = cylinder_rig(c.rp, c.h, r, n, is_moved ? odd_pose : Frame3{});
    const RoundSection expected = round_section(c.rp, c.h, r);
    REQUIRE(expected.area == Approx(c.area).epsilon(1e-5));
    const Beads beads = rig.lay();
    require_all_valid(beads);
    const double off = chord_error(c.rp, n) + contact;
    for (const BeadRun& run : beads.runs)
        for (const BeadSection& s : run.sections) {
            CHECK(s.area_mm2 == Approx(c.area).margin(3 * r * off));
            CHECK(std::abs(s.on_panel.y) == Approx(expected.xc).margin(2 * off));
            CHECK(s.corner_rad == Approx(pi / 2 + expected.alpha).margin(pi / n));
            CHECK(s.plug_strip_mm == Approx(expected.strip).margin(c.rp * 2 * pi / n));
        }
    check_contact(rig, beads, 7);
}

TEST_CASE("the two halves' trim lines leave both strips", "[stages][bead]") {
    constexpr double rp = 100, r = 9.525;
    Rig rig = cylinder_rig(rp, 20, r, 1440);
    const double upper = round_section(rp, 20, r).strip, lower = round_section(rp, -20, r).strip;
    const Beads beads = rig.lay();
    CHECK(beads.max_plug_strip_mm == Approx(upper).margin(rp * 2 * pi / 1440));
    CHECK(beads.join_gap_mm == Approx(upper + lower).margin(2 * rp * 2 * pi / 1440));
    CHECK(std::abs(beads.join_gap_at.z - 20) < 1e-9);
    rig.settings.mould.use = MouldUse::single;
    CHECK(rig.lay().join_gap_mm == 0);
}

TEST_CASE("any smaller ball hides less than the bound says", "[stages][bead]") {
    const double rp = GENERATE(15.0, 40.0, 100.0), h = GENERATE(-8.0, 0.0, 8.0);
    const Rig big = cylinder_rig(rp, h, 9.525, 1440);
    const Beads beads = big.lay();
    for (const double r : {1.0, 3.0, 6.0, 9.0}) {
        const Beads smaller = cylinder_rig(rp, h, r, 1440).lay();
        CHECK(smaller.max_plug_strip_mm <= beads.strip_per_radius * r * 1.01);
        CHECK(smaller.join_gap_mm <= beads.join_gap_per_radius * r * 1.01);
    }
}

TEST_CASE("a bead all round a sphere", "[stages][bead]") {
    constexpr double rp = 100, r = 9.525;
    constexpr int levels = 7, count = 314;
    const bool is_moved = GENERATE(false, true);
    Rig rig(test::make_sphere(rp, levels), r, is_moved ? odd_pose : Frame3{});
    rig.add_loop(circle(rp, 0, count));
    rig.add_panel(0, 0, {0, 0, 0}, {0, 0, 1});
    const Beads beads = rig.lay();
    require_all_valid(beads);
    CHECK(beads.runs[0].sections.size() == count);
    const RoundSection expected = round_section(rp, 0, r);
    const double off = chord_error(rp, 4 << levels) + contact;
    for (const BeadSection& s : beads.runs[0].sections) CHECK(s.area_mm2 == Approx(expected.area).margin(3 * r * off));
    // Volume: chords of the section's path, and the area's own error.
    const double volume = clay_round_sphere(rp, r);
    CHECK(beads.clay_volume_mm3 == Approx(volume).epsilon(1 / std::pow(count, 2) * 2 + 3 * r * off / expected.area));
    REQUIRE(beads.trim_lines.size() == 1);
    CHECK(beads.trim_lines[0].size() == count);
    for (const Vec3 p : beads.trim_lines[0]) {
        CHECK(std::hypot(p.x, p.y) == Approx(rp * std::cos(expected.alpha)).margin(4 * off));
        CHECK(p.z == Approx(rp * std::sin(expected.alpha)).margin(rp * 2 * pi / (4 << levels)));
    }
    check_contact(rig, beads, 40);
}

TEST_CASE("halving the radius quarters area, doubling everything doubles lengths", "[stages][bead]") {
    const Beads one = cylinder_rig(50, 5, 4, 720).lay();
    const Rig big_rig = [] {
        Rig rig(test::make_elliptic_cylinder(100, 100, 800, 720, 8), 8);
        const double y = std::sqrt(100.0 * 100 - 10 * 10);
        std::vector<Vec3> line;
        for (int k = 0; k <= 20; ++k) line.push_back({200.0 - 20 * k, y, 10});
        for (int k = 0; k <= 20; ++k) line.push_back({-200.0 + 20 * k, -y, 10});
        rig.add_loop(line);
        rig.add_panel(0, 20, {0, y, 10}, {0, 0, 1});
        rig.add_panel(21, 41, {0, -y, 10}, {0, 0, 1});
        return rig;
    }();
    const Beads two = big_rig.lay();
    const double off = 3 * 8 * contact;  // the ball stops within the same tolerance at either size
    CHECK(two.max_plug_strip_mm == Approx(2 * one.max_plug_strip_mm).margin(4 * contact));
    CHECK(two.runs[0].sections[3].area_mm2 == Approx(4 * one.runs[0].sections[3].area_mm2).margin(4 * off));
    CHECK(two.clay_volume_mm3 == Approx(8 * one.clay_volume_mm3).margin(800 * 4 * off));
}

TEST_CASE("round the corners of a box the ball swings about the edge", "[stages][bead]") {
    // Level panels, upright walls: quarter circles of the section at the corners. Volume by Pappus, centroid of the
    // corner region of a square less its quarter disc at r (10 - 3 pi) / (3 (4 - pi)) from the wall [derived].
    constexpr double r = 9.525;
    const Vec3 size{200, 100, 60};
    Rig rig(test::make_box(size), r);
    const Ring ring = ring_through({{100, -50, 0}, {100, 50, 0}, {-100, 50, 0}, {-100, -50, 0}}, 40);
    rig.add_loop(ring.points);
    SECTION("four panels") {
        for (std::size_t k = 0; k < 4; ++k)
            rig.add_panel(ring.corner[k], ring.corner[(k + 1) % 4], ring.points[ring.corner[k]], {0, 0, 1});
    }
    SECTION("one panel all round") { rig.add_panel(0, 0, {}, {0, 0, 1}); }
    const Beads beads = rig.lay();
    require_all_valid(beads);
    check_contact(rig, beads);
    const double area = flat_bead_area_mm2(r, pi / 2), centroid = r * (10 - 3 * pi) / (3 * (4 - pi));
    const double volume = area * (2 * (size.x + size.y) + 2 * pi * centroid);
    // Relative: contact tolerance on the area, swing steps of at most 0.2 rad as chords.
    CHECK(beads.clay_volume_mm3 == Approx(volume).epsilon(3 * r * contact / area + 1e-4));
    // The trim line is the box's outline at height r; at the corners the foot stays on the edge.
    CHECK(polyline_length(beads.trim_lines[0], true) == Approx(600).epsilon(1e-6));
    for (const Vec3 p : beads.trim_lines[0]) CHECK(p.z == Approx(r).margin(0.1));
}

TEST_CASE("in a valley between panels the ball rests on plug and both", "[stages][bead]") {
    // End panels rise away from the plug, front and back are level. The neighbour's plane must not be cut anywhere.
    constexpr double r = 9.525;
    const double rise = Angle::deg(GENERATE(2.0, 8.0, 20.0)).rad();
    // Under 5 deg the mitre is the bisector, where these panels' tops step by sin(rise) times the way out; each ball
    // minds its own panel only.
    const bool is_valley = rise > Angle::deg(5).rad();
    const double sink = is_valley ? contact + 1e-9 : r * (1 - std::cos(rise)) + r * std::sin(rise);
    Rig rig(test::make_box({200, 100, 120}), r);
    const Ring ring = ring_through({{100, -50, 0}, {100, 50, 0}, {-100, 50, 0}, {-100, -50, 0}}, 100);
    rig.add_loop(ring.points);
    const Vec3 normals[] = {
        {-std::sin(rise), 0, std::cos(rise)}, {0, 0, 1}, {std::sin(rise), 0, std::cos(rise)}, {0, 0, 1}};
    for (std::size_t k = 0; k < 4; ++k)
        rig.add_panel(ring.corner[k], ring.corner[(k + 1) % 4], ring.points[ring.corner[k]], normals[k]);
    const Beads beads = rig.lay();
    require_all_valid(beads);
    check_contact(rig, beads);
    for (std::size_t k = 0; k < 4; ++k) {
        for (const std::size_t other : {(k + 1) % 4, (k + 3) % 4}) {
            const FlangePanel& panel = rig.flange.panels[other];
            for (const BeadSection& s : beads.runs[k].sections)
                if (is_valley || s.joint == beads.runs[k].sections.front().joint ||
                    s.joint == beads.runs[k].sections.back().joint)
                    CHECK(dot(s.center - panel.point, panel.normal) >= r - sink);
        }
        // Both runs end in the same ball.
        const BeadSection &end = beads.runs[k].sections.back(), &begin = beads.runs[(k + 1) % 4].sections.front();
        CHECK(norm(end.center - begin.center) < (is_valley ? 1e-6 : 2 * r * std::sin(rise / 2) + contact));
    }
}

TEST_CASE("panels that miss each other a little at their joint still get a bead there", "[stages][bead]") {
    // As laid on a line that is not flat: planes half a millimetre off the joint and nearly parallel, so that their own
    // line of intersection lies half a metre away.
    constexpr double r = 9.525, off = 0.5;
    const double rise = Angle::deg(GENERATE(0.06, 1.0, 4.0)).rad();
    Rig rig(test::make_box({400, 100, 120}), r);
    std::vector<Vec3> line;
    for (int k = 0; k <= 40; ++k) line.push_back({100.0 - 5 * k, 50, 0});
    line.push_back({-100, -50, 0});
    line.push_back({100, -50, 0});
    rig.add_loop(line);
    rig.add_panel(0, 20, {0, 50, -off}, {std::sin(rise), 0, std::cos(rise)});
    rig.add_panel(20, 40, {0, 50, 0}, {0, 0, 1});
    const Beads beads = rig.lay();
    require_all_valid(beads);
    check_contact(rig, beads);
    CHECK(beads.max_plug_strip_mm < 1.2 * r);
    CHECK(beads.clay_volume_mm3 == Approx(200 * flat_bead_area_mm2(r, pi / 2)).epsilon(0.1));
    for (const BeadRun& run : beads.runs)
        for (const BeadSection& s : run.sections) CHECK(norm(s.center - s.joint) < 2 * r);
}

TEST_CASE("on a ridge between panels the bead runs through", "[stages][bead]") {
    constexpr double r = 9.525;
    const double fall = Angle::deg(GENERATE(2.0, 15.0)).rad();
    const Rig rig = rig_with_falling_ends(r, fall);
    const Beads beads = rig.lay();
    require_all_valid(beads);
    check_contact(rig, beads);
    CHECK(beads.trim_lines[0].size() >= 200);
}

TEST_CASE("a thin wall's strip does not jump to what lies behind it", "[stages][bead]") {
    // A tray of 3 mm walls: the ball over the rim of its wall; rays below the rim's edge must not run on to the far
    // wall.
    constexpr double r = 9.525;
    TriMesh mesh = test::placed(test::make_box({300, 3, 4}), Frame3{.origin = {0, 58.5, 2}});
    const TriMesh far_wall = test::placed(test::make_box({300, 3, 60}), Frame3{.origin = {0, 35, -20}});
    const auto shift = static_cast<VertexId>(mesh.vertices.size());
    mesh.vertices.insert(mesh.vertices.end(), far_wall.vertices.begin(), far_wall.vertices.end());
    for (const Triangle& t : far_wall.triangles) mesh.triangles.push_back({t[0] + shift, t[1] + shift, t[2] + shift});
    Rig rig(std::move(mesh), r);
    std::vector<Vec3> line;
    for (int k = 0; k <= 10; ++k) line.push_back({100.0 - 20 * k, 60, 1});
    line.push_back({-100, 0, 1});
    line.push_back({100, 0, 1});
    rig.add_loop(line);
    rig.add_panel(0, 10, {0, 60, 1}, {0, 0, 1});
    const Beads beads = rig.lay();
    require_all_valid(beads);
    check_contact(rig, beads);
    // The wall ends 3 mm above the panel, so the ball rests on its edge.
    CHECK(beads.max_plug_strip_mm == Approx(3).margin(0.1));
}

TEST_CASE("a line's direction keeps corners and passes over kinks", "[stages][bead]") {
    const double window = 6, corner = 0.2;
    SECTION("the corners of a rectangle, and nothing else") {
        const Ring ring = ring_through({{0, 0, 0}, {60, 0, 0}, {60, 40, 0}, {0, 40, 0}}, 20);
        const auto turns = line_turns(ring.points, window, corner);
        for (std::size_t i = 0; i < turns.size(); ++i) {
            const bool expected = std::ranges::find(ring.corner, i) != ring.corner.end();
            CHECK(turns[i].is_corner == expected);
            // Square up to the corner itself: windows stop there.
            CHECK(std::abs(turns[i].leaving.x * turns[i].leaving.y) < 1e-12);
            CHECK(std::abs(turns[i].arriving.x * turns[i].arriving.y) < 1e-12);
        }
    }
    SECTION("a jog of a millimetre turns the line by little") {
        Ring ring = ring_through({{0, 0, 0}, {80, 0, 0}, {80, 80, 0}, {0, 80, 0}}, 40);
        for (std::size_t i = 20; i < 40; ++i) ring.points[i].y = 1;
        const auto turns = line_turns(ring.points, window, corner);
        for (std::size_t i = 5; i < 35; ++i) {
            CHECK_FALSE(turns[i].is_corner);
            CHECK(std::abs(turns[i].leaving.y) < 0.2);  // a millimetre over the window of six
        }
    }
    SECTION("a circle's tangents") {
        const auto line = circle(30, 0, 94);
        const auto turns = line_turns(line, window, corner);
        for (std::size_t i = 0; i < line.size(); ++i) {
            CHECK_FALSE(turns[i].is_corner);
            CHECK(dot(turns[i].leaving, line[i]) == Approx(0).margin(1e-9));
        }
    }
}

TEST_CASE("where the plug turns away from the panel there is no bead and no far foot", "[stages][bead]") {
    // A roof of 30 deg whose ridge is the panel line: level panels, corner 180 + 30 deg. On the other side of the plane
    // the wall stands upright, so half 2 has a bead there.
    constexpr double r = 9.525;
    TriMesh mesh;
    const double drop = 60 * std::tan(Angle::deg(30).rad());
    for (const double x : {-200.0, 200.0})
        for (const Vec2 p : {Vec2{50, 0}, Vec2{-10, -drop}, Vec2{-10, -100}, Vec2{50, -100}})
            mesh.vertices.push_back({x, p.x, p.y});
    for (VertexId k = 0; k < 4; ++k) {
        const VertexId next = (k + 1) % 4;
        mesh.triangles.push_back({k, next + 4, k + 4});
        mesh.triangles.push_back({k, next, next + 4});
    }
    for (const Triangle& t : {Triangle{0, 2, 1}, Triangle{0, 3, 2}, Triangle{4, 5, 6}, Triangle{4, 6, 7}})
        mesh.triangles.push_back(t);
    REQUIRE(mass_properties(mesh).volume_mm3 > 0);
    Rig rig(std::move(mesh), r);
    std::vector<Vec3> line;
    for (int k = 0; k <= 10; ++k) line.push_back({100.0 - 20 * k, 50, 0});
    line.push_back({-100, 0, 0});
    line.push_back({100, 0, 0});
    rig.add_loop(line);
    rig.add_panel(0, 10, {0, 50, 0}, {0, 0, 1});
    const Beads beads = rig.lay();
    check_contact(rig, beads);
    for (const BeadSection& s : beads.runs[0].sections)
        if (s.is_valid) CHECK(norm(s.on_plug - s.joint) < 0.1);
    CHECK(beads.max_plug_strip_mm < 0.1);
    CHECK(beads.clay_volume_mm3 < 1);
}

TEST_CASE("faces under the clay are those between panel line and foot", "[stages][bead]") {
    constexpr double rp = 60, r = 9.525;
    Rig rig(test::make_sphere(rp, 7), r, GENERATE(false, true) ? odd_pose : Frame3{});
    rig.add_loop(circle(rp, 0, 188));
    rig.add_panel(0, 0, {0, 0, 0}, {0, 0, 1});
    const Beads beads = rig.lay();
    const TriMesh& mesh = rig.posed.mesh();
    std::vector<bool> is_hidden(mesh.face_count(), false);
    for (const FaceId f : beads.hidden_faces) is_hidden[f] = true;
    const double foot_z = rp * std::sin(round_section(rp, 0, r).alpha);
    constexpr double step = 2;  // of the line: the clay's faces are found to half of it
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const auto c = mesh.corners(f);
        const double z = rig.posed.pose.to_fixture((c[0] + c[1] + c[2]) / 3).z;
        if (z > 0.1 && z < foot_z - 0.2) CHECK(is_hidden[f]);
        if (z > foot_z + step / 2) CHECK_FALSE(is_hidden[f]);
    }
}

TEST_CASE("no ball gouges an ellipsoid", "[stages][bead]") {
    // A level panel cut at any height; the outline's curvature and the corner angle vary along it.
    const Vec3 axes{150, 60, 40};
    const double h = GENERATE(-12.0, 0.0, 15.0), r = GENERATE(3.0, 9.525);
    Rig rig(test::make_ellipsoid(axes, 5), r, odd_pose);
    const double k = std::sqrt(1 - h * h / (axes.z * axes.z));
    std::vector<Vec3> line;
    for (int i = 0; i < 240; ++i) {
        const double a = 2 * pi * i / 240;
        line.push_back({axes.x * k * std::cos(a), axes.y * k * std::sin(a), h});
    }
    rig.add_loop(line);
    rig.add_panel(0, 239, {0, 0, h}, {0, 0, 1});
    const Beads beads = rig.lay();
    require_all_valid(beads);
    check_contact(rig, beads, 9);
    CHECK(beads.runs[0].corner_max_rad > beads.runs[0].corner_min_rad);
}

TEST_CASE("no ball gouges a foil with a sharp tail", "[stages][bead]") {
    constexpr double chord = 120, length = 300;
    const double r = GENERATE(4.0, 9.525);
    Rig rig(test::make_naca_prism(12, chord, length, 120, 30), r);
    Box3 box;
    for (const Vec3 v : rig.posed.mesh().vertices) box.add(v);
    const Ring ring = ring_through({{box.high.x, box.low.y, 0},
                                    {box.high.x, box.high.y, 0},
                                    {box.low.x, box.high.y, 0},
                                    {box.low.x, box.low.y, 0}},
                                   60);
    rig.add_loop(ring.points);
    for (std::size_t k = 0; k < 4; ++k)
        rig.add_panel(ring.corner[k], ring.corner[(k + 1) % 4], ring.points[ring.corner[k]], {0, 0, 1});
    const Beads beads = rig.lay();
    check_contact(rig, beads, 5);
    // Nose and tail runs find a ball everywhere.
    for (const std::size_t k : {1u, 3u}) CHECK(beads.runs[k].valid_count() == beads.runs[k].sections.size());
}

TEST_CASE("noise moves the bead by no more than itself, and still nothing is gouged", "[stages][bead]") {
    constexpr double rp = 100, r = 9.525, sigma = 0.05;
    Rig rig(test::with_noise(test::make_sphere(rp, 7), sigma, GENERATE(1u, 2u)), r);
    rig.add_loop(circle(rp, 0, 314));
    rig.add_panel(0, 0, {0, 0, 0}, {0, 0, 1});
    const Beads beads = rig.lay();
    require_all_valid(beads);
    check_contact(rig, beads, 60);
    const double xc = round_section(rp, 0, r).xc;
    // The ball rides on the highest points: outward by up to 4 sigma, and never further in than the smooth ball by 4
    // sigma.
    for (const BeadSection& s : beads.runs[0].sections)
        CHECK(std::hypot(s.center.x, s.center.y) == Approx(xc).margin(4 * sigma + chord_error(rp, 512)));
}

TEST_CASE("inside a hole the bead faces inward", "[stages][bead]") {
    constexpr double major = 100, minor = 30, r = 9.525;
    Rig rig(test::make_torus(major, minor, 480, 240), r);
    rig.add_loop(circle(major - minor, 0, 220, -1));
    rig.add_panel(0, 0, {0, 0, 0}, {0, 0, 1});
    const Beads beads = rig.lay();
    require_all_valid(beads);
    // Ball centre at height r, at minor + r from the tube's circle.
    const double inside = major - std::sqrt((minor + r) * (minor + r) - r * r);
    const double off = chord_error(major, 480) + chord_error(minor, 240) + contact;
    for (const BeadSection& s : beads.runs[0].sections)
        CHECK(std::hypot(s.center.x, s.center.y) == Approx(inside).margin(2 * off));
    check_contact(rig, beads, 40);
}

TEST_CASE("a hole too small for the ball is left without one", "[stages][bead]") {
    // Hole of radius 10: at height r the axis is hypot(40, 12.7) - 30 = 11.97 mm from the plug, less than 12.7.
    Rig rig(test::make_torus(40, 30, 240, 120), 12.7);
    rig.add_loop(circle(10, 0, 40, -1));
    rig.add_panel(0, 0, {0, 0, 0}, {0, 0, 1});
    const Beads beads = rig.lay();
    CHECK(beads.runs[0].valid_count() == 0);
    CHECK(beads.clay_volume_mm3 == 0);
}

TEST_CASE("past an inside corner of the outline the ball steps over", "[stages][bead]") {
    // Two boxes make an L seen from above; overlapping shells are one surface to the ball.
    constexpr double r = 8;
    TriMesh mesh = test::placed(test::make_box({200, 60, 80}), Frame3{.origin = {0, -30, 0}});
    const TriMesh arm = test::placed(test::make_box({60, 200, 80}), Frame3{.origin = {-70, 40, 0}});
    const auto shift = static_cast<VertexId>(mesh.vertices.size());
    mesh.vertices.insert(mesh.vertices.end(), arm.vertices.begin(), arm.vertices.end());
    for (const Triangle& t : arm.triangles) mesh.triangles.push_back({t[0] + shift, t[1] + shift, t[2] + shift});
    Rig rig(mesh, r);
    const Ring ring =
        ring_through({{-100, -60, 0}, {100, -60, 0}, {100, 0, 0}, {-40, 0, 0}, {-40, 140, 0}, {-100, 140, 0}}, 50);
    rig.add_loop(ring.points);
    for (std::size_t k = 0; k < 6; ++k) rig.add_panel(ring.corner[k], ring.corner[(k + 1) % 6], {}, {0, 0, 1});
    const Beads beads = rig.lay();
    check_contact(rig, beads, 3);
    // On the two runs that meet inside, only sections nearer than r to the other wall are without a ball.
    for (const BeadSection& s : beads.runs[2].sections) CHECK(s.is_valid == (s.joint.x + 40 >= r - 1e-9));
    for (const BeadSection& s : beads.runs[3].sections) CHECK(s.is_valid == (s.joint.y >= r - 1e-9));
}

TEST_CASE("the same input gives the same beads in any order of triangles", "[stages][bead]") {
    const TriMesh mesh = test::make_ellipsoid({150, 60, 40}, 5);
    const auto lay = [](TriMesh m) {
        Rig rig(std::move(m), 9.525);
        std::vector<Vec3> line;
        for (int i = 0; i < 240; ++i)
            line.push_back({150 * std::cos(2 * pi * i / 240), 60 * std::sin(2 * pi * i / 240), 0});
        rig.add_loop(line);
        rig.add_panel(0, 0, {}, {0, 0, 1});
        return rig.lay();
    };
    const Beads a = lay(mesh), again = lay(mesh), b = lay(test::shuffled(mesh, 5));
    CHECK(a.clay_volume_mm3 == again.clay_volume_mm3);
    CHECK(a.trim_lines[0] == again.trim_lines[0]);
    // Faces that tie may lead the ball in by other strides, to anywhere within the contact tolerance.
    CHECK(a.clay_volume_mm3 == Approx(b.clay_volume_mm3).epsilon(3 * 9.525 * contact / 10));
    CHECK(a.max_plug_strip_mm == Approx(b.max_plug_strip_mm).margin(4 * contact));
}

TEST_CASE("the radius is told or comes from the plies", "[stages][bead]") {
    Settings settings;
    settings.bead.radius = "9.5mm";
    CHECK(choose_bead_radius(settings).radius_mm == Approx(9.5));
    CHECK(choose_bead_radius(settings).from == "told");

    settings.bead.radius = "auto";
    settings.laminate_mould = {.plies = "glass-320 x2", .gel_coat = Length::mm(0.5), .veil = Length::mm(0.1)};
    settings.laminate_part = {.plies = "carbon-200 x2"};
    // glass 320: class radius 12.7 [common practice], rounded up to half a millimetre.
    CHECK(choose_bead_radius(settings).radius_mm == Approx(13.0));
    CHECK(choose_bead_radius(settings).from.find("glass-320") != std::string::npos);

    settings.cloths["canvas"] = settings.cloths.at("glass-320");
    settings.cloths["canvas"].name = "canvas";
    settings.cloths["canvas"].class_radius_mm = 60;
    settings.cloths["canvas"].class_radius_low_mm = settings.cloths["canvas"].class_radius_high_mm = 0;
    settings.laminate_part.plies = "canvas x1";
    CHECK(choose_bead_radius(settings).radius_mm == Approx(20.0));  // 60 / 3 over the lip
    CHECK(choose_bead_radius(settings).from.find("canvas of the part laminate") != std::string::npos);

    settings.mould.use = MouldUse::join_in_mould;
    CHECK(choose_bead_radius(settings).radius_mm == 0);
    settings.bead.radius = "-1mm";
    CHECK_THROWS_AS(choose_bead_radius(settings), Error);
    settings.bead.radius = "seven";
    CHECK_THROWS_AS(choose_bead_radius(settings), Error);
}

TEST_CASE("without a bead the trim line is the panel line", "[stages][bead]") {
    Rig rig = cylinder_rig(50, 0, 0, 90);
    const Beads beads = rig.lay();
    CHECK(beads.runs.empty());
    CHECK(beads.trim_lines[0] == rig.parting.loops[0].panel_line);
    CHECK(beads.join_gap_mm == 0);
    CHECK(beads.clay_mass_kg == 0);
}

TEST_CASE("no parting line, no beads", "[stages][bead]") {
    const Rig rig(test::make_box({50, 50, 50}), 9.5);
    const Beads beads = rig.lay();
    CHECK(beads.runs.empty());
    CHECK(beads.trim_lines.empty());
}
