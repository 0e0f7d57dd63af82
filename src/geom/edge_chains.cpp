// SPDX-License-Identifier: GPL-3.0-or-later
#include "geom/edge_chains.hpp"

#include <bit>

namespace cradlewright {

namespace {

/// Finds the step that enters over an edge. Open addressing over plain indices: it is asked once a step and never
/// walked.
class EntryTable {
public:
    explicit EntryTable(std::span<const EdgeStep> steps)
        : steps_(steps), mask_(std::bit_ceil(2 * steps.size() + 1) - 1), slots_(mask_ + 1, no_id) {
        for (std::uint32_t i = 0; i < steps.size(); ++i) {
            std::uint32_t& slot = slot_of(steps[i].entry);
            if (slot == no_id) slot = i;
        }
    }

    [[nodiscard]] std::uint32_t find(EdgeKey edge) { return slot_of(edge); }

private:
    /// The slot that holds `edge`, or the free one where it belongs.
    std::uint32_t& slot_of(EdgeKey edge) {
        // Multiplicative hashing by 2^64 / golden ratio. Source: D. Knuth, TAOCP vol. 3, sec. 6.4.
        std::size_t i = (edge * 0x9e3779b97f4a7c15u >> 32) & mask_;
        while (slots_[i] != no_id && steps_[slots_[i]].entry != edge) i = (i + 1) & mask_;
        return slots_[i];
    }

    std::span<const EdgeStep> steps_;
    std::size_t mask_;
    std::vector<std::uint32_t> slots_;
};

struct Links {
    std::vector<std::uint32_t> next;
    std::vector<bool> has_previous;
};

Links link(std::span<const EdgeStep> steps) {
    EntryTable entries(steps);
    Links links{std::vector<std::uint32_t>(steps.size(), no_id), std::vector<bool>(steps.size(), false)};
    for (std::size_t i = 0; i < steps.size(); ++i) {
        const std::uint32_t next = entries.find(steps[i].exit);
        if (next == no_id || links.has_previous[next]) continue;
        links.next[i] = next;
        links.has_previous[next] = true;
    }
    return links;
}

}  // namespace

std::vector<EdgeChain> chain_steps(std::span<const EdgeStep> steps) {
    const Links links = link(steps);
    std::vector<EdgeChain> chains;
    std::vector<bool> is_used(steps.size(), false);
    const auto walk = [&](std::uint32_t start) {
        EdgeChain& chain = chains.emplace_back();
        chain.is_closed = links.has_previous[start];
        for (std::uint32_t i = start; i != no_id && !is_used[i]; i = links.next[i]) {
            is_used[i] = true;
            chain.steps.push_back(i);
        }
    };
    const auto count = static_cast<std::uint32_t>(steps.size());
    for (std::uint32_t i = 0; i < count; ++i)
        if (!links.has_previous[i]) walk(i);
    for (std::uint32_t i = 0; i < count; ++i)
        if (!is_used[i]) walk(i);  // only rings are left

    const auto enters_before = [&](std::uint32_t a, std::uint32_t b) { return steps[a].entry < steps[b].entry; };
    for (EdgeChain& chain : chains) {
        if (!chain.is_closed) continue;
        const auto smallest = std::min_element(chain.steps.begin(), chain.steps.end(), enters_before);
        std::rotate(chain.steps.begin(), smallest, chain.steps.end());
    }
    std::stable_sort(chains.begin(), chains.end(), [&](const EdgeChain& a, const EdgeChain& b) {
        return enters_before(a.steps.front(), b.steps.front());
    });
    return chains;
}

}  // namespace cradlewright
