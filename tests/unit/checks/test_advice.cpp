// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "checks/advice.hpp"

using namespace cradlewright;

namespace {

Settings in_units(UnitSystem units) {
    Settings settings;
    settings.units = units;
    return settings;
}

}  // namespace

TEST_CASE("a length to set is written for the bench", "[checks][advice]") {
    const Settings mm = in_units(UnitSystem::metric), inch = in_units(UnitSystem::inch);
    CHECK(length_to_set(mm, 12.34, Rounding::up) == "12.4 mm");
    CHECK(length_to_set(mm, 12.34, Rounding::down) == "12.3 mm");
    CHECK(length_to_set(mm, 21, Rounding::up) == "21 mm");
    CHECK(length_to_set(mm, 0.031, Rounding::up) == "0.04 mm");
    CHECK(length_to_set(mm, 0.3, Rounding::down) == "0.3 mm");
    CHECK(length_to_set(inch, 9.525, Rounding::up) == "3/8 in");
    CHECK(length_to_set(inch, 9.525, Rounding::down) == "3/8 in");
    CHECK(length_to_set(inch, 9.53, Rounding::up) == "25/64 in");
    CHECK(length_to_set(inch, 0.5, Rounding::down) == "0.019 in");  // 1/64 in would be 0.4 mm
    CHECK(length_text(mm, 0.031) == "0.03 mm");
    CHECK(length_text(inch, 0.031) == "0.001 in");
}

TEST_CASE("a length to set reads back on the safe side and near", "[checks][advice][property]") {
    std::mt19937_64 random(5);
    std::uniform_real_distribution<double> log_mm(std::log(0.05), std::log(2000));
    for (int i = 0; i < 2000; ++i)
        for (const UnitSystem units : {UnitSystem::metric, UnitSystem::inch}) {
            const double mm = std::exp(log_mm(random));
            const Settings settings = in_units(units);
            const double up = parse_length(length_to_set(settings, mm, Rounding::up), "test").mm();
            const double down = parse_length(length_to_set(settings, mm, Rounding::down), "test").mm();
            CAPTURE(mm, up, down);
            REQUIRE(up >= mm - 1e-6);
            REQUIRE(down <= mm + 1e-6);
            REQUIRE(up - down <= 0.21 * mm + 0.0255);
        }
}
