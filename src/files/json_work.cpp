// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/json_work.hpp"

#include <string>

namespace cradlewright {
namespace {

Json step_json(const WorkStep& step) {
    constexpr double seconds_an_hour = 3600;
    Json json;
    json["id"] = step.id;
    json["phase"] = work_phase_id(step.phase);
    json["title"] = step.title;
    json["text"] = step.text;
    json["quantity"] = Json::array();
    for (const WorkAmount& amount : step.amounts)
        json["quantity"].push_back({{"what", amount.what},
                                    {"value", fine_number(report_value(amount.amount))},
                                    {"unit", report_unit(amount.amount.dimension)}});
    json["wait_h"] = fine_number(step.wait_s / seconds_an_hour);
    json["wait_for"] = step.wait_for;
    json["cautions"] = step.cautions;
    return json;
}

Json dry_fit_json(const DryFitRow& row) {
    return {{"id", row.id},
            {"group", row.group},
            {"what", row.what},
            {"target_mm", number(row.target_mm)},
            {"from_level_line_mm", number(row.from_level_mm)},
            {"tolerance_mm", number(row.tolerance_mm)},
            {"setting", row.setting.empty() ? Json() : Json(row.setting)},
            {"when_off", row.when_off}};
}

Json turn_over_json(const TurnOver& turn) {
    Json json;
    json["mass_kg"] = fine_number(turn.mass_kg);
    json["centre_mm"] = point(turn.centre);
    json["unknown"] = turn.unknown;
    json["parts"] = Json::array();
    for (const WorkMass& part : turn.masses)
        json["parts"].push_back(
            {{"what", part.what}, {"mass_kg", fine_number(part.mass_kg)}, {"centre_mm", point(part.centre)}});
    json["one_person_kg"] = fine_number(turn.one_person_kg);
    json["people"] = turn.people;
    json["hand_holds"] = Json::array();
    for (const HandHold& hold : turn.holds)
        json["hand_holds"].push_back(
            {{"where", hold.where}, {"at_mm", point(hold.at)}, {"share", fine_number(hold.share)}});
    json["straps_x_mm"] = Json::array();
    for (const double x : turn.straps_mm) json["straps_x_mm"].push_back(number(x));
    json["held_by"] = turn.held_by;
    return json;
}

}  // namespace

Json work_json(const WorkPlan& work) {
    Json json;
    json["steps"] = Json::array();
    json["dry_fit"] = Json::array();
    for (const WorkStep& step : work.steps) json["steps"].push_back(step_json(step));
    for (const DryFitRow& row : work.dry_fit) json["dry_fit"].push_back(dry_fit_json(row));
    json["turn_over"] = work.steps.empty() ? Json() : turn_over_json(work.turn_over);
    json["opening"] = Json::array();
    for (const WorkStep& step : work.steps)
        if (step.phase == WorkPhase::opening) json["opening"].push_back(step_json(step));
    json["cautions"] = work.cautions;
    return json;
}

}  // namespace cradlewright
