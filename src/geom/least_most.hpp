// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>

namespace cradlewright {

/// Of three. Nested calls of two become instructions without branches; std::minmax of a list does not, and mispredicts
/// on nearly every face of a scan.
template <class Number>
constexpr Number least_of(Number a, Number b, Number c) {
    return std::min(a, std::min(b, c));
}
template <class Number>
constexpr Number most_of(Number a, Number b, Number c) {
    return std::max(a, std::max(b, c));
}

}  // namespace cradlewright
