// SPDX-License-Identifier: GPL-3.0-or-later
// Drawn by librsvg and poppler, parsed by Python's XML reader: none shares code with the writer.
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "cradlewright/files/write_drawings.hpp"
#include "outside_tools.hpp"

namespace cradlewright {
namespace {

/// A plate 120 x 60 with a quarter-circle hollow of radius 30 in its upper right corner; fit there, rough elsewhere.
Drawing sample() {
    Drawing drawing;
    drawing.title = "rib-2 <a & b>";
    const double quarter = std::tan(std::numbers::pi / 8);
    drawing.paths.push_back(
        {Layer::cut_fit, {{{120, 30}, -quarter, CutKind::fit}, {{90, 60}, 0, CutKind::fit}}, false});
    drawing.paths.push_back({Layer::cut_rough,
                             make_loop({{90, 60}, {0, 60}, {0, 0}, {120, 0}, {120, 30}}, CutKind::rough).vertices,
                             false});
    drawing.paths.push_back({Layer::mark, make_circle({30, 30}, 10, CutKind::rough, false).vertices, true});
    drawing.texts.push_back({{50, 10}, 5, 0, "rib-2 <&>"});
    return drawing;
}

std::string write(const test::ScratchFolder& folder, const std::string& text) {
    const std::string path = folder / "a.svg";
    std::ofstream(path, std::ios::binary) << text;
    return path;
}

TEST_CASE("librsvg draws the file in true size", "[files]") {
    const test::ScratchFolder folder("svg");
    const std::string path = write(folder, svg_text(sample()));
    // 5 mm border on all sides, 6 mm more for the legend: 130 x 76 mm at 254 dpi, 10 dots a mm.
    test::output_of("rsvg-convert -d 254 -p 254 -o '" + (folder / "a.png") + "' '" + path + "'");
    const std::string png = test::bytes_of(folder / "a.png");
    const auto number_at = [&](std::size_t i) {
        int value = 0;
        for (std::size_t k = 0; k < 4; ++k) value = value << 8 | static_cast<unsigned char>(png.at(i + k));
        return value;
    };
    CHECK(number_at(16) == 1300);  // IHDR: width, height
    CHECK(number_at(20) == 760);

    test::output_of("rsvg-convert -f pdf -d 96 -p 96 -o '" + (folder / "a.pdf") + "' '" + path + "'");
    const test::Picture picture = test::page_picture(folder / "a.pdf", 1, 254);
    const double dots = picture.dots_per_mm;
    // Across the plate at half height of its straight side: left and right edge, and the mark's circle between.
    const auto runs = picture.runs_in_row(static_cast<int>(std::lround((5 + 60 - 15) * dots)), 200);
    REQUIRE(runs.size() >= 2);
    CHECK((runs.back().first + runs.back().second - runs.front().first) / dots == Approx(120 + 0.25).margin(0.15));
    // The hollow lies toward the plate: its middle is 30 mm from the corner (120, 60), on the diagonal.
    const double on_diagonal = 30 / std::sqrt(2.0);
    const auto is_dark_near = [&](Vec2 p) {
        const int x = static_cast<int>(std::lround((p.x + 5) * dots)),
                  y = static_cast<int>(std::lround((60 - p.y + 5) * dots));
        for (int i = -2; i <= 2; ++i) {
            for (int k = -2; k <= 2; ++k) {
                if (picture.is_dark(x + i, y + k, 200)) return true;
            }
        }
        return false;
    };
    CHECK(is_dark_near({120 - on_diagonal, 60 - on_diagonal}));
    CHECK_FALSE(is_dark_near({90 + on_diagonal, 30 + on_diagonal}));  // where a bulge of the wrong sign would lie
    CHECK_FALSE(is_dark_near({120, 60}));
    CHECK(is_dark_near({40, 30}));  // the mark
    CHECK(is_dark_near({30, 20}));
}

TEST_CASE("layers are groups with class and id, words are escaped", "[files]") {
    const test::ScratchFolder folder("svg");
    const std::string path = write(folder, svg_text(sample()));
    const std::string said = test::output_of(
        "/usr/bin/python3 -c 'import sys\nimport xml.etree.ElementTree as E\nr=E.parse(sys.argv[1]).getroot()\n"
        "s=\"{http://www.w3.org/2000/"
        "svg}\"\nprint(r.attrib[\"width\"],r.attrib[\"viewBox\"],r.find(s+\"title\").text)\n"
        "for g in r.findall(s+\"g\"): print(g.attrib[\"id\"],g.attrib[\"class\"],len(g.findall(s+\"path\")),"
        "[t.text for t in g.findall(s+\"text\")][:1] if g.attrib[\"id\"]==\"text\" else \"\","
        "\"dashed\" if \"stroke-dasharray\" in g.attrib else \"\")' '" +
        path + "'");
    CHECK(said ==
          "130.0000mm 0 0 130.0000 76.0000 rib-2 <a & b>\n"
          "cut-fit cut-fit 1  \n"
          "cut-rough cut-rough 1  dashed\n"
          "mark mark 1  \n"
          "text text 0 ['rib-2 <&>'] \n"
          "legend legend 0  \n");
}

TEST_CASE("the legend speaks of the lines that are there", "[files]") {
    Drawing drawing = sample();
    drawing.paths.push_back({Layer::mark, {{{0, 0}}, {{400, 0}}}, false});  // a narrow drawing says less
    CHECK(svg_text(drawing).find("Solid: fit") != std::string::npos);
    std::erase_if(drawing.paths, [](const DrawnPath& p) { return p.layer == Layer::cut_fit; });
    CHECK(svg_text(drawing).find("Solid: fit") == std::string::npos);
    CHECK(svg_text(drawing).find("Cut along the dashed line") != std::string::npos);
}

TEST_CASE("SVG bytes repeat and hold no negative zero", "[files]") {
    CHECK(svg_text(sample()) == svg_text(sample()));
    CHECK(svg_text(sample()).find("-0.0000") == std::string::npos);
    CHECK(svg_text(Drawing{}).find("</svg>") != std::string::npos);
}

}  // namespace
}  // namespace cradlewright
