// SPDX-License-Identifier: GPL-3.0-or-later
// The reader of router programs that other tests trust: any text either is refused with Rs274Error or gives moves that
// are finite and follow each other.
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "support/rs274.hpp"

using namespace cradlewright;

namespace {

void require(bool holds) {
    if (!holds) std::abort();
}

void check(const test::Program& program) {
    Vec3 at;
    for (const test::Motion& m : program.motions) {
        require(is_finite(m.from) && is_finite(m.to) && std::isfinite(m.length()) && m.length() >= 0);
        require(&m == program.motions.data() || m.from == at);
        require(m.is_rapid || m.feed_mm_min > 0);
        if (m.turn != 0) {
            require(m.sweep_rad() > 0 && m.sweep_rad() < 6.2832);  // 2 pi
            require(is_finite(m.at(0.5)));
        }
        at = m.to;
    }
    require(std::isfinite(program.speed_rpm) && program.speed_rpm >= 0);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    try {
        check(test::read_rs274({reinterpret_cast<const char*>(data), size}));
    } catch (const test::Rs274Error&) {
        return 0;
    }
    return 0;
}
