// SPDX-License-Identifier: GPL-3.0-or-later
// The turned-over mould on its plates.
#include "cradlewright/stages/mould_back.hpp"

#include <algorithm>
#include <cmath>

#include "checks/advice.hpp"
#include "checks/families.hpp"
#include "checks/tipping.hpp"
#include "cradlewright/stages/cradle_hold.hpp"

namespace cradlewright {
namespace {

/// Half 1 carries the plug while half 2 is laid.
BackHalf with_plug(const Design& design, BackHalf half) {
    const Plug& plug = design.posed.plug;
    const Vec3 at = half.stand.to_local(design.posed.pose.to_fixture(plug.mass_properties.centroid));
    const double both = half.mass_kg() + plug.mass_kg;
    if (!(both > 0)) return half;
    half.centre = (half.centre * half.mass_kg() + at * plug.mass_kg) * (1 / both);
    half.laminate_kg += plug.mass_kg;
    return half;
}

/// Does every half stand with other settings? Tried by building it.
bool stands_with(const Design& design, const Settings& settings) {
    const MouldBack back = build_mould_back(design.posed, design.parting, design.flange, design.beads, design.hardware,
                                            design.layup, settings);
    const auto stands = [&](const BackHalf& half) {
        return half.trouble.empty() && stand_tip(half).low_rad >= slide_limit_rad(settings);
    };
    if (back.halves.empty() || !std::ranges::all_of(back.halves, stands)) return false;
    return back.halves.size() < 2 || std::isnan(design.posed.plug.mass_kg) ||
           stands(with_plug(design, back.halves.front()));
}

/// The first of some changes with which it stands.
std::string steadier(const Design& design, const BackHalf& half, double limit_rad) {
    Settings tried = design.settings;
    const StandTip tip = stand_tip(half);
    const double doubt = tip.margin_mm - half.centre.z * std::tan(tip.low_rad);
    constexpr double least_depth_mm = 15;  // the setting's range
    // The centre of mass comes down by less than the plates lose, so a few steps.
    double depth = tried.mould.stiffener_depth.mm() - (half.centre.z - (tip.margin_mm - doubt) / std::tan(limit_rad));
    for (int step = 0; step < 4 && depth >= least_depth_mm; ++step, depth *= 0.85) {
        tried.mould.stiffener_depth = Length::mm(std::floor(depth));
        if (stands_with(design, tried))
            return "set mould.stiffener-depth to " + length_to_set(design.settings, std::floor(depth), Rounding::down) +
                   " or less";
    }
    tried = design.settings;
    constexpr double step_deg = 5;
    const double way = tried.mould.stand_tilt.deg() < 0 ? -1 : 1;
    for (double deg = rounded_to(std::abs(tried.mould.stand_tilt.deg()) - 0.1, step_deg, Rounding::down); deg >= 0;
         deg -= step_deg) {
        tried.mould.stand_tilt = Angle::deg(way * deg);
        if (stands_with(design, tried))
            return "set mould.stand-tilt to " + fixed(way * deg, 0) + " deg, so that its middle lies lower";
    }
    return "screw a board " + length_text(design.settings, 2 * half.centre.z * std::tan(limit_rad)) +
           " wide under its plates";
}

Check check_half(const Design& design, const BackHalf& half, const std::string& with = {}) {
    const std::string subject =
        "half " + std::to_string(half.half) + " on its " + (half.plates.empty() ? "own back" : "plates") + with;
    if (!half.trouble.empty()) return unknown_check("mould.stand-tip", subject, half.trouble);
    const StandTip tip = stand_tip(half);
    Check c = tip_check(
        "mould.stand-tip", subject, tip,
        "atan(b / h): b centre of mass of laminate, plates and tabs to the edge of their footprint, within 2 % of its "
        "width, h its height above the bench",
        design.settings);
    c.at = half.stand.to_parent(half.centre);
    if (c.verdict != Verdict::pass)
        c.advice = "its centre of mass is " + length_text(design.settings, half.centre.z) + " up, over " +
                   length_text(design.settings, tip.margin_mm) + " of stand: " + steadier(design, half, c.limit.value);
    return c;
}

}  // namespace

std::vector<Check> check_mould_stand_tip(const Design& design) {
    if (design.back.halves.empty())
        return {not_applicable_check("mould.stand-tip", "mould",
                                     design.back.reason.empty() ? "no stand was planned" : design.back.reason)};
    std::vector<Check> checks;
    for (const BackHalf& half : design.back.halves) checks.push_back(check_half(design, half));
    if (design.back.halves.size() > 1 && std::isfinite(design.posed.plug.mass_kg))
        checks.push_back(check_half(design, with_plug(design, design.back.halves.front()),
                                    " with the plug in it, as half 2 is laid"));
    return checks;
}

}  // namespace cradlewright
