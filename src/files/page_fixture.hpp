// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/checks/design.hpp"
#include "files/page_words.hpp"

/// \file Panels, ribs and the rest of the cradle. Sections of report.html.
namespace cradlewright {

/// As HTML: flange panels, each drawn.
std::string panels_section(const Design& design, PageFigures& figures);
/// As HTML: ribs, each drawn, and their offsets.
std::string ribs_section(const Design& design, PageFigures& figures);
/// As HTML: stringers, ties, base, blocks and joints.
std::string cradle_section(const Design& design, PageFigures& figures);

}  // namespace cradlewright
