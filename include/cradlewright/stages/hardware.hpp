// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cradlewright/stages/bead.hpp"
#include "cradlewright/stages/cradle.hpp"
#include "cradlewright/stages/mould_joint.hpp"

/// \file What aligns, holds and opens the two halves of the mould. It all finds its place on the flange panels, since
/// half 1's flange is laid on their top faces and half 2's on half 1's. See src/stages/hardware.md.
namespace cradlewright {

enum class HardwareKind {
    locator,  ///< button on the panel before layup: a socket in half 1's flange, and half 2's peg is laid up in it
    port,     ///< hole square through one half's flange, for air or water; opens against the other half's flange
    jack,     ///< thread in half 1's flange whose screw pushes a hard pad in half 2's
    bolt,     ///< clamp bolt through both flanges
    notch,    ///< hollow at the rim between the flanges, where a plastic wedge starts
};
std::string_view hardware_kind_name(HardwareKind kind);  ///< "locator" "port" "jack-bolt" "bolt" "wedge-notch"

/// One thing at its place. Fixture frame, mm.
struct HardwareItem {
    HardwareKind kind = HardwareKind::locator;
    std::string id, panel;       ///< "locator-1"; the panel under its flange
    Vec3 at{};                   ///< on the panel's top face; of a notch the middle of its mouth at the rim
    Vec3 axis{};                 ///< unit: along Pose::opening_fixture for locators, square to the panel for all others
    Vec3 normal{}, out{};        ///< unit: of the panel there; in the panel, away from the plug
    Vec2 flat{}, flat_out{};     ///< `at` and `out` on the panel's flat pattern
    double shim_rad = 0;         ///< between axis and the panel's normal: the shim that a locator needs under it
    int half = 0;                ///< ports: whose flange it goes through; 0 = all others
    double to_part_edge_mm = 0;  ///< ports: from the axis, both ways, to the nearest trim line of either half

    /// Thinner shims are lost in the glue.
    [[nodiscard]] bool has_shim() const { return shim_rad > Angle::deg(0.5).rad(); }
};

/// The button. A cone about its axis, cut off below by the panel, rounded at its top edge.
struct LocatorShape {
    double radius_mm = 0;  ///< at the place where the axis meets the panel
    double height_mm = 0;  ///< over that place, along the axis
    double draft_rad = 0;  ///< of its flank
    double round_mm = 0;   ///< radius of the top edge

    /// Distance from the axis and height of the rounding's middle.
    [[nodiscard]] Vec2 round_center() const;
    /// Height along the axis at which its flank meets a panel whose normal leans by `shim_rad` to the axis; azimuth
    /// about the axis, 0 = downhill. Source: derived, cone cut by a plane.
    [[nodiscard]] double foot_height_mm(double shim_rad, double azimuth_rad) const;
    /// Its print on a panel whose normal leans by `shim_rad` to the axis: closed chain round the axis' foot, first the
    /// point downhill, along `down`; unit, on the panel's flat pattern.
    [[nodiscard]] std::vector<Vec2> print(double shim_rad, Vec2 down) const;
};
/// From the settings mould.locator-*. Errors: Error(bad_input) where height or draft leave no top.
LocatorShape locator_shape(const Settings& settings);

/// Sizes that the shop's usual parts set, mm. Source: common practice.
struct HardwareSizes {
    static constexpr double bolt = 6, washer = 25;         ///< M6 through glass-fibre flanges, washers that spread it
    static constexpr double jack = 8, pad = 25;            ///< M8 insert, disc of steel
    static constexpr double port = 6, nozzle = 20;         ///< hole, and the rubber nozzle that seals on it
    static constexpr double screw = 4.5, screw_head = 10;  ///< hole for the screw that holds a locator from below
    static constexpr double notch_width = 30, notch_depth = 15, notch_height = 3;
    static constexpr double apart = 5;  ///< between the rims of any two, to the bead's foot, to panel edges and mitres
    static constexpr double below = 2;  ///< from a screw's head to strips and plates under the panel
};

struct Hardware {
    std::vector<HardwareItem> items;  ///< kind by kind as in HardwareKind, then along the line
    LocatorShape locator;
    /// Put together turned, shifted or mirrored any way, at least one peg stands this far or further off its socket.
    /// Infinite with fewer than two locators.
    double misfit_mm = 0;
    std::vector<std::string> notes;  ///< what found no room and what to set; why there is nothing
};

/// Places locators, ports, jack bolts, clamp bolts and wedge notches, in this order, on the panels of the outer loops.
/// In: a parting with its panels, beads and cradle, fixture frame. Out: each at the wanted place along the line in the
/// middle of what the beads leave of the flange, else at the nearest place along, else nearest to that middle across.
/// Guarantees: rims HardwareSizes::apart from each other, the beads' feet, panel edges and mitres (bolts: their washers
/// lie on the panel); locators' screws clear of what stands under the panel. However the scan lies, places stay.
/// Locators: on the longest outer loop, 3 and one more for each 800 mm beyond 1600, 5 at most; gaps unequal and none
/// half the loop, so that they stand on all sides; misfit_mm at least their radius, where room allows.
/// Ports: through the flanges, not through the moulded surface, which a hole would mark, and where the film between the
/// flanges lifts first. Square to the flange they blow against the other half's, beside the part's edge and never
/// at it. One a half, on opposite sides, so that water runs all the way.
/// A single mould meets nothing: no items and a note. Cost: O(places x outline), a few ms.
/// Source: common practice for counts and spacing: 3 to 5 locators unequally spaced, bolts as `joint` says, jack bolts
/// on every long side no further apart than 500 mm, notches no further apart than 300 mm.
Hardware place_hardware(const PosedPlug& posed, const Parting& parting, const Flange& flange, const Cradle& cradle,
                        const Beads& beads, const MouldJoint& joint, const Settings& settings);

/// The flange with what is placed on it marked on its flat patterns: cross, outline of true size, name; the drill of a
/// locator's screw.
Flange mark_hardware(Flange flange, const Hardware& hardware);

/// How far, at least, the worst of `places` lies off all of them when they are moved rigidly or mirrored so that each
/// comes to another's place: half of the largest difference between two distances that would have to agree, least over
/// all ways to swap them. Infinite for fewer than two. Source: derived, triangle inequality. Cost: O(n! n^2), n <= 6.
double misfit_when_turned(const std::vector<Vec3>& places);

}  // namespace cradlewright
