// SPDX-License-Identifier: GPL-3.0-or-later
#include "catalog/text.hpp"

#include <algorithm>
#include <charconv>

#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

bool is_lower(char c) { return c >= 'a' && c <= 'z'; }
bool is_letter(char c) { return is_lower(c) || (c >= 'A' && c <= 'Z'); }
bool is_digit(char c) { return c >= '0' && c <= '9'; }

}  // namespace

std::string_view without_blanks_around(std::string_view text) {
    const std::size_t first = text.find_first_not_of(" \t");
    return first == std::string_view::npos ? std::string_view()
                                           : text.substr(first, text.find_last_not_of(" \t") - first + 1);
}

std::string in_quotes(std::string_view text) {
    constexpr std::size_t longest = 40;
    return '"' + std::string(text.substr(0, longest)) + (text.size() > longest ? "...\"" : "\"");
}

std::string joined(const std::vector<std::string>& items, std::string_view separator) {
    std::string text;
    for (std::size_t i = 0; i < items.size(); ++i) {
        text += i > 0 ? separator : "";
        text += items[i];
    }
    return text;
}

std::vector<std::string_view> split_list(std::string_view text) {
    std::vector<std::string_view> items;
    if (without_blanks_around(text).empty()) {
        return items;
    }
    while (true) {
        const std::size_t comma = text.find(',');
        items.push_back(without_blanks_around(text.substr(0, comma)));
        if (comma == std::string_view::npos) {
            return items;
        }
        text.remove_prefix(comma + 1);
    }
}

std::string_view number_part(std::string_view text) {
    for (std::size_t i = 0; i < text.size(); ++i) {
        const bool is_exponent = (text[i] == 'e' || text[i] == 'E') && i + 1 < text.size() &&
                                 (is_digit(text[i + 1]) || text[i + 1] == '-' || text[i + 1] == '+');
        if ((is_letter(text[i]) && !is_exponent) || text[i] == '%' || text[i] == '"' || text[i] == '\'') {
            return without_blanks_around(text.substr(0, i));
        }
    }
    return without_blanks_around(text);
}

bool is_section_name(std::string_view name) {
    constexpr std::size_t longest = 40;
    return !name.empty() && name.size() <= longest &&
           std::all_of(name.begin(), name.end(), [](char c) { return is_lower(c) || is_digit(c) || c == '-'; });
}

std::vector<std::pair<std::string, int>> split_plies(std::string_view text, std::string_view place) {
    constexpr int most_plies = 100;
    const auto refuse = [&](const std::string& problem) {
        throw Error(ErrorCode::bad_input, place, problem, "write plies as \"glass-160 x1, glass-300 x4\"");
    };
    std::vector<std::pair<std::string, int>> plies;
    for (const std::string_view item : split_list(text)) {
        const std::size_t blank = item.find_first_of(" \t");
        const std::string_view name = item.substr(0, blank);
        std::string_view times = blank == std::string_view::npos ? "x1" : without_blanks_around(item.substr(blank));
        const bool is_auto = times == "xauto";
        int count = 0;
        if (!is_auto && times.starts_with('x')) {
            times = without_blanks_around(times.substr(1));
            const auto [end, code] = std::from_chars(times.data(), times.data() + times.size(), count);
            count = code == std::errc{} && end == times.data() + times.size() ? count : 0;
        }
        if (!is_section_name(name)) {
            refuse(in_quotes(item) + " does not start with the name of a cloth");
        }
        if (!is_auto && (count < 1 || count > most_plies)) {
            refuse(in_quotes(item) + " does not say how many plies, x1 to x" + std::to_string(most_plies));
        }
        if (is_auto && std::any_of(plies.begin(), plies.end(), [](const auto& ply) { return ply.second == 0; })) {
            refuse("only one cloth can be xauto");
        }
        plies.emplace_back(name, count);
    }
    if (plies.empty()) {
        refuse("there are no plies");
    }
    return plies;
}

std::size_t spelling_distance(std::string_view a, std::string_view b) {
    std::vector<std::size_t> before(b.size() + 1), previous(b.size() + 1), current(b.size() + 1);
    for (std::size_t j = 0; j <= b.size(); ++j) {
        previous[j] = j;
    }
    for (std::size_t i = 1; i <= a.size(); ++i) {
        current[0] = i;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            const std::size_t replaced = previous[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
            current[j] = std::min({previous[j] + 1, current[j - 1] + 1, replaced});
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                current[j] = std::min(current[j], before[j - 2] + 1);
            }
        }
        std::swap(before, previous);
        std::swap(previous, current);
    }
    return previous[b.size()];
}

}  // namespace cradlewright
