// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

struct Decimated {
    TriMesh mesh;             ///< openings and origins left out
    double deviation_mm = 0;  ///< see surface_deviation
};

/// Fewer triangles whose surface stays within `deviation_mm` of the given one, both ways, as surface_deviation measures
/// it: edges are collapsed in the order of their quadric error; the error at which to stop is halved in steps until the
/// measure holds. The mesh itself comes back when nothing can go. Precondition: oriented, manifold, deviation_mm > 0.
/// Cost: O(F log F) a trial, at most 8 trials: seconds for a hundred thousand triangles, so only when told.
/// Source: M. Garland, P. Heckbert, "Surface simplification using quadric error metrics" (1997); CGAL's.
Decimated decimate(const TriMesh& mesh, double deviation_mm);

/// The largest distance of a vertex, edge middle or face middle of either surface from the other.
double surface_deviation(const TriMesh& a, const TriMesh& b);

}  // namespace cradlewright
