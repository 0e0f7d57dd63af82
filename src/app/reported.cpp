// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/reported.hpp"

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

/// Dimension whose unit in reports is `unit`; a ratio where none is.
Dimension dimension_of(std::string_view unit) {
    for (int d = static_cast<int>(Dimension::ratio); d <= static_cast<int>(Dimension::temperature); ++d)
        if (report_unit(static_cast<Dimension>(d)) == unit) return static_cast<Dimension>(d);
    return Dimension::ratio;
}

std::string number_of(const Json& entry, const char* key, UnitSystem units) {
    const auto found = entry.find(key);
    if (found == entry.end() || !found->is_number()) return "-";
    return format_quantity(from_report_value(found->get<double>(), dimension_of(text_of(entry, "unit"))), units);
}

std::map<std::string, std::string> settings_of(const Json& report) {
    std::map<std::string, std::string> settings;
    const auto all = report.find("settings");
    if (all == report.end() || !all->is_object()) return settings;
    for (const auto& [key, setting] : all->items())
        if (setting.is_object()) settings[key] = text_of(setting, "value");
    return settings;
}

}  // namespace

Reported read_reported(const std::filesystem::path& report, const std::string& check, UnitSystem units) {
    const Json json = parse(report);
    Reported reported{{}, settings_of(json)};
    for (const Json& entry : json["checks"]) {
        if (!entry.is_object() || text_of(entry, "id") != check) continue;
        const auto number = [&](const char* key) { return number_of(entry, key, units); };
        reported.checks.push_back({text_of(entry, "subject"), number("value"), number("low"), number("high"),
                                   text_of(entry, "relation"), number("limit"), text_of(entry, "verdict"),
                                   text_of(entry, "advice")});
    }
    return reported;
}

}  // namespace cradlewright::app
