// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <utility>

namespace cradlewright {

/// Where a number, formula or rule comes from. `key` is an entry of the bibliography, or one of the provenance words
/// "common-practice", "from-memory", "assumed", "derived", "told"; `where` is the exact place in the source or the
/// reason.
struct Source {
    std::string key;
    std::string where;

    static Source assumed(std::string reason) { return {"assumed", std::move(reason)}; }
    static Source common_practice(std::string what = {}) { return {"common-practice", std::move(what)}; }
    static Source derived(std::string how) { return {"derived", std::move(how)}; }
    /// One line for reports: full reference of `key` and the place. Defined in catalog/bibliography.
    friend bool operator==(const Source&, const Source&) = default;
};

}  // namespace cradlewright
