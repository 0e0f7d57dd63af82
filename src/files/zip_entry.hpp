// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>

namespace cradlewright {

/// Unpacks the first entry of a ZIP archive whose name passes.
/// In: the archive's bytes. Out: the entry's bytes, or nothing when no name passes; at most 200 times its packed size
/// is unpacked. Errors: Error(bad_input, place): damaged, packed by other means than deflate, packed too densely.
/// Source: PKWARE, "APPNOTE.TXT - .ZIP File Format Specification" 6.3, sec. 4.3.
std::optional<std::string> unpack_zip_entry(std::string_view archive,
                                            const std::function<bool(std::string_view)>& is_wanted,
                                            const std::string& place);

}  // namespace cradlewright
