// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/stages/work_plan.hpp"

/// \file What the chapters of the work plan share.
namespace cradlewright {

/// "1 panel", "3 panels".
std::string some(std::size_t count, const char* one, const char* many);
/// "rib-1 to rib-5, tie-1 and tie-2": numbers that follow each other are drawn together.
std::string named(const std::vector<std::string>& ids);

/// Words for quantities in the units of the job.
class Words {
public:
    explicit Words(const Settings& settings) : units_(settings.units) {}
    [[nodiscard]] std::string len(double mm, int decimals = -1) const {
        return format_quantity(Quantity::of(Length::mm(mm)), units_, decimals);
    }
    [[nodiscard]] std::string kg(double value) const { return format_quantity(Quantity::of(Mass::kg(value)), units_); }
    [[nodiscard]] std::string angle(double rad) const {
        return format_quantity(Quantity::of(Angle::rad(rad)), units_, 0);
    }

private:
    UnitSystem units_;
};

inline WorkAmount a_count(std::string what, double n) { return {std::move(what), Quantity::count(n)}; }
inline WorkAmount a_mass(std::string what, double kg) { return {std::move(what), Quantity::of(Mass::kg(kg))}; }
inline WorkAmount an_area(std::string what, double mm2) { return {std::move(what), Quantity::of(Area::mm2(mm2))}; }
inline WorkAmount a_length(std::string what, double mm) { return {std::move(what), Quantity::of(Length::mm(mm))}; }

std::size_t count_of(const Hardware& hardware, HardwareKind kind);
bool wants_peroxide(const Settings& settings);

// The usual cautions, each a sentence or two. Source: common practice; the product's data sheet comes first.
extern const char* const caution_blades;
extern const char* const caution_dust;
extern const char* const caution_solvent;
extern const char* const caution_resin;
extern const char* const caution_exotherm;
extern const char* const caution_peroxide;
extern const char* const caution_lifting;
extern const char* const caution_opening;
/// Those that go with laying resin, peroxides where the resin cures by them.
std::vector<std::string> resin_cautions(const Settings& settings);

// The chapters, in order.
std::vector<WorkStep> steps_to_fixture(const WorkInput& input);  ///< cut, dry-fit
std::vector<WorkStep> steps_to_layup(const WorkInput& input);    ///< prepare, joints, test patch
std::vector<WorkStep> steps_of_half(const WorkInput& input, int half);
std::vector<WorkStep> steps_of_turning(const WorkInput& input, const TurnOver& turn);
std::vector<WorkStep> steps_of_opening(const WorkInput& input);
std::vector<WorkStep> steps_of_part(const WorkInput& input);
std::vector<DryFitRow> dry_fit_sheet(const WorkInput& input);
TurnOver plan_turn_over(const WorkInput& input);
/// Mass of a half of the mould, kg; 0 where it is not laid.
double mould_mass_kg(const WorkInput& input, int half);

}  // namespace cradlewright
