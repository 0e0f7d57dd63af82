// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

/// Places and problems quote what users typed; a stray line feed or escape must not reach a terminal.
std::string on_one_line(std::string_view text) {
    std::string clean(text);
    for (char& c : clean) {
        const auto byte = static_cast<unsigned char>(c);
        if (byte < 0x20 || byte == 0x7f) {
            c = byte == '\n' || byte == '\r' || byte == '\t' ? ' ' : '?';
        }
    }
    return clean;
}

std::string compose(std::string_view place, std::string_view problem, std::string_view hint) {
    std::string text(place);
    if (!place.empty()) {
        text += ": ";
    }
    text += problem;
    if (!hint.empty()) {
        text += "; ";
        text += hint;
    }
    return on_one_line(text);
}

}  // namespace

Error::Error(ErrorCode code, std::string_view place, std::string_view problem, std::string_view hint)
    : std::runtime_error(compose(place, problem, hint)), code_(code) {}

void fail_condition(const char* kind, const char* condition, const char* function) {
    throw Error(ErrorCode::internal, function, std::string(kind) + " does not hold: " + condition,
                "this is a defect in the program, please report it");
}

}  // namespace cradlewright
