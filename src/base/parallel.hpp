// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <functional>
#include <initializer_list>

namespace cradlewright {

/// Calls `work(first, last)` on consecutive pieces of [0, count), `piece` long but for the last, on as many threads as
/// the machine offers. Where the pieces lie depends on `count` and `piece` only, so work that writes nothing but the
/// results of its own piece gives the same bytes at any number of threads. Runs in the caller's thread when one piece
/// is enough or when called from within such work.
/// Errors: the exception of the foremost piece that threw, after all pieces have ended.
/// Precondition: piece > 0.
void for_each_piece(std::size_t count, std::size_t piece,
                    const std::function<void(std::size_t first, std::size_t last)>& work);

/// Runs tasks that do not touch each other's results side by side. Errors: that of the foremost task that threw.
void run_together(std::initializer_list<std::function<void()>> tasks);

}  // namespace cradlewright
