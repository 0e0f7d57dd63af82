// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "stages/cradle_parts.hpp"

/// \file What the mechanics choose where nothing was told, by the functions that the checks judge with. Told settings
/// are left alone; where nothing helps, the best is kept and the check says what would.
namespace cradlewright {

struct RibChoice {
    double ribs = 0;     ///< for cradle.ribs; 0 = by spacing
    std::string reason;  ///< the alternatives tried: "5 ribs: 0.70 mm; ..."; empty when the ribs were told
    std::vector<Trial> trials;
};
/// As many as cradle.spacing asks for, and more until the soft end of the plug's spread keeps limits.sag; none more
/// where twice as many do not.
RibChoice choose_ribs(const PosedPlug& posed, const Settings& settings);

/// A plug's end: its place along x and the direction away from the plug.
struct PlugEnd {
    double x_mm = 0, out = 1;
};
/// Would one plate hold the panels that lie wholly beyond an end? Their overhang and the plate's tilt at the soft end
/// of sheet and board. None where it does not stand under their middle, no panel lies there, or one that lies there in
/// part is not among those `carried` elsewhere.
std::optional<Trial> try_end_plate(const Flange& flange, const Parting& parting, const Settings& settings,
                                   const Rib& plate, PlugEnd end, const std::vector<std::size_t>& carried);

struct StripChoice {
    CradleOptions cradle;  ///< the given one with the strip filled in
    std::vector<StringerLine> lines;
    std::vector<Trial> trials;
};
/// Rows: by edge, behind the inner edge only, and more outward until panel_dips keeps limits.panel-dip and
/// limits.panel-dip-away at the soft end of the sheet's spread. Section: the slightest known strip of the same wood
/// that keeps limits.stringer-dip on the uprights that carry it. `bare`: the uprights, not yet cut for strips;
/// `stations`: those that strips may count on.
StripChoice choose_strips(const Flange& flange, const Parting& parting, const Settings& settings, const Cradle& bare,
                          const std::vector<double>& stations);

}  // namespace cradlewright
