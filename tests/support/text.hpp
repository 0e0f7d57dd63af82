// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace cradlewright::test {

inline bool has(std::string_view text, std::string_view piece) { return text.find(piece) != std::string_view::npos; }

/// How often `piece` stands in `text`, without overlaps. Precondition: piece is not empty.
inline std::size_t count_of(std::string_view text, std::string_view piece) {
    std::size_t count = 0;
    for (std::size_t at = 0; (at = text.find(piece, at)) != std::string_view::npos; at += piece.size()) ++count;
    return count;
}

}  // namespace cradlewright::test
