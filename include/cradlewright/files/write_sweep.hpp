// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/base/units.hpp"
#include "cradlewright/stages/sweep.hpp"

namespace cradlewright {

/// Everything a sweep found, schema "cradlewright-sweep-1": mm, mm2, N, deg, shares 0 to 1; null where not known.
std::string sweep_json(const Sweep& sweep);
/// The same as curves over the tilt, one self-contained SVG file; the recommended tilt and the told one are marked.
std::string sweep_chart_svg(const Sweep& sweep, UnitSystem units);

}  // namespace cradlewright
