// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

namespace cradlewright::bench {

struct StageTime {
    std::string stage;
    double wall_s = 0;
};

/// Runs the stages of the noisy blade's job one after the other, as src/pipeline.cpp orders them (cradle and beads,
/// which it runs side by side, each alone), then makes the large outputs in memory.
std::vector<StageTime> time_stages(const std::string& scan);

}  // namespace cradlewright::bench
