// SPDX-License-Identifier: GPL-3.0-or-later
// Source: ISO 32000-1, Portable Document Format, through cairo.
#include <algorithm>
#include <cmath>

#include "cradlewright/files/write_drawings.hpp"
#include "files/page_pictures.hpp"
#include "files/pdf_flow.hpp"

namespace cradlewright {
namespace {

constexpr double wide_px = 720, high_px = 330;
constexpr std::size_t columns = 3, most_rows = 36;  // of points on a page beside its picture

class HandSheets {
public:
    HandSheets(std::span<const HandPattern> patterns, const Settings& settings, const std::string& job, int pages)
        : patterns_(patterns),
          units_(settings.units),
          page_(office_sheet_mm(settings)),
          flow_({.page_mm = page_,
                 .margin_mm = 15,
                 .title = "Cloth patterns by hand",
                 .job = job,
                 .foot = "Cut lines, margins and overlaps included. Try the paper on the surface before you cut cloth.",
                 .pages = pages}) {}

    std::string bytes() {
        flow_.title("Cloth patterns by hand");
        flow_.paragraph(
            "For wrapping paper, a tape, a square and a batten. The paper's straight edge is the base line; cloth's "
            "warp "
            "runs along it. Mark each point so far along the base line from the left end of the pattern and so far up, "
            "square to it; join them in the order of their numbers, round bends along a batten. Copy the crosses with "
            "their names. Seen with the surface behind the cloth.");
        for (std::size_t n = 0; n < patterns_.size(); ++n) {
            if (n > 0) flow_.new_page();
            sheet(patterns_[n]);
        }
        pages_ = flow_.pages();
        return flow_.finish();
    }
    [[nodiscard]] int pages() const { return pages_; }

private:
    [[nodiscard]] std::string words(double mm) const { return dimension_text(mm, units_); }
    [[nodiscard]] std::string with_unit(double mm) const {
        return words(mm) + (units_ == UnitSystem::inch ? " in" : " mm");
    }

    void sheet(const HandPattern& pattern) {
        flow_.heading(pattern.id);
        flow_.paragraph(pattern.note + ". Paper " + with_unit(pattern.length_mm) + " along the warp, " +
                        with_unit(pattern.width_mm) + " across. Stations every " + with_unit(pattern.station_mm) +
                        ". Straight lines from point to point miss the cut line by " +
                        format_quantity(Quantity::of(Length::mm(pattern.miss_mm)), units_, 1) + " at most.");
        flow_.pictures({picture(pattern)}, page_.x - 30);
        int number = 0;
        for (std::size_t l = 0; l < pattern.loops.size(); ++l) {
            if (l > 0) flow_.subheading("Hole " + std::to_string(l));
            std::vector<std::vector<std::string>> cells;
            for (const HandPoint& p : pattern.loops[l])
                cells.push_back({std::to_string(++number) + (p.is_station ? "" : " *"), words(p.at.x), words(p.at.y)});
            table(cells);
        }
        if (pattern.crosses.empty()) return;
        flow_.subheading("Crosses");
        std::vector<std::vector<std::string>> cells;
        for (const HandPattern::Cross& cross : pattern.crosses)
            cells.push_back({cross.name, words(cross.at.x), words(cross.at.y)});
        table(cells);
    }

    /// Read downward, then on in the next three columns.
    void table(const std::vector<std::vector<std::string>>& cells) {
        std::vector<FlowColumn> heads;
        for (std::size_t c = 0; c < columns; ++c) {
            heads.push_back({"No.", 1});
            heads.push_back({"Along", 1.4, Align::right});
            heads.push_back({"Up", 1.4, Align::right});
            if (c + 1 < columns) heads.push_back({"", 0.5});
        }
        for (std::size_t first = 0; first < cells.size(); first += columns * most_rows) {
            const std::size_t count = std::min(columns * most_rows, cells.size() - first);
            const std::size_t down = (count + columns - 1) / columns;
            std::vector<std::vector<std::string>> rows(down);
            for (std::size_t r = 0; r < down; ++r)
                for (std::size_t c = 0; c < columns; ++c) {
                    const std::size_t at = r + c * down;
                    const bool is_there = at < count;
                    for (std::size_t k = 0; k < 3; ++k)
                        rows[r].push_back(is_there ? cells[first + at][k] : std::string{});
                    if (c + 1 < columns) rows[r].emplace_back();
                }
            flow_.table(heads, rows);
        }
    }

    [[nodiscard]] Picture picture(const HandPattern& pattern) const {
        Box2 box;
        box.add({0, 0});
        box.add({pattern.length_mm, pattern.width_mm});
        Canvas canvas(box, wide_px, high_px, {.left = 26, .top = 22, .right = 40, .bottom = 40});
        std::vector<std::vector<Vec2>> loops;
        for (const std::vector<HandPoint>& loop : pattern.loops) {
            loops.emplace_back();
            for (const HandPoint& p : loop) loops.back().push_back(p.at);
        }
        canvas.loops("part", loops);
        for (const std::vector<Vec2>& loop : loops) canvas.chain("fit", loop, true);
        const Vec2 left = canvas.at({0, 0}), right = canvas.at({pattern.length_mm, 0});
        canvas.line("parting", left, right);
        for (double x = 0; x <= pattern.length_mm; x += pattern.station_mm)
            canvas.line("mark", canvas.at({x, 0}), canvas.at({x, pattern.width_mm}));
        LabelPlaces places;
        int number = 0;
        for (const std::vector<Vec2>& loop : loops)
            for (const Vec2 p : loop) {
                const std::string label = std::to_string(++number);
                const Vec2 at = canvas.at(p);
                canvas.circle("node", at, 2);
                const Vec2 beside{at.x + 4 + letter_px * double(label.size()) / 2, at.y - 5};
                if (places.claim(beside, label.size()))
                    canvas.text("lbl halo", {at.x + 4, at.y - 2}, Anchor::start, label);
            }
        for (const HandPattern::Cross& cross : pattern.crosses) {
            const Vec2 at = canvas.at(cross.at);
            canvas.line("fit", at - Vec2{5, 0}, at + Vec2{5, 0});
            canvas.line("fit", at - Vec2{0, 5}, at + Vec2{0, 5});
            canvas.text("lbl strong halo", at + Vec2{7, 12}, Anchor::start, cross.name);
        }
        canvas.dimension({left.x, left.y + 24}, {right.x, right.y + 24}, words(pattern.length_mm));
        const Vec2 top = canvas.at({pattern.length_mm, pattern.width_mm});
        canvas.dimension({right.x + 20, right.y}, {right.x + 20, top.y}, words(pattern.width_mm));
        return std::move(canvas).finish(
            pattern.id + ", base line below",
            "Points by their numbers, stations as thin lines, points between stations have a "
            "star in the table");
    }

    std::span<const HandPattern> patterns_;
    UnitSystem units_;
    Vec2 page_;
    PdfFlow flow_;
    int pages_ = 0;
};

}  // namespace

std::string hand_patterns_pdf(std::span<const HandPattern> patterns, const Settings& settings, const std::string& job) {
    HandSheets counting(patterns, settings, job, 0);  // a first run, since every page says how many there are
    static_cast<void>(counting.bytes());
    return HandSheets(patterns, settings, job, counting.pages()).bytes();
}

}  // namespace cradlewright
