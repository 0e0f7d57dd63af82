// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "checks/arris.hpp"
#include "checks/families.hpp"
#include "cradlewright/catalog/bibliography.hpp"
#include "cradlewright/mechanics/ply_bend.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using std::numbers::pi;

namespace {

/// Cylinder along x, level panels through its axis: strip, gap and section have closed forms.
Design cylinder_design(double rp, const std::string& radius) {
    Design d;
    d.settings.bead.radius = radius;
    d.posed.plug.mesh = std::make_shared<const TriMesh>(test::make_elliptic_cylinder(rp, rp, 400, 1440, 8));
    PartingLoop loop;
    for (int k = 0; k <= 20; ++k) loop.panel_line.push_back({100.0 - 10 * k, rp, 0});
    for (int k = 0; k <= 20; ++k) loop.panel_line.push_back({-100.0 + 10 * k, -rp, 0});
    d.parting.loops.push_back(loop);
    for (const std::size_t first : {0u, 21u}) {
        FlangePanel panel;
        panel.id = first == 0 ? "panel-front-1" : "panel-back-1";
        panel.edge = first == 0 ? "front" : "back";
        panel.first = first;
        panel.last = first + 20;
        panel.normal = {0, 0, 1};
        d.flange.panels.push_back(panel);
    }
    return d;
}
Design with_beads(Design d) {
    d.beads = lay_beads(d.posed, d.parting, d.flange, d.settings);
    return d;
}
/// Strip of plug from a panel through the axis to the foot of a ball. Source: derived, trade data section 8 with h = 0.
double strip(double rp, double r) { return rp * std::asin(r / (rp + r)); }

/// The number after "radius to " in an advice, with its unit.
std::string told_radius(const std::string& advice) {
    const std::string lead = "radius to ";
    const std::size_t from = advice.find(lead);
    REQUIRE(from != std::string::npos);
    const std::size_t begin = from + lead.size();
    return advice.substr(begin, advice.find(" mm", begin) - begin) + "mm";
}

void check_is_sourced(const Check& c) {
    CHECK(find_reference(c.source.key) != nullptr);
    CHECK_FALSE(c.formula.empty());
    CHECK_FALSE(c.advice.empty());
}

/// All faces half 1 where their normal has a positive z.
Design plug_design(TriMesh mesh, double noise_mm = 0) {
    Design d;
    const auto normals = face_normals(mesh);
    for (const Vec3 n : normals) d.parting.half.push_back(n.z > 0 ? 1 : 2);
    d.posed.plug.adjacency = std::make_shared<const std::vector<FaceId>>(face_adjacency(mesh));
    d.posed.plug.mesh = std::make_shared<const TriMesh>(std::move(mesh));
    d.posed.plug.noise_mm = noise_mm;
    d.settings.laminate_mould = {.plies = "glass-320 x4", .gel_coat = Length::mm(0.5), .veil = Length::mm(0.1)};
    d.settings.laminate_part = {.plies = "carbon-200 x2"};
    return d;
}
const Check& subject(const std::vector<Check>& checks, const std::string& start) {
    const auto found = std::ranges::find_if(checks, [&](const Check& c) { return c.subject.starts_with(start); });
    REQUIRE(found != checks.end());
    return *found;
}

/// Ridge or groove of two flats with a rounding of the given radius, as a sheet over [0, 60] x [-25, 25]; turn in rad.
TriMesh make_fold(double radius, double turn, double step, bool is_ridge) {
    std::vector<Vec2> profile;  // (y, z), ridge
    const double half = turn / 2, flat = 20;
    const auto flat_steps = static_cast<int>(flat / step);
    const Vec2 end{radius * std::sin(half), radius * (std::cos(half) - 1)};
    for (int k = flat_steps; k > 0; --k)
        profile.push_back({-end.x - k * step * std::cos(half), end.y - k * step * std::sin(half)});
    const int arc_steps = static_cast<int>(std::ceil(radius * turn / step));
    for (int k = 0; k <= arc_steps; ++k) {
        const double a = arc_steps > 0 ? -half + turn * k / arc_steps : 0;
        profile.push_back({radius * std::sin(a), radius * (std::cos(a) - 1)});
    }
    for (int k = 1; k <= flat_steps; ++k)
        profile.push_back({end.x + k * step * std::cos(half), end.y - k * step * std::sin(half)});
    TriMesh mesh;
    const auto columns = static_cast<VertexId>(profile.size());
    const auto rows = static_cast<VertexId>(60 / step);
    for (VertexId i = 0; i <= rows; ++i)
        for (const Vec2 p : profile) mesh.vertices.push_back({i * step, p.x, is_ridge ? p.y : -p.y});
    for (VertexId i = 0; i < rows; ++i)
        for (VertexId j = 0; j + 1 < columns; ++j) {
            const VertexId a = i * columns + j, b = a + columns;
            mesh.triangles.push_back({a, b, b + 1});
            mesh.triangles.push_back({a, b + 1, a + 1});
        }
    return mesh;
}

}  // namespace

