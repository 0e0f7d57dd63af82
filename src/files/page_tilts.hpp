// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/checks/design.hpp"
#include "cradlewright/stages/sweep.hpp"
#include "files/page_pictures.hpp"

namespace cradlewright {

/// Body of the report's section on other tilts: a slider over the rows of `tilts` with a picture that turns along, the
/// table it reads, curves. `command`: what made the report, without the tilt. Without a script slider and command stay
/// hidden and table and curves are read as they are.
std::string tilts_section(const Design& design, const Sweep& tilts, const std::string& command,
                          const FigureMaker& figure);

}  // namespace cradlewright
