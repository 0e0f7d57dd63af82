// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/stages/plug.hpp"

namespace cradlewright {

/// Mends the scan and completes it as told: see PlugOptions::opening and ::decimate. Takes the triangles out of `scan`.
/// What is still open gets an assumed cap. Out: the mesh, one report for the whole; `completion` and `decimated_by_mm`
/// of the plug are filled in. Errors: see mend_plug.
RepairedMesh complete_scan(ScanMesh& scan, const PlugOptions& options, const std::string& place, Plug& plug);

}  // namespace cradlewright
