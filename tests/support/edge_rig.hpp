// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "cradlewright/stages/edge_lock.hpp"
#include "cradlewright/stages/mould_skin.hpp"
#include "support/plugs.hpp"
#include "support/shapes.hpp"

/// \file A mould's edge laid by hand on a plug with a closed form, straight along x or round an axis along z. Frame of
/// the shape makers, which stands in the fixture unturned.
namespace cradlewright::test {

struct EdgeRig {
    PosedPlug posed;
    Parting parting;
    Flange flange;
    Beads beads;
    Settings settings;

    explicit EdgeRig(TriMesh mesh) : posed(posed_plug(std::move(mesh))) {
        settings.mould.use = MouldUse::single;
        parting.loops.emplace_back();
    }

    [[nodiscard]] Vec3 to_fixture(Vec3 p) const { return posed.pose.to_fixture(p); }

    /// A panel line through `line` (y, z) along x, on the side of +y or -y.
    void add_straight(const std::string& edge, EdgeRule rule, Vec2 line, double strip_mm = 0) {
        const Vec3 outward{0, line.x > 0 ? 1.0 : -1.0, 0};
        std::vector<Vec3> points;
        for (double x = -40; x <= 40; x += 10) points.push_back(to_fixture({x, line.x, line.y}));
        add(edge, rule, points, std::vector<Vec3>(points.size(), outward), strip_mm);
    }

    /// A level circle round z, away from the plug or, `sign` -1, into its hole.
    void add_circle(double radius, double z, double sign = 1) {
        std::vector<Vec3> points, outward;
        for (int k = 0; k < 24; ++k) {
            const double a = 2 * 3.14159265358979323846 * k / 24;
            const Vec3 way{std::cos(a), std::sin(a), 0};
            points.push_back(to_fixture({radius * way.x, radius * way.y, z}));
            outward.push_back(way * sign);
        }
        add("rim", EdgeRule::silhouette, points, outward, 0);
    }

    /// Clay of `ball` along a lying cylinder of radius r about x, its foot `below_rad` under the widest line of the +y
    /// side: the ball's centre is a radius over the panel, so the panel line lies where its own height is.
    void add_bead_on_cylinder(const std::string& edge, double r, double ball, double below_rad, double strip_mm) {
        const double panel = -(r + ball) * std::sin(below_rad) - ball;
        add_straight(edge, EdgeRule::overrun, {std::sqrt(r * r - panel * panel), panel});
        FlangePanel sheet;
        sheet.id = "panel-" + edge + "-1";
        sheet.edge = edge;
        flange.panels.push_back(sheet);
        BeadRun run;
        run.edge = edge;
        run.panel = sheet.id;
        run.radius_mm = beads.radius_mm = ball;
        for (const Vec3& joint : parting.loops.front().panel_line) {
            const Vec3 axis = joint - Vec3{0, std::sqrt(r * r - panel * panel), panel};
            const Vec3 way{0, std::cos(below_rad), -std::sin(below_rad)};
            BeadSection section;
            section.joint = joint;
            section.on_plug = axis + way * r;
            section.center = axis + way * (r + ball);
            section.on_panel = section.center - Vec3{0, 0, ball};
            section.plug_strip_mm = strip_mm;
            run.sections.push_back(section);
        }
        beads.runs.push_back(std::move(run));
    }

    [[nodiscard]] std::vector<EdgeLock> locks() const {
        return measure_edge_locks(posed, parting, flange, beads, settings);
    }
    /// In-plane shrinkage of the mould as set.
    [[nodiscard]] Spread shrinkage() const {
        return mould_shrinkage(settings, make_laminate(settings, settings.laminate_mould, "laminate.mould.plies"),
                               resin_shrinkage(settings));
    }

private:
    void add(const std::string& edge, EdgeRule rule, const std::vector<Vec3>& points, const std::vector<Vec3>& outward,
             double strip_mm) {
        PartingLoop& loop = parting.loops.front();
        PartingEdge added{edge, rule, loop.panel_line.size(), loop.panel_line.size() + points.size() - 1, {}};
        added.strip_mm = strip_mm;
        loop.edges.push_back(std::move(added));
        loop.panel_line.insert(loop.panel_line.end(), points.begin(), points.end());
        loop.outward.insert(loop.outward.end(), outward.begin(), outward.end());
    }
};

}  // namespace cradlewright::test
