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
    std::vector<std::string> files{};
    const Scene* scene = nullptr;  ///< of the page's 3D view; without it there is none
    const Sweep* tilts = nullptr;  ///< other tilts, of the page; without them there is no such section
    std::string command{};         ///< what made this, without the tilt: "cradlewright make job.toml"
};
/// report.json, schema "cradlewright-report-1" of the contract.
std::string report_json(const ReportInput& input);
/// report.html: one self-contained file: own scripts only, no network.
std::string report_html(const ReportInput& input);
/// build-sheet.pdf: for the bench, on letter or A4 by the job's paper. Drawings, cut list, order of work with boxes to
/// tick, dry-fit sheet, turning over, opening, cautions. Same input and fonts, same bytes.
std::string build_sheet_pdf(const ReportInput& input);
/// cutlist.csv: one line a part.
std::string cutlist_csv(const ReportInput& input);
/// shopping.csv: the layup kit, then the sheets and strips that the parts were laid on. Cost empty without a price.
std::string shopping_csv(const ReportInput& input);

}  // namespace cradlewright
