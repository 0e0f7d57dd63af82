// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/stages/bead.hpp"
#include "stages/bead_plan.hpp"

namespace cradlewright {

std::vector<const BeadSection*> valid_sections(const BeadRun& run);

/// Fills length, volume and corner angles from the sections. Volume by Pappus: mean area times the way of its centroid.
void measure_run(BeadRun& run);

/// Adds the clay between consecutive runs of one loop to the earlier one and draws the loop's trim line: feet on the
/// plug, the panel line where no clay is. `runs[k]` belongs to `plans[k]`.
std::vector<Vec3> join_runs(std::vector<BeadRun>& runs, const std::vector<RunPlan>& plans, std::size_t loop,
                            const std::vector<Vec3>& line, double tolerance_mm);

}  // namespace cradlewright
