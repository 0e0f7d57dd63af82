// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/stages/flange.hpp"

namespace cradlewright {

/// Gives the panels of a finished flange their ids and their lines in the cut list: how to bend, where to bevel.
/// Adds bevels toward neighbours. In: panels loop by loop, along the line.
void word_panels(Flange& flange, const Settings& settings);

}  // namespace cradlewright
