// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/stages/plate.hpp"
#include "stages/flange_run.hpp"

/// \file From a run's planes to the flat pattern of its panel and back. See flange.md.
namespace cradlewright {

/// Where each flat of a run lies: pattern -> fixture. The middle one's frame has its origin on the line, z = the top
/// face's normal, +y away from the plug, x against the direction of travel; the others follow by turning about the
/// rulings, so that lengths on the pattern are kept.
std::vector<Frame3> flat_frames(const Run& run, const Frame3& plan);

/// A place in plan on the pattern of one flat.
Vec2 to_pattern(const Run& run, const Frame3& plan, const Frame3& flat_frame, std::size_t flat, Vec2 place);

/// What of a shape in plan lies on one flat; neighbours overlap by a hair, so that they grow together again.
Polygons on_flat(const Run& run, std::size_t flat, const Polygons& plan_shape);

/// The rulings on the pattern, cut to the outline; empty for a flat run.
std::optional<BendMap> bend_map(const Run& run, const Frame3& plan, const std::vector<Frame3>& flats,
                                const Polygons& outline);

}  // namespace cradlewright
