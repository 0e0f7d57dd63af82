// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/work_plan.hpp"

#include <algorithm>

#include "cradlewright/base/error.hpp"
#include "stages/work_words.hpp"

namespace cradlewright {
namespace {

struct PhaseRow {
    WorkPhase phase;
    std::string_view id, title;
};
constexpr PhaseRow phase_rows[] = {
    {WorkPhase::cut, "cut", "Cut the parts"},
    {WorkPhase::dry_fit, "dry-fit", "Dry fit, then glue the cradle"},
    {WorkPhase::prepare, "prepare", "Seal and release"},
    {WorkPhase::joints, "joints", "Panels, joints, clay"},
    {WorkPhase::test_patch, "test-patch", "Test patch"},
    {WorkPhase::half_1, "half-1", "Lay up half 1"},
    {WorkPhase::turn_over, "turn-over", "Turn over"},
    {WorkPhase::half_2, "half-2", "Lay up half 2"},
    {WorkPhase::opening, "opening", "Open the mould"},
    {WorkPhase::part, "part", "The first part"},
};

const PhaseRow& row_of(WorkPhase phase) { return *std::ranges::find(phase_rows, phase, &PhaseRow::phase); }

/// Waits of coats come once for each coat.
double waits(const std::vector<WorkStep>& steps) {
    double sum = 0;
    for (const WorkStep& step : steps) {
        double times = 1;
        for (const WorkAmount& amount : step.amounts)
            if (amount.what.starts_with("coats")) times = amount.amount.value;
        sum += step.wait_s * times;
    }
    return sum;
}

}  // namespace

std::string_view work_phase_id(WorkPhase phase) { return row_of(phase).id; }
std::string_view work_phase_title(WorkPhase phase) { return row_of(phase).title; }

WorkPlan plan_work(const WorkInput& input) {
    WorkPlan plan;
    if (!input.parting.is_found()) return plan;
    plan.dry_fit = dry_fit_sheet(input);
    plan.turn_over = plan_turn_over(input);
    const auto add = [&](std::vector<WorkStep> steps) { std::ranges::move(steps, std::back_inserter(plan.steps)); };
    add(steps_to_fixture(input));
    add(steps_to_layup(input));
    add(steps_of_half(input, 1));
    add(steps_of_turning(input, plan.turn_over));
    if (input.settings.mould.use != MouldUse::single) add(steps_of_half(input, 2));
    add(steps_of_opening(input));
    add(steps_of_part(input));
    plan.cautions = {caution_resin, caution_exotherm};
    if (wants_peroxide(input.settings)) plan.cautions.emplace_back(caution_peroxide);
    plan.cautions.insert(plan.cautions.end(),
                         {caution_solvent, caution_dust, caution_blades, caution_lifting, caution_opening});
    plan.wait_s = waits(plan.steps);
    return plan;
}

}  // namespace cradlewright
