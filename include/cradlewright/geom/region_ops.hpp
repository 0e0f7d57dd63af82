// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/geom/region.hpp"

namespace cradlewright {

/// Straight-edged closed chains, mm; counter-clockwise = solid, clockwise = hole. The working form of the 2D
/// operations.
using Polygons = std::vector<std::vector<Vec2>>;

/// Boolean operations, non-zero winding. Coordinates are snapped to 1e-5 mm (10 nm).
/// Out: disjoint simple loops, outer counter-clockwise, holes clockwise, canonical start (smallest x, then y), sorted.
/// Loops may share single vertices with each other, never with themselves. Precondition: finite, within 10 km of the
/// origin. Source: B. R. Vatti (1992) as in the Clipper library 6.4 (Angus Johnson).
Polygons unite(const Polygons& a, const Polygons& b = {});
Polygons subtract(const Polygons& a, const Polygons& b);
Polygons intersect(const Polygons& a, const Polygons& b);
/// Grows (or shrinks, negative) by `distance_mm` with round joins whose chords are at most `sag_mm` off (or a quarter
/// of the distance, when that is less). Overlapping loops are united first.
Polygons offset(const Polygons& a, double distance_mm, double sag_mm = 0.01);
/// Area, holes counted negative.
double area_of(const Polygons& a);
/// Non-zero winding; points on the boundary may fall either way.
bool contains(const Polygons& a, Vec2 p);
/// Loops of the region with arcs as chords, outer first, as they come (not united).
Polygons to_polygons(const Region& region, double sag_mm = 0.01);

/// Lower envelope of a set of loops, as a chain from left to right: for every x covered, the least y of any loop.
/// Jumps give vertical steps; a stretch of x that no loop covers is bridged by one straight line. Loops may cross.
/// Exact for straight edges: corners are copied, heights between them interpolated once. Cost: O(n log n).
std::vector<Vec2> lower_envelope(const Polygons& a);

/// Replaces runs of short lines by lines and tangent-free arcs within `tolerance_mm` of the given chain, never across a
/// change of CutKind nor a corner sharper than `corner_rad`.
/// Out: loop within the tolerance in both directions (Hausdorff), same orientation. `max_deviation_mm` is measured, not
/// assumed. Arcs turn at most 170 deg and have radii up to 5 m; edges that are arcs already are kept. Each line or arc
/// runs as far as it can from where the one before ended. Cost: O(n log n). The result may touch itself in necks
/// narrower than twice the tolerance.
struct FitResult {
    Loop loop;
    double max_deviation_mm = 0;
};
struct FitOptions {
    double tolerance_mm = 0.05;
    double corner_rad = 0.35;
};
FitResult fit_lines_and_arcs(const Loop& polyline, const FitOptions& options = {});

/// Least radius of any concave place (as the cutter sees it) on edges of the given kind: arcs by their radius; inside
/// corners where either edge is of the kind as 0; kinks from 3 deg to FitOptions::corner_rad, such as the fit leaves
/// between its arcs, by the tool that would stay FitOptions::tolerance_mm off the kink; infinity when none. `at` gets
/// the place. Loop counter-clockwise = material inside, clockwise = hole.
struct InsideRadius {
    double radius_mm = 0;
    Vec2 at;
};
InsideRadius min_inside_radius(const Region& region, CutKind cut);

}  // namespace cradlewright
