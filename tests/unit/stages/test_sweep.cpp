// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <numbers>
#include <random>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/stages/moulded.hpp"
#include "cradlewright/stages/sweep.hpp"
#include "support/brute_rays.hpp"
#include "support/plugs.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;
using namespace cradlewright::test;

namespace {

constexpr double near_mm = 30;

double deg(double rad) { return Angle::rad(rad).deg(); }

struct Looked {
    PartedPlug parted;
    std::vector<PlugPlace> places;
    std::vector<EdgeAccess> access;
    [[nodiscard]] const EdgeAccess& edge(const std::string& name) const {
        for (const EdgeAccess& a : access)
            if (a.edge == name) return a;
        FAIL("no edge " + name);
        return access.front();
    }
};

Looked look(const TriMesh& mesh, double tilt_deg, const std::string& pull = "vertical") {
    Looked looked{parted_plug(mesh, Angle::deg(tilt_deg), pull), {}, {}};
    looked.places = even_places(looked.parted.posed.plug, near_mm / 6);
    const SightLines sight(looked.parted.posed.plug, looked.parted.posed.pose.plug_in_scan, looked.places);
    looked.access = sight.near_edges(looked.parted.posed, looked.parted.parting, near_mm);
    return looked;
}

/// The definition of access, one random look after another against every face of the half.
double brute_access(const Looked& looked, const std::string& edge, int half, std::mt19937& random) {
    const PosedPlug& posed = looked.parted.posed;
    const TriMesh& mesh = posed.mesh();
    std::vector<Vec3> line;
    std::vector<bool> is_edge;
    for (const PartingLoop& loop : looked.parted.parting.loops)
        for (const PartingEdge& e : loop.edges)
            for (std::size_t i = e.first;; i = (i + 1) % loop.panel_line.size()) {
                line.push_back(posed.pose.to_scan(loop.panel_line[i]));
                is_edge.push_back(e.id == edge);
                if (i == e.last) break;
            }
    std::vector<PlugPlace> near;
    for (const PlugPlace& place : looked.places) {
        if (looked.parted.parting.half[place.face] != half) continue;
        std::size_t best = 0;
        for (std::size_t i = 1; i < line.size(); ++i)
            if (norm(line[i] - place.at) < norm(line[best] - place.at)) best = i;
        if (is_edge[best] && norm(line[best] - place.at) <= near_mm) near.push_back(place);
    }
    const auto is_mine = [&](FaceId f) { return looked.parted.parting.half[f] == half; };
    std::uniform_real_distribution<double> unit;
    double seen = 0, whole = 0;
    for (int k = 0; k < 4000; ++k) {
        const PlugPlace& place = near[random() % near.size()];
        // Even over the cap of 60 deg: height even over [0.5, 1].
        const double z = 0.5 + 0.5 * unit(random), around = 2 * std::numbers::pi * unit(random);
        const double r = std::sqrt(1 - z * z), up = half == 1 ? -1 : 1;
        const Vec3 d = posed.pose.direction_to_scan({r * std::cos(around), r * std::sin(around), up * z});
        const double weight = z - 0.5;
        whole += weight;
        if (-dot(place.normal, d) < std::sin(Angle::deg(10).rad())) continue;
        const auto blocks = [&](FaceId f) { return f != place.face && is_mine(f); };
        if (std::isinf(brute_hit(mesh, place.at, d, 1e-6, blocks))) seen += weight;
    }
    return seen / whole;
}

}  // namespace

TEST_CASE("access equals random looks against every face", "[stages][sweep]") {
    // 4000 looks of unlike weight: three standard errors are 0.03. The fixed directions are 12 by 24 deg apart: 0.03.
    std::mt19937 random(3);
    struct Case {
        const char* name;
        TriMesh mesh;
        double tilt_deg;
        const char* edge;
    };
    for (const Case& c : {Case{"deep box", make_box({200, 80, 120}), 12, "front"},
                          Case{"deep box", make_box({200, 80, 120}), 12, "back"},
                          Case{"ellipsoid", make_ellipsoid({120, 60, 40}, 4), 25, "rim"},
                          Case{"wing", make_naca_prism(2412, 150, 300, 60, 12), -15, "front"}}) {
        const Looked looked = look(c.mesh, c.tilt_deg);
        REQUIRE(looked.parted.parting.is_found());
        const bool has_edge = std::any_of(looked.access.begin(), looked.access.end(),
                                          [&](const EdgeAccess& a) { return a.edge == c.edge; });
        const std::string edge = has_edge ? c.edge : looked.access.front().edge;
        for (const int half : {1, 2}) {
            INFO(c.name << " " << edge << " half " << half);
            CHECK(looked.edge(edge).share[std::size_t(half - 1)] ==
                  Approx(brute_access(looked, edge, half, random)).margin(0.06));
        }
    }
}

