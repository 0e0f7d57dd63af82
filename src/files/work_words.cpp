// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/work_words.hpp"

#include <cmath>

namespace cradlewright {
namespace {

std::string capitalized(std::string text) {
    if (!text.empty() && text.front() >= 'a' && text.front() <= 'z') text.front() -= 'a' - 'A';
    return text;
}

}  // namespace

std::string amounts_text(const WorkStep& step, UnitSystem units) {
    std::string text;
    for (const WorkAmount& amount : step.amounts)
        text +=
            (text.empty() ? "" : " ") + capitalized(amount.what) + ": " + format_quantity(amount.amount, units) + ".";
    return text;
}

std::string wait_text(const WorkStep& step) {
    if (!(step.wait_s > 0)) return step.wait_for.empty() ? "" : "Wait: " + step.wait_for + ".";
    return "Wait " + spell_time(step.wait_s) + (step.wait_for.empty() ? "" : ": " + step.wait_for) + ".";
}

std::string caution_names(const WorkStep& step) {
    std::string text;
    for (const std::string& caution : step.cautions)
        text += (text.empty() ? "" : "; ") + caution.substr(0, caution.find(':'));
    return text;
}

std::string target_text(const DryFitRow& row, UnitSystem units) {
    return format_quantity(Quantity::of(Length::mm(row.target_mm)), units, 1);
}

std::string from_level_text(const DryFitRow& row, UnitSystem units) {
    if (!std::isfinite(row.from_level_mm)) return "";
    return format_quantity(Quantity::of(Length::mm(row.from_level_mm)), units, 1);
}

std::string tolerance_text(const DryFitRow& row, UnitSystem units) {
    return format_quantity(Quantity::of(Length::mm(row.tolerance_mm)), units, 1);
}

std::string when_off_text(const DryFitRow& row) {
    return capitalized(row.when_off) + (row.setting.empty() ? "" : " (" + row.setting + ")");
}

std::string people_text(const TurnOver& turn) {
    return turn.people == 0 ? "no team by hand: a hoist" : std::to_string(turn.people) + " people";
}

}  // namespace cradlewright
