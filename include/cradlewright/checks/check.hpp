// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cradlewright/base/source.hpp"
#include "cradlewright/base/units.hpp"
#include "cradlewright/base/vec.hpp"

namespace cradlewright {

enum class Verdict { pass, marginal, fail, unknown, not_applicable };
enum class Relation { at_most, at_least };

/// What one check measured, against what, and what to do. Value is the worst place; `at` points there, fixture frame.
struct Check {
    std::string id;             ///< of the contract, e.g. "panel.gap"
    std::string subject;        ///< part or place: "panel-front-1"
    Quantity value, low, high;  ///< low..high over the spread of the inputs
    Quantity limit;
    std::optional<Quantity> good;  ///< between limit and this: marginal
    Relation relation = Relation::at_most;
    Verdict verdict = Verdict::unknown;
    std::optional<Vec3> at;
    std::string formula;
    Source source;       ///< of formula and limit
    std::string advice;  ///< one sentence with a number; why, when unknown or not applicable
};

/// The only code that turns numbers into a verdict. NaN or infinite anywhere: unknown. Value beyond the limit: fail.
/// Value and the whole spread within the limit, and within `good` when set: pass. All else, a spread that crosses the
/// limit or `good`, or a value between the two: marginal. Numbers within 1e-9 relative count as inside.
/// Precondition: value, low, high, limit and good have one dimension.
Verdict judge(const Check& check);
/// The check with its verdict filled in by judge().
Check judged(Check check);
/// A check that could not be computed, with the reason as advice.
Check unknown_check(std::string id, std::string subject, std::string reason);
Check not_applicable_check(std::string id, std::string subject, std::string reason);

std::string_view verdict_name(Verdict verdict);     ///< "pass" "marginal" "fail" "unknown" "not-applicable"
std::string_view relation_name(Relation relation);  ///< "<=" ">="

/// Every check of one design in all_checks order. The worst verdict decides the exit code.
struct CheckReport {
    std::vector<Check> checks;
    [[nodiscard]] std::size_t count(Verdict verdict) const;
    /// True when no check failed or is unknown.
    [[nodiscard]] bool is_buildable() const;
};

}  // namespace cradlewright