TEST_CASE("bead.mould-plies agrees with the rule at every radius", "[checks][bead]") {
    // T7.12-T7.15 of the trade data: verdicts of the rule; the check states them as radius against radius.
    struct Case {
        std::string plies, radius;
        Verdict verdict;
    };
    const Case c =
        GENERATE(Case{"carbon-200 x4", "9.525mm", Verdict::pass}, Case{"glass-320 x4", "9.525mm", Verdict::marginal},
                 Case{"glass-320 x4", "12.7mm", Verdict::pass}, Case{"roving-600 x1", "12.7mm", Verdict::fail},
                 Case{"glass-320 x4", "9.5mm", Verdict::fail}, Case{"glass-320 x4", "12.6mm", Verdict::marginal});
    Design d = cylinder_design(100, c.radius);
    d.settings.laminate_mould = {.plies = c.plies, .gel_coat = Length::mm(0.5), .veil = Length::mm(0.1)};
    const auto checks = check_bead_mould_plies(with_beads(d));
    REQUIRE(checks.size() == 1);
    CHECK(checks[0].verdict == c.verdict);
    CHECK(checks[0].value.value == Approx(d.settings.bead.radius == "9.525mm" ? 9.525 : checks[0].value.value));
    check_is_sourced(checks[0]);
}

TEST_CASE("each run of plies is a subject, and following the advice passes", "[checks][bead]") {
    Design d = cylinder_design(100, "8mm");
    d.settings.laminate_mould = {
        .plies = "carbon-200 x2, glass-320 x5", .gel_coat = Length::mm(0.5), .veil = Length::mm(0.1)};
    const auto checks = check_bead_mould_plies(with_beads(d));
    REQUIRE(checks.size() == 2);
    CHECK(checks[0].subject == "carbon-200, plies 1 to 2");
    CHECK(checks[0].verdict == Verdict::marginal);
    CHECK(checks[1].subject == "glass-320, plies 3 to 7");
    CHECK(checks[1].verdict == Verdict::fail);
    d.settings.bead.radius = told_radius(checks[1].advice);
    for (const Check& c : check_bead_mould_plies(with_beads(d))) CHECK(c.verdict == Verdict::pass);
}

TEST_CASE("bead.part-plies judges the mould's lip as an outside edge", "[checks][bead]") {
    // roving 600, class 25: a third is 8.333 outside; not failing from 0.75 of that, 6.25 [common practice].
    struct Case {
        std::string radius;
        Verdict verdict;
    };
    const Case c = GENERATE(Case{"8.34mm", Verdict::pass}, Case{"8.33mm", Verdict::marginal},
                            Case{"6.26mm", Verdict::marginal}, Case{"6.24mm", Verdict::fail});
    Design d = cylinder_design(100, c.radius);
    d.settings.laminate_part = {.plies = "roving-600 x2"};
    const auto checks = check_bead_part_plies(with_beads(d));
    REQUIRE(checks.size() == 1);
    CHECK(checks[0].verdict == c.verdict);
    check_is_sourced(checks[0]);
    if (c.verdict == Verdict::pass) return;
    d.settings.bead.radius = told_radius(checks[0].advice);
    CHECK(check_bead_part_plies(with_beads(d))[0].verdict == Verdict::pass);
}

