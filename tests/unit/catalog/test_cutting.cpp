// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <set>

#include "cradlewright/catalog/bibliography.hpp"
#include "cradlewright/catalog/cutting.hpp"

using namespace cradlewright;

TEST_CASE("cutting rows name materials and sources and stay within usual figures", "[catalog][cutting]") {
    std::set<std::string_view> names;
    for (const CuttingRow& row : cutting_rows()) {
        CAPTURE(row.material);
        CHECK(names.insert(row.material).second);
        CHECK_NOTHROW(material(row.material));
        CHECK(find_reference(row.source.key) != nullptr);
        const double tooth_mm = row.tooth_per_diameter * 6;
        CHECK((tooth_mm >= 0.05 && tooth_mm <= 0.15));  // common practice, 6 mm
        CHECK((row.speed_rpm >= 8000 && row.speed_rpm <= 24000));
        CHECK((row.depth_per_diameter > 0 && row.depth_per_diameter <= 1.5));
    }
    for (const Stock& s : default_stocks()) CHECK(names.contains(s.material));
}

TEST_CASE("feed is tooth feed times teeth times turns, and what is told is kept", "[catalog][cutting]") {
    RouterOptions options;
    const CuttingValues usual = cutting_values(options, "birch-plywood");
    CHECK(usual.feed_mm_min == Approx(0.060 * 2 * 16000));  // by hand from the row
    CHECK(usual.plunge_mm_min == Approx(usual.feed_mm_min / 3));
    CHECK(usual.pass_depth_mm == Approx(3));
    options.flutes = 1;
    options.speed_rpm = 10000;
    CHECK(cutting_values(options, "birch-plywood").feed_mm_min == Approx(0.060 * 10000));
    options.feed_mm_min = 700;
    options.plunge_mm_min = 900;  // more than the feed makes no sense
    options.pass_depth = Length::mm(1.5);
    const CuttingValues told = cutting_values(options, "birch-plywood");
    CHECK(told.feed_mm_min == 700);
    CHECK(told.plunge_mm_min == 700);
    CHECK(told.pass_depth_mm == 1.5);
    // A material without a row is taken as the one that is cut slowest.
    const CuttingValues unknown = cutting_values({}, "granite");
    for (const CuttingRow& row : cutting_rows()) {
        const CuttingValues known = cutting_values({}, row.material);
        CHECK(unknown.feed_mm_min * unknown.pass_depth_mm <= known.feed_mm_min * known.pass_depth_mm);
    }
}
