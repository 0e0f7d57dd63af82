// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/mechanics/stand.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "cradlewright/base/error.hpp"

namespace cradlewright {

double stop_force_n(double weight_n, double slope_rad, double friction) {
    CRADLEWRIGHT_PRECONDITION(weight_n >= 0 && friction >= 0);
    return std::max(0.0, weight_n * (std::sin(slope_rad) - friction * std::cos(slope_rad)));
}

double slide_angle_rad(double friction) { return std::atan(friction); }

double tip_angle_rad(double reach_mm, double height_mm) {
    CRADLEWRIGHT_PRECONDITION(height_mm > 0);
    return std::atan2(reach_mm, height_mm);
}

StandTip stand_tip(double margin_mm, double doubt_mm, double height_mm) {
    const double height = std::max(1.0, height_mm);
    return {margin_mm, tip_angle_rad(margin_mm, height), tip_angle_rad(margin_mm - doubt_mm, height),
            tip_angle_rad(margin_mm + doubt_mm, height)};
}

double v_saddle_force_n(double weight_n, double half_angle_rad) {
    CRADLEWRIGHT_PRECONDITION(half_angle_rad > 0);
    return weight_n / (2 * std::sin(half_angle_rad));
}

double saddle_pressure_mpa(double load_n, double width_mm, double thickness_mm) {
    CRADLEWRIGHT_PRECONDITION(width_mm > 0 && thickness_mm > 0);
    return load_n / (width_mm * thickness_mm);
}

double pressure_share_under_plate(double width_mm, double d_n_mm, double ground_n_mm3) {
    CRADLEWRIGHT_PRECONDITION(ground_n_mm3 > 0);
    if (!(d_n_mm > 0)) return 1;
    const double half = std::sqrt(std::sqrt(ground_n_mm3 / (4 * d_n_mm))) * width_mm / 2;
    return 1 - std::exp(-half) * std::cos(half);
}

double stood_block_dip_mm(double force_n, double height_mm, double e_mpa, double width_mm, double depth_mm) {
    CRADLEWRIGHT_PRECONDITION(e_mpa > 0 && width_mm > 0 && depth_mm > 0);
    const double ei = e_mpa * width_mm * depth_mm * depth_mm * depth_mm / 12;
    return force_n * height_mm * height_mm * height_mm / (3 * ei);
}

double plate_buckling_load_n(double e_mpa, double width_mm, double thickness_mm, double height_mm) {
    CRADLEWRIGHT_PRECONDITION(height_mm > 0);
    const double ei = e_mpa * width_mm * thickness_mm * thickness_mm * thickness_mm / 12;
    const double free_length_mm = 2 * height_mm;
    return std::numbers::pi * std::numbers::pi * ei / (free_length_mm * free_length_mm);
}

}  // namespace cradlewright
