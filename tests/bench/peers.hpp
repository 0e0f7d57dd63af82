// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "cradlewright/geom/mesh.hpp"

/// The general libraries we measure ourselves against; their headers stay in their own files.
namespace cradlewright::bench {

/// Loads a scan with Assimp the quicker way: facet normals dropped, then equal vertices joined. Returns the vertex
/// count. Errors: Error(io).
std::size_t import_with_assimp(const std::string& path);

/// Loads a scan with CGAL as triangle soup, joins equal points, drops what is degenerate, turns the faces one way.
/// Returns the point count. Errors: Error(io).
std::size_t mend_with_cgal(const std::string& path);

/// CGAL's slicer with its tree.
struct SlicerRun {
    double tree_s = 0, slices_s = 0;
    double length_mm = 0;  ///< of all sections together, to see that the same work was done
};
/// Cuts square to X at each of `stations`. Building the Surface_mesh itself is not counted.
SlicerRun slice_with_cgal(const TriMesh& mesh, const std::vector<double>& stations);

}  // namespace cradlewright::bench
