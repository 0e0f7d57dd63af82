// SPDX-License-Identifier: GPL-3.0-or-later
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <random>
#include <sstream>

#include "cradlewright/base/error.hpp"
#include "cradlewright/files/job_file.hpp"

using namespace cradlewright;

namespace {

Settings read(std::string_view text) {
    Settings settings;
    read_job_text(text, "job.toml", settings);
    return settings;
}

std::string complaint(std::string_view text) {
    try {
        read(text);
    } catch (const Error& error) {
        CHECK(error.code() == ErrorCode::bad_input);
        return error.what();
    }
    return "accepted";
}

std::vector<std::string> names_for(const Settings& settings, const std::string& key) {
    std::vector<std::string> names;
    const auto take = [&](const auto& entries) {
        for (const auto& [name, entry] : entries) {
            names.push_back(name);
        }
    };
    if (key.starts_with("edge.*")) {
        take(settings.edges);
    } else if (key.starts_with("cloth.*")) {
        take(settings.cloths);
    } else if (key.starts_with("stock.*")) {
        take(settings.stocks);
    } else {
        names.push_back("");
    }
    return names;
}

std::map<std::string, std::string> all_texts(const Settings& settings) {
    std::map<std::string, std::string> texts;
    for (const SettingRow& row : setting_rows()) {
        for (const std::string& name : names_for(settings, row.key)) {
            texts[row.key + " " + name] = row.get(settings, name);
        }
    }
    return texts;
}

/// Settings with every quantity and choice at random, and names of the user's own.
Settings random_settings(std::mt19937_64& random) {
    Settings settings;
    const auto set = [&](const SettingRow& row, const std::string& name) {
        std::string key = row.key;
        if (const auto star = key.find('*'); star != std::string::npos) {
            key.replace(star, 1, name);
        }
        if (row.kind == SettingKind::quantity) {
            const double share = std::uniform_real_distribution<double>(0, 1)(random);
            double value = row.low + share * (row.high - row.low);
            value = row.dimension == Dimension::count ? std::floor(value) : value;
            set_setting(settings, key, format_exact({value, row.dimension}), Origin::job, "test");
        } else if (row.kind == SettingKind::choice) {
            set_setting(settings, key, row.choices[random() % row.choices.size()], Origin::job, "test");
        }
    };
    for (const SettingRow& row : setting_rows()) {
        if (random() % 3 != 0) {
            set(row, row.key.starts_with("edge.") ? "end-a" : row.key.starts_with("cloth.") ? "my-cloth" : "my-sheet");
        }
    }
    return settings;
}

class TemporaryFolder {
public:
    TemporaryFolder() : path_(std::filesystem::temp_directory_path() / "cradlewright-test-job-file") {
        std::filesystem::remove_all(path_);
        std::filesystem::create_directories(path_);
    }
    ~TemporaryFolder() { std::filesystem::remove_all(path_); }
    TemporaryFolder(const TemporaryFolder&) = delete;
    TemporaryFolder& operator=(const TemporaryFolder&) = delete;
    [[nodiscard]] const std::filesystem::path& path() const { return path_; }

private:
    std::filesystem::path path_;
};

}  // namespace

TEST_CASE("a job sets what it names", "[files][job]") {
    const Settings settings = read(R"(
units = "inch"
[plug]
scan = "seat.stl"
unit = "mm"
[pose]
tilt = "12deg"
[edge.front]
slope = "10 deg"
[cradle]
ribs = 5
stations = ["-300mm", "0", "1 1/2 in"]
[limits]
friction = 0.05
[laminate.mould]
plies = ["glass-160 x1", "mine x2"]
[cloth.mine]
areal-mass = "200 g/m2"
class-radius = "12.7mm"
[stock.pvc-3]
thickness = "3.1mm"
)");
    CHECK(settings.units == UnitSystem::inch);
    CHECK(settings.plug.scan == "seat.stl");
    CHECK(settings.pose.tilt.deg() == Approx(12));
    CHECK(settings.edges.at("front").slope.value().deg() == Approx(10));
    CHECK_FALSE(settings.edges.at("front").width.has_value());
    CHECK(settings.cradle.ribs == 5);
    CHECK(settings.cradle.stations_mm == std::vector<double>{-300, 0, Length::inch(1.5).mm()});
    CHECK(settings.limits.friction == 0.05);
    CHECK(parse_plies(settings, settings.laminate_mould.plies, "test").size() == 2);
    CHECK(settings.stocks.at("pvc-3").thickness_mm == 3.1);
    CHECK(settings.stocks.at("pvc-3").material == "rigid-pvc");
    CHECK(settings.origin.at("edge.front.slope") == Origin::job);
    CHECK_FALSE(settings.origin.contains("edge.front.width"));
}

