// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/page_mould_back.hpp"

#include <algorithm>
#include <cmath>

#include "files/markup.hpp"
#include "files/page_table.hpp"
#include "files/picture_canvas.hpp"

namespace cradlewright {
namespace {

constexpr double wide_px = 720, rib_px = 230;

std::string id_of(std::string_view text) { return "<span class=\"id\">" + escape_markup(text) + "</span>"; }

}  // namespace

Picture draw_back_plan(const Design& design, const BackHalf& half) {
    Box2 box;
    for (const Vec2& p : half.rim) box.add(p);
    Canvas canvas(box, wide_px, 300, {.left = 24, .top = 24, .right = 24, .bottom = 30});
    const auto flat = [&](Vec3 p) {
        const Vec3 q = half.stand.to_local(p);
        return Vec2{q.x, q.y};
    };
    for (const FlangePanel& panel : design.flange.panels) {
        std::vector<Vec2> outline;
        for (const Vec2& p : flatten(panel.part.outline.outer, canvas.sag_mm()))
            outline.push_back(flat(placed(panel.part, p)));
        canvas.chain("panel thin", outline, true);
    }
    for (const PartingLoop& loop : design.parting.loops) {
        std::vector<Vec2> line;
        for (const Vec3& p : loop.panel_line) line.push_back(flat(p));
        canvas.chain("parting", line, true);
    }
    canvas.chain("ghost", half.footprint, true);
    for (const BackPlate& plate : half.plates) {
        const Box2 ends = bounding_box(plate.part.outline);
        const double t = plate.part.thickness_mm / 2, s = plate.station_mm;
        const auto at = [&](double along, double side) {
            return plate.is_along ? Vec2{along, s + side} : Vec2{s + side, along};
        };
        canvas.chain("wood", {at(ends.low.x, -t), at(ends.high.x, -t), at(ends.high.x, t), at(ends.low.x, t)}, true);
    }
    for (const HardwareItem& item : design.hardware.items) canvas.circle("mark", canvas.at(flat(item.at)), 3);
    for (const BackPlate& plate : half.plates) {
        const Box2 ends = bounding_box(plate.part.outline);
        const std::string& name = plate.part.id;  // whole, or it reads as one of the cradle's ribs
        if (plate.is_along)
            canvas.text("lbl halo",
                        canvas.at({ends.low.x, plate.station_mm}) + Vec2{10, plate.edge.empty() ? 22.0 : -6.0},
                        Anchor::start, name);
        else
            canvas.text("lbl halo", canvas.at({plate.station_mm, box.high.y}) + Vec2{0, -6}, Anchor::middle, name);
    }
    if (half.trouble.empty()) {
        const Vec2 centre = canvas.at({half.centre.x, half.centre.y});
        canvas.circle("node", centre, 4);
        canvas.text("lbl halo", centre + Vec2{8, 14}, Anchor::start, "centre of mass");
    }
    const bool front_is_up = half.stand.y.y > 0;
    canvas.text("lbl", {wide_px / 2, canvas.bottom() + 22}, Anchor::middle,
                std::string("end-a left, ") + (front_is_up ? "front" : "back") + " up");
    return std::move(canvas).finish(
        "Half " + std::to_string(half.half) + " on its stand, seen from above into the mould",
        "Plates stand below; the dashed line is what they stand on, small circles are hardware on the flange.");
}

Picture draw_back_plate(const BackHalf& half, const BackPlate& plate, UnitSystem units) {
    Box2 box = bounding_box(plate.part.outline);
    for (const Vec2& p : plate.surface) box.add(p);
    Canvas canvas(box, wide_px, rib_px, {.left = 64, .top = 20, .right = 64, .bottom = 2 * row_px + 8});
    canvas.region("sheet", plate.part.outline);
    canvas.line("base", canvas.at({box.low.x, 0}), canvas.at({box.high.x, 0}));
    canvas.chain("plug", plate.surface, false);
    canvas.cut_edges(plate.part.outline.outer);
    for (const Loop& hole : plate.part.outline.holes) canvas.cut_edges(hole);
    const auto lowest = std::ranges::min_element(plate.edge, {}, [](Vec2 p) { return p.y; });
    const auto upright = [&](Vec2 top) {
        canvas.dimension(canvas.at({top.x, 0}), canvas.at(top), "");
        canvas.text("lbl halo", canvas.at({top.x, 0.8 * top.y}), Anchor::middle, dimension_text(top.y, units));
    };
    if (lowest != plate.edge.end()) upright(*lowest);
    const auto side = [&](Vec2 end, double shift, Anchor anchor) {
        canvas.text("lbl", canvas.at({end.x, end.y / 2}) + Vec2{shift, 4}, anchor, dimension_text(end.y, units));
    };
    if (!plate.edge.empty()) {
        side(plate.edge.front(), -8, Anchor::end);
        side(plate.edge.back(), 8, Anchor::start);
    }
    canvas.text("lbl", {wide_px / 2, canvas.bottom() + row_px + 4}, Anchor::middle, "bench");
    return std::move(canvas).finish(
        plate.part.id + " seen from " + (plate.is_along ? (half.stand.y.y < 0 ? "the front" : "the back") : "end-b"),
        "The line above it is the moulded surface; laminate and soft strip fill the space between.");
}

namespace {

class Section {
public:
    Section(const Design& design, const FigureMaker& figure)
        : design_(design), back_(design.back), units_(design.settings.units), figure_(figure) {}

