// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <numbers>
#include <random>
#include <set>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/output/drawing.hpp"
#include "support/shapes.hpp"

namespace cradlewright {
namespace {

using std::numbers::pi;

PlatePart plate(double length, double height) {
    PlatePart part;
    part.id = "rib-2";
    part.kind = PartKind::rib;
    part.outline.outer = make_rectangle({0, 0}, {length, height}, CutKind::rough);
    return part;
}

double length_on(const Drawing& drawing, Layer layer) {
    double length = 0;
    for (const DrawnPath& path : drawing.paths) {
        if (path.layer != layer) continue;
        const std::size_t n = path.vertices.size();
        for (std::size_t i = 0; i + (path.is_closed ? 0 : 1) < n; ++i) {
            length += edge_length(path.vertices[i].at, path.vertices[(i + 1) % n].at, path.vertices[i].bulge);
        }
    }
    return length;
}

PaperOptions paper(const std::string& size, double margin = 12.7, double overlap = 10) {
    PaperOptions options;
    options.size = size;
    options.margin = Length::mm(margin);
    options.overlap = Length::mm(overlap);
    return options;
}
const PaperOptions letter = paper("letter");

TEST_CASE("layers have the names that cut files promise", "[output]") {
    CHECK(layer_name(Layer::cut_fit) == "cut-fit");
    CHECK(layer_name(Layer::cut_rough) == "cut-rough");
    CHECK(layer_name(Layer::mark) == "mark");
    CHECK(layer_name(Layer::text) == "text");
}

TEST_CASE("an outline of one kind stays closed, a mixed one is broken where the kind changes", "[output]") {
    PlatePart part = plate(200, 80);
    CHECK(draw_part(part).paths.size() == 1);
    CHECK(draw_part(part).paths[0].is_closed);

    part.outline.outer.vertices[1].cut = CutKind::fit;
    part.outline.outer.vertices[2] = {{200, 80}, -0.2, CutKind::fit};
    part.outline.holes = {make_circle({40, 40}, 6, CutKind::fit, true)};
    const Drawing drawing = draw_part(part);
    REQUIRE(drawing.paths.size() == 3);
    CHECK(length_on(drawing, Layer::cut_fit) == Approx(80 + edge_length({200, 80}, {0, 80}, -0.2) + 12 * pi));
    CHECK(length_on(drawing, Layer::cut_rough) == Approx(280));
    for (const DrawnPath& path : drawing.paths) {
        if (!path.is_closed) CHECK(path.vertices.back().bulge == 0);
    }
}

TEST_CASE("lengths by layer are those of the outline, whatever the pattern of kinds", "[output]") {
    std::mt19937 random(3);
    for (int round = 0; round < 30; ++round) {
        PlatePart part = plate(1, 1);
        part.outline.outer.vertices.clear();
        double fit = 0;
        const int n = 12;
        for (int i = 0; i < n; ++i) {
            const double angle = 2 * pi * i / n;
            const CutKind cut = random() % 2 == 0 ? CutKind::fit : CutKind::rough;
            part.outline.outer.vertices.push_back({{90 * std::cos(angle), 90 * std::sin(angle)}, 0.1, cut});
        }
        for (std::size_t i = 0; i < 12; ++i) {
            const PathVertex& v = part.outline.outer.vertices[i];
            if (v.cut == CutKind::fit) fit += edge_length(v.at, part.outline.outer.vertices[(i + 1) % 12].at, 0.1);
        }
        const Drawing drawing = draw_part(part);
        CHECK(length_on(drawing, Layer::cut_fit) == Approx(fit));
        CHECK(length_on(drawing, Layer::cut_fit) + length_on(drawing, Layer::cut_rough) ==
              Approx(perimeter_of(part.outline.outer)));
    }
}

TEST_CASE("marks and rulings are drawn on the mark layer, words as text", "[output]") {
    PlatePart part = plate(200, 80);
    part.marks = {{MarkKind::line, {{0, 10}, {200, 10}}, "", 0},
                  {MarkKind::circle, {{30, 30}}, "", 5},
                  {MarkKind::cross, {{60, 30}}, "", 4},
                  {MarkKind::text, {{100, 60}}, "end-a", 5}};
    part.bend = BendMap{{{{20, 0}, {20, 80}, 0.1}}, {}};
    const Drawing drawing = draw_part(part);
    CHECK(length_on(drawing, Layer::mark) == Approx(200 + 10 * pi + 16 + 80));
    REQUIRE(drawing.texts.size() == 2);
    CHECK(drawing.texts[0].text == "end-a");
    CHECK(drawing.texts[1].text == "rib-2");
    part.marks.push_back({MarkKind::text, {{100, 40}}, "rib-2", 5});
    CHECK(draw_part(part).texts.size() == 2);  // said once, not twice
}

/// The label's box must lie in the material.
void check_label(const PlatePart& part) {
    const Drawing drawing = draw_part(part);
    REQUIRE(drawing.texts.size() == 1);
    const DrawnText& text = drawing.texts[0];
    CHECK(text.height_mm >= 2.5);
    const Polygons label{text_corners(text)};
    CHECK(area_of(label) > 0);
    CHECK(area_of(intersect(label, to_polygons(part.outline))) == Approx(area_of(label)).epsilon(1e-6));
}

TEST_CASE("texts of neighbouring slots are not written over each other", "[output]") {
    PlatePart part = plate(600, 50);
    for (const double x : {300.0, 310.0, 320.0}) part.marks.push_back({MarkKind::text, {{x, 30}}, "stop-end-b", 5});
    part.marks.push_back({MarkKind::text, {{100, 30}}, "rib-1", 5});
    const std::vector<DrawnText> texts = draw_part(part).texts;
    REQUIRE(texts.size() == 5);  // and the id
    for (std::size_t i = 0; i < texts.size(); ++i) {
        Box2 box;
        for (const Vec2 p : text_corners(texts[i])) box.add(p);
        CHECK(box.low.y > 0);
        CHECK(box.high.y < 50);
        for (std::size_t j = 0; j < i; ++j) {
            Box2 other;
            for (const Vec2 p : text_corners(texts[j])) other.add(p);
            const bool is_beside = box.low.x >= other.high.x || other.low.x >= box.high.x;
            CHECK((is_beside || box.low.y >= other.high.y || other.low.y >= box.high.y));
        }
    }
    CHECK(texts[0].at == Vec2{300, 30});  // who comes first stays
    CHECK(texts[3].at == Vec2{100, 30});  // and who covers nobody
}

/// 100 x 60 with a hollow of the given radius, half round, in its top.
PlatePart hollowed(double radius) {
    PlatePart part = plate(100, 60);
    part.outline.outer.vertices = {
        {{0, 0}}, {{100, 0}}, {{100, 60}}, {{50 + radius, 60}, -1, CutKind::fit}, {{50 - radius, 60}}, {{0, 60}}};
    return part;
}

std::vector<DrawnPath> reliefs_of(const PlatePart& part, const Settings& settings) {
    const std::size_t own = draw_part(part).paths.size();
    std::vector<DrawnPath> paths = draw_to_cut(part, settings).paths;
    paths.erase(paths.begin(), paths.begin() + static_cast<std::ptrdiff_t>(own));
    return paths;
}

TEST_CASE("hollows that the blade does not turn in get relief cuts from outside", "[output]") {
    Settings settings;
    settings.saw.blade = Length::inch(0.25);
    constexpr double radius = 12;
    const PlatePart part = hollowed(radius);
    const std::vector<DrawnPath> cuts = reliefs_of(part, settings);
    const Polygons outline = to_polygons(part.outline);
    std::vector<double> at{-pi / 2, pi / 2};
    for (const DrawnPath& cut : cuts) {
        CHECK(cut.layer == Layer::mark);
        REQUIRE(cut.vertices.size() == 2);
        const Vec2 from = cut.vertices[0].at, end = cut.vertices[1].at;
        CHECK(from.x == Approx(end.x));  // all straight down, from above the part
        CHECK(from.y > 60);
        for (int k = 0; k <= 20; ++k) CHECK_FALSE(contains(outline, from + (end - from) * (k / 20.0)));
        const Vec2 line = end - Vec2{0, 1};
        CHECK(norm(line - Vec2{50, 60}) == Approx(radius).margin(0.05));
        at.push_back(std::asin((line.x - 50) / radius));
    }
    // Between two cuts a straight one leaves at most a millimetre.
    std::sort(at.begin(), at.end());
    for (std::size_t i = 0; i + 1 < at.size(); ++i) CHECK(radius * (1 - std::cos((at[i + 1] - at[i]) / 2)) < 1.02);
    settings.saw.blade = Length::inch(0.125);  // turns in it
    CHECK(reliefs_of(part, settings).empty());
    settings.saw.blade = Length::inch(0.25);
    CHECK(reliefs_of(hollowed(30), settings).empty());
    settings.cut_by = CutMethod::router;
    CHECK(reliefs_of(part, settings).empty());
}

TEST_CASE("relief cuts end where they are out of the part's box", "[output]") {
    // A long plate with a quarter round in its upper edge: its cuts lead out aslant, across 900 mm of plate if they
    // were not stopped.
    Settings settings;
    settings.saw.blade = Length::inch(0.25);
    PlatePart step = plate(1000, 60);
    step.outline.outer.vertices = {{{0, 0}},   {{1000, 0}}, {{1000, 40}}, {{60, 40}, -std::tan(pi / 8), CutKind::fit},
                                   {{50, 50}}, {{50, 60}},  {{0, 60}}};
    const std::vector<DrawnPath> cuts = reliefs_of(step, settings);
    REQUIRE(!cuts.empty());
    for (const DrawnPath& cut : cuts) {
        const Vec2 from = cut.vertices[0].at, end = cut.vertices[1].at;
        CHECK(std::abs(from.x - end.x) > 5);
        CHECK(from.y > 60);
        CHECK(from.y < 63.01);
    }
}

TEST_CASE("no relief cut runs through the part itself", "[output]") {
    // A hollow under an arm of the part.
    Settings settings;
    settings.saw.blade = Length::inch(0.25);
    PlatePart bay = plate(100, 100);
    bay.outline.outer.vertices = {{{0, 0}},   {{100, 0}}, {{100, 100}}, {{40, 100}},
                                  {{40, 80}}, {{80, 80}}, {{80, 50}},   {{70, 50}, -1, CutKind::fit},
                                  {{46, 50}}, {{0, 50}}};
    CHECK(reliefs_of(bay, settings).empty());
}

TEST_CASE("parts to print are chosen by id or kind", "[output]") {
    Design design;
    for (const auto& [id, kind] : {std::pair("rib-1", PartKind::rib), std::pair("rib-2", PartKind::rib)}) {
        design.cradle.ribs.push_back({});
        design.cradle.ribs.back().part = plate(100, 50);
        design.cradle.ribs.back().part.id = id;
        design.cradle.ribs.back().part.kind = kind;
    }
    design.cradle.ties.push_back({});
    design.cradle.ties.back().id = "tie-1";
    design.cradle.ties.back().kind = PartKind::tie;
    design.cradle.ties.back().outline = plate(100, 50).outline;
    const auto chosen = [&](const char* names) {
        design.settings.paper.parts = names;
        std::string ids;
        for (const PlatePart* part : parts_to_print(design)) ids += part->id + " ";
        return ids;
    };
    CHECK(chosen("") == "rib-1 rib-2 tie-1 ");
    CHECK(chosen("tie, rib-2") == "rib-2 tie-1 ");
    CHECK(chosen("rib") == "rib-1 rib-2 ");
    CHECK_THROWS_WITH(chosen("rib-3"), Catch::Contains("did you mean rib-"));
}

TEST_CASE("the id stands inside the part, clear of holes", "[output]") {
    check_label(plate(200, 80));
    check_label(plate(600, 9));   // a strip
    check_label(plate(12, 300));  // upright
    PlatePart frame = plate(200, 80);
    frame.outline.holes = {reversed(make_rectangle({12, 12}, {188, 68}, CutKind::rough))};
    check_label(frame);
    PlatePart bow = plate(300, 100);  // a saddle that leaves no material in the middle of the box
    bow.outline.outer =
        make_loop({{0, 0}, {300, 0}, {300, 100}, {290, 100}, {290, 14}, {10, 14}, {10, 100}, {0, 100}}, CutKind::rough);
    check_label(bow);
}

TEST_CASE("a part too small for its id has it beside", "[output]") {
    const PlatePart chip = plate(6, 6);
    const Drawing drawing = draw_part(chip);
    REQUIRE(drawing.texts.size() == 1);
    CHECK(area_of(intersect({text_corners(drawing.texts[0])}, to_polygons(chip.outline))) == 0);
}

TEST_CASE("a drawing's box holds arcs and texts and moves with it", "[output]") {
    Drawing drawing;
    drawing.paths.push_back({Layer::mark, make_circle({10, 10}, 5, CutKind::rough, false).vertices, true});
    CHECK(drawing.box().low == Vec2{5, 5});
    drawing.texts.push_back({{40, 0}, 4, 0, "abc"});
    CHECK(drawing.box().high.x == Approx(40 + text_width_mm(drawing.texts[0])));
    const Drawing there = moved(drawing, pi / 2, {100, 0});
    CHECK(there.box().high.y == Approx(drawing.box().high.x));
    CHECK(there.box().high.x == Approx(100 - drawing.box().low.y));
}

TEST_CASE("a sheet shows its edge and every part in its place", "[output]") {
    Design design;
    design.settings.stocks["test"] = {"test", "birch-plywood", 9, 1000, 500, {}};
    for (int i = 0; i < 5; ++i) {
        design.cradle.ribs.push_back({});
        design.cradle.ribs.back().part = plate(100, 200 + i);
        design.cradle.ribs.back().part.id = "rib-" + std::to_string(i);
        design.cradle.ribs.back().part.stock = "test";
    }
    const Layout layout = lay_out(design);
    REQUIRE(layout.sheets.size() == 1);
    const Drawing drawing = draw_sheet(layout.sheets[0], design);
    CHECK(drawing.title == "sheet-test-1");
    CHECK(length_on(drawing, Layer::mark) == Approx(3000));
    CHECK(length_on(drawing, Layer::cut_rough) == Approx(2 * (5 * 300 + 10)));
    CHECK(drawing.box().size() == Vec2{1000, 500});
    CHECK(drawing.texts.size() == 5);
}

TEST_CASE("rows are letters, columns numbers", "[output]") {
    CHECK(tile_name(0, 0) == "A1");
    CHECK(tile_name(25, 9) == "Z10");
    CHECK(tile_name(26, 0) == "AA1");
    CHECK(tile_name(701, 0) == "ZZ1");
    CHECK(tile_name(702, 0) == "AAA1");
}

TEST_CASE("section of the plug across the span", "[output]") {
    PosedPlug posed;
    posed.plug.mesh = std::make_shared<const TriMesh>(test::make_box({600, 200, 40}));
    const double tilt = GENERATE(0.0, 0.2), turn = GENERATE(0.0, 0.3);
    const Frame3 tilted = compose(rotation_about({0, 0, 1}, turn), rotation_about({1, 0, 0}, tilt));
    posed.pose.scan_to_fixture = {Vec3{50, 7, 90}, tilted.x, tilted.y, tilted.z};
    const Vec3 middle = posed.pose.to_fixture(bounding_box(posed.mesh()).center());
    const Slice section = section_plug(posed, middle.x + 30);
    REQUIRE(section.size() == 1);
    // A prism cut at an angle: its section over the cosine; the tilt runs round the span and changes only the outline.
    const SectionProperties area = section_properties(section);
    CHECK(area.area_mm2 == Approx(200 * 40 / std::cos(turn)));
    CHECK(area.centroid.x == Approx(middle.y + 30 * std::tan(turn)));
    CHECK(area.centroid.y == Approx(middle.z));
    Box2 box;
    for (const Vec2 p : section[0].points) box.add(p);
    CHECK(box.size().y == Approx(200 * std::sin(tilt) + 40 * std::cos(tilt)));
    CHECK(section_plug(posed, middle.x + 400).empty());
}

TEST_CASE("pages of 1200 x 300 on letter paper", "[output]") {
    // T10.1, margin 12.7, overlap 10. Derived: ceil(1190 / 180.5) x ceil(290 / 244) = 7 x 2 upright,
    // ceil(1190 / 244) x ceil(290 / 180.5) = 5 x 2 across, so the drawing is turned. Lines put ink on every page.
    PlatePart part = plate(1200, 300);
    for (double x = 50; x < 1200; x += 50) part.marks.push_back({MarkKind::line, {{x, 0}, {x, 300}}, "", 0});
    const Tiling tiling = tile_drawing(draw_part(part), letter);
    CHECK(tiling.is_turned);
    CHECK(tiling.rows == 5);
    CHECK(tiling.columns == 2);
    CHECK(tiling.tiles.size() == 10);
    CHECK(tiling.drawing.box().size() == Vec2{300, 1200});
    PlatePart tall = plate(300, 1200);
    for (double y = 50; y < 1200; y += 50) tall.marks.push_back({MarkKind::line, {{0, y}, {300, y}}, "", 0});
    CHECK_FALSE(tile_drawing(draw_part(tall), letter).is_turned);
    // Ink in two far corners only: two pages either way, so nothing is gained by turning.
    Drawing corners;
    for (const Vec2 at : {Vec2{5, 5}, Vec2{1195, 295}}) {
        corners.paths.push_back({Layer::mark, make_circle(at, 5, CutKind::rough, false).vertices, true});
    }
    const Tiling upright = tile_drawing(corners, letter);
    CHECK_FALSE(upright.is_turned);
    CHECK(upright.columns == 7);
    CHECK(upright.rows == 2);
    REQUIRE(upright.tiles.size() == 2);
    CHECK(tile_name(upright.tiles[0].row, upright.tiles[0].column) == "A7");
    CHECK(tile_name(upright.tiles[1].row, upright.tiles[1].column) == "B1");
}

TEST_CASE("pages cover every point of the ink, with the overlap", "[output]") {
    for (const double length : {100.0, 254.0, 254.1, 700.0, 1500.0}) {
        PlatePart part = plate(length, 0.7 * length);
        part.marks = {{MarkKind::line, {{0, 0}, {length, 0.7 * length}}, "", 0}};
        const Tiling tiling = tile_drawing(draw_part(part), letter);
        const Vec2 window = tiling.window();
        for (int k = 0; k <= 200; ++k) {
            for (const DrawnPath& path : tiling.drawing.paths) {
                for (std::size_t i = 0; i + 1 < path.vertices.size(); ++i) {
                    const Vec2 p = path.vertices[i].at + (path.vertices[i + 1].at - path.vertices[i].at) * (k / 200.0);
                    CHECK(std::any_of(tiling.tiles.begin(), tiling.tiles.end(), [&](const Tile& t) {
                        const Vec2 in = p - t.low;
                        return in.x >= -1e-9 && in.y >= -1e-9 && in.x <= window.x + 1e-9 && in.y <= window.y + 1e-9;
                    }));
                }
            }
        }
        for (const Tile& a : tiling.tiles) {
            for (const Tile& b : tiling.tiles) {
                if (b.row == a.row && b.column == a.column + 1) CHECK(b.low.x - a.low.x == Approx(window.x - 10));
                if (b.row == a.row + 1) CHECK(a.low.y - b.low.y == Approx(window.y - 10));
            }
        }
    }
}

TEST_CASE("blank pages inside a large outline are not printed", "[output]") {
    // 1500 x 1500 on letter: 9 x 7 pages; only the rim carries ink.
    PlatePart part = plate(1500, 1500);
    part.marks = {{MarkKind::text, {{20, 20}}, "rib-2", 5}};
    const Tiling tiling = tile_drawing(draw_part(part), letter);
    CHECK(tiling.rows * tiling.columns == 63);
    CHECK(tiling.tiles.size() == 2 * 9 + 2 * 7 - 4);
}

TEST_CASE("paper without room between its margins is refused", "[output]") {
    CHECK_THROWS_AS(tile_drawing(draw_part(plate(10, 10)), paper("a4", 110)), Error);
    CHECK_THROWS_AS(tile_drawing(draw_part(plate(10, 10)), paper("a4", 10, 190)), Error);
    CHECK(tile_drawing(Drawing{}, letter).tiles.empty());
}

}  // namespace
}  // namespace cradlewright
