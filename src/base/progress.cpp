// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/base/progress.hpp"

#include "cradlewright/base/error.hpp"

namespace cradlewright {

void Progress::report(std::string_view stage, double fraction, std::string_view message) const {
    if (callback_ && !callback_(stage, fraction, message)) {
        throw Error(ErrorCode::cancelled, stage, "interrupted", "nothing was written");
    }
}

}  // namespace cradlewright
