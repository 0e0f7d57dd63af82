// SPDX-License-Identifier: GPL-3.0-or-later
// Source: WHATWG, HTML Living Standard; W3C, Web Content Accessibility Guidelines 2.2, 1.1.1, 1.3.1, 1.4.1, 1.4.10.
#include <algorithm>
#include <cmath>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "cradlewright/catalog/bibliography.hpp"
#include "cradlewright/checks/all_checks.hpp"
#include "cradlewright/files/write_report.hpp"
#include "cradlewright/stages/groove_fill.hpp"
#include "cradlewright/stages/ramp_plies.hpp"
#include "files/markup.hpp"
#include "files/page_hardware.hpp"
#include "files/page_layup.hpp"
#include "files/page_mould_back.hpp"
#include "files/page_pictures.hpp"
#include "files/page_plots.hpp"
#include "files/page_style.hpp"
#include "files/page_table.hpp"
#include "files/page_tilts.hpp"
#include "files/page_view.hpp"
#include "files/page_work.hpp"
#include "files/report_rows.hpp"

namespace cradlewright {
namespace {

// ---- verdicts

/// A sign beside the word, so that neither colour nor the word's language is needed alone.
std::string_view verdict_sign(Verdict verdict) {
    switch (verdict) {
        case Verdict::pass:
            return "&#10003;";
        case Verdict::marginal:
            return "!";
        case Verdict::fail:
            return "&#10007;";
        case Verdict::unknown:
            return "?";
        case Verdict::not_applicable:
            return "&ndash;";
    }
    return "";
}
std::string_view verdict_word(Verdict verdict) {
    return verdict == Verdict::not_applicable ? "does not apply" : verdict_name(verdict);
}

struct Section {
    std::string_view id, title;
    std::string body;
};

/// Writes one report; holds what every section needs.
class Page {
public:
    explicit Page(const ReportInput& input)
        : input_(input),
          design_(*input.design),
          units_(input.design->settings.units),
          parts_(all_parts(*input.design)) {}

    std::string html() {
        const std::vector<Section> sections = make_sections();
        const std::string title = escape_markup(design_.posed.plug.name) + ": moulding fixture";
        std::string page =
            "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
            "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
            // Whatever a name from outside may contain: the page loads nothing.
            "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; "
            "script-src 'unsafe-inline'; base-uri 'none'; form-action 'none'\">\n"
            "<meta name=\"color-scheme\" content=\"light dark\">\n<title>" +
            title + "</title>\n<style>" + std::string(page_style) + "</style>\n</head>\n<body>\n";
        page += "<header class=\"top\"><p class=\"kicker\">Fixture for the first half of a female mould</p><h1>" +
                escape_markup(design_.posed.plug.name) + "</h1>\n" + verdict() + key_facts() + contents(sections) +
                "</header>\n<main>\n";
        for (std::size_t i = 0; i < sections.size(); ++i) {
            const Section& s = sections[i];
            page += "<section id=\"" + std::string(s.id) + "\" aria-labelledby=\"" + std::string(s.id) +
                    "-head\"><h2 id=\"" + std::string(s.id) + "-head\"><span class=\"no\">" + std::to_string(i + 1) +
                    "</span> " + std::string(s.title) + "</h2>\n" + s.body + "</section>\n";
        }
        return page +
               "</main>\n<footer>Written by cradlewright from the scan and the settings listed above; the same input "
               "gives "
               "the same page. The numbers for other programs are in report.json.</footer>\n" +
               page_scripts(has_view()) + "</body>\n</html>\n";
    }

private:
    [[nodiscard]] bool has_view() const { return input_.scene != nullptr && !input_.scene->nodes.empty(); }

    std::vector<Section> make_sections() {
        const FigureMaker broad = [&](const Picture& picture, std::string_view caption) {
            return figure(picture, Breadth::broad, caption);
        };
        std::vector<Section> sections;
        if (has_view()) sections.push_back({"fixture", "The fixture in 3D", view_section(design_, *input_.scene)});
        sections.push_back({"plug", "The plug and how it stands", plug_section()});
        if (input_.tilts != nullptr)
            sections.push_back({"tilts", "Other tilts", tilts_section(design_, *input_.tilts, input_.command, broad)});
        if (!design_.posed.plug.extensions.empty())
            sections.push_back({"extensions", "Extensions of the plug", extensions_section()});
        sections.push_back({"parting", "Parting line and release", parting_section()});
        if (design_.parting.is_found()) {
            sections.push_back({"panels", "Flange panels", panels_section()});
            sections.push_back({"ribs", "Ribs", ribs_section()});
            sections.push_back({"cradle", "Rest of the cradle and joints", cradle_section()});
            sections.push_back({"beads", "Clay beads", beads_section()});
            sections.push_back({"hardware", "Locators and opening hardware", hardware_section(design_)});
            sections.push_back({"mould-back", "The mould's back and stand", mould_back_section(design_, broad)});
        }
        sections.push_back({"checks", "Checks", checks_section()});
        if (!parts_.empty()) {
            sections.push_back({"cutlist", "Cut list", cut_list_section()});
            sections.push_back({"sheets", "Sheets", sheets_section()});
        }
        if (!design_.layup.surfaces.empty())
            sections.push_back({"layup", "Cloth, resin and what to buy", layup_section(design_)});
        if (!design_.work.steps.empty()) sections.push_back({"work", "Order of work", work_section(design_)});
        sections.push_back({"cautions", "Before you start: cautions", cautions_section()});
        sections.push_back({"settings", "Settings used", settings_section()});
        sections.push_back({"sources", "Where the rules come from", sources_section()});
        sections.push_back({"files", "Files", files_section()});
        return sections;
    }

    // ---- words for quantities

