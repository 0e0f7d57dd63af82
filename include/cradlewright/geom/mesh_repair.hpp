// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// A closed-off piece of surface that was not kept.
struct StrayShell {
    std::size_t face_count = 0;
    double area_mm2 = 0;
    Vec3 center;
};

/// What was changed and what was found, in the mesh's own frame.
struct RepairReport {
    std::size_t faces_in = 0, faces_out = 0;
    std::size_t vertices_merged = 0, degenerate_dropped = 0, duplicate_dropped = 0, flipped = 0;
    std::size_t non_manifold_edges = 0, self_touching_vertices = 0;
    bool was_inside_out = false;
    std::vector<StrayShell> stray_shells;       ///< largest first
    std::size_t holes_closed = 0;
    double largest_closed_hole_mm = 0;          ///< perimeter
    std::vector<Vec3> trouble_places;           ///< where edges had more than two faces, at most 10
    double noise_mm = 0;                        ///< robust standard deviation of vertices along their normals
    double mean_edge_mm = 0;
};

struct RepairOptions {
    double weld_mm = 0;              ///< merge vertices closer than this; 0 = only exactly equal ones
    double hole_perimeter_mm = 60;   ///< close boundary loops up to this; longer ones are openings
    bool caps_openings = true;       ///< close openings by a flat `assumed` cap
};

struct RepairedMesh {
    TriMesh mesh;
    RepairReport report;
};

/// Turns a triangle soup into one consistently oriented, outward-facing shell.
/// In: vertices finite, mm; triangles may be unwelded, mixed in direction, duplicated. Out: see RepairReport; every edge has
/// at most two faces, oppositely directed; no degenerate faces; the shell of largest area kept; vertices in order of first use.
/// Errors: Error(bad_input, place) when nothing usable is left or when a place cannot be mended, with its coordinates.
/// Guarantees: same input, same result. Cost: O(F) expected; non-manifold input takes a slower path through CGAL.
RepairedMesh repair_mesh(TriMesh soup, const RepairOptions& options, const std::string& place);

/// Robust noise of a mesh: 1.4826 x median |normal part of the twice-applied umbrella operator| / 1.359, on a fixed sample.
/// The twice-applied operator cancels smooth curvature; 1.359 is its noise gain on a six-valent mesh. Source: derived.
double estimate_noise(const TriMesh& mesh);

}  // namespace cradlewright
