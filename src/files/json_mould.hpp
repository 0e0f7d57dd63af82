// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/checks/design.hpp"
#include "files/json_numbers.hpp"

namespace cradlewright {

/// Key `mould` of report.json: locators and opening hardware, plates behind the mould, how it stands.
Json mould_json(const Design& design);

}  // namespace cradlewright
