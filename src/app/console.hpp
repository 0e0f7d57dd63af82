// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <ostream>
#include <string>
#include <string_view>
#include <vector>

#include "cradlewright/base/progress.hpp"
#include "cradlewright/checks/check.hpp"

namespace cradlewright::app {

inline constexpr std::size_t page_columns = 80;

/// Text broken at blanks so that no line passes page_columns; every line starts with `indent` blanks and ends with a
/// line feed. A word longer than a line is left whole.
std::string wrapped(std::string_view text, std::size_t indent);
inline constexpr std::size_t under_text = static_cast<std::size_t>(-1);
/// `first` followed by `text`, which wraps `indent` from the left; by default under its own start.
std::string hanging(std::string first, std::string_view text, std::size_t indent = under_text);
/// "cradlewright: text" on standard error: one line, on a terminal wrapped.
void complain(std::string_view text);
/// Control characters of names from outside must not reach a terminal.
std::string printable(std::string_view text);

/// Rows of text under heads, columns as wide as their widest cell; the last column wraps.
class Table {
public:
    enum class Align { left, right };
    struct Column {
        std::string head;
        Align align = Align::left;
    };
    explicit Table(std::vector<Column> columns) : columns_(std::move(columns)) {}
    void add(std::vector<std::string> cells) { rows_.push_back(std::move(cells)); }
    [[nodiscard]] std::string text() const;

private:
    std::vector<Column> columns_;
    std::vector<std::vector<std::string>> rows_;
};

/// The one place that talks to the user: results on standard output, progress and warnings on standard error. Colour
/// and progress only on a terminal.
class Console {
public:
    /// `shows_results` false: standard output stays empty (--quiet) or belongs to somebody else (--json).
    explicit Console(bool shows_results);
    ~Console() { clear_progress(); }
    Console(const Console&) = delete;
    Console& operator=(const Console&) = delete;

    void result(std::string_view text);
    /// "  name        text", wrapped under itself.
    void fact(std::string_view name, std::string_view text);
    void warn(std::string_view text);
    /// One line a check or group of passing subjects, advice under each that does not pass.
    void checks(const CheckReport& report, UnitSystem units);
    /// Stops the work when an interrupt signal has come.
    [[nodiscard]] Progress progress();

    /// Raw bytes on standard output, e.g. JSON; not silenced.
    static void raw(std::string_view text);
    /// Errors: Error(io) when standard output could not take everything.
    static void flush();

private:
    void check_lines(const Check& check, UnitSystem units, std::size_t count);
    /// The line with its verdict word in colour, on a terminal.
    [[nodiscard]] std::string coloured(std::string line, Verdict verdict) const;
    void clear_progress();

    bool shows_results_;
    bool out_is_terminal_, err_is_terminal_;
    bool has_progress_line_ = false;
};

/// A closed standard stream is held by something that takes no results, or else the next file opened would get its
/// number and receive what is meant for the user.
void hold_standard_streams();
/// From now on the first interrupt asks for a clean stop; a second one ends the program at once.
void catch_interrupts();
bool is_interrupted();

}  // namespace cradlewright::app
