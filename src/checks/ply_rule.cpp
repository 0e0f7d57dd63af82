// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/ply_rule.hpp"

#include <algorithm>

#include "checks/advice.hpp"

namespace cradlewright {
namespace {

using Result = PlyFit::Result;

const Source ply_rule = Source::common_practice(
    "class radii of cloth by trade use; fail below 0.75 of the class radius for the bead or 0.60 under the tightest "
    "ply, pass "
    "from 1.0 and 0.75; nothing under 3 mm in an inside corner, where no roller reaches");

}  // namespace

RadiusLimits limits_of_run(const Laminate& laminate, std::size_t run, Curvature side) {
    return {least_radius_mm(laminate, run, side, Result::marginal).value,
            least_radius_mm(laminate, run, side, Result::pass)};
}
RadiusLimits limits_of(const Laminate& laminate, Curvature side) {
    RadiusLimits worst;
    for (std::size_t run = 0; run < laminate.plies.size(); ++run) {
        const RadiusLimits own = limits_of_run(laminate, run, side);
        worst.limit_mm = std::max(worst.limit_mm, own.limit_mm);
        worst.good_mm = {std::max(worst.good_mm.low, own.good_mm.low), std::max(worst.good_mm.value, own.good_mm.value),
                         std::max(worst.good_mm.high, own.good_mm.high)};
    }
    return worst;
}

Check radius_check(std::string id, std::string subject, const Spread& radius_mm, const RadiusLimits& limits) {
    Check c;
    c.id = std::move(id);
    c.subject = std::move(subject);
    const Spread& good = limits.good_mm;
    c.value = Quantity::of(Length::mm(radius_mm.value));
    c.low = Quantity::of(Length::mm(good.high > 0 ? radius_mm.low * good.value / good.high : radius_mm.low));
    c.high = Quantity::of(Length::mm(good.low > 0 ? radius_mm.high * good.value / good.low : radius_mm.high));
    c.limit = Quantity::of(Length::mm(limits.limit_mm));
    c.good = Quantity::of(Length::mm(good.value));
    c.relation = Relation::at_least;
    c.source = ply_rule;
    return c;
}

std::string run_name(const PlyFit& fit) {
    std::string name = fit.cloth;
    name += fit.first_ply == fit.last_ply ? ", ply " : ", plies ";
    name += std::to_string(fit.first_ply);
    if (fit.last_ply > fit.first_ply) name += " to " + std::to_string(fit.last_ply);
    return name;
}

std::string class_text(const Settings& settings, const Spread& mm) {
    const std::string value = length_text(settings, mm.value);
    if (!(mm.high > mm.low)) return value;
    return value + " (" + length_text(settings, mm.low) + " to " + length_text(settings, mm.high) + ")";
}

std::string own_test_note(const Settings& settings, const Cloth& cloth) {
    const Spread mm = class_radius_mm(cloth, Curvature::concave);
    if (cloth.overhang_mm > 0 || !(mm.high > mm.value)) return {};
    return ", sure also for the stiffest of this class (" + class_text(settings, mm) + "); a coupon (cloth." +
           cloth.name + ".class-radius) or overhang test (cloth." + cloth.name + ".overhang) of your own may show less";
}

}  // namespace cradlewright
