// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/stages/scraper.hpp"
#include "support/shapes.hpp"

// A card is a disc of the bead's radius between two straight edges. Everything expected follows from that.

using namespace cradlewright;
using std::numbers::pi;

namespace {

struct Job {
    PosedPlug posed;
    Parting parting;
    Flange flange;
    Settings settings;
    Beads beads;

    [[nodiscard]] std::vector<ScraperCard> cards() const {
        return make_scraper_cards(beads, flange, parting, settings);
    }
};

/// A box 400 x 100 x 120, panels along front and back at its middle height, sloping so that they meet the wall at the
/// given corners.
Job box_job(double radius_mm, double front_deg, double back_deg) {
    Job job;
    job.settings.bead.radius = format_exact(Quantity::of(Length::mm(radius_mm)));
    job.posed.plug.mesh = std::make_shared<const TriMesh>(test::make_box({400, 100, 120}));
    PartingLoop loop;
    for (int k = 0; k <= 10; ++k) loop.panel_line.push_back({100.0 - 20 * k, 50, 0});
    for (int k = 0; k <= 10; ++k) loop.panel_line.push_back({-100.0 + 20 * k, -50, 0});
    loop.edges = {{"front", EdgeRule::silhouette, 0, 10, {}}, {"back", EdgeRule::silhouette, 11, 21, {}}};
    job.parting.loops.push_back(loop);
    for (const bool is_front : {true, false}) {
        const double slope = Angle::deg((is_front ? front_deg : back_deg) - 90).rad(), side = is_front ? 1 : -1;
        FlangePanel panel;
        panel.edge = is_front ? "front" : "back";
        panel.id = "panel-" + panel.edge + "-1";
        panel.first = is_front ? 0 : 11;
        panel.last = panel.first + 10;
        panel.point = {0, 50 * side, 0};
        panel.normal = {0, side * std::sin(slope), std::cos(slope)};
        panel.width_mm = 60;
        job.flange.panels.push_back(panel);
    }
    return job;
}
Job laid(Job job) {
    job.beads = lay_beads(job.posed, job.parting, job.flange, job.settings);
    return job;
}

double height(const FlangePanel& panel, Vec3 p) { return dot(p - panel.point, panel.normal); }

/// Points of the card's edge all over its thickness, fixture frame.
std::vector<Vec3> rim(const PlatePart& part, std::optional<CutKind> only = {}) {
    std::vector<Vec3> points;
    const auto& v = part.outline.outer.vertices;
    for (std::size_t i = 0; i < v.size(); ++i) {
        if (only && v[i].cut != *only) continue;
        Vec2 from = v[i].at;
        for (const Vec2 to : flatten_edge(v[i].at, v[(i + 1) % v.size()].at, v[i].bulge, 1e-4)) {
            for (const double z : {0.0, -part.thickness_mm})
                for (const double share : {0.0, 0.5}) {
                    const Vec2 p = from + (to - from) * share;
                    points.push_back(part.frame.to_parent(Vec3{p.x, p.y, z}));
                }
            from = to;
        }
    }
    return points;
}

}  // namespace

TEST_CASE("a radius card's nose is an exact arc tangent to both riding edges", "[stages][scraper]") {
    const double r = GENERATE(5.0, 9.525, 16.0), corner = GENERATE(50.0, 90.0, 140.0);
    Job job = box_job(r, corner, corner);
    job.settings.mould.use = MouldUse::single;
    const auto cards = laid(job).cards();
    REQUIRE(cards.size() == 1);
    const ScraperCard& card = cards[0];
    CHECK(card.edges == std::vector<std::string>{"front", "back"});
    CHECK(card.radius_mm == r);
    CHECK(Angle::rad(card.wedge_rad).deg() == Approx(corner));
    const auto& v = card.part.outline.outer.vertices;
    const auto nose =
        std::ranges::find_if(v, [](const PathVertex& p) { return p.bulge != 0 && p.cut == CutKind::fit; });
    REQUIRE(nose != v.end());
    REQUIRE(nose != v.begin());
    const PathVertex &before = *(nose - 1), &after = *(nose + 1), &end = *(nose + 2);
    const Arc arc = arc_of(nose->at, after.at, nose->bulge);
    CHECK(arc.radius == Approx(r).epsilon(1e-9));
    CHECK(arc.sweep_rad == Approx(pi - Angle::deg(corner).rad()).margin(1e-9));
    CHECK(dot(normalized(nose->at - before.at), edge_direction(nose->at, after.at, nose->bulge)) == Approx(1));
    CHECK(dot(normalized(end.at - after.at), -edge_direction(after.at, nose->at, -nose->bulge)) == Approx(1));
    CHECK(cross(end.at - after.at, Vec2{} - after.at) == Approx(0).margin(1e-9));  // edges meet in the origin
    // Convex, so nothing of it reaches where the straight edges do not.
    CHECK(min_inside_radius(card.part.outline, CutKind::fit).radius_mm > 1e6);
    CHECK(min_inside_radius({card.part.outline.outer, {}}, CutKind::rough).radius_mm > 1e6);
}