    [[nodiscard]] std::string html() const {
        if (!back_.has_plates()) return paragraph(escape_markup(sentence(back_.reason))) + stands();
        return paragraph(summary()) + pictures() + table() + stands() + steps() + cautions();
    }

private:
    [[nodiscard]] std::string len(double mm) const { return length_cell(mm, 1, units_); }
    [[nodiscard]] std::string kg(double value) const { return format_quantity(Quantity::of(Mass::kg(value)), units_); }
    static std::string sentence(std::string text) {
        if (!text.empty() && text.front() >= 'a' && text.front() <= 'z') text.front() -= 'a' - 'A';
        return text + ".";
    }

    [[nodiscard]] std::string summary() const {
        const MouldOptions& mould = design_.settings.mould;
        std::string text = escape_markup(sentence(back_.reason)) + " Their inner edges stand " +
                           len(back_.skin_mm + back_.strip_mm) + " off the moulded surface: " + len(back_.skin_mm) +
                           " of laminate and " + len(back_.strip_mm) +
                           " of soft strip, so that they do not print through. Their outer edges end in one plane, the "
                           "bench, on which the turned-over mould stands with its opening ";
        const double tilt = mould.stand_tilt.deg();
        text += tilt == 0
                    ? "level."
                    : std::string(tilt > 0 ? "front" : "back") + " up by " + short_number(std::abs(tilt), 1) + " deg.";
        text += " Tabbing: " + std::to_string(tab_plies) + " plies of " + escape_markup(back_.tab_cloth) + " " +
                len(mould.tab_width.mm()) + " wide on both sides of each plate, " +
                length_cell(back_.tab_mm(), 0, units_) + " in one ply; soft strip " +
                length_cell(back_.strip_length_mm(), 0, units_) + ". Both are on the shopping list.";
        for (const std::string& note : back_.notes) text += " <b>" + escape_markup(sentence(note)) + "</b>";
        return text;
    }

    [[nodiscard]] std::string pictures() const {
        std::string html;
        for (const BackHalf& half : back_.halves) {
            if (half.plates.empty()) continue;
            const Picture plan = draw_back_plan(design_, half);
            html += figure_(plan, " " + escape_markup(plan.description));
            const auto tallest = std::ranges::max_element(half.plates, {}, [](const BackPlate& plate) {
                return plate.is_along ? 0 : bounding_box(plate.part.outline).size().y;
            });
            const Picture side = draw_back_plate(half, *tallest, units_);
            html += figure_(side, " " + escape_markup(side.description) + " Heights from the bench.");
        }
        return html;
    }

    [[nodiscard]] std::string table() const {
        const bool has_notes = std::ranges::any_of(back_.halves, [](const BackHalf& half) {
            return std::ranges::any_of(half.plates, [](const BackPlate& plate) { return !plate.part.note.empty(); });
        });
        std::vector<Column> columns{{"Plate"},
                                    {"Stands"},
                                    {"At", Cell::number},
                                    {"Length × height", Cell::number},
                                    {"Tabbing, both sides", Cell::number}};
        if (has_notes) columns.push_back({"Note"});
        Table table(
            "Plates. Places are those of their middles, for marking on the mould's back: across from the plug's "
            "end-a, along from its front",
            columns);
        for (const BackHalf& half : back_.halves)
            for (const BackPlate& plate : half.plates) {
                const Vec2 size = bounding_box(plate.part.outline).size();
                std::vector<std::string> cells{id_of(plate.part.id), plate.is_along ? "along" : "across",
                                               len(plate.from_mm), len(size.x) + " &times; " + len(size.y),
                                               len(plate.tab_mm)};
                if (has_notes) cells.push_back(escape_markup(plate.part.note));
                table.row(cells);
            }
        return table.html();
    }

