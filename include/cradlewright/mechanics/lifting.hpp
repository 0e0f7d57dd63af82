// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

/// \file What people may lift by hand. kg, mm, rad. A first guess for planning a lift, no clearance for it: neither
/// source knows the people, the floor or the load's shape.
namespace cradlewright {

/// How hands hold the load. Fair: no handle, but fingers bend under it.
enum class Grip { good, fair, poor };

/// One lift with both hands, as the equation describes it.
struct LiftTask {
    double reach_mm = 250;   ///< level distance from between the ankles to the hands
    double hands_mm = 750;   ///< height of the hands above the floor at the start
    double travel_mm = 250;  ///< how far up or down the hands go
    double twist_rad = 0;    ///< of the trunk away from straight ahead
    double frequency = 1;    ///< multiplier of the frequency table; 1 = at most one lift in five minutes, under an hour
    Grip grip = Grip::good;
};

/// Load constant of the equation: what nearly all healthy workers may lift where everything is ideal.
inline constexpr double ideal_lift_kg = 23;

/// Mass that one person may lift so: 23 kg times HM, VM, DM, AM, FM and CM. 0 where the task lies outside the equation:
/// reach over 63 cm, hands over 175 cm or under the floor, travel over 175 cm, twist over 135 deg.
/// Source: key "niosh-lifting", equation and tables 1 to 7. Precondition: all finite, frequency in [0, 1].
double recommended_lift_kg(const LiftTask& task);

/// Largest team that still lifts well together. Source: key "hse-team-lift", which doubts teams of more than four; more
/// than three of them it gives no share for.
inline constexpr int largest_team = 3;
/// What a team lifts when each of them may lift `one_kg`: two thirds of the sum for two people, half of it for three.
/// Source: key "hse-team-lift". Precondition: 1 <= people <= largest_team.
double team_lift_kg(double one_kg, int people);
/// Fewest people, at least `least`, that may lift `mass_kg` together; 0 = no team may, use a hoist. Precondition: as
/// team_lift_kg, mass_kg >= 0.
int people_to_lift(double mass_kg, double one_kg, int least);

}  // namespace cradlewright