TEST_CASE("without a bead the ply checks say what to do instead", "[checks][bead]") {
    const Design d = with_beads(cylinder_design(100, "0mm"));
    for (const auto& checks :
         {check_bead_mould_plies(d), check_bead_part_plies(d), check_bead_cover(d), check_release_join_gap(d)}) {
        REQUIRE(checks.size() == 1);
        CHECK(checks[0].verdict == Verdict::not_applicable);
        CHECK_FALSE(checks[0].advice.empty());
    }
}

TEST_CASE("bead.cover just inside and just outside its limit", "[checks][bead]") {
    const double rp = GENERATE(20.0, 100.0);
    const double expected_mm = strip(rp, 9.525);
    Design d = with_beads(cylinder_design(rp, "9.525mm"));
    // Facets of the test's cylinder.
    const double facet_mm = rp * 2 * pi / 1440;
    d.settings.bead.cover_limit = Length::mm(expected_mm + facet_mm);
    CHECK(check_bead_cover(d)[0].verdict == Verdict::pass);
    CHECK(check_bead_cover(d)[0].value.value == Approx(expected_mm).margin(facet_mm));
    d.settings.bead.cover_limit = Length::mm(expected_mm - facet_mm);
    CHECK(check_bead_cover(d)[0].verdict == Verdict::fail);
    check_is_sourced(check_bead_cover(d)[0]);
}

namespace {
/// What follows `lead` in an advice, up to " mm", with its unit.
std::string told_after(const std::string& advice, const std::string& lead) {
    const std::size_t from = advice.find(lead);
    REQUIRE(from != std::string::npos);
    const std::size_t begin = from + lead.size();
    return advice.substr(begin, advice.find(" mm", begin) - begin) + "mm";
}
/// Cloth that follows any bead a roller reaches into, so that a smaller bead is a way out.
void take_fine_cloth(Settings& settings) {
    settings.cloths["fine"] = settings.cloths.at("carbon-93");
    settings.cloths["fine"].name = "fine";
    settings.cloths["fine"].class_radius_mm = 0.5;
    settings.cloths["fine"].class_radius_low_mm = settings.cloths["fine"].class_radius_high_mm = 0;
    settings.laminate_mould = {.plies = "fine x1"};
}
}  // namespace

TEST_CASE("following the advice of bead.cover passes, by radius or by limit", "[checks][bead]") {
    Design d = cylinder_design(GENERATE(15.0, 40.0, 100.0), "9.525mm");
    take_fine_cloth(d.settings);
    d.settings.bead.cover_limit = Length::mm(GENERATE(3.0, 4.0, 5.0));
    const Check failed = check_bead_cover(with_beads(d))[0];
    REQUIRE(failed.verdict == Verdict::fail);
    Design wider = d;
    set_setting(wider.settings, "bead.cover-limit", told_after(failed.advice, "bead.cover-limit to "),
                Origin::command_line, "test");
    CHECK(check_bead_cover(with_beads(wider))[0].verdict == Verdict::pass);
    if (failed.advice.find("no way out") != std::string::npos) return;
    Design smaller = d;
    smaller.settings.bead.radius = told_radius(failed.advice);
    CHECK(check_bead_cover(with_beads(smaller))[0].verdict == Verdict::pass);
    CHECK(check_bead_mould_plies(with_beads(smaller))[0].verdict == Verdict::pass);
}

TEST_CASE("no advice sends the bead below what the plies follow", "[checks][bead]") {
    // glass 300 wants 12.7 mm [common practice]; a gap of 2 mm would take a bead of about 1 mm.
    Design d = cylinder_design(100, "13mm");
    d.settings.laminate_mould = {.plies = "glass-300 x3", .gel_coat = Length::mm(0.5), .veil = Length::mm(0.1)};
    d.settings.bead.join_gap_limit = Length::mm(2);
    d.settings.bead.cover_limit = Length::mm(1);
    const Check gap = check_release_join_gap(with_beads(d))[0], cover = check_bead_cover(with_beads(d))[0];
    for (const Check& c : {gap, cover}) {
        REQUIRE(c.verdict == Verdict::fail);
        CHECK(c.advice.find("set bead.radius to") == std::string::npos);
        CHECK_THAT(c.advice, Catch::Contains("these plies need 12.7 mm") && Catch::Contains("resin paste"));
    }
    // What it says instead: no bead, the corner filled behind the gel coat.
    d.settings.mould.use = MouldUse::join_in_mould;
    d.settings.bead.radius = "auto";
    const Design closed = with_beads(d);
    CHECK(closed.beads.radius_mm == 0);
    CHECK(check_release_join_gap(closed)[0].verdict == Verdict::not_applicable);
    CHECK(check_bead_cover(closed)[0].verdict == Verdict::not_applicable);
    const Check plies = check_bead_mould_plies(closed)[0];
    CHECK(plies.verdict == Verdict::not_applicable);
    CHECK_THAT(plies.advice, Catch::Contains("12.7 mm"));
}

