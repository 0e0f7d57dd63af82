// SPDX-License-Identifier: GPL-3.0-or-later
// Rows and section of the strips under the panels: chosen by the dips that the checks find.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "cradlewright/stages/panel_support.hpp"
#include "support/cradle_rig.hpp"

using namespace cradlewright;
using test::CradleRig;

namespace {

CradleRig box_rig(double width, int pieces = 1) {
    CradleRig rig(test::make_box({600, 120, 60}));
    rig.surround(width, pieces);
    return rig;
}

std::size_t rows_of(const Cradle& cradle, const std::string& edge) {
    return static_cast<std::size_t>(std::count_if(cradle.stringers.begin(), cradle.stringers.end(),
                                                  [&](const Stringer& s) { return s.edge == edge; }));
}

/// Worst of dip over limit, soft end of the sheet, over the panels of an edge; recomputed on the finished cradle.
double worst_share(const CradleRig& rig, const Cradle& cradle, const std::string& edge) {
    double worst = 0;
    for (const FlangePanel& panel : rig.flange.panels) {
        if (panel.edge != edge) continue;
        const auto dips =
            panel_dips(panel, panel_run(panel, rig.parting), panel_supports(panel, cradle, rig.settings), rig.settings);
        REQUIRE(dips);
        const Spread& e = material(stock(rig.settings, panel.part.stock).material).e_mpa;
        worst = std::max({worst, dips->near_plug_mm / rig.settings.limits.panel_dip.mm() * e.value / e.low,
                          dips->away_mm / rig.settings.limits.panel_dip_away.mm() * e.value / e.low});
    }
    return worst;
}

double worst_strip_dip(const CradleRig& rig, const Cradle& cradle) {
    double worst = 0;
    for (const Stringer& s : cradle.stringers) {
        const double e = material(stock(rig.settings, s.part.stock).material).e_mpa.low;
        const auto beam = stringer_beam(s, stringer_supports(s, cradle), rig.settings, e);
        REQUIRE(beam);
        worst = std::max(worst, stringer_dip(*beam, rig.settings).dip_mm);
    }
    return worst;
}

}  // namespace

TEST_CASE("rows of strips go on outward until the panels keep their limits", "[stages][cradle][strips]") {
    CradleRig rig = box_rig(60);
    const Cradle usual = rig.build();
    CHECK(worst_share(rig, usual, "front") <= 1);
    CHECK(rows_of(usual, "front") == rows_of(usual, "back"));
    rig.settings.limits.panel_dip_away = Length::mm(15);
    CHECK(rows_of(rig.build(), "front") == 1);
    rig.settings.limits.panel_dip_away = Length::mm(1);
    rig.settings.flange.stock = "pvc-6";  // eight times as stiff; only the design changes, the hand-made sheet does not
    for (FlangePanel& panel : rig.flange.panels) {
        panel.part.stock = "pvc-6";
        panel.part.thickness_mm = 6;
    }
    CHECK(rows_of(rig.build(), "front") == 1);

    CradleRig wide = box_rig(250);
    const Cradle cradle = wide.build();
    CHECK(rows_of(cradle, "front") > rows_of(usual, "front"));
    for (const Trial& t : cradle.trials)
        if (t.what == "strips") CHECK(t.is_enough == (t.value_mm <= t.limit_mm));
}

TEST_CASE("the first row lies under the inner edge, the last near the outer one", "[stages][cradle][strips]") {
    CradleRig rig = box_rig(60);
    rig.settings.limits.panel_dip_away = Length::mm(0.3);
    const Cradle cradle = rig.build();
    REQUIRE(rows_of(cradle, "front") >= 2);
    std::vector<double> ys;
    for (const Stringer& s : cradle.stringers)
        if (s.edge == "front") ys.push_back(s.from.y);
    const double inner = 60 + rig.settings.flange.gap.mm();
    // Free distance, 2 mm and half a strip behind the edge; 12 mm and half a strip inside the other.
    CHECK(ys[0] == Approx(inner + 4 + 2 + 6).margin(0.01));
    CHECK(ys[1] == Approx(inner + 60 - 12 - 6).margin(0.01));
}

