// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <numeric>
#include <regex>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/stages/hardware.hpp"
#include "support/sample_design.hpp"

using namespace cradlewright;

namespace {

using S = test::SampleSizes;
using Sizes = HardwareSizes;
using std::numbers::pi;

Hardware hardware_of(const Design& d) {
    const MouldJoint joint = plan_mould_joint(d.parting, d.beads, d.settings);
    return place_hardware(d.posed, d.parting, d.flange, d.cradle, d.beads, joint, d.settings);
}

std::vector<HardwareItem> of_kind(const Hardware& hardware, HardwareKind kind) {
    std::vector<HardwareItem> items;
    std::ranges::copy_if(hardware.items, std::back_inserter(items), [&](const auto& i) { return i.kind == kind; });
    return items;
}

const FlangePanel& panel_of(const Design& d, const HardwareItem& item) {
    return *std::ranges::find(d.flange.panels, item.panel, &FlangePanel::id);
}

/// The rim that others keep off: what the shop puts there.
double rim_mm(const HardwareItem& item, const LocatorShape& shape) {
    switch (item.kind) {
        case HardwareKind::locator:
            return shape.radius_mm;
        case HardwareKind::port:
            return Sizes::nozzle / 2;
        case HardwareKind::jack:
            return Sizes::pad / 2;
        default:
            return Sizes::washer / 2;
    }
}

/// The sample's panels made wider or narrower; corners stay mitred.
Design with_width(double width) {
    Design d = test::sample_design();
    for (FlangePanel& panel : d.flange.panels) {
        const double half = panel.part.outline.outer.vertices[1].at.x;
        panel.part.outline.outer =
            make_loop({{-half, 0}, {half, 0}, {half + width, width}, {-half - width, width}}, CutKind::fit);
        panel.width_mm = width;
    }
    return d;
}

/// A disc of radius 150 with a ring of panel round it, 60 wide; a bead whose foot is 10 out. Nothing stands under it.
Design disc_design() {
    constexpr int points = 720;
    constexpr double r = 150, z = 100, width = 60, foot = 10;
    Design d = test::sample_design();
    d.cradle = {};
    PartingLoop loop;
    BeadRun run;
    run.panel = "panel-rim-1";
    std::vector<Vec3> trim;
    for (int i = 0; i < points; ++i) {
        const Vec3 out{std::cos(2 * pi * i / points), std::sin(2 * pi * i / points), 0};
        loop.panel_line.push_back(out * r + Vec3{0, 0, z});
        loop.outward.push_back(out);
        trim.push_back(loop.panel_line.back() + Vec3{0, 0, foot});
        run.sections.push_back({.joint = loop.panel_line.back(),
                                .center = {},
                                .on_plug = trim.back(),
                                .on_panel = loop.panel_line.back() + out * foot,
                                .clay_center = {}});
    }
    loop.length_mm = polyline_length(loop.panel_line, true);
    loop.edges = {{"rim", EdgeRule::silhouette, 0, 0, {}}};
    d.parting.loops = {loop};
    FlangePanel panel;
    panel.id = panel.part.id = run.panel;
    panel.edge = "rim";
    panel.part.frame.origin = panel.point = {0, 0, z};
    panel.normal = {0, 0, 1};
    panel.width_mm = width;
    panel.part.outline.outer = make_circle({0, 0}, r + width, CutKind::rough, false);
    panel.part.outline.holes = {make_circle({0, 0}, r + 0.5, CutKind::fit, true)};
    d.flange.panels = {panel};
    d.beads = {};
    d.beads.radius_mm = foot;
    d.beads.runs = {run};
    d.beads.trim_lines = {trim};
    return d;
}

/// Everything that hardware looks at, moved rigidly; the loop written from another point on.
Design moved_design(Design d, const Frame3& motion, std::size_t shift) {
    const auto move = [&](Vec3& p) { p = motion.to_parent(p); };
    const auto turn = [&](Vec3& v) { v = motion.direction_to_parent(v); };
    const auto place = [&](PlatePart& part) { part.frame = compose(motion, part.frame); };
    const std::size_t n = d.parting.loops[0].panel_line.size();
    const auto renumber = [&](std::size_t& i) { i = (i + n - shift) % n; };
    PartingLoop& loop = d.parting.loops[0];
    std::ranges::for_each(loop.panel_line, move);
    std::ranges::for_each(loop.outward, turn);
    std::rotate(loop.panel_line.begin(), loop.panel_line.begin() + static_cast<std::ptrdiff_t>(shift),
                loop.panel_line.end());
    std::rotate(loop.outward.begin(), loop.outward.begin() + static_cast<std::ptrdiff_t>(shift), loop.outward.end());
    for (PartingEdge& edge : loop.edges) {
        renumber(edge.first);
        renumber(edge.last);
    }
    for (FlangePanel& panel : d.flange.panels) {
        place(panel.part);
        move(panel.point);
        turn(panel.normal);
        renumber(panel.first);
        renumber(panel.last);
    }
    for (Rib& rib : d.cradle.ribs) place(rib.part);
    for (Stringer& stringer : d.cradle.stringers) place(stringer.part);
    for (PlatePart& tie : d.cradle.ties) place(tie);
    for (PlatePart& stop : d.cradle.stops) place(stop);
    for (BeadRun& run : d.beads.runs)
        for (BeadSection& section : run.sections) {
            move(section.joint);
            move(section.on_panel);
        }
    for (std::vector<Vec3>& line : d.beads.trim_lines) std::ranges::for_each(line, move);
    d.posed.pose.scan_to_fixture = compose(motion, d.posed.pose.scan_to_fixture);
    turn(d.posed.pose.pull_fixture);
    turn(d.posed.pose.pull2_fixture);
    return d;
}

/// Largest distance left between two sets of points in a plane, paired, after the best turn and shift (and mirror).
/// Source: least squares in the plane, closed form; for the largest distance an upper bound of the best.
double left_after_fit(const std::vector<Vec2>& from, const std::vector<Vec2>& to, bool is_mirrored) {
    Vec2 a{}, b{};
    const auto n = static_cast<double>(from.size());
    const auto of = [&](Vec2 p) { return is_mirrored ? Vec2{p.x, -p.y} : p; };
    for (std::size_t i = 0; i < from.size(); ++i) {
        a += of(from[i]) / n;
        b += to[i] / n;
    }
    double c = 0, s = 0;
    for (std::size_t i = 0; i < from.size(); ++i) {
        c += dot(of(from[i]) - a, to[i] - b);
        s += cross(of(from[i]) - a, to[i] - b);
    }
    const double turn = std::atan2(s, c);
    double worst = 0;
    for (std::size_t i = 0; i < from.size(); ++i) {
        const Vec2 p = of(from[i]) - a;
        const Vec2 q =
            b + Vec2{std::cos(turn) * p.x - std::sin(turn) * p.y, std::sin(turn) * p.x + std::cos(turn) * p.y};
        worst = std::max(worst, norm(q - to[i]));
    }
    return worst;
}

/// Distance of the worst point from the nearest of the others.
double worst_off(const std::vector<Vec2>& pegs, const std::vector<Vec2>& sockets) {
    double worst = 0;
    for (const Vec2 peg : pegs) {
        double nearest = std::numeric_limits<double>::infinity();
        for (const Vec2 socket : sockets) nearest = std::min(nearest, norm(peg - socket));
        worst = std::max(worst, nearest);
    }
    return worst;
}

std::vector<Vec2> plan_of_locators(const Hardware& hardware) {
    std::vector<Vec2> plan;
    for (const HardwareItem& item : of_kind(hardware, HardwareKind::locator)) plan.push_back({item.at.x, item.at.y});
    return plan;
}

void check_apart(const Design& d, const Hardware& hardware) {
    for (const HardwareItem& a : hardware.items) {
        const FlangePanel& panel = panel_of(d, a);
        CAPTURE(a.id, panel.id, a.flat.x, a.flat.y);
        CHECK(std::abs(dot(a.at - panel.point, panel.normal)) < 1e-9);
        CHECK(norm(panel.part.frame.to_parent(a.flat) - a.at) < 1e-9);
        const Polygons outline = to_polygons(panel.part.outline, 0.001);
        if (a.kind == HardwareKind::notch) continue;
        const double rim = rim_mm(a, hardware.locator), edge = a.kind == HardwareKind::bolt ? 0 : Sizes::apart;
        for (int k = 0; k < 24; ++k)
            CHECK(contains(outline, a.flat + Vec2{std::cos(k * pi / 12), std::sin(k * pi / 12)} * (rim + edge - 0.02)));
        for (const HardwareItem& b : hardware.items) {
            if (&a == &b) continue;
            CAPTURE(b.id);
            if (b.kind != HardwareKind::notch) {
                CHECK(norm(a.at - b.at) >= rim + rim_mm(b, hardware.locator) + Sizes::apart - 1e-6);
                continue;
            }
            // The nearest place of the notch's rectangle.
            const Vec3 off = a.at - b.at;
            const double in = std::clamp(-dot(off, b.out), 0.0, Sizes::notch_depth);
            const Vec3 along = cross(b.normal, b.out);
            const double aside = std::clamp(dot(off, along), -Sizes::notch_width / 2, Sizes::notch_width / 2);
            CHECK(norm(off + b.out * in - along * aside) >= rim + Sizes::apart - 1e-6);
        }
    }
}

}  // namespace

