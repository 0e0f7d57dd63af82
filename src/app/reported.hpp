// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "cradlewright/base/units.hpp"

namespace cradlewright::app {

/// One check as an earlier run's report.json gives it, numbers as text with their unit.
struct ReportedCheck {
    std::string subject, value, low, high, relation, limit, verdict, advice;
};

/// What a run said of one check.
struct Reported {
    std::vector<ReportedCheck> checks;            ///< its entries, in the report's order; none where it was not judged
    std::map<std::string, std::string> settings;  ///< key -> value as the run used it
};

/// Errors: Error(bad_input) for a file that cannot be read or is no report of this schema.
Reported read_reported(const std::filesystem::path& report, const std::string& check, UnitSystem units);

}  // namespace cradlewright::app
