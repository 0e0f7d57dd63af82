// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/mechanics/lifting.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

constexpr double mm_per_cm = 10;

// The equation is written in cm and degrees; so are these, to be compared with the page.

double reach_factor(double h_cm) { return h_cm > 63 ? 0 : 25 / std::max(25.0, h_cm); }
double height_factor(double v_cm) { return v_cm < 0 || v_cm > 175 ? 0 : 1 - 0.003 * std::abs(v_cm - 75); }
double travel_factor(double d_cm) { return d_cm > 175 ? 0 : 0.82 + 4.5 / std::max(25.0, d_cm); }
double twist_factor(double a_deg) { return a_deg > 135 ? 0 : 1 - 0.0032 * a_deg; }

double grip_factor(Grip grip, double v_cm) {
    switch (grip) {
        case Grip::good:
            return 1;
        case Grip::fair:
            return v_cm < 75 ? 0.95 : 1;
        case Grip::poor:
            break;
    }
    return 0.9;
}

}  // namespace

double recommended_lift_kg(const LiftTask& task) {
    CRADLEWRIGHT_PRECONDITION(std::isfinite(task.reach_mm) && std::isfinite(task.hands_mm) &&
                              std::isfinite(task.travel_mm) && std::isfinite(task.twist_rad));
    CRADLEWRIGHT_PRECONDITION(task.frequency >= 0 && task.frequency <= 1);
    const double v_cm = task.hands_mm / mm_per_cm;
    return ideal_lift_kg * reach_factor(task.reach_mm / mm_per_cm) * height_factor(v_cm) *
           travel_factor(std::abs(task.travel_mm) / mm_per_cm) *
           twist_factor(std::abs(task.twist_rad) * 180 / std::numbers::pi) * task.frequency *
           grip_factor(task.grip, v_cm);
}

double team_lift_kg(double one_kg, int people) {
    CRADLEWRIGHT_PRECONDITION(people >= 1 && people <= largest_team);
    constexpr std::array<double, largest_team> share{1, 2.0 / 3, 1.0 / 2};
    return one_kg * people * share[static_cast<std::size_t>(people - 1)];
}

int people_to_lift(double mass_kg, double one_kg, int least) {
    CRADLEWRIGHT_PRECONDITION(mass_kg >= 0);
    for (int people = least; people <= largest_team; ++people)
        if (mass_kg <= team_lift_kg(one_kg, people)) return people;
    return 0;
}

}  // namespace cradlewright
