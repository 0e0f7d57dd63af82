// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/sample_design.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "support/shapes.hpp"

namespace cradlewright::test {
namespace {

using S = SampleSizes;
constexpr double step = 20;  // of the panel line; divides both sides

struct Side {
    const char* id;
    Vec2 from, to;  // along the line, counter-clockwise from above
};
constexpr std::array<Side, 4> sides{{{"back", {-S::half_length, -S::half_width}, {S::half_length, -S::half_width}},
                                     {"end-b", {S::half_length, -S::half_width}, {S::half_length, S::half_width}},
                                     {"front", {S::half_length, S::half_width}, {-S::half_length, S::half_width}},
                                     {"end-a", {-S::half_length, S::half_width}, {-S::half_length, -S::half_width}}}};

Vec3 on_line(Vec2 p) { return {p.x, p.y, S::line_z}; }
Vec2 outward_of(const Side& side) { return -perp(normalized(side.to - side.from)); }

Plug box_plug() {
    Plug plug;
    plug.name = "box";
    plug.mesh = std::make_shared<TriMesh>(make_box({2 * S::half_length, 2 * S::half_width, 2 * S::half_height}));
    plug.adjacency = std::make_shared<std::vector<FaceId>>(face_adjacency(*plug.mesh));
    plug.mass_properties = mass_properties(*plug.mesh);
    plug.mass_kg = 0.576;  // 4.8e6 mm3 at 120 kg/m3
    plug.repair.holes_closed = 2;
    plug.noise_mm = 0.03125;
    return plug;
}

PosedPlug posed_box() {
    PosedPlug posed;
    posed.plug = box_plug();
    posed.pose.scan_to_fixture.origin = {0, 0, S::line_z};
    posed.pose.pull_scan = posed.pose.pull_plug = posed.pose.pull_fixture = {0, 0, 1};
    posed.pose.pull2_scan = posed.pose.pull2_plug = posed.pose.pull2_fixture = {0, 0, -1};
    posed.pose.up_from = posed.pose.span_from = posed.pose.pull_from = "told";
    for (const Vec3 v : posed.mesh().vertices) {
        posed.box_fixture.add(posed.pose.to_fixture(v));
    }
    return posed;
}

Parting rectangle_parting(const TriMesh& mesh) {
    Parting parting;
    PartingLoop loop;
    for (const Side& side : sides) {
        const double length = norm(side.to - side.from);
        const std::size_t first = loop.panel_line.size();
        for (double at = 0; at < length; at += step) {
            loop.panel_line.push_back(on_line(side.from + (side.to - side.from) * (at / length)));
            const Vec2 outward = outward_of(side);
            loop.outward.push_back({outward.x, outward.y, 0});
        }
        loop.edges.push_back({side.id, EdgeRule::silhouette, first, loop.panel_line.size(), {}});
        loop.length_mm += length;
    }
    loop.edges.back().last = 0;
    loop.silhouette = loop.panel_line;
    parting.loops.push_back(std::move(loop));
    for (const Vec3 n : face_normals(mesh)) {
        parting.half.push_back(n.z > 0 ? 1 : 2);
    }
    return parting;
}

// Top face up; the inner edge lies on y = 0, corners mitred at 45 deg.
FlangePanel panel_along(const Side& side, const PartingEdge& edge) {
    FlangePanel panel;
    panel.id = std::string("panel-") + side.id + "-1";
    panel.edge = side.id;
    panel.first = edge.first;
    panel.last = edge.last;
    const double half = norm(side.to - side.from) / 2;
    const Vec2 along = normalized(side.to - side.from), outward = outward_of(side);
    // x runs against the line, so that x, outward and up are right-handed.
    panel.part.frame = {
        on_line((side.from + side.to) * 0.5), {-along.x, -along.y, 0}, {outward.x, outward.y, 0}, {0, 0, 1}};
    panel.part.outline.outer = make_loop(
        {{-half, 0}, {half, 0}, {half + S::panel_width, S::panel_width}, {-half - S::panel_width, S::panel_width}},
        CutKind::fit);
    panel.part.outline.outer.vertices[2].cut = CutKind::rough;
    panel.part.id = panel.id;
    panel.part.kind = PartKind::panel;
    panel.part.thickness_mm = S::panel_thickness;
    panel.part.stock = "pvc-3";
    panel.part.note = "top face up";
    panel.part.marks.push_back({MarkKind::line, {{0, 0}, {0, S::panel_width}}, "", 0});
    panel.point = panel.part.frame.origin;
    panel.normal = {0, 0, 1};
    panel.width_mm = S::panel_width;
    panel.min_gap_mm = 0.5;
    panel.max_gap_mm = 0.75;
    return panel;
}

Rib rib_at(int number, double station) {
    constexpr double half = S::half_width + S::panel_width, seat = S::line_z - S::panel_thickness, saddle = 77;
    Rib rib;
    rib.station_mm = station;
    rib.part.id = "rib-" + std::to_string(number);
    rib.part.kind = PartKind::rib;
    rib.part.stock = "birch-ply-9";
    rib.part.thickness_mm = S::rib_thickness;
    rib.part.frame = {{station + S::rib_thickness / 2, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}};
    rib.part.outline.outer = make_loop(
        {{-half, 0}, {half, 0}, {half, seat}, {102, seat}, {90, saddle}, {-90, saddle}, {-102, seat}, {-half, seat}},
        CutKind::rough);
    for (const std::size_t fitted : {2, 4, 6}) {
        rib.part.outline.outer.vertices[fitted].cut = CutKind::fit;
    }
    rib.part.outline.holes.push_back(make_circle({0, 40}, S::hole_radius, CutKind::rough, true));
    rib.saddle = {{-90, saddle}, {90, saddle}};
    rib.seats = {{{-half, seat}, {-102, seat}}, {{102, seat}, {half, seat}}};
    rib.envelope = {{-100, 80}, {100, 80}};
    rib.min_inside_radius_mm = std::numeric_limits<double>::infinity();
    return rib;
}

PlatePart plate(const std::string& id, PartKind kind, const Frame3& frame, Vec2 size, double thickness) {
    PlatePart part;
    part.id = id;
    part.kind = kind;
    part.frame = frame;
    part.outline.outer = make_rectangle({0, 0}, size, CutKind::rough);
    part.thickness_mm = thickness;
    part.stock = kind == PartKind::base ? "birch-ply-18" : "birch-ply-9";
    return part;
}

Cradle box_cradle() {
    Cradle cradle;
    cradle.ribs = {rib_at(1, -295.5), rib_at(2, 0), rib_at(3, 295.5)};
    cradle.count_reason = "3 ribs: told";
    const Frame3 upright{{-300, -50, 0}, {1, 0, 0}, {0, 0, 1}, {0, -1, 0}};
    cradle.ties = {plate("tie-1", PartKind::tie, upright, {600, 50}, 9)};
    cradle.ties.push_back(cradle.ties.front());
    cradle.ties.back().id = "tie-2";
    cradle.ties.back().frame.origin.y = 59;
    cradle.stops = {
        plate("stop-end-a", PartKind::stop, {{-310, -20, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}}, {40, 90}, 9)};
    cradle.base = plate("base", PartKind::base, {{-350, -200, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}}, {700, 400}, 18);
    Stringer stringer;
    stringer.part = plate("stringer-front-1", PartKind::stringer, {{-280, 140, 77}, {1, 0, 0}, {0, 0, 1}, {0, -1, 0}},
                          {560, 20}, 12);
    stringer.part.stock = "pine-12x20";
    stringer.edge = "front";
    stringer.width_mm = 12;
    stringer.height_mm = 20;
    stringer.from = {-280, 146, 97};
    stringer.to = {280, 146, 97};
    cradle.stringers = {stringer};
    cradle.joints = {{"rib-1", "tie-1", JointKind::half_lap, {-295.5, -54.5, 25}, {0, 0, -1}, 9.2, 25, 0.2},
                     {"rib-1", "panel-front-1", JointKind::seat, {-295.5, 130, 97}, {0, 0, -1}, 0, 0, 0}};
    return cradle;
}

// Wall and panel are flat and square to each other, so ball, feet and area are exact.
BeadRun bead_along(const Side& side) {
    constexpr double r = S::bead_radius;
    BeadRun run;
    run.id = std::string("bead-") + side.id + "-1";
    run.edge = side.id;
    run.panel = std::string("panel-") + side.id + "-1";
    run.radius_mm = r;
    run.length_mm = norm(side.to - side.from);
    run.corner_min_rad = run.corner_max_rad = std::numbers::pi / 2;
    const double area = flat_bead_area_mm2(r, std::numbers::pi / 2);
    run.volume_mm3 = area * run.length_mm;
    const Vec2 outward = outward_of(side);
    const Vec3 away{outward.x * r, outward.y * r, 0}, up{0, 0, r};
    for (double at = 0; at <= run.length_mm; at += step) {
        BeadSection section;
        section.joint = on_line(side.from + (side.to - side.from) * (at / run.length_mm));
        section.center = section.joint + away + up;
        section.on_plug = section.joint + up;
        section.on_panel = section.joint + away;
        section.corner_rad = std::numbers::pi / 2;
        section.area_mm2 = area;
        section.plug_strip_mm = r;
        run.sections.push_back(section);
    }
    return run;
}

Beads box_beads(const PartingLoop& loop) {
    Beads beads;
    beads.radius_mm = S::bead_radius;
    beads.radius_from = "told";
    for (const Side& side : sides) {
        beads.runs.push_back(bead_along(side));
        beads.clay_volume_mm3 += beads.runs.back().volume_mm3;
    }
    beads.clay_mass_kg = beads.clay_volume_mm3 * 1.7e-6;
    beads.join_gap_mm = 2 * S::bead_radius;
    std::vector<Vec3> trim = loop.panel_line;
    for (Vec3& p : trim) {
        p.z += S::bead_radius;
    }
    beads.trim_lines = {trim};
    return beads;
}

// In the middle of what the bead leaves of the front panel, its mouth at the rim for the notch.
HardwareItem on_front(HardwareKind kind, const std::string& id, double x, double reach) {
    HardwareItem item{.kind = kind, .id = id, .panel = "panel-front-1"};
    item.at = {x, S::half_width + reach, S::line_z};
    item.axis = item.normal = {0, 0, 1};
    item.out = {0, 1, 0};
    item.flat = {x, reach};
    item.flat_out = {0, 1};
    return item;
}

Hardware box_hardware(const Settings& settings) {
    constexpr double middle = (S::bead_radius + S::panel_width) / 2;
    Hardware hardware;
    hardware.locator = locator_shape(settings);
    hardware.misfit_mm = 12.5;
    hardware.items = {on_front(HardwareKind::locator, "locator-1", -200, middle),
                      on_front(HardwareKind::port, "port-half-2", -100, middle),
                      on_front(HardwareKind::jack, "jack-bolt-1", 0, middle),
                      on_front(HardwareKind::bolt, "bolt-1", 100, middle),
                      on_front(HardwareKind::notch, "wedge-notch-1", 200, S::panel_width)};
    hardware.items[0].shim_rad = std::numbers::pi / 18;
    hardware.items[0].normal = {0, std::sin(std::numbers::pi / 18), std::cos(std::numbers::pi / 18)};
    hardware.items[1].half = 2;
    hardware.items[1].to_part_edge_mm = middle;
    hardware.notes = {"1 of 3 locators finds no room"};
    return hardware;
}

Check check_of(const std::string& id, double value_mm, double limit_mm, const std::string& advice) {
    Check check;
    check.id = id;
    check.subject = "panel-front-1";
    check.value = check.low = check.high = Quantity::of(Length::mm(value_mm));
    check.limit = Quantity::of(Length::mm(limit_mm));
    check.formula = "clearance <= limit";
    check.source = Source::derived("for tests");
    check.advice = advice;
    return judged(check);
}

}  // namespace

Design sample_design() {
    Design design;
    design.posed = posed_box();
    design.parting = rectangle_parting(design.posed.mesh());
    for (std::size_t i = 0; i < sides.size(); ++i) {
        design.flange.panels.push_back(panel_along(sides[i], design.parting.loops[0].edges[i]));
    }
    design.cradle = box_cradle();
    design.beads = box_beads(design.parting.loops[0]);
    design.hardware = box_hardware(design.settings);
    design.joint.bolt_spacing_mm = 250;
    design.locks = {{.edge = "front",
                     .half = 1,
                     .at = {0, S::half_width, S::line_z},
                     .overrun_mm = 0.5,
                     .bead_mm = -0.25,
                     .shrinkage_mm = 0.125,
                     .depth_mm = {0.25, 0.375, 0.5},
                     .holds = LockCause::overrun},
                    {.edge = "back", .half = 2, .at = {0, -S::half_width, S::line_z}, .depth_mm = {}}};
    const TriMesh& mesh = design.posed.mesh();
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const Vec3 pull = design.posed.pose.direction_to_scan({0, 0, 1});
        design.release.draft_rad.push_back(
            float(std::asin(std::clamp(dot(normalized(area_vector(mesh.corners(f))), pull), -1.0, 1.0))));
    }
    design.release.half1.draft_p01_deg = 0.25;
    design.release.half2.undercut_area_mm2 = 12.5;
    design.release.best1.direction_plug = {0, 0, 1};
    design.release.best1.is_feasible = true;
    set_setting(design.settings, "pose.tilt", "2deg", Origin::command_line, "test");
    set_setting(design.settings, "edge.front.slope", "5deg", Origin::job, "test");
    return design;
}

Design unparted_design() {
    Design design;
    design.posed = posed_box();
    design.parting.reason = "the pull lies in every wall";
    return design;
}

CheckReport sample_checks() {
    Check marginal = check_of("panel.gap", 1.5, 2, "trim the panel by 0.5 mm");
    marginal.good = Quantity::of(Length::mm(1));
    Check pass = check_of("panel.gap", 0.5, 2, "gap is small enough");
    pass.at = Vec3{1, 2, 3};
    return {{pass, judged(marginal), check_of("cradle.clash", 3, 0.1, "trim 3 mm from the rib"),
             unknown_check("cradle.sag", "plug", "weigh the plug and tell its mass"),
             not_applicable_check("panel.bend", "flange", "every panel is flat")}};
}

}  // namespace cradlewright::test
