// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <vector>

#include "cradlewright/base/vec.hpp"

namespace cradlewright {

/// Length of a chain; closed chains do not repeat their first point.
double polyline_length(std::span<const Vec3> points, bool is_closed);
double polyline_length(std::span<const Vec2> points, bool is_closed);
/// Signed area of a closed chain, positive counter-clockwise.
double signed_area(std::span<const Vec2> points);
/// Points at equal arc spacing, as close to `spacing_mm` as divides the length evenly (a closed chain gets at least
/// three); the first point is kept, and the last of an open chain. Precondition: spacing_mm > 0, at least two points.
std::vector<Vec3> resample(std::span<const Vec3> points, bool is_closed, double spacing_mm);
/// Middles of equal pieces of each side of an open chain, no piece longer than `longest_mm`. Precondition: longest_mm >
/// 0.
std::vector<Vec2> piece_middles(std::span<const Vec2> points, double longest_mm);
/// The points that a closed chain needs to stay within `tolerance_mm` of itself, its least and greatest point (by x,
/// then y) among them. Source: D. Douglas, T. Peucker (1973). Precondition: not empty. Cost: O(n log n) expected.
std::vector<Vec2> thinned(std::span<const Vec2> loop, double tolerance_mm);
/// Distance of `p` from a chain of at least one point.
double distance_to_polyline(Vec3 p, std::span<const Vec3> points, bool is_closed);
double distance_to_polyline(Vec2 p, std::span<const Vec2> points, bool is_closed);
/// Even-odd test; points on the boundary may fall either way.
bool is_inside(Vec2 p, std::span<const Vec2> closed_points);

}  // namespace cradlewright
