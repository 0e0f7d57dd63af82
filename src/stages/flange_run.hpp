// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <string>
#include <vector>

#include "cradlewright/base/vec.hpp"
#include "cradlewright/catalog/options.hpp"
#include "cradlewright/geom/frame.hpp"
#include "cradlewright/stages/parting.hpp"

/// \file Runs: stretches of the parting line that get one panel each, and the planes of these panels. See flange.md.
/// All in the plan frame: x, y square to the pull, height along it, mm.
namespace cradlewright {

struct PlanPoint {
    Vec2 at;
    double height = 0;
};

/// height = at_origin + gradient . xy
struct PlanPlane {
    double at_origin = 0;
    Vec2 gradient;
    [[nodiscard]] double height(Vec2 p) const { return at_origin + dot(gradient, p); }
    [[nodiscard]] Vec3 normal() const { return normalized(Vec3{-gradient.x, -gradient.y, 1}); }
    /// Length in plan of a width measured in the plane, in the direction of a unit vector.
    [[nodiscard]] double in_plan(double width_mm, Vec2 direction) const;
};

/// A stretch of one edge. The line goes round the plug counter-clockwise, so what lies ahead is left of `outward`.
struct Run {
    std::string edge;
    std::size_t first = 0, count = 0;  ///< points first .. first + count of the loop
    std::vector<PlanPoint> points;
    std::vector<Vec2> outward;  ///< per point, unit, square to the line in plan
    PlanPlane plane;
    Vec2 along;  ///< unit, direction of travel
    double slope_rad = 0, width_mm = 0, off_plane_mm = 0;
    bool is_whole_loop = false;
    std::size_t skip_first = 0,
                skip_last = 0;  ///< points by a corner, where the line may step to the next edge's height
    [[nodiscard]] std::span<const PlanPoint> settling() const {
        return std::span(points).subspan(skip_first, points.size() - skip_first - skip_last);
    }
};

/// Splits each edge of a loop into as few equal runs as stay within flange.planarity of their planes. A whole level
/// loop and an inner loop are one run.
std::vector<Run> split_loop(const PartingLoop& loop, const Frame3& plan, const Settings& settings);

}  // namespace cradlewright
