// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "cradlewright/base/vec.hpp"

namespace cradlewright {

/// What a cut edge has to be good for.
enum class CutKind : std::uint8_t {
    fit,    ///< touches plug, panel or another part: cut to the line
    rough,  ///< touches nothing
};

/// A corner of an outline and the edge that leaves it.
struct PathVertex {
    Vec2 at;
    double bulge = 0;              ///< tan(quarter of the arc's angle), positive counter-clockwise; 0 = straight line
    CutKind cut = CutKind::rough;  ///< of the edge from here to the next vertex
};

/// A closed outline of lines and arcs; the last vertex's edge returns to the first.
struct Loop {
    std::vector<PathVertex> vertices;
};

/// A flat shape: outer loop counter-clockwise, holes clockwise, mm, in a frame named by the holder.
struct Region {
    Loop outer;
    std::vector<Loop> holes;
};

/// An arc edge as circle. Angles in rad from +x; `sweep_rad` signed, positive counter-clockwise.
struct Arc {
    Vec2 center;
    double radius = 0, start_rad = 0, sweep_rad = 0;
};

/// Precondition: bulge != 0, a != b. Source: AutoCAD DXF reference, LWPOLYLINE group 42 (bulge = tan(angle / 4)).
Arc arc_of(Vec2 a, Vec2 b, double bulge);
/// Length of one edge, arc or line.
double edge_length(Vec2 a, Vec2 b, double bulge);
/// Direction of travel at the start of an edge, unit; `edge_direction(b, a, -bulge)` negated is the one at its end.
Vec2 edge_direction(Vec2 a, Vec2 b, double bulge);
/// Box of one edge, the arc's extremes included.
Box2 edge_box(Vec2 a, Vec2 b, double bulge);
/// Points of one edge after `a`, up to and including `b`, with chords at most `sag_mm` off. Precondition: sag_mm > 0.
std::vector<Vec2> flatten_edge(Vec2 a, Vec2 b, double bulge, double sag_mm);
/// Area of a loop with its arcs, positive counter-clockwise.
double area_of(const Loop& loop);
/// Outer area less holes.
double area_of(const Region& region);
double perimeter_of(const Loop& loop);
Box2 bounding_box(const Loop& loop);
/// Of the outer loop.
Box2 bounding_box(const Region& region);
/// Vertices with arcs replaced by chords at most `sag_mm` off. Source: sagitta of a chord, n = ceil(sweep / (2 acos(1 -
/// sag/r))).
std::vector<Vec2> flatten(const Loop& loop, double sag_mm);
/// Loop of straight edges, all of one kind.
Loop make_loop(const std::vector<Vec2>& points, CutKind cut);
/// Axis-aligned rectangle, counter-clockwise.
Loop make_rectangle(Vec2 low, Vec2 high, CutKind cut);
/// Circle as two half arcs; clockwise when `is_hole`.
Loop make_circle(Vec2 center, double radius, CutKind cut, bool is_hole);
/// Reverses the direction, keeping bulges and kinds with their edges.
Loop reversed(const Loop& loop);
/// Rotated about the origin, then shifted.
Region moved(const Region& region, double angle_rad, Vec2 shift);

}  // namespace cradlewright
