// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "cradlewright/base/source.hpp"

namespace cradlewright {

/// A published source, or one of the provenance words of Source.
struct Reference {
    std::string_view key;
    std::string_view text;  ///< author, title, year, publisher or address
};

std::span<const Reference> bibliography();
/// nullptr for an unknown key.
const Reference* find_reference(std::string_view key);
/// True for a known key that is not one of the provenance words; its Source must name the exact place.
bool is_publication(std::string_view key);
/// "Roark's Formulas ..., Table 11.4 case 1a" - one line for reports.
std::string describe(const Source& source);

}  // namespace cradlewright
