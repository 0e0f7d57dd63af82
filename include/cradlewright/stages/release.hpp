// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "cradlewright/stages/parting.hpp"

namespace cradlewright {

/// A connected place of one half that the mould cannot leave.
struct LockedPatch {
    std::size_t face_count = 0;
    double area_mm2 = 0;
    double depth_mm = 0;  ///< largest shift square to the pull needed to clear
    Vec3 at;              ///< deepest place, fixture frame
};

struct HalfRelease {
    /// Draft at the quantile of ReleaseOptions, by area: on all of the half's plug surface as measure_release leaves
    /// it, on the moulded part of that once leave_out_hidden has been called. NaN when nothing was measured.
    double draft_p01_deg = 0;
    std::optional<Vec3> draft_at;  ///< a place with that draft, fixture; set by leave_out_hidden
    double low_band_mm = 0;  ///< mean width of the strip with draft below `good_draft` that touches the other half
    double undercut_area_mm2 = 0;  ///< faces that turn away from the half's pull
    double locked_area_mm2 = 0;    ///< faces of the half covered by other faces along its pull
    double undercut_depth_mm = 0;
    std::vector<LockedPatch> patches;  ///< largest area first
    double area_mm2 = 0;
};

/// A direction in which so little of a half faces that its best pull was found without it.
struct LeftOutFacing {
    Vec3 normal_plug;
    double area_mm2 = 0;
    double draft_deg = 0;  ///< toward the best pull
};

/// The pull of one half with the largest least draft of its faces, wherever they lie.
struct HalfPull {
    Vec3 direction_plug{};
    double draft_deg = 0;  ///< that least draft; negative: no pull frees every face
    bool is_feasible = false;
    double told_draft_deg = 0;  ///< least draft of the same facings along the half's pull as it is
    /// Facings left out that have less draft than draft_deg, worst first.
    std::vector<LeftOutFacing> left_out;
};

struct Release {
    HalfRelease half1, half2;
    HalfPull best1, best2;          ///< without regard to beads; zero for a half without measured faces
    std::vector<float> draft_rad;   ///< per face, asin(n.pull), signed toward half 1
    std::vector<float> draft2_rad;  ///< per face, asin(n . -(pull 2)); empty where the pulls are opposite
    /// Toward the half's own pull, signed toward half 1 for either.
    [[nodiscard]] const std::vector<float>& draft_of(int half) const {
        return half == 2 && !draft2_rad.empty() ? draft2_rad : draft_rad;
    }
};

/// Draft, undercut and lock of both halves about the given parting line, each along its own pull.
/// Cost: O(F). Accurate to the cell of the column grid (see locked depth).
Release measure_release(const PosedPlug& posed, const ReleaseMap& map, const Parting& parting,
                        const ReleaseOptions& options);

/// Measures undercut, lock and patches of both halves anew without the faces, sorted, that beads hide from each: clay
/// lies over them, so no mould takes their shape. Cost: O(F) where such a face is undercut or locked, else O(hidden).
void leave_out_undercut(const PosedPlug& posed, const ReleaseMap& map, const Parting& parting,
                        const ReleaseOptions& options, const std::vector<FaceId>& hidden1,
                        const std::vector<FaceId>& hidden2, Release& release);

/// Direction that maximises the least n.d over weighted unit normals, and that least value.
/// Exact but for rounding: the smallest cap of the sphere that holds them, grown point by point over at most three
/// supports; when they fit in no open half-space, the widest cap that holds none, by the hull of the normals, with a
/// value <= 0. Cost: O(n) expected; O(n h) with h facets of the hull when infeasible. Source: derived; E. Welzl (1991)
/// for the incremental form [from memory].
struct BestPull {
    Vec3 direction;
    double least_dot = -1;
    bool is_feasible = false;
};
BestPull best_pull(const std::vector<Vec3>& normals);

}  // namespace cradlewright