TEST_CASE("release.join-gap is twice the strip on a symmetrical edge", "[checks][bead]") {
    const double expected_mm = 2 * strip(100, 9.525), facet_mm = 100 * 2 * pi / 1440;
    Design d = cylinder_design(100, "9.525mm");
    take_fine_cloth(d.settings);
    d = with_beads(d);
    d.settings.bead.join_gap_limit = Length::mm(expected_mm + 2 * facet_mm);
    const Check inside = check_release_join_gap(d)[0];
    CHECK(inside.value.value == Approx(expected_mm).margin(2 * facet_mm));
    CHECK(inside.verdict == Verdict::pass);
    d.settings.bead.join_gap_limit = Length::mm(expected_mm - 2 * facet_mm);
    const Check outside = check_release_join_gap(d)[0];
    CHECK(outside.verdict == Verdict::fail);
    check_is_sourced(outside);
    d.settings.bead.radius = told_radius(outside.advice);
    CHECK(check_release_join_gap(with_beads(d))[0].verdict == Verdict::pass);
    d.settings.mould.use = MouldUse::single;
    CHECK(check_release_join_gap(d)[0].verdict == Verdict::not_applicable);
}

TEST_CASE("without a parting line the bead checks are unknown", "[checks][bead]") {
    Design d = cylinder_design(50, "9mm");
    d.parting.loops.clear();
    d.flange.panels.clear();
    d = with_beads(d);
    CHECK(check_bead_cover(d)[0].verdict == Verdict::unknown);
    CHECK(check_release_join_gap(d)[0].verdict == Verdict::unknown);
    CHECK(check_plug_arris_plies(d)[0].verdict == Verdict::unknown);
}

TEST_CASE("the sharpest place of a sphere is its radius", "[checks][arris]") {
    // On a sphere the mean normal of any patch points along its centroid: exact but for facets.
    const double r = GENERATE(5.0, 12.7, 60.0);
    const TriMesh mesh = test::make_sphere(r, 6);
    const std::vector<std::uint8_t> half(mesh.face_count(), 1);
    const Arrises found = find_arrises(mesh, face_adjacency(mesh), half, 0, 12.7);
    CHECK(found.outside.radius_mm == Approx(r).epsilon(0.1));  // patches of a few facets
    CHECK(found.inside.radius_mm > 100 * r);
}

TEST_CASE("roundings are found and told from inside corners", "[checks][arris]") {
    const double r = GENERATE(4.0, 8.0, 12.0), step = GENERATE(0.25, 0.5);
    const bool is_ridge = GENERATE(true, false);
    const TriMesh mesh = make_fold(r, pi / 2, step, is_ridge);
    const std::vector<std::uint8_t> half(mesh.face_count(), 1);
    const Arrises found = find_arrises(mesh, face_adjacency(mesh), half, 0, 12.7);
    const Arris &seen = is_ridge ? found.outside : found.inside, &other = is_ridge ? found.inside : found.outside;
    // Patches of one millimetre of whole triangles: a tenth either way.
    CHECK(seen.radius_mm == Approx(r).epsilon(0.1));
    CHECK(std::abs(seen.at.y) < r);
    CHECK(other.radius_mm > 10 * r);
}

TEST_CASE("a sharp fold reads as no more than a patch", "[checks][arris]") {
    const double turn = Angle::deg(GENERATE(45.0, 90.0, 140.0)).rad();
    const TriMesh mesh = make_fold(0, turn, GENERATE(0.3, 2.0), true);
    const std::vector<std::uint8_t> half(mesh.face_count(), 1);
    const Arrises found = find_arrises(mesh, face_adjacency(mesh), half, 0, 12.7);
    // The whole turn between centres a patch apart, measured round the fold; patches as the header says.
    const double patch_mm = std::clamp(2.5 * mean_edge_length(mesh), 1.0, 4.0);
    CHECK(found.outside.radius_mm < patch_mm / (2 * std::sin(turn / 2)) * 1.1);
    CHECK(found.outside.radius_low_mm < found.outside.radius_mm);
    CHECK(std::abs(found.outside.at.y) < patch_mm);
}

