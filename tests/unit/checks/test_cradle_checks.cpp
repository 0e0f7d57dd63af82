// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "checks/families.hpp"
#include "cradlewright/stages/cradle.hpp"
#include "support/plugs.hpp"
#include "support/shapes.hpp"

using namespace cradlewright;

namespace {

/// A level rectangular panel; `out` = direction away from the plug in plan.
FlangePanel level_panel(const std::string& edge, Vec2 low, Vec2 high, double z, Vec3 out, double thickness) {
    FlangePanel panel;
    panel.id = panel.part.id = "panel-" + edge + "-1";
    panel.edge = edge;
    panel.normal = {0, 0, 1};
    panel.point = {low.x, low.y, z};
    panel.part.kind = PartKind::panel;
    panel.part.thickness_mm = thickness;
    panel.part.frame = {panel.point, cross(out, Vec3{0, 0, 1}), out, {0, 0, 1}};
    std::vector<Vec2> corners;
    for (const Vec2 p : {low, Vec2{high.x, low.y}, high, Vec2{low.x, high.y}}) {
        const Vec3 q = panel.part.frame.to_local(Vec3{p.x, p.y, z});
        corners.push_back({q.x, q.y});
    }
    panel.part.outline.outer = make_loop(corners, CutKind::fit);
    return panel;
}

/// A plug with its lowest point at clearance + pad, panels round its box with their tops `up` above that point.
Design design_of(TriMesh mesh, double up, const Settings& settings = {}) {
    Design design;
    design.settings = settings;
    design.posed = test::posed_plug(std::move(mesh));
    const double lowest = settings.cradle.clearance.mm() + settings.cradle.pad.mm();
    design.posed = shifted(design.posed, lowest - design.posed.box_fixture.low.z);
    const Vec3 a = design.posed.box_fixture.low, b = design.posed.box_fixture.high;
    const double gap = settings.flange.gap.mm(), w = settings.flange.width.mm(), z = lowest + up;
    const double t = stock(settings, settings.flange.stock).thickness_mm;
    design.flange.panels = {level_panel("front", {a.x - w, b.y + gap}, {b.x + w, b.y + w}, z, {0, 1, 0}, t),
                            level_panel("back", {a.x - w, a.y - w}, {b.x + w, a.y - gap}, z, {0, -1, 0}, t),
                            level_panel("end-a", {a.x - w, a.y - gap}, {a.x - gap, b.y + gap}, z, {-1, 0, 0}, t),
                            level_panel("end-b", {b.x + gap, a.y - gap}, {b.x + w, b.y + gap}, z, {1, 0, 0}, t)};
    design.cradle = build_cradle(design.posed, design.parting, design.flange, settings);
    return design;
}

Check one(const std::vector<Check>& checks, const std::string& subject) {
    const auto it = std::find_if(checks.begin(), checks.end(), [&](const Check& c) { return c.subject == subject; });
    REQUIRE(it != checks.end());
    return *it;
}

double number_after(const std::string& text, const std::string& words) {
    const auto at = text.find(words);
    REQUIRE(at != std::string::npos);
    return std::stod(text.substr(at + words.size()));
}

double degrees(const Quantity& q) { return q.value * 180 / std::acos(-1.0); }

}  // namespace

TEST_CASE("cradle.support fails without room for ties and passes on its advice", "[checks][cradle]") {
    Settings low;
    low.cradle.clearance = Length::mm(18);  // 18 and a pad of 3, less pad and 4 mm free: 14 mm, under the 16 of a tie
    const Check bad = check_cradle_support(design_of(test::make_box({300, 120, 60}), 30, low)).front();
    CHECK(bad.verdict == Verdict::fail);
    CHECK(bad.value.value == 0);
    CHECK(bad.advice.find("only 14 mm between base and plug") != std::string::npos);
    Settings advised = low;
    advised.cradle.clearance = Length::mm(number_after(bad.advice, "cradle.clearance to "));
    const Check good = check_cradle_support(design_of(test::make_box({300, 120, 60}), 30, advised)).front();
    CHECK(good.verdict == Verdict::pass);
    CHECK(good.value.value == 2);
}

