// SPDX-License-Identifier: GPL-3.0-or-later
#include "output/sheet_grid.hpp"

#include <algorithm>
#include <bit>
#include <cmath>

#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

/// What reaches less into a cell than this only touches it: above the rounding of offsets, far below a saw's width.
constexpr double border = 1e-4;  // of a cell

struct Stretch {
    double low = 0, high = 0;
};

int cell_above(double at) { return static_cast<int>(std::floor(at + border)); }
int cell_below(double at) { return static_cast<int>(std::ceil(at - border)) - 1; }

/// Sorted runs with those that touch or overlap made one.
std::vector<CellRun> merged(std::vector<CellRun> runs) {
    std::sort(runs.begin(), runs.end(), [](const CellRun& a, const CellRun& b) { return a.low < b.low; });
    std::vector<CellRun> result;
    for (const CellRun& run : runs) {
        if (!result.empty() && run.low <= result.back().high + 1) {
            result.back().high = std::max(result.back().high, run.high);
        } else {
            result.push_back(run);
        }
    }
    return result;
}

/// What lies inside along one upright line, by non-zero winding.
void add_inside(std::vector<std::pair<double, int>>& crossings, std::vector<CellRun>& runs) {
    std::sort(crossings.begin(), crossings.end());
    int winding = 0;
    double from = 0;
    for (const auto& [y, turn] : crossings) {
        if (winding == 0) from = y;
        winding += turn;
        if (winding == 0 && cell_below(y) >= cell_above(from)) runs.push_back({cell_above(from), cell_below(y)});
    }
}

/// The piece of an edge, in cells, that lies over columns [column, column + 1].
Stretch over_column(Vec2 a, Vec2 b, int column) {
    const auto height_at = [&](double x) { return a.y + (b.y - a.y) * ((x - a.x) / (b.x - a.x)); };
    const double left = std::max<double>(column, a.x), right = std::min<double>(column + 1, b.x);
    const double at_left = a.x < b.x ? height_at(left) : a.y, at_right = a.x < b.x ? height_at(right) : b.y;
    return {std::min(at_left, at_right), std::max(at_left, at_right)};
}

}  // namespace

CellCover cover(const Polygons& shape, double cell_mm) {
    CRADLEWRIGHT_PRECONDITION(cell_mm > 0);
    Box2 box;
    for (const auto& loop : shape) {
        for (const Vec2 p : loop) box.add(p * (1 / cell_mm));
    }
    CellCover result;
    if (box.is_empty()) return result;
    result.first_column = cell_above(box.low.x);
    const int count = std::max(cell_below(box.high.x) - result.first_column + 1, 0);
    result.columns.resize(static_cast<std::size_t>(count));
    std::vector<std::vector<std::pair<double, int>>> crossings(result.columns.size());
    for (const auto& loop : shape) {
        for (std::size_t i = 0; i < loop.size(); ++i) {
            Vec2 a = loop[i] * (1 / cell_mm), b = loop[(i + 1) % loop.size()] * (1 / cell_mm);
            const int turn = a.x < b.x ? 1 : -1;
            if (b.x < a.x) std::swap(a, b);
            for (int c = std::max(cell_above(a.x), result.first_column);
                 c <= std::min(cell_below(b.x), result.first_column + count - 1); ++c) {
                const auto k = static_cast<std::size_t>(c - result.first_column);
                const Stretch edge = over_column(a, b, c);
                const CellRun run{cell_above(edge.low), cell_below(edge.high)};
                if (run.low <= run.high) result.columns[k].push_back(run);
                const double middle = c + 0.5;
                if (a.x <= middle && middle < b.x)
                    crossings[k].emplace_back(a.y + (b.y - a.y) * ((middle - a.x) / (b.x - a.x)), turn);
            }
        }
    }
    for (std::size_t k = 0; k < result.columns.size(); ++k) {
        add_inside(crossings[k], result.columns[k]);
        result.columns[k] = merged(std::move(result.columns[k]));
    }
    return result;
}

SheetGrid::SheetGrid(int columns, int rows)
    : columns_(columns),
      rows_(rows),
      words_(rows / word_bits + 1),
      taken_(static_cast<std::size_t>(columns) * static_cast<std::size_t>(words_)) {}

int SheetGrid::last_taken(int column, int low, int high) const {
    if (column < 0 || column >= columns_) return -1;
    low = std::max(low, 0);
    high = std::min(high, rows_ - 1);
    const std::size_t base = static_cast<std::size_t>(column) * static_cast<std::size_t>(words_);
    for (int word = high / word_bits; high >= low && word >= low / word_bits; --word) {
        std::uint64_t bits = taken_[base + static_cast<std::size_t>(word)];
        const int top = high - word * word_bits, bottom = low - word * word_bits;
        if (top < word_bits - 1) bits &= (std::uint64_t{1} << (top + 1)) - 1;
        if (bottom > 0) bits &= ~((std::uint64_t{1} << bottom) - 1);
        if (bits != 0) return word * word_bits + (word_bits - 1 - std::countl_zero(bits));
    }
    return -1;
}

int SheetGrid::free_row(const CellCover& cells, int column, int rows) const {
    int row = 0;
    bool is_clear = false;
    while (!is_clear && row <= rows) {
        is_clear = true;
        for (std::size_t k = 0; k < cells.columns.size() && is_clear; ++k) {
            for (const CellRun& run : cells.columns[k]) {
                const int taken =
                    last_taken(column + cells.first_column + static_cast<int>(k), row + run.low, row + run.high);
                if (taken < 0) continue;
                row = taken + 1 - run.low;  // any row before it still covers that cell
                is_clear = false;
                break;
            }
        }
    }
    return is_clear && row <= rows ? row : -1;
}

std::optional<std::pair<int, int>> SheetGrid::find_room(const CellCover& cells, int columns, int rows) const {
    for (int column = 0; column <= columns; ++column) {
        if (const int row = free_row(cells, column, rows); row >= 0) return std::pair(column, row);
    }
    return std::nullopt;
}

void SheetGrid::take(const CellCover& cells, int column, int row) {
    for (std::size_t k = 0; k < cells.columns.size(); ++k) {
        const int c = column + cells.first_column + static_cast<int>(k);
        if (c < 0 || c >= columns_) continue;
        for (const CellRun& run : cells.columns[k]) {
            for (int r = std::max(run.low + row, 0); r <= std::min(run.high + row, rows_ - 1); ++r) {
                taken_[static_cast<std::size_t>(c) * static_cast<std::size_t>(words_) +
                       static_cast<std::size_t>(r / word_bits)] |= std::uint64_t{1} << (r % word_bits);
            }
        }
    }
}

}  // namespace cradlewright
