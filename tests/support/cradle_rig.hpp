// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <string>
#include <vector>

#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/geom/slices.hpp"
#include "cradlewright/stages/cradle.hpp"
#include "support/plugs.hpp"
#include "support/shapes.hpp"

/// \file A plug with panels made by hand, and whether parts of its cradle share space.
namespace cradlewright::test {

struct CradleRig {
    PosedPlug posed;
    Parting parting;  ///< one loop of the panels' inner edges, one after the other
    Flange flange;
    Settings settings;
    double panel_top = 0;
    double sheet = 0;

    explicit CradleRig(TriMesh mesh, Angle tilt = {}) : posed(posed_plug(std::move(mesh), tilt)) {
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
        panel.width_mm = settings.flange.width.mm();
        add_run(panel, plan, outward);
        panel.normal = {0, 0, 1};
        panel.point = {plan.front().x, plan.front().y, panel_top};
        PlatePart& part = panel.part;
        part.kind = PartKind::panel;
        part.stock = settings.flange.stock;
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

    /// The panel's edge that looks to the plug, every 5 mm.
    void add_run(FlangePanel& panel, const std::vector<Vec2>& plan, Vec2 outward) {
        if (parting.loops.empty()) parting.loops.emplace_back();
        std::vector<Vec3>& line = parting.loops.front().panel_line;
        panel.first = line.size();
        double nearest = std::numeric_limits<double>::infinity();
        for (const Vec2& p : plan) nearest = std::min(nearest, dot(p, outward));
        std::vector<Vec2> ends;
        for (const Vec2& p : plan)
            if (panel.is_inner || dot(p, outward) < nearest + 1e-6) ends.push_back(p);
        for (std::size_t i = 0; i + 1 < ends.size(); ++i) {
            const int n = std::max(1, static_cast<int>(norm(ends[i + 1] - ends[i]) / 5));
            for (int k = 0; k < n; ++k) {
                const Vec2 p = ends[i] + (ends[i + 1] - ends[i]) * (static_cast<double>(k) / n);
                line.push_back({p.x, p.y, panel_top});
            }
        }
        line.push_back({ends.back().x, ends.back().y, panel_top});
        panel.last = line.size() - 1;
    }

    /// Panels round the plug's box; front and back each in `pieces`.
    void surround(double width, int pieces = 1) {
        settings.flange.width = Length::mm(width);
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
    }

    /// One panel all round the plug's box: no strip runs under it.
    void surround_by_ring(double width) {
        settings.flange.width = Length::mm(width);
        const double gap = settings.flange.gap.mm();
        const Vec3 a = posed.box_fixture.low - Vec3{gap, gap, 0}, b = posed.box_fixture.high + Vec3{gap, gap, 0};
        add_panel("rim",
                  {{a.x - width, a.y - width},
                   {b.x + width, a.y - width},
                   {b.x + width, b.y + width},
                   {a.x - width, b.y + width}},
                  {0, 1});
        std::vector<Vec2> hole;
        for (const Vec2 p : {Vec2{a.x, a.y}, Vec2{a.x, b.y}, Vec2{b.x, b.y}, Vec2{b.x, a.y}}) {
            const Vec3 q = flange.panels.back().part.frame.to_local(Vec3{p.x, p.y, panel_top});
            hole.push_back({q.x, q.y});
        }
        flange.panels.back().part.outline.holes.push_back(make_loop(hole, CutKind::rough));
    }

    [[nodiscard]] Cradle build() const { return build_cradle(posed, parting, flange, settings); }

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

inline std::vector<const PlatePart*> parts_of(const CradleRig& rig, const Cradle& cradle) {
    std::vector<const PlatePart*> parts;
    for (const FlangePanel& p : rig.flange.panels) parts.push_back(&p.part);
    for (const Rib& r : cradle.ribs) parts.push_back(&r.part);
    for (const Rib& r : cradle.long_ribs) parts.push_back(&r.part);
    for (const Stringer& s : cradle.stringers) parts.push_back(&s.part);
    for (const PlatePart& t : cradle.ties) parts.push_back(&t);
    for (const PlatePart& s : cradle.stops) parts.push_back(&s);
    return parts;
}

/// Where a horizontal line crosses an outline, sorted.
inline std::vector<double> crossings(const Polygons& outline, double y) {
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
inline Polygons plan_at(const PlatePart& part, double z) {
    const Polygons outline = to_polygons(part.outline);
    Polygons plan;
    const auto add = [&](std::vector<Vec3> corners, bool is_hole = false) {
        plan.emplace_back();
        for (const Vec3& c : corners) plan.back().push_back({c.x, c.y});
        if ((signed_area(plan.back()) < 0) != is_hole) std::reverse(plan.back().begin(), plan.back().end());
    };
    if (part.frame.z.z > 0.99) {
        if (z > part.frame.origin.z || z < part.frame.origin.z - part.thickness_mm) return {};
        for (const auto& chain : outline) {
            std::vector<Vec3> corners;
            for (const Vec2& p : chain) corners.push_back(part.frame.to_parent(p));
            add(corners, signed_area(chain) < 0);
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
inline double shared_area(const std::vector<const PlatePart*>& parts, std::string& who) {
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

}  // namespace cradlewright::test
