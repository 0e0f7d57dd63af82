// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <regex>
#include <set>

#include "cradlewright/base/error.hpp"
#include "cradlewright/catalog/options.hpp"

using namespace cradlewright;

namespace {

std::string complaint(std::string_view key, std::string_view text) {
    Settings settings;
    try {
        set_setting(settings, key, text, Origin::job, "job.toml:3:5");
    } catch (const Error& error) {
        CHECK(error.code() == ErrorCode::bad_input);
        return error.what();
    }
    return "accepted";
}

template <class Action>
std::string complaint_of(Action action) {
    try {
        action();
    } catch (const Error& error) {
        CHECK(error.code() == ErrorCode::bad_input);
        return error.what();
    }
    return "accepted";
}

/// A key of the row; built-in names stand for the star so that the entry exists.
std::string full_key(const SettingRow& row) {
    std::string key = row.key;
    const std::size_t star = key.find('*');
    if (star != std::string::npos) {
        key.replace(star, 1, key.starts_with("cloth") ? "glass-300" : key.starts_with("stock") ? "pvc-3" : "front");
    }
    return key;
}

std::map<std::string, std::string> all_texts(const Settings& settings) {
    std::map<std::string, std::string> texts;
    for (const SettingRow& row : setting_rows()) {
        texts[full_key(row)] = get_setting(settings, full_key(row));
    }
    return texts;
}

/// Texts that differ from any default and that the row must take.
std::vector<std::string> other_values(const SettingRow& row) {
    static const std::map<std::string, std::vector<std::string>> texts{
        {"plug.scan", {"scan of the seat.stl"}},
        {"plug.second-scan", {"underside of the seat.stl"}},
        {"plug.second-points", {"0,0,5 = 12,40,3; 400,0,5 = 12,440,3; 200,-90.5,0 = 99,240,1e-3"}},
        {"plug.known", {"842mm along span", "4ft 2in along span"}},
        {"edge.*.polyline", {"-300 mm, 40 mm, -2 mm, 300.5 mm, 40 mm, 0 mm"}},
        {"edge.*.from", {"120 mm, 40 mm, -2 mm"}},
        {"edge.*.to", {"0 mm, -40.25 mm, 3 mm"}},
        {"pose.pull", {"plug-up", "best", "0,0.2,1", "-1, 0, 0"}},
        {"pose.pull-2", {"vertical", "plug-down", "best", "0,0.2,-1"}},
        {"pose.up", {"-z", "x", "0,0.1,1"}},
        {"pose.span", {"-y", "z"}},
        {"flange.stock", {"pp-3", "my-own-sheet"}},
        {"cradle.stations", {"-300 mm, 0 mm, 300.5 mm"}},
        {"cradle.rib-stock", {"mdf-9"}},
        {"mould.stiffener-stock", {"pvc-3"}},
        {"cradle.stringer-stock", {"pine-20x40"}},
        {"cradle.base-stock", {"mdf-18"}},
        {"bead.radius", {"9.5mm", "3/8in"}},
        {"bead.corner-fill", {"0 mm", "12mm"}},
        {"bead.card-stock", {"hardboard-3"}},
        {"stock.*.offcuts", {"600mm x 400mm, 24in x 250mm"}},
        {"plug.template-stock", {"pvc-2"}},
        {"laminate.mould.plies", {"carbon-93 x1, roving-600 x3"}},
        {"laminate.part.plies", {"mat-300 x2"}},
        {"paper.size", {"letter", "600mm x 900mm", "24in roll"}},
        {"paper.parts", {"rib, panel-front-1"}},
        {"paper.measured", {"99.6mm, 100.2mm", "99.6,100.2"}},
    };
    if (row.kind == SettingKind::quantity) {
        return {format_exact({row.low, row.dimension}), format_exact({row.high, row.dimension})};
    }
    if (row.kind == SettingKind::choice) {
        return row.choices;
    }
    REQUIRE(texts.contains(row.key));
    return texts.at(row.key);
}

}  // namespace

TEST_CASE("rows are well formed", "[catalog][options]") {
    std::set<std::string> keys;
    static const std::regex shape("[a-z]+(-[a-z]+)*(\\.([a-z]+|\\*))?(\\.[a-z]+(-[a-z0-9]+)*)?");
    for (const SettingRow& row : setting_rows()) {
        CAPTURE(row.key);
        CHECK(keys.insert(row.key).second);
        CHECK(std::regex_match(row.key, shape));
        CHECK(row.help.ends_with('.'));
        CHECK((row.kind != SettingKind::quantity || row.low < row.high));
        CHECK((row.kind == SettingKind::choice) == !row.choices.empty());
        CHECK(find_setting(full_key(row)) == &row);
    }
}

