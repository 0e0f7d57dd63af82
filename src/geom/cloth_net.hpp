// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <unordered_map>
#include <vector>

#include "cradlewright/geom/mesh.hpp"
#include "cradlewright/geom/mesh_index.hpp"
#include "cradlewright/geom/region_ops.hpp"

namespace cradlewright {

/// A triangle mesh made ready for nets: nearest points, smooth normals, distance from its rim.
class NetSurface {
public:
    /// The mesh must outlive it. Precondition: oriented, each edge with at most two faces. Cost: O(F log F).
    explicit NetSurface(const TriMesh& mesh);
    struct Place {
        Vec3 at;      ///< on the mesh, nearest to what was asked for
        Vec3 normal;  ///< unit, of the vertices' means, blended over the face
        FaceId face = no_id;
        double off_mm = 0;
    };
    [[nodiscard]] Place nearest(Vec3 query) const;
    [[nodiscard]] const TriMesh& mesh() const { return *mesh_; }
    [[nodiscard]] const std::vector<FaceId>& adjacency() const { return adjacency_; }

private:
    const TriMesh* mesh_;
    MeshIndex index_;
    std::vector<Vec3> vertex_normal_;
    std::vector<FaceId> adjacency_;
};

struct NetOptions {
    Vec3 start, warp;  ///< where the net begins and along what its warp runs there; mesh frame
    double cell_mm = 0;
    double most_shear_rad = 1.4;  ///< the net does not grow from places sheared beyond this
    /// A face each: 1 where the net is wanted; it ends `rows_beyond` beyond. Empty = everywhere.
    std::span<const std::uint8_t> wanted{};
    int rows_beyond = 2;
    int first_i = std::numeric_limits<int>::min(), last_i = std::numeric_limits<int>::max();  ///< it has no others
    int most_nodes = 200000;
};

struct NetNode {
    int i = 0, j = 0;  ///< along warp and weft from the start
    Vec3 at, normal;
    FaceId face = no_id;
    double off_mm = 0;       ///< from the mesh: beyond its rim the net lies in the rim's tangent planes
    double inside_mm = 0;    ///< distance to the rim of the mesh or of what is wanted, negative beyond
    double shear_rad = 0;    ///< most of the cells round it
    double closing_rad = 0;  ///< raw signed shear of the cell that this node closed
    int steps_beyond = 0;    ///< 0 = on the mesh and wanted
    bool is_locked = false;
};
struct NetCell {
    std::size_t corner[4];  ///< nodes (i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)
    double shear_rad = 0;   ///< from the square, signed mean of the up to nine cells round it: one alone is noise
};

/// A woven cloth as a net of threads that neither stretch nor slip at their crossings. Flat frame: a node stands at
/// (i, j) cell_mm; seen from the side the normals point to, weft lies counter-clockwise of warp.
class ClothNet {
public:
    double cell_mm = 0;
    std::vector<NetNode> nodes;  ///< in the order they were laid
    std::vector<NetCell> cells;  ///< whose four sides are cell_mm long

    [[nodiscard]] const NetNode* find(int i, int j) const;
    /// Chains round the flat cells where the net is inside the rim and its shear below `most_shear_rad`, straight
    /// between threads. Out: as unite().
    [[nodiscard]] Polygons outline(double most_shear_rad) const;
    /// Most shear of a cell whose four corners lie inside and below `most_shear_rad`; cells.size() when there is none.
    [[nodiscard]] std::size_t worst_cell(double most_shear_rad) const;
    [[nodiscard]] Vec3 middle(const NetCell& cell) const;

private:
    friend ClothNet lay_net(const NetSurface& surface, const NetOptions& options);
    friend class NetLayer;
    std::unordered_map<std::uint64_t, std::size_t> by_place_;
};

/// Lays a net: warp and weft through the start as geodesics, then quadrant by quadrant each node where spheres of one
/// cell round its two neighbours meet the surface. Where a row ends inside the surface (it widens), threads go on
/// straight. Nothing grows out of a cell beyond most_shear_rad. Sides are chords: on a radius r a thread comes out
/// short by cell^2 / (24 r^2) of its length. Round a closed body it
/// ends where it would lie on itself. Precondition: cell_mm > 0, warp not along the normal.
/// Cost: some five look-ups a node. Source: key "mack-taylor"; construction derived. See src/stages/layup.md.
ClothNet lay_net(const NetSurface& surface, const NetOptions& options);

/// Where points near the surface lie on the flat cloth, by the nearest node and its threads; empty further than 1.5
/// cells from every node. Cost: O(log nodes) a point.
std::vector<std::optional<Vec2>> on_cloth(const ClothNet& net, std::span<const Vec3> points);

}  // namespace cradlewright
