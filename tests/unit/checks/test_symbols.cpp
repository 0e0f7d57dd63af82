// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cctype>
#include <set>
#include <string>

#include "cradlewright/catalog/options.hpp"
#include "cradlewright/checks/all_checks.hpp"

namespace cradlewright {
namespace {

/// True when `letter` stands in the formula by itself, not inside a longer word.
bool stands_in(std::string_view formula, std::string_view letter) {
    const auto is_part = [](char c) { return std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '_'; };
    for (std::size_t at = formula.find(letter); at != std::string_view::npos; at = formula.find(letter, at + 1)) {
        const std::size_t end = at + letter.size();
        if ((at == 0 || !is_part(formula[at - 1])) && (end == formula.size() || !is_part(formula[end]))) return true;
    }
    return false;
}

}  // namespace

TEST_CASE("every letter of a formula is told, with its unit or setting", "[checks][symbols]") {
    for (const CheckRow& row : all_checks()) {
        CAPTURE(row.id, row.formula);
        CHECK_FALSE(row.symbols.empty());
        std::set<std::string_view> letters;
        for (const Symbol& symbol : row.symbols) {
            CAPTURE(symbol.letter);
            CHECK(letters.insert(symbol.letter).second);
            CHECK_FALSE(symbol.meaning.empty());
            CHECK_FALSE(symbol.unit.empty());
            if (!symbol.setting.empty()) {
                const auto rows = setting_rows();
                CHECK(std::ranges::any_of(rows, [&](const SettingRow& s) { return s.key == symbol.setting; }));
            }
        }
    }
}

TEST_CASE("no letter is told that no formula uses", "[checks][symbols]") {
    for (const CheckRow& row : all_checks())
        for (const Symbol& symbol : row.symbols) {
            CAPTURE(row.id, row.formula, symbol.letter);
            const bool is_used =
                stands_in(row.formula, symbol.letter) || std::ranges::any_of(row.symbols, [&](const Symbol& other) {
                    return other.letter != symbol.letter && stands_in(other.meaning, symbol.letter);
                });
            CHECK(is_used);
        }
}

}  // namespace cradlewright
