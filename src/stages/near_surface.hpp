// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// The part of a mesh near given anchor points, sorted into cells, for many short-range questions. Where a tree has to
/// sort the faces first, cells cost one pass, which on a large scan is most of the work (figures in bead.md). Mesh
/// coordinates, mm. `mesh` must outlive it. Cost: build O(F + anchors + cells), question O(cells and faces in range).
class NearSurface {
public:
    /// Answers within `reach_mm` of an anchor are exact; whoever asks passes the distance up to which that holds.
    /// Precondition: reach_mm > 0.
    NearSurface(const TriMesh& mesh, std::span<const Vec3> anchors, double reach_mm);

    struct Nearest {
        FaceId face = no_id;  ///< no_id: nothing nearer than `distance_mm`, which is then the range asked for
        Vec3 point;
        double distance_mm = 0;
        bool is_outside = true;  ///< the query lies on the outer side of the surface
    };
    /// Nearest point no further than `range_mm`. `hint` is a face that may be near, from an earlier answer.
    /// Guarantees: independent of the order of faces up to ties between points; a query nearest to an edge or vertex
    /// takes its side from the face it sees most squarely, which is right also at sharp edges.
    [[nodiscard]] Nearest nearest(Vec3 query, double range_mm, FaceId hint = no_id) const;
    /// Distance to the first crossing of a ray, up to `range_mm`; empty when there is none. Precondition: unit
    /// direction.
    [[nodiscard]] std::optional<double> first_hit(Vec3 origin, Vec3 direction, double range_mm) const;
    /// Sets the flag, one a face of the mesh, of every sorted face whose centre lies within `radius_mm` of a point.
    void flag_within(Vec3 center, double radius_mm, std::vector<std::uint8_t>& flags) const;
    [[nodiscard]] bool is_empty() const { return faces_.empty(); }

private:
    using Cell = std::array<int, 3>;
    /// First and last cell of a box, clipped to the grid; empty when it lies outside.
    struct Range {
        Cell low{}, high{};
        bool is_empty = true;
    };

    /// A ball round a face, relative to box_.low; rounding is in the radius.
    struct Ball {
        float x, y, z, radius;
    };

    void size_grid(std::span<const Vec3> anchors, double reach_mm);
    void mark(std::span<const Vec3> anchors, double reach_mm, std::vector<std::uint8_t>& is_wanted) const;
    void sort_faces(const std::vector<std::uint8_t>& is_wanted);
    void set_balls();
    [[nodiscard]] Range range_of(const Box3& box) const;
    [[nodiscard]] int cell_along(double coordinate, double low) const;
    [[nodiscard]] std::size_t index(int x, int y, int z) const;
    [[nodiscard]] Vec3 center_of(int x, int y, int z) const;
    template <class Use>
    void each_cell(const Range& range, Use&& use) const;
    [[nodiscard]] bool is_vacant(std::size_t cell) const { return start_[cell] == start_[cell + 1]; }
    void search_cell(Nearest& best, Vec3 query, std::size_t cell) const;
    void improve(Nearest& best, Vec3 query, FaceId face) const;

    const TriMesh& mesh_;
    Box3 box_;
    double cell_ = 1;
    Cell count_{1, 1, 1};
    std::vector<std::uint32_t> start_;  ///< of each cell in faces_
    std::vector<FaceId> faces_;
    std::vector<Ball> balls_;  ///< of faces_: most are ruled out without a look at the mesh
};

}  // namespace cradlewright
