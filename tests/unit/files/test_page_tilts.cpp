// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <regex>

#include "files/page_plots.hpp"
#include "files/page_tilts.hpp"
#include "support/sample_design.hpp"
#include "support/text.hpp"

namespace cradlewright {
namespace {

using test::count_of;
using test::has;

Sweep three_tilts() {
    Sweep sweep;
    for (const double deg : {-2.5, 0.0, 2.5}) {
        SweepRow row;
        row.tilt_rad = Angle::deg(deg).rad();
        row.is_told = deg == 0;
        row.has_line = deg < 2;
        row.half[0].draft_deg = 4 + deg;
        row.half[1].draft_deg = 5;
        row.height_mm = 127;
        sweep.rows.push_back(row);
    }
    return sweep;
}

TEST_CASE("other tilts: the slider knows every row and the one that is set", "[files]") {
    const Design design = test::sample_design();
    const std::string html = tilts_section(design, three_tilts(), "cradlewright make 'my job.toml'",
                                           [](const Picture& picture, std::string_view) { return picture.body; });
    CHECK(has(html, "data-tilts=\"-2.5 0 2.5\""));
    CHECK(has(html, "max=\"2\" value=\"1\""));
    CHECK(has(html, "0 (as set)"));
    CHECK(has(html, "no line"));
    CHECK(has(html, "data-head=\"cradlewright make &#39;my job.toml&#39;\""));
    CHECK(has(html, ">1.5</td>"));  // the worse half
    // The section of a box is drawn about its middle: corners at plus and minus the same place.
    std::smatch path;
    REQUIRE(std::regex_search(html, path, std::regex("class=\"section\" d=\"([^\"]*)\"")));
    const std::string d = path[1];
    double sum_x = 0, sum_y = 0, most = 0;
    const std::regex point("[ML](-?[0-9.]+) (-?[0-9.]+)");
    for (std::sregex_iterator it(d.begin(), d.end(), point), end; it != end; ++it) {
        most = std::max(most, std::abs(std::stod((*it)[1])));
        sum_x += std::stod((*it)[1]);
        sum_y += std::stod((*it)[2]);
    }
    CHECK(most > 50);
    CHECK(std::abs(sum_x) < 1);
    CHECK(std::abs(sum_y) < 1);
}

TEST_CASE("what bends is drawn as a share of its limit", "[files]") {
    CheckReport report;
    const auto add = [&](const char* id, double value, double high) {
        Check check;
        check.id = id;
        check.subject = "rib-1";
        check.value = Quantity::of(Length::mm(value));
        check.low = check.value;
        check.high = Quantity::of(Length::mm(high));
        check.limit = Quantity::of(Length::mm(1));
        check.relation = Relation::at_most;
        report.checks.push_back(check);
    };
    add("panel.gap", 0.5, 0.5);  // no bending
    CHECK(draw_deflections(report, UnitSystem::metric).body.empty());
    add("cradle.sag", 0.5, 0.75);
    const Picture one = draw_deflections(report, UnitSystem::metric);
    CHECK(has(one.body, "0.5 mm of 1 mm"));
    // Bars run from 230 to 560 px for one and a half times the limit: half of it ends at 340, 0.75 at 395, all at 450.
    CHECK(has(one.body, "M230 30.0H340.0"));
    CHECK(has(one.body, "H395.0"));
    CHECK(has(one.body, "class=\"parting\" d=\"M450.0"));
    add("panel.deflection", 0.2, 0.2);
    CHECK(count_of(draw_deflections(report, UnitSystem::metric).body, "class=\"wood\"") == 2);
    add("stringer.deflection", std::numeric_limits<double>::quiet_NaN(), 0);
    CHECK(count_of(draw_deflections(report, UnitSystem::metric).body, "class=\"wood\"") == 2);
}

TEST_CASE("the draft plot shares out each half's surface", "[files]") {
    // A box: half 1 takes its top and upper walls, which have no draft at all.
    const Picture plot = draw_drafts(test::sample_design());
    std::vector<double> shares;
    const std::regex share(">([0-9.]+) %<");
    for (std::sregex_iterator it(plot.body.begin(), plot.body.end(), share), end; it != end; ++it)
        shares.push_back(std::stod((*it)[1]));
    REQUIRE(shares.size() == 12);
    for (const std::size_t half : {std::size_t{0}, std::size_t{1}}) {
        double sum = 0;
        for (std::size_t band = 0; band < 6; ++band) sum += shares[6 * half + band];
        CHECK(sum == Approx(100).margin(0.4));
    }
    CHECK(draw_drafts(test::unparted_design()).body.empty());
}

}  // namespace
}  // namespace cradlewright
