// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <numbers>
#include <random>

#include "cradlewright/base/error.hpp"
#include "cradlewright/catalog/cutting.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/output/layout.hpp"

namespace cradlewright {
namespace {

constexpr double rounding = 1e-5;
constexpr double arc_sag = 0.05;  // what lay_out may miss the gap by beside arcs

PlatePart rectangle(const std::string& id, double length, double height, const std::string& stock, PartKind kind) {
    PlatePart part;
    part.id = id;
    part.kind = kind;
    part.stock = stock;
    part.outline.outer = make_rectangle({-3, 7}, {length - 3, height + 7}, CutKind::rough);
    return part;
}

void add_rib(Design& design, const PlatePart& part) {
    design.cradle.ribs.push_back({});
    design.cradle.ribs.back().part = part;
}

const PlatePart& part_of(const Design& design, const std::string& id) {
    const std::vector<const PlatePart*> parts = all_parts(design);
    return **std::find_if(parts.begin(), parts.end(), [&](auto* p) { return p->id == id; });
}

Region placed(const Design& design, const Placement& placement) {
    return moved(part_of(design, placement.part).outline, placement.angle_rad, placement.shift);
}

double distance_to_edge(Vec2 p, Vec2 a, Vec2 b) {
    const double t = std::clamp(dot(p - a, b - a) / dot(b - a, b - a), 0.0, 1.0);
    return norm(p - (a + (b - a) * t));
}

/// Distance of two outlines; 0 where one lies in the other. Two polygons that are apart are nearest at a corner of one.
double apart(const Polygons& a, const Polygons& b) {
    if (!intersect(a, b).empty()) return 0;
    double least = std::numeric_limits<double>::infinity();
    for (const auto& [from, to] : {std::pair(&a, &b), std::pair(&b, &a)}) {
        for (const Vec2 p : from->front()) {
            const std::vector<Vec2>& loop = to->front();
            for (std::size_t i = 0; i < loop.size(); ++i)
                least = std::min(least, distance_to_edge(p, loop[i], loop[(i + 1) % loop.size()]));
        }
    }
    return least;
}

/// Every placed part inside its sheet's margins and clear of all others; the share used adds up.
void check_sheets(const Design& design, const Layout& layout) {
    for (const Sheet& sheet : layout.sheets) {
        double area = 0;
        const StockRoom room = room_on(design.settings, stock(design.settings, sheet.stock));
        std::vector<Polygons> others;
        Vec2 needed;
        for (const Placement& placement : sheet.placements) {
            const Region region = placed(design, placement);
            const Box2 box = bounding_box(region);
            needed = {std::max(needed.x, box.high.x + room.end_mm), std::max(needed.y, box.high.y + room.side_mm)};
            CHECK(box.low.x >= room.end_mm - rounding);
            CHECK(box.low.y >= room.side_mm - rounding);
            CHECK(box.high.x <= sheet.length_mm - room.end_mm + rounding);
            CHECK(box.high.y <= sheet.width_mm - room.side_mm + rounding);
            const Polygons shape{to_polygons(region).front()};  // nothing lies in a hole
            for (const Polygons& other : others) CHECK(apart(shape, other) >= room.gap_mm - arc_sag);
            others.push_back(shape);
            area += area_of(part_of(design, placement.part).outline);
            CHECK(part_of(design, placement.part).stock == sheet.stock);
        }
        CHECK(sheet.use == Approx(area / (sheet.length_mm * sheet.width_mm)));
        CHECK_FALSE(sheet.placements.empty());
        CHECK(norm(sheet.needed - needed) < rounding);
    }
}

Design random_design(std::uint32_t seed) {
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> size(20, 900);
    Design design;
    design.settings.stocks["test-a"] = {"test-a", "birch-plywood", 9, 1200, 600, {}};
    design.settings.stocks["test-b"] = {"test-b", "birch-plywood", 18, 2500, 1250, {}};
    for (int i = 0; i < 60; ++i) {
        const double a = size(random), b = size(random);
        PlatePart part =
            rectangle("rib-" + std::to_string(i), a, b * b / 900, i % 3 == 0 ? "test-b" : "test-a", PartKind::rib);
        if (i % 2 == 0) part.outline.outer.vertices[2].bulge = -0.3;  // hollow on top
        if (i % 5 == 0) part.outline.outer.vertices[1].bulge = 0.2;
        add_rib(design, part);
    }
    return design;
}

TEST_CASE("no two parts overlap and every part is placed once or named too large", "[output]") {
    for (std::uint32_t seed = 1; seed <= 15; ++seed) {
        Design design = random_design(seed);
        const double margin = 5.0 + seed, gap = 2.0 + seed;
        for (const char* name : {"test-a", "test-b"}) design.settings.stocks[name].margin_mm = margin;
        design.settings.cut_by = CutMethod::saw;
        design.settings.saw.kerf = Length::mm(1);
        design.settings.saw.spare = Length::mm((gap - 1) / 2);
        const Layout layout = lay_out(design);
        check_sheets(design, layout);
        std::vector<std::string> seen = layout.too_large;
        for (const Sheet& sheet : layout.sheets) {
            for (const Placement& placement : sheet.placements) seen.push_back(placement.part);
        }
        std::vector<std::string> wanted;
        for (const PlatePart* part : all_parts(design)) wanted.push_back(part->id);
        std::sort(seen.begin(), seen.end());
        std::sort(wanted.begin(), wanted.end());
        CHECK(seen == wanted);
        for (const std::string& id : layout.too_large) {
            const PlatePart& part = part_of(design, id);
            const Vec2 s = bounding_box(part.outline).size();
            const Stock& sheet = design.settings.stocks.at(part.stock);
            const double l = sheet.length_mm - 2 * margin, w = sheet.width_mm - 2 * margin;
            CHECK_FALSE(((s.x <= l && s.y <= w) || (s.y <= l && s.x <= w)));
        }
    }
}

TEST_CASE("the same parts are laid the same way again", "[output]") {
    const Layout a = lay_out(random_design(4)), b = lay_out(random_design(4));
    REQUIRE(a.sheets.size() == b.sheets.size());
    for (std::size_t i = 0; i < a.sheets.size(); ++i) {
        REQUIRE(a.sheets[i].placements.size() == b.sheets[i].placements.size());
        for (std::size_t k = 0; k < a.sheets[i].placements.size(); ++k) {
            CHECK(a.sheets[i].placements[k].part == b.sheets[i].placements[k].part);
            CHECK(a.sheets[i].placements[k].shift == b.sheets[i].placements[k].shift);
        }
    }
}

TEST_CASE("equal parts fill a sheet", "[output]") {
    // 200 x 90 upright parts on 1000 x 500 with a grain: turned flat, 4 fit along (10 + 4 x 208 - 8 = 834 <= 990), 5
    // across (10 + 5 x 98 - 8 = 492 > 490: no, 4).
    Design design;
    design.settings.stocks["test"] = {"test", "birch-plywood", 9, 1000, 500, {}};
    for (int i = 0; i < 17; ++i) add_rib(design, rectangle("rib-" + std::to_string(i), 90, 200, "test", PartKind::rib));
    const Layout layout = lay_out(design);
    check_sheets(design, layout);
    REQUIRE(layout.sheets.size() == 2);
    CHECK(layout.sheets[0].placements.size() == 16);
    CHECK(layout.sheets[0].use == Approx(16 * 200 * 90 / 5e5));
    CHECK(layout.sheets[1].number == 2);
}

TEST_CASE("a part lies in the hollow of another, none in a hole", "[output]") {
    // A U of 400 x 200 with walls of 40 leaves 320 x 160; a bar of 300 x 100 goes in with 10 to spare, or nowhere: the
    // sheet is no larger than the U.
    Design design;
    design.settings.stocks["test"] = {"test", "rigid-pvc", 3, 420, 220, {}};
    PlatePart u = rectangle("rib-1", 400, 200, "test", PartKind::rib);
    u.outline.outer =
        make_loop({{0, 0}, {400, 0}, {400, 200}, {360, 200}, {360, 40}, {40, 40}, {40, 200}, {0, 200}}, CutKind::rough);
    const PlatePart bar = rectangle("rib-2", 300, 100, "test", PartKind::rib);
    add_rib(design, u);
    add_rib(design, bar);
    Layout layout = lay_out(design);
    check_sheets(design, layout);
    CHECK(layout.sheets.size() == 1);

    PlatePart frame = rectangle("rib-1", 400, 200, "test", PartKind::rib);
    frame.outline.holes.push_back(reversed(make_rectangle({37, 47}, {357, 167}, CutKind::rough)));
    design.cradle.ribs.clear();
    add_rib(design, frame);
    add_rib(design, bar);
    layout = lay_out(design);
    CHECK(layout.sheets.size() == 2);
}

TEST_CASE("the grain decides which way a part lies", "[output]") {
    // Three bars of 500 x 90 on 700 x 520: along the grain each ends 500 along; upright, the three end at 300.
    for (const Grain grain : {Grain::as_material, Grain::along, Grain::none}) {
        for (const char* material : {"birch-plywood", "rigid-pvc"}) {
            CAPTURE(int(grain), material);
            Design design;
            design.settings.stocks["test"] = {"test", material, 9, 700, 520, {}, grain, {}};
            for (int i = 0; i < 3; ++i)
                add_rib(design, rectangle("rib-" + std::to_string(i), 500, 90, "test", PartKind::rib));
            const Layout layout = lay_out(design);
            check_sheets(design, layout);
            REQUIRE(layout.sheets.size() == 1);
            const bool is_free = grain == Grain::none || (grain == Grain::as_material && material[0] == 'r');
            CHECK(layout.sheets[0].needed.x == Approx(is_free ? 3 * 90 + 2 * 8 + 20 : 500 + 20).margin(0.01));
        }
    }
}

TEST_CASE("offcuts are used before a sheet, the smallest that takes the part first", "[output]") {
    Design design;
    design.settings.stocks["test"] = {
        "test", "birch-plywood", 9, 1000, 500, {}, Grain::as_material, "400mm x 300mm, 150mm x 120mm"};
    for (const auto& [length, width] : {std::pair(600.0, 200.0), std::pair(350.0, 100.0), std::pair(120.0, 90.0)})
        add_rib(design, rectangle("rib-" + fixed(length, 0), length, width, "test", PartKind::rib));
    const Layout layout = lay_out(design);
    check_sheets(design, layout);
    REQUIRE(layout.sheets.size() == 3);
    CHECK((layout.sheets[0].is_offcut && layout.sheets[1].is_offcut && !layout.sheets[2].is_offcut));
    CHECK(layout.sheets[0].placements[0].part == "rib-120");
    CHECK(layout.sheets[1].placements[0].part == "rib-350");
    CHECK(layout.sheets[2].placements[0].part == "rib-600");
    CHECK(layout.sheets[2].number == 3);
}

TEST_CASE("each tool has the room it needs between parts and along edges", "[output]") {
    Settings settings;
    Stock& sheet = settings.stocks["test"] = {"test", "birch-plywood", 9, 1000, 500, {}};
    const auto room = [&] { return room_on(settings, sheet); };
    CHECK(room().gap_mm == 8);
    settings.cut_by = CutMethod::saw;
    settings.saw.kerf = Length::mm(1.2);
    settings.saw.spare = Length::mm(2);
    CHECK(room().gap_mm == Approx(1.2 + 2 * 2));
    CHECK(room().side_mm == 10);
    settings.cut_by = CutMethod::router;
    settings.router.cutter = Length::mm(12.7);
    CHECK(room().gap_mm == Approx(2 * 12.7 + 4));  // between the two cuts a web of 4 that tabs hold to
    CHECK(room().end_mm == Approx(12.7 + 4));
    settings.router.cutter = Length::mm(3);
    CHECK(room().end_mm == 10);
    sheet.width_mm = 40;  // a strip
    CHECK(room().gap_mm == 8);
    CHECK(room().side_mm == 0);
}

TEST_CASE("a part longer than the sheet is wide stands only if it must", "[output]") {
    Design design;
    design.settings.stocks["test"] = {"test", "birch-plywood", 9, 500, 1000, {}};  // longer across than along
    add_rib(design, rectangle("rib-1", 900, 50, "test", PartKind::rib));
    add_rib(design, rectangle("rib-2", 981, 50, "test", PartKind::rib));
    const Layout layout = lay_out(design);
    REQUIRE(layout.sheets.size() == 1);
    CHECK(layout.sheets[0].placements[0].angle_rad == Approx(std::numbers::pi / 2));
    CHECK(layout.too_large == std::vector<std::string>{"rib-2"});  // 981 > 1000 - 2 x 10
    check_sheets(design, layout);
}

TEST_CASE("stringers take the whole width of a strip and lie along it", "[output]") {
    Design design;
    design.settings.stocks["test-strip"] = {"test-strip", "pine", 12, 2000, 20, {}};
    for (const double length : {900.0, 900.0, 700.0, 1990.0}) {
        design.cradle.stringers.push_back({});
        const std::string id = "stringer-" + std::to_string(design.cradle.stringers.size());
        design.cradle.stringers.back().part = rectangle(id, length, 20, "test-strip", PartKind::stringer);
    }
    const Layout layout = lay_out(design);
    check_sheets(design, layout);
    CHECK(layout.sheets.size() == 2);  // 900 + 900 on one, 700 on the next
    CHECK(layout.too_large == std::vector<std::string>{"stringer-4"});
    for (const Sheet& sheet : layout.sheets) {
        for (const Placement& placement : sheet.placements) CHECK(placement.angle_rad == 0);
    }
}

TEST_CASE("a stock nobody knows is refused", "[output]") {
    Design design;
    add_rib(design, rectangle("rib-1", 10, 10, "no-such-stock", PartKind::rib));
    CHECK_THROWS_AS(lay_out(design), Error);
    CHECK(lay_out(Design{}).sheets.empty());
}

}  // namespace
}  // namespace cradlewright