TEST_CASE("a panel that curves in plan gets strips from upright to upright", "[stages][cradle][strips]") {
    CradleRig rig(test::make_box({600, 120, 60}));
    constexpr double half = 300, width = 75, bulge = 45;
    const auto inner = [&](double x) { return 60.5 + bulge * (1 - x * x / (half * half)); };
    std::vector<Vec2> plan;
    for (double x = -half; x <= half; x += 10) plan.push_back({x, inner(x)});
    for (double x = half; x >= -half; x -= 10) plan.push_back({x, inner(x) + width});
    rig.settings.flange.width = Length::mm(width);
    rig.add_panel("front", plan, {0, 1});
    rig.flange.panels.back().loop = 1;  // beside no line: the usual two rows, whatever their dips
    const Cradle cradle = rig.build();

    for (const bool is_outer : {false, true}) {
        CAPTURE(is_outer);
        std::vector<const Stringer*> row;
        for (const Stringer& s : cradle.stringers) {
            const Vec3 middle = (s.from + s.to) * 0.5;
            if ((middle.y > inner(middle.x) + width / 2) == is_outer) row.push_back(&s);
        }
        REQUIRE(row.size() > 1);
        std::ranges::sort(row, {}, [](const Stringer* s) { return s->from.x; });
        CHECK(row.front()->from.x < -half + 60);
        CHECK(row.back()->to.x > half - 60);
        for (std::size_t i = 0; i + 1 < row.size(); ++i) {
            // Both bear on the upright over which they meet.
            CHECK(row[i + 1]->from.x - row[i]->to.x < 3);
            const double joint = 0.5 * (row[i + 1]->from.x + row[i]->to.x);
            CHECK(std::ranges::any_of(cradle.ribs, [&](const Rib& r) { return std::abs(r.station_mm - joint) < 1; }));
        }
        for (const Stringer* s : row) {
            // 4 mm free, 2 mm, half a strip; 12 mm and half a strip from the rim; both square to a strip, not along y.
            const double nearest = is_outer ? 18 : 12;
            for (double t = 0; t <= 1; t += 0.01) {
                const Vec3 p = s->from + (s->to - s->from) * t;
                const double from_edge = is_outer ? inner(p.x) + width - p.y : p.y - inner(p.x);
                CHECK(from_edge > nearest - 0.5);
                CHECK(from_edge < 1.1 * nearest + 0.15 * width);
            }
        }
    }
}

TEST_CASE("where no row helps the best is kept", "[stages][cradle][strips]") {
    CradleRig rig = box_rig(60);
    rig.settings.limits.panel_dip =
        Length::mm(0.002);  // beside the plug the sheet overhangs, whatever lies further out
    const Cradle cradle = rig.build();
    CHECK(rows_of(cradle, "front") >= 1);
    CHECK(worst_share(rig, cradle, "front") > 1);
    double least = 1e9;
    for (const Trial& t : cradle.trials)
        if (t.what == "strips" && t.tried.starts_with("front")) least = std::min(least, t.value_mm / t.limit_mm);
    CHECK(worst_share(rig, cradle, "front") <
          1.25 * least);  // a row that gains less than a tenth is not worth its work
}

TEST_CASE("the slightest strip that keeps the limit is chosen", "[stages][cradle][strips]") {
    CradleRig rig = box_rig(60);
    rig.settings.cradle.ribs = 2;
    rig.settings.limits.stringer_dip = Length::mm(1.5);
    const Cradle slight = rig.build();
    rig.settings.limits.stringer_dip = Length::mm(0.2);
    const Cradle stiff = rig.build();
    CHECK(slight.stringers.front().part.stock == "pine-12x20");
    CHECK(stiff.stringers.front().part.stock == "pine-20x40");
    CHECK(worst_strip_dip(rig, slight) > 0.2);
    CHECK(worst_strip_dip(rig, stiff) <= 0.2);
    CHECK(stiff.stringers.front().height_mm == 40);
    // Told ones stay.
    set_setting(rig.settings, "cradle.stringer-height", "18mm", Origin::job, "test");
    const Cradle told = rig.build();
    CHECK(told.stringers.front().height_mm == Approx(18));
    CHECK(
        std::none_of(told.trials.begin(), told.trials.end(), [](const Trial& t) { return t.what == "strip section"; }));
}

TEST_CASE("trials are the dips of the finished cradle", "[stages][cradle][strips]") {
    const CradleRig rig = box_rig(60);
    const Cradle cradle = rig.build();
    for (const Trial& t : cradle.trials) {
        if (!t.is_enough) continue;
        if (t.what == "strip section") CHECK(t.value_mm == Approx(worst_strip_dip(rig, cradle)).epsilon(0.02));
        if (t.what == "strips" && t.tried.starts_with("front"))
            CHECK(t.value_mm / t.limit_mm == Approx(worst_share(rig, cradle, "front")).epsilon(0.02));
    }
}

// P L^3 / (48 EI) + P L / (4 k A G), k = 5/6, and 5 w L^4 / (384 EI) + w L^2 / (8 k A G): simply supported beam with
// shear, Roark Table 8.1 and ch. 8, from memory.
TEST_CASE("a strip on two plates dips as a beam on two supports", "[stages][cradle][strips]") {
    Cradle cradle;
    for (const double x : {0.0, 400.0}) {
        Rib rib;
        rib.station_mm = x;
        rib.part.thickness_mm = 9;
        rib.part.frame = {{x + 4.5, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}};
        rib.part.outline.outer = make_rectangle({-50, 0}, {50, 80}, CutKind::rough);
        cradle.ribs.push_back(rib);
    }
    Settings settings;
    Stringer strip;
    strip.part.stock = "pine-12x20";
    strip.width_mm = 12;
    strip.height_mm = 20;
    strip.from = {-4.5, 0, 100};
    strip.to = {404.5, 0, 100};
    strip.part.frame = {{-4.5, 0, 80}, {1, 0, 0}, {0, 0, 1}, {0, -1, 0}};
    const std::vector<double> supports = stringer_supports(strip, cradle);
    REQUIRE(supports == std::vector<double>{4.5, 404.5});
    const double e = 8500, ei = e * 12 * 8000 / 12, ga = 5.0 / 6 * 240 * e / 16;
    const double w = 9.80665 * 400e-9 * 240, p = settings.limits.squeegee_load.n();
    const double load = p * 64e6 / (48 * ei) + p * 400 / (4 * ga);
    const double own = 5 * w * 256e8 / (384 * ei) + w * 160000 / (8 * ga);
    const WorstDip dip = stringer_dip(*stringer_beam(strip, supports, settings, e), settings);
    CHECK(dip.dip_mm == Approx(load + own).epsilon(5e-3));  // places of the squeegee lie 12.5 mm apart at most
    // A strip that ends over a plate bears there when 3 mm of it do.
    strip.from.x = strip.part.frame.origin.x = 1.4;
    CHECK(stringer_supports(strip, cradle).size() == 2);
    strip.from.x = strip.part.frame.origin.x = 1.6;
    CHECK(stringer_supports(strip, cradle).size() == 1);
}