TEST_CASE("round a disc everything stands where the closed form says", "[checks][hardware]") {
    const Design d = disc_design();
    const Hardware hardware = hardware_of(d);
    CHECK(hardware.notes.empty());
    constexpr double middle = 150 + (10 + 60) / 2;
    const auto angle_of = [](const HardwareItem& item) {
        const double angle = std::atan2(item.at.y, item.at.x);
        return angle < -1e-9 ? angle + 2 * pi : angle;
    };
    // Three for less than 1600 mm of line; gaps as 1 : 1.3 : 1.7 from the +x axis on.
    const std::vector<HardwareItem> locators = of_kind(hardware, HardwareKind::locator);
    REQUIRE(locators.size() == 3);
    const double turns[] = {0, 1 / 4.0, 2.3 / 4};
    for (std::size_t i = 0; i < 3; ++i) {
        CHECK(norm(Vec2{locators[i].at.x, locators[i].at.y}) == Approx(middle).margin(0.01));
        CHECK(angle_of(locators[i]) == Approx(2 * pi * turns[i]).margin(1e-4));
    }
    // Chords of the gaps; the swap of the two ends of the shortest one leaves the longest and the middle one to agree.
    const auto chord = [&](double gap) { return 2 * middle * std::sin(pi * gap / 4); };
    CHECK(hardware.misfit_mm == Approx(std::min(chord(1.7) - chord(1.3), chord(1.3) - chord(1.0)) / 2).margin(0.05));
    // Four bolts for 942 mm at most 250 apart, in the middle of what the bead leaves, none alone on its side.
    const std::vector<HardwareItem> bolts = of_kind(hardware, HardwareKind::bolt);
    REQUIRE(bolts.size() == 4);
    for (std::size_t i = 0; i < 4; ++i) {
        CHECK(norm(Vec2{bolts[i].at.x, bolts[i].at.y}) == Approx(middle).margin(0.01));
        CHECK(std::abs(angle_of(bolts[i]) - (static_cast<double>(i) + 0.5) * pi / 2) < pi / 4);
    }
    CHECK(of_kind(hardware, HardwareKind::jack).size() == 4);
    const std::vector<HardwareItem> ports = of_kind(hardware, HardwareKind::port);
    REQUIRE(ports.size() == 2);
    for (const HardwareItem& port : ports) CHECK(port.to_part_edge_mm == Approx(35).margin(0.05));
    // Notches open at the rim.
    for (const HardwareItem& notch : of_kind(hardware, HardwareKind::notch))
        CHECK(norm(Vec2{notch.at.x, notch.at.y}) == Approx(150 + 60).margin(0.05));
    check_apart(d, hardware);
}

