// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/mechanics/ramp_bend.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

void require_sound(const RampBends& ramp, double void_mm) {
    CRADLEWRIGHT_PRECONDITION(ramp.face_mm > 0 && void_mm > 0 && ramp.panel_turn_rad > 0 && ramp.plug_turn_rad > 0);
    CRADLEWRIGHT_PRECONDITION(ramp.panel_turn_rad + ramp.plug_turn_rad < std::numbers::pi);
}

/// Void under a round of this radius in the two inside bends.
double valley_void_mm(const RampBends& ramp, double radius_mm) {
    const double t1 = ramp.panel_turn_rad, t2 = ramp.plug_turn_rad;
    if (radius_mm * (std::tan(t1 / 2) + std::tan(t2 / 2)) <= ramp.face_mm)
        return radius_mm * (1 / std::cos(std::max(t1, t2) / 2) - 1);
    // Apex where panel and plug would meet, panel along x. The gap grows along a straight away from where the round
    // comes nearest, so it is widest at a bend.
    const double corner = std::numbers::pi - t1 - t2;
    const double on_panel = ramp.face_mm * std::sin(t2) / std::sin(corner);
    const double on_plug = ramp.face_mm * std::sin(t1) / std::sin(corner);
    const double x = radius_mm / std::tan(corner / 2);
    const double to_panel_bend = std::hypot(x - on_panel, radius_mm);
    const double to_plug_bend = std::hypot(x - on_plug * std::cos(corner), radius_mm - on_plug * std::sin(corner));
    return std::max(to_panel_bend, to_plug_bend) - radius_mm;
}

double ridge_void_mm(const RampBends& ramp, double radius_mm) {
    const double chord = std::asin(std::min(1.0, ramp.face_mm / (2 * radius_mm)));
    const double both = (ramp.panel_turn_rad + ramp.plug_turn_rad) / 2 - chord;
    const double left = std::max({both, ramp.panel_turn_rad / 2, ramp.plug_turn_rad / 2});
    return radius_mm * (1 - std::cos(left));
}

template <class Void>
double widest_radius(const Void& void_of, double void_mm) {
    double low = 0, high = void_mm;
    while (void_of(high) < void_mm) high *= 2;
    constexpr double resolution_mm = 1e-10;
    while (high - low > resolution_mm) {
        const double middle = (low + high) / 2;
        (void_of(middle) < void_mm ? low : high) = middle;
    }
    return low;
}

}  // namespace

double valley_radius_mm(const RampBends& ramp, double void_mm) {
    require_sound(ramp, void_mm);
    return widest_radius([&](double radius_mm) { return valley_void_mm(ramp, radius_mm); }, void_mm);
}

double ridge_radius_mm(const RampBends& ramp, double void_mm) {
    require_sound(ramp, void_mm);
    return widest_radius([&](double radius_mm) { return ridge_void_mm(ramp, radius_mm); }, void_mm);
}

}  // namespace cradlewright
