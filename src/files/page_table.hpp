// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "cradlewright/base/units.hpp"

/// \file Tables of report.html and what stands in their cells.
namespace cradlewright {

enum class Cell { text, number, id };
/// Heads are copied: a table may outlive the text they were made of.
struct Column {
    std::string head;
    Cell cell = Cell::text;
};

/// A table that scrolls by itself on narrow screens. Cells hold finished HTML; the first one heads its row.
class Table {
public:
    Table(std::string_view caption, std::vector<Column> columns) : caption_(caption), columns_(std::move(columns)) {}

    void row(const std::vector<std::string>& cells);
    /// Empty without rows.
    [[nodiscard]] std::string html() const;

private:
    std::string caption_;
    std::vector<Column> columns_;
    std::string body_;
};

/// A length for a cell: metric to a stated place, the same all down a column; inches as fractions.
std::string length_cell(double mm, int decimals, UnitSystem units);

}  // namespace cradlewright
