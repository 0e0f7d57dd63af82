// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <string>
#include <vector>

#include "cradlewright/stages/cradle.hpp"

/// \file What keeps the plug from sliding: saddles that it would have to climb, and stops in its way. build_cradle
/// chooses stops and the check judges by the same functions.
namespace cradlewright {

/// Slope of the bench that the plug must stand: limits.tip-factor times 5 deg. Source: common practice.
double slide_limit_rad(const Settings& settings);
/// What friction surely adds: half of its angle. Source: from memory, the pessimistic end of pads' friction.
double sure_friction_rad(const Settings& settings);

/// A level way in which the plug may slide.
struct SlideWay {
    std::string side;  ///< "front" "back" "end-b" "end-a"
    Vec3 direction;
    /// Steepest rise that saddles put in its way, in the half of the cradle toward end-a and in that toward end-b;
    /// -pi/2 where they do not touch it. Along the span both are the same. Across it both halves must hold, or a push
    /// at one end turns the plug.
    std::array<double, 2> saddle_rad{};
    std::array<bool, 2> has_stop{};

    /// The weaker half; pi/2 where stops hold.
    [[nodiscard]] double climb_rad() const;
    [[nodiscard]] bool is_held(const Settings& settings) const;
    /// Does this half need a stop?
    [[nodiscard]] bool needs_stop(std::size_t half, const Settings& settings) const;
};
/// All four, in the order front, back, end-b, end-a. Contacts are looked for where the plug's surface is a pad's
/// thickness from a saddle, within limits.seat-deviation; a stop counts where the plug's wall faces it below its top.
/// Cost: a pass over the mesh and O(log F) each 2 mm of saddle.
std::vector<SlideWay> slide_ways(const PosedPlug& posed, const Cradle& cradle, const Settings& settings);

/// Force on the stops of one way, N: the plug with the wet laminate on a bench at slide_limit_rad, less what the
/// saddle's rise and sure_friction_rad hold, and the drag of the squeegee. An open scan weighs as much as its box full
/// of plug. `saddle_rad`: of the way. Source: derived, Coulomb friction on an incline.
double stop_load_n(const PosedPlug& posed, const Settings& settings, double saddle_rad);

/// How a stop takes its share of the load: a block stood on the base, pushed at its top.
struct StopStrength {
    double dip_mm = 0;       ///< of its top, at the soft end of the board's spread; limit: limits.seat-deviation
    double crush_share = 0;  ///< of limits.bearing with which it presses on the plug's core; 0 = crushing not known
    [[nodiscard]] bool is_enough(const Settings& settings) const;
};
/// In: width across the push, depth along it, height of its top and of the wall that it faces, mm.
StopStrength stop_strength(const Settings& settings, double load_n, double width_mm, double depth_mm, double top_mm,
                           double wall_mm);

}  // namespace cradlewright