    [[nodiscard]] std::string stands() const {
        Table table("Turned over on the bench", {{"Half"},
                                                 {"Laminate", Cell::number},
                                                 {"Plates and tabs", Cell::number},
                                                 {"Together", Cell::number},
                                                 {"Centre over bench", Cell::number},
                                                 {"Tips at", Cell::number},
                                                 {"Tips when the rim bears", Cell::number}});
        for (const BackHalf& half : back_.halves) {
            if (!half.trouble.empty()) {
                table.row({std::to_string(half.half), "unknown", "", "", "", escape_markup(half.trouble), ""});
                continue;
            }
            const double load = rim_load_n(half);
            table.row({std::to_string(half.half), kg(half.laminate_kg), kg(half.plates_kg + half.tabs_kg),
                       kg(half.mass_kg()), len(half.centre.z),
                       short_number(Angle::rad(stand_tip(half).angle_rad).deg(), 0) + " deg",
                       std::isfinite(load) ? format_quantity(Quantity::of(Force::n(load)), units_, 0) : "never"});
        }
        std::string html = table.html();
        const bool is_light = std::ranges::any_of(back_.halves, [&](const BackHalf& half) {
            return half.trouble.empty() && rim_load_n(half) < design_.settings.limits.hand_load.n();
        });
        if (is_light)
            html += paragraph(
                "A hand that leans on the rim tips it: screw or clamp two opposite feet to the bench before you lay "
                "up in it.");
        return html;
    }

    [[nodiscard]] std::string steps() const {
        const bool has_two = back_.halves.size() > 1;
        std::vector<std::string> lines{
            "<b>Cure first.</b> The laminate of a half cures on the plug, as long as its data sheet asks, before a "
            "plate touches it: resin still shrinking pulls toward what it is tied to.",
            "<b>Assemble dry.</b> Slot the plates together on a flat bench, those across over those along, fit edges "
            "up. Nothing may rock; true the feet with a sanding board if it does. Numbers beside a slot are those of "
            "the plate that belongs there.",
            "<b>Prepare the back.</b> Mark the plates' places on it, take off the peel ply there, sand " +
                len(design_.settings.mould.tab_width.mm()) +
                " either side dull and wipe it. Bond the soft strip along the plates' fit edges.",
            "<b>Set it on</b> while the half lies on the plug. It only rests on the strip: no clamps, no weights. Lay "
            "a "
            "straight board over all feet; where one is low, pack the strip, never bend the mould.",
            "<b>Tab.</b> Run a fillet of thickened resin along both sides, then " + std::to_string(tab_plies) +
                " plies, half of their width on the plate and half on the mould. Short pieces where bolts and pads "
                "sit. "
                "Let it cure before anything is moved.",
        };
        const bool has_straps = std::ranges::any_of(back_.halves, [](const BackHalf& half) {
            return std::ranges::any_of(half.plates, [](const BackPlate& plate) { return plate.edge.empty(); });
        });
        if (has_straps)
            lines.insert(lines.begin() + 1,
                         "<b>Splice.</b> Butt the pieces of the plates along on a flat bench, feet to a straight edge; "
                         "glue and screw the strap flat over each joint, its line on the joint.");
        if (has_two)
            lines.push_back(
                "<b>Turn over</b> with the plug in place, two people, a hand in each hand hole or under the end "
                "plates. Half 1's plates now carry the plug while half 2 is laid and gets its own plates the same "
                "way.");
        else
            lines.push_back(
                "<b>Turn over</b> with two people, a hand in each hand hole or under the end plates, and stand it "
                "on its feet.");
        lines.push_back(
            "<b>Open</b> only when the tabs have cured. Later keep the mould standing on its plates, on a flat floor: "
            "a mould that lies twisted stays so.");
        return "<h3>Steps</h3>\n<ol>" + items_of(lines) + "</ol>\n";
    }

    [[nodiscard]] static std::string cautions() {
        return "<h3>Cautions</h3>\n<ul>" +
               items_of(
                   {"Sanding laminate and plywood: extraction, a particle filter, eye protection, gloves.",
                    "Resin on the skin and in the lungs: gloves, airing or a filter as the data sheet says; data "
                    "sheets, local codes and licensed practice come first.",
                    "Masses above are of dry laminate and plates; plug, wet cloth and tools come on top. Lift with "
                    "two people or more, and never work under a mould that is held by hands.",
                    "Rub the soft strip's and plates' edges round where hands go: cut glass and plywood splinter."}) +
               "</ul>\n";
    }

    static std::string items_of(const std::vector<std::string>& lines) {
        std::string html;
        for (const std::string& line : lines) html += "<li>" + line + "</li>";
        return html;
    }

    const Design& design_;
    const MouldBack& back_;
    UnitSystem units_;
    const FigureMaker& figure_;
};

}  // namespace

std::string mould_back_section(const Design& design, const FigureMaker& figure) {
    return Section(design, figure).html();
}

}  // namespace cradlewright
