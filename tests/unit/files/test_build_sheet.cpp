// SPDX-License-Identifier: GPL-3.0-or-later
// build-sheet.pdf read back with poppler: where every word lies, what stands there.
#include <algorithm>
#include <catch2/catch.hpp>
#include <fstream>
#include <regex>

#include "cradlewright/files/write_report.hpp"
#include "outside_tools.hpp"
#include "support/sample_design.hpp"
#include "support/text.hpp"

namespace cradlewright {
namespace {

using test::has;

struct Job {
    Design design = test::sample_design();
    CheckReport checks = test::sample_checks();
    Layout layout = lay_out(design);

    Job() { plan(); }
    void plan() {
        design.work =
            plan_work({design.posed, design.parting, design.flange, design.cradle, design.beads, design.cards,
                       design.templates, design.joint, design.hardware, design.layup, design.back, design.settings});
    }
    [[nodiscard]] ReportInput input() const { return {&design, &checks, &layout, {}}; }
    [[nodiscard]] std::string sheet() const { return build_sheet_pdf(input()); }
};

std::string save(const test::ScratchFolder& folder, const std::string& bytes) {
    std::string path = folder / "sheet.pdf";
    std::ofstream(path, std::ios::binary) << bytes;
    return path;
}

/// Text of the whole file with runs of blanks and line ends as one blank, as words run over lines.
std::string text_of(const std::string& path) {
    const std::string text = test::output_of("pdftotext -layout '" + path + "' -");
    return std::regex_replace(text, std::regex("\\s+"), " ");
}

struct Word {
    std::string text;
    double left, top, right, bottom;
};
struct Page {
    double width, height;
    std::vector<Word> words;
};
std::vector<Page> pages_of(const std::string& path) {
    const std::string html = test::output_of("pdftotext -bbox '" + path + "' -");
    std::vector<Page> pages;
    const std::regex line(
        "<page width=\"([0-9.]+)\" height=\"([0-9.]+)\">|<word xMin=\"([-0-9.]+)\" yMin=\"([-0-9.]+)\" "
        "xMax=\"([-0-9.]+)\" yMax=\"([-0-9.]+)\">([^<]*)</word>");
    for (std::sregex_iterator it(html.begin(), html.end(), line), end; it != end; ++it) {
        const auto& m = *it;
        if (m[1].matched)
            pages.push_back({std::stod(m[1]), std::stod(m[2]), {}});
        else
            pages.back().words.push_back({m[7], std::stod(m[3]), std::stod(m[4]), std::stod(m[5]), std::stod(m[6])});
    }
    return pages;
}

/// Poppler's boxes are as high as the font's ascent and descent, so lines set close touch; a fifth is let go.
bool cover(const Word& a, const Word& b) {
    const double down = 0.2 * std::min(a.bottom - a.top, b.bottom - b.top), across = 0.5;
    return a.left + across < b.right && b.left + across < a.right && a.top + down < b.bottom - down &&
           b.top + down < a.bottom - down;
}

void check_layout(const std::string& path) {
    constexpr double margin = 15 * 72 / 25.4;
    const std::vector<Page> pages = pages_of(path);
    REQUIRE(pages.size() > 1);
    for (std::size_t p = 0; p < pages.size(); ++p) {
        const std::vector<Word>& words = pages[p].words;
        CAPTURE(p + 1);
        REQUIRE_FALSE(words.empty());
        for (std::size_t i = 0; i < words.size(); ++i) {
            const Word& word = words[i];
            CAPTURE(word.text);
            CHECK(word.left > margin - 1);
            CHECK(word.right < pages[p].width - margin + 1);
            CHECK(word.top > margin - 4);
            CHECK(word.bottom < pages[p].height - margin + 4);
            for (std::size_t k = i + 1; k < words.size(); ++k) {
                CAPTURE(words[k].text);
                CHECK_FALSE(cover(word, words[k]));
            }
        }
    }
}

TEST_CASE("build sheet: nothing leaves the page or lies on anything else", "[files]") {
    const test::ScratchFolder folder("sheet");
    Job job;
    check_layout(save(folder, job.sheet()));
    job.design.settings.paper.size = "letter";
    job.design.settings.units = UnitSystem::inch;
    job.plan();
    check_layout(save(folder, job.sheet()));
}

TEST_CASE("build sheet: words without end are broken, not run over the edge", "[files]") {
    const test::ScratchFolder folder("sheet");
    Job job;
    job.design.posed.plug.name = std::string(150, 'W') + " and " + std::string(40, 'x');
    job.design.cradle.ribs.front().part.note = std::string(90, 'm') + " " + std::string(200, '-');
    job.checks.checks.front().advice = std::string(300, 'q');
    job.design.work.steps.front().text = std::string(400, 'j');
    const std::string path = save(folder, job.sheet());
    for (const Page& page : pages_of(path))
        for (const Word& word : page.words) {
            CAPTURE(word.text);
            CHECK(word.right < page.width - 15 * 72 / 25.4 + 1);
        }
}

TEST_CASE("build sheet: letter or A4 by the job's paper", "[files]") {
    const test::ScratchFolder folder("sheet");
    Job job;
    for (const auto& [paper, units, size] :
         {std::tuple{"a4", UnitSystem::metric, "595.276 x 841.89"},
          std::tuple{"a3", UnitSystem::inch, "595.276 x 841.89"}, std::tuple{"letter", UnitSystem::metric, "612 x 792"},
          std::tuple{"legal", UnitSystem::metric, "612 x 792"}, std::tuple{"24in roll", UnitSystem::inch, "612 x 792"},
          std::tuple{"610mm roll", UnitSystem::metric, "595.276 x 841.89"}}) {
        CAPTURE(paper);
        job.design.settings.paper.size = paper;
        job.design.settings.units = units;
        CHECK(has(test::output_of("pdfinfo '" + save(folder, job.sheet()) + "'"),
                  std::string("Page size:       ") + size));
    }
}

TEST_CASE("build sheet: pages are numbered, each names the job; no date; same bytes", "[files]") {
    const test::ScratchFolder folder("sheet");
    const Job job;
    const std::string bytes = job.sheet();
    CHECK(bytes == job.sheet());
    const std::string path = save(folder, bytes), info = test::output_of("pdfinfo '" + path + "'");
    CHECK_FALSE(has(info, "CreationDate"));
    const std::size_t count = pages_of(path).size();
    for (std::size_t p = 1; p <= count; ++p) {
        const std::string n = std::to_string(p);
        const std::string text = test::output_of("pdftotext -layout -f " + n + " -l " + n + " '" + path + "' -");
        CHECK(has(text, n + " of " + std::to_string(count)));
        CHECK(has(text, "box: Build sheet"));
        CHECK(has(text, "data sheet, local codes and licensed practice"));
    }
}

TEST_CASE("build sheet: carries every step, every line to measure, every part, every caution", "[files]") {
    const test::ScratchFolder folder("sheet");
    const Job job;
    const std::string text = text_of(save(folder, job.sheet()));
    for (const WorkStep& step : job.design.work.steps) {
        CAPTURE(step.id);
        CHECK(has(text, step.title));
    }
    for (const PlatePart* part : all_parts(job.design)) CHECK(has(text, part->id));
    for (const std::string& caution : job.design.work.cautions) CHECK(has(text, caution.substr(0, 40)));
    for (const HardwareItem& item : job.design.hardware.items) CHECK(has(text, item.id));
    for (const char* words :
         {"Do not cut yet", "Plan", "End view, from end-b", "About 1 :", "Dry-fit sheet", "Turn-over plan",
          "Opening plan", "centre of gravity", "diagonal 1", "806.2 mm"})  // base of 700 x 400
        CHECK(has(text, words));
}

TEST_CASE("build sheet: without a parting line it says so and plans nothing", "[files]") {
    const test::ScratchFolder folder("sheet");
    Job job;
    job.design = test::unparted_design();
    job.layout = {};
    job.plan();
    const std::string text = text_of(save(folder, job.sheet()));
    CHECK(has(text, "There is no fixture to cut"));
    CHECK_FALSE(has(text, "Order of work"));
}

TEST_CASE("build sheet: overall dimensions are those of the fixture", "[files]") {
    // Panels reach 60 beyond the plug's half length of 300, the base 200 to front and back.
    const test::ScratchFolder folder("sheet");
    const Job job;
    const std::string text = text_of(save(folder, job.sheet()));
    CHECK(has(text, "Overall 720 by 400 mm"));
    CHECK(has(text, "138 mm, base included"));  // 120 over the base and 18 of it
}

}  // namespace
}  // namespace cradlewright
