// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

/// \file What sharp bends ask of cloth, told as a radius so that the ply bend rule judges them too. mm, rad.
namespace cradlewright {

/// Void that cloth may leave under it. Source: common practice, as a coupon laid over grooves of known radius is read.
inline constexpr double most_void_mm = 0.5;

/// A flat of clay between panel and plug, and how far the surface turns at its two sharp bends.
struct RampBends {
    double face_mm = 0;  ///< of the flat, across
    double panel_turn_rad = 0, plug_turn_rad = 0;
};

/// Radius of the round that bridges the two inside bends and leaves a void of `void_mm` at most: cloth that follows no
/// tighter one leaves more. Wide flats: each bend by itself, r (1 / cos(turn / 2) - 1); narrow ones: one round from
/// panel to plug, which no longer touches the flat. Source: derived.
/// Precondition: turns > 0, their sum < pi, face_mm > 0, void_mm > 0.
double valley_radius_mm(const RampBends& ramp, double void_mm = most_void_mm);

/// The same over the two ridges that the ramp leaves on the mould: a round over a ridge stands off the face beyond it
/// by r (1 - cos(turn / 2)); over both ridges of a narrow flat at once by what turn is left beyond its chord.
/// Source: derived. Precondition: as valley_radius_mm.
double ridge_radius_mm(const RampBends& ramp, double void_mm = most_void_mm);

}  // namespace cradlewright