TEST_CASE("access follows the builder's sense", "[stages][sweep]") {
    SECTION("a shallow dish is seen whole, a deep one is not") {
        const Looked shallow = look(make_pyramid(200, 120, 12), 0), deep = look(make_pyramid(200, 190, 200), 0);
        CHECK(shallow.access.front().least() > 0.9);
        CHECK(deep.access.front().least() < shallow.access.front().least() - 0.2);
    }
    SECTION("a mirrored tilt swaps front and back") {
        const TriMesh wing = make_elliptic_cylinder(60, 20, 300, 96, 40);
        const Looked up = look(wing, 20), down = look(wing, -20);
        CHECK(up.edge("front").share[0] == Approx(down.edge("back").share[0]).margin(0.02));
        CHECK(up.edge("back").share[1] == Approx(down.edge("front").share[1]).margin(0.02));
    }
    SECTION("with the pull fixed to the plug the tilt changes access, not the line") {
        const TriMesh wing = make_elliptic_cylinder(60, 40, 300, 96, 40);
        const Looked level = look(wing, 0, "plug-up"), tilted = look(wing, 40, "plug-up");
        CHECK(level.parted.parting.half == tilted.parted.parting.half);
        CHECK(level.edge("front").share[0] != Approx(tilted.edge("front").share[0]).margin(0.05));
    }
}

TEST_CASE("places stand for even areas", "[stages][sweep]") {
    const Plug plug = plug_of(make_sphere(100, 4));
    const std::vector<PlugPlace> places = even_places(plug, 5);
    const double area = plug.mass_properties.area_mm2;
    CHECK(static_cast<double>(places.size()) == Approx(area / 25).margin(1));
    // Archimedes: a zone of height h holds the share h / 2R.
    for (const double z : {-60.0, 0.0, 35.0, 80.0}) {
        const auto below = std::count_if(places.begin(), places.end(), [&](const PlugPlace& p) { return p.at.z < z; });
        CHECK(double(below) / double(places.size()) == Approx((z + 100) / 200).margin(0.01));
    }
}

TEST_CASE("standing of a tilted box has its closed forms", "[stages][sweep]") {
    const double width = 120, height = 40, panel = 3;
    const CradleOptions cradle;
    for (const double tilt : {0.0, 8.0, -15.0}) {
        const PartedPlug p = parted_plug(make_box({300, width, height}), Angle::deg(tilt));
        REQUIRE(p.parting.is_found());
        const std::vector<PlugPlace> places = even_places(p.posed.plug, 4);
        const Standing standing = standing_of(p.posed, p.parting, places, cradle, panel);
        // A flat underside holds nothing: friction must hold the whole slope.
        CHECK(deg(standing.slide_rad) == Approx(std::abs(tilt)).margin(1e-6));
    }
    SECTION("an untilted one tips about its outermost places") {
        const PartedPlug p = parted_plug(make_box({300, width, height}));
        const Standing standing = standing_of(p.posed, p.parting, even_places(p.posed.plug, 4), cradle, panel);
        const double line = p.parting.loops.front().panel_line.front().z - p.posed.box_fixture.low.z;
        const double clear = cradle.panel_margin.mm() + panel;
        const double inset = line >= clear ? 0 : std::sqrt(clear * clear - line * line);
        CHECK(deg(standing.tip_rad) == Approx(deg(std::atan((width / 2 - inset) / (height / 2)))).margin(3));
    }
    SECTION("a round underside holds by its shape until its steepest place is level") {
        for (const double tilt : {0.0, 30.0}) {
            const PartedPlug p = parted_plug(make_elliptic_cylinder(50, 50, 300, 96, 60), Angle::deg(tilt));
            CHECK(standing_of(p.posed, p.parting, even_places(p.posed.plug, 5), cradle, panel).slide_rad == 0);
        }
    }
}

