// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/checks/design.hpp"
#include "files/page_words.hpp"

/// \file The clay beads and the groove they leave. Sections of report.html.
namespace cradlewright {

/// As HTML: beads, cards, ramps, groove.
std::string beads_section(const Design& design, PageFigures& figures);

}  // namespace cradlewright
