// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cradlewright/catalog/options.hpp"
#include "cradlewright/files/write_report.hpp"
#include "cradlewright/output/layout.hpp"

/// \file What report.json and report.html both spell out.
namespace cradlewright {

/// One setting as it was used.
struct SettingLine {
    std::string key;    ///< "edge.front.slope"
    std::string value;  ///< text form; empty = not told
    Origin origin = Origin::builtin;
    const SettingRow* row = nullptr;
};
/// Every setting in the order of the table; rows with a NAME once for each name in use. The scan is named without
/// its folder.
std::vector<SettingLine> setting_lines(const Settings& settings);

std::string_view origin_name(Origin origin);     ///< "default" "job" "command-line"
std::string_view edge_rule_name(EdgeRule rule);  ///< "silhouette" "split" "overrun" "polyline"
/// Whether to cut, in a sentence.
struct Judgement {
    Verdict worst = Verdict::pass;
    std::string say;
};
Judgement judge_design(const ReportInput& input);

std::string sheet_id(const Sheet& sheet);  ///< "sheet-birch-ply-9-1": also the name of its cut files

}  // namespace cradlewright
