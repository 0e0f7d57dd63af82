// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <numbers>
#include <set>

#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/geom/slices.hpp"
#include "cradlewright/stages/cradle.hpp"
#include "support/plugs.hpp"
#include "support/shapes.hpp"

// Panels are made by hand, level and straight-edged, so that every part stands square to the fixture and the plan
// section of the whole cradle at any height is a set of polygons. Whether parts share space is then decided exactly.

using namespace cradlewright;

namespace {

constexpr double slope_of_slabs_mm = 0.1;  // slices through a slab lie 1.5 mm apart: what may stand out between them
const double arc_fit = Tolerances{}.arc_fit_mm;

struct Rig {
    PosedPlug posed;
    Flange flange;
    Settings settings;
    double panel_top = 0;
    double sheet = 0;

    Rig(TriMesh mesh, Angle tilt = {}) : posed(test::posed_plug(std::move(mesh), tilt)) {
        posed = shifted(posed, settings.cradle.clearance.mm() + settings.cradle.pad.mm() - posed.box_fixture.low.z);
        sheet = stock(settings, settings.flange.stock).thickness_mm;
        panel_top = posed.box_fixture.center().z;
    }

    /// Outline in plan, counter-clockwise; `outward` in plan.
    void add_panel(const std::string& edge, std::vector<Vec2> plan, Vec2 outward, bool is_inner = false) {
        FlangePanel panel;
        panel.id = panel.part.id = "panel-" + edge + "-" + std::to_string(flange.panels.size() + 1);
        panel.edge = edge;
        panel.is_inner = is_inner;
        panel.normal = {0, 0, 1};
        panel.point = {plan.front().x, plan.front().y, panel_top};
        PlatePart& part = panel.part;
        part.kind = PartKind::panel;
        part.thickness_mm = sheet;
        part.frame = {
            panel.point, cross(Vec3{outward.x, outward.y, 0}, Vec3{0, 0, 1}), {outward.x, outward.y, 0}, {0, 0, 1}};
        for (Vec2& p : plan) {
            const Vec3 q = part.frame.to_local(Vec3{p.x, p.y, panel_top});
            p = {q.x, q.y};
        }
        part.outline.outer = make_loop(plan, CutKind::rough);
        flange.panels.push_back(std::move(panel));
    }

    /// Panels round the plug's box; front and back each in `pieces`.
    void surround(double width, int pieces = 1) {
        const double gap = settings.flange.gap.mm();
        const Vec3 a = posed.box_fixture.low - Vec3{gap, gap, 0}, b = posed.box_fixture.high + Vec3{gap, gap, 0};
        const double x0 = a.x - width, x1 = b.x + width;
        for (int i = pieces - 1; i >= 0; --i) {  // panels go round the plug: the front ones run against x
            const double from = x0 + (x1 - x0) * i / pieces, to = x0 + (x1 - x0) * (i + 1) / pieces;
            add_panel("front", {{from, b.y}, {to, b.y}, {to, b.y + width}, {from, b.y + width}}, {0, 1});
        }
        for (int i = 0; i < pieces; ++i) {
            const double from = x0 + (x1 - x0) * i / pieces, to = x0 + (x1 - x0) * (i + 1) / pieces;
            add_panel("back", {{from, a.y - width}, {to, a.y - width}, {to, a.y}, {from, a.y}}, {0, -1});
        }
        add_panel("end-a", {{x0, a.y}, {a.x, a.y}, {a.x, b.y}, {x0, b.y}}, {-1, 0});
        add_panel("end-b", {{b.x, a.y}, {x1, a.y}, {x1, b.y}, {b.x, b.y}}, {1, 0});
        settings.flange.width = Length::mm(width);
    }

    [[nodiscard]] Cradle build() const { return build_cradle(posed, flange, settings); }

