// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/text_words.hpp"

#include <algorithm>
#include <charconv>

#include "files/scan_formats.hpp"

namespace cradlewright {

namespace {

template <class Number>
std::optional<Number> to_number(std::string_view word) {
    if (word.starts_with('+')) word.remove_prefix(1);
    Number value{};
    const auto [end, error] = std::from_chars(word.data(), word.data() + word.size(), value);
    if (word.empty() || end != word.data() + word.size()) return std::nullopt;
    if (error == std::errc{}) return value;
    // Too small to be told from 0 is harmless; too large is not.
    const bool is_tiny = error == std::errc::result_out_of_range &&
                         word.find_first_of("eE") != std::string_view::npos &&
                         word.find('-', word.find_first_of("eE")) != std::string_view::npos;
    return is_tiny ? std::optional<Number>(Number{}) : std::nullopt;
}

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\v' || c == '\f'; }

void split(std::string_view line, std::vector<std::string_view>& words) {
    words.clear();
    for (std::size_t i = 0; i < line.size();) {
        if (is_blank(line[i])) {
            ++i;
            continue;
        }
        std::size_t end = i;
        while (end < line.size() && !is_blank(line[end])) ++end;
        words.push_back(line.substr(i, end - i));
        i = end;
    }
}

}  // namespace

std::optional<double> to_real(std::string_view word) { return to_number<double>(word); }
std::optional<long long> to_whole(std::string_view word) { return to_number<long long>(word); }

bool equals_ignoring_case(std::string_view a, std::string_view b) {
    const auto lower = [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; };
    return std::equal(a.begin(), a.end(), b.begin(), b.end(), [&](char x, char y) { return lower(x) == lower(y); });
}

bool TextLines::next() {
    if (rest_.empty()) return false;
    const std::size_t end = std::min(rest_.find_first_of("\r\n"), rest_.size());
    split(rest_.substr(0, end), words_);
    const bool is_pair = rest_.substr(end, 2) == "\r\n";
    rest_.remove_prefix(std::min(rest_.size(), end + (is_pair ? 2 : 1)));
    ++number_;
    return true;
}

bool TextLines::next_with_words(char comment) {
    while (next()) {
        for (std::size_t i = 0; i < words_.size() && comment != 0; ++i) {
            const std::size_t at = words_[i].find(comment);
            if (at == std::string_view::npos) continue;
            words_[i] = words_[i].substr(0, at);
            words_.resize(words_[i].empty() ? i : i + 1);
        }
        if (!words_.empty()) return true;
    }
    return false;
}

double TextLines::real(std::size_t i) const {
    const auto value = i < words_.size() ? to_real(words_[i]) : std::nullopt;
    if (!value) fail("a number is missing or cannot be read");
    return *value;
}

long long TextLines::whole(std::size_t i) const {
    const auto value = i < words_.size() ? to_whole(words_[i]) : std::nullopt;
    if (!value) fail("a whole number is missing or cannot be read");
    return *value;
}

void TextLines::fail(const std::string& problem) const {
    fail_scan(place_, "line " + std::to_string(number_) + ": " + problem, "export the scan again");
}

}  // namespace cradlewright
