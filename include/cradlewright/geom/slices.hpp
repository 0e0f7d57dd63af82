// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <vector>

#include "cradlewright/geom/frame.hpp"
#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// One closed or open chain of a plane section, in the 2D axes of the slicing frame.
struct SliceLoop {
    std::vector<Vec2> points;  ///< first not repeated when closed; material on the left
    bool is_closed = true;
};
using Slice = std::vector<SliceLoop>;

/// Cuts a mesh with many parallel planes in one pass over its flat arrays.
/// In: `frame` in mesh coordinates; plane k is local z = heights[k] (any order, repeats allowed). Points come out as
/// the local (x, y). A vertex exactly on a plane counts as just above it, so sections of a closed mesh are closed.
/// Chains are stitched by (mesh edge, plane), never by coordinates. Points that repeat exactly are given once, and
/// closed chains that shrink to one or two points (a plane that touches a vertex or an edge from below) are left out.
/// Out: one Slice per height; closed loops counter-clockwise around material seen against local z (outside-facing
/// mesh), holes clockwise; start at the smallest edge id; loops sorted by that id.
/// Options: `faces` limits the cut to these faces (empty = all).
/// Cost: O(V + F + output). Source: R. Minetto et al., "An optimal algorithm for 3D triangle mesh slicing" (2017)
/// [from memory] for the idea of taking all planes at once; we bin by triangle instead of sweeping.
std::vector<Slice> slice_mesh(const TriMesh& mesh, const Frame3& frame, std::span<const double> heights,
                              std::span<const FaceId> faces = {});

/// Area, centroid and second moments of the closed loops of a section. Moments about the centroid, axes of the slice.
/// Source: Green's theorem.
struct SectionProperties {
    double area_mm2 = 0;
    Vec2 centroid;
    double ixx_mm4 = 0, iyy_mm4 = 0, ixy_mm4 = 0;  ///< ixx = integral of y^2
};
SectionProperties section_properties(const Slice& slice);
/// The same of loops that are all closed.
SectionProperties loop_properties(std::span<const std::vector<Vec2>> loops);

}  // namespace cradlewright
