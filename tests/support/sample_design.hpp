// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/checks/check.hpp"
#include "cradlewright/checks/design.hpp"

/// A whole design made by hand, so that writers are tested without running a stage. Every number has a closed form.
namespace cradlewright::test {

/// A box plug of 600 x 200 x 40 whose parting line is the rectangle at its middle height, z = 100; four mitred panels
/// 60 wide and 3 thick; three ribs 9 thick with a hand hole; a stringer, two ties, a stop, a base; beads of radius 10
/// in square corners along the full length of every side. One piece of hardware of each kind on the front panel, the
/// locator on a shim of 10 deg as if the panel leaned.
struct SampleSizes {
    static constexpr double half_length = 300, half_width = 100, half_height = 20, line_z = 100;
    static constexpr double panel_width = 60, panel_thickness = 3, rib_thickness = 9, bead_radius = 10;
    static constexpr double hole_radius = 15;
};
Design sample_design();
/// One check of each verdict; the unknown one holds NaN, the passing one a worst place.
CheckReport sample_checks();
/// The same plug lying so that nothing parts: no loops, panels, ribs or beads; Parting::reason says why.
Design unparted_design();

}  // namespace cradlewright::test
