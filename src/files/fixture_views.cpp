// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/fixture_views.hpp"

#include <algorithm>
#include <cmath>

#include "cradlewright/output/drawing.hpp"
#include "files/page_pictures.hpp"

namespace cradlewright {
namespace {

constexpr double wide_px = 720;

template <class Project>
std::vector<Vec2> seen(const PlatePart& part, Project project) {
    std::vector<Vec2> points;
    for (const Vec2 p : flatten(part.outline.outer, 0.1)) points.push_back(project(placed(part, p)));
    return points;
}

/// Box of a plate with its thickness.
template <class Project>
Box2 extent(const PlatePart& part, Project project) {
    Box2 box;
    for (const Vec2 p : flatten(part.outline.outer, 0.1))
        for (const double z : {0.0, -part.thickness_mm}) box.add(project(placed(part, Vec3{p.x, p.y, z})));
    return box;
}

void add(Box2& box, const Box2& other) {
    if (other.is_empty()) return;
    box.add(other.low);
    box.add(other.high);
}

std::vector<Vec2> corners(const Box2& box) {
    return {box.low, {box.high.x, box.low.y}, box.high, {box.low.x, box.high.y}};
}

template <class Project>
Box2 extent_of_all(const Design& design, Project project) {
    Box2 box;
    for (const PlatePart* part : fixture_parts(design)) add(box, extent(*part, project));
    const Box3& plug = design.posed.box_fixture;
    box.add(project(plug.low));
    box.add(project(plug.high));
    return box;
}

std::string size_words(Vec2 size, UnitSystem units) {
    return dimension_text(size.x, units) + " by " + dimension_text(size.y, units) +
           (units == UnitSystem::inch ? " inches" : " mm");
}

/// Overall dimensions below and to the right of the picture.
void overall(Canvas& canvas, const Box2& box, UnitSystem units) {
    const Vec2 low = canvas.at(box.low), high = canvas.at(box.high);
    canvas.dimension({low.x, low.y + 24}, {high.x, low.y + 24}, dimension_text(box.size().x, units));
    canvas.dimension({high.x + 34, low.y}, {high.x + 34, high.y}, dimension_text(box.size().y, units));
}

const Rib* middle_rib(const Cradle& cradle) {
    std::vector<const Rib*> across;
    for (const Rib& rib : cradle.ribs)
        if (std::abs(rib.part.frame.z.x) >= std::abs(rib.part.frame.z.y)) across.push_back(&rib);
    return across.empty() ? nullptr : across[across.size() / 2];
}

}  // namespace

Picture draw_plan(const Design& design) {
    const UnitSystem units = design.settings.units;
    const auto above = [](Vec3 p) { return Vec2{p.x, p.y}; };
    const Box2 box = extent_of_all(design, above);
    Canvas canvas(box, wide_px, 205, {.left = 14, .top = 14 + row_px, .right = 74, .bottom = 40});
    const Cradle& cradle = design.cradle;
    if (!cradle.base.id.empty()) canvas.chain("board", seen(cradle.base, above), true);
    for (const FlangePanel& panel : design.flange.panels) {
        std::vector<std::vector<Vec2>> loops{seen(panel.part, above)};
        for (const Loop& hole : panel.part.outline.holes) {
            loops.emplace_back();
            for (const Vec2 p : flatten(hole, 0.1)) loops.back().push_back(above(placed(panel.part, p)));
        }
        canvas.loops("panel", loops);
    }
    for (const Stringer& strip : cradle.stringers) canvas.chain("rough", corners(extent(strip.part, above)), true);
    LabelRows rows;
    for (const PlatePart* part : standing_plates(cradle)) canvas.chain("thin", corners(extent(*part, above)), true);
    std::vector<const Rib*> ribs;
    for (const Rib& rib : cradle.ribs) ribs.push_back(&rib);
    std::ranges::stable_sort(ribs, {}, [](const Rib* rib) { return rib->station_mm; });
    for (const Rib* rib : ribs) {
        const Box2 at = extent(rib->part, above);
        const Vec2 top = canvas.at({at.center().x, box.high.y});
        if (rows.place(top.x, rib->part.id.size()) == 0)
            canvas.text("lbl", {top.x, top.y - 6}, Anchor::middle, rib->part.id);
    }
    for (const PartingLoop& loop : design.parting.loops) {
        std::vector<Vec2> line;
        for (const Vec3& p : loop.panel_line) line.push_back(above(p));
        canvas.chain("parting", line, true);
    }
    overall(canvas, box, units);
    return std::move(canvas).finish("Plan",
                                    "Front is up, end-a is left. Overall " + size_words(box.size(), units) + ".");
}

Picture draw_elevation(const Design& design) {
    const UnitSystem units = design.settings.units;
    const auto from_end = [](Vec3 p) { return Vec2{p.y, p.z}; };
    const Box2 box = extent_of_all(design, from_end);
    Canvas canvas(box, wide_px, 145, {.left = 14, .top = 14, .right = 130, .bottom = 40});
    const PlatePart& base = design.cradle.base;
    if (!base.id.empty()) canvas.chain("board", corners(extent(base, from_end)), true);
    const Rib* rib = middle_rib(design.cradle);
    if (rib != nullptr) canvas.chain("wood", seen(rib->part, from_end), true);
    const double cut_x = rib != nullptr ? rib->station_mm : design.posed.box_fixture.center().x;
    std::vector<std::vector<Vec2>> material;
    for (const SliceLoop& loop : section_plug(design.posed, cut_x)) material.push_back(loop.points);
    canvas.loops("section", material);
    for (const FlangePanel& panel : design.flange.panels) canvas.chain("panel thin", seen(panel.part, from_end), true);
    overall(canvas, box, units);
    const double top = design.posed.box_fixture.high.z, side = canvas.at(box.high).x + 88;
    canvas.dimension({side, canvas.at({0, 0}).y}, {side, canvas.at({0, top}).y}, dimension_text(top, units));
    return std::move(canvas).finish(
        "End view, from end-b", "Front is right. Overall " + size_words(box.size(), units) +
                                    ", base included; the plug's "
                                    "top is " +
                                    dimension_text(top, units) + " above the base" +
                                    (rib != nullptr ? ". The plug is cut over " + rib->part.id : std::string()) + ".");
}

Picture draw_turn_over(const Design& design) {
    const auto from_front = [](Vec3 p) { return Vec2{-p.x, p.z}; };
    const Box2 box = extent_of_all(design, from_front);
    Canvas canvas(box, wide_px, 200, {.left = 70, .top = 30, .right = 70, .bottom = 48});
    if (!design.cradle.base.id.empty()) canvas.chain("board", corners(extent(design.cradle.base, from_front)), true);
    for (const PlatePart* part : standing_plates(design.cradle))
        canvas.chain("thin", corners(extent(*part, from_front)), true);
    const Box3& plug = design.posed.box_fixture;
    Box2 body;
    body.add(from_front(plug.low));
    body.add(from_front(plug.high));
    canvas.chain("ghost", corners(body), true);
    for (const FlangePanel& panel : design.flange.panels)
        canvas.chain("panel thin", corners(extent(panel.part, from_front)), true);
    const TurnOver& turn = design.work.turn_over;
    for (const double x : turn.straps_mm) {
        const Vec2 low = canvas.at({-x, box.low.y}), high = canvas.at({-x, box.high.y});
        canvas.line("pull", low + Vec2{0, 8}, high - Vec2{0, 8});
        canvas.text("lbl halo", high - Vec2{0, 12}, Anchor::middle, "strap");
    }
    for (const HandHold& hold : turn.holds) {
        const bool is_left = -hold.at.x < box.center().x;
        const Vec2 at = canvas.at(from_front(hold.at));
        if (!(hold.share > 0)) continue;
        canvas.arrow(at + Vec2{is_left ? -44.0 : 44.0, 26}, at + Vec2{is_left ? -4.0 : 4.0, 2});
        canvas.text("lbl", {at.x + (is_left ? -44 : 44), at.y + 40}, Anchor::middle, "hands");
    }
    const Vec2 centre = canvas.at(from_front(turn.centre));
    canvas.circle("node", centre, 5);
    canvas.line("dim", centre - Vec2{10, 0}, centre + Vec2{10, 0});
    canvas.line("dim", centre - Vec2{0, 10}, centre + Vec2{0, 10});
    canvas.text("lbl strong halo", centre + Vec2{14, -8}, Anchor::start, "centre of gravity");
    return std::move(canvas).finish("Straps, hands and centre of gravity, before turning",
                                    "Seen from the front, end-b left.");
}

}  // namespace cradlewright
