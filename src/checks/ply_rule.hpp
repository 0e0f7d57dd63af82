// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/checks/check.hpp"
#include "cradlewright/mechanics/ply_bend.hpp"

/// \file The ply bend rule as a check: what beads, ramps and the plug's own edges share.
namespace cradlewright {

/// Radii at which a laminate, or one run of it, starts not to fail and to pass.
struct RadiusLimits {
    double limit_mm = 0;
    Spread good_mm;  ///< over the spread of the cloth's class radius
};
RadiusLimits limits_of_run(const Laminate& laminate, std::size_t run, Curvature side);
/// The strictest of the runs; zeros without plies.
RadiusLimits limits_of(const Laminate& laminate, Curvature side);

/// `radius_mm` against what the plies take, not yet judged. The spread of what they take is told as one of the radius:
/// low is the radius that does as well with the usual cloth of the class as this one with the stiffest.
Check radius_check(std::string id, std::string subject, const Spread& radius_mm, const RadiusLimits& limits);

std::string run_name(const PlyFit& fit);  ///< "glass-300, plies 2 to 5"
/// "12.7 mm (11.3 mm to 12.7 mm)"
std::string class_text(const Settings& settings, const Spread& mm);
/// Note that a test of one's own may ask for less than the widest of the class; empty where that is known already.
std::string own_test_note(const Settings& settings, const Cloth& cloth);

// ramp.cpp
struct Design;
/// Mould plies in the bends of ramps (concave) or part plies over their ridges (convex): a check for each run of plies
/// and edge with a ramp; none without.
std::vector<Check> check_ramp_plies(const Design& design, const Laminate& laminate, const std::string& id,
                                    Curvature side);

}  // namespace cradlewright