TEST_CASE("caliper checks", "[files][job]") {
    const Settings settings = read(R"(
[[caliper]]
name = "span"
axis = "span"
measured = "842mm"
[[caliper]]
name = "root to tip"
from = "-421mm, 0, 10mm"
to = "421mm, 1in, 0"
measured = "2ft 9in"
)");
    REQUIRE(settings.calipers.size() == 2);
    CHECK(settings.calipers[0].measured.mm() == 842);
    CHECK(settings.calipers[1].to == Vec3{421, 25.4, 0});
    CHECK(settings.calipers[1].measured.inch() == Approx(33));
    CHECK_THAT(complaint("[caliper]\nname = \"a\"\n"), Catch::Contains("[[caliper]]"));
    CHECK_THAT(complaint("caliper = 3\n"), Catch::Contains("[[caliper]]"));
    CHECK_THAT(complaint("[[caliper]]\nname = \"a\"\naxes = \"span\"\n"),
               Catch::StartsWith("job.toml:3:1:") && Catch::Contains("did you mean axis?"));
    CHECK_THAT(complaint("[[caliper]]\nname = \"a\"\naxis = \"span\"\nmeasured = 842\n"),
               Catch::StartsWith("job.toml:4:12: caliper.measured"));
    CHECK_THAT(complaint("[[caliper]]\nname = \"a\"\nmeasured = \"842mm\"\n"), Catch::Contains("needs either axis"));
    CHECK_THAT(complaint("[[caliper]]\nname = \"a\"\nfrom = \"1mm, 2mm\"\n"), Catch::Contains("three lengths"));
    CHECK_THAT(complaint("[[caliper]]\nname = \"a\"\nfrom = \"1mm, 2mm, 3mm, 4mm\"\n"),
               Catch::Contains("caliper.from"));
}

TEST_CASE("mistakes are named with line and column and the nearest name", "[files][job]") {
    CHECK(complaint("[flange]\n  wdith = \"60mm\"\n") ==
          "job.toml:2:3: unknown setting \"flange.wdith\"; did you mean flange.width?");
    CHECK(complaint("[flnage]\n") == "job.toml:1:2: unknown section \"flnage\"; did you mean [flange]?");
    CHECK_THAT(complaint("[laminate.mold]\n"), Catch::Contains("did you mean [laminate.mould]?"));
    CHECK(complaint("[flange]\nwidth = \"60m\"\n") ==
          "job.toml:2:9: flange.width: \"60m\" is outside 5 mm to 500 mm; did you mean 60 mm?");
    CHECK_THAT(complaint("[flange]\nwidth = 60\n"),
               Catch::StartsWith("job.toml:2:9: flange.width: \"60\" has no unit"));
    CHECK_THAT(complaint("[flange]\nwidth = true\n"), Catch::Contains("in quotes"));
    CHECK_THAT(complaint("[flange]\nwidth = 2020-01-01\n"), Catch::Contains("in quotes"));
    CHECK_THAT(complaint("[flange]\nwidth = [\"60mm\"]\n"), Catch::Contains("in quotes"));
    CHECK_THAT(complaint("[plug]\nscan = 3\n"), Catch::Contains("in quotes"));
    CHECK_THAT(complaint("[cradle]\nstations = [100, 200]\n"), Catch::StartsWith("job.toml:2:13:"));
    CHECK_THAT(complaint("[cradle]\nribs = nan\n"), Catch::Contains("not a number"));
    CHECK_THAT(complaint("[cradle]\nribs = inf\n"), Catch::Contains("not a number"));
    CHECK_THAT(complaint("[limits]\nfriction = 1e300\n"), Catch::Contains("too large"));
    CHECK_THAT(complaint("flange = 3\n"), Catch::Contains("is a section"));
    CHECK_THAT(complaint("[flange.width]\n"), Catch::Contains("is a setting"));
    CHECK_THAT(complaint("[edge.Front]\nslope = \"1deg\"\n"), Catch::Contains("a-z"));
    CHECK_THAT(complaint("[flange\n"), Catch::StartsWith("job.toml:1:"));
    CHECK_THAT(complaint("width = \n"), Catch::StartsWith("job.toml:1:"));
    CHECK_THAT(complaint("\xff\xfe"), Catch::StartsWith("job.toml:1:"));
    CHECK_THAT(complaint("[flange]\nwidth = \"60mm\"\nwidth = \"70mm\"\n"), Catch::StartsWith("job.toml:3:"));
}

