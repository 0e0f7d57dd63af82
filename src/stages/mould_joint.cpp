// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/mould_joint.hpp"

namespace cradlewright {

namespace {

constexpr double bond_spacing_mm = 250, closed_spacing_mm = 150;
constexpr double single_width_mm = 40, closed_width_mm = 75;

bool is_told(const Settings& settings, const std::string& key) {
    const auto found = settings.origin.find(key);
    return found != settings.origin.end() && found->second != Origin::builtin;
}

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

MouldJoint plan_mould_joint(const Parting& parting, const Beads& beads, const Settings& settings) {
    MouldJoint joint;
    if (!parting.is_found()) return joint;
    joint.trim = trim_words(beads, settings);
    if (settings.mould.use == MouldUse::single) return joint;
    joint.bolt_spacing_mm = settings.mould.use == MouldUse::join_in_mould ? closed_spacing_mm : bond_spacing_mm;
    return joint;
}

}  // namespace cradlewright
