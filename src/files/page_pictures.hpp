// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "cradlewright/checks/design.hpp"
#include "cradlewright/output/layout.hpp"
#include "files/picture_canvas.hpp"

/// \file The pictures of report.html and build-sheet.pdf.
namespace cradlewright {

/// Makes a picture into HTML, broad, with a caption in HTML.
using FigureMaker = std::function<std::string(const Picture&, std::string_view)>;

/// "1 rib", "3 ribs".
std::string counted(std::size_t count, std::string_view one, std::string_view many);
/// Fixed-point text without trailing zeros.
std::string short_number(double value, int decimals);
/// A length on a drawing, without unit: "123.4", or a fraction of inches.
std::string dimension_text(double mm, UnitSystem units);

/// Where the table of offsets measures: round distances y from the fixture's centre line, at most eleven, that span all
/// saddles.
std::vector<double> offset_places(const Cradle& cradle, UnitSystem units);
/// Height of the saddle's cut edge above the base at y; NaN beside the saddle.
double saddle_height(const Rib& rib, double y);

/// Parting line, edges, panels and ribs seen against the pull; front up, end-a left.
Picture draw_top_view(const Design& design);
/// Plug cut over the middle rib across the span, that rib, panels and base, seen from end-b; front right.
Picture draw_end_view(const Design& design);
Picture draw_panel(const FlangePanel& panel, UnitSystem units);
/// Three times as wide, with what is written on it as far as there is room.
Picture draw_panel_large(const FlangePanel& panel, UnitSystem units);
Picture draw_rib(const Rib& rib, const std::vector<double>& offsets, UnitSystem units);
/// The clay between plug and panel, true shape. Precondition: the section is valid.
Picture draw_bead(const BeadSection& section, double radius_mm, UnitSystem units);
Picture draw_sheet(const Sheet& sheet, const std::vector<const PlatePart*>& parts, UnitSystem units);

}  // namespace cradlewright
