// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/stages/sweep.hpp"
#include "files/page_pictures.hpp"

namespace cradlewright {

/// A sweep's figures as curves over the tilt; the recommended tilt and the told one are marked. Classes `tilt-*` are
/// for a style sheet; the curves bring their own colours and dashes.
Picture draw_sweep(const Sweep& sweep, UnitSystem units);

}  // namespace cradlewright
