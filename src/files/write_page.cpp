// SPDX-License-Identifier: GPL-3.0-or-later
// Source: WHATWG, HTML Living Standard; W3C, Web Content Accessibility Guidelines 2.2, 1.1.1, 1.3.1, 1.4.1, 1.4.10.
#include <algorithm>
#include <cmath>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "cradlewright/catalog/bibliography.hpp"
#include "cradlewright/checks/all_checks.hpp"
#include "cradlewright/files/write_report.hpp"
#include "files/markup.hpp"
#include "files/page_beads.hpp"
#include "files/page_checks.hpp"
#include "files/page_fixture.hpp"
#include "files/page_hardware.hpp"
#include "files/page_layup.hpp"
#include "files/page_mould_back.hpp"
#include "files/page_pictures.hpp"
#include "files/page_plug.hpp"
#include "files/page_release.hpp"
#include "files/page_style.hpp"
#include "files/page_table.hpp"
#include "files/page_tilts.hpp"
#include "files/page_view.hpp"
#include "files/page_words.hpp"
#include "files/page_work.hpp"
#include "files/report_rows.hpp"

namespace cradlewright {
namespace {

struct Section {
    std::string_view id, title;
    std::string body;
};

/// Writes one report; holds what every section needs.
class Page : PageWords {
public:
    explicit Page(const ReportInput& input)
        : PageWords(input.design->settings.units),
          input_(input),
          design_(*input.design),
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
            return figures_.figure(picture, PageFigures::Breadth::broad, caption);
        };
        std::vector<Section> sections;
        if (has_view()) sections.push_back({"fixture", "The fixture in 3D", view_section(design_, *input_.scene)});
        sections.push_back({"plug", "The plug and how it stands", plug_section(design_, figures_)});
        if (input_.tilts != nullptr)
            sections.push_back({"tilts", "Other tilts", tilts_section(design_, *input_.tilts, input_.command, broad)});
        if (!design_.posed.plug.extensions.empty())
            sections.push_back({"extensions", "Extensions of the plug", extensions_section(design_, figures_)});
        sections.push_back({"parting", "Parting line and release", parting_section(design_, figures_)});
        if (design_.parting.is_found()) {
            sections.push_back({"panels", "Flange panels", panels_section(design_, figures_)});
            sections.push_back({"ribs", "Ribs", ribs_section(design_, figures_)});
            sections.push_back({"cradle", "Rest of the cradle and joints", cradle_section(design_, figures_)});
            sections.push_back({"beads", "Clay beads", beads_section(design_, figures_)});
            sections.push_back({"hardware", "Locators and opening hardware", hardware_section(design_)});
            sections.push_back({"mould-back", "The mould's back and stand", mould_back_section(design_, broad)});
        }
        sections.push_back({"checks", "Checks", checks_section(*input_.checks, units_, figures_)});
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

    // ---- cutting

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
            html += figures_.described(draw_sheet(sheet, parts_, units_),
                                       std::string(sheet.is_offcut ? " An offcut." : "") +
                                           " Used: " + std::to_string(std::lround(sheet.use * 100)) +
                                           " %. A piece of " + len(sheet.needed.x) + " &times; " + len(sheet.needed.y) +
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
    std::vector<const PlatePart*> parts_;
    PageFigures figures_;
};

}  // namespace

std::string report_html(const ReportInput& input) {
    CRADLEWRIGHT_PRECONDITION(input.design != nullptr && input.checks != nullptr && input.layout != nullptr);
    return Page(input).html();
}

}  // namespace cradlewright
