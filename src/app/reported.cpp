// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/reported.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"

namespace cradlewright::app {

namespace {

using Json = nlohmann::json;

Json parse(const std::filesystem::path& path) {
    std::ifstream file(path, std::ios::binary);
    std::error_code ignored;
    if (!file || std::filesystem::is_directory(path, ignored))
        throw Error(ErrorCode::bad_input, path.string(), "cannot be read", "name the report.json of a make run");
    Json report = Json::parse(file, nullptr, false);
    const bool is_ours = report.is_object() && report.value("schema", Json()) == "cradlewright-report-1" &&
                         report.contains("checks") && report["checks"].is_array();
    if (!is_ours)
        throw Error(ErrorCode::bad_input, path.string(), "is no report of schema cradlewright-report-1",
                    "name the report.json of a make run");
    return report;
}

std::string text_of(const Json& entry, const char* key) {
    const auto found = entry.find(key);
    return found != entry.end() && found->is_string() ? found->get<std::string>() : std::string();
}

/// Three significant digits, but never more than six places.
std::string three_digits(double value) {
    const double size = std::abs(value);
    const int places = size > 0 ? 2 - static_cast<int>(std::floor(std::log10(size))) : 0;
    return fixed(value, std::clamp(places, 0, 6));
}

std::string number_of(const Json& entry, const char* key) {
    const auto found = entry.find(key);
    if (found == entry.end() || !found->is_number()) return "-";
    const std::string unit = text_of(entry, "unit");
    return three_digits(found->get<double>()) + (unit.empty() ? "" : " " + unit);
}

}  // namespace

std::vector<ReportedCheck> read_reported(const std::filesystem::path& report, const std::string& check) {
    std::vector<ReportedCheck> entries;
    const Json json = parse(report);
    for (const Json& entry : json["checks"]) {
        if (!entry.is_object() || text_of(entry, "id") != check) continue;
        entries.push_back({text_of(entry, "subject"), number_of(entry, "value"), number_of(entry, "low"),
                           number_of(entry, "high"), text_of(entry, "relation"), number_of(entry, "limit"),
                           text_of(entry, "verdict"), text_of(entry, "advice")});
    }
    return entries;
}

}  // namespace cradlewright::app
