// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

/// \file Small readings of typed text that the settings share.
namespace cradlewright {

std::string_view without_blanks_around(std::string_view text);
/// In quotes for messages; long text is cut.
std::string in_quotes(std::string_view text);
std::string joined(const std::vector<std::string>& items, std::string_view separator);
/// Items between commas without the blanks around them; none for blank text.
std::vector<std::string_view> split_list(std::string_view text);
/// "9.5 " of "9.5 mm": all before the unit; an exponent belongs to the number.
std::string_view number_part(std::string_view text);
/// True for 1 to 40 characters of a-z, 0-9 and -.
bool is_section_name(std::string_view name);
/// Names and counts of "NAME xN, NAME xN"; 0 for the count `xauto`, which one of them may have. Errors:
/// Error(bad_input, place) for bad names or counts, and for no plies.
std::vector<std::pair<std::string, int>> split_plies(std::string_view text, std::string_view place);
/// Least number of inserted, deleted, replaced letters and swapped neighbours (optimal string alignment).
/// Source: key "damerau".
std::size_t spelling_distance(std::string_view a, std::string_view b);

}  // namespace cradlewright
