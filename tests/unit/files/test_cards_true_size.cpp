// SPDX-License-Identifier: GPL-3.0-or-later
// Cards as a builder gets them: the nose is measured in what ezdxf reads of the DXF and librsvg and poppler draw of the
// SVG, by the circle nearest to its points.
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <sstream>

#include "cradlewright/files/write_drawings.hpp"
#include "cradlewright/stages/scraper.hpp"
#include "outside_tools.hpp"
#include "support/sample_design.hpp"

namespace cradlewright {
namespace {

using std::numbers::pi;

/// Radius of the circle through points in the sense of least squares. Source: I. Kasa (1976) [from memory]: x2 + y2 =
/// a x + b y + c is linear.
double fitted_radius(const std::vector<Vec2>& points) {
    REQUIRE(points.size() >= 5);
    Vec2 mean{};
    for (const Vec2 p : points) mean = mean + p * (1.0 / static_cast<double>(points.size()));
    double xx = 0, xy = 0, yy = 0, xz = 0, yz = 0, z = 0;
    for (const Vec2 p : points) {
        const Vec2 d = p - mean;
        const double square = dot(d, d);
        xx += d.x * d.x;
        xy += d.x * d.y;
        yy += d.y * d.y;
        xz += d.x * square;
        yz += d.y * square;
        z += square;
    }
    const double det = xx * yy - xy * xy, a = (xz * yy - yz * xy) / det, b = (yz * xx - xz * xy) / det;
    return std::sqrt(z / static_cast<double>(points.size()) + (a * a + b * b) / 4);
}

/// The sample's box with panels at its middle height: square corners on four edges, beads of 10 mm.
PlatePart round_card() {
    const Design d = test::sample_design();
    const auto cards = make_scraper_cards(d.beads, d.flange, d.parting, d.settings);
    REQUIRE(cards.size() == 1);
    return cards.front().part;
}

TEST_CASE("a card's nose in the DXF is an arc of the bead's radius", "[files][scraper]") {
    const test::ScratchFolder folder("card-dxf");
    write_dxf(draw_part(round_card()), folder / "card.dxf");
    std::istringstream said(test::output_of(R"(/usr/bin/python3 -c "
import sys, ezdxf
from ezdxf.path import make_path
doc = ezdxf.readfile(sys.argv[1])
for e in doc.modelspace().query('LWPOLYLINE[layer==\"cut-fit\"]'):
    for part in e.virtual_entities():
        if part.dxftype() == 'ARC':
            for p in make_path(part).flattening(1e-5): print(p.x, p.y)
" ')" + (folder / "card.dxf") + "'"));
    std::vector<Vec2> nose;
    for (Vec2 p; said >> p.x >> p.y;) nose.push_back(p);
    CHECK(fitted_radius(nose) == Approx(test::SampleSizes::bead_radius).margin(0.001));
}

TEST_CASE("a card's nose drawn from the SVG is true size", "[files][scraper]") {
    const PlatePart card = round_card();
    const test::ScratchFolder folder("card-svg");
    std::ofstream(folder / "card.svg", std::ios::binary) << svg_text(draw_part(card));
    test::output_of("rsvg-convert -f pdf -d 96 -p 96 -o '" + (folder / "card.pdf") + "' '" + (folder / "card.svg") +
                    "'");
    const test::Picture picture = test::page_picture(folder / "card.pdf", 1, 508);
    // 5 mm of border to the left of the part; the part's origin, under which the nose lies, is in the card's middle.
    const double dots = picture.dots_per_mm, middle = (5 - bounding_box(card.outline).low.x) * dots;
    const double half = test::SampleSizes::bead_radius * std::sin(pi / 4) * 0.95 * dots;
    std::vector<Vec2> nose;
    for (int x = static_cast<int>(middle - half); x < static_cast<int>(middle + half); ++x) {
        const auto runs = picture.runs_in_column(x, 200);
        REQUIRE_FALSE(runs.empty());
        const auto& [start, length] = runs.back();  // lowest ink: the nose's line
        nose.push_back({(x + 0.5) / dots, (start + length / 2.0) / dots});
    }
    // A quarter circle of 280 columns, each right to a dot of 0.05 mm.
    CHECK(fitted_radius(nose) == Approx(test::SampleSizes::bead_radius).margin(0.1));
}

}  // namespace
}  // namespace cradlewright