TEST_CASE("on mitred panels all keep their distances, also from what stands below", "[checks][hardware]") {
    Design d = test::sample_design();  // a rectangle of 600 x 200: 1600 mm of line, panels 60 wide
    for (const MouldUse use : {MouldUse::trim_and_bond, MouldUse::join_in_mould}) {
        d.settings.mould.use = use;
        const Hardware hardware = hardware_of(d);
        CHECK(hardware.notes.empty());
        check_apart(d, hardware);
        const double spacing = use == MouldUse::trim_and_bond ? 250 : 150;
        const std::vector<HardwareItem> bolts = of_kind(hardware, HardwareKind::bolt);
        CHECK(bolts.size() == static_cast<std::size_t>(std::ceil(1600 / spacing)));
        for (const HardwareItem& bolt : bolts) {
            CHECK(bolt.flat.y == Approx(35));  // between the bead's foot at 10 and the rim at 60
            CHECK(norm(bolt.axis - panel_of(d, bolt).normal) < 1e-12);
        }
        for (const HardwareItem& item : of_kind(hardware, HardwareKind::locator)) {
            CAPTURE(item.id);
            CHECK(norm(item.axis - d.posed.pose.pull_fixture) < 1e-12);
            // Ribs are 9 thick at -295.5, 0, 295.5; the strip under the front panel is 12 wide at y = 146.
            const double head = Sizes::screw_head / 2 + Sizes::below;
            for (const double station : {-295.5, 0.0, 295.5}) CHECK(std::abs(item.at.x - station) >= 4.5 + head - 1e-6);
            if (std::abs(item.at.x) < 280) CHECK(std::abs(item.at.y - 146) >= 6 + head - 1e-6);
        }
        // Both long sides have their jack bolts.
        const std::vector<HardwareItem> jacks = of_kind(hardware, HardwareKind::jack);
        for (const char* side : {"panel-front-1", "panel-back-1"})
            CHECK(std::ranges::count(jacks, side, &HardwareItem::panel) == 2);
        const std::vector<HardwareItem> ports = of_kind(hardware, HardwareKind::port);
        REQUIRE(ports.size() == 2);
        CHECK(ports[0].panel == "panel-front-1");
        CHECK(ports[1].panel == "panel-back-1");
        for (const HardwareItem& port : ports) {
            // The trim line runs 10 over the panel line, 35 beside the axis, a point every 20.
            CHECK(port.to_part_edge_mm >= 35 - 1e-9);
            CHECK(port.to_part_edge_mm <= std::hypot(35, 10) + 1e-9);
        }
    }
}

