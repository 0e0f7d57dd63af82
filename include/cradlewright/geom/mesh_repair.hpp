// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// A piece of surface, not connected with the plug, that was not kept.
struct StrayShell {
    std::size_t face_count = 0;
    double area_mm2 = 0;
    Vec3 center;
};

/// A hole that was closed by a patch.
struct ClosedHole {
    Vec3 center;
    double perimeter_mm = 0;
};

/// What was changed and what was found, in the mesh's own frame.
struct RepairReport {
    std::size_t faces_in = 0, faces_out = 0;
    std::size_t vertices_merged = 0, degenerate_dropped = 0, duplicate_dropped = 0, flipped = 0;
    std::size_t membranes_dropped = 0;  ///< faces of flaps and inner walls at edges with more than two faces
    std::size_t non_manifold_edges = 0, self_touching_vertices = 0;
    std::size_t split_corners_joined = 0;  ///< see RepairOptions::weld_mm
    bool was_inside_out = false;
    std::vector<StrayShell> stray_shells;  ///< largest first
    std::size_t holes_closed = 0;
    std::vector<ClosedHole> closed_holes;  ///< all of them, longest first
    double largest_closed_hole_mm = 0;     ///< perimeter
    std::vector<Vec3> trouble_places;      ///< where edges had more than two faces, at most 10
    double noise_mm = 0;                   ///< see estimate_noise
    double mean_edge_mm = 0;
};

struct RepairOptions {
    /// Merge vertices closer than this. 0: equal ones, and at open edges those that a writer split, by up to a
    /// twentieth of the shortest edge there (see weld_split_vertices).
    double weld_mm = 0;
    double hole_perimeter_mm = 60;  ///< close boundary loops up to this; longer ones are openings
    bool caps_openings = true;      ///< close openings by a flat `assumed` cap
};

struct RepairedMesh {
    TriMesh mesh;
    RepairReport report;
};

/// Turns a triangle soup into one consistently oriented, outward-facing shell.
/// In: vertices finite, mm; triangles may be unwelded, mixed in direction, duplicated. Out: see RepairReport; every
/// edge has at most two faces, oppositely directed; every vertex one fan of faces; no degenerate faces; the shell of
/// largest area kept (a flat sheet, such as a table that was scanned along, only when there is nothing else); vertices
/// in order of first use; the scan's faces in their order, then patches, then caps. Directions: in a shell the minority
/// is turned (`flipped`); the whole is turned when the volume within it and the cones over its boundary loops is
/// negative (`was_inside_out`), so an open dish faces away from the hollow its cap closes. An open sheet that encloses
/// next to nothing keeps the file's direction. Edges with three faces and more: duplicates go first, then flaps and
/// inner walls; bodies that touch along an edge or at a vertex are parted; where they are torn there, by a thousandth
/// of an edge, else without moving anything. Boundary loops up to hole_perimeter_mm (and up to twice the root of the
/// area: more is a rim) are holes, closed by patches that bend on as the surface round them (see fair_patch), the rest
/// openings, longest first; an opening's loop runs as its cap's faces do, from its smallest point. An opening within
/// another and in its plane (the underside of a ring) shares its cap and has its normal. Errors: Error(bad_input,
/// place) when nothing usable is left or when a place cannot be mended, with its coordinates. Does not promise: freedom
/// from faces that pass through each other. Guarantees: same input, same result. Cost: O(F) expected, O(F log F) where
/// edges have three faces and more.
RepairedMesh repair_mesh(TriMesh soup, const RepairOptions& options, const std::string& place);

/// Robust noise of a mesh: standard deviation of independent shifts of the vertices along their normals.
/// 1.4826 x median of |distance of a vertex from the quadratic surface fitted to it and its two rings| / the share of
/// unit noise that shows there by the fit's covariance, over the half that bends least of every k-th vertex, at most
/// 20000. The fit takes smooth curvature out. Source: derived.
/// Vertices at boundaries, at hubs of more than 32 faces and at places where a face leans over 40 deg from the vertex
/// normal are left out; when that leaves under a quarter of them, a mesh under 2000 vertices is taken as drawn, not
/// scanned: 0. Precondition: oriented. Cost: O(F) plus a 6 x 6 system a sample.
double estimate_noise(const TriMesh& mesh);

}  // namespace cradlewright
