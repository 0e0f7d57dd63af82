// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// One vertex held against the quadratic surface through it and its two rings; see estimate_noise.
struct NoiseSample {
    VertexId vertex = 0;
    double size = 0;      ///< distance from the surface over what unit noise would give; its median over many, times
                          ///< 1.4826, is their noise
    double bend = 0;      ///< squared curvature of the fitted surface times the squared radius of the rings
    bool is_flat = true;  ///< no face leans over 40 deg from the vertex normal
};

/// Of every k-th vertex, at most 20000, those that have whole rings. Cost: as estimate_noise.
std::vector<NoiseSample> noise_samples(const TriMesh& mesh);

}  // namespace cradlewright