TEST_CASE("in use a card rides on panel and plug and enters neither", "[stages][scraper]") {
    const double r = 9.525, front = GENERATE(52.0, 90.0, 121.0);
    Job job = box_job(r, front, 90);
    job.settings.mould.use = MouldUse::single;
    job = laid(job);
    for (const ScraperCard& card : job.cards()) {
        const auto& panels = job.flange.panels;
        const FlangePanel& panel = *std::ranges::find(panels, card.edges.front(), &FlangePanel::edge);
        const double side = card.edges.front() == "front" ? 1 : -1;
        double least_panel = 1e9, least_plug = 1e9;
        for (const Vec3 p : rim(card.part)) {
            least_panel = std::min(least_panel, height(panel, p));
            least_plug = std::min(least_plug, side * p.y - 50);
        }
        // The ball rests up to contact_mm / 100 off the wall.
        CHECK(least_panel == Approx(0).margin(1e-9));
        CHECK(least_plug == Approx(0).margin(0.01));
        CHECK(least_plug > -1e-9);
        CHECK(card.part.thickness_mm == Approx(2));
        CHECK(card.part.frame.to_local(card.at).z == Approx(-1));
    }
}

TEST_CASE("the nose leaves the bead's own arc also where the corner is wider than the card", "[stages][scraper]") {
    Job job = box_job(12.0, 93.0, 90.0);
    job.settings.mould.use = MouldUse::single;
    job = laid(job);
    const auto cards = job.cards();
    REQUIRE(cards.size() == 1);  // both fall into 90 to 95 deg
    CHECK(Angle::rad(cards[0].wedge_rad).deg() == Approx(90));
    CHECK(Angle::rad(cards[0].corner_max_rad).deg() == Approx(93).margin(1e-6));
    // Put where it rides on the panel and its disc is the ball: the disc's feet are the bead's.
    const ScraperCard& card = cards[0];
    const BeadSection& s = *std::ranges::find_if(job.beads.runs[0].sections, &BeadSection::is_valid);
    const Vec3 middle =
        card.part.frame.to_parent(Vec3{0, card.radius_mm / std::sin(card.wedge_rad / 2), -card.part.thickness_mm / 2});
    const BeadSection& at = *std::ranges::find(job.beads.runs[0].sections, card.at, &BeadSection::joint);
    CHECK(norm(middle - at.center) < 1e-9);
    CHECK(norm(s.center - s.on_plug) == Approx(card.radius_mm).margin(0.001));
}

TEST_CASE("corners five degrees apart get cards of their own, half 2's corners count", "[stages][scraper]") {
    Job job = box_job(10.0, 110.0, 70.0);
    job.settings.mould.use = MouldUse::single;
    const auto single = laid(job).cards();
    REQUIRE(single.size() == 2);
    CHECK(single[0].edges == std::vector<std::string>{"back"});
    CHECK(single[1].edges == std::vector<std::string>{"front"});
    CHECK(single[0].part.id != single[1].part.id);
    // Under half 1's flange the wall meets the same plane at the supplement.
    job.settings.mould.use = MouldUse::trim_and_bond;
    const auto both = laid(job).cards();
    REQUIRE(both.size() == 1);
    CHECK(Angle::rad(both[0].corner_min_rad).deg() == Approx(70).margin(1e-6));
    CHECK(Angle::rad(both[0].corner_max_rad).deg() == Approx(110).margin(1e-6));
}

TEST_CASE("a card says what it is and its words lie on it", "[stages][scraper]") {
    const Job job = laid(box_job(GENERATE(4.0, 9.525, 16.0), 90, 90));
    for (const ScraperCard& card : job.cards()) {
        const Polygons outline = to_polygons({card.part.outline.outer, {}}, 0.01);
        std::string all;
        for (const Mark& mark : card.part.marks) {
            REQUIRE(mark.kind == MarkKind::text);
            all += mark.text + "\n";
            const double width = 0.85 * mark.size_mm * static_cast<double>(mark.text.size());
            for (const Vec2 p : {Vec2{0, 0}, Vec2{width, 0}, Vec2{width, mark.size_mm}, Vec2{0, mark.size_mm}})
                CHECK(contains(outline, mark.points[0] + p));
        }
        CHECK_THAT(all, Catch::Contains(card.part.id) && Catch::Contains("front, back") && Catch::Contains("R "));
    }
}

