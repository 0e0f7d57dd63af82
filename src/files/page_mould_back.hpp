// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/checks/design.hpp"
#include "files/page_pictures.hpp"

namespace cradlewright {

/// A half turned over, seen from above: rim, part, plates, what they stand on, centre of mass.
Picture draw_back_plan(const Design& design, const BackHalf& half);
/// A plate with what lies on it, heights from the bench.
Picture draw_back_plate(const BackHalf& half, const BackPlate& plate, UnitSystem units);

/// The section of report.html on the plates behind the mould and how it stands on them, as HTML: pictures, tables,
/// steps, cautions. Cautions: common practice.
std::string mould_back_section(const Design& design, const FigureMaker& figure);

}  // namespace cradlewright
