// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "base/quantile.hpp"

using namespace cradlewright;

TEST_CASE("a quantile by weight is the value that reaches the share", "[base][quantile]") {
    const std::vector<WeightedValue> values{{3, 1}, {1, 2}, {2, 5}, {4, 2}};  // in order 1 2 3 4, sums 2 7 8 10
    CHECK(weighted_quantile(values, 0) == 1);
    CHECK(weighted_quantile(values, 0.2) == 1);
    CHECK(weighted_quantile(values, 0.21) == 2);
    CHECK(weighted_quantile(values, 0.7) == 2);
    CHECK(weighted_quantile(values, 0.75) == 3);
    CHECK(weighted_quantile(values, 1) == 4);
    CHECK(weighted_quantile({{5, 0.5f}}, 0.3) == 5);
    CHECK(std::isnan(weighted_quantile({}, 0.5)));
}

TEST_CASE("a quantile by weight agrees with sorting everything", "[base][quantile]") {
    std::mt19937 random(7);
    std::vector<WeightedValue> values(2000);
    // Whole numbers, so that sums are exact in any order, and many ties.
    for (WeightedValue& v : values) v = {static_cast<float>(random() % 50), static_cast<float>(random() % 9)};
    std::vector<WeightedValue> sorted = values;
    std::sort(sorted.begin(), sorted.end(),
              [](const WeightedValue& a, const WeightedValue& b) { return a.value < b.value; });
    double total = 0;
    for (const WeightedValue& v : values) total += double{v.weight};
    for (const double share : {0.01, 0.1, 0.5, 0.77, 0.999}) {
        double sum = 0;
        const auto reached = std::find_if(sorted.begin(), sorted.end(), [&](const WeightedValue& v) {
            sum += double{v.weight};
            return sum >= share * total;
        });
        CHECK(weighted_quantile(values, share) == double{reached->value});
    }
}
