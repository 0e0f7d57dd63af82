// SPDX-License-Identifier: GPL-3.0-or-later
// Source: ISO 32000-1, Portable Document Format, through cairo.
#include <algorithm>
#include <cmath>
#include <span>

#include "cradlewright/base/error.hpp"
#include "cradlewright/files/write_report.hpp"
#include "files/fixture_views.hpp"
#include "files/page_mould_back.hpp"
#include "files/page_pictures.hpp"
#include "files/pdf_flow.hpp"
#include "files/report_rows.hpp"
#include "files/work_words.hpp"

namespace cradlewright {
namespace {

class BuildSheet {
public:
    BuildSheet(const ReportInput& input, int pages)
        : input_(input),
          design_(*input.design),
          work_(input.design->work),
          units_(input.design->settings.units),
          flow_({.page_mm = office_sheet_mm(input.design->settings),
                 .margin_mm = 15,
                 .title = "Build sheet",
                 .job = input.design->posed.plug.name,
                 .foot = "The product's data sheet, local codes and licensed practice overrule anything on this sheet.",
                 .pages = pages}) {}

    std::string bytes() {
        front();
        if (!work_.cautions.empty()) cautions();
        cut_list();
        ribs();
        panels();
        back_plates();
        if (!work_.steps.empty()) {
            order_of_work();
            dry_fit();
            turning();
            opening();
        }
        pages_ = flow_.pages();
        return flow_.finish();
    }
    [[nodiscard]] int pages() const { return pages_; }

private:
    [[nodiscard]] std::string len(double mm, int decimals = 1) const {
        return format_quantity(Quantity::of(Length::mm(mm)), units_, decimals);
    }
    /// "262.8 x 94.4 x 9 mm"
    [[nodiscard]] std::string sizes(Vec3 s) const {
        return dimension_text(s.x, units_) + " x " + dimension_text(s.y, units_) + " x " + dimension_text(s.z, units_) +
               (units_ == UnitSystem::inch ? " in" : " mm");
    }
    /// "9 mm from the middle toward the back"
    [[nodiscard]] std::string toward(double mm, const char* plus, const char* minus) const {
        if (std::abs(mm) < 0.5) return "at the middle";
        return len(std::abs(mm), 0) + " from the middle toward " + (mm < 0 ? minus : plus);
    }
    [[nodiscard]] std::string kg(double mass) const {
        return std::isfinite(mass) ? format_quantity(Quantity::of(Mass::kg(mass)), units_) : "not known";
    }
    [[nodiscard]] double wide() const { return office_sheet_mm(design_.settings).x - 30; }

    void front() {
        flow_.title(design_.posed.plug.name);
        const Judgement judgement = judge_design(input_);
        flow_.paragraph(judgement.say, Face::bold);
        if (!design_.parting.is_found()) flow_.paragraph(design_.parting.reason);
        first_checks();
        flow_.table({{"", 3}, {"", 3}, {"", 3}, {"", 3}}, key_numbers());
        if (!design_.parting.is_found()) return;
        flow_.pictures({draw_plan(design_)}, wide());
        flow_.pictures({draw_elevation(design_)}, wide());
    }

    /// The worst checks, one line each; the report has all of them.
    void first_checks() {
        constexpr int most = 5;
        int shown = 0;
        std::string last;
        for (const Verdict verdict : {Verdict::fail, Verdict::unknown, Verdict::marginal})
            for (const Check& check : input_.checks->checks) {
                if (check.verdict != verdict || check.id == last) continue;
                last = check.id;
                if (++shown <= most)
                    flow_.bullet(std::string(verdict_name(verdict)) + ": " + check.id + ", " + check.subject +
                                 (check.advice.empty() ? "" : ": " + check.advice));
            }
        if (shown > most) flow_.paragraph(counted(std::size_t(shown - most), "more", "more") + " in report.html.");
    }

    [[nodiscard]] std::vector<std::vector<std::string>> key_numbers() const {
        const Vec3 size = design_.posed.box_fixture.size();
        std::vector<std::string> cells{"Plug as it stands", sizes(size), "Tilt",
                                       format_quantity(Quantity::of(Angle::rad(design_.posed.pose.tilt_rad)), units_)};
        const auto add = [&](std::string what, std::string value) {
            cells.push_back(std::move(what));
            cells.push_back(std::move(value));
        };
        add("Plug", kg(design_.posed.plug.mass_kg));
        if (design_.parting.is_found()) {
            const LayupKit& kit = design_.layup.kit;
            add("Ribs", std::to_string(design_.cradle.ribs.size() + design_.cradle.long_ribs.size()));
            add("Panels", std::to_string(design_.flange.panels.size()));
            add("Sheets and strips", std::to_string(input_.layout->sheets.size()));
            add("Bead radius", design_.beads.radius_mm > 0 ? len(design_.beads.radius_mm) : "no bead");
            add("Clay, half 1", kg(design_.beads.clay_mass_kg));
            add("Resin and hardener in all", kg(kit.resin_kg + kit.hardener_kg));
            add("Fibre", kg(kit.fibre_kg));
            add("Gel coat", kg(kit.gel_coat_kg));
            add("A batch", kg(kit.batch_kg));
            add("To turn over", kg(work_.turn_over.mass_kg) +
                                    (work_.turn_over.unknown.empty() ? "" : ", not all known") + ", " +
                                    people_text(work_.turn_over));
            add("Waits together", std::to_string(int(std::ceil(work_.wait_s / 86400))) + " days");
        }
        while (cells.size() % 4 != 0) cells.emplace_back();
        std::vector<std::vector<std::string>> rows;
        for (std::size_t i = 0; i < cells.size(); i += 4)
            rows.emplace_back(cells.begin() + std::ptrdiff_t(i), cells.begin() + std::ptrdiff_t(i) + 4);
        return rows;
    }

