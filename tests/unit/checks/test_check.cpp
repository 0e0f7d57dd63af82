// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <limits>
#include <random>

#include "cradlewright/base/error.hpp"
#include "cradlewright/checks/check.hpp"

using namespace cradlewright;

namespace {

Check measured(double value, double low, double high, double limit, Relation relation) {
    Check check;
    check.value = Quantity::of(Length::mm(value));
    check.low = Quantity::of(Length::mm(low));
    check.high = Quantity::of(Length::mm(high));
    check.limit = Quantity::of(Length::mm(limit));
    check.relation = relation;
    return check;
}

Verdict verdict_of(double value, double limit, Relation relation) {
    return judge(measured(value, value, value, limit, relation));
}

}  // namespace

TEST_CASE("just inside and just outside the limit", "[checks][check]") {
    CHECK(verdict_of(1.999, 2, Relation::at_most) == Verdict::pass);
    CHECK(verdict_of(2.001, 2, Relation::at_most) == Verdict::fail);
    CHECK(verdict_of(2.001, 2, Relation::at_least) == Verdict::pass);
    CHECK(verdict_of(1.999, 2, Relation::at_least) == Verdict::fail);
    CHECK(verdict_of(-2.001, -2, Relation::at_most) == Verdict::pass);
    CHECK(verdict_of(-1.999, -2, Relation::at_most) == Verdict::fail);
}

TEST_CASE("a borderline value counts as inside", "[checks][check]") {
    for (const Relation relation : {Relation::at_most, Relation::at_least}) {
        const double outward = relation == Relation::at_most ? 1 : -1;
        CHECK(verdict_of(2, 2, relation) == Verdict::pass);
        CHECK(verdict_of(0, 0, relation) == Verdict::pass);
        CHECK(verdict_of(2 * (1 + outward * 0.9e-9), 2, relation) == Verdict::pass);
        CHECK(verdict_of(2 * (1 + outward * 1.2e-9), 2, relation) == Verdict::fail);
        CHECK(verdict_of(-2 * (1 - outward * 0.9e-9), -2, relation) == Verdict::pass);
        CHECK(verdict_of(-2 * (1 - outward * 1.2e-9), -2, relation) == Verdict::fail);
    }
    // The ratio 9.525 / 12.7 is 0.75 on paper and rounds either way.
    CHECK(verdict_of(9.525 / 12.7, 0.75, Relation::at_least) == Verdict::pass);
}

TEST_CASE("a spread across the limit is marginal, a value beyond it fails", "[checks][check]") {
    CHECK(judge(measured(1.5, 1, 2.5, 2, Relation::at_most)) == Verdict::marginal);
    CHECK(judge(measured(2.5, 1, 3, 2, Relation::at_most)) == Verdict::fail);
    CHECK(judge(measured(1.5, 1, 1.9, 2, Relation::at_most)) == Verdict::pass);
    CHECK(judge(measured(2.5, 1.5, 3, 2, Relation::at_least)) == Verdict::marginal);
    CHECK(judge(measured(1.5, 1, 3, 2, Relation::at_least)) == Verdict::fail);
    CHECK(judge(measured(2.5, 2.1, 3, 2, Relation::at_least)) == Verdict::pass);
}

TEST_CASE("between limit and good is marginal", "[checks][check]") {
    Check draft = measured(2, 2, 2, 1, Relation::at_least);
    draft.good = Quantity::of(Length::mm(3));
    CHECK(judge(draft) == Verdict::marginal);
    draft.value = draft.low = draft.high = *draft.good;
    CHECK(judge(draft) == Verdict::pass);
    draft.low = Quantity::of(Length::mm(2.9));
    CHECK(judge(draft) == Verdict::marginal);
    draft.value = draft.low = Quantity::of(Length::mm(0.9));
    CHECK(judge(draft) == Verdict::fail);

    Check gap = measured(1, 1, 1, 2, Relation::at_most);
    gap.good = Quantity::of(Length::mm(0.5));
    CHECK(judge(gap) == Verdict::marginal);
    gap.value = gap.low = gap.high = Quantity::of(Length::mm(0.4));
    CHECK(judge(gap) == Verdict::pass);
    gap.value = gap.low = gap.high = Quantity::of(Length::mm(2.1));
    CHECK(judge(gap) == Verdict::fail);
}