    [[nodiscard]] std::string show(const Quantity& q) const { return escape_markup(format_quantity(q, units_)); }
    [[nodiscard]] std::string len(double mm) const { return length_cell(mm, 1, units_); }
    [[nodiscard]] std::string fine(double mm) const { return length_cell(mm, 2, units_); }
    [[nodiscard]] std::string area(double mm2) const { return show(Quantity::of(Area::mm2(mm2))); }
    [[nodiscard]] std::string mass(double kg) const { return show(Quantity::of(Mass::kg(kg))); }
    static std::string angle_deg(double deg) { return std::isfinite(deg) ? short_number(deg, 1) + " deg" : "unknown"; }
    static std::string angle(double rad) { return angle_deg(Angle::rad(rad).deg()); }
    [[nodiscard]] std::string dim(double mm) const { return dimension_text(mm, units_); }
    [[nodiscard]] std::string unit_word() const { return units_ == UnitSystem::inch ? "inches" : "mm"; }
    [[nodiscard]] std::string size(Vec3 s) const { return len(s.x) + " &times; " + len(s.y) + " &times; " + len(s.z); }
    [[nodiscard]] std::string place(Vec3 p) const { return dim(p.x) + ", " + dim(p.y) + ", " + dim(p.z); }
    static std::string direction(Vec3 d) {
        return short_number(d.x, 4) + ", " + short_number(d.y, 4) + ", " + short_number(d.z, 4);
    }
    static std::string id(std::string_view text) { return "<span class=\"id\">" + escape_markup(text) + "</span>"; }
    static std::string note(std::string_view text) { return text.empty() ? "" : paragraph(escape_markup(text)); }

    using Fact = std::pair<std::string_view, std::string>;
    static std::string facts(const std::vector<Fact>& list) {
        std::string html = "<dl class=\"facts\">";
        for (const auto& [term, value] : list) {
            html += "<div class=\"fact\"><dt>" + std::string(term) + "</dt><dd><b>" + value + "</b></dd></div>";
        }
        return html + "</dl>\n";
    }

    enum class Breadth { broad, narrow };
    // `caption` is HTML; what the picture says of itself stays with the picture for those who cannot see it.
    std::string figure(const Picture& picture, Breadth breadth, std::string_view caption) {
        const std::string number = "picture-" + std::to_string(++pictures_);
        const std::string title = escape_markup(picture.title), description = escape_markup(picture.description);
        const std::string svg = "<svg viewBox=\"0 0 " + fixed(picture.width, 0) + " " + fixed(picture.height, 0) +
                                "\" role=\"img\" aria-labelledby=\"" + number + "-title " + number +
                                "-desc\"><title id=\"" + number + "-title\">" + title + "</title><desc id=\"" + number +
                                "-desc\">" + description + "</desc>" + picture.body + "</svg>";
        const bool is_broad = breadth == Breadth::broad;
        return "<figure>" +
               (is_broad ? "<div class=\"scroll broad\" role=\"region\" tabindex=\"0\" aria-label=\"" + title + "\">" +
                               svg + "</div>"
                         : svg) +
               "<figcaption><b>" + title + ".</b>" + std::string(caption) + "</figcaption></figure>\n";
    }

    // ---- top of the page

    std::string verdict() {
        const auto [worst, say] = judge_design(input_);
        const std::string name(verdict_name(worst));
        return "<div class=\"verdict " + name + "\"><p class=\"say\">" + say + "</p>" + first_steps() + "</div>\n";
    }

    // What to do first: failures before the unknown before the marginal, one line a check; the rest is in the table.
    std::string first_steps() const {
        constexpr std::size_t most = 5;
        std::string list;
        std::size_t shown = 0, left = 0;
        for (const Verdict verdict : {Verdict::fail, Verdict::unknown, Verdict::marginal}) {
            for (const std::size_t first : first_of_each(verdict)) {
                if (shown == most) {
                    ++left;
                } else {
                    list += step(first);
                    ++shown;
                }
            }
        }
        const std::string reason = design_.parting.is_found() ? "" : note(design_.parting.reason);
        const std::string more = left == 0 ? ""
                                           : "<p class=\"small\">" + counted(left, "more stands", "more stand") +
                                                 " in <a href=\"#checks\">Checks</a>.</p>";
        return reason + (list.empty() ? "" : "<ol>" + list + "</ol>") + more;
    }

    // Of each check with this verdict, the first place.
    [[nodiscard]] std::vector<std::size_t> first_of_each(Verdict verdict) const {
        std::vector<std::size_t> firsts;
        const std::vector<Check>& checks = input_.checks->checks;
        for (std::size_t i = 0; i < checks.size(); ++i) {
            const auto is_same = [&](std::size_t k) { return checks[k].id == checks[i].id; };
            if (checks[i].verdict == verdict && std::none_of(firsts.begin(), firsts.end(), is_same)) {
                firsts.push_back(i);
            }
        }
        return firsts;
    }

    [[nodiscard]] std::string step(std::size_t index) const {
        const std::vector<Check>& checks = input_.checks->checks;
        const Check& check = checks[index];
        const auto places = std::count_if(checks.begin(), checks.end(), [&](const Check& other) {
            return other.id == check.id && other.verdict == check.verdict;
        });
        return "<li><a href=\"#check-" + std::to_string(index + 1) + "\">" + escape_markup(check.id) + "</a> (" +
               std::string(verdict_word(check.verdict)) + ", " + escape_markup(check.subject) +
               (places > 1 ? " and " + std::to_string(places - 1) + " more" : "") +
               "): " + escape_markup(check.advice) + "</li>";
    }

