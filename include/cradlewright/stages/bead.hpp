// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/stages/flange.hpp"

namespace cradlewright {

/// One section of a bead. Fixture frame, mm.
struct BeadSection {
    Vec3 center;             ///< of the ball
    Vec3 on_plug, on_panel;  ///< feet: where the ball touches
    double corner_rad = 0;   ///< angle between plug and panel at the feet, as the clay sees it
    double area_mm2 = 0;     ///< between panel, arc and plug
    double plug_strip_mm = 0;   ///< plug surface hidden from the panel line to the foot
    bool is_valid = true;    ///< false: the ball found no place to touch both
};

struct BeadRun {
    std::string id, edge, panel;   ///< "bead-front-1", "front", "panel-front-1"
    double radius_mm = 0;
    std::vector<BeadSection> sections;   ///< along the panel's run
    double length_mm = 0;          ///< of the foot on the plug
    double volume_mm3 = 0;
    double corner_min_rad = 0, corner_max_rad = 0;
};

struct Beads {
    std::vector<BeadRun> runs;
    double radius_mm = 0;
    std::string radius_from;       ///< "told", or what decided
    std::vector<std::vector<Vec3>> trim_lines;   ///< per parting loop: feet on the plug
    double clay_volume_mm3 = 0, clay_mass_kg = 0;
    double max_plug_strip_mm = 0;
    Vec3 max_plug_strip_at;
    double join_gap_mm = 0;        ///< largest plug arc between the trim lines of the two halves
};

/// Rolls a ball of the bead's radius along each panel. Cost: O(sections x log faces near the line).
Beads lay_beads(const PosedPlug& posed, const Parting& parting, const Flange& flange, const Settings& settings);

/// Section area of a bead between two flats meeting at `corner_rad`: r^2 (cot(a/2) - (pi - a)/2). Source: derived.
double flat_bead_area_mm2(double radius_mm, double corner_rad);

}  // namespace cradlewright
