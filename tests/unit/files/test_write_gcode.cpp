// SPDX-License-Identifier: GPL-3.0-or-later
// Written programs are run by a simulator after the published report (tests/support/rs274.hpp) and by the interpreter
// of Debian's linuxcnc-uspace, neither of which shares code with planner or writer; the cutter's sweep is then held
// against the parts.
#include <algorithm>
#include <catch2/catch.hpp>
#include <deque>
#include <fstream>
#include <map>
#include <numbers>
#include <regex>

#include "cradlewright/files/write_gcode.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "outside_tools.hpp"
#include "support/router_replay.hpp"
#include "support/router_sheet.hpp"
#include "support/rs274.hpp"

namespace cradlewright {
namespace {

using std::numbers::pi;
using test::Motion;
using test::Program;

struct Job {
    Design design = test::routed_design();
    Layout layout = test::routed_layout();
    [[nodiscard]] RouterOptions& router() { return design.settings.router; }
    [[nodiscard]] SheetPath path() const { return plan_router(design, layout).at(0); }
    [[nodiscard]] std::string text(UnitSystem units = UnitSystem::metric) const { return gcode_text(path(), units); }
    [[nodiscard]] Program run() const { return test::read_rs274(text()); }
    [[nodiscard]] std::vector<Polygons> parts() const {
        std::vector<Polygons> placed;
        for (const Placement& p : layout.sheets[0].placements) placed.push_back(test::placed_polygons(design, p));
        return placed;
    }
    [[nodiscard]] Polygons all_parts() const {
        Polygons all;
        for (const Polygons& part : parts()) all.insert(all.end(), part.begin(), part.end());
        return all;
    }
};

/// Signed: negative inside.
double distance_from(const Polygons& part, Vec2 p) {
    double least = std::numeric_limits<double>::infinity();
    for (const std::vector<Vec2>& loop : part) least = std::min(least, distance_to_polyline(p, loop, true));
    return contains(part, p) ? -least : least;
}

double deepest_entry(const Job& job, const Program& program) {
    const double radius = job.design.settings.router.cutter.mm() / 2;
    double worst = -std::numeric_limits<double>::infinity();
    const std::vector<Polygons> parts = job.parts();
    std::map<std::pair<long, long>, bool> seen;  // passes repeat their way
    for (const test::TipPoint& tip : test::tip_points(program.motions, 0.5)) {
        if (tip.at.z >= 0) continue;
        if (!seen.try_emplace({std::lround(tip.at.x * 1000), std::lround(tip.at.y * 1000)}, true).second) continue;
        for (const Polygons& part : parts) worst = std::max(worst, radius - distance_from(part, {tip.at.x, tip.at.y}));
    }
    return worst;
}

/// Pieces of the sheet that nothing holds together, without holes.
Polygons pieces_of(const Job& job, const Polygons& swept) {
    const Sheet& sheet = job.layout.sheets[0];
    const Polygons board{flatten(make_rectangle({0, 0}, {sheet.length_mm, sheet.width_mm}, CutKind::rough), 0.1)};
    Polygons outer;
    for (const std::vector<Vec2>& loop : subtract(board, swept))
        if (signed_area(loop) > 0) outer.push_back(loop);
    return outer;
}

TEST_CASE("written programs keep the report's rules in both units", "[files][gcode]") {
    const Job job;
    const Program metric = job.run();
    const Program inch = test::read_rs274(job.text(UnitSystem::inch));
    CHECK_FALSE(metric.is_inch);
    CHECK(inch.is_inch);
    REQUIRE(metric.motions.size() > 500);
    const auto end_of = [](const Program& p) { return p.motions.back().to; };
    CHECK(end_of(metric) == Vec3{0, 0, 10});
    CHECK(norm(end_of(inch) - end_of(metric)) < 0.001);
    CHECK(deepest_entry(job, inch) < router_tolerance_mm);
    const auto total = [](const Program& p) {
        double sum = 0;
        for (const Motion& m : p.motions) sum += m.length();
        return sum;
    };
    CHECK(total(inch) == Approx(total(metric)).epsilon(1e-4));
    double cut = 0;
    for (const Motion& m : metric.motions) cut += m.is_rapid ? 0 : m.length();
    CHECK(cut == Approx(job.path().cut_length_mm).epsilon(1e-4));
}

TEST_CASE("the cutter never enters a part", "[files][gcode]") {
    Job job;
    for (const double cutter : {3.0, 6.0, 9.525}) {
        for (const CutDirection direction : {CutDirection::conventional, CutDirection::climb}) {
            job.router().cutter = Length::mm(cutter);
            job.router().direction = direction;
            CAPTURE(cutter, int(direction));
            const double entry = deepest_entry(job, job.run());
            CHECK(entry < router_tolerance_mm);
            CHECK(entry > -router_tolerance_mm);  // and comes as near as that
        }
    }
}

TEST_CASE("without tabs every part and all waste comes free, true to size", "[files][gcode]") {
    Job job;
    job.router().tab_height = Length::mm(0);
    const SheetPath path = job.path();
    const double radius = path.cutter_mm / 2;
    const Polygons swept = test::swept_below(job.run().motions, radius, -path.thickness_mm);
    // Board, two ribs with 40 mm hole and window each, frame, what lies in the frame, plate: 1 + 2 x 3 + 1 + 1 + 1. The
    // waste of the 8 mm holes is gone.
    const Polygons pieces = pieces_of(job, swept);
    CHECK(pieces.size() == 10);
    for (const Polygons& part : job.parts()) {
        // Nothing of the part is missing, and nothing is left on it but what stays in inside corners.
        CHECK(area_of(intersect(part, swept)) < polyline_length(part.front(), true) * router_tolerance_mm / 3);
        double nearest = std::numeric_limits<double>::infinity();
        for (const std::vector<Vec2>& piece : pieces) {
            const double extra = area_of(subtract({piece}, {part.front()})),
                         missing = area_of(subtract({part.front()}, {piece}));
            nearest = std::min(nearest, extra + missing);
        }
        // The outer outline: corners of slot and saddle keep their radius.
        const double corners = area_of(subtract(offset(offset({part.front()}, radius), -radius), {part.front()}));
        const double outline = polyline_length(part.front(), true);
        CHECK(nearest <= corners + outline * router_tolerance_mm);
    }
}

TEST_CASE("tabs hold everything, and are all that does", "[files][gcode]") {
    const Job job;
    const SheetPath path = job.path();
    const Program program = job.run();
    const double radius = path.cutter_mm / 2;
    const Polygons through = test::swept_below(program.motions, radius, -path.thickness_mm);
    CHECK(pieces_of(job, through).size() == 1);
    // Above the tabs' tops all is free again.
    const Polygons above = test::swept_below(program.motions, radius, -path.thickness_mm + path.tab_height_mm + 0.01);
    CHECK(pieces_of(job, above).size() == 10);
    // What holds: as many pieces as the plan says, as wide as told at the side where the cutter rises.
    Polygons tabs;
    constexpr double hair_mm = 0.05;  // between laps of the same way
    for (const std::vector<Vec2>& loop : offset(offset(subtract(above, through), -hair_mm), hair_mm))
        if (signed_area(loop) > 1) tabs.push_back(loop);
    int planned = 0;
    for (const ToolRun& run : path.runs) planned += run.tabs;
    CHECK(static_cast<int>(tabs.size()) == planned);
    CHECK(planned >= 2 * 8);
    for (const std::vector<Vec2>& tab : tabs) {
        Box2 box;
        for (const Vec2 p : tab) box.add(p);
        CAPTURE(box.low.x, box.low.y, box.high.x, box.high.y);
        // Level top of the told width, then down the lead-in's slope; the cutter hollows both ends alike.
        const double drop = path.tab_height_mm / std::tan(Angle::deg(5).rad());
        CHECK(
            area_of(Polygons{tab}) ==
            Approx(path.cutter_mm * (path.tab_width_mm + path.cutter_mm + drop) - pi * radius * radius).epsilon(0.02));
    }
    // Fit edges have none: slot and saddle of both ribs, all of the plate but the two it must have.
    const std::vector<Polygons> parts = job.parts();
    for (std::size_t rib = 0; rib < 2; ++rib) {
        const Placement& at = job.layout.sheets[0].placements[rib];
        for (const std::vector<Vec2>& tab : tabs) {
            for (const Loop& fit : {make_rectangle({52, 70}, {248, 130}, CutKind::rough),
                                    make_rectangle({60, 0}, {69, 25}, CutKind::rough)})
                CHECK(intersect({tab}, to_polygons(moved(Region{fit, {}}, at.angle_rad, at.shift))).empty());
        }
    }
}

TEST_CASE("no cut is deeper than a pass, none goes straight down, travel is high", "[files][gcode]") {
    Job job;
    job.router().pass_depth = Length::mm(2.5);
    const SheetPath path = job.path();
    CHECK(path.passes == 4);  // 9.3 in steps of 2.325
    std::map<std::pair<long, long>, double> floor;
    const Program program = job.run();
    double deepest = 0, steepest = 0;
    std::deque<Vec3> behind;  // what the cutter has just left does not count as cut before
    for (const Motion& m : program.motions) {
        CAPTURE(m.line);
        const double run = norm(Vec2{m.to.x - m.from.x, m.to.y - m.from.y});
        if (m.is_rapid) {
            CHECK((run == 0 || (m.from.z >= path.safe_mm && m.to.z >= path.safe_mm)));
            CHECK((m.to.z > 0 || m.to.z > m.from.z));
        } else {
            CHECK(m.spins);
            if (m.to.z < m.from.z) {
                CHECK(run > 0);
                steepest = std::max(steepest, (m.from.z - m.to.z) / m.length());
                CHECK(m.feed_mm_min <= path.ramp_feed_mm_min + 0.1);
            }
        }
    }
    CHECK(steepest < std::sin(Angle::deg(5).rad()) * 1.01);
    for (const test::TipPoint& tip : test::tip_points(program.motions, 0.1)) {
        if (tip.motion->is_rapid) continue;
        const long x = std::lround(tip.at.x * 4), y = std::lround(tip.at.y * 4);
        double ground = 0;  // of the cells round it, as a lap may miss one at a corner
        for (long i = -1; i <= 1; ++i)
            for (long k = -1; k <= 1; ++k)
                if (const auto cell = floor.find({x + i, y + k}); cell != floor.end())
                    ground = std::min(ground, cell->second);
        deepest = std::max(deepest, ground - tip.at.z);
        behind.push_back(tip.at);
        if (behind.size() < 20) continue;
        const Vec3 left = behind.front();
        behind.pop_front();
        double& cell = floor[{std::lround(left.x * 4), std::lround(left.y * 4)}];
        cell = std::min(cell, left.z);
    }
    CHECK(deepest < 2.325 + 0.05);  // a cell of 0.25 mm lets a ramp fall by 0.03
    CHECK(deepest > 2.3);
}

TEST_CASE("an onion skin stays under every cut and makes tabs needless", "[files][gcode]") {
    Job job;
    job.router().onion_skin = Length::mm(0.2);
    const SheetPath path = job.path();
    double lowest = 0;
    for (const Motion& m : job.run().motions) lowest = std::min(lowest, m.to.z);
    CHECK(lowest == Approx(-8.8));
    CHECK(std::all_of(path.runs.begin(), path.runs.end(), [](const ToolRun& run) { return run.tabs == 0; }));
    CHECK(job.text().find("cut it with a knife") != std::string::npos);
}

TEST_CASE("what lies inside is cut first", "[files][gcode]") {
    // By place, not by label: the plate in the frame's window before the window, windows and holes before outlines.
    const Job job;
    const SheetPath path = job.path();
    const auto run_of = [&](const std::string& part, RunKind kind, std::size_t nth) {
        for (std::size_t i = 0; i < path.runs.size(); ++i)
            if (path.runs[i].parts == part && path.runs[i].kind == kind && nth-- == 0) return i;
        FAIL(part);
        return std::size_t{0};
    };
    CHECK(run_of("plate", RunKind::outside, 0) < run_of("frame", RunKind::inside, 0));
    CHECK(run_of("frame", RunKind::inside, 0) < run_of("frame", RunKind::outside, 0));
    for (const char* rib : {"rib-1", "rib-2"})  // 40 mm hole, 8 mm hole with a cut more within, window
        for (std::size_t k = 0; k < 3; ++k) CHECK(run_of(rib, RunKind::inside, k) < run_of(rib, RunKind::outside, 0));
    // And by the sweep: when a cut begins, what it frees has no cut left to come within.
    for (std::size_t i = 0; i < path.runs.size(); ++i) {
        std::vector<Vec2> ring;
        for (const ToolMove& move : path.runs[i].moves) ring.push_back({move.to.x, move.to.y});
        for (std::size_t k = i + 1; k < path.runs.size(); ++k) {
            const Vec3 later = path.runs[k].moves.front().to;
            CAPTURE(path.runs[i].parts, path.runs[k].parts);
            CHECK_FALSE(is_inside({later.x, later.y}, ring));
        }
    }
}

TEST_CASE("places that the cutter does not reach are told", "[files][gcode]") {
    Job job;
    // At 6 mm: two corners of a slot, four of each window, two where saddle ... keep sqrt 2 - 1 of the radius.
    const double corner = (std::sqrt(2.0) - 1) * 3;
    const SheetPath path = job.path();
    int corners = 0;
    for (const UnreachedCut& cut : path.unreached) {
        CAPTURE(cut.part, cut.place.at.x, cut.place.at.y);
        CHECK(cut.place.left_mm == Approx(corner).margin(0.02));
        ++corners;
    }
    CHECK(corners == 2 * (2 + 4) + 4);
    // A cutter of 12 mm enters neither slot nor 8 mm hole.
    job.router().cutter = Length::mm(12);
    const SheetPath thick = job.path();
    const auto with = [&](const auto& wanted) {
        return std::count_if(thick.unreached.begin(), thick.unreached.end(),
                             [&](auto& cut) { return wanted(cut.place); });
    };
    CHECK(with([](auto& place) { return std::isinf(place.left_mm); }) == 2);
    CHECK(with([](auto& place) { return place.left_mm > 15 && std::isfinite(place.left_mm); }) == 2);
    CHECK(gcode_text(thick, UnitSystem::metric).find("narrower than the cutter") != std::string::npos);
    CHECK(deepest_entry(job, job.run()) < router_tolerance_mm);
}

TEST_CASE("every router setting changes the program", "[files][gcode]") {
    const std::string usual = Job().text();
    for (const auto& [key, value] : std::map<std::string, std::string>{{"router.cutter", "5 mm"},
                                                                       {"router.flutes", "1"},
                                                                       {"router.direction", "climb"},
                                                                       {"router.speed", "10000"},
                                                                       {"router.feed", "900 mm/min"},
                                                                       {"router.plunge", "60 mm/min"},
                                                                       {"router.pass-depth", "2 mm"},
                                                                       {"router.ramp", "3 deg"},
                                                                       {"router.safe-height", "25 mm"},
                                                                       {"router.through", "0.1 mm"},
                                                                       {"router.onion-skin", "0.3 mm"},
                                                                       {"router.tab-spacing", "100 mm"},
                                                                       {"router.tab-width", "10 mm"},
                                                                       {"router.tab-height", "2 mm"},
                                                                       {"stock.birch-ply-9.thickness", "8.7 mm"}}) {
        Job job;
        set_setting(job.design.settings, key, value, Origin::job, "test");
        CAPTURE(key);
        CHECK(job.text() != usual);
    }
    Job marked;
    marked.design.cradle.ribs[0].part.marks = {{MarkKind::line, {{10, 100}, {40, 100}}, "", 0},
                                               {MarkKind::cross, {{280, 80}}, "", 5}};
    CHECK(marked.text() == usual);
    set_setting(marked.design.settings, "router.engrave", "0.3 mm", Origin::job, "test");
    const SheetPath path = marked.path();
    CHECK(path.runs[0].kind == RunKind::mark);
    CHECK(path.runs[2].kind == RunKind::mark);
    CHECK(path.runs[3].kind != RunKind::mark);
    CHECK(path.runs[0].moves[3].to == Vec3{60, 120, -0.3});
}

TEST_CASE("the head says what has to be known at the machine", "[files][gcode]") {
    const std::string text = Job().text();
    for (const char* words :
         {"birch-ply-9", "thickness as told 9.00 mm", "end mill of 6.00 mm, 2 edges", "lower left corner",
          "its top face", "safe height 10.00 mm", "conventional cutting", "16000 a minute", "1920.0 mm/min",
          "common-practice", "manual", "overrule", "dust extraction", "in the air", "of running"})
        CHECK(text.find(words) != std::string::npos);
    CHECK(text.find("\nG17 G40") < text.find("\nG0"));  // compensation off before the first move
    CHECK(Job().text() == text);
    CHECK(std::all_of(text.begin(), text.end(), [](char c) { return c == '\n' || (c >= ' ' && c <= '~'); }));
}

// ---- by another's interpreter

/// Canonical motions as Debian's rs274 prints them, in the program's unit.
std::vector<std::vector<double>> canonical_moves(const std::string& text, const test::ScratchFolder& folder) {
    std::ofstream(folder / "sheet.ngc") << text;
    const std::string said = test::output_of("cd '" + (folder / "") + "' && rs274 -g sheet.ngc 2>&1");
    static const std::regex pattern(R"((STRAIGHT_TRAVERSE|STRAIGHT_FEED|ARC_FEED)\(([^)]*)\))");
    std::vector<std::vector<double>> moves;
    for (std::sregex_iterator it(said.begin(), said.end(), pattern), end; it != end; ++it) {
        std::vector<double> numbers{(*it)[1] == "STRAIGHT_TRAVERSE" ? 0.0 : (*it)[1] == "STRAIGHT_FEED" ? 1.0 : 2.0};
        std::istringstream list((*it)[2]);
        for (std::string item; std::getline(list, item, ',');) numbers.push_back(std::stod(item));
        moves.push_back(numbers);
    }
    return moves;
}

TEST_CASE("another interpreter makes the same moves of it", "[files][gcode]") {
    const test::ScratchFolder folder("ngc");
    Job job;
    job.router().cutter = Length::mm(4);
    for (const UnitSystem units : {UnitSystem::metric, UnitSystem::inch}) {
        const std::string text = job.text(units);
        const Program program = test::read_rs274(text);
        const std::vector<std::vector<double>> moves = canonical_moves(text, folder);
        REQUIRE(moves.size() == program.motions.size());
        const double unit = program.is_inch ? 25.4 : 1, digit = 0.51e-4;  // it prints four decimals
        for (std::size_t i = 0; i < moves.size(); ++i) {
            const Motion& m = program.motions[i];
            CAPTURE(m.line);
            REQUIRE(moves[i][0] == (m.is_rapid ? 0 : m.turn == 0 ? 1 : 2));
            const bool is_arc = m.turn != 0;
            REQUIRE(moves[i][1] == Approx(m.to.x / unit).margin(digit));
            REQUIRE(moves[i][2] == Approx(m.to.y / unit).margin(digit));
            REQUIRE(moves[i][is_arc ? 6 : 3] == Approx(m.to.z / unit).margin(digit));
            if (!is_arc) continue;
            REQUIRE(moves[i][3] == Approx(m.center.x / unit).margin(digit));
            REQUIRE(moves[i][4] == Approx(m.center.y / unit).margin(digit));
            REQUIRE(moves[i][5] == m.turn);
        }
    }
}

}  // namespace
}  // namespace cradlewright