    std::string key_facts() const {
        const Design& d = design_;
        std::vector<Fact> list{{"Plug, as it stands", size(d.posed.box_fixture.size())},
                               {"Tilt", angle(d.posed.pose.tilt_rad)}};
        if (d.parting.is_found()) {
            double length = 0;
            for (const PartingLoop& loop : d.parting.loops) {
                length += loop.length_mm;
            }
            list.push_back({"Parting line", len(length)});
            list.push_back({"Flange panels", std::to_string(d.flange.panels.size())});
            list.push_back({"Ribs", std::to_string(d.cradle.ribs.size() + d.cradle.long_ribs.size())});
            list.push_back({"Sheets and strips", std::to_string(input_.layout->sheets.size())});
            list.push_back({"Bead radius", d.beads.radius_mm > 0 ? len(d.beads.radius_mm) : "no bead"});
            list.push_back({"Clay", mass(d.beads.clay_mass_kg)});
        }
        return facts(list);
    }

    static std::string contents(const std::vector<Section>& sections) {
        std::string html = "<nav aria-label=\"Sections\"><ul>";
        for (const Section& s : sections) {
            html += "<li><a href=\"#" + std::string(s.id) + "\">" + std::string(s.title) + "</a></li>";
        }
        return html + "</ul></nav>\n";
    }

    // ---- stages

    std::string plug_section() {
        const Plug& plug = design_.posed.plug.scanned();
        const Pose& pose = design_.posed.pose;
        const RepairReport& repair = plug.repair;
        std::string html = facts({{"Triangles", std::to_string(plug.mesh->face_count())},
                                  {"Surface", area(plug.mass_properties.area_mm2)},
                                  {"Mass", mass(plug.mass_kg)},
                                  {"Scan noise", fine(plug.noise_mm)},
                                  {"Turn", angle(pose.turn_rad)},
                                  {"Up", escape_markup(pose.up_from)},
                                  {"Span", escape_markup(pose.span_from)},
                                  {"Pull of half 1 (x, y, z)", direction(pose.pull_fixture)},
                                  {"Pull of half 2", direction(pose.pull2_fixture)}});
        html += paragraph(mending_text(repair, plug));
        if (plug.has_assumed_cap)
            html += paragraph(std::string("The scan is open; the cradle stands under a flat across its opening that "
                                          "nobody measured") +
                              (plug.has_volume() ? ", told to be the plug's end."
                                                 : ". Volume and mass are unknown: plug.opening says what is there."));
        const std::string completed = completion_text(plug);
        if (!completed.empty()) html += paragraph(completed);
        return html + described(draw_end_view(design_));
    }

    std::string extensions_section() const {
        Table table("Pieces", {{"End"},
                               {"Runs"},
                               {"Length", Cell::number},
                               {"Trim step", Cell::number},
                               {"Lean of its outer face", Cell::number},
                               {"Joint filled up to", Cell::number},
                               {"Mass", Cell::number}});
        for (const Extension& e : design_.posed.plug.extensions)
            table.row({id(e.edge), run_of(e), len(e.length_mm), fine(e.trim_step_mm), angle(e.lean_rad), fine(e.gap_mm),
                       mass(e.mass_kg)});
        std::string html = paragraph(
            "A piece set on to the end carries its section outward, so that flange, clay and the ragged ends of the "
            "laminate lie beyond the part. Parting line, panels and saddles run on over it. It stands back by the trim "
            "step, which shows in the part where to trim. All figures of the fixture and of standing safely are with "
            "the pieces on, taken as heavy as the plug for their size.");
        html += table.html() + "<ol>";
        for (const std::string& step : extension_steps()) html += "<li>" + step + "</li>";
        return html + "</ol>" +
               paragraph(
                   "<b>Caution.</b> Cut foam with a hot wire only in moving air and never foam that gives off "
                   "toxic fumes, such as polyurethane or PVC: saw and sand those, with a particle mask. Keep "
                   "hands behind the wire or blade, and follow the data sheets of glue, filler and sealer.");
    }

    std::string run_of(const Extension& e) const {
        if (!e.is_sloped) return "straight along the span";
        const auto tenth = [&](double deg) { return angle_deg(deg); };
        return "sloped as the plug: walls close in by " + tenth(e.slope_deg_low) + " to " + tenth(e.slope_deg_high);
    }

    std::vector<std::string> extension_steps() const {
        std::string templates;
        double gap = 0, step = 0, lean = 0;
        for (const Extension& e : design_.posed.plug.extensions) {
            gap = std::max(gap, e.gap_mm);
            step = std::max(step, e.trim_step_mm);
            lean = std::max(lean, e.lean_rad);
        }
        for (const PlatePart& part : design_.templates) templates += (templates.empty() ? "" : ", ") + id(part.id);
        std::vector<std::string> steps{
            "Cut a block of the plug's material to the length told, ends square, and pin the two templates (" +
            templates +
            ") to its ends, drawn faces outward and both the same way up. Nails through the crosses, where there are "
            "any, stand square to the block's ends. Cut or sand from template to template in straight strokes."};
        if (lean > 0)
            steps.push_back(
                "Mark on the outer end the ridge between the two strokes of the outer template and lean "
                "the face back from it to either side, as the table tells; at the ridge the length stays.");
        steps.push_back(
            "Skin and fill the block as the plug is, and allow for it: the templates are the finished surface.");
        steps.push_back("Dry-fit it to the end: the step to the plug's surface, " + fine(step) +
                        ", must be the same all round. Mark the place, then glue it with " +
                        "what the block's material stands.");
        steps.push_back("Fill the joint, " + (gap > 0.05 ? "up to " + fine(gap) + " deep, " : std::string()) +
                        "flush with the plug up to the joint; keep the step itself sharp and clean.");
        steps.push_back("Seal joint and piece as the plug, polish, and release them with the plug.");
        return steps;
    }

    std::string completion_text(const Plug& plug) const {
        const Completion& c = plug.completion;
        if (c.how == PlugOpening::mirror)
            return "The scan is one half; the other is its mirror image. Its rim was brought on to one plane, by " +
                   fine(c.mirror_move_mm) + " at most.";
        if (c.how != PlugOpening::join) return {};
        return "Two scans were joined: " + fixed(100 * c.overlap, 0) + " % of the second lay on the first, within " +
               fine(c.residual_mm) + " (root mean square); gaps of up to " + fine(c.widest_bridge_mm) +
               " between them were bridged.";
    }

