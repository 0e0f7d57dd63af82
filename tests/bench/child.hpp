// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

namespace cradlewright::bench {

/// What one run of a program cost.
struct Cost {
    double wall_s = 0;
    double peak_mib = 0;  ///< resident; never less than what the parent held when it started the child
    int exit_code = -1;   ///< -1: ended by a signal
};

/// Runs a program to its end, its output thrown away. Errors: Error(io) when it cannot be started.
Cost run_child(const std::vector<std::string>& command);

/// The run with the median wall time. Stops at the first whose exit code is above `worst_exit`, and returns that one.
Cost median_run(const std::vector<std::string>& command, int repeats, int worst_exit = 0);

}  // namespace cradlewright::bench
