// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "cradlewright/geom/frame.hpp"
#include "cradlewright/geom/mesh.hpp"

namespace cradlewright {

/// Faces sorted into the cells of a grid square to a direction, for exact questions along that direction.
/// Cost: build O(F + cells); a question O(faces over the cell). Questions may be asked in several threads.
class ColumnGrid {
public:
    /// In: `frame` in mesh coordinates, columns run along its z; `cell_mm` > 0, enlarged where it would make more than
    /// 2^23 cells; near the mean edge length is a good choice. `mesh` must outlive the grid.
    ColumnGrid(const TriMesh& mesh, const Frame3& frame, double cell_mm);

    /// Highest crossing of the column through local (x, y), as local z; -infinity when nothing is there. Exact in the
    /// sense that each face over the point is tested, not sampled; a point within rounding of a face's border belongs
    /// to it, so no column slips through a seam. Upright faces are answered for by their neighbours.
    [[nodiscard]] double top(Vec2 at) const;
    /// Lowest crossing; +infinity when nothing is there.
    [[nodiscard]] double bottom(Vec2 at) const;
    struct Cover {
        bool is_above = false, is_below = false;
    };
    /// Whether top(at) > high and whether bottom(at) < low, without looking for the highest and lowest.
    [[nodiscard]] Cover cover(Vec2 at, double low, double high) const;
    /// Appends the faces that cross the column strictly between local z `low` and `high`, in face order; where it
    /// passes along a border, each face of the border.
    void faces_between(Vec2 at, double low, double high, std::vector<FaceId>& faces) const;
    [[nodiscard]] const Frame3& frame() const { return frame_; }
    [[nodiscard]] double cell_mm() const { return cell_; }

private:
    /// A face over a cell. The range holds the local z of its corners, so that most faces are passed over unseen.
    struct Entry {
        FaceId face;
        float low, high;
    };
    [[nodiscard]] Entry entry_of(FaceId f) const;
    [[nodiscard]] std::span<const Entry> entries_at(Vec2 at) const;
    template <class Wanted, class Visit>
    void visit(Vec2 at, Wanted&& may_matter, Visit&& use) const;

    const TriMesh* mesh_;
    Frame3 frame_;
    double cell_;
    Vec2 low_;
    double rounding_ = 0;  // points nearer to a face than this are over it
    std::size_t columns_ = 0, rows_ = 0;
    std::vector<Vec3> local_;           // vertices in the frame
    std::vector<std::uint32_t> start_;  // of each cell, in entries_
    std::vector<Entry> entries_;
};

}  // namespace cradlewright