    std::string mending_text(const RepairReport& repair, const Plug& plug) const {
        std::string text =
            "Mending: " + counted(repair.holes_closed, "small hole", "small holes") + " closed, " +
            counted(repair.degenerate_dropped + repair.duplicate_dropped, "useless triangle", "useless triangles") +
            " dropped, " + counted(repair.flipped, "triangle", "triangles") + " turned over, " +
            counted(repair.stray_shells.size(), "stray shell", "stray shells") + " left out, " +
            counted(plug.mesh->openings.size(), "opening", "openings") + " kept.";
        return text + (plug.is_closed ? "" : " The scan is not closed.");
    }

    // A picture whose own words are its caption.
    std::string described(const Picture& picture, std::string_view more = {}) {
        return figure(picture, Breadth::broad, " " + escape_markup(picture.description) + std::string(more));
    }

    std::string parting_section() {
        const Parting& parting = design_.parting;
        if (!parting.is_found()) {
            return paragraph("No parting line: <b>" + escape_markup(parting.reason) + "</b>");
        }
        std::string html = note(parting.reason) + described(draw_top_view(design_));
        Table edges("Edges of the parting line", {{"Edge"},
                                                  {"Rule"},
                                                  {"Length", Cell::number},
                                                  {"Lowest point", Cell::number},
                                                  {"Highest point", Cell::number}});
        for (const PartingLoop& loop : parting.loops) {
            for (const PartingEdge& edge : loop.edges) {
                const auto [length, low, high] = measure(loop, edge);
                edges.row({id(edge.id), std::string(edge_rule_name(edge.rule)), len(length), len(low), len(high)});
            }
        }
        return html + edges.html() + described(draw_drafts(design_)) + release_table() + locks_table();
    }

    struct EdgeMeasure {
        double length, low, high;
    };
    static EdgeMeasure measure(const PartingLoop& loop, const PartingEdge& edge) {
        const std::size_t n = loop.panel_line.size();
        EdgeMeasure m{0, loop.panel_line[edge.first].z, loop.panel_line[edge.first].z};
        std::size_t i = edge.first;
        do {
            const std::size_t next = (i + 1) % n;
            m.length += norm(loop.panel_line[next] - loop.panel_line[i]);
            m.low = std::min(m.low, loop.panel_line[next].z);
            m.high = std::max(m.high, loop.panel_line[next].z);
            i = next;
        } while (i != edge.last);
        return m;
    }

    std::string release_table() const {
        const HalfRelease& a = design_.release.half1;
        const HalfRelease& b = design_.release.half2;
        Table table("How the halves leave the plug", {{""}, {"Half 1", Cell::number}, {"Half 2", Cell::number}});
        const double share = design_.settings.release.draft_quantile;
        table.row({"Draft that all but " + short_number(share * 100, 2) + " % of the area exceed",
                   angle_deg(a.draft_p01_deg), angle_deg(b.draft_p01_deg)});
        table.row({"Width of the low-draft band at the edge", len(a.low_band_mm), len(b.low_band_mm)});
        table.row({"Area turned away from the pull", area(a.undercut_area_mm2), area(b.undercut_area_mm2)});
        table.row({"Area locked under other faces", area(a.locked_area_mm2), area(b.locked_area_mm2)});
        table.row({"Depth of the worst undercut", len(a.undercut_depth_mm), len(b.undercut_depth_mm)});
        const HalfPull &best1 = design_.release.best1, &best2 = design_.release.best2;
        const Pose& pose = design_.posed.pose;
        table.row({"Pull, plug's frame", id(direction(pose.pull_plug)), id(direction(pose.pull2_plug))});
        table.row({"Least draft of any facing along it, beads or not", angle_deg(best1.told_draft_deg),
                   angle_deg(best2.told_draft_deg)});
        table.row({"Best pull of the half, plug's frame", id(direction(best1.direction_plug)),
                   id(direction(best2.direction_plug))});
        table.row({"Least draft along that", angle_deg(best1.draft_deg), angle_deg(best2.draft_deg)});
        std::string text = table.html();
        if (pose.has_own_pull_2())
            text += paragraph("Half 2's pull (" + escape_markup(pose.pull2_from) + ") leans " +
                              angle(pose.pulls_lean_rad()) +
                              " from the opposite of half 1's. The locators' axes halve that angle.");
        return text + left_out_text("half 1", best1) + left_out_text("half 2", best2);
    }

    /// Only edges where something pulls either way; the rest let go as they are.
    [[nodiscard]] std::string locks_table() const {
        Table table("What holds the mould's edges", {{"Half"},
                                                     {"Edge"},
                                                     {"Overrun", Cell::number},
                                                     {"Split", Cell::number},
                                                     {"Bead", Cell::number},
                                                     {"Shrinkage", Cell::number},
                                                     {"Depth", Cell::number},
                                                     {"Held by"}});
        bool is_empty = true;
        for (const EdgeLock& lock : design_.locks) {
            if (!(lock.depth_mm.high > 0) && !(lock.overrun_mm + lock.split_mm > 0)) continue;
            table.row(
                {std::to_string(lock.half), id(lock.edge), fine(lock.overrun_mm), fine(lock.split_mm),
                 fine(lock.bead_mm), fine(lock.shrinkage_mm),
                 fine(lock.depth_mm.value) + " (" + fine(lock.depth_mm.low) + " to " + fine(lock.depth_mm.high) + ")",
                 std::string(lock_cause_name(lock.holds))});
            is_empty = false;
        }
        return is_empty ? paragraph("Nothing holds the mould's edges: overrun, split and shrinkage are free there.")
                        : table.html();
    }

