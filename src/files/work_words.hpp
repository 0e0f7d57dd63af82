// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/checks/design.hpp"

/// \file How report page and build sheet word the same work plan. All plain text.
namespace cradlewright {

/// "Clay: 0.12 kg. Coats of wax: 5." or empty.
std::string amounts_text(const WorkStep& step, UnitSystem units);
/// "Wait 24 h: half 1 to cure." or empty.
std::string wait_text(const WorkStep& step);
/// What the cautions are about, "Exotherm; Blades, band saws and routers": the words before their colons.
std::string caution_names(const WorkStep& step);
/// The cells of a dry-fit row: what it should be, and how far it may be off.
std::string target_text(const DryFitRow& row, UnitSystem units);
std::string from_level_text(const DryFitRow& row, UnitSystem units);  ///< empty where there is none
std::string tolerance_text(const DryFitRow& row, UnitSystem units);
/// "Tell it as stock.pvc-3.thickness: ..." after the row's own advice.
std::string when_off_text(const DryFitRow& row);
/// "2 people", or that no team may.
std::string people_text(const TurnOver& turn);

}  // namespace cradlewright
