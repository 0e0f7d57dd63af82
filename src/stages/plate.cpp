// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/plate.hpp"

namespace cradlewright {

std::string_view part_kind_name(PartKind kind) {
    constexpr std::string_view names[] = {"panel", "rib", "stringer", "tie", "base", "stop", "card"};
    return names[static_cast<std::size_t>(kind)];
}

}  // namespace cradlewright