TEST_CASE("halves put together turned or mirrored do not close", "[checks][hardware]") {
    for (const double width : {60.0, 75.0, 100.0}) {
        const Hardware hardware = hardware_of(with_width(width));
        const std::vector<Vec2> sockets = plan_of_locators(hardware);
        REQUIRE(sockets.size() >= 3);
        CHECK(hardware.misfit_mm >= hardware.locator.radius_mm);
        // The flange's own symmetries about its middle.
        const std::array<Vec2, 3> signs{{{-1, -1}, {-1, 1}, {1, -1}}};
        for (const Vec2 sign : signs) {
            std::vector<Vec2> pegs;
            for (const Vec2 p : sockets) pegs.push_back({sign.x * p.x, sign.y * p.y});
            CHECK(worst_off(pegs, sockets) >= hardware.misfit_mm);
        }
        // Any other way: each peg to another's socket, moved as well as can be.
        std::vector<std::size_t> order(sockets.size());
        std::iota(order.begin(), order.end(), std::size_t{0});
        CHECK(left_after_fit(sockets, sockets, false) < 1e-9);
        while (std::ranges::next_permutation(order).found) {
            std::vector<Vec2> other;
            for (const std::size_t i : order) other.push_back(sockets[i]);
            CHECK(left_after_fit(sockets, other, false) >= hardware.misfit_mm - 1e-9);
            CHECK(left_after_fit(sockets, other, true) >= hardware.misfit_mm - 1e-9);
        }
    }
}

TEST_CASE("the misfit of three places is half of the smallest difference of sides", "[checks][hardware]") {
    CHECK(misfit_when_turned({{0, 0, 0}, {3, 0, 0}, {3, 4, 0}}) == Approx(0.5));
    CHECK(misfit_when_turned({{0, 0, 0}, {30, 0, 0}, {0, 90, 0}}) == Approx((std::hypot(30, 90) - 90) / 2));
    CHECK(misfit_when_turned({{-7, 0, 2}, {7, 0, 2}, {0, 9, 2}}) == Approx(0).margin(1e-12));  // isosceles
    CHECK(misfit_when_turned({{1, 2, 3}, {4, 5, 6}}) == Approx(0).margin(1e-12));              // a half turn swaps them
    CHECK(std::isinf(misfit_when_turned({{1, 2, 3}})));
}