    /// The facings too thin to decide the best pull, summed up by the worst.
    [[nodiscard]] std::string left_out_text(const std::string& half, const HalfPull& best) const {
        const std::vector<LeftOutFacing>& left_out = best.left_out;
        if (left_out.empty()) return {};
        double area_mm2 = 0;
        for (const LeftOutFacing& facing : left_out) area_mm2 += facing.area_mm2;
        return paragraph("Left out of the best pull of " + half + ": " +
                         counted(left_out.size(), "direction", "directions") + " in which " + area(area_mm2) +
                         " face in all; the worst, " + id(direction(left_out.front().normal_plug)) + ", has " +
                         angle_deg(left_out.front().draft_deg) + ".");
    }

    std::string panels_section() {
        Table table("Panels along the line", {{"Panel"},
                                              {"Edge"},
                                              {"Width", Cell::number},
                                              {"Slope", Cell::number},
                                              {"Thickness", Cell::number},
                                              {"Gap to plug", Cell::number},
                                              {"Line leaves plane by", Cell::number}});
        std::string pictures = "<div class=\"grid\">";
        for (const FlangePanel& p : design_.flange.panels) {
            table.row({id(p.id), escape_markup(p.edge), len(p.width_mm), angle(p.slope_rad), len(p.part.thickness_mm),
                       fine(p.min_gap_mm) + " to " + fine(p.max_gap_mm), fine(p.off_plane_mm)});
            pictures += figure(draw_panel(p, units_), Breadth::narrow, remark(p.part));
        }
        return paragraph(
                   "The top face of each panel passes through the parting line; the mould's flange is laid on it. The "
                   "pictures "
                   "show it, with overall lengths in " +
                   unit_word() +
                   "; thick edges fit the plug or a neighbour, dashed ones "
                   "touch nothing.") +
               note(design_.flange.note) + table.html() + pictures + "</div>\n";
    }

    static std::string remark(const PlatePart& part) { return part.note.empty() ? "" : " " + escape_markup(part.note); }

    std::string ribs_section() {
        const Cradle& cradle = design_.cradle;
        const std::vector<double> offsets = offset_places(cradle, units_);
        std::string html = note(cradle.count_reason) +
                           paragraph(
                               "Thick lines fit the plug's pad, a panel or another part; dashed lines touch nothing. "
                               "Saddle heights are finished cut edges: the pad of " +
                               len(design_.settings.cradle.pad.mm()) + ", as the plug compresses it, comes on top.");
        html += offset_table(cradle, offsets);
        for (const Rib& rib : cradle.ribs) {
            html += "<h3>" + id(rib.part.id) + " at station " + len(rib.station_mm) + "</h3>\n" +
                    described(draw_rib(rib, offsets, units_), remark(rib.part));
        }
        for (const Rib& rib : cradle.long_ribs)
            html += "<h3>" + id(rib.part.id) + " along the span at y " + len(rib.station_mm) + "</h3>\n" +
                    described(draw_rib(rib, {}, units_), remark(rib.part));
        return html;
    }

    std::string offset_table(const Cradle& cradle, const std::vector<double>& offsets) const {
        std::vector<std::string> heads;
        for (const double y : offsets) {
            heads.push_back("y " + dim(y));
        }
        std::vector<Column> columns{
            {"Rib"}, {"Station", Cell::number}, {"Saddle from y", Cell::number}, {"to y", Cell::number}};
        for (const std::string& head : heads) {
            columns.push_back({head, Cell::number});
        }
        Table table("Table of offsets: saddle height above the base in " + unit_word() +
                        " at distances y from the centre line, front positive",
                    columns);
        for (const Rib& rib : cradle.ribs) {
            const bool has_saddle = !rib.saddle.empty();
            std::vector<std::string> cells{id(rib.part.id), dim(rib.station_mm),
                                           has_saddle ? dim(rib.saddle.front().x) : "&ndash;",
                                           has_saddle ? dim(rib.saddle.back().x) : "&ndash;"};
            for (const double y : offsets) {
                const double height = saddle_height(rib, y);
                cells.push_back(std::isfinite(height) ? dim(height) : "&ndash;");
            }
            table.row(cells);
        }
        return table.html();
    }

    std::string cradle_section() const {
        Table stringers("Stringers under the panels", {{"Stringer"},
                                                       {"Edge"},
                                                       {"Section", Cell::number},
                                                       {"Length", Cell::number},
                                                       {"Top from (x, y, z)", Cell::number},
                                                       {"to (x, y, z)", Cell::number}});
        for (const Stringer& s : design_.cradle.stringers) {
            stringers.row({id(s.part.id), escape_markup(s.edge), len(s.width_mm) + " &times; " + len(s.height_mm),
                           len(norm(s.to - s.from)), place(s.from), place(s.to)});
        }
        Table joints("Joints", {{"Part"},
                                {"takes"},
                                {"Joint"},
                                {"Width", Cell::number},
                                {"Depth", Cell::number},
                                {"Clearance", Cell::number},
                                {"At (x, y, z)", Cell::number}});
        for (const Joint& j : design_.cradle.joints) {
            const auto given = [&](double mm) { return mm > 0 ? len(mm) : std::string("&ndash;"); };
            joints.row({id(j.part_a), id(j.part_b), std::string(joint_word(j.kind)), given(j.width_mm),
                        given(j.depth_mm), given(j.clearance_mm), place(j.at)});
        }
        return paragraph(
                   "Places are in " + unit_word() +
                   " in the fixture's frame: x toward end-b, y toward the front, z up from the top of the base.") +
               trials_table() + blocks_table() + stringers.html() + joints.html();
    }

