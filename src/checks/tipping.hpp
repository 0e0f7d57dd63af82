// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/catalog/options.hpp"
#include "cradlewright/checks/check.hpp"
#include "cradlewright/mechanics/stand.hpp"

namespace cradlewright {

/// What stands must not tip on a bench out of level, whatever it is: the slope at which it does against that of
/// slide_limit_rad. Judged, with the advice of what passes; the caller says where, and what to do when it does not.
Check tip_check(std::string id, std::string subject, const StandTip& tip, std::string formula,
                const Settings& settings);

}  // namespace cradlewright
