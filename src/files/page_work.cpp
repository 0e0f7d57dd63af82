// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/page_work.hpp"

#include <cmath>

#include "files/markup.hpp"
#include "files/page_table.hpp"
#include "files/work_words.hpp"

namespace cradlewright {
namespace {

class WorkPage {
public:
    explicit WorkPage(const Design& design) : work_(design.work), units_(design.settings.units) {}

    [[nodiscard]] std::string html() const {
        if (work_.steps.empty()) return {};
        return paragraph(
                   "The same steps stand on <code>build-sheet.pdf</code> for the bench. Quantities are this job's. "
                   "Waits "
                   "add up to about " +
                   days(work_.wait_s) + "; cautions are spelled out at the end of the page.") +
               steps() + dry_fit() + turn_over();
    }

private:
    static std::string days(double seconds) {
        return std::to_string(static_cast<int>(std::ceil(seconds / 86400))) + " days";
    }

    [[nodiscard]] std::string steps() const {
        std::string html;
        const WorkStep* before = nullptr;
        for (const WorkStep& step : work_.steps) {
            if (before == nullptr || before->phase != step.phase)
                html += std::string(before == nullptr ? "" : "</ol>") + "<h3>" +
                        escape_markup(work_phase_title(step.phase)) + "</h3>\n<ol class=\"work\">";
            html += item(step);
            before = &step;
        }
        return html + "</ol>\n";
    }

    [[nodiscard]] std::string item(const WorkStep& step) const {
        std::string html = "<li><label>" + tick_box(step.id, step.title) + " <b>" + escape_markup(step.title) +
                           "</b></label> " + escape_markup(step.text);
        const std::string amounts = amounts_text(step, units_), wait = wait_text(step);
        if (!amounts.empty()) html += " <b>" + escape_markup(amounts) + "</b>";
        if (!wait.empty()) html += " <b>" + escape_markup(wait) + "</b>";
        if (const std::string cautions = caution_names(step); !cautions.empty())
            html += " <span class=\"small\">Cautions: " + escape_markup(cautions) + ".</span>";
        return html + "</li>\n";
    }

    [[nodiscard]] std::string dry_fit() const {
        Table table("Dry-fit sheet", {{"Measure"},
                                      {"Should be", Cell::number},
                                      {"From the level line", Cell::number},
                                      {"Off at most", Cell::number},
                                      {"Measured"},
                                      {"When it is off"}});
        for (const DryFitRow& row : work_.dry_fit)
            table.row({escape_markup(row.what), target_text(row, units_), from_level_text(row, units_),
                       tolerance_text(row, units_),
                       "<input type=\"text\" size=\"7\" data-note=\"" + escape_markup(row.id) +
                           "\" aria-label=\"measured, " + escape_markup(row.id) + "\">",
                       escape_markup(when_off_text(row))});
        return "<h3>Dry fit</h3>\n" + table.html();
    }

    [[nodiscard]] std::string turn_over() const {
        const TurnOver& turn = work_.turn_over;
        const auto kg = [&](double mass) {
            return std::isfinite(mass) ? format_quantity(Quantity::of(Mass::kg(mass)), units_)
                                       : std::string("not known");
        };
        const auto len = [&](double mm) { return length_cell(mm, 0, units_); };
        Table table("What is turned over", {{"Piece"},
                                            {"Mass", Cell::number},
                                            {"Along the span", Cell::number},
                                            {"Toward the front", Cell::number},
                                            {"Above the base", Cell::number}});
        const auto add = [&](const std::string& what, double mass, Vec3 at) {
            table.row({what, kg(mass), len(at.x), len(at.y), len(at.z)});
        };
        for (const WorkMass& part : turn.masses) add(escape_markup(part.what), part.mass_kg, part.centre);
        add("together", turn.mass_kg, turn.centre);
        return "<h3>Turning over</h3>\n" + table.html() +
               paragraph("So held, one person may lift " + kg(turn.one_person_kg) + "; this wants <b>" +
                         people_text(turn) + "</b>. " + escape_markup(turn.held_by + " " + turn.unknown));
    }

    const WorkPlan& work_;
    UnitSystem units_;
};

}  // namespace

std::string work_section(const Design& design) { return WorkPage(design).html(); }

}  // namespace cradlewright
