// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/quantile.hpp"

#include <algorithm>
#include <limits>
#include <numeric>

namespace cradlewright {

double weighted_quantile(std::vector<WeightedValue> values, double share) {
    if (values.empty()) return std::numeric_limits<double>::quiet_NaN();
    const auto weight_of = [](auto first, auto last) {
        return std::accumulate(first, last, 0.0,
                               [](double sum, const WeightedValue& v) { return sum + double{v.weight}; });
    };
    auto first = values.begin(), last = values.end();
    double wanted = share * weight_of(first, last);
    while (last - first > 1) {
        const auto middle = first + (last - first) / 2;
        std::nth_element(first, middle, last,
                         [](const WeightedValue& a, const WeightedValue& b) { return a.value < b.value; });
        const double below = weight_of(first, middle);
        if (below >= wanted) {
            last = middle;
        } else {
            wanted -= below;
            first = middle;
        }
    }
    return double{first->value};
}

}  // namespace cradlewright
