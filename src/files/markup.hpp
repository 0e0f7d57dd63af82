// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>

namespace cradlewright {

/// Text made safe between tags and in quoted attributes of HTML and SVG; control characters become spaces.
std::string escape_markup(std::string_view text);
/// A tick box that the page's script keeps, by its name; `says` is what a screen reader reads. Both plain text.
std::string tick_box(std::string_view name, std::string_view says);
/// A paragraph of HTML; `html` is markup already.
std::string paragraph(std::string_view html);

}  // namespace cradlewright
