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

/// The only code that knows the order of the stages. In: the scan as read (consumed) and all settings.
/// Errors: Error(bad_input) from the stages, Error(cancelled) through `progress`.
Build run_pipeline(ScanMesh scan, const Settings& settings, const Progress& progress = {});

}  // namespace cradlewright