TEST_CASE("a ball hides the strip of its closed form on a round side", "[stages][sweep]") {
    // A cylinder of radius R on its side, flange at the widest line, ball r: the foot stands at the angle a over the
    // line with sin a = r / (R + r). Source: derived, centre at height r and distance R + r.
    const double big = 40, length = 300;
    const PartedPlug p = parted_plug(make_elliptic_cylinder(big, big, length, 240, 100));
    REQUIRE(p.parting.is_found());
    for (const double r : {5.0, 12.0}) {
        const double foot = std::asin(r / (big + r));
        double area = 0;
        for (const FaceId f : faces_under_ball(p.posed, p.parting, p.release.draft_rad, r)) {
            const auto c = p.posed.mesh().corners(f);
            const Vec3 n = normalized(area_vector(c));
            if (std::abs(n.x) < 0.5) area += norm(area_vector(c)) / 2;  // not of the ends
        }
        // Two sides, two halves; an end facet more or less of 240.
        CHECK(area == Approx(4 * length * big * foot).margin(4 * length * big * 2 * std::numbers::pi / 240));
        const double draft = moulded_draft(p.posed, p.parting, p.release.draft_rad, 1,
                                           faces_under_ball(p.posed, p.parting, p.release.draft_rad, r), 0.01)
                                 .rad;
        CHECK(draft >= -1e-6);
    }
}

TEST_CASE("the draft of a half is that of what its beads leave bare", "[stages][release]") {
    // The cylinder of above, half 2 with a ball of r: its flank stays bare from the angle a with sin a = r / (R + r)
    // up, its ends, which have no draft, from the height r. The angle b under which the share s lies solves
    // ends + 2 L R (b - a) = s (ends + 2 L R (pi / 2 - a)). Source: derived.
    const double big = 40, length = 300, r = 12, share = 0.2;
    PartedPlug p = parted_plug(make_elliptic_cylinder(big, big, length, 240, 100));
    REQUIRE(p.parting.is_found());
    Beads beads;
    beads.radius_mm = r;
    ReleaseOptions options;
    options.draft_quantile = share;
    const double whole = p.release.half2.draft_p01_deg;
    leave_out_hidden(p.posed, p.map, p.parting, hidden_by_beads(p.posed, p.parting, beads, p.release.draft_rad),
                     options, p.release);
    const double a = std::asin(r / (big + r));
    const double ends = 2 * (big * big * std::acos(r / big) - r * std::sqrt(big * big - r * r));
    const double flank = 2 * length * big, b = a + (share * (ends + flank * (std::numbers::pi / 2 - a)) - ends) / flank;
    CHECK(p.release.half2.draft_p01_deg == Approx(b * 180 / std::numbers::pi).margin(360.0 / 240));
    CHECK(p.release.half2.draft_p01_deg > whole + 10);
    REQUIRE(p.release.half2.draft_at);
    // There the flank leans by that: height over the axis is R sin b.
    const double axis = p.posed.box_fixture.center().z;
    CHECK(axis - p.release.half2.draft_at->z == Approx(big * std::sin(b)).margin(big * 2 * std::numbers::pi / 240));
    // Beads without a section hide nothing of half 1, ends and all.
    CHECK(p.release.half1.draft_p01_deg < p.release.half2.draft_p01_deg);
}

TEST_CASE("an undercut under a bead is none of the mould's", "[stages][slow][release]") {
    // A cylinder whose line runs an arc u past the widest place: half 1 turns under by R (1 - cos(u / R)). A bead of
    // radius r is told to hide the plug up to `strip` over the line. Source: derived.
    const double big = 40, u = 12, depth = big * (1 - std::cos(u / big));
    EdgeOptions over;
    over.overrun = Length::mm(u);
    const auto parted = [&] {
        return parted_plug(make_elliptic_cylinder(big, big, 300, 720, 300), {}, "vertical",
                           {{"front", over}, {"back", over}});
    };
    PartedPlug p = parted();
    CHECK(p.release.half1.undercut_depth_mm == Approx(depth).margin(0.15));
    CHECK(p.release.half1.undercut_area_mm2 == Approx(2 * u * 300).epsilon(0.15));
    const auto without = [&](double strip) {
        PartedPlug left = p;
        std::vector<FaceId> hidden;
        for (FaceId f = 0; f < left.posed.mesh().face_count(); ++f) {
            const auto c = left.posed.mesh().corners(f);
            const Vec3 m = (c[0] + c[1] + c[2]) / 3;
            if (std::asin(std::clamp(m.z / big, -1.0, 1.0)) * big < strip - u) hidden.push_back(f);
        }
        leave_out_hidden(left.posed, left.map, left.parting, {hidden, {}}, {}, left.release);
        return left.release.half1;
    };
    const HalfRelease bare = without(-100), some = without(5), none = without(u + 1);
    CHECK(bare.undercut_depth_mm == p.release.half1.undercut_depth_mm);
    CHECK(some.undercut_depth_mm == Approx(big * (1 - std::cos((u - 5) / big))).margin(0.15));
    CHECK(some.undercut_area_mm2 < bare.undercut_area_mm2);
    CHECK(none.undercut_depth_mm == 0);
    CHECK(none.patches.empty());
}

