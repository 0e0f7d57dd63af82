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

/// Where two flats of a bent panel meet, in plan; both planes pass through it in space.
struct PlanRuling {
    Vec2 at;         ///< on the line
    Vec2 direction;  ///< unit, away from the plug
    [[nodiscard]] bool has_ahead(Vec2 p) const { return dot(p - at, perp(direction)) > 0; }
};

/// Where the line climbs along the pull, a plane through it stands on end and its sheet would be as long as its tangent
/// is large. No flange is laid steeper than this; the rest shows as off_plane_mm and in panel.gap. tan(80 deg),
/// assumed.
inline constexpr double steepest_rise = 5.67;

/// A stretch of one edge. The line goes round the plug counter-clockwise, so what lies ahead is left of `outward`.
struct Run {
    std::string edge;
    std::size_t first = 0, count = 0;  ///< points first .. first + count of the loop
    std::vector<PlanPoint> points;
    std::vector<Vec2> outward;        ///< per point, unit, square to the line in plan
    std::vector<PlanPlane> flats{1};  ///< one; of a bent panel one more than rulings
    std::vector<PlanRuling> rulings;  ///< in the direction of travel
    double slope_rad = 0, width_mm = 0;
    double off_plane_mm = 0;    ///< largest distance in height of the settling points from the flats
    double bend_radius_mm = 0;  ///< smallest; 0 = flat
    bool is_whole_loop = false;
    std::size_t skip_first = 0,
                skip_last = 0;  ///< points by a corner, where the line may step to the next edge's height
    [[nodiscard]] std::span<const PlanPoint> settling() const {
        return std::span(points).subspan(skip_first, points.size() - skip_first - skip_last);
    }
    [[nodiscard]] std::size_t flat_at(Vec2 p) const;
    [[nodiscard]] const PlanPlane& plane_at(Vec2 p) const { return flats[flat_at(p)]; }
};

/// Splits each edge of a loop into as few equal runs as stay within flange.planarity of their planes, or of one bent
/// sheet where edge.NAME.panel lets it be bent, and can be cut from one sheet of flange.stock each. A whole level loop
/// and an inner loop are one run.
std::vector<Run> split_loop(const PartingLoop& loop, const Frame3& plan, const Settings& settings);

/// Lays a bent sheet along a run: the envelope of the planes through the line's chords at the set slope, as flats
/// hinged along rulings. Changes the run only when it returns true: the line stays within `planarity_mm`, no two
/// rulings meet within the width (the edge of regression lies outside), and lengths on the flats are those of the
/// smooth sheet to 0.05 mm. A run whose planes are all one comes out flat. Cost: as a least-squares fit of one height a
/// flat.
bool bend_run(Run& run, double planarity_mm);
/// Shifts planes so that the largest deviations above and below are equal, and returns that deviation.
double balance(Run& run);

}  // namespace cradlewright
