// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace cradlewright::app {

enum class Command { survey, sweep, make, parts, layup, fillet, cloth, new_job, explain, show_text };

/// One setting given on the command line, as typed; it beats the job file.
struct SettingChange {
    std::string key;     ///< "pose.tilt"
    std::string text;    ///< "8deg"
    std::string option;  ///< "--tilt", for error messages
};

/// What the user asked for. Nothing is opened, read or checked beyond the command line itself.
struct Request {
    Command command = Command::show_text;
    std::string text;                    ///< of show_text: help or version
    std::string input;                   ///< SCAN or JOB as typed; empty when none was given
    std::vector<SettingChange> changes;  ///< in the order in which they shall be applied
    std::filesystem::path out;           ///< empty = out/<name>
    std::filesystem::path dump;          ///< of --dump-stages; empty = do not
    std::filesystem::path mended;        ///< of survey; empty = do not write
    std::string corner = "90deg";        ///< of fillet
    std::string sweep_from, sweep_to;    ///< of sweep; empty = the default
    int sweep_steps = 0;                 ///< of sweep; 0 = the default
    std::string overhang, areal_mass;    ///< of cloth
    std::string check;                   ///< of explain; empty = list them all
    std::string report;                  ///< of explain: report.json whose figures to show; empty = none
    int threads = 0;                     ///< 0 = as many as the machine has
    bool prints_json = false;
    bool is_quiet = false;
    bool overwrites = false;
};

/// Errors: Error(bad_input), one line with the nearest known name, for anything that cannot be understood.
Request parse_command_line(int argc, const char* const* argv);

}  // namespace cradlewright::app
