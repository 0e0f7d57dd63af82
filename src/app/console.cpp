// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/console.hpp"

#include <fcntl.h>
#include <signal.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cstdlib>
#include <iostream>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"

namespace cradlewright::app {

namespace {

std::atomic<bool> interrupted = false;
static_assert(std::atomic<bool>::is_always_lock_free, "a signal handler may touch it");

std::string padded(std::string_view text, std::size_t width, Table::Align align) {
    const std::string blanks(width > text.size() ? width - text.size() : 0, ' ');
    return align == Table::Align::left ? std::string(text) + blanks : blanks + std::string(text);
}

void drop_trailing_blanks(std::string& line) { line.erase(line.find_last_not_of(' ') + 1); }

bool wants_colour(bool is_terminal) {
    // https://no-color.org: set and not empty switches colour off.
    const char* no_colour = std::getenv("NO_COLOR");
    return is_terminal && (no_colour == nullptr || *no_colour == '\0');
}

const char* colour_of(Verdict verdict) {
    switch (verdict) {
        case Verdict::pass:
            return "\033[32m";
        case Verdict::marginal:
            return "\033[33m";
        case Verdict::fail:
            return "\033[31m";
        case Verdict::unknown:
            return "\033[35m";
        case Verdict::not_applicable:
            break;
    }
    return "\033[2m";
}

}  // namespace

std::string wrapped(std::string_view text, std::size_t indent) {
    std::string out, line(indent, ' ');
    std::size_t at = 0;
    bool is_empty = true;
    while (at < text.size()) {
        const std::size_t start = text.find_first_not_of(' ', at);
        if (start == std::string_view::npos) break;
        const std::size_t end = std::min(text.find(' ', start), text.size());
        const std::string_view word = text.substr(start, end - start);
        if (!is_empty && line.size() + 1 + word.size() > page_columns) {
            out += line + "\n";
            line.assign(indent, ' ');
            is_empty = true;
        }
        if (!is_empty) line += ' ';
        line += word;
        is_empty = false;
        at = end;
    }
    return out + line + "\n";
}

std::string hanging(std::string first, std::string_view text, std::size_t indent) {
    if (indent == under_text) indent = first.size();
    // The first line is as long as `first` leaves it; the blanks that stand for it are dropped again.
    std::string body =
        wrapped(std::string(first.size() - std::min(indent, first.size()), '.') + std::string(text), indent);
    body.replace(0, std::min(first.size(), body.size()), first);
    return body;
}

std::string printable(std::string_view text) {
    std::string clean(text);
    std::ranges::replace_if(
        clean, [](char c) { return (c >= 0 && c < ' ') || c == '\x7f'; }, '?');
    return clean;
}

std::string Table::text() const {
    std::vector<std::size_t> widths;
    for (const Column& column : columns_) widths.push_back(column.head.size());
    for (const auto& row : rows_)
        for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], row[i].size());

    const auto line = [&](const auto& cell) {
        std::string text = "  ";
        for (std::size_t i = 0; i + 1 < columns_.size(); ++i)
            text += padded(cell(i), widths[i], columns_[i].align) + "  ";
        const std::size_t last = columns_.size() - 1;
        const bool wraps = columns_[last].align == Align::left;
        std::string whole = hanging(text, wraps ? cell(last) : std::string());
        if (!wraps) whole = text + padded(cell(last), widths[last], Align::right) + "\n";
        std::string trimmed = whole.substr(0, whole.size() - 1);
        drop_trailing_blanks(trimmed);
        return trimmed + "\n";
    };
    std::string all = line([&](std::size_t i) { return columns_[i].head; });
    for (const auto& row : rows_) all += line([&](std::size_t i) { return i < row.size() ? row[i] : std::string(); });
    return all;
}

Console::Console(bool shows_results)
    : shows_results_(shows_results),
      out_is_terminal_(::isatty(STDOUT_FILENO) == 1),
      err_is_terminal_(::isatty(STDERR_FILENO) == 1) {}

void Console::result(std::string_view text) {
    if (!shows_results_) return;
    clear_progress();
    std::cout << text;
}

void Console::fact(std::string_view name, std::string_view text) {
    constexpr std::size_t name_width = 12;
    result(hanging("  " + padded(name, name_width, Table::Align::left) + "  ", text));
}

void Console::warn(std::string_view text) {
    clear_progress();
    complain("warning: " + std::string(text));
}

void complain(std::string_view text) {
    const std::string first = "cradlewright: ", clean = printable(text);
    // One line each where another program reads it.
    std::cerr << (::isatty(STDERR_FILENO) == 1 ? hanging(first, clean, 2) : first + clean + "\n");
}

std::string Console::coloured(std::string line, Verdict verdict) const {
    const std::string_view word = verdict_name(verdict);
    if (!wants_colour(out_is_terminal_)) return line;
    return line.replace(line.find(word), word.size(), colour_of(verdict) + std::string(word) + "\033[0m");
}

