// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <limits>
#include <regex>
#include <set>

#include "cradlewright/base/error.hpp"
#include "cradlewright/files/write_report.hpp"
#include "files/page_pictures.hpp"
#include "support/sample_design.hpp"
#include "support/text.hpp"

namespace cradlewright {
namespace {

using test::count_of;
using test::has;

struct Job {
    Design design;
    CheckReport checks = test::sample_checks();
    Layout layout = lay_out(design);

    [[nodiscard]] std::string page() const {
        return report_html({&design, &checks, &layout, {"cut/rib-1.svg", "fixture.glb", "report.json"}, nullptr});
    }
};

std::vector<std::string> all_matches(const std::string& text, const std::string& pattern) {
    const std::regex regex(pattern);
    std::vector<std::string> found;
    for (std::sregex_iterator it(text.begin(), text.end(), regex), end; it != end; ++it) {
        found.push_back((*it)[1]);
    }
    return found;
}

/// The loops of a path, px.
std::vector<std::vector<Vec2>> path_loops(const std::string& d) {
    std::vector<std::vector<Vec2>> loops;
    const std::regex point("([ML])(-?[0-9.]+) (-?[0-9.]+)");
    for (std::sregex_iterator it(d.begin(), d.end(), point), end; it != end; ++it) {
        if ((*it)[1] == "M") loops.emplace_back();
        loops.back().push_back({std::stod((*it)[2]), std::stod((*it)[3])});
    }
    return loops;
}

/// The page without what browsers do not read as markup: style, comments, the text of scripts and data.
std::string markup_of(std::string page) {
    const auto erase_between = [&](std::string_view from, std::string_view to) {
        for (std::size_t at = 0; (at = page.find(from, at)) != std::string::npos;) {  // too long for a regex
            at = page.find('>', at) + 1;
            page.erase(at, page.find(to, at) - at);
        }
    };
    erase_between("<style", "</style>");
    erase_between("<script", "</script>");
    for (std::size_t at = 0; (at = page.find("<!--", at)) != std::string::npos;)
        page.erase(at, page.find("-->", at) + 3 - at);
    return page;
}

/// Empty when every element is closed in order; else the first that is not. Source: HTML Living Standard, 13.1.2.
std::string first_unbalanced(const std::string& page) {
    const std::set<std::string> open_ended{"!DOCTYPE", "meta", "br", "input"};
    std::vector<std::string> stack;
    const std::regex tag("<(/?)([A-Za-z!][A-Za-z0-9]*)[^>]*?(/?)>");
    const std::string body = markup_of(page);
    for (std::sregex_iterator it(body.begin(), body.end(), tag), end; it != end; ++it) {
        const std::string name = (*it)[2];
        if (open_ended.count(name) > 0 || (*it)[3] == "/") {
            continue;
        }
        if ((*it)[1] != "/") {
            stack.push_back(name);
        } else if (stack.empty() || stack.back() != name) {
            return "</" + name + ">";
        } else {
            stack.pop_back();
        }
    }
    return stack.empty() ? "" : "<" + stack.back() + ">";
}

void check_sound(const std::string& page) {
    CHECK(page.starts_with("<!DOCTYPE html>"));
    CHECK(first_unbalanced(page) == "");
    std::vector<std::string> ids = all_matches(page, " id=\"([^\"]*)\"");
    const std::set<std::string> unique(ids.begin(), ids.end());
    CHECK(unique.size() == ids.size());
    for (const std::string& target : all_matches(page, "href=\"#([^\"]*)\"")) {
        INFO(target);
        CHECK(unique.count(target) == 1);
    }
    for (const std::string& labels : all_matches(page, "aria-labelledby=\"([^\"]*)\"")) {
        for (const std::string& label : all_matches(labels + " ", "([^ ]+) ")) {
            INFO(label);
            CHECK(unique.count(label) == 1);
        }
    }
    const std::string markup = markup_of(page);
    // Each picture is named for those who cannot see it; the legend's patches stand beside their words.
    CHECK(count_of(markup, "<svg") ==
          count_of(markup, "role=\"img\"") + count_of(markup, "aria-hidden=\"true\"><rect"));
    CHECK_FALSE(has(markup, "nan"));
    CHECK(page.size() < 2u << 20);
}

TEST_CASE("the page is whole, in both unit systems and without a parting line", "[files]") {
    Job job{test::sample_design()};
    check_sound(job.page());
    job.design.settings.units = UnitSystem::inch;
    check_sound(job.page());
    check_sound(Job{test::unparted_design()}.page());
    CHECK(job.page() == job.page());
    CHECK_THROWS_AS(report_html({}), Error);
}

TEST_CASE("every step of the work plan has its own box to tick, every line to measure its field", "[files]") {
    Job job{test::sample_design()};
    Design& d = job.design;
    d.work = plan_work({d.posed, d.parting, d.flange, d.cradle, d.beads, d.cards, d.templates, d.joint, d.hardware,
                        d.layup, d.back, d.settings});
    const std::string page = job.page();
    check_sound(page);
    const std::vector<std::string> ticks = all_matches(page, "data-tick=\"([^\"]*)\"");
    const std::set<std::string> unique(ticks.begin(), ticks.end());
    CHECK(unique.size() == ticks.size());
    for (const WorkStep& step : d.work.steps) CHECK(unique.count(step.id) == 1);
    const std::vector<std::string> fields = all_matches(page, "data-note=\"([^\"]*)\"");
    CHECK(fields.size() == d.work.dry_fit.size());
    CHECK(has(page, "href=\"#work\""));
}

TEST_CASE("the page asks nothing of the network", "[files]") {
    const Job job{test::sample_design()};
    const Scene scene = make_scene(job.design);
    const std::string page = report_html({&job.design, &job.checks, &job.layout, {"fixture.glb"}, &scene});
    check_sound(page);
    CHECK(has(page, "default-src 'none'"));
    CHECK(count_of(page, "http-equiv") == 1);  // that one
    const std::string markup = markup_of(page);
    for (const char* loader : {"<link", "<iframe", "<img", "<object", "<embed", "src=", "srcset", "@import", "url(",
                               "xlink:href", "@font-face"}) {
        INFO(loader);
        CHECK_FALSE(has(markup, loader));
    }
    const std::string style = page.substr(page.find("<style>"), page.find("</style>") - page.find("<style>"));
    for (const char* loader : {"@import", "url(", "@font-face"}) CHECK_FALSE(has(style, loader));
    // Tick boxes, other tilts, library, camera, view; and the data.
    CHECK(count_of(markup, "<script>") == 5);
    CHECK(count_of(markup, "<script type=\"application/json\"") == 1);
    CHECK(count_of(markup, "<script") == 6);
    CHECK(has(page, "the MIT License"));
    for (const std::string& address : all_matches(page, "href=\"([^\"]*)\"")) {
        INFO(address);
        CHECK((address.starts_with("#") || address.starts_with("./")));
    }
}

TEST_CASE("names from outside stay text", "[files]") {
    const std::string hostile = "\"><script>alert('x')</script>&amp;";
    Job job{test::sample_design()};
    job.design.posed.plug.name = hostile;
    job.design.parting.loops[0].edges[0].id = hostile;
    job.design.flange.panels[0].part.note = hostile;
    job.design.flange.panels[0].id = hostile;
    job.design.cradle.ribs[0].part.id = hostile;
    job.checks.checks[2].advice = hostile;
    job.checks.checks[2].subject = hostile;
    job.design.beads.radius_from = hostile;
    job.layout.too_large = {hostile};
    job.layout.sheets[0].stock = hostile;
    Scene scene = make_scene(job.design);
    scene.nodes[1].name = hostile;
    const std::string page =
        report_html({&job.design, &job.checks, &job.layout, {hostile, "javascript:alert(1)"}, &scene});
    check_sound(page);
    CHECK_FALSE(has(page, "<script>alert"));
    CHECK(count_of(markup_of(page), "<script") == 6);
    CHECK(has(page, "&quot;&gt;&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;&amp;amp;"));
    CHECK(has(page, "href=\"./javascript%3Aalert%281%29\""));
}

TEST_CASE("the first thing said is whether to cut, and what to do first", "[files]") {
    Job job{test::sample_design()};
    const std::string page = job.page();
    CHECK(has(page, "Do not cut yet: 1 check fails and 1 could not be judged."));
    CHECK(page.find("trim 3 mm from the rib") < page.find("weigh the plug"));
    CHECK(page.find("Do not cut yet") < page.find("<nav"));
    CHECK(page.find("trim 3 mm from the rib") < page.find("<nav"));

    job.checks.checks.erase(job.checks.checks.begin() + 2);
    CHECK(has(job.page(), "No check fails, but 1 check could not be judged"));
    job.checks.checks.erase(job.checks.checks.begin() + 2);
    CHECK(has(job.page(), "Fit to cut with care: 1 check is near the limit."));
    job.checks.checks.erase(job.checks.checks.begin() + 1);
    CHECK(has(job.page(), "Fit to cut: 1 check passes, none near its limit."));

    const std::string unparted = Job{test::unparted_design()}.page();
    CHECK(has(unparted, "There is no fixture to cut"));
    CHECK(has(unparted, "the pull lies in every wall"));
}

TEST_CASE("places of one check share one line at the top", "[files]") {
    Job job{test::sample_design()};
    job.checks.checks.push_back(job.checks.checks[2]);
    job.checks.checks.push_back(job.checks.checks[2]);
    const std::string page = job.page();
    CHECK(has(page, "(fail, panel-front-1 and 2 more): trim 3 mm from the rib"));
    CHECK(count_of(page.substr(0, page.find("<nav")), "trim 3 mm") == 1);
}

TEST_CASE("the page tells what holds a mould's edge, and of free edges nothing", "[files]") {
    Job job{test::sample_design()};
    const std::string page = job.page();
    const std::size_t at = page.find("What holds the mould&#39;s edges");
    REQUIRE(at != std::string::npos);
    const std::string table = page.substr(at, page.find("</table>", at) - at);
    for (const char* word : {">front<", "0.5 mm", "-0.25 mm", "0.38 mm (0.25 mm to 0.5 mm)", "overrun"}) {
        INFO(word);
        CHECK(has(table, word));
    }
    CHECK_FALSE(has(table, ">back<"));
    job.design.locks.clear();
    CHECK(has(job.page(), "Nothing holds the mould's edges"));
}

TEST_CASE("verdicts are told by sign and word", "[files]") {
    const std::string page = Job{test::sample_design()}.page();
    for (const char* verdict : {"&#10003;</span>pass", ">!</span>marginal", "&#10007;</span>fail", ">?</span>unknown",
                                "&ndash;</span>does not apply"}) {
        INFO(verdict);
        CHECK(has(page, verdict));
    }
}

TEST_CASE("every part, joint, setting and file is on the page", "[files]") {
    const Job job{test::sample_design()};
    const std::string page = job.page();
    for (const PlatePart* part : all_parts(job.design)) {
        INFO(part->id);
        CHECK(count_of(page, ">" + part->id + "</span>") >= 1);
    }
    CHECK(has(page, "half lap"));
    CHECK(has(page, ">command line<"));
    CHECK(has(page, ">job file<"));
    CHECK(has(page, "href=\"./cut/rib-1.svg\""));
    for (const SettingRow& row : setting_rows()) {
        if (row.key.find('*') == std::string::npos) {
            CHECK(has(page, ">" + row.key + "</span>"));
        }
    }
    CHECK(has(page, "overrule"));
}

TEST_CASE("hardware has its table, steps and cautions; what finds no room comes first", "[files]") {
    Job job{test::sample_design()};
    const auto section = [](const std::string& page) {
        const std::size_t from = page.find("<section id=\"hardware\"");
        REQUIRE(from != std::string::npos);
        return page.substr(from, page.find("</section>", from) - from);
    };
    const std::string text = section(job.page());
    for (const HardwareItem& item : job.design.hardware.items) CHECK(has(text, ">" + item.id + "</span>"));
    CHECK(has(text, "-200, 135, 100"));
    CHECK(has(text, "shim of 10 deg"));
    CHECK(has(text, "12.5 mm off its socket"));
    CHECK(has(text, "half 2&#39;s flange; 35 mm from the part&#39;s edge") +
              has(text, "half 2's flange; 35 mm from the part's edge") ==
          1);
    CHECK(text.find("1 of 3 locators finds no room") < text.find("<table"));
    for (const char* caution : {"never of steel", "Eye protection", "low pressure", "in line with the joint", "dust"})
        CHECK(has(text, caution));
    // Level panels need no shims, a mould alone no hardware.
    job.design.hardware.items[0].shim_rad = 0;
    CHECK_FALSE(has(section(job.page()), "shim"));
    job.design.hardware = {.items = {}, .locator = {}, .misfit_mm = 0, .notes = {"a single mould meets no other half"}};
    const std::string alone = section(job.page());
    CHECK(has(alone, "A single mould meets no other half."));
    CHECK_FALSE(has(alone, "<table"));
}

TEST_CASE("lengths follow the chosen units", "[files]") {
    Job job{test::sample_design()};
    CHECK(has(job.page(), "600 mm &times; 200 mm &times; 40 mm"));
    job.design.settings.units = UnitSystem::inch;
    const std::string inches = job.page();
    // 600 / 25.4 = 23.622 = 23 40/64; 200 / 25.4 = 7.874 = 7 56/64; 40 / 25.4 = 1.5748 = 1 37/64.
    CHECK(has(inches, "23 5/8 in &times; 7 7/8 in &times; 1 37/64 in"));
    CHECK_FALSE(has(inches, "600 mm"));
}

TEST_CASE("numbers on drawings are short", "[files]") {
    CHECK(short_number(12.50, 2) == "12.5");
    CHECK(short_number(100, 1) == "100");
    CHECK(short_number(100, 0) == "100");
    CHECK(short_number(-0.001, 2) == "0");
    CHECK(dimension_text(76.2, UnitSystem::inch) == "3");
    CHECK(dimension_text(std::numeric_limits<double>::infinity(), UnitSystem::metric) == "?");
}

TEST_CASE("saddle heights are read off the cut edge", "[files]") {
    Rib rib;
    rib.saddle = {{-100, 50}, {-50, 50}, {-50, 40}, {0, 20}, {100, 70}};
    CHECK(saddle_height(rib, -75) == 50);
    CHECK(saddle_height(rib, -50) == 40);  // at a step the lower side
    CHECK(saddle_height(rib, -25) == Approx(30));
    CHECK(saddle_height(rib, 100) == Approx(70));
    CHECK(std::isnan(saddle_height(rib, 100.5)));
    CHECK(std::isnan(saddle_height(Rib{}, 0)));
}

TEST_CASE("offsets are round distances that span every saddle", "[files]") {
    Cradle cradle;
    cradle.ribs.resize(2);
    cradle.ribs[0].saddle = {{-93, 50}, {20, 50}};
    cradle.ribs[1].saddle = {{-10, 50}, {108, 50}};
    CHECK(offset_places(cradle, UnitSystem::metric) == std::vector<double>{-80, -60, -40, -20, 0, 20, 40, 60, 80, 100});
    const std::vector<double> inches = offset_places(cradle, UnitSystem::inch);
    REQUIRE(inches.size() == 8);  // -3 to 4 in
    CHECK(inches.front() == Approx(-3 * 25.4));
    CHECK(offset_places(Cradle{}, UnitSystem::metric).empty());
}

TEST_CASE("the end view shows the plug cut over the middle rib", "[files]") {
    const std::string body = draw_end_view(test::sample_design()).body;
    const std::vector<std::string> sections = all_matches(body, "class=\"section\" d=\"([^\"]*)\"");
    REQUIRE(sections.size() == 1);
    const auto loops = path_loops(sections[0]);
    REQUIRE(loops.size() == 1);
    Box2 box;
    for (const Vec2 p : loops[0]) box.add(p);
    // A box cut square to its span: as broad and high as the box, to a tenth of a px.
    using S = test::SampleSizes;
    CHECK(box.size().x / box.size().y == Approx(S::half_width / S::half_height).epsilon(0.01));
}

TEST_CASE("a rib drawn from its mirrored face has the same shape", "[files]") {
    Rib rib = test::sample_design().cradle.ribs[0];
    rib.part.outline.holes.clear();
    rib.part.outline.outer.vertices[1].bulge = 0.25;
    const std::string body = draw_rib(rib, {0}, UnitSystem::metric).body;
    // The same plate with its drawn face toward end-a: x of the part runs to -y, and arcs turn the other way.
    rib.part.frame = {rib.part.frame.origin, {0, -1, 0}, {0, 0, 1}, {-1, 0, 0}};
    for (PathVertex& v : rib.part.outline.outer.vertices) {
        v.at.x = -v.at.x;
        v.bulge = -v.bulge;
    }
    rib.part.outline.outer = reversed(rib.part.outline.outer);
    const auto sorted = [](std::string text) {
        std::sort(text.begin(), text.end());
        return text;
    };
    // The outline starts elsewhere and runs the other way, but the same digits are drawn.
    CHECK(sorted(draw_rib(rib, {0}, UnitSystem::metric).body) == sorted(body));
}

}  // namespace
}  // namespace cradlewright
