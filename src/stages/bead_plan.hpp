// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cradlewright/stages/flange.hpp"

/// \file Where the sections of the beads stand. Fixture frame, mm. See bead.md.
namespace cradlewright {

struct Plane {
    Vec3 point, normal;
    [[nodiscard]] double height(Vec3 p) const { return dot(p - point, normal); }
    [[nodiscard]] Vec3 project(Vec3 p) const { return p - normal * height(p); }
    [[nodiscard]] Vec3 along(Vec3 direction) const { return normalized(direction - normal * dot(direction, normal)); }
};

/// A section plane: through `joint`, spanned by the panel's normal there and `outward`.
struct Station {
    Vec3 joint, outward, normal;
};

/// One panel's run with what its neighbours do to it.
struct RunPlan {
    const FlangePanel* panel = nullptr;
    Plane first_top, last_top;         ///< of the panel at either end of its run: one but for bent panels
    std::vector<std::size_t> samples;  ///< of the loop's panel_line
    bool is_ring = false;              ///< the panel goes all the way round
    std::vector<Station> stations{};   ///< along the run; none in a run of one sample
    /// A neighbour that rises above this panel: the corner is a ball on plug and both planes.
    struct Valley {
        Plane top;
        Vec3 joint, base, outward;  ///< ball centres on both planes: base + s outward
    };
    std::optional<Valley> before{}, after{};
    std::optional<Valley> before_below{}, after_below{};  ///< the same seen from half 2, whose up is down
};

/// One plan a panel, loop by loop in the flange's order. Plans point into `flange`.
/// Precondition: runs lie on their loops, loops have at least 3 points.
std::vector<RunPlan> plan_beads(const Parting& parting, const Flange& flange, double radius_mm);

/// Direction of a closed line before and after each point, unit; the same where the line has no corner.
/// A corner is a turn of more than `corner_rad` at one point that still shows over `window_mm` of line on either side;
/// kinks that turn back within that are passed over. Precondition: at least 3 points, no two consecutive ones alike.
struct LineTurn {
    Vec3 arriving, leaving;
    bool is_corner = false;
};
std::vector<LineTurn> line_turns(const std::vector<Vec3>& line, double window_mm, double corner_rad);

}  // namespace cradlewright
