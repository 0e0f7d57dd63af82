// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <span>
#include <string_view>
#include <vector>

#include "cradlewright/checks/check.hpp"
#include "cradlewright/checks/design.hpp"

namespace cradlewright {

/// A letter of a formula. `setting`: the key that gives its value, or empty.
struct Symbol {
    std::string_view letter, meaning, unit, setting;
};

/// One line of the list of checks: the contract's id, what it asks, how, and the function.
struct CheckRow {
    std::string_view id;
    std::string_view title;      ///< a question a builder would ask
    std::string_view formula;    ///< in words and symbols
    std::string_view limit_key;  ///< setting that holds its limit, or empty
    Source source;
    std::function<std::vector<Check>(const Design&)> run;  ///< one Check a subject, at least one
    std::span<const Symbol> symbols{};                     ///< letters of the formula
};

/// In the contract's order. The command line, `explain` and the docs print from it.
std::span<const CheckRow> all_checks();
const CheckRow* find_check(std::string_view id);
CheckReport run_checks(const Design& design);

}  // namespace cradlewright
