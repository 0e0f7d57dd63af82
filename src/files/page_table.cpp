// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/page_table.hpp"

#include <cmath>

#include "files/markup.hpp"
#include "files/page_pictures.hpp"

namespace cradlewright {

void Table::row(const std::vector<std::string>& cells) {
    body_ += "<tr>";
    for (std::size_t i = 0; i < cells.size(); ++i) {
        const std::string css = columns_[i].cell == Cell::number ? " class=\"n\""
                                : columns_[i].cell == Cell::id   ? " class=\"id\""
                                                                 : "";
        body_ += i == 0 ? "<th scope=\"row\"" + css + ">" + cells[i] + "</th>" : "<td" + css + ">" + cells[i] + "</td>";
    }
    body_ += "</tr>\n";
}

std::string Table::html() const {
    if (body_.empty()) return "";
    std::string head;
    for (const Column& column : columns_)
        head += std::string("<th scope=\"col\"") + (column.cell == Cell::number ? " class=\"n\">" : ">") +
                escape_markup(column.head) + "</th>";
    const std::string caption = escape_markup(caption_);
    return "<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"" + caption + "\"><table><caption>" +
           caption + "</caption><thead><tr>" + head + "</tr></thead><tbody>\n" + body_ + "</tbody></table></div>\n";
}

std::string length_cell(double mm, int decimals, UnitSystem units) {
    if (units == UnitSystem::metric && std::isfinite(mm)) return short_number(mm, decimals) + " mm";
    return escape_markup(format_quantity(Quantity::of(Length::mm(mm)), units));
}

}  // namespace cradlewright
