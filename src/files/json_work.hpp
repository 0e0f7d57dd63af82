// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/stages/work_plan.hpp"
#include "files/json_numbers.hpp"

namespace cradlewright {

/// Key `work` of report.json: steps, dry_fit, turn_over, opening.
Json work_json(const WorkPlan& work);

}  // namespace cradlewright