    /// Sections of the plug at a station, (y, z) of the fixture.
    [[nodiscard]] Polygons section(double x) const {
        const Frame3 station{{0, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}};
        const std::vector<Slice> slices =
            slice_mesh(posed.mesh(), compose(inverse(posed.pose.scan_to_fixture), station), std::vector<double>{x});
        Polygons loops;
        for (const SliceLoop& loop : slices.front())
            if (loop.is_closed) loops.push_back(loop.points);
        return loops;
    }
};

std::vector<const PlatePart*> parts_of(const Rig& rig, const Cradle& cradle) {
    std::vector<const PlatePart*> parts;
    for (const FlangePanel& p : rig.flange.panels) parts.push_back(&p.part);
    for (const Rib& r : cradle.ribs) parts.push_back(&r.part);
    for (const Stringer& s : cradle.stringers) parts.push_back(&s.part);
    for (const PlatePart& t : cradle.ties) parts.push_back(&t);
    for (const PlatePart& s : cradle.stops) parts.push_back(&s);
    return parts;
}

/// Where a horizontal line crosses an outline, sorted.
std::vector<double> crossings(const Polygons& outline, double y) {
    std::vector<double> xs;
    for (const auto& chain : outline)
        for (std::size_t i = 0; i < chain.size(); ++i) {
            const Vec2 a = chain[i], b = chain[(i + 1) % chain.size()];
            if ((a.y < y) != (b.y < y)) xs.push_back(a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y));
        }
    std::sort(xs.begin(), xs.end());
    return xs;
}

/// Plan section of a part that stands or lies square to the fixture.
Polygons plan_at(const PlatePart& part, double z) {
    const Polygons outline = to_polygons(part.outline);
    Polygons plan;
    const auto add = [&](std::vector<Vec3> corners) {
        plan.emplace_back();
        for (const Vec3& c : corners) plan.back().push_back({c.x, c.y});
        if (signed_area(plan.back()) < 0) std::reverse(plan.back().begin(), plan.back().end());
    };
    if (part.frame.z.z > 0.99) {
        if (z > part.frame.origin.z || z < part.frame.origin.z - part.thickness_mm) return {};
        for (const auto& chain : outline) {
            std::vector<Vec3> corners;
            for (const Vec2& p : chain) corners.push_back(part.frame.to_parent(p));
            add(corners);
        }
        return plan;
    }
    const std::vector<double> xs = crossings(outline, z - part.frame.origin.z);
    for (std::size_t i = 0; i + 1 < xs.size(); i += 2) {
        const auto at = [&](double x, double depth) {
            return part.frame.to_parent(Vec3{x, z - part.frame.origin.z, depth});
        };
        add({at(xs[i], 0), at(xs[i + 1], 0), at(xs[i + 1], -part.thickness_mm), at(xs[i], -part.thickness_mm)});
    }
    return plan;
}

/// Largest area that two parts share at any height; heights of all corners and three between each two.
double shared_area(const std::vector<const PlatePart*>& parts, std::string& who) {
    std::set<double> corners;
    for (const PlatePart* part : parts)
        for (const auto& chain : to_polygons(part->outline))
            for (const Vec2& p : chain)
                for (const double depth : {0.0, -part->thickness_mm})
                    corners.insert(std::round(part->frame.to_parent(Vec3{p.x, p.y, depth}).z * 1e3) / 1e3);
    double worst = 0;
    for (auto z = corners.begin(); std::next(z) != corners.end(); ++z) {
        if (*std::next(z) - *z < 0.05) continue;  // levels of chords on a curve
        const double middle = 0.5 * (*z + *std::next(z));
        std::vector<Polygons> plans;
        for (const PlatePart* part : parts) plans.push_back(plan_at(*part, middle));
        for (std::size_t i = 0; i < parts.size(); ++i)
            for (std::size_t k = i + 1; k < parts.size(); ++k) {
                if (plans[i].empty() || plans[k].empty()) continue;
                const double area = area_of(intersect(plans[i], plans[k]));
                if (area <= worst) continue;
                worst = area;
                who = parts[i]->id + " and " + parts[k]->id + " at height " + std::to_string(middle);
            }
    }
    return worst;
}

std::size_t ties_through(const Cradle& cradle, const std::string& rib) {
    return static_cast<std::size_t>(std::count_if(cradle.joints.begin(), cradle.joints.end(), [&](const Joint& j) {
        return j.kind == JointKind::half_lap && j.part_a == rib;
    }));
}

/// Distance of a point outside an ellipse from it: nearest of dense points, then halving. Independent of the mesh.
double distance_from_ellipse(Vec2 p, double a, double b) {
    const auto at = [&](double t) { return norm(p - Vec2{a * std::cos(t), b * std::sin(t)}); };
    double best = 0;
    for (int i = 0; i < 720; ++i)
        if (const double t = 2 * std::numbers::pi * i / 720; at(t) < at(best)) best = t;
    for (double step = 0.01; step > 1e-9; step /= 2)
        for (const double t : {best - step, best + step})
            if (at(t) < at(best)) best = t;
    return at(best);
}

