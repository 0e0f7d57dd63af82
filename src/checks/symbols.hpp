// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>

#include "cradlewright/checks/all_checks.hpp"

namespace cradlewright {

/// The letters of a check's formula; empty for an unknown id.
std::span<const Symbol> symbols_of(std::string_view id);

}  // namespace cradlewright
