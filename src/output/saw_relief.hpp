// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/catalog/options.hpp"
#include "cradlewright/stages/plate.hpp"

namespace cradlewright {

/// Cuts from outside to 1 mm short of inside curves that the saw's blade does not turn in, so that what lies between
/// them falls out piece by piece: as many as leave 1 mm at most to drum and file. None where the part itself is in the
/// way. Part frame, outside the part. Source: derived, sagitta of a chord; common practice of the band saw.
std::vector<Mark> relief_cuts(const PlatePart& part, const SawOptions& saw);

}  // namespace cradlewright
