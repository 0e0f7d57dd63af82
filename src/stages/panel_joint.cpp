// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/panel_joint.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"

namespace cradlewright {
namespace {

constexpr double one_plane = 0.9998;          // cosine of 1 deg
constexpr double strap_thicknesses = 16;      // 8 on either side. Source: common practice for plywood
constexpr double least_side_thicknesses = 3;  // of glue on a side; less is no joint. Assumed
constexpr double least_wide_mm = 20;          // nobody glues less
constexpr double inset_mm = 3;                // from the panels' edges
constexpr double clear_mm = 1.5;              // from what carries the panels
constexpr double seam_mm = 1;                 // a saw's cut between two panels is no edge
constexpr double far_mm = 1e4;

/// What of a part lies within the strap's thickness, seen along the strap's normal; `top`: the strap's drawn face.
void add_shadow(Polygons& shadows, const PlatePart& part, const Frame3& top, double thickness_mm) {
    if (part.outline.outer.vertices.empty()) return;
    const Frame3& f = part.frame;
    const Vec2 rise{dot(top.z, f.x), dot(top.z, f.y)};
    const double steep = norm(rise), across = std::abs(dot(top.z, f.z)) * part.thickness_mm;
    if (steep < 0.1) return;  // lies level: the base
    const Vec2 up = rise / steep, along = perp(up) * far_mm;
    const Vec2 from = up * ((-thickness_mm - clear_mm - across - dot(f.origin - top.origin, top.z)) / steep);
    const Polygons above{{from + along, from - along, from - along + up * far_mm, from + along + up * far_mm}};
    const auto seen = [&](Vec2 p, double depth) {
        const Vec3 q = top.to_local(f.to_parent(Vec3{p.x, p.y, -depth}));
        return Vec2{q.x, q.y};
    };
    for (const auto& loop : intersect(to_polygons(part.outline), above))
        for (std::size_t i = 0; i < loop.size(); ++i) {
            const Vec2 a = loop[i], b = loop[(i + 1) % loop.size()];
            std::vector<Vec2> side{seen(a, 0), seen(b, 0), seen(b, part.thickness_mm), seen(a, part.thickness_mm)};
            if (signed_area(side) < 0) std::ranges::reverse(side);
            shadows.push_back(std::move(side));
        }
}

class StrapLayer {
public:
    StrapLayer(Flange flange, const Parting& parting, const Cradle& cradle, const Settings& settings)
        : flange_(std::move(flange)), parting_(parting), cradle_(cradle), settings_(settings) {}

    Flange lay() {
        for (std::size_t i = 0; i + 1 < flange_.panels.size(); ++i) {
            FlangePanel &a = flange_.panels[i], &b = flange_.panels[i + 1];
            if (are_butted(a, b, parting_, settings_)) join(a, b);
        }
        return std::move(flange_);
    }

private:
    void join(FlangePanel& a, FlangePanel& b) {
        const double wide = strap_thicknesses * a.part.thickness_mm;
        std::string todo;
        if (a.is_curved() || b.is_curved()) {
            todo = "glue a strap " + format_quantity(Quantity::of(Length::mm(wide)), settings_.units) +
                   " wide of the same sheet under the joint, between the strips";
        } else {
            for (const PlatePart& strap : straps_under(a, b))
                todo += (todo.empty() ? "glue " : " and ") + strap.id, flange_.straps.push_back(strap);
            todo += todo.empty() ? "what stands under the joint leaves a strap no room: glue both to it"
                                 : " under the joint";
        }
        a.part.note += "; butts against " + b.id + ": " + todo;
        b.part.note += "; butts against " + a.id + ": " + todo;
    }

