// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>

#include "cradlewright/base/vec.hpp"

namespace cradlewright::test {

/// Sum of the absolute turning angles at the corners, rad; doubled points are passed over.
double total_turning(std::span<const Vec3> points, bool is_closed);

}  // namespace cradlewright::test
