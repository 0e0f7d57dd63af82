// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cradlewright/stages/flange.hpp"

namespace cradlewright {

/// What the clay between plug and panel is shaped to.
enum class BeadKind {
    round,  ///< to a ball of the bead's radius
    ramp,   ///< flat, at 45 deg to the panel, so low that a cut-off edge keeps part of its strip
    none,   ///< no clay here
};
std::string_view bead_kind_name(BeadKind kind);  ///< "bead" "ramp" "none"

/// One section of a bead, square to the panel line. Fixture frame, mm.
struct BeadSection {
    Vec3 joint;                ///< where the panel's top plane meets the plug
    Vec3 center;               ///< of the ball; of the flat on a ramp
    Vec3 on_plug, on_panel;    ///< feet: where the ball touches
    Vec3 clay_center;          ///< centroid of the area
    double corner_rad = 0;     ///< angle between plug and panel at the feet, as the clay sees it
    double area_mm2 = 0;       ///< between panel, arc and plug
    double plug_strip_mm = 0;  ///< plug surface hidden from the panel line to the foot
    bool is_valid = true;      ///< false: the ball found no place to touch both; only `joint` means something then
};

struct BeadRun {
    std::string id, edge, panel;  ///< "bead-front-1", "front", "panel-front-1"
    BeadKind kind = BeadKind::round;
    double radius_mm = 0;               ///< 0 unless round
    double ramp_height_mm = 0;          ///< of a ramp over the panel's top face
    bool is_ring = false;               ///< its last section runs on into its first
    std::vector<BeadSection> sections;  ///< along the panel's run; several share a joint where the line turns a corner
    double length_mm = 0;               ///< of the foot on the plug
    double volume_mm3 = 0;              ///< with the corner up to the next panel
    double corner_min_rad = 0, corner_max_rad = 0;
    [[nodiscard]] std::size_t valid_count() const;
};

/// What half 2 finds and needs. Half 1's mould is laid over half 1's clay, so once that clay is out a groove is left
/// between mould and plug, open toward half 2: as wide at the flange as the clay was on the panel. It is filled flush
/// with the flange before half 2's own bead is laid in the corner over it.
struct Groove {
    double width_mm = 0, depth_mm = 0;  ///< widest at the flange's face; longest along the plug
    Vec3 widest_at;
    double fill_volume_mm3 = 0, fill_mass_kg = 0;  ///< of all half 1's clay: less what stays in place
    std::vector<BeadRun> runs;                     ///< half 2's beads, a run for each of half 1's
    std::vector<std::vector<Vec3>> trim_lines;     ///< half 2's, per parting loop
    double clay_volume_mm3 = 0, clay_mass_kg = 0;  ///< of half 2's beads
};

struct Beads {
    std::vector<BeadRun> runs;  ///< one a panel, in the flange's order; none when the radius is 0
    double radius_mm = 0;
    std::string radius_from;                    ///< "told", or what decided
    std::vector<std::vector<Vec3>> trim_lines;  ///< per parting loop: feet on the plug; the panel line where no bead is
    std::vector<FaceId> hidden_faces;           ///< between panel line and foot, under the clay; in face order
    double clay_volume_mm3 = 0, clay_mass_kg = 0;
    double max_plug_strip_mm = 0;
    Vec3 max_plug_strip_at;
    double strip_per_radius = 0;     ///< upper bound of plug_strip_mm / radius for any smaller ball, see bead.md
    double join_gap_mm = 0;          ///< largest plug arc between the trim lines of the two halves
    Vec3 join_gap_at;                ///< on the panel line
    double join_gap_per_radius = 0;  ///< upper bound of the gap / radius for any smaller ball
    std::optional<Groove> groove;    ///< when there is clay and a second half
};

/// Rolls a ball of the bead's radius along each panel. See src/stages/bead.md for the method and its limits.
/// In: panels with planes and runs on the loops' panel_line.
/// Out: valid sections touch panel and plug and cut neither, to Tolerances::contact_mm / 100, at the corners of the
/// flange also the neighbour's top plane. Where plug and panel meet so sharply that the foot would lie beyond the
/// panel, the section is invalid, under 19 deg everywhere. Half 2's bead is rolled on the other side of the same
/// planes, which half 1's flange then forms. Errors: Error(bad_input) for a radius that cannot be read or is negative.
/// Cost: O(F) to collect the faces near the line, O(sections x log near faces) after that.
Beads lay_beads(const PosedPlug& posed, const Parting& parting, const Flange& flange, const Settings& settings);

/// From foot to foot along the clay's face: `chords` equal pieces of the ball's arc, of the straight line on a ramp.
/// Precondition: the section is valid.
std::vector<Vec3> clay_face(const BeadSection& section, BeadKind kind, int chords);

/// Section area of a bead between two flats meeting at `corner_rad`: r^2 (cot(a/2) - (pi - a)/2). Source: derived.
/// Precondition: 0 < corner_rad <= pi.
double flat_bead_area_mm2(double radius_mm, double corner_rad);

/// The radius the settings ask for and why. "auto" is the smallest at which mould laminate (inside corner) and part
/// laminate (over the lip) pass, 0 when the halves are joined in the mould, since a bead would leave a groove along the
/// seam.
struct BeadRadius {
    double radius_mm = 0;
    std::string from;
};
BeadRadius choose_bead_radius(const Settings& settings);

}  // namespace cradlewright
