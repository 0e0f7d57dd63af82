// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/checks/design.hpp"
#include "files/page_pictures.hpp"

namespace cradlewright {

/// The section of report.html on the plates behind the mould and how it stands on them, as HTML: pictures, tables,
/// steps, cautions. Cautions: common practice.
std::string mould_back_section(const Design& design, const FigureMaker& figure);

}  // namespace cradlewright