void check_laws(const Rig& rig, const Cradle& cradle, double noise_mm) {
    REQUIRE(cradle.ribs.size() >= 2);
    std::string who;
    const double shared = shared_area(parts_of(rig, cradle), who);
    INFO(who);
    CHECK(shared < 0.5);  // mm2: chords of arcs against the arcs
    const double horn = rig.settings.cradle.horn.mm();
    for (const Rib& rib : cradle.ribs) {
        INFO(rib.part.id << " at " << rib.station_mm);
        const Polygons outline = to_polygons(rib.part.outline);
        REQUIRE(outline.size() == 1);
        double low = std::numeric_limits<double>::infinity(), high = -low;
        for (const Vec2& p : outline[0]) low = std::min(low, p.y), high = std::max(high, p.y);
        CHECK(low == Approx(0).margin(1e-6));           // on the base
        CHECK(high <= rig.panel_top + arc_fit);         // never proud
        CHECK(ties_through(cradle, rib.part.id) == 2);  // stands
        // Nothing thinner than a horn sticks out by more than the corners of a seat do.
        const Polygons core = offset(offset(outline, -0.48 * horn), 0.48 * horn);
        CHECK(area_of(subtract(outline, offset(core, 0.3 * horn))) < 0.01);
        // Nothing of the plug is cut, at places that the design did not look at.
        const double allowed = slope_of_slabs_mm + arc_fit + 3 * noise_mm;
        for (const double share : {-0.49, -0.21, 0.17, 0.43}) {
            const Polygons section = rig.section(rib.station_mm + share * rib.part.thickness_mm);
            CHECK(intersect(offset(section, rig.settings.cradle.pad.mm() - allowed), outline).empty());
        }
    }
}

}  // namespace

TEST_CASE("the saddle of a cylinder is its section's parallel curve", "[stages][cradle]") {
    const int n = 720;
    Rig rig(test::make_elliptic_cylinder(90, 30, 400, n, 20));
    rig.surround(60);
    const Cradle cradle = rig.build();
    const double chord = 90 * (1 - std::cos(std::numbers::pi / n));
    const double z = rig.posed.box_fixture.center().z, pad = rig.settings.cradle.pad.mm();
    int bearing = 0;
    for (const Rib& rib : cradle.ribs) {
        if (rib.saddle.empty()) continue;
        ++bearing;
        for (const Vec2& p : rib.saddle)
            CHECK(distance_from_ellipse({p.x, p.y - z}, 90, 30) == Approx(pad).margin(chord + 0.01));
        // It ends a margin short of the panels' undersides: the nearest point of the panel is its lower inner edge.
        const double edge = 90 + rig.settings.flange.gap.mm();
        const double seat = rig.panel_top - rig.sheet - rig.settings.flange.glue.mm();
        const double margin = rig.settings.cradle.panel_margin.mm();
        for (const Vec2 end : {rib.saddle.front(), rib.saddle.back()}) {
            const double away = norm(Vec2{std::abs(end.x) - edge, end.y - seat});
            CHECK(away >= margin - 0.01);
            CHECK(away < margin + 1);  // found in steps of 0.5 mm
        }
    }
    CHECK(bearing == 4);  // 391 mm of span at most 150 apart
    check_laws(rig, cradle, chord);
}

TEST_CASE("the saddle of a sphere keeps the pad along the surface's own normal", "[stages][cradle]") {
    const double radius = 80;
    const TriMesh sphere = test::make_sphere(radius, 6);
    const double sag = test::chord_sag(sphere, radius);
    Rig rig(sphere);
    rig.surround(50);
    rig.settings.cradle.spacing = Length::mm(40);
    const Cradle cradle = rig.build();
    const double z = rig.posed.box_fixture.center().z, pad = rig.settings.cradle.pad.mm();
    for (const Rib& rib : cradle.ribs) {
        // The face nearer the middle bears: there the plug's offset surface is a circle.
        const double face = std::max(0.0, std::abs(rib.station_mm) - rib.part.thickness_mm / 2);
        const double wanted = std::sqrt((radius + pad) * (radius + pad) - face * face);
        // The pad's ball is sliced at 0, 0.3, 0.6 and 0.85 of its radius: at most 0.04 mm short at the end ribs
        // [derived].
        for (const Vec2& p : rib.saddle) CHECK(norm(Vec2{p.x, p.y - z}) == Approx(wanted).margin(sag + 0.15));
    }
    check_laws(rig, cradle, sag);
}