    void cautions() {
        flow_.heading("Cautions: read before you start");
        for (const std::string& caution : work_.cautions) flow_.bullet(caution);
        flow_.paragraph("The product's data sheet, local codes and licensed practice overrule anything on this sheet.",
                        Face::bold);
    }

    void cut_list() {
        const auto parts = all_parts(design_);
        if (parts.empty()) return;
        flow_.heading("Cut list");
        std::vector<std::vector<std::string>> rows;
        for (const PlatePart* part : parts) {
            const Vec2 size = bounding_box(part->outline).size();
            rows.push_back({"[]", part->id, part->stock, sizes({size.x, size.y, part->thickness_mm}), part->note});
        }
        flow_.table({{"", 0.5}, {"Part", 2.4}, {"Stock", 1.8}, {"Length x width x thickness", 3}, {"Note", 4.5}}, rows);
    }

    void ribs() {
        const Cradle& cradle = design_.cradle;
        std::vector<Picture> pictures;
        const std::vector<double> offsets = offset_places(cradle, units_);
        for (const Rib& rib : cradle.ribs) pictures.push_back(draw_rib(rib, offsets, units_));
        Cradle along;
        along.ribs = cradle.long_ribs;
        const std::vector<double> along_offsets = offset_places(along, units_);
        for (const Rib& rib : cradle.long_ribs) pictures.push_back(draw_rib(rib, along_offsets, units_));
        if (pictures.empty()) return;
        flow_.heading("Ribs");
        flow_.paragraph(
            "Not true size: cut by the files in cut/. Solid edges fit, dashed ones touch nothing. Lower figures: "
            "height of the saddle's cut edge above the base, at places from the centre line; upper ones: seats.");
        constexpr double three_a_page = 0.85;
        flow_.pictures(pictures, three_a_page * wide());
    }

    void panels() {
        if (design_.flange.panels.empty()) return;
        flow_.heading("Flange panels");
        flow_.paragraph("Flat patterns, top face up, not true size: cut by the files in cut/.");
        // Large ones over the whole width, so that what is marked on them can be told apart.
        constexpr double large_mm = 200, gaps_mm = 8, in_a_row = 3;
        std::vector<Picture> broad, small;
        for (const FlangePanel& panel : design_.flange.panels) {
            const bool is_large = bounding_box(panel.part.outline).size().x > large_mm;
            (is_large ? broad : small)
                .push_back(is_large ? draw_panel_large(panel, units_) : draw_panel(panel, units_));
        }
        flow_.pictures(broad, wide());
        flow_.pictures(small, (wide() - gaps_mm) / in_a_row);
    }

    void back_plates() {
        if (!design_.back.has_plates()) return;
        flow_.heading("Plates behind the mould");
        flow_.paragraph(
            "Not true size: cut by the files in cut/. Solid edges fit the laminate's back with a soft strip between; "
            "heights are from the bench. Plans: the half turned over, seen from above into the mould.");
        constexpr double three_a_page = 0.85, two_a_row = 0.48;
        for (const BackHalf& half : design_.back.halves) {
            if (half.plates.empty()) continue;
            std::vector<Picture> across, along;
            for (const BackPlate& plate : half.plates)
                if (!plate.edge.empty())  // a strap is a rectangle, of the size in the cut list
                    (plate.is_along ? along : across).push_back(draw_back_plate(half, plate, units_));
            flow_.pictures(std::vector<Picture>{draw_back_plan(design_, half)}, wide());
            flow_.pictures(across, two_a_row * wide());
            flow_.pictures(along, three_a_page * wide());
        }
    }

    void order_of_work() {
        flow_.heading("Order of work");
        const WorkStep* before = nullptr;
        for (const WorkStep& step : work_.steps) {
            if (before == nullptr || before->phase != step.phase)
                flow_.subheading(std::string(work_phase_title(step.phase)));
            before = &step;
            const std::string amounts = amounts_text(step, units_), wait = wait_text(step), names = caution_names(step);
            flow_.task(step.title, amounts + (amounts.empty() || wait.empty() ? "" : " ") + wait, step.text,
                       names.empty() ? "" : "Cautions: " + names + ".");
        }
    }

