// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <cstdint>
#include <numbers>

namespace cradlewright::demo {

/// Small generator whose numbers are the same on every system (the standard's distributions are not).
/// Source: G. Steele, D. Lea, C. Flood, "Fast splittable pseudorandom number generators" (2014) [from memory].
class Random {
public:
    explicit Random(std::uint64_t seed) : state_(seed) {}

    std::uint64_t next() {
        std::uint64_t z = (state_ += 0x9e3779b97f4a7c15u);
        z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
        z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
        return z ^ (z >> 31);
    }
    /// Whole number in [0, count). Precondition: 0 < count < 2^32.
    std::uint64_t below(std::uint64_t count) { return ((next() >> 32) * count) >> 32; }
    /// In [0, 1).
    double unit() { return static_cast<double>(next() >> 11) * 0x1p-53; }
    double between(double low, double high) { return low + (high - low) * unit(); }
    bool coin() { return (next() >> 63) != 0; }
    /// Normal deviate. Source: G. Box, M. Muller (1958) [from memory]; the second deviate is dropped.
    double normal() {
        const double radius = std::sqrt(-2 * std::log(1 - unit()));
        return radius * std::cos(2 * std::numbers::pi * unit());
    }

private:
    std::uint64_t state_;
};

}  // namespace cradlewright::demo