TEST_CASE("a flat underside is carried level and stops face both square ends", "[stages][cradle]") {
    Rig rig(test::make_box({300, 120, 60}));
    rig.surround(60);
    const Cradle cradle = rig.build();
    for (const Rib& rib : cradle.ribs) {
        if (rib.saddle.empty()) continue;
        CHECK(rib.saddle.front().x < -59);
        CHECK(rib.saddle.back().x > 59);
        for (const Vec2& p : rib.saddle)
            if (std::abs(p.x) < 60) CHECK(p.y == Approx(rig.settings.cradle.clearance.mm()).margin(1e-4));
    }
    REQUIRE(cradle.stops.size() == 2);
    for (const PlatePart& stop : cradle.stops) {
        const Box2 box = bounding_box(stop.outline);
        const double seat = rig.panel_top - rig.sheet - rig.settings.flange.glue.mm();
        CHECK(box.low.y == 0);
        CHECK(box.high.y <= seat - 1 + 1e-9);
        CHECK(box.high.y >= rig.posed.box_fixture.low.z + 2);
        const bool is_a = stop.id == "stop-end-a";
        const double face = is_a ? stop.frame.origin.x : stop.frame.origin.x - stop.thickness_mm;
        CHECK(face == Approx(is_a ? -151 : 151));  // 1 mm of felt
    }
    check_laws(rig, cradle, 0);
}

TEST_CASE("a plug that ends above its panels gets no stop that faces nothing", "[stages][cradle]") {
    Rig rig(test::make_box({300, 120, 60}));
    rig.panel_top = rig.posed.box_fixture.low.z + 2;  // the wall below the panels' undersides is gone
    rig.surround(60);
    CHECK(rig.build().stops.empty());
}

TEST_CASE("ties meet ribs that share no stretch of width", "[stages][cradle]") {
    // A box sheared by its own width and more along the span; panels follow it.
    TriMesh mesh = test::make_box({500, 60, 50});
    for (Vec3& v : mesh.vertices) v.y += 0.7 * v.x;
    Rig rig(std::move(mesh));
    const auto strip = [&](double low, double high) {
        return std::vector<Vec2>{{-310, -217 + low}, {310, 217 + low}, {310, 217 + high}, {-310, -217 + high}};
    };
    const double lean = std::sqrt(1 + 0.49);
    rig.add_panel("front", strip(30.5 * lean, 30.5 * lean + 40), normalized(Vec2{-0.7, 1}));
    rig.add_panel("back", strip(-30.5 * lean - 40, -30.5 * lean), normalized(Vec2{0.7, -1}));
    const Cradle cradle = rig.build();
    REQUIRE(cradle.ties.size() == 2);
    for (const Rib& rib : cradle.ribs) CHECK(ties_through(cradle, rib.part.id) == 2);
    std::string who;
    CHECK(shared_area(parts_of(rig, cradle), who) < 0.5);
    INFO(who);
}

TEST_CASE("half laps fill each other", "[stages][cradle]") {
    Rig rig(test::make_ellipsoid({220, 70, 35}, 5));
    rig.surround(60);
    const Cradle cradle = rig.build();
    REQUIRE(cradle.ties.size() == 2);
    const double clearance = rig.settings.cradle.slot_clearance.mm();
    for (const Rib& rib : cradle.ribs)
        for (const PlatePart& tie : cradle.ties) {
            const double height = bounding_box(tie.outline).high.y;
            const double y = tie.frame.origin.y + tie.thickness_mm / 2;
            const double x = rib.station_mm - tie.frame.origin.x;
            const auto window = [&](double middle, double width) {
                return Polygons{{{middle - width / 2, 0},
                                 {middle + width / 2, 0},
                                 {middle + width / 2, height},
                                 {middle - width / 2, height}}};
            };
            // Above the half height only the rib, below only the tie; the slots are the plates and the clearance wide.
            const double in_rib = area_of(intersect(to_polygons(rib.part.outline), window(y, 9 + clearance)));
            const double in_tie = area_of(intersect(to_polygons(tie.outline), window(x, 9 + clearance)));
            CHECK(in_rib == Approx((9 + clearance) * height / 2).epsilon(1e-6));
            CHECK(in_tie == Approx((9 + clearance) * height / 2).epsilon(1e-6));
        }
}

