// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/checks/design.hpp"
#include "files/picture_canvas.hpp"

/// \file The whole fixture on the build sheet, with overall dimensions.
namespace cradlewright {

/// Seen from above, front up, end-a left: base, uprights, strips, panels, parting line.
Picture draw_plan(const Design& design);
/// Seen from end-b, front right: base, the middle rib, panels, the plug cut over that rib.
Picture draw_elevation(const Design& design);
/// Seen from the front, end-b left: where straps, hands and the centre of gravity lie when it is turned over.
Picture draw_turn_over(const Design& design);

}  // namespace cradlewright