TEST_CASE("the contract's sections are there", "[catalog][options]") {
    for (const char* key : {"plug.scan",
                            "pose.tilt",
                            "release.min-draft",
                            "edge.front.slope",
                            "edge.rim.width",
                            "flange.width",
                            "cradle.ribs",
                            "cradle.stations",
                            "bead.radius",
                            "mould.use",
                            "laminate.mould.plies",
                            "laminate.part.gel-coat",
                            "cloth.mine.areal-mass",
                            "stock.mine.thickness",
                            "paper.size",
                            "saw.blade",
                            "router.cutter",
                            "limits.tip-factor",
                            "cut-by",
                            "units"}) {
        CAPTURE(key);
        CHECK(find_setting(key) != nullptr);
    }
    CHECK(find_setting("edge..slope") == nullptr);
    CHECK(find_setting("edge.a.b.slope") == nullptr);
    CHECK(find_setting("edge.*") == nullptr);
    CHECK(find_setting("") == nullptr);
}

TEST_CASE("each setting changes its own field and no other", "[catalog][options]") {
    const auto defaults = all_texts(Settings());
    for (const SettingRow& row : setting_rows()) {
        const std::string key = full_key(row);
        bool has_changed = false;
        for (const std::string& value : other_values(row)) {
            CAPTURE(key, value);
            Settings settings;
            REQUIRE_NOTHROW(set_setting(settings, key, value, Origin::job, "test"));
            CHECK(get_setting(settings, key) == value);
            CHECK(settings.origin.at(key) == Origin::job);
            auto texts = all_texts(settings);
            has_changed = has_changed || texts[key] != defaults.at(key);
            texts[key] = defaults.at(key);
            CHECK(texts == defaults);
        }
        CHECK(has_changed);
    }
}

TEST_CASE("defaults are within their own ranges", "[catalog][options]") {
    const Settings defaults;
    for (const SettingRow& row : setting_rows()) {
        const std::string key = full_key(row);
        const std::string text = get_setting(defaults, key);
        if (row.key.starts_with("edge.")) {
            CHECK(text.empty());
            continue;
        }
        CAPTURE(key, text);
        Settings settings;
        REQUIRE_NOTHROW(set_setting(settings, key, text, Origin::command_line, ""));
        CHECK(all_texts(settings) == all_texts(defaults));
    }
    CHECK_NOTHROW(check_settings(defaults));
}

TEST_CASE("just beyond the range is refused and changes nothing", "[catalog][options]") {
    for (const SettingRow& row : setting_rows()) {
        if (row.kind != SettingKind::quantity) {
            continue;
        }
        const double step = row.dimension == Dimension::count ? 1 : (row.high - row.low) * 1e-6;
        for (const double beyond : {row.low - step, row.high + step}) {
            const std::string text = format_exact({beyond, row.dimension});
            CAPTURE(row.key, text);
            Settings settings;
            CHECK_THROWS_AS(set_setting(settings, full_key(row), text, Origin::job, "test"), Error);
            CHECK(all_texts(settings) == all_texts(Settings()));
            CHECK(settings.edges.empty());
            CHECK(settings.origin.empty());
        }
    }
}

TEST_CASE("mistakes are answered with what was meant", "[catalog][options]") {
    CHECK(complaint("flange.wdith", "60mm") ==
          "job.toml:3:5: unknown setting \"flange.wdith\"; did you mean flange.width?");
    CHECK_THAT(complaint("edge.front.sloep", "10deg"), Catch::Contains("did you mean edge.front.slope?"));
    CHECK_THAT(complaint("laminate.mold.plies", "x"), Catch::Contains("did you mean laminate.mould.plies?"));
    CHECK_THAT(complaint("quite.something-else", "1"), Catch::Contains("unknown setting"));
    CHECK_THAT(complaint("edge.Front.slope", "10deg"), Catch::Contains("names are made of a-z"));
    CHECK(complaint("flange.width", "60m") ==
          "job.toml:3:5: flange.width: \"60m\" is outside 5 mm to 500 mm; did you mean 60 mm?");
    CHECK_THAT(complaint("flange.width", "60"), Catch::Contains("has no unit") && Catch::Contains("9.5mm"));
    CHECK_THAT(complaint("flange.width", "10deg"), Catch::Contains("is not a length"));
    CHECK_THAT(complaint("pose.tilt", "200 rad"), Catch::Contains("-80 deg to 80 deg"));
    CHECK_THAT(complaint("pose.tilt", "12 rad"), Catch::Contains("did you mean 12 deg?"));
    CHECK_THAT(complaint("release.min-draft", "61deg"), Catch::Contains("for example 1 deg"));
    CHECK_THAT(complaint("plug.density", "40 g/cm3"), Catch::Contains("did you mean 40 kg/m3?"));
    CHECK_THAT(complaint("cradle.ribs", "2.5"), Catch::Contains("whole number"));
    CHECK_THAT(complaint("limits.seat-share", "60"), Catch::Contains("did you mean 60%?"));
    CHECK_THAT(complaint("cut-by", "saww"), Catch::Contains("did you mean saw?"));
    CHECK_THAT(complaint("mould.use", "lamp"), Catch::Contains("single, trim-and-bond, join-in-mould"));
    CHECK_THAT(complaint("stock.mine.material", "birch-plywod"), Catch::Contains("did you mean birch-plywood?"));
}

