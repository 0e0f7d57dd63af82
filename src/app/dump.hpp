// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

#include "cradlewright/files/output_folder.hpp"
#include "cradlewright/pipeline.hpp"

namespace cradlewright::app {

/// Writes what each stage worked out, for bug reports and for looking at: STAGE.json as in report.json, curves as
/// STAGE.obj (fixture frame, mm), cut parts as STAGE/PART.svg, the mended plug as plug.ply (scan frame). In: `report`
/// the text of report.json. Does not commit `folder`.
void dump_stages(const Build& build, std::string_view report, OutputFolder& folder);

}  // namespace cradlewright::app