    void dry_fit() {
        flow_.heading("Dry-fit sheet");
        flow_.paragraph(
            "Measure before anything is glued, write it down, and compare. Seats from two references: the top "
            "of the base, and the level line of their rib.");
        for (auto first = work_.dry_fit.begin(); first != work_.dry_fit.end();) {
            const auto last = std::find_if(first, work_.dry_fit.end(),
                                           [&](const DryFitRow& row) { return row.group != first->group; });
            flow_.subheading(first->group);
            const bool has_second =
                std::any_of(first, last, [](const DryFitRow& row) { return std::isfinite(row.from_level_mm); });
            has_second ? twice_measured({first, last}) : once_measured({first, last});
            first = last;
        }
    }

    void once_measured(std::span<const DryFitRow> group) {
        std::vector<std::vector<std::string>> rows;
        for (const DryFitRow& row : group)
            rows.push_back(
                {"[]", row.what, target_text(row, units_), tolerance_text(row, units_), "__", when_off_text(row)});
        flow_.table({{"", 0.5},
                     {"Measure", 4},
                     {"Should be", 1.5, Align::right},
                     {"Off at most", 1.6, Align::right},
                     {"Measured", 1.8},
                     {"When it is off", 4.2}},
                    rows);
    }

    /// What to do is the same for all of them, so it is said once.
    void twice_measured(std::span<const DryFitRow> group) {
        flow_.paragraph("When one is off: " + group.front().when_off + ".");
        std::vector<std::vector<std::string>> rows;
        for (const DryFitRow& row : group)
            rows.push_back({"[]", row.what, target_text(row, units_), "__", from_level_text(row, units_), "__",
                            tolerance_text(row, units_)});
        flow_.table({{"", 0.5},
                     {"Measure", 4.6},
                     {"Above the base", 1.7, Align::right},
                     {"Measured", 1.7},
                     {"From level line", 1.7, Align::right},
                     {"Measured", 1.7},
                     {"Off at most", 1.7, Align::right}},
                    rows);
    }

    void turning() {
        const TurnOver& turn = work_.turn_over;
        flow_.heading("Turn-over plan");
        std::vector<std::vector<std::string>> rows;
        const auto add = [&](const std::string& what, double mass, Vec3 at) {
            rows.push_back({what, kg(mass), len(at.x, 0), len(at.y, 0), len(at.z, 0)});
        };
        for (const WorkMass& part : turn.masses) add(part.what, part.mass_kg, part.centre);
        add("together", turn.mass_kg, turn.centre);
        flow_.table({{"Piece", 3},
                     {"Mass", 2, Align::right},
                     {"Centre, toward end-b", 2, Align::right},
                     {"toward the front", 2, Align::right},
                     {"above the base", 2, Align::right}},
                    rows);
        if (!turn.unknown.empty()) flow_.paragraph(turn.unknown, Face::bold);
        flow_.paragraph("So held, one person may lift " + kg(turn.one_person_kg) +
                        " (equation of Waters et al. 1993, hands " +
                        "40 cm in front of the ankles, from a bench; teams by HSE guidance). This wants " +
                        people_text(turn) + ".");
        for (const HandHold& hold : turn.holds)
            flow_.bullet("Hands: " + hold.where + ", " + toward(hold.at.y, "the front", "the back") +
                         (hold.share > 0 ? "; carries " + kg(hold.share * turn.mass_kg) : "") + ".");
        flow_.paragraph(turn.held_by);
        flow_.pictures({draw_turn_over(design_)}, wide());
    }

    void opening() {
        flow_.heading("Opening plan");
        int number = 0;
        for (const WorkStep& step : work_.steps)
            if (step.phase == WorkPhase::opening) flow_.bullet(std::to_string(++number) + ". " + step.title);
        flow_.paragraph("What to do at each stands in the order of work. Plastic wedges only, no steel.");
        std::vector<std::vector<std::string>> rows;
        for (const HardwareItem& item : design_.hardware.items)
            rows.push_back({"[]", item.id, item.panel, len(item.at.x, 0), len(item.at.y, 0)});
        flow_.table({{"", 0.5},
                     {"Hardware", 3},
                     {"Panel", 3},
                     {"x, toward end-b", 2, Align::right},
                     {"y, toward the front", 2, Align::right}},
                    rows);
        for (const std::string& note : design_.hardware.notes) flow_.bullet(note);
    }

    const ReportInput& input_;
    const Design& design_;
    const WorkPlan& work_;
    UnitSystem units_;
    PdfFlow flow_;
    int pages_ = 0;
};

}  // namespace

std::string build_sheet_pdf(const ReportInput& input) {
    CRADLEWRIGHT_PRECONDITION(input.design != nullptr && input.checks != nullptr && input.layout != nullptr);
    BuildSheet counting(input, 0);  // a first run, since every page says how many there are
    static_cast<void>(counting.bytes());
    return BuildSheet(input, counting.pages()).bytes();
}

}  // namespace cradlewright
