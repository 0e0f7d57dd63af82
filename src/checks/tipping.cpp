// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/tipping.hpp"

#include <utility>

#include "checks/advice.hpp"
#include "cradlewright/stages/cradle_hold.hpp"

namespace cradlewright {

Check tip_check(std::string id, std::string subject, const StandTip& tip, std::string formula,
                const Settings& settings) {
    Check c;
    c.id = std::move(id);
    c.subject = std::move(subject);
    c.value = Quantity::of(Angle::rad(tip.angle_rad));
    c.low = Quantity::of(Angle::rad(tip.low_rad));
    c.high = Quantity::of(Angle::rad(tip.high_rad));
    c.limit = Quantity::of(Angle::rad(slide_limit_rad(settings)));
    c.relation = Relation::at_least;
    c.formula = std::move(formula);
    // How far out of level a bench may be, or be knocked, before anything may move; times limits.tip-factor.
    c.source = Source::common_practice("5 deg out of level, safety factor on tipping and sliding");
    c = judged(std::move(c));
    if (c.verdict == Verdict::pass)
        c.advice = "stands still with " + length_text(settings, tip.margin_mm) + " to spare";
    return c;
}

}  // namespace cradlewright
