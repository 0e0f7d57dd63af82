// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "cradlewright/geom/region_ops.hpp"

namespace cradlewright {

/// Consecutive cells of one column of a grid, both ends included.
struct CellRun {
    int low = 0, high = 0;
};

/// Every cell that a shape touches, column by column from the low corner of its box; runs of a column are apart and
/// rise. A shape that only touches a cell's border from outside does not take that cell.
struct CellCover {
    int first_column = 0;  ///< of columns[0], counted from the cell whose low corner is the origin
    std::vector<std::vector<CellRun>> columns;
};

/// Cells of `cell_mm` that the solid of `shape` touches. Conservative: what no cell covers is no part of the shape.
/// Precondition: finite. Cost: O(edges x columns they cross).
CellCover cover(const Polygons& shape, double cell_mm);

/// Which cells of a sheet are taken. Cell (0, 0) has its low corner at the low corner of the room for parts.
class SheetGrid {
public:
    SheetGrid(int columns, int rows);

    /// The first column, then row, where every cell of `cells` falls on a free one and its box stays inside `columns` x
    /// `rows` of room, both counted in steps from 0. Cells beyond the sheet count as free: the caller's box decides.
    [[nodiscard]] std::optional<std::pair<int, int>> find_room(const CellCover& cells, int columns, int rows) const;
    void take(const CellCover& cells, int column, int row);  ///< what falls beside the sheet is cut off

private:
    static constexpr int word_bits = 64;
    /// Highest taken cell of column within [low, high], or -1.
    [[nodiscard]] int last_taken(int column, int low, int high) const;
    /// The least row from `row` on that clears all of `cells` at `column`, at most `rows`; -1 when there is none.
    [[nodiscard]] int free_row(const CellCover& cells, int column, int rows) const;

    int columns_, rows_, words_;
    std::vector<std::uint64_t> taken_;  ///< column after column, a bit a cell
};

}  // namespace cradlewright
