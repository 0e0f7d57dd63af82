// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "cradlewright/geom/frame.hpp"
#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// One coarse clean mesh out of many pieces of surface, large or fine, that need not be joined: points within a cell
/// become one vertex, their mean, so noise is averaged out and cracks narrower than a cell close.
/// Source: J. Rossignac, P. Borrel, "Multi-resolution 3D approximations for rendering complex scenes" (1993) [from
/// memory].
class SurfaceClusters {
public:
    /// Precondition: cell_mm > 0.
    explicit SurfaceClusters(double cell_mm);
    /// Adds the faces for which `takes` holds, moved by `place`. Cost: O(V + F), one hash look-up a vertex used.
    void add(const TriMesh& mesh, const Frame3& place, const std::function<bool(FaceId)>& takes);
    void add(const std::array<Vec3, 3>& corners);
    /// A place on the rim: the vertex of its cell is the mean of such places alone, so that the rim does not shrink.
    void pin(Vec3 place);

    struct Result {
        TriMesh mesh;             ///< largest shell; small holes closed; each edge with at most two faces
        double deviation_mm = 0;  ///< largest distance from it of a sample of the points added
    };
    /// The mesh, its normals on the side of `up` on the whole. Cells closer together than half their size are merged
    /// first. Errors: Error(bad_input, place) when nothing is left. Cost: O(clusters log clusters).
    [[nodiscard]] Result finish(Vec3 up, const std::string& place) const;

private:
    struct Cluster {
        std::array<std::int32_t, 3> at;
        Vec3 sum, pinned;
        std::uint32_t count = 0, pins = 0;
        [[nodiscard]] Vec3 place() const { return pins > 0 ? pinned / pins : sum / count; }
    };
    std::uint32_t cluster_of(Vec3 p);
    void grow();
    void add_face(std::uint32_t a, std::uint32_t b, std::uint32_t c);
    [[nodiscard]] std::vector<std::uint32_t> merged() const;

    double cell_mm_;
    std::vector<Cluster> clusters_;
    std::vector<std::uint32_t> slots_;  // open addressing, indices into clusters_
    std::vector<Triangle> faces_;
    std::vector<Vec3> samples_;
    std::size_t offered_ = 0, sample_step_ = 1;
};

}  // namespace cradlewright