    std::string trials_table() const {
        if (design_.cradle.trials.empty()) return "";
        Table table("What was tried before the cradle was chosen: dip or sag at the soft end of the materials' spread",
                    {{"Choice"}, {"Tried"}, {"Comes to", Cell::number}, {"Limit", Cell::number}, {"Enough"}});
        const auto fine = [&](double mm) { return show(Quantity::of(Length::mm(mm))); };
        for (const Trial& t : design_.cradle.trials)
            table.row({escape_markup(t.what), escape_markup(t.tried),
                       std::isfinite(t.value_mm) ? fine(t.value_mm) : "&ndash;", fine(t.limit_mm),
                       t.is_enough ? "yes" : "no"});
        return table.html();
    }

    std::string blocks_table() const {
        Table table("Straps, ties, stops and base", {{"Part"}, {"Kind"}, {"Stock"}, {"Size", Cell::number}, {"Note"}});
        for (const PlatePart* part : parts_) {
            if (part->kind == PartKind::strap || part->kind == PartKind::tie || part->kind == PartKind::stop ||
                part->kind == PartKind::base) {
                table.row({id(part->id), std::string(part_kind_name(part->kind)), escape_markup(part->stock),
                           flat_size(*part), escape_markup(part->note)});
            }
        }
        return table.html();
    }

    static std::string_view joint_word(JointKind kind) {
        switch (kind) {
            case JointKind::half_lap:
                return "half lap";
            case JointKind::notch:
                return "notch";
            case JointKind::seat:
                return "seat";
            case JointKind::butt:
                return "butt";
        }
        return "";
    }

    std::string beads_section() {
        const Beads& beads = design_.beads;
        if (beads.runs.empty()) {
            return paragraph("No beads: " + escape_markup(beads.radius_from) + ".") + joint_text();
        }
        Table table("Runs", {{"Bead"},
                             {"Panel"},
                             {"Shape", Cell::number},
                             {"Length", Cell::number},
                             {"Corner", Cell::number},
                             {"Clay", Cell::number}});
        const BeadSection* sharpest = nullptr;
        for (const BeadRun& run : beads.runs) {
            table.row({id(run.id), id(run.panel), clay_shape(run), len(run.length_mm),
                       angle(run.corner_min_rad) + " to " + angle(run.corner_max_rad),
                       show({run.volume_mm3, Dimension::volume})});
            for (const BeadSection& s : run.sections) {
                if (s.is_valid && run.kind == BeadKind::round &&
                    (sharpest == nullptr || s.corner_rad < sharpest->corner_rad)) {
                    sharpest = &s;
                }
            }
        }
        std::string html = paragraph("Radius " + len(beads.radius_mm) + ": " + escape_markup(beads.radius_from) +
                                     ". Knead about " + mass(beads.clay_mass_kg) +
                                     " of clay. Between the trim lines of the two halves a strip of at most " +
                                     len(beads.join_gap_mm) + " of the plug stays unmoulded.");
        html += table.html();
        if (sharpest != nullptr) {
            const Picture picture = draw_bead(*sharpest, beads.radius_mm, units_);
            html += "<div class=\"grid\">" +
                    figure(picture, Breadth::narrow, " " + escape_markup(picture.description)) + "</div>\n";
        }
        return html + cards_table() + ramp_text() + groove_text() + joint_text();
    }

    std::string clay_shape(const BeadRun& run) const {
        switch (run.kind) {
            case BeadKind::round:
                return "round, " + len(run.radius_mm);
            case BeadKind::ramp:
                return "ramp, " + len(run.ramp_height_mm) + " high";
            case BeadKind::none:
                break;
        }
        return "none";
    }

    std::string cards_table() const {
        if (design_.cards.empty()) return {};
        Table table(
            "Scraper cards",
            {{"Card"}, {"Edges"}, {"Leaves"}, {"Between its edges", Cell::number}, {"Corners it meets", Cell::number}});
        for (const ScraperCard& card : design_.cards) {
            std::string edges;
            for (const std::string& edge : card.edges) edges += (edges.empty() ? "" : ", ") + edge;
            const std::string leaves = card.kind == BeadKind::ramp
                                           ? "ramp " + len(card.ramp_height_mm) + " high, step " + len(card.step_mm)
                                           : "bead of " + len(card.radius_mm);
            table.row({id(card.part.id), escape_markup(edges), leaves, angle(card.wedge_rad),
                       angle(card.corner_min_rad) + " to " + angle(card.corner_max_rad)});
        }
        return table.html();
    }

    std::string ramp_text() const {
        const double fill_mm = corner_fill_mm(design_.settings, ramp_places(design_.beads));
        if (!(fill_mm > 0)) return {};
        return paragraph(
            "<b>Ramps.</b> Cloth would bridge the two sharp bends that each ramp leaves in the moulds. When "
            "the gel coat has set off, fill them with resin thickened to a paste, to a radius of " +
            len(fill_mm) + ", and lay the first cloth into it while it is wet.");
    }

    std::string joint_text() const {
        const MouldJoint& joint = design_.joint;
        if (joint.trim.empty()) return {};
        std::string text = "<b>The part's edge.</b> Mould use " +
                           escape_markup(get_setting(design_.settings, "mould.use")) + ": " +
                           escape_markup(joint.trim) + ".";
        return paragraph(text);
    }

