// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/checks/design.hpp"
#include "files/page_words.hpp"

/// \file The plug, how it stands, and what is set on to its ends. Sections of report.html.
namespace cradlewright {

/// As HTML: the plug and how it stands.
std::string plug_section(const Design& design, PageFigures& figures);
/// As HTML: the pieces set on to its ends, and how to make them.
std::string extensions_section(const Design& design, PageFigures& figures);

}  // namespace cradlewright
