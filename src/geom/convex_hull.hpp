// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/base/vec.hpp"

namespace cradlewright {

/// Convex hull, counter-clockwise, no point doubled; under three points when they lie on one line or are one. Cost:
/// O(n log n). Source: A. M. Andrew, monotone chain (1979) [from memory].
std::vector<Vec2> convex_hull(std::vector<Vec2> points);

/// Least distance from `p` to the lines of the hull's edges, negative outside; -infinity for a hull without area.
double margin_inside(Vec2 p, const std::vector<Vec2>& hull);

}  // namespace cradlewright
