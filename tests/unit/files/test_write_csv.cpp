// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>

#include "cradlewright/base/error.hpp"
#include "cradlewright/files/write_report.hpp"

namespace cradlewright {
namespace {

Design sample() {
    Design design;
    design.settings.stocks["test"] = {"test", "birch-plywood", 9, 1000, 500, {}};
    PlatePart rib;
    rib.id = "rib-1";
    rib.kind = PartKind::rib;
    rib.stock = "test";
    rib.thickness_mm = 9.05;
    rib.outline.outer = make_rectangle({0, 0}, {80, 200}, CutKind::rough);
    rib.outline.outer.vertices[2].cut = CutKind::fit;
    rib.outline.holes = {make_circle({40, 50}, 10, CutKind::fit, true)};
    rib.note = "bevel 3 deg, \"high\" side up";
    design.cradle.ribs.push_back({});
    design.cradle.ribs.back().part = rib;
    design.cradle.base = rib;
    design.cradle.base.id = "base";
    design.cradle.base.kind = PartKind::base;
    design.cradle.base.outline = {make_rectangle({0, 0}, {2000, 300}, CutKind::rough), {}};
    design.cradle.base.note = "";
    return design;
}

TEST_CASE("the cut list has one line a part", "[files]") {
    const Design design = sample();
    const Layout layout = lay_out(design);
    // Rib: 16000 - 100 pi mm2; fit 80 + 20 pi, rough 480. Base: longer than its stock.
    CHECK(cutlist_csv({.design = &design, .checks = nullptr, .layout = &layout, .files = {}}) ==
          "part,kind,stock,thickness_mm,length_mm,width_mm,area_mm2,cut_fit_mm,cut_rough_mm,sheet,note\n"
          "rib-1,rib,test,9.05,200.0,80.0,15686,142.8,480.0,test-1,\"bevel 3 deg, \"\"high\"\" side up\"\n"
          "base,base,test,9.05,2000.0,300.0,600000,0.0,4600.0,too large,\n");
}

TEST_CASE("an empty design gives the head line only", "[files]") {
    const Design design;
    const Layout layout;
    const std::string text = cutlist_csv({.design = &design, .checks = nullptr, .layout = &layout, .files = {}});
    CHECK(std::count(text.begin(), text.end(), '\n') == 1);
    CHECK_THROWS_AS(cutlist_csv({}), Error);
}

}  // namespace
}  // namespace cradlewright
