// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/files/write_sweep.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "files/markup.hpp"
#include "files/sweep_chart.hpp"

namespace cradlewright {
namespace {

using Json = nlohmann::ordered_json;

Json number(double value) { return std::isfinite(value) ? Json(value) : Json(nullptr); }

Json half_json(const SweepHalf& half) {
    return {{"draft_deg", number(half.draft_deg)},
            {"low_band_mm", number(half.low_band_mm)},
            {"undercut_depth_mm", number(half.undercut_mm)},
            {"undercut_area_mm2", number(half.undercut_area_mm2)}};
}

Json row_json(const SweepRow& row) {
    Json json{{"tilt_deg", Angle::rad(row.tilt_rad).deg()},
              {"told", row.is_told},
              {"has_line", row.has_line},
              {"height_mm", number(row.height_mm)}};
    if (!row.has_line) {
        json["reason"] = row.reason;
        return json;
    }
    json["half1"] = half_json(row.half[0]);
    json["half2"] = half_json(row.half[1]);
    json["slide_demand_deg"] = number(Angle::rad(row.standing.slide_rad).deg());
    json["stop_force_n"] = number(row.stop_force_n);
    json["tip_deg"] = number(Angle::rad(row.standing.tip_rad).deg());
    json["access"] = Json::array();
    for (const EdgeAccess& a : row.access)
        json["access"].push_back({{"edge", a.edge}, {"half1", number(a.share[0])}, {"half2", number(a.share[1])}});
    json["failing"] = row.failing ? Json(*row.failing) : Json(nullptr);
    return json;
}

}  // namespace

std::string sweep_json(const Sweep& sweep) {
    Json rows = Json::array();
    for (const SweepRow& row : sweep.rows) rows.push_back(row_json(row));
    const Json json{
        {"schema", "cradlewright-sweep-1"},
        {"recommended_tilt_deg", sweep.best ? Json(Angle::rad(sweep.rows[*sweep.best].tilt_rad).deg()) : Json(nullptr)},
        {"reason", sweep.reason},
        {"note", sweep.note},
        {"rows", std::move(rows)}};
    return json.dump(2) + "\n";
}

std::string sweep_chart_svg(const Sweep& sweep, UnitSystem units) {
    const Picture chart = draw_sweep(sweep, units);
    const std::string width = fixed(chart.width, 1), height = fixed(chart.height, 1);
    return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"" + width +
           "\" height=\"" + height + "\" viewBox=\"0 0 " + width + ' ' + height +
           "\" font-family=\"sans-serif\" font-size=\"12\">\n<title>" + escape_markup(chart.title) +
           "</title>\n<desc>" + escape_markup(chart.description) +
           "</desc>\n<style>.tilt-grid{stroke:#d8d8d8}.tilt-told{stroke:#555;stroke-dasharray:3 "
           "3}.tilt-best{stroke:#000;"
           "stroke-width:1.5}.tilt-curve{fill:none;stroke-width:2;stroke-linejoin:round}.tilt-head{font-weight:bold}"
           ".tilt-tick{fill:#444;font-size:11px}</style>\n<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n" +
           chart.body + "</svg>\n";
}

}  // namespace cradlewright
