// SPDX-License-Identifier: GPL-3.0-or-later
// Parsed by Python's JSON and XML readers, drawn by librsvg: none shares code with the writers.
#include <catch2/catch.hpp>
#include <cmath>

#include "cradlewright/files/write_sweep.hpp"
#include "outside_tools.hpp"

using namespace cradlewright;

namespace {

Sweep sample() {
    Sweep sweep;
    for (const double tilt : {-10.0, 0.0, 10.0}) {
        SweepRow row;
        row.tilt_rad = Angle::deg(tilt).rad();
        row.has_line = tilt < 5;
        row.reason = row.has_line ? "" : "no line <here> & \"there\"";
        row.half = {SweepHalf{4 + tilt / 10, 1, 0, 0}, SweepHalf{std::nan(""), 1, 2, 30}};
        row.standing = {Angle::deg(3).rad(), std::nan("")};
        row.height_mm = 127;
        row.access = {{"front", {0.75, std::nan("")}}, {"inner-1 <&>", {0.5, 0.25}}};
        if (tilt == 0) row.failing = {"bead.cover"};
        sweep.rows.push_back(row);
    }
    sweep.edge_names = {"front", "inner-1 <&>"};
    sweep.best = 1;
    sweep.reason = "because <1> & so";
    return sweep;
}

std::string python(const std::string& script, const std::string& path) {
    return test::output_of("/usr/bin/python3 -c '" + script + "' '" + path + "'");
}

}  // namespace

TEST_CASE("sweep JSON reads back, unknown figures as null", "[files][sweep]") {
    const test::ScratchFolder folder("sweep-json");
    const std::string path = folder / "sweep.json";
    std::ofstream(path, std::ios::binary) << sweep_json(sample());
    const std::string text = python(
        "import json, sys; d = json.load(open(sys.argv[1])); r = d[\"rows\"]; print(d[\"schema\"], "
        "round(d[\"recommended_tilt_deg\"], 9), [round(x[\"tilt_deg\"], 9) for x in r], "
        "r[0][\"half1\"][\"draft_deg\"], "
        "r[0][\"half2\"][\"draft_deg\"], r[0][\"tip_deg\"], r[0][\"failing\"], r[1][\"failing\"], "
        "r[1][\"access\"][1][\"half2\"], r[2][\"has_line\"], \"half1\" in r[2], r[2][\"height_mm\"])",
        path);
    CHECK(text ==
          "cradlewright-sweep-1 0.0 [-10.0, 0.0, 10.0] 3.0 None None None ['bead.cover'] 0.25 False False 127.0\n");
}

TEST_CASE("sweep chart is XML that librsvg draws", "[files][sweep]") {
    const test::ScratchFolder folder("sweep-svg");
    const std::string path = folder / "sweep.svg";
    std::ofstream(path, std::ios::binary) << sweep_chart_svg(sample(), UnitSystem::inch);
    const std::string words = python(
        "import sys, xml.etree.ElementTree as e; print(\"|\".join(t.text or \"\" for t in e.parse(sys.argv[1]).iter() "
        "if "
        "t.tag.endswith(\"text\") or t.tag.endswith(\"desc\")))",
        path);
    for (const char* word : {"because <1> & so", "inner-1 <&>", "Undercut, in", "Height over the base, in", "half 2",
                             "slide demand", "recommended, 0.0 deg", "-10", "|10"})
        CHECK(words.find(word) != std::string::npos);
    CHECK_NOTHROW(test::output_of("rsvg-convert -o '" + (folder / "a.png") + "' '" + path + "'"));
    CHECK(std::filesystem::file_size(folder / "a.png") > 1000);
}
