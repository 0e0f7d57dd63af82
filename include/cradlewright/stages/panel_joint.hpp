// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/stages/cradle.hpp"
#include "cradlewright/stages/flange.hpp"

/// \file Joints between pieces of one panel that was larger than its sheet.
namespace cradlewright {

/// Neighbours on one edge, `b` after `a`, whose tops are one plane where they meet.
bool are_butted(const FlangePanel& a, const FlangePanel& b, const Parting& parting, const Settings& settings);

/// The flange with straps of its own sheet under the joints of butted flat panels, eight thicknesses on either side,
/// between what carries the panels there; the panels' notes name them. Where too little room is left, and under bent
/// panels, the note says what to do instead. Source of the strap's width: common practice for plywood.
Flange lay_straps(Flange flange, const Parting& parting, const Cradle& cradle, const Settings& settings);

}  // namespace cradlewright
