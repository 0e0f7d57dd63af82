// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/parallel.hpp"

#include <algorithm>
#include <atomic>
#include <exception>
#include <thread>
#include <vector>

#include "cradlewright/base/error.hpp"

namespace cradlewright {

namespace {

// Work that spreads itself inside work that is spread already would only make more threads than processors.
thread_local bool is_inside_piece = false;

class InsidePiece {
public:
    InsidePiece() : was_inside_(is_inside_piece) { is_inside_piece = true; }
    ~InsidePiece() { is_inside_piece = was_inside_; }
    InsidePiece(const InsidePiece&) = delete;
    InsidePiece& operator=(const InsidePiece&) = delete;

private:
    bool was_inside_;
};

}  // namespace

void for_each_piece(std::size_t count, std::size_t piece,
                    const std::function<void(std::size_t first, std::size_t last)>& work) {
    CRADLEWRIGHT_PRECONDITION(piece > 0);
    const std::size_t pieces = count / piece + (count % piece != 0 ? 1 : 0);
    std::vector<std::exception_ptr> failures(pieces);
    std::atomic<std::size_t> next = 0;
    const auto take_pieces = [&] {
        const InsidePiece mark;
        for (std::size_t p = next++; p < pieces; p = next++) try {
                work(p * piece, std::min(count, (p + 1) * piece));
            } catch (...) {
                failures[p] = std::current_exception();
            }
    };
    const std::size_t processors = is_inside_piece ? 1 : std::max(1u, std::thread::hardware_concurrency());
    {
        std::vector<std::jthread> helpers;
        for (std::size_t i = 1; i < std::min(processors, pieces); ++i) helpers.emplace_back(take_pieces);
        take_pieces();
    }
    for (const std::exception_ptr& failure : failures)
        if (failure) std::rethrow_exception(failure);
}

void run_together(std::initializer_list<std::function<void()>> tasks) {
    for_each_piece(tasks.size(), 1, [&](std::size_t first, std::size_t) { tasks.begin()[first](); });
}

}  // namespace cradlewright