TEST_CASE("the sheet of the cards is told", "[stages][scraper]") {
    Job job = laid(box_job(10, 90, 90));
    CHECK(job.cards().front().part.stock == "pvc-2");
    job.settings.bead.card_stock = "hardboard-3";
    CHECK(job.cards().front().part.stock == "hardboard-3");
    CHECK(job.cards().front().part.thickness_mm == Approx(3));
}

TEST_CASE("no clay, no cards", "[stages][scraper]") {
    CHECK(laid(box_job(0, 90, 90)).cards().empty());
    Job bare = box_job(10, 90, 90);
    bare.settings.edges["front"].bead = "none";
    bare.settings.edges["back"].bead = "none";
    CHECK(laid(bare).cards().empty());
}

// The wall leans from 90 to 90 + turn over the edge's run: a card of one wedge stands off by strip x sin(turn) at its
// end.
TEST_CASE("a tapering strip's stepped cards say what they fit, and are more where one would not", "[stages][scraper]") {
    const double turn = GENERATE(2.0, 12.0) * pi / 180, strip = 6;
    Job job = box_job(10, 90, 90);
    job.posed.plug.mesh =
        std::make_shared<const TriMesh>(test::placed(test::make_box({400, 100, 8}), Frame3{.origin = {0, 0, 2}}));
    for (PartingEdge& edge : job.parting.loops[0].edges) {
        edge.strip_mm = 8;
        edge.strip_up_mm = strip;
        edge.strip_most_mm = 12;
        edge.strip_share = 0.75;
    }
    job = laid(job);
    job.beads.groove.reset();
    for (BeadRun& run : job.beads.runs)
        for (std::size_t k = 0; k < run.sections.size(); ++k)
            run.sections[k].corner_rad =
                pi / 2 + turn * static_cast<double>(k) / static_cast<double>(run.sections.size() - 1);
    const auto cards = job.cards();
    const std::size_t per_edge = strip * std::sin(turn) > 0.5 ? 3 : 1;
    REQUIRE(cards.size() == 2 * per_edge);
    for (const ScraperCard& card : cards) {
        CHECK(card.strip_least_mm == Approx(6));
        CHECK(card.strip_most_mm == Approx(9));
        CHECK(strip * std::sin(card.corner_max_rad - card.corner_min_rad) <= 0.5);
        CHECK(card.part.note.find("strips of 6 mm to 9 mm") != std::string::npos);
    }
    CHECK(cards.front().corner_min_rad == Approx(pi / 2));
    CHECK(cards[per_edge - 1].corner_max_rad == Approx(pi / 2 + turn));
}

TEST_CASE("a stepped card's step is what is left of the strip", "[stages][scraper]") {
    // A squared edge of 8 mm split at 3/4: half 1 has 6 mm, keeps 2 of them, so the ramp is 4 high and the card rides
    // on 2 mm of strip up to the corner. Half 2 has 2 mm, keeps half of them.
    Job job = box_job(10, 90, 90);
    job.posed.plug.mesh = std::make_shared<const TriMesh>(
        test::placed(test::make_box({400, 100, 8}), Frame3{.origin = {0, 0, 2}}));  // z from -2 to 6
    for (PartingEdge& edge : job.parting.loops[0].edges) {
        edge.strip_mm = 8;
        edge.strip_up_mm = 6;
    }
    job = laid(job);
    const auto cards = job.cards();
    REQUIRE(cards.size() == 4);  // two edges, two halves
    for (const ScraperCard& card : cards) {
        const bool is_upper = card.part.note.find("half 1") != std::string::npos;
        CHECK(card.kind == BeadKind::ramp);
        CHECK(card.ramp_height_mm == Approx(is_upper ? 4 : 1));
        CHECK(card.step_mm == Approx(is_upper ? 2 : 1));
        // In use: fit edges touch the panel, the clay's flat and the strip, which ends at its corner.
        double top = 0, least_out = 1e9, least_up = 1e9;
        for (const Vec3 p : rim(card.part, CutKind::fit)) {
            const double up = is_upper ? p.z : -p.z;
            top = std::abs(std::abs(p.y) - 50) < 1e-6 ? std::max(top, up) : top;
            least_out = std::min(least_out, std::abs(p.y) - 50);
            least_up = std::min(least_up, up);
        }
        CHECK(top == Approx(is_upper ? 6 : 2));
        CHECK(least_out == Approx(0).margin(1e-9));
        CHECK(least_up == Approx(0).margin(1e-9));
    }
    // The clay ends at the trim line, below the strip's corner.
    for (const BeadRun& run : job.beads.runs) {
        CHECK(run.kind == BeadKind::ramp);
        for (const BeadSection& s : run.sections) {
            CHECK(s.on_plug.z == Approx(4));
            CHECK(s.area_mm2 == Approx(4 * 4 / 2));  // a flat at 45 deg
            CHECK(s.plug_strip_mm == Approx(4));
        }
        CHECK(run.volume_mm3 == Approx(8 * 200));
    }
}