TEST_CASE("cradle.support just inside the room that ties need", "[checks][cradle]") {
    Settings settings;
    settings.cradle.clearance = Length::mm(20);  // 16 mm of room
    CHECK(check_cradle_support(design_of(test::make_box({300, 120, 60}), 60, settings)).front().verdict ==
          Verdict::pass);
}

TEST_CASE("cradle.support says when ties were told away", "[checks][cradle]") {
    Settings settings;
    settings.cradle.ties = 0;
    const Check c = check_cradle_support(design_of(test::make_box({300, 120, 60}), 30, settings)).front();
    CHECK(c.verdict == Verdict::fail);
    CHECK(c.advice.find("cradle.ties to 2") != std::string::npos);
}

TEST_CASE("cradle.support finds a panel that lies on nothing", "[checks][cradle]") {
    Design design = design_of(test::make_box({300, 120, 60}), 30);
    CHECK(check_cradle_support(design).back().verdict == Verdict::pass);
    // Take away the strips and all seats but one of the front panel.
    design.cradle.stringers.clear();
    bool kept = false;
    std::erase_if(design.cradle.joints, [&](const Joint& j) {
        if (j.kind != JointKind::seat || j.part_b != "panel-front-1") return false;
        return std::exchange(kept, true);
    });
    const Check c = check_cradle_support(design).back();
    CHECK(c.subject == "panel-front-1");
    CHECK(c.value.value == 1);
    CHECK(c.verdict == Verdict::fail);
}

TEST_CASE("pose.slide: the rise of a prism's flank", "[checks][cradle]") {
    // A square bar on its edge: both flanks stand at 45 deg.
    const Frame3 on_edge = rotation_about({1, 0, 0}, std::acos(-1.0) / 4);
    const Design design = design_of(test::placed(test::make_box({300, 100, 100}), on_edge), 65);
    const double friction = std::atan(design.settings.limits.friction) * 180 / std::acos(-1.0);
    for (const char* way : {"toward front", "toward back"}) {
        const Check c = one(check_pose_slide(design), way);
        CHECK(degrees(c.value) == Approx(45 + friction).margin(0.1));
        CHECK(c.verdict == Verdict::pass);
    }
}

TEST_CASE("pose.slide: a level plug on level panels is held by friction alone", "[checks][cradle]") {
    // Panels level with the underside: no stop, no flank, no edge stands in the way.
    Settings settings;
    const auto slide = [&] { return check_pose_slide(design_of(test::make_box({300, 120, 60}), 0, settings)); };
    for (const Check& c : slide()) {
        INFO(c.subject);
        CHECK(c.verdict == Verdict::fail);
        CHECK(degrees(c.value) == Approx(std::atan(0.1) * 180 / std::acos(-1.0)).margin(0.1));
    }
    settings.limits.friction = number_after(slide().front().advice, "rise over run; ");
    for (const Check& c : slide()) CHECK(c.verdict == Verdict::pass);
}

TEST_CASE("pose.slide: a stop holds where the end wall reaches below the panels", "[checks][cradle]") {
    const Design deep = design_of(test::make_box({300, 120, 60}), 30);
    REQUIRE(deep.cradle.stops.size() == 2);
    CHECK(one(check_pose_slide(deep), "toward end-a").advice == "held by the stop");
    CHECK(one(check_pose_slide(deep), "toward end-b").advice == "held by the stop");
    // 4 mm of wall above the underside: the sheet takes 3, so nothing is left for a stop, but its edge bears.
    const Design shallow = design_of(test::make_box({300, 120, 60}), 4);
    CHECK(shallow.cradle.stops.empty());
    CHECK(one(check_pose_slide(shallow), "toward end-b").advice == "held by a panel's edge");
}
