// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <numbers>
#include <random>

#include "cradlewright/base/error.hpp"
#include "cradlewright/output/layout.hpp"

namespace cradlewright {
namespace {

constexpr double rounding = 1e-5;

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

Box2 placed_box(const Design& design, const Placement& placement) {
    return bounding_box(moved(part_of(design, placement.part).outline, placement.angle_rad, placement.shift));
}

/// Every placed part inside its sheet's margins and clear of all others; the share used adds up.
void check_sheets(const Design& design, const Layout& layout, const LayoutOptions& options) {
    for (const Sheet& sheet : layout.sheets) {
        double area = 0;
        const double side = sheet.width_mm > 100 ? options.margin_mm : 0;
        std::vector<Box2> boxes;
        for (const Placement& placement : sheet.placements) {
            const Box2 box = placed_box(design, placement);
            CHECK(box.low.x >= options.margin_mm - rounding);
            CHECK(box.low.y >= side - rounding);
            CHECK(box.high.x <= sheet.length_mm - options.margin_mm + rounding);
            CHECK(box.high.y <= sheet.width_mm - side + rounding);
            for (const Box2& other : boxes) {
                const double apart = std::max({box.low.x - other.high.x, other.low.x - box.high.x,
                                               box.low.y - other.high.y, other.low.y - box.high.y});
                CHECK(apart >= options.gap_mm - rounding);
            }
            boxes.push_back(box);
            area += area_of(part_of(design, placement.part).outline);
            CHECK(part_of(design, placement.part).stock == sheet.stock);
        }
        CHECK(sheet.use == Approx(area / (sheet.length_mm * sheet.width_mm)));
        CHECK_FALSE(sheet.placements.empty());
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
        add_rib(design,
                rectangle("rib-" + std::to_string(i), a, b * b / 900, i % 3 == 0 ? "test-b" : "test-a", PartKind::rib));
    }
    return design;
}

TEST_CASE("no two parts overlap and every part is placed once or named too large", "[output]") {
    for (std::uint32_t seed = 1; seed <= 15; ++seed) {
        const Design design = random_design(seed);
        const LayoutOptions options{.margin_mm = 5.0 + seed, .gap_mm = 2.0 + seed};
        const Layout layout = lay_out(design, options);
        check_sheets(design, layout, options);
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
            const double l = sheet.length_mm - 2 * options.margin_mm, w = sheet.width_mm - 2 * options.margin_mm;
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

TEST_CASE("equal parts fill shelves", "[output]") {
    // 200 x 90 upright parts on 1000 x 500: turned flat, 4 fit a shelf (10 + 4 x 208 = 842 <= 990), 4 shelves (10 + 4 x
    // 98).
    Design design;
    design.settings.stocks["test"] = {"test", "birch-plywood", 9, 1000, 500, {}};
    for (int i = 0; i < 17; ++i) add_rib(design, rectangle("rib-" + std::to_string(i), 90, 200, "test", PartKind::rib));
    const Layout layout = lay_out(design);
    check_sheets(design, layout, {});
    REQUIRE(layout.sheets.size() == 2);
    CHECK(layout.sheets[0].placements.size() == 16);
    CHECK(layout.sheets[0].use == Approx(16 * 200 * 90 / 5e5));
    CHECK(layout.sheets[1].number == 2);
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
    check_sheets(design, layout, {});
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
    check_sheets(design, layout, {});
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
