// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/checks/check.hpp"
#include "cradlewright/checks/design.hpp"

/// \file The functions behind the list of checks, one a contract id, by the file that holds them. Each reads a design
/// and returns at least one Check.
namespace cradlewright {

// scan.cpp
std::vector<Check> check_scan_quality(const Design& design);
std::vector<Check> check_scan_caliper(const Design& design);

// release.cpp
std::vector<Check> check_release_draft(const Design& design);
std::vector<Check> check_release_undercut(const Design& design);
std::vector<Check> check_release_flange(const Design& design);

// lock.cpp
std::vector<Check> check_release_lock(const Design& design);

// pose.cpp
std::vector<Check> check_pose_tip(const Design& design);
std::vector<Check> check_pose_slide(const Design& design);

// cradle.cpp
std::vector<Check> check_cradle_support(const Design& design);
std::vector<Check> check_cradle_seat(const Design& design);
std::vector<Check> check_cradle_drop_in(const Design& design);
std::vector<Check> check_cradle_lift_off(const Design& design);
std::vector<Check> check_cradle_clash(const Design& design);

// panel.cpp
std::vector<Check> check_panel_bend(const Design& design);
std::vector<Check> check_panel_gap(const Design& design);

// bead.cpp
std::vector<Check> check_release_join_gap(const Design& design);
std::vector<Check> check_bead_mould_plies(const Design& design);
std::vector<Check> check_bead_part_plies(const Design& design);
std::vector<Check> check_plug_arris_plies(const Design& design);
std::vector<Check> check_bead_cover(const Design& design);

// cradle_load.cpp
std::vector<Check> check_cradle_sag(const Design& design);
std::vector<Check> check_cradle_rib_bearing(const Design& design);

// panel_load.cpp
std::vector<Check> check_panel_deflection(const Design& design);
std::vector<Check> check_stringer_deflection(const Design& design);

// mould.cpp
std::vector<Check> check_mould_stiffness(const Design& design);
std::vector<Check> check_mould_shrinkage(const Design& design);

// mould_back.cpp
std::vector<Check> check_mould_stand_tip(const Design& design);

// layup.cpp
std::vector<Check> check_layup_shear(const Design& design);
std::vector<Check> check_layup_pot_life(const Design& design);

// stock.cpp
std::vector<Check> check_tool_inside_radius(const Design& design);
std::vector<Check> check_stock_fit(const Design& design);

}  // namespace cradlewright
