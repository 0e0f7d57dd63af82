// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>

/// \file toml++ 3.3, made safe against any text. Its parser takes for granted that a name follows "[" and leaves the
/// rest to assert() or, in release builds, to undefined behaviour; "[[[" is enough. The library of the package is built
/// that way, so the parser is compiled here from its headers, with its assumptions turned into exceptions.
namespace cradlewright {

/// Thrown by the parser where it would have asserted.
struct TomlAssumptionBroken {};
[[noreturn]] inline void break_toml_assumption() { throw TomlAssumptionBroken{}; }

}  // namespace cradlewright

#undef NDEBUG
#undef TOML_HEADER_ONLY
#undef TOML_SHARED_LIB
#define TOML_HEADER_ONLY 1
#define TOML_ASSERT(condition) ((condition) ? void(0) : ::cradlewright::break_toml_assumption())
#include <toml++/toml.h>

namespace cradlewright {

/// "job.toml:3:5".
std::string place_in(const std::string& file, const toml::source_position& position);

/// Parses the text of `file`. Texts over several lines are not taken: no setting needs one.
/// Errors: Error(bad_input) with file, line and mostly column.
toml::table parse_toml(std::string_view text, const std::string& file);

}  // namespace cradlewright
