// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/report_rows.hpp"

#include <filesystem>
#include <utility>

#include "files/page_pictures.hpp"

namespace cradlewright {
namespace {

template <class Entries>
std::vector<std::string> names_of(const Entries& entries) {
    std::vector<std::string> names;
    for (const auto& [name, entry] : entries) {
        names.push_back(name);
    }
    return names;
}

// The names that may stand for the `*` of a key.
std::vector<std::string> names_for(const Settings& settings, std::string_view key) {
    if (key.starts_with("edge.")) {
        return names_of(settings.edges);
    }
    return key.starts_with("cloth.") ? names_of(settings.cloths) : names_of(settings.stocks);
}

SettingLine make_line(const Settings& settings, const SettingRow& row, std::string key, std::string_view name) {
    const auto told = settings.origin.find(key);
    const Origin origin = told == settings.origin.end() ? Origin::builtin : told->second;
    std::string value = row.get(settings, name);
    if (row.key == "plug.scan") {
        // Where the file lay is nobody's business but this machine's, and would change the bytes from folder to folder.
        value = std::filesystem::path(value).filename().string();
    }
    return {std::move(key), std::move(value), origin, &row};
}

}  // namespace

std::vector<SettingLine> setting_lines(const Settings& settings) {
    std::vector<SettingLine> lines;
    for (const SettingRow& row : setting_rows()) {
        const std::size_t star = row.key.find('*');
        if (star == std::string::npos) {
            lines.push_back(make_line(settings, row, row.key, {}));
            continue;
        }
        for (const std::string& name : names_for(settings, row.key)) {
            lines.push_back(make_line(settings, row, std::string(row.key).replace(star, 1, name), name));
        }
    }
    return lines;
}

std::string_view origin_name(Origin origin) {
    switch (origin) {
        case Origin::builtin:
            return "default";
        case Origin::job:
            return "job";
        case Origin::command_line:
            return "command-line";
    }
    return "";
}

std::string_view edge_rule_name(EdgeRule rule) {
    switch (rule) {
        case EdgeRule::silhouette:
            return "silhouette";
        case EdgeRule::split:
            return "split";
        case EdgeRule::overrun:
            return "overrun";
        case EdgeRule::polyline:
            return "polyline";
    }
    return "";
}

Judgement judge_design(const ReportInput& input) {
    const CheckReport& checks = *input.checks;
    const std::size_t fails = checks.count(Verdict::fail), unknowns = checks.count(Verdict::unknown);
    const std::size_t marginals = checks.count(Verdict::marginal), passes = checks.count(Verdict::pass);
    auto [worst, say] = Judgement{};
    if (!input.design->parting.is_found()) {
        worst = Verdict::fail;
        say = "There is no fixture to cut: no parting line was found.";
    } else if (fails > 0) {
        worst = Verdict::fail;
        say = "Do not cut yet: " + counted(fails, "check fails", "checks fail") +
              (unknowns > 0 ? " and " + std::to_string(unknowns) + " could not be judged." : ".");
    } else if (unknowns > 0) {
        worst = Verdict::unknown;
        say = "No check fails, but " + counted(unknowns, "check", "checks") +
              " could not be judged: settle them by hand before you cut.";
    } else if (marginals > 0) {
        worst = Verdict::marginal;
        say = "Fit to cut with care: " + counted(marginals, "check is", "checks are") + " near the limit.";
    } else {
        say = "Fit to cut: " + counted(passes, "check passes", "checks pass") + ", none near its limit.";
    }
    return {worst, say};
}

std::string sheet_id(const Sheet& sheet) { return "sheet-" + sheet.stock + "-" + std::to_string(sheet.number); }

}  // namespace cradlewright
