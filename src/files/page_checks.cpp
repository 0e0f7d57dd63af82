// SPDX-License-Identifier: GPL-3.0-or-later
// Source: W3C, Web Content Accessibility Guidelines 2.2, 1.3.1 and 1.4.1.
#include "files/page_checks.hpp"

#include <cmath>

#include "cradlewright/catalog/bibliography.hpp"
#include "cradlewright/checks/all_checks.hpp"
#include "files/page_plots.hpp"

namespace cradlewright {
namespace {

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

class ChecksSection : PageWords {
public:
    ChecksSection(const CheckReport& report, UnitSystem units, PageFigures& figures)
        : PageWords(units), report_(report), figures_(figures) {}

    // Checks come in the order of the list, one for each place: what they share is said once above them.
    std::string checks_section() {
        std::string counts;
        for (const Verdict v :
             {Verdict::fail, Verdict::unknown, Verdict::marginal, Verdict::pass, Verdict::not_applicable}) {
            counts +=
                (counts.empty() ? "" : ", ") + std::to_string(report_.count(v)) + " " + std::string(verdict_word(v));
        }
        const Picture bending = draw_deflections(report_, units_);
        std::string html = paragraph("In all: " + counts + ".") +
                           (bending.body.empty() ? "" : figures_.described(bending)) +
                           "<table class=\"checks\" role=\"table\"><thead role=\"rowgroup\"><tr role=\"row\">";
        for (const char* head : {"Verdict", "Where", "Value", "Limit", "What to do"}) {
            html += std::string("<th scope=\"col\" role=\"columnheader\">") + head + "</th>";
        }
        html += "</tr></thead>";
        for (std::size_t i = 0; i < report_.checks.size(); ++i) {
            const Check& check = report_.checks[i];
            if (i == 0 || !share_heading(check, report_.checks[i - 1])) {
                html += std::string(i == 0 ? "" : "</tbody>") + "<tbody role=\"rowgroup\">\n" + check_heading(check);
            }
            html += check_row(check, i + 1);
        }
        return html + (report_.checks.empty() ? "" : "</tbody>") + "</table>\n";
    }

private:
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

    const CheckReport& report_;
    PageFigures& figures_;
};

}  // namespace

std::string_view verdict_word(Verdict verdict) {
    return verdict == Verdict::not_applicable ? "does not apply" : verdict_name(verdict);
}

std::string checks_section(const CheckReport& report, UnitSystem units, PageFigures& figures) {
    return ChecksSection(report, units, figures).checks_section();
}

}  // namespace cradlewright
