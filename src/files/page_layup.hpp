// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/checks/design.hpp"

namespace cradlewright {

/// The section of report.html on cloth, resin and what to buy as HTML; empty without a parting line.
std::string layup_section(const Design& design);

}  // namespace cradlewright
