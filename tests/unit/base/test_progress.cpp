// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <string>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/progress.hpp"

using namespace cradlewright;

TEST_CASE("progress without a listener is silent", "[base][progress]") {
    CHECK_NOTHROW(Progress().report("parting", 0.5, "half way"));
}

TEST_CASE("progress hands on what it is told", "[base][progress]") {
    std::string heard;
    const Progress progress([&](std::string_view stage, double fraction, std::string_view message) {
        heard = std::string(stage) + "|" + std::to_string(fraction) + "|" + std::string(message);
        return true;
    });
    progress.report("cradle", 0.25, "rib 2");
    CHECK(heard == "cradle|0.250000|rib 2");
}

TEST_CASE("a listener can stop the work", "[base][progress]") {
    const Progress progress([](std::string_view, double fraction, std::string_view) { return fraction < 0.5; });
    CHECK_NOTHROW(progress.report("bead", 0.4));
    try {
        progress.report("bead", 0.6);
        FAIL("no exception");
    } catch (const Error& error) {
        CHECK(error.code() == ErrorCode::cancelled);
    }
}
