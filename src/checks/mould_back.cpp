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

/// A hand that leans on the flange. A clamp cures what a light mould lacks, so less than a hand's load is no fail.
Check check_rim(const Design& design, const BackHalf& half, const std::string& with = {}) {
    const std::string subject = "half " + std::to_string(half.half) + ", a hand on its rim" + with;
    if (design.settings.mould.stand_clamp == "yes")
        return not_applicable_check("mould.stand-tip", subject,
                                    "the stand is clamped to the bench (mould.stand-clamp)");
    if (!half.trouble.empty()) return unknown_check("mould.stand-tip", subject, half.trouble);
    // As far off as stand_tip lets the centre be.
    const StandTip tip = stand_tip(half);
    const double doubt_mm = std::max(0.0, tip.margin_mm - half.centre.z * std::tan(tip.low_rad));
    double low = rim_load_n(half), high = low;
    const double value = low;
    for (const Vec3 way : {Vec3{1, 0, 0}, Vec3{-1, 0, 0}, Vec3{0, 1, 0}, Vec3{0, -1, 0}}) {
        BackHalf moved = half;
        moved.centre += way * doubt_mm;
        low = std::min(low, rim_load_n(moved));
        high = std::max(high, rim_load_n(moved));
    }
    if (std::isinf(value))
        return not_applicable_check("mould.stand-tip", subject, "its rim lies within its footprint: no load tips it");
    Check c;
    c.id = "mould.stand-tip";
    c.subject = subject;
    c.value = Quantity::of(Force::n(value));
    c.low = Quantity::of(Force::n(low));
    c.high = Quantity::of(Force::n(high));
    c.limit = Quantity::of(Force::n(0));
    c.good = Quantity::of(design.settings.limits.hand_load);
    c.relation = Relation::at_least;
    c.at = half.stand.to_parent(half.centre);
    c.formula =
        "m g b / a: b centre of mass to the footprint's edge, a from there out to the rim; least over all edges";
    c.source = Source::derived("moments about the footprint's edges");
    c = judged(std::move(c));
    c.advice = c.verdict == Verdict::pass
                   ? "a hand on the rim does not tip it"
                   : "a hand that leans on the rim with more than " + fixed(std::max(0.0, low), 0) +
                         " N tips it, and a hand may with " +
                         format_quantity(Quantity::of(design.settings.limits.hand_load), design.settings.units, 0) +
                         " (limits.hand-load): clamp " +
                         (half.plates.empty() ? std::string("it") : std::string("two of its plates")) +
                         " to the bench and set mould.stand-clamp to yes";
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
    for (const BackHalf& half : design.back.halves) checks.push_back(check_rim(design, half));
    return checks;
}

}  // namespace cradlewright