TEST_CASE("strips that meet bear on one upright, both", "[stages][cradle][strips]") {
    // A plan that bends by 0.3 at x = 12, between the rib at 0 and the next: no strip serves both panels.
    CradleRig rig(test::make_box({600, 120, 60}));
    rig.settings.flange.width = Length::mm(60);
    rig.settings.cradle.ribs = 5;
    // Strips 20 mm wide would bear by 2.8 mm only, so that of the settings is told.
    rig.settings.origin["cradle.stringer-stock"] = Origin::job;
    const auto edge = [](double x) { return 60.5 + (x > 12 ? 0.3 * (x - 12) : 0.0); };
    rig.add_panel("front", {{-350, edge(-350)}, {12, edge(12)}, {12, edge(12) + 60}, {-350, edge(-350) + 60}}, {0, 1});
    rig.add_panel("front", {{12, edge(12)}, {350, edge(350)}, {350, edge(350) + 60}, {12, edge(12) + 60}},
                  normalized(Vec2{-0.3, 1}));
    const Cradle cradle = rig.build();
    REQUIRE(cradle.stringers.size() >= 2);  // the first two are those of the inner row
    // The last support of the one and the first of the other are the same rib.
    const Stringer &left = cradle.stringers[0], &right = cradle.stringers[1];
    REQUIRE(left.to.x < right.from.x);
    const auto place = [&](const Stringer& s, double t) { return s.from.x + normalized(s.to - s.from).x * t; };
    const double last = place(left, stringer_supports(left, cradle).back()),
                 first = place(right, stringer_supports(right, cradle).front());
    const auto rib = std::find_if(cradle.ribs.begin(), cradle.ribs.end(),
                                  [&](const Rib& r) { return std::abs(r.station_mm - last) < 4.5; });
    REQUIRE(rib != cradle.ribs.end());
    CHECK(std::abs(rib->station_mm - first) < 4.5);
    CHECK(last < first);
    std::string who;
    CHECK(test::shared_area(test::parts_of(rig, cradle), who) < 0.5);
    INFO(who);
}

TEST_CASE("what a panel is glued to is drawn on its pattern", "[stages][cradle][strips]") {
    CradleRig rig = box_rig(60);
    const Cradle cradle = rig.build();
    const Flange marked = mark_glue_lines(rig.flange, cradle, rig.settings);
    const double step = 3;  // between the places where contact is looked for
    for (std::size_t i = 0; i < marked.panels.size(); ++i) {
        const FlangePanel& panel = marked.panels[i];
        INFO(panel.id);
        const std::vector<GlueLine> lines = glue_lines(panel, cradle, rig.settings);
        for (const GlueLine& line : lines) {
            INFO(line.part);
            const Vec3 from = placed(panel.part, line.from), to = placed(panel.part, line.to);
            // A rib stands square to the span, its middle at its station; a strip's ends lie on its own line.
            for (const Rib& rib : cradle.ribs)
                if (rib.part.id == line.part) {
                    CHECK(from.x == Approx(rib.station_mm).margin(1e-6));
                    CHECK(to.x == Approx(rib.station_mm).margin(1e-6));
                }
            for (const Stringer& strip : cradle.stringers)
                if (strip.part.id == line.part) {
                    CHECK(from.y == Approx(strip.from.y).margin(1e-6));
                    CHECK(norm(to - from) <= norm(strip.to - strip.from) + step);
                }
            const auto& marks = panel.part.marks;
            CHECK(std::any_of(marks.begin(), marks.end(),
                              [&](const Mark& m) { return m.kind == MarkKind::text && m.text == line.part; }));
        }
        // Every strip of the edge is among them.
        for (const Stringer& strip : cradle.stringers)
            if (strip.edge == panel.edge)
                CHECK(std::any_of(lines.begin(), lines.end(),
                                  [&](const GlueLine& line) { return line.part == strip.part.id; }));
        CHECK(panel.part.marks.size() > rig.flange.panels[i].part.marks.size());
    }
}
