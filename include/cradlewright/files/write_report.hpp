// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/checks/check.hpp"
#include "cradlewright/checks/design.hpp"
#include "cradlewright/output/layout.hpp"
#include "cradlewright/output/scene.hpp"
#include "cradlewright/stages/sweep.hpp"

namespace cradlewright {

/// What the report writers show: the design, what the checks said of it, where its parts lie, which files were written.
struct ReportInput {
    const Design* design = nullptr;
    const CheckReport* checks = nullptr;
    const Layout* layout = nullptr;
    std::vector<std::string> files;
    const Scene* scene = nullptr;  ///< of the page's 3D view; without it there is none
    const Sweep* tilts = nullptr;  ///< other tilts, of the page; without them there is no such section
    std::string command;           ///< what made this, without the tilt: "cradlewright make job.toml"
};
/// report.json, schema "cradlewright-report-1" of the contract.
std::string report_json(const ReportInput& input);
/// report.html: one self-contained file: own scripts only, no network.
std::string report_html(const ReportInput& input);
/// cutlist.csv: one line a part.
std::string cutlist_csv(const ReportInput& input);
/// shopping.csv: the layup kit, then the sheets and strips that the parts were laid on. Cost empty without a price.
std::string shopping_csv(const ReportInput& input);

}  // namespace cradlewright
