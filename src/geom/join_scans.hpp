// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

struct JoinedScans {
    TriMesh mesh;                 ///< first, what the second adds, bridges (`patched`)
    double overlap = 0;           ///< share of the second scan's area that lay on the first and was left out
    double widest_bridge_mm = 0;  ///< between rims that did not touch
    std::size_t seams = 0;        ///< rims that were joined
};

struct JoinOptions {
    double overlap_mm = 0;  ///< the second scan's faces within this of the first, looking the same way, are the same
    double bridge_mm = 0;   ///< widest gap between rims that is bridged
};

/// Makes one surface of two scans of the same plug in one frame. Where both show the plug the first one counts; each
/// rim of the first is joined by a strip of triangles to the nearest rim of what is left of the second.
/// In: both mended, openings left open. Errors: Error(bad_input, place) when the first has no opening, when the second
/// adds nothing, or when their rims lie further apart than bridge_mm everywhere; with the gap and its place.
/// Rims without a partner stay open. Cost: O(F log F) in the overlap, and see zip_loops.
JoinedScans join_scans(const TriMesh& first, const TriMesh& second, const JoinOptions& options,
                       const std::string& place);

}  // namespace cradlewright
