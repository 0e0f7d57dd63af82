// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "app/console.hpp"
#include "app/reported.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/catalog/bibliography.hpp"
#include "cradlewright/checks/all_checks.hpp"
#include "cradlewright/files/job_file.hpp"

namespace cradlewright::app {

namespace {

using Json = nlohmann::ordered_json;

/// Some limits are no single setting but a section told by the user, e.g. the caliper checks.
bool is_setting(std::string_view key) {
    return std::ranges::any_of(setting_rows(), [&](const SettingRow& row) { return row.key == key; });
}

/// A setting's value: of the run that is told of, else as the command line and job file leave it. Empty for sections
/// and for what has a value for each NAME.
class SettingValues {
public:
    SettingValues(const Settings& settings, const Reported& reported) : settings_(settings), reported_(reported) {}

    [[nodiscard]] std::string of(std::string_view key) const {
        const auto found = reported_.settings.find(std::string(key));
        if (found != reported_.settings.end()) return found->second;
        const bool is_one = is_setting(key) && key.find('*') == std::string_view::npos;
        return is_one ? get_setting(settings_, key) : std::string();
    }

private:
    const Settings& settings_;
    const Reported& reported_;
};

Json symbol_json(const Symbol& symbol, const SettingValues& values) {
    Json json{{"letter", symbol.letter}, {"meaning", symbol.meaning}, {"unit", symbol.unit}};
    if (!symbol.setting.empty()) {
        json["setting"] = symbol.setting;
        json["value"] = values.of(symbol.setting);
    }
    return json;
}

Json check_json(const CheckRow& row, const SettingValues& values) {
    Json symbols = Json::array();
    for (const Symbol& symbol : row.symbols) symbols.push_back(symbol_json(symbol, values));
    return {{"id", row.id},
            {"title", row.title},
            {"formula", row.formula},
            {"symbols", symbols},
            {"limit_key", row.limit_key},
            {"limit", values.of(row.limit_key)},
            {"source", describe(row.source)}};
}

const CheckRow& check_named(const std::string& id) {
    if (const CheckRow* row = find_check(id)) return *row;
    std::vector<std::string> known;
    for (const CheckRow& row : all_checks()) known.emplace_back(row.id);
    const std::string nearest = nearest_name(id, known);
    throw Error(ErrorCode::bad_input, "explain", "there is no check '" + id + "'",
                nearest.empty() ? "cradlewright explain lists them all" : "did you mean " + nearest + "?");
}

void explain_all(Console& console) {
    Table table({{"check", Table::Align::left}, {"what it asks", Table::Align::left}});
    for (const CheckRow& row : all_checks()) table.add({std::string(row.id), std::string(row.title)});
    console.result(table.text());
}

/// "P  hand that leans on the worst place, N: limits.hand-load = 50 N"
std::string symbol_text(const Symbol& symbol, const SettingValues& values) {
    std::string text = std::string(symbol.letter) + " = " + std::string(symbol.meaning);
    if (symbol.unit != "1") text += ", " + std::string(symbol.unit);
    if (symbol.setting.empty()) return text;
    const std::string value = values.of(symbol.setting);
    return text + ": " + std::string(symbol.setting) + (value.empty() ? "" : " = " + value);
}

void explain_one(Console& console, const CheckRow& row, const SettingValues& values) {
    console.result(std::string(row.id) + "\n");
    console.fact("asks", row.title);
    console.fact("computes", row.formula);
    for (const Symbol& symbol : row.symbols)
        console.fact(&symbol == row.symbols.data() ? "where" : "", symbol_text(symbol, values));
    const std::string key(row.limit_key);
    if (is_setting(key)) {
        console.fact("limit", values.of(key) + ", setting " + key);
    } else if (!key.empty()) {
        console.fact("limit", "told in section " + key + " of the job file");
    }
    console.fact("source", describe(row.source));
}

/// What an earlier run found, subject by subject.
void explain_run(Console& console, const std::vector<ReportedCheck>& entries) {
    if (entries.empty()) console.fact("this run", "did not judge it");
    for (const ReportedCheck& entry : entries) {
        std::string found = entry.verdict + ": " + entry.value;
        if (entry.low != entry.high) found += " (" + entry.low + " to " + entry.high + ")";
        if (entry.limit != "-") found += " " + entry.relation + " " + entry.limit;
        console.fact("this run", entry.subject + ": " + found + ". " + entry.advice);
    }
}

Json run_json(const std::vector<ReportedCheck>& entries) {
    Json run = Json::array();
    for (const ReportedCheck& e : entries)
        run.push_back({{"subject", e.subject},
                       {"value", e.value},
                       {"low", e.low},
                       {"high", e.high},
                       {"relation", e.relation},
                       {"limit", e.limit},
                       {"verdict", e.verdict},
                       {"advice", e.advice}});
    return run;
}

}  // namespace

bool is_job(const Request& request) {
    std::string ending = std::filesystem::path(request.input).extension().string();
    std::ranges::transform(ending, ending.begin(), [](char c) { return c >= 'A' && c <= 'Z' ? char(c + 32) : c; });
    return ending == ".toml";
}

Settings settings_of(const Request& request) {
    Settings settings;
    if (is_job(request)) {
        read_job(request.input, settings);
    } else if (!request.input.empty()) {
        set_setting(settings, "plug.scan", request.input, Origin::command_line, "SCAN");
    }
    for (const SettingChange& change : request.changes)
        set_setting(settings, change.key, change.text, Origin::command_line, change.option);
    check_settings(settings);
    return settings;
}

Outcome run_new_job(const Request& request) {
    // The job file is the result, so there is no other form of it to choose.
    Console::raw(job_text(settings_of(request)));
    return Outcome::good;
}

Outcome run_explain(const Request& request) {
    const Settings settings = settings_of(request);
    Console console(!request.prints_json && !request.is_quiet);
    if (request.check.empty()) {
        const Reported none;
        const SettingValues values(settings, none);
        Json all = Json::array();
        for (const CheckRow& row : all_checks()) all.push_back(check_json(row, values));
        if (request.prints_json) Console::raw(all.dump(2) + "\n");
        explain_all(console);
    } else {
        const CheckRow& row = check_named(request.check);
        Reported reported;
        if (!request.report.empty()) reported = read_reported(request.report, request.check, settings.units);
        const SettingValues values(settings, reported);
        if (request.prints_json) {
            Json json = check_json(row, values);
            if (!request.report.empty()) json["run"] = run_json(reported.checks);
            Console::raw(json.dump(2) + "\n");
        }
        explain_one(console, row, values);
        if (!request.report.empty()) explain_run(console, reported.checks);
    }
    return Outcome::good;
}

Outcome run(const Request& request) {
    switch (request.command) {
        case Command::survey:
            return run_survey(request);
        case Command::sweep:
            return run_sweep_command(request);
        case Command::make:
            return run_make(request);
        case Command::parts:
            return run_parts(request);
        case Command::layup:
            return run_layup(request);
        case Command::fillet:
            return run_fillet(request);
        case Command::cloth:
            return run_cloth(request);
        case Command::new_job:
            return run_new_job(request);
        case Command::explain:
            return run_explain(request);
        case Command::show_text:
            Console::raw(request.text);
            break;
    }
    return Outcome::good;
}

}  // namespace cradlewright::app
