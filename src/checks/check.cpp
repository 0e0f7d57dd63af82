// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/checks/check.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

bool is_inside(double value, double bound, Relation relation) {
    constexpr double relative_slack = 1e-9;
    const double slack = relative_slack * std::max(std::abs(value), std::abs(bound));
    return relation == Relation::at_most ? value <= bound + slack : value >= bound - slack;
}

Check without_numbers(std::string id, std::string subject, Verdict verdict, std::string reason) {
    const Quantity none = Quantity::ratio(std::numeric_limits<double>::quiet_NaN());
    Check check;
    check.id = std::move(id);
    check.subject = std::move(subject);
    check.value = check.low = check.high = check.limit = none;
    check.verdict = verdict;
    check.advice = std::move(reason);
    return check;
}

}  // namespace

Verdict judge(const Check& check) {
    const Quantity good = check.good.value_or(check.limit);
    const Quantity all[] = {check.value, check.low, check.high, check.limit, good};
    for (const Quantity& q : all) {
        CRADLEWRIGHT_PRECONDITION(q.dimension == check.value.dimension);
    }
    if (!std::all_of(std::begin(all), std::end(all), [](const Quantity& q) { return std::isfinite(q.value); })) {
        return Verdict::unknown;
    }
    const auto holds = [&](const Quantity& q, const Quantity& bound) {
        return is_inside(q.value, bound.value, check.relation);
    };
    const auto whole_spread_holds = [&](const Quantity& bound) {
        return holds(check.value, bound) && holds(check.low, bound) && holds(check.high, bound);
    };
    if (!holds(check.value, check.limit)) {
        return Verdict::fail;
    }
    return whole_spread_holds(check.limit) && whole_spread_holds(good) ? Verdict::pass : Verdict::marginal;
}

Check judged(Check check) {
    check.verdict = judge(check);
    return check;
}

Check unknown_check(std::string id, std::string subject, std::string reason) {
    return without_numbers(std::move(id), std::move(subject), Verdict::unknown, std::move(reason));
}

Check not_applicable_check(std::string id, std::string subject, std::string reason) {
    return without_numbers(std::move(id), std::move(subject), Verdict::not_applicable, std::move(reason));
}

std::string_view verdict_name(Verdict verdict) {
    switch (verdict) {
        case Verdict::pass:
            return "pass";
        case Verdict::marginal:
            return "marginal";
        case Verdict::fail:
            return "fail";
        case Verdict::unknown:
            return "unknown";
        case Verdict::not_applicable:
            return "not-applicable";
    }
    fail_condition("precondition", "a verdict of the enum", __func__);
}

std::string_view relation_name(Relation relation) { return relation == Relation::at_most ? "<=" : ">="; }

std::size_t CheckReport::count(Verdict verdict) const {
    return static_cast<std::size_t>(
        std::count_if(checks.begin(), checks.end(), [&](const Check& check) { return check.verdict == verdict; }));
}

bool CheckReport::is_buildable() const { return count(Verdict::fail) == 0 && count(Verdict::unknown) == 0; }

}  // namespace cradlewright
