// SPDX-License-Identifier: GPL-3.0-or-later
#include <atomic>
#include <catch2/catch.hpp>
#include <numeric>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "base/parallel.hpp"

using namespace cradlewright;

TEST_CASE("pieces cover the range once and lie where count and piece say", "[base][parallel]") {
    for (const std::size_t count : {0u, 1u, 6u, 7u, 8u, 1000u}) {
        std::vector<std::atomic<int>> visits(count);
        std::vector<std::pair<std::size_t, std::size_t>> piece_of(count);
        for_each_piece(count, 7, [&](std::size_t first, std::size_t last) {
            for (std::size_t i = first; i < last; ++i) {
                ++visits[i];
                piece_of[i] = {first, last};
            }
        });
        for (std::size_t i = 0; i < count; ++i) {
            CHECK(visits[i] == 1);
            CHECK(piece_of[i].first == i - i % 7);
            CHECK(piece_of[i].second == std::min(count, i - i % 7 + 7));
        }
    }
}

TEST_CASE("work inside work runs to its end", "[base][parallel]") {
    std::vector<int> sums(10, 0);
    for_each_piece(sums.size(), 1, [&](std::size_t row, std::size_t) {
        std::vector<int> parts(100, 0);
        for_each_piece(parts.size(), 10, [&](std::size_t first, std::size_t last) {
            for (std::size_t i = first; i < last; ++i) parts[i] = static_cast<int>(row);
        });
        sums[row] = std::accumulate(parts.begin(), parts.end(), 0);
    });
    for (std::size_t row = 0; row < sums.size(); ++row) CHECK(sums[row] == 100 * static_cast<int>(row));
}

TEST_CASE("the foremost failure is told, after everything else is done", "[base][parallel]") {
    std::atomic<int> done = 0;
    const auto work = [&](std::size_t first, std::size_t) {
        if (first == 3 || first == 8) throw std::runtime_error(std::to_string(first));
        ++done;
    };
    CHECK_THROWS_WITH(for_each_piece(20, 1, work), "3");
    CHECK(done == 18);
    CHECK_THROWS_WITH(run_together({[] {}, [] { throw std::runtime_error("second"); }}), "second");
}

TEST_CASE("tasks run together each run once", "[base][parallel]") {
    int a = 0, b = 0;
    run_together({[&] { ++a; }, [&] { ++b; }});
    CHECK((a == 1 && b == 1));
}