TEST_CASE("tilts of a sweep", "[stages][sweep]") {
    SweepOptions options;
    CHECK(sweep_tilts_rad(options, {}).size() == 31);
    CHECK(deg(sweep_tilts_rad(options, {}).front()) == Approx(-45));
    CHECK(deg(sweep_tilts_rad(options, {})[15]) == Approx(0).margin(1e-12));
    const double told = Angle::deg(7).rad();
    const std::vector<double> with = sweep_tilts_rad(options, told);
    CHECK(with.size() == 32);
    CHECK(std::is_sorted(with.begin(), with.end()));
    CHECK(std::count(with.begin(), with.end(), told) == 1);
    CHECK(sweep_tilts_rad(options, Angle::deg(6).rad()).size() == 31);
    CHECK(sweep_tilts_rad(options, Angle::deg(60).rad()).size() == 31);
    options.to = Angle::deg(-50);
    CHECK_THROWS_AS(sweep_tilts_rad(options, {}), Error);
    options.to = Angle::deg(85);
    CHECK_THROWS_AS(sweep_tilts_rad(options, {}), Error);
    options = {};
    options.steps = 1;
    CHECK_THROWS_AS(sweep_tilts_rad(options, {}), Error);
}

TEST_CASE("the recommended tilt", "[stages][sweep]") {
    const auto row = [](double tilt_deg, double draft_deg, double undercut_mm, double access, double slide_deg) {
        SweepRow r;
        r.tilt_rad = Angle::deg(tilt_deg).rad();
        r.has_line = true;
        r.half[0] = r.half[1] = {draft_deg, 1, undercut_mm, 0};
        r.access = {{"front", {access, access}}};
        r.standing.slide_rad = Angle::deg(slide_deg).rad();
        return r;
    };
    const ReleaseOptions release;
    Sweep sweep;
    const auto best_deg = [&] {
        const std::vector<std::size_t> listed = shortlist(sweep, release, 4);
        for (const std::size_t i : listed)
            if (!sweep.rows[i].failing) sweep.rows[i].failing.emplace();
        recommend(sweep, listed);
        return deg(sweep.rows[sweep.best.value()].tilt_rad);
    };
    SECTION("undercut outweighs all") {
        sweep.rows = {row(-10, 9, 4, 0.9, 0), row(0, 9, 2, 0.9, 0), row(10, 1, 0, 0.2, 9)};
        CHECK(best_deg() == Approx(10));
    }
    SECTION("enough draft, then access, then slide, then the least tilt") {
        sweep.rows = {row(-20, 8, 0, 0.80, 0.5), row(-10, 4, 0, 0.79, 0.2), row(0, 2, 0, 0.95, 0),
                      row(10, 3.5, 0, 0.60, 0), row(20, 3.5, 0, 0.81, 6)};
        CHECK(best_deg() == Approx(-10));
        CHECK(sweep.reason.find("-10.0 deg") != std::string::npos);
    }
    SECTION("of two equal tilts the one that lifts the front") {
        sweep.rows = {row(-5, 8, 0, 0.8, 0), row(5, 8, 0, 0.8, 0)};
        CHECK(best_deg() == Approx(5));
    }
    SECTION("a failing check moves it on") {
        sweep.rows = {row(0, 8, 0, 0.8, 0), row(5, 8, 0, 0.8, 0)};
        sweep.rows[0].failing = {"bead.cover"};
        CHECK(best_deg() == Approx(5));
    }
    SECTION("a good reach does not outweigh checks that fail") {
        sweep.rows = {row(-30, 8, 0, 0.9, 30), row(0, 8, 0, 0.4, 0)};
        CHECK(best_deg() == Approx(-30));
        for (SweepRow& r : sweep.rows) r.failing.reset();
        sweep.rows[0].failing = {"pose.slide"};
        CHECK(best_deg() == Approx(0));
        CHECK(sweep.reason.find("least tilt that releases") != std::string::npos);
    }
    SECTION("rows without a line or with unknown figures") {
        sweep.rows = {row(0, 8, 0, 0.8, 0), row(5, std::nan(""), 0, std::nan(""), std::nan(""))};
        sweep.rows[0].has_line = false;
        CHECK(best_deg() == Approx(5));
        sweep.rows.pop_back();
        CHECK(shortlist(sweep, release, 4).empty());
        recommend(sweep, {});
        CHECK_FALSE(sweep.best);
        CHECK(sweep.reason.find("no tilt") != std::string::npos);
    }
}
