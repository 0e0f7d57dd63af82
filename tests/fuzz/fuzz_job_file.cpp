// SPDX-License-Identifier: GPL-3.0-or-later
// Any text either is refused with Error(bad_input) or gives settings that their own job file brings back.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "cradlewright/base/error.hpp"
#include "cradlewright/files/job_file.hpp"

using namespace cradlewright;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    Settings settings;
    try {
        read_job_text({reinterpret_cast<const char*>(data), size}, "job.toml", settings);
    } catch (const Error& error) {
        if (error.code() != ErrorCode::bad_input) {
            std::abort();
        }
        return 0;
    }
    const std::string text = job_text(settings);
    Settings back;
    read_job_text(text, "job.toml", back);
    if (job_text(back) != text || back.calipers != settings.calipers) {
        std::abort();
    }
    return 0;
}