TEST_CASE("without room under the plug there are no ties, and why is said", "[stages][cradle]") {
    Rig rig(test::make_box({300, 120, 60}));
    rig.settings.cradle.clearance = Length::mm(15);
    rig.posed = shifted(rig.posed, 18 - rig.posed.box_fixture.low.z);
    rig.panel_top = rig.posed.box_fixture.high.z;
    rig.surround(60);
    const Cradle cradle = rig.build();
    CHECK(cradle.ties.empty());
    CHECK(cradle.tie_reason == "only 11 mm between base and plug");  // 18 less pad and free distance
    CHECK(cradle.tie_room_mm == Approx(11));
}

TEST_CASE("strips run on under neighbouring panels and none is a stub", "[stages][cradle]") {
    Rig rig(test::make_box({600, 120, 60}));
    rig.surround(60, 7);
    const Cradle cradle = rig.build();
    REQUIRE(cradle.stringers.size() == 4);  // inner and outer, front and back
    for (const Stringer& s : cradle.stringers) {
        CHECK(s.panels.size() == 7);
        CHECK(s.to.x - s.from.x > 700);  // 600 and twice 60, less the corners' margins
        CHECK(s.from.z == Approx(rig.panel_top - rig.sheet - rig.settings.flange.glue.mm()));
    }
    check_laws(rig, cradle, 0);
}

TEST_CASE("a panel step higher than filled glue ends a strip", "[stages][cradle]") {
    Rig rig(test::make_box({600, 120, 60}));
    rig.panel_top += 8;
    rig.add_panel("front", {{-360, 60.5}, {0, 60.5}, {0, 120}, {-360, 120}}, {0, 1});
    rig.panel_top -= 8;
    rig.add_panel("front", {{0, 60.5}, {360, 60.5}, {360, 120}, {0, 120}}, {0, 1});
    for (const Stringer& s : rig.build().stringers) CHECK(s.panels.size() == 1);
}

TEST_CASE("a panel in an opening stands on two posts", "[stages][cradle]") {
    Rig rig(test::make_torus(130, 35, 200, 80));
    rig.surround(50);
    std::vector<Vec2> disc;
    for (int i = 0; i < 180; ++i) {
        const double t = 2 * std::numbers::pi * i / 180;
        disc.push_back({94 * std::cos(t), 94 * std::sin(t)});
    }
    rig.add_panel("inner-1", disc, {0, 1}, true);
    rig.settings.cradle.spacing = Length::mm(400);  // no rib of its own crosses the opening
    const Cradle cradle = rig.build();
    const std::string inner = rig.flange.panels.back().id;
    const auto carried = std::count_if(cradle.joints.begin(), cradle.joints.end(),
                                       [&](const Joint& j) { return j.kind == JointKind::seat && j.part_b == inner; });
    CHECK(carried >= 2);
    check_laws(rig, cradle, 0.3);  // chords of the torus
}

TEST_CASE("the laws hold for any tilt, seed and body", "[stages][cradle]") {
    struct Body {
        const char* name;
        TriMesh mesh;
    };
    const std::vector<Body> bodies{{"ellipsoid", test::make_ellipsoid({240, 80, 40}, 5)},
                                   {"wing", test::make_naca_prism(2418, 200, 460, 120, 40)},
                                   {"frustum", test::make_pyramid(220, 140, 60)}};
    for (const Body& body : bodies)
        for (const double tilt : {-7.0, 0.0, 4.0})
            for (const std::uint32_t seed : {1U, 2U}) {
                const double noise = seed == 1 ? 0 : 0.04;
                INFO(body.name << ", tilt " << tilt << ", noise " << noise);
                Rig rig(noise > 0 ? test::with_noise(body.mesh, noise, seed) : body.mesh, Angle::deg(tilt));
                rig.surround(55, seed == 1 ? 1 : 3);
                check_laws(rig, rig.build(), noise + 0.05);
            }
}

TEST_CASE("the same design comes out twice", "[stages][cradle]") {
    Rig rig(test::with_noise(test::make_ellipsoid({240, 80, 40}, 4), 0.05, 5), Angle::deg(3));
    rig.surround(55, 2);
    const Cradle a = rig.build(), b = rig.build();
    REQUIRE(a.ribs.size() == b.ribs.size());
    for (std::size_t i = 0; i < a.ribs.size(); ++i) {
        const auto &va = a.ribs[i].part.outline.outer.vertices, &vb = b.ribs[i].part.outline.outer.vertices;
        REQUIRE(va.size() == vb.size());
        for (std::size_t k = 0; k < va.size(); ++k) CHECK((va[k].at == vb[k].at && va[k].bulge == vb[k].bulge));
    }
}