TEST_CASE("the first mistake in the file is the one reported", "[files][job]") {
    // Tables of the parser are sorted by name; "bead" comes before "saw" there.
    CHECK_THAT(complaint("[saw]\nblade = 6\n[bead]\nradius = 3\n"), Catch::StartsWith("job.toml:2:"));
    CHECK_THAT(complaint("[bead]\nradius = 3\n[saw]\nblade = 6\n"), Catch::StartsWith("job.toml:2:"));
}

TEST_CASE("brackets without a name are refused with their line", "[files][job]") {
    for (const char* line : {"[[[", "[[[a]]]", "[!]", "[\xc3\xa9]", "[=]", "[[!", "[#]", "[\n]"}) {
        CAPTURE(line);
        CHECK_THAT(complaint(std::string("[flange]\nwidth = \"60mm\"\n") + line + "\n[pose]\n"),
                   Catch::StartsWith("job.toml:3"));
    }
    CHECK_THAT(complaint("[!]"), Catch::StartsWith("job.toml:1"));
}

TEST_CASE("letters beyond ASCII belong in texts and comments only", "[files][job]") {
    CHECK_THAT(complaint("[flange]\nwidth\xc3\xa2 = \"60mm\"\n"), Catch::StartsWith("job.toml:2:6:"));
    CHECK_THAT(complaint("[flange]\nwidth =\xc2\xa0\"60mm\"\n"), Catch::StartsWith("job.toml:2:8:"));
    CHECK_THAT(complaint("[flange]\nwidth = \"60mm\xe2\x80\xb3\"\n"), Catch::Contains("left over"));
    CHECK_THAT(complaint("[plug]\nscan = \"\"\"a\nb\"\"\"\n"), Catch::StartsWith("job.toml:2:8:"));
    const Settings settings = read("\xef\xbb\xbf# \xc2\xbd inch \"\n[plug]\nscan = 'k\xc3\xa4yak \\' # \xe2\x80\xaf\n");
    CHECK(settings.plug.scan == "k\xc3\xa4yak \\");
    CHECK(read("[plug]\nscan = '\xe2\x82\xac \"a\" \xf0\x9f\x9a\xa3'\n").plug.scan ==
          "\xe2\x82\xac \"a\" \xf0\x9f\x9a\xa3");
    for (const char* broken : {"\xff", "\xc3", "\xc0\xaf", "\xed\xa0\x80", "\xf4\x90\x80\x80", "\x80"}) {
        CHECK_THAT(complaint(std::string("[plug]\nscan = \"") + broken + "\"\n"), Catch::Contains("UTF-8"));
        CHECK_THAT(complaint(std::string("\n# ") + broken + "\n"), Catch::StartsWith("job.toml:2:3: is not UTF-8"));
    }
    CHECK(read("[plug]\nscan = \"a \\\" \xc3\xa4\"\n").plug.scan == "a \" \xc3\xa4");
}

TEST_CASE("hostile text is refused in one short line", "[files][job]") {
    std::string deep;
    for (int i = 0; i < 100000; ++i) {
        deep += '[';
    }
    const std::vector<std::string> hostile{deep,
                                           "a = " + deep,
                                           std::string(3, '\0'),
                                           "[\"a\\nb\\u001b\"]\n",
                                           "[" + std::string(200000, 'a') + "]\n",
                                           std::string(200000, 'a') + " = 1\n"};
    for (const std::string& text : hostile) {
        const std::string message = complaint(text);
        CHECK(message != "accepted");
        CHECK(message.size() < 400);
        CHECK(message.find_first_of("\n\x1b") == std::string::npos);
    }
}

