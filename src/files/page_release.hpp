// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/checks/design.hpp"
#include "files/page_words.hpp"

/// \file The parting line and how the halves leave the plug. Sections of report.html.
namespace cradlewright {

/// As HTML: parting line, drafts, release, locks.
std::string parting_section(const Design& design, PageFigures& figures);

}  // namespace cradlewright
