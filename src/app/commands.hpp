// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "app/cli.hpp"
#include "cradlewright/catalog/options.hpp"

namespace cradlewright::app {

/// Exit codes of the contract that a finished command can have; 2 (could not run) is made from exceptions in main
/// alone.
enum class Outcome { good = 0, weak = 1 };

/// Runs one request. Errors: Error from the library.
Outcome run(const Request& request);

/// Defaults, then the job file, then the command line.
Settings settings_of(const Request& request);
/// True when Request::input names a job file and not a scan: by its ending, .toml.
bool is_job(const Request& request);
/// What --overwrite must never delete: the input, its scan, the folder the user stands in.
std::vector<std::filesystem::path> needed_files(const Request& request, const Settings& settings);

Outcome run_survey(const Request& request);
Outcome run_sweep_command(const Request& request);
Outcome run_make(const Request& request);
/// Like run_make, but writes cut files only.
Outcome run_parts(const Request& request);
/// Like run_make, but writes cloth patterns and shopping list only.
Outcome run_layup(const Request& request);
Outcome run_fillet(const Request& request);
Outcome run_cloth(const Request& request);
Outcome run_new_job(const Request& request);
Outcome run_explain(const Request& request);

}  // namespace cradlewright::app
