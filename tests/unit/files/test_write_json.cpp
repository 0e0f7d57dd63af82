// SPDX-License-Identifier: GPL-3.0-or-later
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>
#include <numbers>

#include "cradlewright/base/error.hpp"
#include "cradlewright/files/write_report.hpp"
#include "support/sample_design.hpp"

namespace cradlewright {
namespace {

using Json = nlohmann::ordered_json;

struct Job {
    Design design;
    CheckReport checks = test::sample_checks();
    Layout layout = lay_out(design);

    [[nodiscard]] std::string text() const {
        return report_json({&design, &checks, &layout, {"cut/rib-1.dxf", "report.json"}});
    }
    [[nodiscard]] Json report() const { return Json::parse(text()); }
};

std::vector<std::string> keys(const Json& json) {
    std::vector<std::string> names;
    for (const auto& [key, value] : json.items()) {
        names.push_back(key);
    }
    return names;
}

bool is_point(const Json& json, std::size_t size) {
    return json.is_array() && json.size() == size &&
           std::all_of(json.begin(), json.end(), [](const Json& v) { return v.is_number(); });
}

bool is_chain(const Json& json, std::size_t size) {
    return json.is_array() && !json.empty() &&
           std::all_of(json.begin(), json.end(), [&](const Json& p) { return is_point(p, size); });
}

using Names = std::vector<std::string>;

// The keys of section 6 of the contract, in its order.
TEST_CASE("the report has the contract's keys", "[files]") {
    const Json r = Job{test::sample_design()}.report();
    CHECK(keys(r) == Names{"schema", "plug", "pose", "parting", "release", "flange", "cradle", "parts", "beads",
                           "layup", "mould", "work", "checks", "sheets", "settings", "files"});
    CHECK(r["schema"] == "cradlewright-report-1");
    CHECK(keys(r["plug"]) == Names{"triangles", "shells", "holes", "area_mm2", "volume_mm3", "mass_kg", "centroid_mm",
                                   "size_mm", "noise_mm", "closed", "extensions"});
    CHECK(keys(r["pose"]) == Names{"tilt_deg", "turn_deg", "pull_fixture", "pull_plug", "scan_to_fixture"});
    CHECK(keys(r["parting"]) == Names{"loops", "out_of_plane_mm", "reason"});
    CHECK(keys(r["parting"]["loops"][0]) ==
          Names{"closed", "length_mm", "panel_line_mm", "silhouette_mm", "trim_line_mm", "edges", "bridges"});
    CHECK(keys(r["parting"]["loops"][0]["edges"][0]) == Names{"id", "rule", "first", "last"});
    CHECK(keys(r["release"]) == Names{"draft_p01_deg", "low_band_mm", "undercut_area_mm2", "undercut_depth_mm",
                                      "locked_area_mm2", "best_pull_plug", "best_draft_deg", "feasible", "half2",
                                      "pulls_lean_deg", "opening_fixture", "lock"});
    CHECK(keys(r["release"]["half2"]) == Names{"draft_p01_deg", "low_band_mm", "undercut_area_mm2", "undercut_depth_mm",
                                               "locked_area_mm2", "best_pull_plug", "best_draft_deg", "feasible",
                                               "pull_fixture", "pull_plug", "pull_from"});
    CHECK(keys(r["release"]["lock"][0]) == Names{"edge", "half", "overrun_mm", "split_mm", "bead_mm", "shrinkage_mm",
                                                 "depth_mm", "depth_low_mm", "depth_high_mm", "holds", "at_mm"});
    CHECK(keys(r["flange"]["panels"][0]) == Names{"id", "edge", "kind", "point_mm", "normal", "width_mm",
                                                  "thickness_mm", "area_mm2", "max_gap_mm", "bevels",
                                                  "flat_outline_mm"});
    CHECK(keys(r["flange"]) == Names{"panels", "straps"});
    CHECK(keys(r["cradle"]) == Names{"ribs", "stringers", "ties", "stops", "trials", "base"});
    CHECK(keys(r["cradle"]["ribs"][0]) ==
          Names{"id", "station_mm", "direction", "thickness_mm", "saddle_mm", "outline_mm", "min_inside_radius_mm"});
    CHECK(keys(r["cradle"]["stringers"][0]) == Names{"id", "edge", "section_mm", "from_mm", "to_mm"});
    CHECK(keys(r["cradle"]["base"]) == Names{"size_mm"});
    CHECK(keys(r["parts"][0]) == Names{"id", "kind", "stock", "thickness_mm", "frame", "fit"});
    CHECK(keys(r["beads"]) ==
          Names{"runs", "clay_volume_mm3", "clay_mass_kg", "join_gap_mm", "cards", "corner_fill_mm", "groove"});
    CHECK(keys(r["beads"]["runs"][0]) ==
          Names{"id", "edge", "kind", "radius_mm", "length_mm", "volume_mm3", "corner_min_deg", "corner_max_deg"});
    CHECK(keys(r["layup"]) == Names{"surface_area_mm2", "cloth", "flat", "fibre_kg", "resin_kg", "hardener_kg",
                                    "gelcoat_kg", "peel_ply_mm2", "thickener_kg", "batch_kg", "surfaces", "halves",
                                    "wax_coats", "film_coats", "shopping", "laminate_thickness_mm", "mould_plies",
                                    "mould_plies_reason"});
    CHECK(keys(r["layup"]["mould_plies"][0]) == Names{"cloth", "plies"});
    CHECK(keys(r["mould"]) == Names{"use", "stiffeners", "stand", "back", "locators", "locator_misfit_mm", "bolts",
                                    "jack_bolts", "wedge_notches", "ports", "hardware_notes", "trim"});
    CHECK(keys(r["checks"][0]) == Names{"id", "subject", "value", "low", "high", "limit", "unit", "relation", "verdict",
                                        "at_mm", "formula", "source", "advice"});
    CHECK(keys(r["sheets"][0]) ==
          Names{"id", "stock", "size_mm", "is_offcut", "use", "needed_mm", "parts", "placements"});
    CHECK(r["files"] == Json({"cut/rib-1.dxf", "report.json"}));
}

TEST_CASE("the plug is measured in the fixture frame", "[files]") {
    const Json plug = Job{test::sample_design()}.report()["plug"];
    CHECK(plug["triangles"] == 12);
    CHECK(plug["holes"] == 2);
    CHECK(plug["shells"] == 1);
    CHECK(plug["area_mm2"].get<double>() == Approx(2 * (600 * 200 + 600 * 40 + 200 * 40)));
    CHECK(plug["volume_mm3"].get<double>() == Approx(600.0 * 200 * 40));
    CHECK(plug["centroid_mm"] == Json({0.0, 0.0, 100.0}));
    CHECK(plug["size_mm"] == Json({600.0, 200.0, 40.0}));
    CHECK(plug["noise_mm"] == 0.0313);  // 0.03125 to four places
    CHECK(plug["closed"] == true);
}

TEST_CASE("the frame of every part that is cut carries its drawing into the fixture", "[files]") {
    const Job job{test::sample_design()};
    const Json parts = job.report()["parts"];
    const std::vector<const PlatePart*> all = all_parts(job.design);
    REQUIRE(parts.size() == all.size());
    for (std::size_t i = 0; i < all.size(); ++i) {
        const PlatePart& part = *all[i];
        CHECK(parts[i]["id"] == part.id);
        CHECK(parts[i]["kind"] == part_kind_name(part.kind));
        CHECK(parts[i]["stock"] == part.stock);
        CHECK(parts[i]["thickness_mm"].get<double>() == Approx(part.thickness_mm));
        const Json& m = parts[i]["frame"];
        CHECK(m[3] == Json({0.0, 0.0, 0.0, 1.0}));
        const Vec2 p = part.outline.outer.vertices.front().at;
        const Vec3 q = part.frame.to_parent(p);
        const std::array<double, 3> wanted{q.x, q.y, q.z};
        for (std::size_t k = 0; k < 3; ++k)
            CHECK(m[k][0].get<double>() * p.x + m[k][1].get<double>() * p.y + m[k][3].get<double>() ==
                  Approx(wanted[k]).margin(1e-5));
    }
}

TEST_CASE("edges are stretches of the panel line", "[files]") {
    const Json loop = Job{test::sample_design()}.report()["parting"]["loops"][0];
    const Json& line = loop["panel_line_mm"];
    CHECK(is_chain(line, 3));
    CHECK(line.size() == 80);  // 1600 mm at 20
    CHECK(loop["length_mm"] == 1600.0);
    CHECK(is_chain(loop["trim_line_mm"], 3));
    CHECK(loop["trim_line_mm"][0][2] == 110.0);
    for (const Json& edge : loop["edges"]) {
        const Json& first = line[edge["first"].get<std::size_t>()];
        CHECK(std::abs(first[0].get<double>()) == 300.0);
        CHECK(std::abs(first[1].get<double>()) == 100.0);
        CHECK(edge["rule"] == "silhouette");
    }
    CHECK(loop["edges"][3]["last"] == loop["edges"][0]["first"]);
}

TEST_CASE("parts are told in numbers a builder can lay a rule on", "[files]") {
    const Json r = Job{test::sample_design()}.report();
    const Json& panel = r["flange"]["panels"][2];
    CHECK(panel["id"] == "panel-front-1");
    CHECK(panel["kind"] == "flat");
    CHECK(panel["area_mm2"].get<double>() == Approx((600 + 720) / 2.0 * 60));
    CHECK(is_chain(panel["flat_outline_mm"], 2));
    const Json& rib = r["cradle"]["ribs"][0];
    CHECK(rib["direction"] == "x");
    CHECK(rib["station_mm"] == -295.5);
    CHECK(rib["outline_mm"][0] == Json({-160.0, 0.0}));
    CHECK(rib["saddle_mm"] == Json({{-90.0, 77.0}, {90.0, 77.0}}));
    CHECK(rib["min_inside_radius_mm"].is_null());  // infinite: nothing to get round
    CHECK(r["cradle"]["stringers"][0]["section_mm"] == Json({12.0, 20.0}));
    CHECK(r["cradle"]["ties"].size() == 2);
    CHECK(r["cradle"]["base"]["size_mm"] == Json({700.0, 400.0, 18.0}));
    const Json& bead = r["beads"]["runs"][2];
    CHECK(bead["corner_min_deg"] == 90.0);
    CHECK(bead["volume_mm3"].get<double>() == Approx(100 * (1 - std::numbers::pi / 4) * 600).margin(1e-4));
}

TEST_CASE("checks carry their own unit and null where nothing is known", "[files]") {
    const Json checks = Job{test::sample_design()}.report()["checks"];
    REQUIRE(checks.size() == 5);
    CHECK(checks[0]["verdict"] == "pass");
    CHECK(checks[0]["unit"] == "mm");
    CHECK(checks[0]["relation"] == "<=");
    CHECK(checks[0]["at_mm"] == Json({1.0, 2.0, 3.0}));
    CHECK(checks[1]["verdict"] == "marginal");
    CHECK(checks[2]["verdict"] == "fail");
    CHECK(checks[2]["at_mm"].is_null());
    CHECK(checks[3]["verdict"] == "unknown");
    CHECK(checks[3]["value"].is_null());
    CHECK(checks[4]["verdict"] == "not-applicable");
}

TEST_CASE("angles of checks are in degrees", "[files]") {
    Job job{test::sample_design()};
    job.checks.checks[0].value = Quantity::of(Angle::deg(30));
    CHECK(job.report()["checks"][0]["value"] == 30.0);
    CHECK(job.report()["checks"][0]["unit"] == "deg");
}

TEST_CASE("settings say where they came from", "[files]") {
    const Json settings = Job{test::sample_design()}.report()["settings"];
    CHECK(settings["pose.tilt"] == Json({{"value", "2 deg"}, {"from", "command-line"}}));
    CHECK(settings["edge.front.slope"] == Json({{"value", "5 deg"}, {"from", "job"}}));
    CHECK(settings["flange.gap"] == Json({{"value", "0.5 mm"}, {"from", "default"}}));
    for (const SettingRow& row : setting_rows()) {
        if (row.key.find('*') == std::string::npos) {
            CHECK(settings.contains(row.key));
        }
    }
}

TEST_CASE("the report does not tell in which folder the scan lay", "[files]") {
    Job job{test::sample_design()};
    job.design.settings.plug.scan = "/home/somebody/scans/board.stl";
    CHECK(job.report()["settings"]["plug.scan"]["value"] == "board.stl");
    CHECK(job.text().find("somebody") == std::string::npos);
}

TEST_CASE("what was not planned is null, not missing and not zero", "[files]") {
    const Json r = Job{test::sample_design()}.report();
    for (const auto& [key, value] : r["layup"].items()) {
        CAPTURE(key);
        const bool is_computed = key == "laminate_thickness_mm" || key.starts_with("mould_plies") || key == "shopping";
        CHECK(value.is_null() != is_computed);
    }
    CHECK(r["mould"]["use"] == "trim-and-bond");
    CHECK(r["mould"]["stiffeners"].is_null());
}

TEST_CASE("plates behind the mould are listed with the stand that they make", "[files]") {
    Job job{test::sample_design()};
    BackHalf half;
    half.stand.origin = {0, 0, 300};
    half.footprint = {{-100, -50}, {100, -50}, {100, 50}, {-100, 50}};
    half.rim = {{-100, -80}, {100, 80}};
    half.centre = {0, 0, 50};
    half.laminate_kg = 2;
    half.free_width_mm = 180;
    BackPlate plate;
    plate.part.id = "back-1-rib-1";
    plate.part.kind = PartKind::mould_rib;
    plate.part.thickness_mm = 9;
    plate.part.outline.outer = make_rectangle({-90, 0}, {90, 60}, CutKind::fit);
    plate.station_mm = 40;
    half.plates.push_back(plate);
    job.design.back.halves.push_back(half);
    const Json mould = job.report()["mould"];
    REQUIRE(mould["stiffeners"].size() == 1);
    const Json& rib = mould["stiffeners"][0];
    CHECK(keys(rib) == Names{"id", "half", "station_mm", "direction", "thickness_mm", "outline_mm", "edge_mm",
                             "min_inside_radius_mm"});
    CHECK(rib["id"] == "back-1-rib-1");
    CHECK(rib["direction"] == "x");
    CHECK(rib["outline_mm"].size() == 4);
    REQUIRE(mould["stand"].size() == 1);
    const Json& stand = mould["stand"][0];
    CHECK(stand["mass_kg"] == 2.0);
    CHECK(stand["centre_mm"] == Json({0.0, 0.0, 50.0}));
    CHECK(stand["frame"][2] == Json({0.0, 0.0, 1.0, 300.0}));
    CHECK(stand["tip_deg"] == 45.0);  // 50 mm to the side, 50 mm up
    CHECK(stand["rim_load_n"].get<double>() == Approx(2 * standard_gravity * 50 / 30).margin(1e-3));
    CHECK(keys(mould["back"]) == Names{"reason", "notes", "laminate_mm", "soft_strip_mm", "soft_strip_length_mm",
                                       "tab_cloth", "tab_plies", "tab_length_mm"});
}

TEST_CASE("hardware is listed by kind with what the shop needs of each", "[files]") {
    const Json mould = Job{test::sample_design()}.report()["mould"];
    REQUIRE(mould["locators"].size() == 1);
    const Json& locator = mould["locators"][0];
    CHECK(keys(locator) == Names{"id", "panel", "at_mm", "axis", "diameter_mm", "height_mm", "draft_deg", "shim_deg"});
    CHECK(locator["id"] == "locator-1");
    CHECK(locator["panel"] == "panel-front-1");
    CHECK(locator["at_mm"] == Json({-200, 135, 100}));
    CHECK(locator["axis"] == Json({0, 0, 1}));
    CHECK(locator["diameter_mm"] == 20);
    CHECK(locator["shim_deg"] == 10);
    CHECK(mould["locator_misfit_mm"] == 12.5);
    CHECK(mould["ports"][0]["half"] == 2);
    CHECK(mould["ports"][0]["to_part_edge_mm"] == 35);
    CHECK(mould["jack_bolts"][0]["pad_mm"] == 25);
    CHECK(mould["bolts"][0]["diameter_mm"] == 6);
    CHECK(mould["wedge_notches"][0]["size_mm"] == Json({30, 15, 3}));
    CHECK(mould["wedge_notches"][0]["out"] == Json({0, 1, 0}));
    CHECK(mould["hardware_notes"] == Json::array({"1 of 3 locators finds no room"}));
    Job single{test::sample_design()};
    single.design.hardware = {};
    single.design.hardware.misfit_mm = std::numeric_limits<double>::infinity();
    CHECK(single.report()["mould"]["locators"] == Json::array());
    CHECK(single.report()["mould"]["locator_misfit_mm"].is_null());
}

TEST_CASE("without a parting line the report stands and says why", "[files]") {
    const Json r = Job{test::unparted_design()}.report();
    CHECK(r["parting"]["loops"].empty());
    CHECK(r["parting"]["reason"] == "the pull lies in every wall");
    CHECK(r["release"]["draft_p01_deg"].is_null());
    CHECK(r["release"]["half2"]["locked_area_mm2"].is_null());
    CHECK(r["release"]["lock"].empty());
    CHECK(r["flange"]["panels"].empty());
    CHECK(r["cradle"]["base"]["size_mm"].is_null());
    CHECK(r["beads"]["clay_mass_kg"].is_null());
}

TEST_CASE("a plug without volume has null where volume is needed", "[files]") {
    Job job{test::sample_design()};
    job.design.posed.plug.mass_kg = std::numeric_limits<double>::quiet_NaN();
    const Json plug = job.report()["plug"];
    CHECK(plug["mass_kg"].is_null());
    CHECK(plug["volume_mm3"].is_null());
    CHECK(plug["centroid_mm"].is_null());
    CHECK(plug["area_mm2"].is_number());
}

TEST_CASE("the text does not hang on last bits and repeats itself", "[files]") {
    Job job{test::sample_design()};
    const std::string text = job.text();
    CHECK(text == Job{test::sample_design()}.text());
    CHECK(text.find("-0.0,") == std::string::npos);
    CHECK(text.find("nan") == std::string::npos);
    for (Vec3& p : job.design.parting.loops[0].panel_line) {
        p.x += 3e-6;
        p.y = std::nextafter(p.y, 0);
    }
    CHECK(job.text() == text);
    CHECK(text.back() == '\n');
}

TEST_CASE("names from outside cannot break the report", "[files]") {
    Job job{test::sample_design()};
    job.checks.checks[0].subject = "a\"b\\c\n\xff";
    CHECK(job.report()["checks"][0]["subject"] == "a\"b\\c\n\xef\xbf\xbd");
    CHECK_THROWS_AS(report_json({}), Error);
}

TEST_CASE("what holds a mould's edge is told in parts that add up", "[files]") {
    const Json lock = Job{test::sample_design()}.report()["release"]["lock"][0];
    CHECK(lock["edge"] == "front");
    CHECK(lock["half"] == 1);
    CHECK(lock["holds"] == "overrun");
    CHECK(lock["overrun_mm"].get<double>() + lock["split_mm"].get<double>() + lock["bead_mm"].get<double>() +
              lock["shrinkage_mm"].get<double>() ==
          Approx(lock["depth_mm"].get<double>()));
    CHECK(lock["depth_low_mm"] == 0.25);
    CHECK(lock["depth_high_mm"] == 0.5);
}

}  // namespace
}  // namespace cradlewright
