// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <stdexcept>
#include <string>
#include <string_view>

namespace cradlewright {

/// What kind of trouble stopped the work. A weak design is never an Error: it is a failed Check.
enum class ErrorCode {
    internal,   ///< the caller broke a precondition: a defect in this program
    bad_input,  ///< a file, setting or value from outside that cannot be used
    io,         ///< the file system said no
    cancelled,  ///< the user interrupted
};

/// The one exception type. `what()` is a single line: place, what is wrong, and after a semicolon what to try.
class Error : public std::runtime_error {
public:
    /// In: `place` file, setting or function; `problem` what is wrong; `hint` what to try (may be empty).
    Error(ErrorCode code, std::string_view place, std::string_view problem, std::string_view hint = {});
    [[nodiscard]] ErrorCode code() const noexcept { return code_; }

private:
    ErrorCode code_;
};

[[noreturn]] void fail_condition(const char* kind, const char* condition, const char* function);

}  // namespace cradlewright

/// Checked in every build; a violation throws Error(internal).
#define CRADLEWRIGHT_PRECONDITION(condition) \
    ((condition) ? void(0) : ::cradlewright::fail_condition("precondition", #condition, __func__))
#define CRADLEWRIGHT_POSTCONDITION(condition) \
    ((condition) ? void(0) : ::cradlewright::fail_condition("postcondition", #condition, __func__))
