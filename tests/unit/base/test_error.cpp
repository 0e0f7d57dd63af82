// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>

#include "cradlewright/base/error.hpp"

using namespace cradlewright;

TEST_CASE("an error is one line: place, problem, hint", "[base][error]") {
    const Error error(ErrorCode::bad_input, "job.toml:3:1", "unknown key", "did you mean width?");
    CHECK(std::string(error.what()) == "job.toml:3:1: unknown key; did you mean width?");
    CHECK(error.code() == ErrorCode::bad_input);
    CHECK(std::string(Error(ErrorCode::io, "a.stl", "cannot be opened").what()) == "a.stl: cannot be opened");
    CHECK(std::string(Error(ErrorCode::io, "", "no place").what()) == "no place");
}

TEST_CASE("control characters of quoted input never reach the message", "[base][error]") {
    const std::string text = Error(ErrorCode::bad_input, "a\nb", "bad \x1b[31m value\x7f\r\n", "\tnext").what();
    CHECK(text.find_first_of("\n\r\t\x1b\x7f") == std::string::npos);
    CHECK(text == "a b: bad ?[31m value?  ;  next");
}

TEST_CASE("conditions throw in every build and name themselves", "[base][error]") {
    const auto need_positive = [](int n) {
        CRADLEWRIGHT_PRECONDITION(n > 0);
        CRADLEWRIGHT_POSTCONDITION(n < 10);
        return n;
    };
    CHECK(need_positive(3) == 3);
    try {
        need_positive(0);
        FAIL("no exception");
    } catch (const Error& error) {
        CHECK(error.code() == ErrorCode::internal);
        CHECK(std::string(error.what()).find("precondition does not hold: n > 0") != std::string::npos);
    }
    CHECK_THROWS_WITH(need_positive(11), Catch::Contains("postcondition does not hold: n < 10"));
}
