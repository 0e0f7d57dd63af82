// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>

#include "cradlewright/checks/check.hpp"
#include "files/page_words.hpp"

/// \file The verdicts of report.html.
namespace cradlewright {

std::string_view verdict_word(Verdict verdict);  ///< as a reader says it: "does not apply"

/// All checks in one table, as HTML; row n has the id check-n, counted from 1.
std::string checks_section(const CheckReport& report, UnitSystem units, PageFigures& figures);

}  // namespace cradlewright
