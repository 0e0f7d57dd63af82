// SPDX-License-Identifier: GPL-3.0-or-later
// Measured on the pages as poppler draws them, the way a builder would with a rule.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "cradlewright/base/error.hpp"
#include "cradlewright/files/write_drawings.hpp"
#include "outside_tools.hpp"

namespace cradlewright {
namespace {

constexpr int dpi = 200;
constexpr double pixel_mm = 25.4 / dpi;
constexpr double line_mm = 0.3;  // of the check bars

PaperOptions paper(const std::string& size, const std::string& measured = "") {
    PaperOptions options;
    options.size = size;
    options.measured = measured;
    return options;
}

/// A plate with lines at 45 deg over it, so that every page and every seam has ink and rounding to a pixel moves a
/// crossing by one pixel only.
Drawing plate(const std::string& id, double length, double height) {
    PlatePart part;
    part.id = id;
    part.outline.outer = make_rectangle({0, 0}, {length, height}, CutKind::rough);
    part.outline.outer.vertices[2].cut = CutKind::fit;
    for (double x = 30; x < length; x += 47) {
        for (const double end : {x + height, x - height})
            part.marks.push_back({MarkKind::line, {{x, 0}, {end, height}}, "", 0});
    }
    return draw_part(part);
}

std::vector<Tiling> tilings(const PaperOptions& options) {
    return {tile_drawing(plate("rib-2", 500, 300), options), tile_drawing(plate("tie-1", 120, 40), options)};
}

std::string write(const test::ScratchFolder& folder, const PaperOptions& options,
                  UnitSystem units = UnitSystem::metric) {
    std::string path = folder / "templates.pdf";
    write_templates_pdf(tilings(options), options, units, path);
    return path;
}

/// Length of the longest dark run, mm, over the lines [first, last] of the picture that `runs` reads.
template <class Runs>
double longest_run(const test::Picture& picture, int first, int last, const Runs& runs) {
    int longest = 0;
    for (int i = first; i < last; ++i) {
        for (const auto& [start, length] : runs(i)) longest = std::max(longest, length);
    }
    return longest / picture.dots_per_mm;
}

/// Both check bars of a page, looked for in the margins below and to the left of the drawing.
Vec2 bars_of(const test::Picture& picture) {
    const int margin = static_cast<int>(12 * picture.dots_per_mm);
    return {
        longest_run(picture, picture.height - margin, picture.height, [&](int y) { return picture.runs_in_row(y); }),
        longest_run(picture, 0, margin, [&](int x) { return picture.runs_in_column(x); })};
}

TEST_CASE("pages have the exact size of the paper, and the count is map plus tiles", "[files]") {
    const test::ScratchFolder folder("pdf");
    for (const auto& [name, size] : {std::pair{"a4", "595.28   841.89"}, std::pair{"letter", "612.00   792.00"}}) {
        const std::vector<Tiling> tiles = tilings(paper(name));
        const std::size_t pages = 1 + tiles[0].tiles.size() + tiles[1].tiles.size();
        const std::string said = test::output_of("pdfinfo -box -f 1 -l 99 '" + write(folder, paper(name)) + "'");
        CHECK(said.find("Pages:           " + std::to_string(pages)) != std::string::npos);
        std::size_t count = 0;
        for (std::size_t at = 0; (at = said.find("MediaBox:", at)) != std::string::npos; ++at) {
            const std::string line = said.substr(at, said.find('\n', at) - at);
            CHECK(line.find(size) != std::string::npos);
            ++count;
        }
        CHECK(count == pages);
    }
}

TEST_CASE("check bars measure 100 mm both ways on every page", "[files]") {
    const test::ScratchFolder folder("pdf");
    const std::string path = write(folder, paper("a4"));
    const auto pages = static_cast<int>(1 + tilings(paper("a4"))[0].tiles.size());
    for (int page = 2; page <= pages; ++page) {
        const Vec2 bars = bars_of(test::page_picture(path, page, dpi));
        CHECK(bars.x == Approx(100 + line_mm).margin(1.5 * pixel_mm));
        CHECK(bars.y == Approx(100 + line_mm).margin(1.5 * pixel_mm));
    }
    const Vec2 inch = bars_of(test::page_picture(write(folder, paper("letter"), UnitSystem::inch), 2, dpi));
    CHECK(inch.x == Approx(101.6 + line_mm).margin(1.5 * pixel_mm));
    CHECK(inch.y == Approx(101.6 + line_mm).margin(1.5 * pixel_mm));
}

TEST_CASE("what the bars measured on paper corrects the next print", "[files]") {
    const test::ScratchFolder folder("pdf");
    const Vec2 bars = bars_of(test::page_picture(write(folder, paper("a4", "98.5mm,101.2mm")), 2, dpi));
    CHECK(bars.x == Approx((100 + line_mm) * 100 / 98.5).margin(1.5 * pixel_mm));
    CHECK(bars.y == Approx((100 + line_mm) * 100 / 101.2).margin(1.5 * pixel_mm));
    // The same lengths without a unit: the bars say which.
    const Vec2 bare = bars_of(test::page_picture(write(folder, paper("a4", "98.5, 101.2")), 2, dpi));
    CHECK(bare == bars);
    for (const char* bad : {"100", "50mm,100mm", "100mm,115mm", "wide,100mm", "100mm,", "0,100"}) {
        CHECK_THROWS_AS(write(folder, paper("a4", bad)), Error);
    }
}

TEST_CASE("parts are drawn in true size", "[files]") {
    const test::ScratchFolder folder("pdf");
    const PaperOptions a4 = paper("a4");
    PlatePart part;
    part.id = "stop-1";
    part.outline.outer = make_rectangle({0, 0}, {150, 90}, CutKind::fit);
    write_templates_pdf({tile_drawing(draw_part(part), a4)}, a4, UnitSystem::metric, folder / "one.pdf");
    const test::Picture page = test::page_picture(folder / "one.pdf", 2, dpi);
    const auto across = page.runs_in_row(page.height / 2 - static_cast<int>(30 * page.dots_per_mm));
    REQUIRE(across.size() == 2);
    CHECK((across[1].first - across[0].first) * pixel_mm == Approx(150).margin(1.5 * pixel_mm));
    CHECK(across[0].second * pixel_mm == Approx(0.5).margin(1.5 * pixel_mm));  // a fit line is thick
    const auto along = page.runs_in_column(page.width / 2 - static_cast<int>(60 * page.dots_per_mm));
    const auto is_edge = [&](const std::pair<int, int>& run) {
        return run.second * pixel_mm > 0.35 && run.second * pixel_mm < 0.7;
    };
    std::vector<int> edges;
    for (const auto& run : along) {
        if (is_edge(run)) edges.push_back(run.first);
    }
    REQUIRE(edges.size() >= 2);
    CHECK((edges[1] - edges[0]) * pixel_mm == Approx(90).margin(1.5 * pixel_mm));
}

/// Dark runs along a row or column between two places, px from the first of them.
std::vector<std::pair<int, int>> between(const std::vector<std::pair<int, int>>& runs, int from, int to) {
    std::vector<std::pair<int, int>> result;
    for (const auto& [start, length] : runs) {
        if (start > from && start + length < to) result.emplace_back(start - from, length);
    }
    return result;
}

/// Every run of `a` lies in one of `b`, two pixels allowed.
bool is_covered(const std::vector<std::pair<int, int>>& a, const std::vector<std::pair<int, int>>& b) {
    return std::all_of(a.begin(), a.end(), [&](const auto& run) {
        return std::any_of(b.begin(), b.end(), [&](const auto& other) {
            return run.first >= other.first - 2 && run.first + run.second <= other.first + other.second + 2;
        });
    });
}

TEST_CASE("pages from a roll are as wide as the roll and as long as the part needs", "[files]") {
    const test::ScratchFolder folder("pdf");
    const PaperOptions roll = paper("450mm roll");
    const std::vector<Tiling> tiles = tilings(roll);
    // The first is wider than 450 - 2 x 12.7 mm, so it lies along the roll; the second takes the shortest page.
    REQUIRE((tiles[0].tiles.size() == 1 && tiles[1].tiles.size() == 1));
    CHECK(tiles[0].is_turned);
    const double along = plate("rib-2", 500, 300).box().size().x;
    const std::string pdf = write(folder, roll);
    for (const auto& [number, length] : {std::pair(2, along + 2 * 12.7 + 2), std::pair(3, 200.0)}) {
        const test::Picture page = test::page_picture(pdf, number, dpi);
        CHECK(page.width * pixel_mm == Approx(450).margin(1.5 * pixel_mm));
        CHECK(page.height * pixel_mm == Approx(length).margin(1.5 * pixel_mm));
        CHECK(bars_of(page).x == Approx(100 + line_mm).margin(1.5 * pixel_mm));
        CHECK(bars_of(page).y == Approx(100 + line_mm).margin(1.5 * pixel_mm));
    }
}

TEST_CASE("two neighbours show the same lines and marks at their seam", "[files]") {
    const test::ScratchFolder folder("pdf");
    const PaperOptions a4 = paper("a4");
    const std::string path = write(folder, a4);
    const Tiling tiling = tilings(a4)[0];
    REQUIRE(tiling.rows >= 2);
    REQUIRE(tiling.columns >= 2);
    const Vec2 window = tiling.window();
    const double margin = tiling.margin_mm, half = tiling.overlap_mm / 2;
    const auto page_at = [&](int row, int column) {
        for (std::size_t i = 0; i < tiling.tiles.size(); ++i) {
            if (tiling.tiles[i].row == row && tiling.tiles[i].column == column) return static_cast<int>(i) + 2;
        }
        FAIL("no such page");
        return 0;
    };
    const test::Picture a1 = test::page_picture(path, page_at(0, 0), dpi);
    const test::Picture b1 = test::page_picture(path, page_at(1, 0), dpi);
    const test::Picture a2 = test::page_picture(path, page_at(0, 1), dpi);
    const auto dot = [&](double mm) { return static_cast<int>(std::lround(mm * a1.dots_per_mm)); };
    const auto compare = [](const std::vector<std::pair<int, int>>& a, const std::vector<std::pair<int, int>>& b) {
        CHECK(a.size() >= 9);
        CHECK(b.size() >= 9);
        CHECK(is_covered(a, b));
        CHECK(is_covered(b, a));
    };
    // Beside the seam by less than the diamonds' reach: two flanks and a cross arm of each of three diamonds, and the
    // plate's own lines. The notes of the pages lie farther out; the ends, where other seams cross, are left out.
    const int x0 = dot(margin + 12), x1 = dot(margin + window.x - 12), y0 = dot(margin + 12),
              y1 = dot(margin + window.y - 12);
    for (const double beside : {-0.6, 0.6}) {
        const double lower_seam = margin + window.y - half + beside, upper_seam = margin + half + beside;
        compare(between(a1.runs_in_row(dot(lower_seam), 200), x0, x1),
                between(b1.runs_in_row(dot(upper_seam), 200), x0, x1));
        const double right_seam = margin + window.x - half + beside, left_seam = margin + half + beside;
        compare(between(a1.runs_in_column(dot(right_seam), 200), y0, y1),
                between(a2.runs_in_column(dot(left_seam), 200), y0, y1));
    }
}

TEST_CASE("every page says what it is and whom it joins; the map names them all", "[files]") {
    const test::ScratchFolder folder("pdf");
    const PaperOptions a4 = paper("a4");
    const std::string path = write(folder, a4);
    const std::vector<Tiling> all = tilings(a4);
    const std::string map = test::output_of("pdftotext -layout -f 1 -l 1 '" + path + "' -");
    CHECK(map.find("Page map") != std::string::npos);
    int page = 1;
    for (const Tiling& tiling : all) {
        CHECK(map.find(tiling.drawing.title) != std::string::npos);
        for (const Tile& tile : tiling.tiles) {
            const std::string number = std::to_string(++page), name = tile_name(tile.row, tile.column);
            CHECK(map.find(name) != std::string::npos);
            // Poppler may or may not see the narrow gap as a space.
            CHECK((map.find("p " + number) != std::string::npos || map.find("p" + number) != std::string::npos));
            const std::string text = test::output_of("pdftotext -f " + number + " -l " + number + " '" + path + "' -");
            CHECK(text.find(tile.part + " " + name) != std::string::npos);
            CHECK(text.find("100 mm") != std::string::npos);
            CHECK(text.find("print at 100 %, check bars with a rule") != std::string::npos);
            CHECK(text.find(number + " / ") != std::string::npos);
            for (const auto& next : {std::pair{1, 0}, std::pair{-1, 0}, std::pair{0, 1}, std::pair{0, -1}}) {
                const bool is_there = std::any_of(tiling.tiles.begin(), tiling.tiles.end(), [&](const Tile& t) {
                    return t.row == tile.row + next.first && t.column == tile.column + next.second;
                });
                const std::string joins =
                    "joins " + tile.part + " " + tile_name(tile.row + next.first, tile.column + next.second);
                if (tile.row + next.first >= 0) CHECK((text.find(joins) != std::string::npos) == is_there);
            }
        }
    }
    // Words stay on the paper: no box of pdftotext passes the page's edge.
    std::istringstream boxes(test::output_of("pdftotext -bbox '" + path + "' -"));
    std::size_t words = 0;
    for (std::string line; std::getline(boxes, line);) {
        if (line.find("<word") == std::string::npos) continue;
        double x0 = 0, y0 = 0, x1 = 0, y1 = 0;
        REQUIRE(std::sscanf(line.c_str(), " <word xMin=\"%lf\" yMin=\"%lf\" xMax=\"%lf\" yMax=\"%lf\"", &x0, &y0, &x1,
                            &y1) == 4);
        CHECK((x0 > 10 && y0 > 10 && x1 < 585.3 && y1 < 831.9));
        ++words;
    }
    CHECK(words > 50);
}

TEST_CASE("PDF bytes repeat and state no date", "[files]") {
    const test::ScratchFolder folder("pdf");
    const std::string first = test::bytes_of(write(folder, paper("a4")));
    ::sleep(1);  // a clock in the file would show
    CHECK(test::bytes_of(write(folder, paper("a4"))) == first);
    CHECK(first.find("CreationDate") == std::string::npos);
}

TEST_CASE("small paper, thin margins and many parts still give a file", "[files]") {
    const test::ScratchFolder folder("pdf");
    PaperOptions small = paper("105mm x 148mm");
    small.margin = Length::mm(5);
    std::vector<Tiling> many;
    for (int i = 1; i <= 40; ++i)
        many.push_back(tile_drawing(plate("rib-" + std::to_string(i), 90 + 5 * i, 60), small));
    write_templates_pdf(many, small, UnitSystem::metric, folder / "small.pdf");
    const std::string said = test::output_of("pdfinfo '" + (folder / "small.pdf") + "'");
    CHECK(said.find("Page size:       297.638 x 419.528 pts") != std::string::npos);
    CHECK_THROWS_AS(write_templates_pdf({}, small, UnitSystem::metric, folder / "none.pdf"), Error);
}

}  // namespace
}  // namespace cradlewright
