// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <string>

#include "cradlewright/catalog/options.hpp"

namespace cradlewright {

/// Applies a TOML job file to `settings`. A relative plug.scan is taken from the job file's folder.
/// Errors: Error(bad_input) with file, line, column and the nearest known name for unknown keys.
void read_job(const std::filesystem::path& path, Settings& settings);
/// A commented job file: every setting with its present value, range, unit and source; defaults are commented out.
std::string job_text(const Settings& settings);

}  // namespace cradlewright
