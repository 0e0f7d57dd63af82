// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/checks/design.hpp"

namespace cradlewright {

/// The section of report.html on locators, bolts, ports and wedge notches as HTML: table, steps, cautions; what found
/// no room and what to set. Cautions: common practice.
std::string hardware_section(const Design& design);

}  // namespace cradlewright