    [[nodiscard]] std::vector<PlatePart> straps_under(const FlangePanel& a, const FlangePanel& b) {
        Frame3 top = a.part.frame;
        top.origin = top.origin - top.z * a.part.thickness_mm;
        const auto seen = [&](Vec3 p) {
            const Vec3 q = top.to_local(p);
            return Vec2{q.x, q.y};
        };
        const std::vector<Vec3>& line = parting_.loops[b.loop].panel_line;
        const std::size_t n = line.size();
        const Vec2 joint = seen(line[b.first]),
                   along = normalized(seen(line[(b.first + 1) % n]) - seen(line[(b.first + n - 1) % n]));
        Polygons sheet = to_polygons(a.part.outline);
        for (std::vector<Vec2> loop : to_polygons(b.part.outline)) {
            for (Vec2& p : loop) p = seen(b.part.frame.to_parent(p));
            sheet.push_back(std::move(loop));
        }
        sheet = offset(offset(sheet, seam_mm), -seam_mm - inset_mm);
        const double side = 0.5 * strap_thicknesses * a.part.thickness_mm;
        const Vec2 across = perp(along) * far_mm;
        Polygons room = intersect(sheet, {{joint - along * side - across, joint + along * side - across,
                                           joint + along * side + across, joint - along * side + across}});
        room = subtract(room, offset(shadows(top, a.part.thickness_mm), clear_mm));
        room = offset(offset(room, -least_wide_mm / 2), least_wide_mm / 2);
        std::vector<PlatePart> straps;
        for (const auto& piece : room) {
            double low = 0, high = 0;
            for (const Vec2 p : piece) {
                low = std::min(low, dot(p - joint, along));
                high = std::max(high, dot(p - joint, along));
            }
            const double least = least_side_thicknesses * a.part.thickness_mm;
            if (signed_area(piece) > 0 && low <= -least && high >= least)
                straps.push_back(strap_of(piece, top, a, b, {joint, along}));
        }
        return straps;
    }

    [[nodiscard]] Polygons shadows(const Frame3& top, double thickness_mm) const {
        Polygons all;
        for (const PlatePart* plate : standing_plates(cradle_)) add_shadow(all, *plate, top, thickness_mm);
        for (const Stringer& stringer : cradle_.stringers) add_shadow(all, stringer.part, top, thickness_mm);
        return all;
    }

    struct JointLine {
        Vec2 at, along;  ///< a point of it; the direction of the parting line, square to it
    };
    [[nodiscard]] PlatePart strap_of(const std::vector<Vec2>& piece, const Frame3& top, const FlangePanel& a,
                                     const FlangePanel& b, const JointLine& joint) {
        PlatePart strap;
        strap.id = "strap-" + a.edge + "-" + std::to_string(++count_[a.edge]);
        strap.kind = PartKind::strap;
        strap.frame = top;
        strap.thickness_mm = a.part.thickness_mm;
        strap.stock = a.part.stock;
        strap.outline.outer = fitted(make_loop(piece, CutKind::rough), Tolerances{}.arc_fit_mm, strap.fit);
        strap.note = "drawn face up, glued under the joint of " + a.id + " and " + b.id + "; the line is the joint";
        std::vector<Vec2> on_joint;
        for (std::size_t i = 0; i < piece.size(); ++i) {
            const Vec2 p = piece[i], q = piece[(i + 1) % piece.size()];
            const double s = dot(p - joint.at, joint.along), t = dot(q - joint.at, joint.along);
            if ((s < 0) != (t < 0)) on_joint.push_back(p + (q - p) * (s / (s - t)));
        }
        std::ranges::sort(on_joint, {}, [&](Vec2 p) { return cross(joint.along, p - joint.at); });
        if (on_joint.size() > 1) strap.marks.push_back({MarkKind::line, {on_joint.front(), on_joint.back()}, "", 0});
        return strap;
    }

    Flange flange_;
    const Parting& parting_;
    const Cradle& cradle_;
    const Settings& settings_;
    std::map<std::string, int> count_;
};

}  // namespace

bool are_butted(const FlangePanel& a, const FlangePanel& b, const Parting& parting, const Settings& settings) {
    if (a.edge != b.edge || a.loop != b.loop || a.step_mm > settings.flange.planarity.mm()) return false;
    const Vec3 joint = parting.loops[b.loop].panel_line[b.first];
    return dot(a.top_near(joint).normal, b.top_near(joint).normal) >= one_plane;
}

Flange lay_straps(Flange flange, const Parting& parting, const Cradle& cradle, const Settings& settings) {
    return StrapLayer(std::move(flange), parting, cradle, settings).lay();
}

}  // namespace cradlewright
