// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <regex>
#include <set>

#include "cradlewright/catalog/bibliography.hpp"
#include "cradlewright/catalog/options.hpp"

using namespace cradlewright;

namespace {

void check_source(const std::string& what, const Source& source) {
    CAPTURE(what, source.key);
    CHECK(find_reference(source.key) != nullptr);
    CHECK_FALSE(source.where.empty());
}

std::string read_file(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

/// Keys written as `key "..."` in comments and as the first text of a Source in code.
std::set<std::string> keys_in(const std::string& text) {
    static const std::regex pattern("(?:key |Source\\{)\"([a-z0-9.-]+)\"");
    std::set<std::string> keys;
    for (auto it = std::sregex_iterator(text.begin(), text.end(), pattern); it != std::sregex_iterator(); ++it) {
        keys.insert((*it)[1]);
    }
    return keys;
}

}  // namespace

TEST_CASE("every reference has its own key and says something", "[catalog][bibliography]") {
    std::set<std::string_view> keys;
    for (const Reference& reference : bibliography()) {
        CHECK(keys.insert(reference.key).second);
        CHECK(reference.text.size() > 5);
        CHECK(std::all_of(reference.text.begin(), reference.text.end(), [](char c) { return c >= ' ' && c <= '~'; }));
        CHECK(find_reference(reference.key) == &reference);
    }
    CHECK(find_reference("no-such-book") == nullptr);
}

TEST_CASE("publications are told from provenance words", "[catalog][bibliography]") {
    for (const char* word : {"common-practice", "from-memory", "assumed", "derived", "told"}) {
        CHECK(find_reference(word) != nullptr);
        CHECK_FALSE(is_publication(word));
    }
    CHECK(is_publication("roark"));
    CHECK_FALSE(is_publication("no-such-book"));
}

TEST_CASE("a source is described in one line", "[catalog][bibliography]") {
    CHECK_THAT(describe({"roark", "Table 11.4 case 1a"}),
               Catch::StartsWith("W. C. Young") && Catch::EndsWith(", Table 11.4 case 1a"));
    CHECK(describe(Source::assumed("nobody measured it")) == "assumed: nobody measured it");
    CHECK(describe(Source::common_practice()) == "common practice of the trade");
    CHECK(describe({"no-such-book", "p. 3"}) == "unknown source \"no-such-book\": p. 3");
}

TEST_CASE("every number of the catalog names a known source and the place in it", "[catalog][bibliography]") {
    for (const Material& m : materials()) {
        check_source(std::string(m.name), m.source);
    }
    for (const Stock& s : default_stocks()) {
        check_source(s.name, s.source);
    }
    for (const Cloth& c : default_cloths()) {
        check_source(c.name, c.source);
    }
    for (const PaperSize& p : papers()) {
        check_source(std::string(p.name), p.source);
    }
    for (const SettingRow& row : setting_rows()) {
        check_source(row.key, row.source);
    }
}

TEST_CASE("every key that the code names is in the bibliography", "[catalog][bibliography]") {
    const std::filesystem::path root(CRADLEWRIGHT_SOURCE_DIR);
    std::size_t seen = 0;
    for (const char* folder : {"include", "src"}) {
        for (const auto& file : std::filesystem::recursive_directory_iterator(root / folder)) {
            if (file.is_regular_file()) {
                for (const std::string& key : keys_in(read_file(file.path()))) {
                    CAPTURE(file.path().filename().string(), key);
                    CHECK(find_reference(key) != nullptr);
                    ++seen;
                }
            }
        }
    }
    CHECK(seen > 5);
}
