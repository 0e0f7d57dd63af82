// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/page_hardware.hpp"

#include <algorithm>
#include <cmath>

#include "files/markup.hpp"
#include "files/page_pictures.hpp"
#include "files/page_table.hpp"

namespace cradlewright {
namespace {

using Sizes = HardwareSizes;

std::string id_of(std::string_view text) { return "<span class=\"id\">" + escape_markup(text) + "</span>"; }

class Section {
public:
    explicit Section(const Design& design)
        : hardware_(design.hardware), units_(design.settings.units), spacing_(design.joint.bolt_spacing_mm) {}

    [[nodiscard]] std::string html() const {
        std::string html;
        for (const std::string& note : hardware_.notes)
            html += paragraph("<b>" + escape_markup(sentence(note)) + "</b>");
        if (hardware_.items.empty()) return html;
        return html + summary() + table() + steps() + cautions();
    }

private:
    [[nodiscard]] std::string len(double mm) const { return length_cell(mm, 1, units_); }
    [[nodiscard]] std::string dim(double mm) const { return dimension_text(mm, units_); }
    [[nodiscard]] std::size_t count(HardwareKind kind) const {
        return static_cast<std::size_t>(std::count_if(hardware_.items.begin(), hardware_.items.end(),
                                                      [&](const auto& i) { return i.kind == kind; }));
    }
    static std::string sentence(std::string text) {
        if (!text.empty() && text.front() >= 'a' && text.front() <= 'z') text.front() -= 'a' - 'A';
        return text + ".";
    }

    [[nodiscard]] std::string summary() const {
        const LocatorShape& shape = hardware_.locator;
        std::string text =
            "Everything is marked on the flat patterns of the panels: a cross in the middle, its outline in "
            "true size, its name. Locators: " +
            len(2 * shape.radius_mm) + " wide at the foot, " + len(shape.height_mm) + " high, draft " +
            angle(shape.draft_rad) + ", top edge rounded to " + len(shape.round_mm) +
            "; their axes all point along the opening.";
        if (std::isfinite(hardware_.misfit_mm))
            text += " The gaps between them differ: put together turned or mirrored, at least one peg stands " +
                    len(hardware_.misfit_mm) + " off its socket.";
        text += " Clamp bolts: M" + short_number(Sizes::bolt, 0) + " with washers of " + len(Sizes::washer) +
                ", about " + len(spacing_) + " apart at most.";
        return paragraph(text);
    }

    static std::string angle(double rad) { return short_number(Angle::rad(rad).deg(), 1) + " deg"; }

    [[nodiscard]] std::string remark(const HardwareItem& item) const {
        switch (item.kind) {
            case HardwareKind::locator:
                return "screw from below, hole of " + len(Sizes::screw) +
                       (!item.has_shim() ? std::string()
                                         : "; on a shim of " + angle(item.shim_rad) + ", thick edge downhill");
            case HardwareKind::port:
                return "hole of " + len(Sizes::port) + " in half " + std::to_string(item.half) + "'s flange; " +
                       len(item.to_part_edge_mm) + " from the part's edge";
            case HardwareKind::jack:
                return "thread M" + short_number(Sizes::jack, 0) + " in half 1, disc of " + len(Sizes::pad) +
                       " in half 2";
            case HardwareKind::bolt:
                return "M" + short_number(Sizes::bolt, 0);
            case HardwareKind::notch:
                break;
        }
        return len(Sizes::notch_width) + " wide, " + len(Sizes::notch_depth) + " deep, " + len(Sizes::notch_height) +
               " high at the rim";
    }

    [[nodiscard]] std::string table() const {
        const std::string at = std::string("At (x, y, z), ") + (units_ == UnitSystem::inch ? "inches" : "mm");
        Table table("Locators and opening hardware, on the panels' top faces, in the fixture's frame",
                    {{"What"}, {"Panel"}, {at, Cell::number}, {"How"}});
        for (const HardwareItem& item : hardware_.items)
            table.row({id_of(item.id), id_of(item.panel),
                       dim(item.at.x) + ", " + dim(item.at.y) + ", " + dim(item.at.z), remark(item)});
        return table.html();
    }

