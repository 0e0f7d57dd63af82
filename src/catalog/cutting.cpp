// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/catalog/cutting.hpp"

#include <algorithm>
#include <vector>

namespace cradlewright {
namespace {

std::vector<CuttingRow> make_rows() {
    // Light machines: the lower end of what makers of small carbide cutters print. Plastics turn slower, so that the
    // chip takes the heat away before the wall melts.
    const Source wood =
        Source::common_practice("wood and boards, two edges of carbide: 0.05 to 0.12 mm a tooth at 6 mm");
    const Source plastic = Source::common_practice("plastics, slow and thick-chipped: 0.05 to 0.15 mm a tooth at 6 mm");
    const Source foam = Source::common_practice("foam cuts as fast as the machine runs smoothly");
    return {
        {"birch-plywood", 0.010, 16000, 0.5, wood}, {"softwood-plywood", 0.012, 16000, 0.5, wood},
        {"hardboard", 0.010, 16000, 0.5, wood},     {"mdf", 0.012, 16000, 0.5, wood},
        {"pine", 0.012, 16000, 0.5, wood},          {"rigid-pvc", 0.010, 12000, 0.4, plastic},
        {"acrylic", 0.010, 12000, 0.3, plastic},    {"polypropylene", 0.014, 12000, 0.4, plastic},
        {"hdpe", 0.014, 12000, 0.4, plastic},       {"xps-foam", 0.020, 12000, 1.5, foam},
        {"pu-foam", 0.020, 12000, 1.5, foam},
    };
}

double chip_area(const CuttingRow& row) { return row.tooth_per_diameter * row.speed_rpm * row.depth_per_diameter; }

const CuttingRow& row_for(std::string_view material) {
    const auto rows = cutting_rows();
    const auto found =
        std::find_if(rows.begin(), rows.end(), [&](const CuttingRow& r) { return r.material == material; });
    if (found != rows.end()) return *found;
    return *std::min_element(rows.begin(), rows.end(),
                             [](const CuttingRow& a, const CuttingRow& b) { return chip_area(a) < chip_area(b); });
}

}  // namespace

std::span<const CuttingRow> cutting_rows() {
    static const std::vector<CuttingRow> rows = make_rows();
    return rows;
}

CuttingValues cutting_values(const RouterOptions& options, std::string_view material) {
    constexpr double plunge_share = 1.0 / 3;  // of the feed; source: common practice
    const CuttingRow& row = row_for(material);
    const double diameter = options.cutter.mm();
    CuttingValues values;
    values.source = row.source;
    values.speed_rpm = options.speed_rpm > 0 ? options.speed_rpm : row.speed_rpm;
    values.feed_mm_min = options.feed_mm_min > 0
                             ? options.feed_mm_min
                             : row.tooth_per_diameter * diameter * options.flutes * values.speed_rpm;
    values.plunge_mm_min = std::min(
        options.plunge_mm_min > 0 ? options.plunge_mm_min : plunge_share * values.feed_mm_min, values.feed_mm_min);
    values.pass_depth_mm = options.pass_depth.mm() > 0 ? options.pass_depth.mm() : row.depth_per_diameter * diameter;
    return values;
}

StockRoom room_on(const Settings& settings, const Stock& stock) {
    constexpr double widest_strip_mm = 100, template_gap_mm = 8, web_mm = 4;
    const bool is_strip = stock.width_mm <= widest_strip_mm;
    StockRoom room{stock.margin_mm, is_strip ? 0 : stock.margin_mm, template_gap_mm};
    if (settings.cut_by == CutMethod::saw) room.gap_mm = settings.saw.kerf.mm() + 2 * settings.saw.spare.mm();
    if (settings.cut_by == CutMethod::router && !is_strip) {
        const double cutter = settings.router.cutter.mm();
        room.gap_mm = 2 * cutter + web_mm;
        room.end_mm = room.side_mm = std::max(stock.margin_mm, cutter + web_mm);
    }
    return room;
}

double share_of_sheet(const Settings& settings, const Stock& stock, Vec2 box_mm) {
    const StockRoom room = room_on(settings, stock);
    const double length = stock.length_mm - 2 * room.end_mm, width = stock.width_mm - 2 * room.side_mm;
    return std::min(std::max(box_mm.x / length, box_mm.y / width), std::max(box_mm.y / length, box_mm.x / width));
}

}  // namespace cradlewright
