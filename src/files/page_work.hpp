// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/checks/design.hpp"

namespace cradlewright {

/// Section "Order of work" of report.html: steps with boxes to tick, dry-fit sheet, turning over. Each box carries its
/// step's id in data-tick, each field of the dry-fit sheet its row's id in data-note. HTML; empty without steps.
std::string work_section(const Design& design);

}  // namespace cradlewright