    std::string groove_text() const {
        if (!design_.beads.groove) return {};
        const Groove& groove = *design_.beads.groove;
        Table table("The groove before half 2, run by run", {{"Run"},
                                                             {"Length", Cell::number},
                                                             {"Widest", Cell::number},
                                                             {"Deepest", Cell::number},
                                                             {"To fill", Cell::number},
                                                             {"Half 2's bead", Cell::number},
                                                             {"Card"}});
        for (const GrooveFill& fill : groove_fills(design_.beads, design_.cards)) {
            std::string cards;
            for (const std::string& card : fill.cards) cards += (cards.empty() ? "" : ", ") + id(card);
            const auto volume_mass = [&](double mm3, double kg) {
                return show({mm3, Dimension::volume}) + ", " + mass(kg);
            };
            table.row({id(fill.run), len(fill.length_mm), len(fill.width_mm), len(fill.depth_mm),
                       volume_mass(fill.fill_mm3, fill.fill_kg), volume_mass(fill.bead_mm3, fill.bead_kg), cards});
        }
        return paragraph(
                   "<b>For half 2.</b> Half 1's clay leaves a groove between its mould and the plug, up to " +
                   len(groove.width_mm) + " wide at the flange and " + len(groove.depth_mm) +
                   " deep along the plug, with a lip of " + len(design_.beads.radius_mm) +
                   " on the mould's side. Fill it flush with the flange: " + mass(groove.fill_mass_kg) +
                   " of clay, less what stayed in; strike it off with the panel edge of the edge's card. Then lay "
                   "half 2's own bead in the corner over it with the same card: " +
                   mass(groove.clay_mass_kg) + " of clay.") +
               table.html();
    }

    // ---- checks

    // Checks come in the order of the list, one for each place: what they share is said once above them.
    std::string checks_section() {
        const CheckReport& report = *input_.checks;
        std::string counts;
        for (const Verdict v :
             {Verdict::fail, Verdict::unknown, Verdict::marginal, Verdict::pass, Verdict::not_applicable}) {
            counts +=
                (counts.empty() ? "" : ", ") + std::to_string(report.count(v)) + " " + std::string(verdict_word(v));
        }
        const Picture bending = draw_deflections(report, units_);
        std::string html = paragraph("In all: " + counts + ".") + (bending.body.empty() ? "" : described(bending)) +
                           "<table class=\"checks\" role=\"table\"><thead role=\"rowgroup\"><tr role=\"row\">";
        for (const char* head : {"Verdict", "Where", "Value", "Limit", "What to do"}) {
            html += std::string("<th scope=\"col\" role=\"columnheader\">") + head + "</th>";
        }
        html += "</tr></thead>";
        for (std::size_t i = 0; i < report.checks.size(); ++i) {
            const Check& check = report.checks[i];
            if (i == 0 || !share_heading(check, report.checks[i - 1])) {
                html += std::string(i == 0 ? "" : "</tbody>") + "<tbody role=\"rowgroup\">\n" + check_heading(check);
            }
            html += check_row(check, i + 1);
        }
        return html + (report.checks.empty() ? "" : "</tbody>") + "</table>\n";
    }

    static bool share_heading(const Check& a, const Check& b) {
        return a.id == b.id && a.formula == b.formula && a.source == b.source;
    }

    static std::string check_heading(const Check& check) {
        const CheckRow* row = find_check(check.id);
        std::string html = "<tr role=\"row\" class=\"group\"><th role=\"rowheader\" scope=\"rowgroup\" colspan=\"5\">" +
                           (row != nullptr ? escape_markup(row->title) + " " : "") + id(check.id);
        if (!check.formula.empty() || !check.source.key.empty()) {
            html += "<div class=\"small\">" + escape_markup(check.formula) + (check.formula.empty() ? "" : ". ") +
                    (check.source.key.empty() ? "" : "Source: " + escape_markup(describe(check.source)) + ".") +
                    "</div>";
        }
        return html + "</th></tr>\n";
    }

    std::string check_row(const Check& check, std::size_t number) const {
        const std::string verdict(verdict_name(check.verdict));
        std::string html =
            "<tr role=\"row\" id=\"check-" + std::to_string(number) + "\"><td role=\"cell\"><span class=\"badge " +
            verdict + "\"><span aria-hidden=\"true\">" + std::string(verdict_sign(check.verdict)) + "</span>" +
            std::string(verdict_word(check.verdict)) + "</span></td><td role=\"cell\" data-label=\"Where\">" +
            escape_markup(check.subject) + "</td>";
        html += "<td role=\"cell\" class=\"n\" data-label=\"Value\">" + value_text(check) +
                "</td><td role=\"cell\" class=\"n\" data-label=\"Limit\">" + limit_text(check) + "</td>";
        html += "<td role=\"cell\">" + escape_markup(check.advice);
        if (check.at) {
            html += " <span class=\"small\">Worst at " + place(*check.at) + " " + unit_word() + ".</span>";
        }
        return html + "</td></tr>\n";
    }

    std::string value_text(const Check& check) const {
        if (!std::isfinite(check.value.value)) {
            return "&ndash;";
        }
        const std::string value = show(check.value), low = show(check.low), high = show(check.high);
        return low == high ? value : value + "<br><span class=\"small\">" + low + " to " + high + "</span>";
    }

    std::string limit_text(const Check& check) const {
        if (!std::isfinite(check.limit.value) || check.verdict == Verdict::not_applicable) {
            return "&ndash;";
        }
        const std::string words = check.relation == Relation::at_most ? "at most " : "at least ";
        return words + show(check.limit) +
               (check.good ? "<br><span class=\"small\">better " + words + show(*check.good) + "</span>" : "");
    }

    // ---- cutting

    std::string flat_size(const PlatePart& part) const {
        const Vec2 box = bounding_box(part.outline).size();
        return len(box.x) + " &times; " + len(box.y) + " &times; " + len(part.thickness_mm);
    }

    std::string cut_list_section() const {
        Table table("Parts to cut, to tick off; the page keeps the ticks",
                    {{"Part"}, {"Cut"}, {"Kind"}, {"Stock"}, {"Size", Cell::number}, {"Note"}});
        for (const PlatePart* part : parts_) {
            table.row({id(part->id), tick_box("cut-" + part->id, part->id + " is cut"),
                       std::string(part_kind_name(part->kind)), escape_markup(part->stock), flat_size(*part),
                       escape_markup(part->note)});
        }
        return table.html() + fit_text();
    }

