// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/base/progress.hpp"
#include "cradlewright/checks/check.hpp"
#include "cradlewright/checks/design.hpp"
#include "cradlewright/output/layout.hpp"
#include "cradlewright/stages/release_map.hpp"
#include "cradlewright/stages/sweep.hpp"

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

/// extend_plug, in the frame and for the pull of the told pose. Errors: those of extend_plug and pose_plug.
Plug with_extensions(const Plug& plug, const Settings& settings);

/// The only code that knows the order of the stages. In: the scan as read (consumed) and all settings.
/// Errors: Error(bad_input) from the stages, Error(cancelled) through `progress`.
Build run_pipeline(ScanMesh scan, const Settings& settings, const Progress& progress = {});

/// The stages up to the parting line, and the whole design with its checks, for one mended plug; nothing is laid on
/// stock. Errors: as run_pipeline.
struct Parted {
    PosedPlug posed;
    ReleaseMap map;
    Parting parting;
    Release release;  ///< of the bare plug; design_from leaves out what beads hide
};
Parted part(const Plug& plug, const Settings& settings);
struct Designed {
    Design design;
    CheckReport checks;
};
Designed design_from(Parted parted, const Settings& settings, const Progress& progress = {});

/// Tries the plug at each tilt up to the parting line, designs the likely ones in full as run_pipeline would, and
/// recommends one. The scan is mended once and its mesh shared. A tilt at which a stage refuses becomes a row without a
/// line; when all refuse, the first error is thrown. Errors: as run_pipeline; those of sweep_tilts_rad.
Sweep run_sweep(ScanMesh scan, const Settings& settings, const SweepOptions& options, const Progress& progress = {});

/// How the plug would do at tilts up to 20 deg beside the told one, 2.5 deg apart: rows as of run_sweep, none designed,
/// none recommended. Errors: as run_sweep.
Sweep compare_tilts(const Plug& plug, const Settings& settings, const Progress& progress = {});
/// What pose.compare says for this design; without a parting line never.
bool wants_tilts_compared(const Design& design);

}  // namespace cradlewright
