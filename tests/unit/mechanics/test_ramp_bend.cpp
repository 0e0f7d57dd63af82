// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "cradlewright/mechanics/ramp_bend.hpp"

using namespace cradlewright;

namespace {
constexpr double quarter = std::numbers::pi / 4;
/// A ramp of 45 deg between panel and upright wall.
RampBends ramp(double height) { return {height * std::numbers::sqrt2, quarter, quarter}; }
}  // namespace

// The throat of a fillet of radius r in a corner of 135 deg is r (1 / sin 67.5 deg - 1) = 0.082392 r (trade data, 8).
TEST_CASE("far apart each inside bend counts as the fillet whose throat is the void", "[mechanics][ramp]") {
    CHECK(valley_radius_mm(ramp(20)) == Approx(0.5 / 0.0823922));
    CHECK(valley_radius_mm(ramp(20), 0.25) == Approx(0.25 / 0.0823922));
    CHECK(ridge_radius_mm(ramp(20)) == Approx(0.5 / (1 - std::cos(quarter / 2))));
}

// With no flat to speak of there is one square corner: throat r (sqrt 2 - 1), and over the ridge r (1 - cos 45 deg).
TEST_CASE("a vanishing ramp is a square corner", "[mechanics][ramp]") {
    CHECK(valley_radius_mm(ramp(1e-6)) == Approx(0.5 / (std::numbers::sqrt2 - 1)).epsilon(1e-4));
    CHECK(ridge_radius_mm(ramp(1e-6)) == Approx(0.5 / (1 - std::cos(quarter))).epsilon(1e-4));
}

// Round of radius r touching both walls, bends h off the apex: sqrt((r - h)^2 + r^2) - r is the void.
TEST_CASE("a low ramp is bridged from panel to plug", "[mechanics][ramp]") {
    const double h = GENERATE(0.5, 1.0, 2.0, 3.0), r = valley_radius_mm(ramp(h));
    CHECK(std::hypot(r - h, r) - r == Approx(0.5));
    CHECK(r < 0.5 / 0.0823922);
}

TEST_CASE("higher ramps and blunter bends are easier", "[mechanics][ramp]") {
    double last = 0, last_ridge = 0;
    for (double h = 0.25; h < 12; h += 0.25) {
        CHECK(valley_radius_mm(ramp(h)) >= last - 1e-9);
        CHECK(ridge_radius_mm(ramp(h)) >= last_ridge - 1e-9);
        last = valley_radius_mm(ramp(h));
        last_ridge = ridge_radius_mm(ramp(h));
    }
    CHECK(valley_radius_mm({4, quarter / 2, quarter / 2}) > valley_radius_mm({4, quarter, quarter}));
    CHECK(valley_radius_mm({4, quarter, quarter / 3}) == Approx(valley_radius_mm({4, quarter / 3, quarter})));
}