TEST_CASE("texts with a shape of their own are checked when set", "[catalog][options]") {
    for (const char* text : {"up", "0,0,0", "1,2", "1,2,3,4", "1,nan,2", "a,b,c", "", ",,"}) {
        CAPTURE(text);
        CHECK(complaint("pose.pull", text) != "accepted");
        CHECK(complaint("pose.pull-2", text) != "accepted");
        CHECK(complaint("pose.up", text) != "accepted");
    }
    CHECK(complaint("pose.pull", "x") != "accepted");
    CHECK(complaint("pose.up", "--x") != "accepted");
    CHECK(complaint("bead.radius", "0mm") != "accepted");
    CHECK(complaint("bead.radius", "automatic") != "accepted");
    CHECK(complaint("plug.known", "842mm") != "accepted");
    for (const char* pairs :
         {"1,2,3", "1,2,3 = 4,5,6", "1,2,3 = 4,5,6; 1,2,3 = 4,5,6", "a,b,c = 1,2,3; 1,2 = 3,4; 5 = 6"})
        CHECK(complaint("plug.second-points", pairs) != "accepted");
    CHECK(complaint("plug.known", "-842mm along span") != "accepted");
    CHECK(complaint("plug.unit", "km") != "accepted");
    CHECK(complaint("flange.stock", "PVC 3") != "accepted");
    CHECK(complaint("cradle.stations", "100mm, 250") != "accepted");
    CHECK(complaint("cradle.stations", "100mm,, 250mm") != "accepted");
    for (const char* text : {"", "glass-300 4", "glass-300 x0", "glass-300 x101", "glass-300 x2x", "Glass x1",
                             "glass-300 x-1", "glass-300 x2,"}) {
        CAPTURE(text);
        CHECK(complaint("laminate.mould.plies", text) != "accepted");
    }
    CHECK(parse_known(" 842mm along span ", "test").mm() == 842);
}

TEST_CASE("blanks around a text do not matter and an empty list of stations clears it", "[catalog][options]") {
    Settings settings;
    set_setting(settings, "cut-by", " router ", Origin::job, "");
    CHECK(settings.cut_by == CutMethod::router);
    set_setting(settings, "cradle.stations", "-0.3m,0,1ft", Origin::job, "");
    CHECK(settings.cradle.stations_mm == std::vector<double>{-300, 0, Length::inch(12).mm()});
    set_setting(settings, "cradle.stations", "  ", Origin::job, "");
    CHECK(settings.cradle.stations_mm.empty());
}

TEST_CASE("plies", "[catalog][options]") {
    const Settings settings;
    const auto runs = parse_plies(settings, "glass-160, glass-300 x4,carbon-93  x 2", "test");
    REQUIRE(runs.size() == 3);
    CHECK(runs[0].cloth.name == "glass-160");
    CHECK(runs[0].count == 1);
    CHECK(runs[1].count == 4);
    CHECK(runs[2].count == 2);
    CHECK(complaint_of([&] { parse_plies(settings, "glas-300 x4", "laminate.part.plies"); }) ==
          "laminate.part.plies: unknown cloth \"glas-300\"; did you mean glass-300?");
}

