// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/checks/design.hpp"
#include "cradlewright/output/scene.hpp"

/// \file The 3D view of report.html: its markup, its data, and the scripts that show it.
namespace cradlewright {

/// Body of the section: the stage, the controls and the scene as data. Lengths in mm, points quantised to 1/65535 of
/// the scene's box. Without a script it reads as one sentence. Cost: O(F).
std::string view_section(const Design& design, const Scene& scene);
/// The script elements for the end of the page: tick boxes, other tilts, and with `has_view` the 3D library, its
/// licence and the view.
std::string page_scripts(bool has_view);

}  // namespace cradlewright