TEST_CASE("a turned job has its hardware at the same places of the plug", "[checks][hardware]") {
    for (const Design& d : {test::sample_design(), disc_design()}) {
        const Hardware as_is = hardware_of(d);
        Frame3 motion = rotation_about(normalized(Vec3{1, -2, 0.5}), 2.1);
        motion.origin = {37, -11, 250};
        for (const std::size_t shift : {std::size_t{0}, std::size_t{13}, std::size_t{41}}) {
            const Hardware turned = hardware_of(moved_design(d, motion, shift));
            const auto ids = [](const Hardware& hardware) {
                std::vector<std::string> names;
                for (const HardwareItem& item : hardware.items) names.push_back(item.id);
                return names;
            };
            CAPTURE(shift, turned.notes, as_is.notes);
            REQUIRE(ids(turned) == ids(as_is));
            for (std::size_t i = 0; i < turned.items.size(); ++i) {
                CAPTURE(as_is.items[i].id, shift);
                CHECK(turned.items[i].id == as_is.items[i].id);
                CHECK(norm(turned.items[i].at - motion.to_parent(as_is.items[i].at)) < 1e-6);
                CHECK(norm(turned.items[i].axis - motion.direction_to_parent(as_is.items[i].axis)) < 1e-9);
            }
        }
    }
}

TEST_CASE("on a leaning panel a locator stands on a shim, its axis along the opening", "[checks][hardware]") {
    Design d = test::sample_design();
    const double lean = 10 * pi / 180;
    FlangePanel& front = d.flange.panels[2];
    REQUIRE(front.id == "panel-front-1");
    // About the panel line, falling away from the plug.
    Frame3& frame = front.part.frame;
    const Vec3 y = frame.y * std::cos(lean) - frame.z * std::sin(lean);
    frame = {frame.origin, frame.x, y, cross(frame.x, y)};
    front.normal = frame.z;
    d.cradle = {};
    const Hardware hardware = hardware_of(d);
    int leaning = 0;
    for (const HardwareItem& item : of_kind(hardware, HardwareKind::locator)) {
        CHECK(norm(item.axis - Vec3{0, 0, 1}) < 1e-12);
        CHECK(item.shim_rad == Approx(item.panel == front.id ? lean : 0).margin(1e-12));
        leaning += item.has_shim() ? 1 : 0;
        // Its print on the pattern lies on cone and panel.
        const Vec3 aside = cross(item.normal, item.out);
        for (const Vec2 p : hardware.locator.print(item.shim_rad, {1, 0})) {
            const Vec3 q = item.out * p.x + aside * p.y;  // downhill is outward here
            CHECK(norm(Vec2{q.x, q.y}) ==
                  Approx(hardware.locator.radius_mm - q.z * std::tan(hardware.locator.draft_rad)).margin(1e-9));
        }
    }
    CHECK(leaning > 0);
}

TEST_CASE("a locator's print on a level panel is its foot, on a wall it would not stand", "[checks][hardware]") {
    Settings settings;
    const LocatorShape shape = locator_shape(settings);
    for (const Vec2 p : shape.print(0, {0, 1})) CHECK(norm(p) == Approx(10));
    Design d = test::sample_design();
    for (FlangePanel& panel : d.flange.panels) {
        Frame3& frame = panel.part.frame;
        const Vec3 y = frame.y * std::cos(0.6) - frame.z * std::sin(0.6);
        frame = {frame.origin, frame.x, y, cross(frame.x, y)};
        panel.normal = frame.z;
    }
    const Hardware hardware = hardware_of(d);
    CHECK(of_kind(hardware, HardwareKind::locator).empty());
    CHECK_FALSE(hardware.notes.empty());
}

TEST_CASE("what the mould is for decides whether halves meet", "[checks][hardware]") {
    Design d = test::sample_design();
    d.settings.mould.use = MouldUse::single;
    const Hardware alone = hardware_of(d);
    CHECK(alone.items.empty());
    REQUIRE(alone.notes.size() == 1);
    CHECK_THAT(alone.notes[0], Catch::Contains("single"));
    const Hardware none = hardware_of(test::unparted_design());
    CHECK(none.items.empty());
    CHECK(none.notes.empty());
}

