// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <string_view>
#include <utility>

namespace cradlewright {

/// How long work reports itself and is interrupted. The library never prints; it calls this.
class Progress {
public:
    /// In: stage name, fraction done in [0, 1], short message. Returns false to ask for a stop.
    using Callback = std::function<bool(std::string_view stage, double fraction, std::string_view message)>;

    Progress() = default;
    explicit Progress(Callback callback) : callback_(std::move(callback)) {}

    /// Errors: Error(cancelled) when the callback asks for a stop.
    void report(std::string_view stage, double fraction, std::string_view message = {}) const;

private:
    Callback callback_;
};

}  // namespace cradlewright
