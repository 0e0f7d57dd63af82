// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/base/units.hpp"
#include "cradlewright/output/toolpath.hpp"

namespace cradlewright {

/// One sheet as an RS274/NGC program: G21 with 4 decimals of a mm or G20 with 5 of an inch, so that every arc keeps the
/// report's radius rule; every move names its G word; compensation is in the geometry (G40). Its head says what to
/// clamp down, where zero is, what to check and what overrules it. ASCII, lines of at most 256 characters. Source: T.
/// R. Kramer, F. M. Proctor, E. Messina, NISTIR 6556 (2000), 3.3 to 3.6.
std::string gcode_text(const SheetPath& path, UnitSystem units);

}  // namespace cradlewright
