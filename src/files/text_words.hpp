// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace cradlewright {

/// A text file line by line, each split at blanks.
class TextLines {
public:
    TextLines(std::string_view bytes, std::string place) : rest_(bytes), place_(std::move(place)) {}

    /// Moves to the next line; false at the end. Lines end at \n, \r\n or \r.
    bool next();
    /// Moves to the next line that has words, left of `comment` if that is not 0; false at the end.
    bool next_with_words(char comment = '#');
    [[nodiscard]] const std::vector<std::string_view>& words() const { return words_; }
    [[nodiscard]] std::size_t number() const { return number_; }
    /// Bytes not yet taken.
    [[nodiscard]] std::string_view rest() const { return rest_; }
    /// Word `i` of the line as a number. Errors: Error(bad_input) with the line.
    [[nodiscard]] double real(std::size_t i) const;
    [[nodiscard]] long long whole(std::size_t i) const;
    [[noreturn]] void fail(const std::string& problem) const;

private:
    std::string_view rest_;
    std::string place_;
    std::vector<std::string_view> words_;
    std::size_t number_ = 0;
};

/// The whole word as a number, "nan" and "inf" included, a leading + allowed; nothing when it is none. Locale-free.
std::optional<double> to_real(std::string_view word);
std::optional<long long> to_whole(std::string_view word);
bool equals_ignoring_case(std::string_view a, std::string_view b);

}  // namespace cradlewright
