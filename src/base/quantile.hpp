// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

namespace cradlewright {

struct WeightedValue {
    float value = 0, weight = 0;
};

/// Least of the values up to and with which at least `share` of the whole weight lies; NaN when there are none.
/// Precondition: weights >= 0, share in [0, 1]. Cost: O(n) expected.
double weighted_quantile(std::vector<WeightedValue> values, double share);

}  // namespace cradlewright
