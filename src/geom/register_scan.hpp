// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <utility>

#include "cradlewright/geom/frame.hpp"
#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// The rigid motion that carries the second point of each pair nearest to the first, least squares, never a mirror
/// image. Precondition: three pairs or more. Source: W. Kabsch, "A solution for the best rotation to relate two sets of
/// vectors" (1976). Returns the motion as local -> parent and, in `rms_mm`, what is left between the pairs.
struct PairFit {
    Frame3 motion;
    double rms_mm = 0;
    /// Spread of the points square to their best line; next to nothing means the turn about that line is open.
    double spread_mm = 0;
};
PairFit fit_pairs(std::span<const std::pair<Vec3, Vec3>> pairs);

struct Registration {
    Frame3 motion;           ///< second scan -> first scan
    double residual_mm = 0;  ///< root mean square distance of the overlap, along the normals
    double overlap = 0;      ///< share of the second scan's samples that lie on the first
    std::size_t samples = 0;
    int rounds = 0;
    bool slides = false;  ///< the overlap leaves some motion open (a plain barrel, a flat); the start decided it
};

/// Fits the second scan to the first from a start, point to plane: samples of the second against the nearest faces of
/// the first that look the same way, beyond `reach_mm` left out at first and beyond 3 times the median later. Both
/// oriented. Motions that the overlap does not fix stay as the start has them. Without an overlap the start comes back
/// with overlap 0. Source: Y. Chen, G. Medioni, "Object modelling by registration of multiple range images" (1992).
/// Cost: O(F) for the index, then up to 60 rounds of at most 5000 samples.
Registration register_scan(const TriMesh& first, const TriMesh& second, const Frame3& start, double reach_mm);

/// Only looks how well the second scan, moved so, lies on the first.
Registration compare_scans(const TriMesh& first, const TriMesh& second, const Frame3& motion, double reach_mm);

}  // namespace cradlewright
