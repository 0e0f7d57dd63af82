// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace cradlewright::app {

/// One check as an earlier run's report.json gives it, numbers as text with their unit.
struct ReportedCheck {
    std::string subject, value, low, high, relation, limit, verdict, advice;
};

/// The entries of one check, in the report's order; empty where the run did not judge it.
/// Errors: Error(bad_input) for a file that cannot be read or is no report of this schema.
std::vector<ReportedCheck> read_reported(const std::filesystem::path& report, const std::string& check);

}  // namespace cradlewright::app
