// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/mould_joint.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "cradlewright/geom/region_ops.hpp"

namespace cradlewright {

namespace {

constexpr double bolt_diameter_mm = 6, edge_diameters = 2;
constexpr double bond_spacing_mm = 250, closed_spacing_mm = 150;
constexpr double single_width_mm = 40, closed_width_mm = 75;

bool is_told(const Settings& settings, const std::string& key) {
    const auto found = settings.origin.find(key);
    return found != settings.origin.end() && found->second != Origin::builtin;
}

class BoltPlacer {
public:
    BoltPlacer(const PartingLoop& loop, std::size_t number, const Flange& flange, const Beads& beads, double spacing_mm)
        : loop_(loop), number_(number), flange_(flange), beads_(beads), spacing_(spacing_mm) {}

    void place(std::vector<FlangeBolt>& bolts) const {
        const std::size_t n = loop_.panel_line.size();
        const auto count = static_cast<std::size_t>(std::max(3.0, std::ceil(loop_.length_mm / spacing_)));
        const double step = loop_.length_mm / static_cast<double>(count);
        double walked = 0, next = step / 2;
        for (std::size_t i = 0; i < n; ++i) {
            // A bolt that has no room here goes to the first place along that has, its neighbours stay.
            if (walked >= next) {
                if (const auto bolt = bolt_at(i)) {
                    bolts.push_back(*bolt);
                    next += step * std::max(1.0, std::ceil((walked - next) / step));
                }
            }
            walked += norm(loop_.panel_line[(i + 1) % n] - loop_.panel_line[i]);
        }
    }

private:
    [[nodiscard]] const FlangePanel* panel_at(std::size_t i) const {
        for (const FlangePanel& panel : flange_.panels) {
            if (panel.loop != number_) continue;
            const bool wraps = panel.last <= panel.first;
            if (wraps ? i >= panel.first || i < panel.last : i >= panel.first && i < panel.last) return &panel;
        }
        return nullptr;
    }

    /// Widest foot of the clay on this panel.
    [[nodiscard]] double foot_mm(const FlangePanel& panel) const {
        double foot = 0;
        for (const BeadRun& run : beads_.runs)
            if (run.panel == panel.id)
                for (const BeadSection& s : run.sections)
                    if (s.is_valid) foot = std::max(foot, norm(s.on_panel - s.joint));
        return foot;
    }

    [[nodiscard]] std::optional<FlangeBolt> bolt_at(std::size_t i) const {
        const FlangePanel* panel = panel_at(i);
        if (panel == nullptr || panel->part.outline.outer.vertices.empty()) return std::nullopt;
        const Vec3 normal = normalized(panel->normal);
        const Vec3 out = loop_.outward[i] - normal * dot(loop_.outward[i], normal);
        const double foot = foot_mm(*panel), clear = edge_diameters * bolt_diameter_mm;
        if (panel->width_mm - foot < 2 * clear || !(norm(out) > 0)) return std::nullopt;
        const Vec3 joint = loop_.panel_line[i] - normal * dot(loop_.panel_line[i] - panel->point, normal);
        const Vec3 at = joint + normalized(out) * ((foot + panel->width_mm) / 2);
        const Vec3 flat = panel->part.frame.to_local(at);
        if (!contains(offset(to_polygons(panel->part.outline), -clear), Vec2{flat.x, flat.y})) return std::nullopt;
        return FlangeBolt{panel->id, at, normal};
    }

    const PartingLoop& loop_;
    std::size_t number_;
    const Flange& flange_;
    const Beads& beads_;
    double spacing_;
};

std::string trim_words(const Beads& beads, const Settings& settings) {
    const auto length = [&](double mm) { return format_quantity(Quantity::of(Length::mm(mm)), settings.units); };
    switch (settings.mould.use) {
        case MouldUse::single:
            return "trim the part at the mould's trim line, where the bead left the plug";
        case MouldUse::trim_and_bond:
            return beads.join_gap_mm > 0 ? "trim each half at its own trim line and bond them over a strip of up to " +
                                               length(beads.join_gap_mm)
                                         : "trim each half at the panel line and bond them there";
        case MouldUse::join_in_mould:
            break;
    }
    return beads.radius_mm > 0
               ? "join the halves wet in the closed mould; the told bead leaves a groove of up to " +
                     length(beads.join_gap_mm) + " along the seam, to be filled before they close"
               : "let the cloth of both halves end at the panel line and join it wet in the closed mould";
}

}  // namespace

Settings settings_for_use(Settings settings) {
    if (is_told(settings, "flange.width")) return settings;
    if (settings.mould.use == MouldUse::single) settings.flange.width = Length::mm(single_width_mm);
    if (settings.mould.use == MouldUse::join_in_mould) settings.flange.width = Length::mm(closed_width_mm);
    return settings;
}

MouldJoint plan_mould_joint(const Parting& parting, const Flange& flange, const Beads& beads,
                            const Settings& settings) {
    MouldJoint joint;
    if (!parting.is_found()) return joint;
    joint.trim = trim_words(beads, settings);
    if (settings.mould.use == MouldUse::single) return joint;
    joint.bolt_mm = bolt_diameter_mm;
    joint.spacing_mm = settings.mould.use == MouldUse::join_in_mould ? closed_spacing_mm : bond_spacing_mm;
    for (std::size_t k = 0; k < parting.loops.size(); ++k)
        if (!parting.loops[k].is_inner)
            BoltPlacer(parting.loops[k], k, flange, beads, joint.spacing_mm).place(joint.bolts);
    return joint;
}

}  // namespace cradlewright
