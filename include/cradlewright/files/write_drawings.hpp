// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <span>
#include <string>
#include <vector>

#include "cradlewright/output/drawing.hpp"
#include "cradlewright/output/hand_pattern.hpp"

namespace cradlewright {

/// R2000 DXF, millimetres ($INSUNITS 4), LWPOLYLINE with bulges, layers of the contract.
void write_dxf(const Drawing& drawing, const std::filesystem::path& path);
/// True-size SVG in mm; each layer is a group with class and id of the layer's name.
std::string svg_text(const Drawing& drawing);
/// All tilings as pages of one PDF: page map first, then pages with overlap, registration marks on every seam, page ids
/// and a 100 mm check bar in both axes. `measured` of the paper options corrects the scale. Same input, same bytes.
void write_templates_pdf(const std::vector<Tiling>& tilings, const PaperOptions& paper, UnitSystem units,
                         const std::filesystem::path& path);
/// Patterns as tables of offsets from a base line, a picture each, on letter or A4 by the job's paper. Same input and
/// fonts, same bytes.
std::string hand_patterns_pdf(std::span<const HandPattern> patterns, const Settings& settings, const std::string& job);

}  // namespace cradlewright