void Console::check_lines(const Check& check, UnitSystem units, std::size_t count) {
    constexpr std::size_t verdict_width = 8, id_width = 19, value_width = 22;
    const auto left = [](std::string_view text, std::size_t width) {
        return padded(text, width, Table::Align::left) + "  ";
    };
    const bool has_value = check.verdict != Verdict::unknown && check.verdict != Verdict::not_applicable;
    // Within the limit, but not by as much as is good: the reader wants the second figure.
    const bool wants_better = check.verdict == Verdict::marginal && check.good &&
                              (check.relation == Relation::at_least ? check.value.value < check.good->value
                                                                    : check.value.value > check.good->value);
    std::string value;
    if (has_value)
        value = format_quantity(check.value, units) + (wants_better ? ", better " : " ") +
                std::string(relation_name(check.relation)) + " " +
                format_quantity(wants_better ? *check.good : check.limit, units);
    const std::string head = "  " + left(verdict_name(check.verdict), verdict_width) + left(check.id, id_width) +
                             (has_value ? left(value, value_width) : "");
    const std::string subject = count > 1 ? std::to_string(count) + " places" : printable(check.subject);
    result(coloured(hanging(head, subject), check.verdict));
    if (check.verdict != Verdict::pass && !check.advice.empty())
        result(wrapped(printable(check.advice), verdict_width + 4));
}

void Console::checks(const CheckReport& report, UnitSystem units) {
    const auto& all = report.checks;
    for (std::size_t i = 0; i < all.size();) {
        const std::size_t end =
            static_cast<std::size_t>(std::find_if(all.begin() + static_cast<std::ptrdiff_t>(i), all.end(),
                                                  [&](const Check& c) { return c.id != all[i].id; }) -
                                     all.begin());
        // Passing subjects share one line, that of the value nearest its limit; the others are told one by one.
        const Check* tightest = nullptr;
        std::size_t passes = 0;
        for (std::size_t k = i; k < end; ++k) {
            const Check& check = all[k];
            if (check.verdict == Verdict::not_applicable) continue;
            if (check.verdict != Verdict::pass) {
                check_lines(check, units, 1);
                continue;
            }
            ++passes;
            const double sign = check.relation == Relation::at_most ? 1 : -1;
            if (tightest == nullptr ||
                sign * (check.value.value - check.limit.value) > sign * (tightest->value.value - tightest->limit.value))
                tightest = &check;
        }
        if (tightest != nullptr) check_lines(*tightest, units, passes);
        i = end;
    }
}

Progress Console::progress() {
    return Progress([this](std::string_view stage, double fraction, std::string_view message) {
        if (err_is_terminal_) {
            constexpr std::size_t room = page_columns - 8;
            std::string line = std::string(stage) + (message.empty() ? "" : ": ") + printable(message);
            line.resize(std::min(line.size(), room));
            const int percent = static_cast<int>(100 * std::clamp(fraction, 0.0, 1.0));
            std::cerr << "\r\033[K" << padded(std::to_string(percent), 3, Table::Align::right) << " %  " << line
                      << std::flush;
            has_progress_line_ = true;
        }
        return !is_interrupted();
    });
}

void Console::clear_progress() {
    if (!has_progress_line_) return;
    std::cerr << "\r\033[K" << std::flush;
    has_progress_line_ = false;
}

void Console::raw(std::string_view text) { std::cout << text; }

void Console::flush() {
    if (!std::cout.flush()) throw Error(ErrorCode::io, "standard output", "could not take all of the results");
}

void hold_standard_streams() {
    // Lowest first: open takes the lowest free number.
    for (const int stream : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO})
        if (::fcntl(stream, F_GETFD) == -1) ::open("/dev/null", stream == STDERR_FILENO ? O_WRONLY : O_RDONLY);
}

void catch_interrupts() {
    struct sigaction action = {};
    action.sa_handler = [](int) { interrupted.store(true); };
    sigemptyset(&action.sa_mask);
    // Reset after the first: whoever cannot wait for the stop may press again.
    action.sa_flags = static_cast<int>(SA_RESETHAND);
    // Past a file size limit a write shall fail like on a full disk, not kill us with half a folder written.
    ::signal(SIGXFSZ, SIG_IGN);
    // So shall a write to a pipe whose reader has gone.
    ::signal(SIGPIPE, SIG_IGN);
    for (const int signal : {SIGINT, SIGTERM, SIGHUP}) {
        struct sigaction before = {};
        sigaction(signal, &action, &before);
        // Started with the signal ignored (nohup, background job): keep it so.
        if (before.sa_handler == SIG_IGN) sigaction(signal, &before, nullptr);
    }
}

bool is_interrupted() { return interrupted.load(); }

}  // namespace cradlewright::app
