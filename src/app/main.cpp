// SPDX-License-Identifier: GPL-3.0-or-later
#include <sched.h>

#include <new>

#include "app/cli.hpp"
#include "app/commands.hpp"
#include "app/console.hpp"
#include "cradlewright/base/error.hpp"

namespace {

using namespace cradlewright;

constexpr int could_not_run = 2;

/// The library asks the machine how many processors it may use; narrowing that set limits every part of it alike,
/// third-party code included, and needs no thread count handed through. Results do not depend on it.
void limit_threads(int count) {
    if (count == 0) return;
    cpu_set_t allowed, chosen;
    CPU_ZERO(&chosen);
    if (sched_getaffinity(0, sizeof allowed, &allowed) != 0) return;
    for (int cpu = 0; cpu < CPU_SETSIZE && CPU_COUNT(&chosen) < count; ++cpu)
        if (CPU_ISSET(cpu, &allowed)) CPU_SET(cpu, &chosen);
    sched_setaffinity(0, sizeof chosen, &chosen);
}

int fail(std::string_view message) {
    app::complain(message);
    return could_not_run;
}

}  // namespace

int main(int argc, char** argv) {
    try {
        app::hold_standard_streams();
        app::catch_interrupts();
        const app::Request request = app::parse_command_line(argc, argv);
        limit_threads(request.threads);
        const app::Outcome outcome = app::run(request);
        app::Console::flush();
        return static_cast<int>(outcome);
    } catch (const Error& error) {
        return fail(error.what());
    } catch (const std::bad_alloc&) {
        return fail("not enough memory for this scan; try a coarser export of it");
    } catch (const std::exception& error) {
        return fail(app::printable(error.what()));
    }
}
