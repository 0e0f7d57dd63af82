// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/symbols.hpp"

#include <map>
#include <vector>

namespace cradlewright {
namespace {

using Symbols = std::vector<Symbol>;

const Symbol normal{"n", "unit normal of the surface, outward", "1", ""};
const Symbol pull{"p", "unit pull of the half", "1", ""};
const Symbol clash_limit{"d_max", "most overlap", "mm", "limits.clash"};
const Symbol off_level{"k", "times 5 deg off level that it must bear", "1", "limits.tip-factor"};
const Symbol squeegee{"F", "force of the squeegee", "N", "limits.squeegee-load"};
const Symbol squeegee_width{"s", "width of the squeegee", "mm", "limits.squeegee-width"};
const Symbol bead_radius{"R", "radius of the bead", "mm", "bead.radius"};
const Symbol class_radius{"Rc", "class radius of the cloth", "mm", "cloth.*.class-radius"};

std::map<std::string_view, Symbols> scan_and_release() {
    const Symbol undercut_limit{"u_max", "most undercut", "mm", "release.undercut-limit"};
    return {
        {"scan.quality",
         {{"d", "distance of a vertex from the quadratic surface through it and its two rings", "mm", ""},
          {"f", "share of unit noise that the fit leaves there", "1", ""},
          {"g", "gap of the panels", "mm", "flange.gap"}}},
        {"scan.caliper",
         {{"m", "distance on the scan", "mm", ""}, {"c", "distance by the caliper (section [[caliper]])", "mm", ""}}},
        {"release.draft",
         {normal,
          pull,
          {"q", "share of the moulded area that may lie below", "1", "release.draft-quantile"},
          {"a_min", "least draft", "deg", "release.min-draft"}}},
        {"release.undercut", {{"u", "shift square to the pull that frees the place", "mm", ""}, undercut_limit}},
        {"release.lock",
         {normal,
          pull,
          {"h", "how far the plug reaches out above the mould's edge, square to the pull", "mm", ""},
          {"e", "shrinkage of the mould in its plane after gel", "1", "mould.resin-shrinkage"},
          {"b", "half the plug's width square to the edge", "mm", ""},
          {"z", "what the wall above the edge draws in within the wedges' lift", "mm", "release.wedge-lift"},
          undercut_limit}},
        {"release.flange",
         {{"N", "unit normal of the panel's top face", "1", ""},
          {"p", "half 1's pull, the opposite of half 2's, their difference", "1", "pose.pull-2"},
          {"a_l", "draft of the locators' flank", "deg", "mould.locator-draft"},
          {"c", "angle from a locator's axis, which halves the two pulls, to either", "deg", ""},
          {"a_min", "least draft of a peg in its socket", "deg", "release.min-draft"},
          {"a_good", "least draft of a flange", "deg", "release.good-draft"}}},
        {"release.join-gap",
         {{"w1", "plug arc from panel line to half 1's trim line", "mm", ""},
          {"w2", "plug arc from panel line to half 2's trim line", "mm", ""},
          {"w_max", "widest strip", "mm", "bead.join-gap-limit"}}},
    };
}

std::map<std::string_view, Symbols> pose_and_cradle() {
    return {
        {"pose.tip",
         {{"b", "centre of mass to the nearest side of the support polygon, level", "mm", ""},
          {"h", "height of the centre of mass over the supports", "mm", ""},
          off_level}},
        {"pose.slide",
         {{"t", "steepest rise that the plug must climb that way", "deg", ""},
          {"m", "friction of the released plug on its pads", "1", "limits.friction"},
          off_level}},
        {"cradle.sag",
         {{"EI", "bending stiffness of the plug's section, core and skin", "N mm2", ""},
          {"GA", "shear stiffness of the section", "N", ""},
          {"q", "own weight and wet laminate of half 1", "N/mm", ""},
          {"P", "hand that leans on the worst place", "N", "limits.hand-load"},
          {"w_max", "most sag", "mm", "limits.sag"}}},
        {"cradle.support",
         {{"N", "ties through an upright, or uprights under a panel", "1", ""},
          {"N_min", "two, so that nothing rocks", "1", ""}}},
        {"cradle.seat",
         {{"d", "distance of the saddle from the plug", "mm", ""},
          {"t", "pad as the plug compresses it", "mm", "cradle.pad"},
          {"e", "what counts as touching", "mm", "limits.seat-deviation"},
          {"S_min", "least share", "1", "limits.seat-share"}}},
        {"cradle.drop-in", {{"d", "overlap of the part with the plug on its way down", "mm", ""}, clash_limit}},
        {"cradle.lift-off", {{"d", "overlap of the part with the plug on its way off", "mm", ""}, clash_limit}},
        {"cradle.rib-bearing",
         {{"R", "greatest load on the rib", "N", ""},
          {"b", "level width of the saddle; narrowest width of the rib for buckling", "mm", ""},
          {"t", "thickness of the rib", "mm", ""},
          {"k", "share of the pressure that the plug's skin leaves to the core", "1", ""},
          {"s_c", "crushing stress of the core", "MPa", ""},
          {"E", "modulus of the rib's sheet", "MPa", ""},
          {"h", "height to the saddle's top", "mm", ""},
          {"B_max", "most of the crushing stress", "1", "limits.bearing"},
          {"n_min", "least safety against buckling", "1", "limits.buckling-factor"}}},
        {"cradle.clash", {{"d", "depth of one part's edge inside another", "mm", ""}, clash_limit}},
    };
}

std::map<std::string_view, Symbols> panels_and_strips() {
    return {
        {"panel.deflection",
         {{"D", "bending stiffness of the sheet, E t^3 / (12 (1 - nu^2))", "N mm", ""},
          {"E", "modulus of the sheet", "MPa", ""},
          {"t", "thickness of the sheet", "mm", ""},
          {"nu", "its ratio of Poisson", "1", ""},
          squeegee,
          squeegee_width,
          {"w_max", "most dip beside the plug", "mm", "limits.panel-dip"},
          {"w_away", "most dip further out", "mm", "limits.panel-dip-away"}}},
        {"panel.bend",
         {{"t", "thickness of the sheet", "mm", ""},
          {"R", "least radius it is bent to", "mm", ""},
          {"e", "strain that its skin bears", "1", ""}}},
        {"panel.gap", {{"c", "clearance panel to plug", "mm", ""}, {"g_max", "widest gap", "mm", "flange.gap-limit"}}},
        {"stringer.deflection",
         {{"E", "modulus of the strip", "MPa", ""},
          {"I", "second moment, width x height^3 / 12", "mm4", ""},
          squeegee,
          {"w_max", "most dip", "mm", "limits.stringer-dip"}}},
        {"tool.inside-radius",
         {{"r", "smallest concave radius on edges cut to fit; by router half the width of slots too", "mm", ""},
          {"r_blade", "what the blade turns in, by its width", "mm", "saw.blade"},
          {"r_drum", "half the sanding drum", "mm", "saw.drum"},
          {"r_cutter", "half the cutter, when cut by router", "mm", "router.cutter"}}},
        {"stock.fit",
         {{"L", "long side of the part's box, with W the short one", "mm", ""},
          {"A", "long side of the sheet less its margins, with B the short one", "mm", ""}}},
    };
}

std::map<std::string_view, Symbols> clay_and_cloth() {
    const Symbol under{"b", "gel coat, veil and plies between surface and ply", "mm", ""};
    return {
        {"bead.mould-plies", {bead_radius, under, class_radius}},
        {"bead.part-plies", {bead_radius, under, class_radius}},
        {"plug.arris-plies",
         {{"r", "radius of the plug's sharp place, or of the groove it leaves", "mm", ""}, under, class_radius}},
        {"bead.cover",
         {{"w", "plug surface from panel line to the bead's foot", "mm", ""},
          {"w_max", "most of it", "mm", "bead.cover-limit"}}},
        {"mould.stand-tip",
         {{"b", "centre of mass of a half to the nearest side of its plates' footprint, level", "mm", ""},
          {"h", "height of the centre of mass over the bench", "mm", "mould.stiffener-depth"},
          {"m", "mass of the half", "kg", ""},
          {"g", "standard gravity", "m/s2", ""},
          {"a", "from that side of the footprint out to the rim", "mm", ""},
          {"F", "a hand that leans on the rim, unless mould.stand-clamp is yes", "N", "limits.hand-load"},
          off_level}},
        {"layup.shear",
         {{"g", "angle by which warp and weft leave the square", "deg", ""},
          {"g_lock", "that at which the weave wrinkles: plain 30-40, twill 45-50, satin 50-60", "deg",
           "cloth.*.lock-angle"}}},
        {"layup.pot-life",
         {{"B", "resin mixed at a time; 0 = as large as the pot life lets", "kg", "kit.batch"},
          {"k", "time to spread a kilogram", "s", "kit.kilogram-time"},
          {"T", "pot life of the data sheet", "s", "kit.pot-life"},
          {"T0", "temperature it is stated for", "degC", "kit.pot-life-at"},
          {"Tr", "temperature of the room, 3 degC either way", "degC", "kit.room"}}},
    };
}

std::map<std::string_view, Symbols> mould() {
    return {
        {"mould.stiffness",
         {squeegee,
          squeegee_width,
          {"c", "factor of a long plate clamped at one edge, by the squeegee's width", "1", ""},
          {"a", "width of the mould's flange", "mm", "flange.width"},
          {"b", "free width of the shell", "mm", "mould.stiffener-spacing"},
          {"D", "bending stiffness of the layers about their neutral plane", "N mm", ""},
          {"w_max", "most dip", "mm", "limits.mould-dip"}}},
        {"mould.shrinkage",
         {{"v", "shrinkage of the resin by volume; 0 = of the resin named", "1", "mould.resin-shrinkage"},
          {"Em", "modulus of the resin", "MPa", ""},
          {"E", "modulus of the laminate in its plane", "MPa", ""},
          {"Vf", "share of fibre by volume", "1", ""},
          {"g", "share of the cure that comes after gel", "1", ""},
          {"L", "length of the mould", "mm", ""},
          {"s_max", "most shrinkage over the length", "mm", "limits.shrinkage"}}},
    };
}

std::map<std::string_view, Symbols> make_symbols() {
    std::map<std::string_view, Symbols> all = scan_and_release();
    all.merge(pose_and_cradle());
    all.merge(panels_and_strips());
    all.merge(clay_and_cloth());
    all.merge(mould());
    return all;
}

}  // namespace

std::span<const Symbol> symbols_of(std::string_view id) {
    static const std::map<std::string_view, Symbols> all = make_symbols();
    const auto found = all.find(id);
    return found == all.end() ? std::span<const Symbol>() : found->second;
}

}  // namespace cradlewright
