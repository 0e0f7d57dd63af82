// SPDX-License-Identifier: GPL-3.0-or-later
// Source: Y. Shafranovich, RFC 4180 (2005), "Common Format and MIME Type for CSV Files".
#include <algorithm>
#include <map>
#include <string>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"
#include "cradlewright/files/write_report.hpp"

namespace cradlewright {

namespace {

std::string quoted(std::string_view text) {
    if (text.find_first_of(",\"\r\n") == std::string_view::npos) return std::string(text);
    std::string result = "\"";
    for (const char c : text) result += c == '"' ? std::string("\"\"") : std::string(1, c);
    return result + '"';
}

double cut_length(const Loop& loop, CutKind cut) {
    double length = 0;
    for (std::size_t i = 0, n = loop.vertices.size(); i < n; ++i) {
        const PathVertex& v = loop.vertices[i];
        if (v.cut == cut) length += edge_length(v.at, loop.vertices[(i + 1) % n].at, v.bulge);
    }
    return length;
}

double cut_length(const Region& region, CutKind cut) {
    double length = cut_length(region.outer, cut);
    for (const Loop& hole : region.holes) length += cut_length(hole, cut);
    return length;
}

/// "birch-ply-9-1", "too large", or nothing when the part was not laid out.
std::string sheet_of(const PlatePart& part, const Layout& layout) {
    for (const Sheet& sheet : layout.sheets) {
        for (const Placement& placement : sheet.placements) {
            if (placement.part == part.id) return sheet.stock + '-' + std::to_string(sheet.number);
        }
    }
    const bool is_too_large =
        std::find(layout.too_large.begin(), layout.too_large.end(), part.id) != layout.too_large.end();
    return is_too_large ? "too large" : "";
}

std::string line_of(const PlatePart& part, const Layout& layout) {
    const Vec2 size = bounding_box(part.outline).size();
    const std::string cells[] = {
        quoted(part.id),
        std::string(part_kind_name(part.kind)),
        quoted(part.stock),
        fixed(part.thickness_mm, 2),
        fixed(std::max(size.x, size.y), 1),
        fixed(std::min(size.x, size.y), 1),
        fixed(area_of(part.outline), 0),
        fixed(cut_length(part.outline, CutKind::fit), 1),
        fixed(cut_length(part.outline, CutKind::rough), 1),
        quoted(sheet_of(part, layout)),
        quoted(part.note),
    };
    std::string line;
    for (const std::string& cell : cells) line += (line.empty() ? "" : ",") + cell;
    return line + '\n';
}

}  // namespace

std::string cutlist_csv(const ReportInput& input) {
    CRADLEWRIGHT_PRECONDITION(input.design != nullptr && input.layout != nullptr);
    std::string text = "part,kind,stock,thickness_mm,length_mm,width_mm,area_mm2,cut_fit_mm,cut_rough_mm,sheet,note\n";
    for (const PlatePart* part : all_parts(*input.design)) text += line_of(*part, *input.layout);
    return text;
}

std::string shopping_csv(const ReportInput& input) {
    CRADLEWRIGHT_PRECONDITION(input.design != nullptr && input.layout != nullptr);
    std::string text = "item,use,amount,unit,cost\n";
    for (const KitLine& line : input.design->layup.kit.lines)
        text += quoted(line.item) + ',' + quoted(line.use) + ',' + fixed(line.amount, 3) + ',' + line.unit + ',' +
                (line.cost > 0 ? fixed(line.cost, 2) : "") + '\n';
    std::map<std::string, int> count;
    for (const Sheet& sheet : input.layout->sheets)
        if (!sheet.is_offcut)
            ++count[sheet.stock + ',' + fixed(sheet.length_mm, 0) + " x " + fixed(sheet.width_mm, 0) + " mm"];
    for (const auto& [item, number] : count) text += item + ',' + std::to_string(number) + ",pieces,\n";
    return text;
}

}  // namespace cradlewright
