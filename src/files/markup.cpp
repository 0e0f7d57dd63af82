// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/markup.hpp"

namespace cradlewright {

std::string escape_markup(std::string_view text) {
    std::string result;
    for (const char c : text) {
        switch (c) {
            case '&':
                result += "&amp;";
                break;
            case '<':
                result += "&lt;";
                break;
            case '>':
                result += "&gt;";
                break;
            case '"':
                result += "&quot;";
                break;
            case '\'':
                result += "&#39;";
                break;
            default:
                // XML 1.0 has no other control characters.
                result += static_cast<unsigned char>(c) < 0x20 ? ' ' : c;
        }
    }
    return result;
}

std::string tick_box(std::string_view name, std::string_view says) {
    return "<input type=\"checkbox\" data-tick=\"" + escape_markup(name) + "\" aria-label=\"" + escape_markup(says) +
           "\" autocomplete=\"off\">";
}

std::string paragraph(std::string_view html) { return "<p>" + std::string(html) + "</p>\n"; }

}  // namespace cradlewright
