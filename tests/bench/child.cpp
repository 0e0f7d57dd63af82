// SPDX-License-Identifier: GPL-3.0-or-later
#include "child.hpp"

#include <fcntl.h>
#include <spawn.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>

#include "cradlewright/base/error.hpp"

namespace cradlewright::bench {
namespace {

pid_t start_silent(const std::vector<std::string>& command) {
    std::vector<char*> words;
    for (const std::string& word : command) words.push_back(const_cast<char*>(word.c_str()));
    words.push_back(nullptr);
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
    pid_t child = 0;
    const int failure = posix_spawn(&child, words[0], &actions, nullptr, words.data(), environ);
    posix_spawn_file_actions_destroy(&actions);
    if (failure != 0) throw Error(ErrorCode::io, command[0], "cannot be started", "build it first");
    return child;
}

}  // namespace

Cost run_child(const std::vector<std::string>& command) {
    const auto start = std::chrono::steady_clock::now();
    const pid_t child = start_silent(command);
    int status = 0;
    rusage usage{};
    if (wait4(child, &status, 0, &usage) != child) throw Error(ErrorCode::io, command[0], "was lost while running");
    const std::chrono::duration<double> wall = std::chrono::steady_clock::now() - start;
    constexpr double kib_per_mib = 1024;  // Linux states ru_maxrss in KiB
    return {wall.count(), static_cast<double>(usage.ru_maxrss) / kib_per_mib,
            WIFEXITED(status) ? WEXITSTATUS(status) : -1};
}

Cost median_run(const std::vector<std::string>& command, int repeats, int worst_exit) {
    std::vector<Cost> runs;
    for (int i = 0; i < repeats; ++i) {
        runs.push_back(run_child(command));
        if (runs.back().exit_code < 0 || runs.back().exit_code > worst_exit) return runs.back();
    }
    const auto middle = runs.begin() + static_cast<std::ptrdiff_t>(runs.size() / 2);
    std::nth_element(runs.begin(), middle, runs.end(),
                     [](const Cost& a, const Cost& b) { return a.wall_s < b.wall_s; });
    return *middle;
}

}  // namespace cradlewright::bench
