// SPDX-License-Identifier: GPL-3.0-or-later
// Any text either is refused with Error(bad_input) or reads as a quantity whose exact text reads back to the same
// number.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"

using namespace cradlewright;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    constexpr int dimensions = static_cast<int>(Dimension::temperature) + 1;
    if (size == 0) {
        return 0;
    }
    const auto dimension = static_cast<Dimension>(data[0] % dimensions);
    const std::string_view text(reinterpret_cast<const char*>(data) + 1, size - 1);
    Quantity quantity;
    try {
        quantity = parse_quantity(text, dimension, "fuzz");
    } catch (const Error& error) {
        if (error.code() != ErrorCode::bad_input) {
            std::abort();
        }
        return 0;
    }
    if (parse_quantity(format_exact(quantity), dimension, "fuzz") != quantity) {
        std::abort();
    }
    static_cast<void>(format_quantity(quantity));
    static_cast<void>(format_quantity(quantity, UnitSystem::inch));
    return 0;
}