TEST_CASE("a box of twelve faces has sharp edges, a coarse cylinder has not", "[checks][arris]") {
    const auto sharpest = [](const TriMesh& mesh) {
        const std::vector<std::uint8_t> half(mesh.face_count(), 1);
        return find_arrises(mesh, face_adjacency(mesh), half, 0, 12.7).outside.radius_mm;
    };
    CHECK(sharpest(test::make_box({200, 100, 50})) < 1);
    // Sides only: the flat ends' rims are edges indeed.
    TriMesh sides = test::make_elliptic_cylinder(60, 60, 200, 24, 4);
    std::erase_if(sides.triangles, [&](const Triangle& t) {
        const Vec3 n = area_vector({sides.vertices[t[0]], sides.vertices[t[1]], sides.vertices[t[2]]});
        return std::abs(n.x) > 0.5 * norm(n);
    });
    CHECK(sharpest(sides) > 12.7);
}

TEST_CASE("noise alone makes no arris, and does not hide one", "[checks][arris]") {
    const double sigma = GENERATE(0.02, 0.05);
    const auto seed = GENERATE(1u, 2u);
    const TriMesh flat = test::with_noise(make_fold(200, 0.1, 0.5, true), sigma, seed);
    const TriMesh fold = test::with_noise(make_fold(0, pi / 2, 0.5, true), sigma, seed);
    const auto find = [&](const TriMesh& mesh) {
        return find_arrises(mesh, face_adjacency(mesh), std::vector<std::uint8_t>(mesh.face_count(), 1), sigma, 12.7);
    };
    CHECK(find(flat).outside.radius_mm > 12.7);
    CHECK(find(flat).inside.radius_mm > 12.7);
    CHECK(find(fold).outside.radius_mm < 3);
}

TEST_CASE("plug.arris-plies judges outside edges and grooves for both laminates", "[checks][arris]") {
    // glass 320, class 12.7: outside 4.233; carbon 200, class 9.5: inside 9.5. A ridge of 6 mm suits the mould's plies
    // only.
    Design d = plug_design(make_fold(6, pi / 2, 0.25, true));
    const auto checks = check_plug_arris_plies(d);
    REQUIRE(checks.size() == 4);
    CHECK(subject(checks, "mould plies over").verdict == Verdict::pass);
    CHECK(subject(checks, "part plies in").verdict == Verdict::fail);
    CHECK(subject(checks, "mould plies in").verdict == Verdict::pass);
    CHECK(subject(checks, "part plies over").verdict == Verdict::pass);
    for (const Check& c : checks) check_is_sourced(c);
    const Check& groove = subject(checks, "part plies in");
    CHECK(groove.value.value == Approx(6).epsilon(0.1));
    REQUIRE(groove.at.has_value());

    // The advice names a radius; a plug rounded to it passes.
    const std::string lead = "to a radius of at least ";
    const std::size_t begin = groove.advice.find(lead) + lead.size();
    const double advised_mm =
        parse_length(groove.advice.substr(begin, groove.advice.find(" mm", begin) - begin) + "mm", "test").mm();
    const Design rounded =
        plug_design(make_fold(advised_mm * 1.1, pi / 2, 0.25, true));  // a tenth: see the rounding test
    CHECK(subject(check_plug_arris_plies(rounded), "part plies in").verdict == Verdict::pass);
}

TEST_CASE("plug.arris-plies fails on a sharp inside corner", "[checks][arris]") {
    const auto checks = check_plug_arris_plies(plug_design(make_fold(0, pi / 2, 0.3, false)));
    CHECK(subject(checks, "mould plies in").verdict == Verdict::fail);
    CHECK(subject(checks, "part plies over").verdict == Verdict::fail);
    CHECK(subject(checks, "mould plies over").verdict == Verdict::pass);
}
