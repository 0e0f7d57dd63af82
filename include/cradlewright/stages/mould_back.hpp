// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/mechanics/stand.hpp"
#include "cradlewright/stages/hardware.hpp"
#include "cradlewright/stages/layup.hpp"

/// \file What stands behind the mould: plates across and along the span that are tabbed to its back once it has cured,
/// keep it in shape and are its stand when it is turned over. See src/stages/mould_back.md.
namespace cradlewright {

/// An upright plate behind one half. Stations and drawings are those of the half's stand frame: across the span drawn
/// in (y, z), seen from +x; along the span in (x, z), seen from -y. The mould's back is above, the bench at z = 0.
struct BackPlate {
    PlatePart part;  ///< its frame has it where it stands on the mould as it lies on, or under, the fixture's plug
    bool is_along = false;
    double station_mm = 0;      ///< mid-thickness plane: x, of one along the span y
    std::vector<Vec2> edge;     ///< toward the laminate, left to right, before slots and clearings
    std::vector<Vec2> surface;  ///< lowest of plug, beads and panels' tops over the thickness, as drawn
    double from_mm = 0;  ///< of its middle, for marking: from the plug's end-a, of one along the span from its front
    double min_inside_radius_mm = 0;
    double tab_mm = 0;  ///< length of cloth to bond it, both sides
};

/// One half on its stand, turned so that the part is laid up in it from above.
struct BackHalf {
    int half = 1;
    Frame3 stand;                   ///< in the fixture frame: z up when it stands, 0 on the bench; x along the span
    std::vector<BackPlate> plates;  ///< across by station, then along; none where it stands on its own back
    double free_width_mm = 0;       ///< widest stretch of shell between plates, or from the last one to the plug's end
    double laminate_kg = 0, plates_kg = 0, tabs_kg = 0;
    Vec3 centre{};                ///< of all three, stand frame
    std::vector<Vec2> footprint;  ///< hull of what touches the bench, stand frame, counter-clockwise
    std::vector<Vec2> rim;        ///< outline points of the flange seen from above, stand frame
    std::string trouble;          ///< why its mass is not known, or empty
    [[nodiscard]] double mass_kg() const { return laminate_kg + plates_kg + tabs_kg; }
};

struct MouldBack {
    std::vector<BackHalf> halves;      ///< half 1, and half 2 unless the mould is single
    double skin_mm = 0, strip_mm = 0;  ///< laminate, soft strip: together the plates' distance from the surface
    std::string tab_cloth;             ///< of the tabbing strips
    double tab_kg_mm2 = 0, tab_resin_kg_mm2 = 0;  ///< fibre and resin of all plies
    std::string reason;                           ///< why so many plates, or why none
    std::vector<std::string> notes;               ///< what gave way to hardware, what is too long
    [[nodiscard]] bool has_plates() const;
    /// Widest of all halves; infinite without plates.
    [[nodiscard]] double free_width_mm() const;
    [[nodiscard]] double tab_mm() const;  ///< length of cloth in one ply, all plates
    [[nodiscard]] double strip_length_mm() const;
};

/// Half 1 or 2; null where it was not planned or has no plates.
const BackHalf* find_plated(const MouldBack& back, int half);

/// Plies of the tabbing strips. Source: common practice, two layers of a cloth of 300 g/m2 or so.
inline constexpr int tab_plies = 2;

/// Plates for each half. In: hardware as placed and the layup with the halves' surfaces; laminate as settings say.
/// Out: inner edges no nearer to plug, beads and panels' tops than skin and strip together, over the plates' whole
/// thickness; all plates of a half end in one plane, at settings.mould.stand_tilt to the opening; no shell wider than
/// settings.mould.stiffener_spacing between two of them. Nothing without a parting line or with mould.back = "no".
/// Cost: one slicing pass over the mesh each way, O(points) after that.
MouldBack build_mould_back(const PosedPlug& posed, const Parting& parting, const Flange& flange, const Beads& beads,
                           const Hardware& hardware, const Layup& layup, const Settings& settings);

/// How safely a half stands. The centre of mass may lie 2 % of the footprint's smaller size off. Source: assumed,
/// uneven hand layup.
StandTip stand_tip(const BackHalf& half);
/// Force straight down on the rim of the flange at which the half tips, N; infinite where the rim lies within its
/// footprint. Source: derived, moments about the footprint's edges.
double rim_load_n(const BackHalf& half);

/// Adds soft strip, tabbing cloth and its resin to a shopping list and to what the halves take of it. The kit's sums of
/// the mould's plies stay.
void add_to_kit(LayupKit& kit, const MouldBack& back, const Settings& settings);

}  // namespace cradlewright
