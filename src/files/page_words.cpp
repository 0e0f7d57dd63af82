// SPDX-License-Identifier: GPL-3.0-or-later
// Source: W3C, Web Content Accessibility Guidelines 2.2, 1.1.1 and 1.4.10.
#include "files/page_words.hpp"

namespace cradlewright {

std::string PageFigures::figure(const Picture& picture, Breadth breadth, std::string_view caption) {
    const std::string number = "picture-" + std::to_string(++count_);
    const std::string title = escape_markup(picture.title), description = escape_markup(picture.description);
    const std::string svg = "<svg viewBox=\"0 0 " + fixed(picture.width, 0) + " " + fixed(picture.height, 0) +
                            "\" role=\"img\" aria-labelledby=\"" + number + "-title " + number +
                            "-desc\"><title id=\"" + number + "-title\">" + title + "</title><desc id=\"" + number +
                            "-desc\">" + description + "</desc>" + picture.body + "</svg>";
    const bool is_broad = breadth == Breadth::broad;
    return "<figure>" +
           (is_broad ? "<div class=\"scroll broad\" role=\"region\" tabindex=\"0\" aria-label=\"" + title + "\">" +
                           svg + "</div>"
                     : svg) +
           "<figcaption><b>" + title + ".</b>" + std::string(caption) + "</figcaption></figure>\n";
}

std::string PageFigures::described(const Picture& picture, std::string_view more) {
    return figure(picture, Breadth::broad, " " + escape_markup(picture.description) + std::string(more));
}

}  // namespace cradlewright
