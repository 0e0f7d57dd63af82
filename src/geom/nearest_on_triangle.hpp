// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>

#include "cradlewright/base/vec.hpp"

namespace cradlewright {

/// Point of a triangle that is nearest to `p`. Precondition: no two corners are equal.
/// Source: C. Ericson, Real-Time Collision Detection (2005), 5.1.5 [from memory].
Vec3 nearest_on_triangle(Vec3 p, const std::array<Vec3, 3>& t);

}  // namespace cradlewright