TEST_CASE("plies of a count that is left open", "[catalog][options]") {
    Settings settings;
    CHECK(parse_plies(settings, "glass-160, glass-300 xauto", "test", 7).back().count == 7);
    CHECK(complaint_of([&] { parse_plies(settings, "glass-300 xauto", "--mould-plies"); }) ==
          "--mould-plies: how many plies of glass-300 is auto, which only a whole mould can decide; say how many, for "
          "example glass-300 x4");
    CHECK_THAT(complaint_of([&] { parse_plies(settings, "glass-160 xauto, glass-300 xauto", "test", 1); }),
               Catch::Contains("only one cloth can be xauto"));
    check_settings(settings);  // the mould's default is open
    set_setting(settings, "laminate.part.plies", "glass-300 xauto", Origin::job, "");
    CHECK_THAT(complaint_of([&] { check_settings(settings); }), Catch::Contains("laminate.part.plies"));
}

TEST_CASE("a new cloth needs its weight and its radius before it is used", "[catalog][options]") {
    Settings settings;
    set_setting(settings, "cloth.mine.fibre-mass-fraction", "45%", Origin::job, "test");
    const auto use = [&] { parse_plies(settings, "mine x2", "test"); };
    CHECK_THAT(complaint_of(use), Catch::Contains("cloth.mine.areal-mass is not set"));
    set_setting(settings, "cloth.mine.areal-mass", "6oz/yd2", Origin::job, "test");
    CHECK_THAT(complaint_of(use), Catch::Contains("cloth.mine.class-radius is not set"));
    set_setting(settings, "cloth.mine.class-radius", "1/2in", Origin::job, "test");
    REQUIRE(complaint_of(use) == "accepted");
    const Cloth cloth = parse_plies(settings, "mine x2", "test").front().cloth;
    CHECK(cloth.name == "mine");
    CHECK(cloth.class_radius_mm == Approx(12.7));
    CHECK(ArealMass::kg_mm2(cloth.areal_mass_kg_mm2).g_m2() ==
          Approx(203.43).epsilon(1e-4));  // 6 x 28.3495 g / 0.836127 m2
    CHECK(cloth.fibre_e_mpa > 0);
    CHECK(cloth.source.key == "told");
    CHECK(cloth.class_radius_high_mm == 0);

    // An overhang test stands for the radius; both told contradict each other, but not beside a built-in radius.
    set_setting(settings, "cloth.other.areal-mass", "200g/m2", Origin::job, "test");
    set_setting(settings, "cloth.other.overhang", "90mm", Origin::job, "test");
    CHECK(parse_plies(settings, "other x2", "test").front().cloth.overhang_mm == 90);
    set_setting(settings, "cloth.glass-300.overhang", "90mm", Origin::job, "test");
    CHECK_NOTHROW(check_settings(settings));
    set_setting(settings, "cloth.mine.overhang", "90mm", Origin::job, "test");
    CHECK_THAT(complaint_of([&] { check_settings(settings); }), Catch::Contains("cloth.mine.class-radius is told too"));
}

TEST_CASE("a new stock needs its material and sizes before it is used", "[catalog][options]") {
    Settings settings;
    CHECK_THAT(complaint_of([&] { stock(settings, "pvc3"); }), Catch::Contains("did you mean pvc-3?"));
    const std::pair<const char*, const char*> fields[] = {
        {"material", "mdf"}, {"thickness", "6.3mm"}, {"length", "4ft"}, {"width", "2ft"}};
    set_setting(settings, "stock.mine.length", "8ft", Origin::job, "test");
    for (const auto& [field, value] : fields) {
        CHECK(complaint_of([&] { stock(settings, "mine"); }) != "accepted");
        set_setting(settings, std::string("stock.mine.") + field, value, Origin::job, "test");
    }
    CHECK(stock(settings, "mine").thickness_mm == 6.3);
    CHECK(stock(settings, "mine").source.key == "told");
    CHECK(stock(Settings(), "pvc-3").source.key == "common-practice");
}

TEST_CASE("paper", "[catalog][options]") {
    const auto size = [](std::string text) {
        PaperOptions options;
        options.size = std::move(text);
        return paper_size(options);
    };
    CHECK(size("a4").width_mm == 210);
    CHECK(size("8.5in x 11in").height_mm == Approx(279.4));
    CHECK(size("600mmX900mm").name == "custom");
    for (const char* text :
         {"a5", "", "600x900", "10mm x 900mm", "6m x 900mm", "x", "600mm x", "600mm x 900mm x 2mm"}) {
        CAPTURE(text);
        CHECK(complaint_of([&] { size(text); }) != "accepted");
    }
    PaperOptions paper;
    paper.margin = Length::mm(95);
    CHECK_THAT(complaint_of([&] { paper_size(paper); }), Catch::Contains("paper.margin"));
}

