// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "cradlewright/catalog/options.hpp"

namespace cradlewright {

/// Applies a TOML job file to `settings`. A relative plug.scan is taken from the job file's folder.
/// Errors: Error(io) when it cannot be read, Error(bad_input) with file, line, column and the nearest known name for
/// unknown keys; also for files beyond 4 MiB. After an error `settings` holds the part before it.
void read_job(const std::filesystem::path& path, Settings& settings);
/// The same for the text of the job file `path`; touches no file.
void read_job_text(std::string_view text, const std::filesystem::path& path, Settings& settings);
/// A commented job file: every setting with its present value, range, unit and source; defaults are commented out.
/// Guarantees: read_job_text brings fresh settings to the same values and calipers, with plug.scan as written here,
/// that is, relative to the folder the text is saved in.
std::string job_text(const Settings& settings);

}  // namespace cradlewright
