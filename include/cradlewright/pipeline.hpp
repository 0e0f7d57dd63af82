// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/base/progress.hpp"
#include "cradlewright/checks/check.hpp"
#include "cradlewright/checks/design.hpp"
#include "cradlewright/output/layout.hpp"

namespace cradlewright {

/// A finished job, ready for the writers.
struct Build {
    Design design;
    CheckReport checks;
    Layout layout;
};

/// mend_plug, and where a length along the span is known (PlugOptions::known), that length held on the mended plug
/// along the span of its pose: loose pieces do not count and the span need not be an axis of the scan. Takes the
/// triangles out of `scan` and corrects its unit factor. Errors: those of mend_plug and pose_plug; Error(bad_input,
/// scan) when a told unit is more than 1 % off the known length.
Plug mend_to_scale(ScanMesh& scan, const Settings& settings);

/// The only code that knows the order of the stages. In: the scan as read (consumed) and all settings.
/// Errors: Error(bad_input) from the stages, Error(cancelled) through `progress`.
Build run_pipeline(ScanMesh scan, const Settings& settings, const Progress& progress = {});

}  // namespace cradlewright