TEST_CASE("printer correction makes the bars come out at 100 mm", "[catalog][options]") {
    PaperOptions paper;
    CHECK(print_correction(paper) == Vec2{1, 1});
    paper.measured = "99.5mm, 4in";
    const Vec2 factor = print_correction(paper);
    CHECK(factor.x * 99.5 == Approx(100));
    CHECK(factor.y * 101.6 == Approx(100));
    for (const char* text : {"99", "50, 100", "100, 111", "100, 100, 100", "a, b", "nan, 100"}) {
        CAPTURE(text);
        paper.measured = text;
        CHECK(complaint_of([&] { print_correction(paper); }) != "accepted");
    }
}

TEST_CASE("caliper checks are whole before they are taken", "[catalog][options]") {
    Settings settings;
    const auto add = [&](CaliperCheck c) { return complaint_of([&] { add_caliper(settings, std::move(c), "test"); }); };
    const Length measured = Length::mm(212.4);
    CHECK(add({.name = "chord", .axis = "front", .from = {}, .to = {}, .measured = measured}) == "accepted");
    CHECK(add({.name = "diagonal", .axis = "", .from = Vec3{0, 0, 0}, .to = Vec3{1, 2, 3}, .measured = measured}) ==
          "accepted");
    CHECK_THAT(add({.name = "chord", .axis = "up", .from = {}, .to = {}, .measured = measured}),
               Catch::Contains("given twice"));
    CHECK(add({.name = "", .axis = "up", .from = {}, .to = {}, .measured = measured}) != "accepted");
    CHECK(add({.name = "a", .axis = "", .from = {}, .to = {}, .measured = measured}) != "accepted");
    CHECK(add({.name = "b", .axis = "", .from = Vec3{}, .to = {}, .measured = measured}) != "accepted");
    CHECK(add({.name = "c", .axis = "up", .from = Vec3{}, .to = Vec3{}, .measured = measured}) != "accepted");
    CHECK(add({.name = "d", .axis = "sideways", .from = {}, .to = {}, .measured = measured}) != "accepted");
    CHECK(add({.name = "e", .axis = "up", .from = {}, .to = {}, .measured = {}}) != "accepted");
    CHECK(settings.calipers.size() == 2);
}

TEST_CASE("settings that contradict each other are named", "[catalog][options]") {
    const auto check = [](std::initializer_list<std::pair<const char*, const char*>> changes) {
        Settings settings;
        for (const auto& [key, text] : changes) {
            set_setting(settings, key, text, Origin::job, "test");
        }
        return complaint_of([&] { check_settings(settings); });
    };
    CHECK(check({{"flange.gap", "3mm"}, {"flange.gap-limit", "4mm"}}) == "accepted");
    CHECK_THAT(check({{"flange.gap", "3mm"}}), Catch::StartsWith("flange.gap:"));
    CHECK_THAT(check({{"release.min-draft", "5deg"}}), Catch::StartsWith("release.min-draft:"));
    CHECK_THAT(check({{"flange.stock", "pvc-5"}}), Catch::StartsWith("flange.stock:") && Catch::Contains("pvc-"));
    CHECK_THAT(check({{"laminate.part.plies", "nothing x1"}}), Catch::StartsWith("laminate.part.plies:"));
    CHECK_THAT(check({{"cradle.ribs", "1"}}), Catch::StartsWith("cradle.ribs:"));
    CHECK_THAT(check({{"cradle.stations", "0mm"}}), Catch::StartsWith("cradle.stations:"));
    CHECK_THAT(check({{"paper.margin", "90mm"}, {"paper.overlap", "50mm"}}), Catch::StartsWith("paper.margin:"));
}

TEST_CASE("the nearest name", "[catalog][options]") {
    const std::vector<std::string> names{"width", "slope", "gap", "gap-limit"};
    CHECK(nearest_name("widht", names) == "width");  // neighbours swapped
    CHECK(nearest_name("witdh", names) == "width");
    CHECK(nearest_name("slop", names) == "slope");    // left out
    CHECK(nearest_name("slopee", names) == "slope");  // one too many
    CHECK(nearest_name("gap_limit", names) == "gap-limit");
    CHECK(nearest_name("gap", names) == "gap");
    CHECK(nearest_name("colour", names).empty());
    CHECK(nearest_name("", names).empty());
    CHECK(nearest_name("width", {}).empty());
    CHECK(nearest_name(std::string(1'000'000, 'w'), names).empty());
}