TEST_CASE("a relative scan is taken from the job's folder", "[files][job]") {
    Settings settings;
    read_job_text("[plug]\nscan = \"../scans/seat.stl\"\n", "jobs/seat/job.toml", settings);
    CHECK(settings.plug.scan == "jobs/scans/seat.stl");
    read_job_text("[pose]\ntilt = \"3deg\"\n", "elsewhere/job.toml", settings);
    CHECK(settings.plug.scan == "jobs/scans/seat.stl");
    CHECK(settings.plug.second_scan.empty());
    read_job_text("[plug]\nsecond-scan = \"under.stl\"\n", "jobs/seat/job.toml", settings);
    CHECK(settings.plug.second_scan == "jobs/seat/under.stl");
    read_job_text("[plug]\nscan = \"/data/seat.stl\"\n", "jobs/seat/job.toml", settings);
    CHECK(settings.plug.scan == "/data/seat.stl");
}

TEST_CASE("job files are read from disk; missing and huge ones are refused", "[files][job]") {
    const TemporaryFolder folder;
    const auto path = folder.path() / "job.toml";
    std::ofstream(path) << "[flange]\nwidth = \"75mm\"\n";
    Settings settings;
    read_job(path, settings);
    CHECK(settings.flange.width.mm() == 75);
    CHECK_THROWS_AS(read_job(folder.path() / "none.toml", settings), Error);
    CHECK_THROWS_AS(read_job(folder.path(), settings), Error);
    std::ofstream(path) << std::string((std::size_t{4} << 20) + 1, '#');
    CHECK_THROWS_WITH(read_job(path, settings), Catch::Contains("4 MiB"));
}

TEST_CASE("the default job file reads back as the defaults, with or without its hashes", "[files][job]") {
    const Settings defaults;
    const std::string text = job_text(defaults);
    const Settings back = read(text);
    CHECK(all_texts(back) == all_texts(defaults));
    CHECK(back.origin.empty());
    for (const SettingRow& row : setting_rows()) {
        CAPTURE(row.key);
        const std::string name = row.key.substr(row.key.rfind('.') + 1);
        CHECK((text.find("#" + name + " = ") != std::string::npos || row.key.starts_with("edge.")));
        CHECK(text.find(row.help.substr(0, 30)) != std::string::npos);
    }

    // Every default line, made active, must be a line that the reader takes.
    std::string active;
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) {
        CHECK(line.size() <= 120);
        active += line.starts_with('#') && !line.starts_with("# ") ? line.substr(1) + "\n" : line + "\n";
    }
    const Settings told = read(active);
    auto texts = all_texts(told);
    CHECK(told.calipers.size() == 1);
    CHECK(told.origin.size() > 100);
    CHECK(texts == all_texts(defaults));
}

TEST_CASE("any settings come back from their job file", "[files][job][property]") {
    std::mt19937_64 random(5);
    for (int i = 0; i < 60; ++i) {
        Settings settings = random_settings(random);
        settings.plug.scan = "a \"quoted\" \\ name\twith \xc3\xa9.stl";
        settings.cradle.stations_mm = {-100.1, 0, 33.3};
        settings.laminate_part.plies = "glass-160 x1, carbon-200 x2";
        add_caliper(settings,
                    {.name = "tip \"a\"",
                     .axis = "",
                     .from = Vec3{0.1, -2, 3e-7},
                     .to = Vec3{1e5, 1, 1},
                     .measured = Length::mm(1.0 / 3)},
                    "test");
        add_caliper(settings, {.name = "height", .axis = "up", .from = {}, .to = {}, .measured = Length::inch(3)},
                    "test");
        const std::string text = job_text(settings);
        CAPTURE(text);
        const Settings back = read(text);
        REQUIRE(all_texts(back) == all_texts(settings));
        REQUIRE(back.calipers == settings.calipers);
        REQUIRE(job_text(back) == text);
    }
}
