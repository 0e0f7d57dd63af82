// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/checks/design.hpp"
#include "files/json_numbers.hpp"

namespace cradlewright {

/// Key `layup` of report.json: laminates, cloth patterns, kit, shopping list.
Json layup_json(const Design& design);

}  // namespace cradlewright