    std::string fit_text() const {
        OutlineFit all;
        for (const PlatePart* part : parts_) {
            all.off_mm = std::max(all.off_mm, part->fit.off_mm);
            all.points += part->fit.points;
            all.edges += part->fit.edges;
        }
        if (all.edges == 0) return {};
        return paragraph("Curved outlines are " + std::to_string(all.edges) + " lines and arcs in place of " +
                         std::to_string(all.points) + " computed points, nowhere more than " + fine(all.off_mm) +
                         " off.");
    }

    std::string sheets_section() {
        std::string html;
        for (const std::string& part : input_.layout->too_large) {
            html += paragraph("<b>" + escape_markup(part) + "</b> fits on no sheet of its stock.");
        }
        for (const Sheet& sheet : input_.layout->sheets) {
            html += described(draw_sheet(sheet, parts_, units_),
                              std::string(sheet.is_offcut ? " An offcut." : "") +
                                  " Used: " + std::to_string(std::lround(sheet.use * 100)) + " %. A piece of " +
                                  len(sheet.needed.x) + " &times; " + len(sheet.needed.y) +
                                  " does as well, cut so that its length lies along the sheet's.");
        }
        return html;
    }

    // ---- back matter

    static std::string cautions_section() {
        // Common practice; the text names no number that a data sheet would have to set.
        constexpr std::string_view lines[] = {
            "Resin, hardener and gel coat: read the safety data sheets first. Gloves that the sheet names, sleeves, "
            "and no skin "
            "contact at all with epoxy hardeners: they sensitise for life.",
            "Vapour: work in moving air away from flames and sparks, with a fitted respirator for organic vapour. "
            "Styrene and "
            "acetone catch fire easily.",
            "Peroxide initiator blinds: wear goggles, keep an eye-wash in reach, and never bring it together with "
            "cobalt accelerator "
            "except through the resin.",
            "Exotherm: a full pot or a thick layup heats itself and can burn. Mix small batches, spread them out, lay "
            "few plies at a "
            "time, and keep soaked rags in a metal bin outdoors.",
            "Dust of glass, carbon, wood and fillers: extraction and a particle filter when sawing and sanding, wet "
            "where you can. "
            "Carbon dust conducts and ruins electrics.",
            "Blades, band saws and routers: guards on, hands clear, sharp tools, as the machine's manual says. Deburr "
            "cut edges.",
            "Lifting and turning over: plug, mould and fixture together are heavy and awkward. Two people, a clear "
            "path, feet out from under.",
            "Demoulding: plastic wedges and patience. Air pressure can throw a half across the room: face shield, low "
            "pressure, nobody in line.",
        };
        std::string html = "<ul>";
        for (const std::string_view line : lines) {
            html += "<li>" + std::string(line) + "</li>";
        }
        return html + "</ul>" +
               paragraph(
                   "<b>The product's data sheet, local codes and licensed practice overrule anything this page "
                   "says.</b>");
    }

    std::string settings_section() const {
        Table told("Told by job file or command line", setting_columns()),
            defaults("Left at their defaults", setting_columns());
        for (const SettingLine& line : setting_lines(design_.settings)) {
            const std::string value = line.value.empty() ? "&ndash;" : escape_markup(line.value);
            const bool is_told = line.origin != Origin::builtin;
            (is_told ? told : defaults)
                .row({id(line.key), value,
                      std::string(is_told ? origin_word(line.origin) : escape_markup(describe(line.row->source))),
                      escape_markup(line.row->help)});
        }
        const std::string first = told.html();
        return (first.empty() ? paragraph("Every setting is at its default.") : first) +
               "<details><summary>Defaults</summary>\n" + defaults.html() + "</details>\n";
    }
    static std::vector<Column> setting_columns() { return {{"Setting"}, {"Value"}, {"From"}, {"Meaning"}}; }
    static std::string_view origin_word(Origin origin) { return origin == Origin::job ? "job file" : "command line"; }

    std::string sources_section() const {
        std::vector<std::string> lines;
        for (const Check& check : input_.checks->checks) {
            if (!check.source.key.empty()) {
                lines.push_back(escape_markup(describe(check.source)));
            }
        }
        std::sort(lines.begin(), lines.end());
        lines.erase(std::unique(lines.begin(), lines.end()), lines.end());
        std::string html = paragraph("Each check names its own; together they are:") + "<ul>";
        for (const std::string& line : lines) {
            html += "<li>" + line + "</li>";
        }
        return html + "</ul>\n";
    }

    std::string files_section() const {
        std::string html = paragraph(
                               "All beside this page. <code>fixture.glb</code> is the whole fixture in 3D for any "
                               "viewer of glTF files.") +
                           "<ul>";
        for (const std::string& file : input_.files) {
            html += "<li><a href=\"" + relative_address(file) + "\">" + escape_markup(file) + "</a></li>";
        }
        return html + "</ul>\n";
    }

    // A file name as a relative address: nothing in it can start a scheme. Source: RFC 3986, sec. 2.3 and 4.2.
    static std::string relative_address(std::string_view file) {
        constexpr std::string_view hex = "0123456789ABCDEF", plain = "-._~/";
        std::string address = "./";
        for (const char c : file) {
            const auto byte = static_cast<unsigned char>(c);
            const bool is_plain = (byte >= '0' && byte <= '9') || (byte >= 'A' && byte <= 'Z') ||
                                  (byte >= 'a' && byte <= 'z') || plain.find(c) != std::string_view::npos;
            if (is_plain) {
                address += c;
            } else {
                address += {'%', hex[byte >> 4], hex[byte & 15]};
            }
        }
        return address;
    }

    const ReportInput& input_;
    const Design& design_;
    UnitSystem units_;
    std::vector<const PlatePart*> parts_;
    int pictures_ = 0;
};

}  // namespace

std::string report_html(const ReportInput& input) {
    CRADLEWRIGHT_PRECONDITION(input.design != nullptr && input.checks != nullptr && input.layout != nullptr);
    return Page(input).html();
}

}  // namespace cradlewright