    [[nodiscard]] std::string steps() const {
        std::vector<std::string> lines;
        const bool has_shim = std::any_of(hardware_.items.begin(), hardware_.items.end(), [](const HardwareItem& item) {
            return item.kind == HardwareKind::locator && item.has_shim();
        });
        if (count(HardwareKind::locator) > 0)
            lines.push_back(
                "<b>Locators, before layup.</b> On the bench, before a panel is glued down, drill " +
                len(Sizes::screw) +
                " at each locator's cross and screw the button on from below, so that no head shows on top" +
                (has_shim ? "; where the table names a shim, set it between button and panel with its "
                            "thick edge downhill and fill the joint"
                          : "") +
                ". Seal round its foot with wax; release it with the panel. Lay the first plies over it in "
                "small pieces, and run thickened resin round its foot.");
        lines.push_back(
            "<b>Marks.</b> Centre-punch the crosses of bolts, jack bolts and half 2's port lightly: each dimple "
            "leaves a pip on half 1's flange, which shows where to drill.");
        if (count(HardwareKind::notch) > 0)
            lines.push_back(
                "<b>Wedge notches, before layup.</b> Inside each outline at the rim press a taper of clay, from "
                "nothing to " +
                len(Sizes::notch_height) +
                " high at the rim, and strike it smooth. Leave it, or fill it again, when half 2 is laid; clear "
                "it once both rims are trimmed, and a wedge has somewhere to start.");
        if (count(HardwareKind::port) > 0)
            lines.push_back(
                "<b>Ports.</b> While half 1's flange is laid, stand a waxed dowel of " + len(Sizes::port) +
                " on the cross of its port, square to the panel; while half 2's is laid, on the pip of its own. "
                "Twist it out when the resin has gelled and tape the hole over. They open between the flanges, "
                "against the other flange and never at the part's edge: there the film lifts first, and the "
                "moulded surface keeps no mark.");
        if (count(HardwareKind::locator) > 0)
            lines.push_back(
                "<b>When half 1 is turned over</b> and the panels are off, the buttons leave sockets in its "
                "flange. Clean and release them, and fill them with half 2's first plies in small pieces: they "
                "become its pegs.");
        if (count(HardwareKind::jack) > 0)
            lines.push_back(
                "<b>Jack bolts, before half 2 is laid.</b> Drill half 1's flange at the pips, bond a threaded "
                "insert M" +
                short_number(Sizes::jack, 0) + " flush from the back, stop the thread with wax. Lay a steel disc of " +
                len(Sizes::pad) +
                " over it with release film between: half 2 takes it up as the pad that the screw pushes on.");
        lines.push_back("<b>Clamp bolts.</b> Drill " + len(3) +
                        " through half 1's flange at the pips and stop the holes with wax. Once "
                        "half 2 has cured, <b>before the halves part</b>, drill " +
                        len(Sizes::bolt) + " through both from half 1's back along these.");
        lines.push_back(
            "<b>Opening.</b> Loosen the bolts by a few turns and leave them in. A little water, then if need be air "
            "through "
            "the ports; plastic wedges at the notches all round, a few millimetres each; then, bolts out, the jack "
            "bolts a "
            "quarter turn each in turn. When it does not move, wait and go round again.");
        return "<h3>Steps</h3>\n<ol>" + items_of(lines) + "</ol>\n";
    }

    [[nodiscard]] static std::string cautions() {
        const std::vector<std::string> lines{
            "Wedges of plastic or wood, never of steel: steel bruises gel coat and chips fly. Eye protection when you "
            "strike "
            "one.",
            "Air at low pressure only, through a regulator, with eye and ear protection, the bolts loosely in "
            "place so "
            "that no half can fly, and nobody over or in line with the joint: 1 bar under no more than a sheet of A4 "
            "pushes "
            "with 6 kN, the weight of 600 kg. Water stores far less energy than air: take it first.",
            "Jack bolts push hard on a small place: all of them by little and in turn, never one alone.",
            "Drilling laminate: dust of glass and carbon goes into lungs and skin. Extraction at the drill, a particle "
            "filter, eye protection, clamps instead of a hand behind the hole.",
            "Two people for opening and lifting; what the data sheets, local codes and licensed practice say comes "
            "first.",
        };
        return "<h3>Cautions</h3>\n<ul>" + items_of(lines) + "</ul>\n";
    }

    static std::string items_of(const std::vector<std::string>& lines) {
        std::string html;
        for (const std::string& line : lines) html += "<li>" + line + "</li>";
        return html;
    }

    const Hardware& hardware_;
    UnitSystem units_;
    double spacing_;
};

}  // namespace

std::string hardware_section(const Design& design) { return Section(design).html(); }

}  // namespace cradlewright