TEST_CASE("no number, no pass", "[checks][check]") {
    const double nan = std::numeric_limits<double>::quiet_NaN();
    const double inf = std::numeric_limits<double>::infinity();
    for (const double bad : {nan, inf, -inf}) {
        for (const Relation relation : {Relation::at_most, Relation::at_least}) {
            CHECK(judge(measured(bad, 1, 1, 2, relation)) == Verdict::unknown);
            CHECK(judge(measured(1, bad, 1, 2, relation)) == Verdict::unknown);
            CHECK(judge(measured(1, 1, bad, 2, relation)) == Verdict::unknown);
            CHECK(judge(measured(1, 1, 1, bad, relation)) == Verdict::unknown);
            Check check = measured(1, 1, 1, 2, relation);
            check.good = Quantity::of(Length::mm(bad));
            CHECK(judge(check) == Verdict::unknown);
        }
    }
}

TEST_CASE("numbers of different dimensions are not compared", "[checks][check]") {
    Check check = measured(1, 1, 1, 2, Relation::at_most);
    check.limit = Quantity::of(Angle::deg(2));
    CHECK_THROWS_AS(judge(check), Error);
}

TEST_CASE("turning the axis round swaps the relations and keeps the verdict", "[checks][check][property]") {
    std::mt19937_64 random(11);
    std::uniform_real_distribution<double> mm(-3, 3);
    int seen[3] = {};
    for (int i = 0; i < 3000; ++i) {
        const double value = mm(random), low = mm(random), high = mm(random), limit = mm(random);
        const Verdict verdict = judge(measured(value, low, high, limit, Relation::at_most));
        ++seen[static_cast<int>(verdict)];
        REQUIRE(judge(measured(-value, -low, -high, -limit, Relation::at_least)) == verdict);
    }
    CHECK((seen[0] > 100 && seen[1] > 100 && seen[2] > 100));
}

TEST_CASE("checks without numbers say why and keep their verdict", "[checks][check]") {
    const Check unknown = unknown_check("pose.tip", "plug", "the scan is open");
    CHECK(unknown.verdict == Verdict::unknown);
    CHECK(unknown.advice == "the scan is open");
    CHECK(judge(unknown) == Verdict::unknown);
    CHECK(not_applicable_check("panel.bend", "panels", "all panels are flat").verdict == Verdict::not_applicable);
    CHECK(judged(measured(3, 3, 3, 2, Relation::at_most)).verdict == Verdict::fail);
}

TEST_CASE("a report is buildable unless something failed or is unknown", "[checks][check]") {
    CheckReport report;
    CHECK(report.is_buildable());
    report.checks = {judged(measured(1, 1, 1, 2, Relation::at_most)), judged(measured(1.5, 1, 3, 2, Relation::at_most)),
                     not_applicable_check("panel.bend", "panels", "flat")};
    CHECK(report.is_buildable());
    CHECK(report.count(Verdict::marginal) == 1);
    CheckReport failed = report;
    failed.checks.push_back(judged(measured(3, 3, 3, 2, Relation::at_most)));
    CHECK_FALSE(failed.is_buildable());
    report.checks.push_back(unknown_check("pose.tip", "plug", "open"));
    CHECK_FALSE(report.is_buildable());
}

TEST_CASE("names of the report", "[checks][check]") {
    CHECK(verdict_name(Verdict::pass) == "pass");
    CHECK(verdict_name(Verdict::marginal) == "marginal");
    CHECK(verdict_name(Verdict::fail) == "fail");
    CHECK(verdict_name(Verdict::unknown) == "unknown");
    CHECK(verdict_name(Verdict::not_applicable) == "not-applicable");
    CHECK(relation_name(Relation::at_most) == "<=");
    CHECK(relation_name(Relation::at_least) == ">=");
}
