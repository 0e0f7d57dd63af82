// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/geom/frame.hpp"
#include "cradlewright/geom/surface_curve.hpp"
#include "cradlewright/stages/pose.hpp"

namespace cradlewright {

/// The plug's surface cut square to the parting line at one of its points, from half 1's side to half 2's. In the
/// section's plane, mm: x away from the plug, y along the pull as far as the plane holds it; origin on the line.
struct EdgeSection {
    Frame3 frame;  ///< of the plane in the fixture frame; z against the line's direction
    std::vector<Vec2> points;
    std::vector<double> arc;  ///< per point: way over the surface from the line, positive toward half 2

    /// Point at a way over the surface; ways beyond the section stop at its ends.
    [[nodiscard]] Vec2 at(double way_mm) const;
    struct Nearest {
        double arc_mm = 0, distance_mm = 0;
    };
    [[nodiscard]] Nearest nearest(Vec2 p) const;
};

/// Cuts the section through `on_surface` for the line's point `on_line` (fixture frame), `reach_mm` over the surface
/// either way, less where the surface ends. `tangent` in fixture frame, any length but 0, not along the pull.
EdgeSection cut_section(const PosedPlug& posed, const SurfacePoint& on_surface, Vec3 on_line, Vec3 tangent,
                        double reach_mm);

}  // namespace cradlewright
