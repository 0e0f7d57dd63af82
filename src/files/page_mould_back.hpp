// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <string>

#include "cradlewright/checks/design.hpp"
#include "files/page_pictures.hpp"

namespace cradlewright {

/// The section of report.html on the plates behind the mould and how it stands on them, as HTML: pictures, tables,
/// steps, cautions. `figure`: makes a picture into HTML, with a caption in HTML. Cautions: common practice.
std::string mould_back_section(const Design& design,
                               const std::function<std::string(const Picture&, std::string_view)>& figure);

}  // namespace cradlewright
