// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cradlewright/mechanics/beam.hpp"
#include "cradlewright/stages/cradle.hpp"
#include "cradlewright/stages/parting.hpp"

/// \file What holds panels and stringers, and how far they dip. Stages choose and checks judge by the same functions.
namespace cradlewright {

/// Shortest stretch of a strip's foot on an upright that carries it: 30 N of squeegee on 3 x 12 mm press with 0.8 MPa,
/// pines take 3 across the grain. Source: derived from the materials' table.
constexpr double least_strip_bearing_mm = 3;

/// Places, mm from its start, at which uprights carry a stringer: their middles, or its end where it stops short of
/// one; rising.
std::vector<double> stringer_supports(const Stringer& stringer, const Cradle& cradle);
/// The strip as a beam on its supports, with its own weight; glued down, so they also pull. Empty with fewer than two
/// supports: then it only stiffens its panel. `e_mpa`: modulus of its stock.
std::optional<Beam> stringer_beam(const Stringer& stringer, const std::vector<double>& supports,
                                  const Settings& settings, double e_mpa);
/// Deepest dip under the squeegee at the worst place. Precondition: a beam of stringer_beam.
WorstDip stringer_dip(const Beam& beam, const Settings& settings);

/// Points of a panel (its own frame) that uprights and carried stringers hold from below.
std::vector<Vec2> panel_supports(const FlangePanel& panel, const Cradle& cradle, const Settings& settings);

/// Where the middle of a plate or strip meets a panel's underside; panel's own frame, seen through its top face.
struct GlueLine {
    std::string part;
    Vec2 from, to;
};
/// Uprights' first, then strips', each in the cradle's order; 3 mm too short at worst, straight even where a bent panel
/// lets a strip's line waver. Strips that nothing carries count too: they are glued all the same.
std::vector<GlueLine> glue_lines(const FlangePanel& panel, const Cradle& cradle, const Settings& settings);
/// The flange with these lines and their parts' ids drawn on its patterns.
Flange mark_glue_lines(Flange flange, const Cradle& cradle, const Settings& settings);

/// Dips under the squeegee at its worst places, mm, for the usual modulus of the sheet.
struct PanelDips {
    double near_plug_mm = 0;  ///< squeegee within `near_mm` of the panel line
    double away_mm = 0;
    Vec3 near_plug_at, away_at;  ///< fixture frame, top face
    static constexpr double near_mm = 10;
};
/// Empty when nothing holds the panel, or no squeegee fits on it. `line`: the panel's run of the parting line, fixture
/// frame. The sheet is glued to what holds it; its outline is followed in cells of an eighth of its width. Cost: a few
/// ms a panel.
std::optional<PanelDips> panel_dips(const FlangePanel& panel, const std::vector<Vec3>& line,
                                    const std::vector<Vec2>& supports, const Settings& settings);

/// Does a plate across the span at fixture x stand under the middle third of a panel? Glued there, one carries it: the
/// weight lies within its kern, the squeegee is panel_dips' and plate_tilt_dip_mm's matter.
bool is_under_middle(const FlangePanel& panel, double x_mm);
/// What a plate's own bending, foot held, adds to the dip at a lever of `lever_mm` beside it under the squeegee's whole
/// force: F a h / (E I) a, soft end of the board. In: length and height of the plate. Source: key "roark", Table 8.1,
/// cantilever with an end couple, from memory.
double plate_tilt_dip_mm(const Settings& settings, double length_mm, double height_mm, double lever_mm);

/// The stretch of the parting line that a panel follows; empty for a panel beside no loop of it.
std::vector<Vec3> panel_run(const FlangePanel& panel, const Parting& parting);

}  // namespace cradlewright