TEST_CASE("what finds no room says what to set, and that is enough", "[checks][hardware]") {
    for (const double narrow : {22.0, 30.0, 36.0}) {
        Design d = with_width(narrow);
        const Hardware before = hardware_of(d);
        REQUIRE_FALSE(before.notes.empty());
        static const std::regex advice("set flange\\.width to ([0-9.]+) mm or more");
        double width = 0;
        for (const std::string& note : before.notes) {
            std::smatch found;
            CAPTURE(note);
            REQUIRE(std::regex_search(note, found, advice));
            width = std::max(width, std::stod(found[1]));
        }
        CHECK(width > narrow);
        const Hardware after = hardware_of(with_width(width));
        for (const std::string& note : after.notes) UNSCOPED_INFO(note);
        CHECK(after.notes.empty());
        // An edge with a width of its own has its own setting.
        d.settings.edges["front"].width = Length::mm(narrow);
        CHECK_THAT(hardware_of(d).notes[0], Catch::Contains("edge.front.width"));
    }
}

TEST_CASE("the locators' settings are their shape", "[checks][hardware]") {
    Design d = disc_design();
    set_setting(d.settings, "mould.locator-diameter", "26mm", Origin::job, "test");
    set_setting(d.settings, "mould.locator-height", "9mm", Origin::job, "test");
    set_setting(d.settings, "mould.locator-draft", "8deg", Origin::job, "test");
    const LocatorShape shape = hardware_of(d).locator;
    CHECK(shape.radius_mm == Approx(13));
    CHECK(shape.height_mm == Approx(9));
    CHECK(shape.draft_rad == Approx(8 * pi / 180));
    // The rounding touches flank and top: its middle lies its radius off both.
    const Vec2 center = shape.round_center();
    CHECK(center.y + shape.round_mm == Approx(9));
    CHECK((13 - center.x) * std::cos(shape.draft_rad) - center.y * std::sin(shape.draft_rad) == Approx(shape.round_mm));
    set_setting(d.settings, "mould.locator-height", "30mm", Origin::job, "test");
    set_setting(d.settings, "mould.locator-draft", "40deg", Origin::job, "test");
    CHECK_THROWS_AS(hardware_of(d), Error);
}

TEST_CASE("panels carry marks in true size, names apart from each other", "[checks][hardware]") {
    const Design d = test::sample_design();
    const Hardware hardware = hardware_of(d);
    const Flange marked = mark_hardware(d.flange, hardware);
    for (const HardwareItem& item : hardware.items) {
        const auto panel = std::ranges::find(marked.panels, item.panel, &FlangePanel::id);
        const std::vector<Mark>& marks = panel->part.marks;
        CAPTURE(item.id);
        const auto has = [&](const auto& is_it) { return std::ranges::any_of(marks, is_it); };
        CHECK(has([&](const Mark& m) { return m.kind == MarkKind::text && m.text.starts_with(item.id); }));
        if (item.kind == HardwareKind::notch) continue;
        CHECK(has([&](const Mark& m) { return m.kind == MarkKind::cross && m.points[0] == item.flat; }));
        const double diameter = item.kind == HardwareKind::locator ? 20
                                : item.kind == HardwareKind::jack  ? Sizes::pad
                                                                   : 6;
        const auto circle = [&](double size) {
            return has([&](const Mark& m) {
                return m.kind == MarkKind::circle && m.points[0] == item.flat && m.size_mm == Approx(size / 2);
            });
        };
        CHECK(circle(diameter));
        CHECK(circle(Sizes::screw) == (item.kind == HardwareKind::locator));  // only these are drilled in the panel
    }
    for (const FlangePanel& panel : marked.panels) {
        CHECK(panel.part.outline.outer.vertices.size() == 4);
        std::vector<Box2> boxes;
        const Polygons outline = to_polygons(panel.part.outline);
        for (const Mark& m : panel.part.marks) {
            if (m.kind != MarkKind::text) continue;
            const Vec2 size{0.85 * m.size_mm * static_cast<double>(m.text.size()), m.size_mm};
            CAPTURE(m.text, panel.id);
            CHECK(contains(outline, m.points[0]));
            CHECK(contains(outline, m.points[0] + size));
            for (const Box2& b : boxes)
                CHECK((m.points[0].x > b.high.x || m.points[0].x + size.x < b.low.x || m.points[0].y > b.high.y ||
                       m.points[0].y + size.y < b.low.y));
            boxes.push_back({m.points[0], m.points[0] + size});
        }
    }
}
