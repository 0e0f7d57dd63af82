// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/pdf_flow.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "cradlewright/base/units.hpp"

namespace cradlewright {
namespace {

constexpr double letter_w = 215.9, letter_h = 279.4, a4_w = 210, a4_h = 297;

constexpr double box_mm = 4, indent_mm = 7, gap_mm = 2, cell_pad_mm = 1.2;
constexpr Pen rule_pen{0.15, 0.6}, box_pen{0.3, 0}, write_pen{0.2, 0.3};

bool has_class(const std::string& css, std::string_view name) {
    std::size_t at = 0;
    while ((at = css.find(name, at)) != std::string::npos) {
        const bool starts = at == 0 || css[at - 1] == ' ';
        const std::size_t end = at + name.size();
        if (starts && (end == css.size() || css[end] == ' ')) return true;
        at = end;
    }
    return false;
}

/// Gray of what is filled; negative = not filled. Grays after the page's style sheet as printed.
double fill_of(const std::string& css) {
    if (has_class(css, "section")) return 0.72;
    if (has_class(css, "board") || has_class(css, "wood")) return 0.93;
    if (has_class(css, "panel") || has_class(css, "sheet") || has_class(css, "part")) return 0.96;
    return -1;
}

/// Width 0: not stroked.
Pen pen_of_class(const std::string& css) {
    if (has_class(css, "fit")) return {0.5, 0};
    if (has_class(css, "rough")) return {0.22, 0, 1.2};
    if (has_class(css, "parting")) return {0.45, 0};
    if (has_class(css, "plug")) return {0.4, 0.45};
    if (has_class(css, "ghost") || has_class(css, "lead")) return {0.15, 0.45, 0.7};
    if (has_class(css, "mark") || has_class(css, "dim")) return {0.18, 0.3};
    if (has_class(css, "pull")) return {0.5, 0.2};
    if (has_class(css, "sheet") || has_class(css, "part")) return {0, 0};
    return {0.25, 0};
}

}  // namespace

Vec2 office_sheet_mm(const Settings& settings) {
    const std::string name(paper_size(settings.paper).name);
    const bool is_iso = name.starts_with("a") && name.size() == 2;
    const bool is_us = name == "letter" || name == "legal" || name == "tabloid";
    const bool is_letter = is_us || (!is_iso && settings.units == UnitSystem::inch);
    return is_letter ? Vec2{letter_w, letter_h} : Vec2{a4_w, a4_h};
}

PdfFlow::PdfFlow(PageFrame frame) : frame_(std::move(frame)), canvas_(frame_.page_mm, {1, 1}, frame_.title) {
    begin_page();
}

double PdfFlow::height_of(Size size) {
    constexpr double heights[] = {1.9, 2.2, 2.7, 4, 6.5};
    return heights[static_cast<int>(size)];
}
double PdfFlow::step_of(Size size) { return 1.75 * height_of(size); }

double PdfFlow::top() const { return frame_.page_mm.y - frame_.margin_mm - 7; }
double PdfFlow::bottom() const { return frame_.margin_mm + 6; }

void PdfFlow::begin_page() {
    ++page_;
    canvas_.begin_page(frame_.page_mm, std::to_string(page_));
    const double left = frame_.margin_mm, right = frame_.page_mm.x - left, head = frame_.page_mm.y - left - 2;
    const double small = height_of(Size::small);
    const std::string number =
        std::to_string(page_) + " of " + (frame_.pages > 0 ? std::to_string(frame_.pages) : std::string("?"));
    canvas_.text({right, head}, small, number, black, Align::right);
    const double room = width() - canvas_.width_of(number, small) - 6;
    const auto name = lines_of(frame_.job + ": " + frame_.title, room, Size::small, Face::plain);
    canvas_.text({left, head}, small, name.front(), black);
    canvas_.line({left, head - 1.8}, {right, head - 1.8}, rule_pen);
    canvas_.text({left, left}, small, lines_of(frame_.foot, width(), Size::small, Face::plain).front(), soft);
    y_ = top();
}
void PdfFlow::end_page() { canvas_.end_page(); }
void PdfFlow::new_page() {
    end_page();
    begin_page();
}
void PdfFlow::need(double height_mm) {
    if (y_ - height_mm < bottom() && y_ < top()) new_page();
}

std::vector<std::string> PdfFlow::lines_of(const std::string& words, double width_mm, Size size, Face face) {
    const double height = height_of(size);
    const auto fits = [&](const std::string& text) { return canvas_.width_of(text, height, face) <= width_mm; };
    std::vector<std::string> lines;
    std::string line;
    for (std::size_t at = 0; at < words.size();) {
        const std::size_t start = words.find_first_not_of(' ', at);
        if (start == std::string::npos) break;
        const std::size_t end = std::min(words.find(' ', start), words.size());
        std::string word = words.substr(start, end - start);
        at = end;
        if (const std::string longer = line.empty() ? word : line + " " + word; fits(longer)) {
            line = longer;
            continue;
        }
        if (!line.empty()) lines.push_back(std::exchange(line, {}));
        while (!fits(word)) {  // longer than a line: broken where it fills one, hyphens first
            std::size_t cut = word.size() - 1;
            while (cut > 1 && (!fits(word.substr(0, cut)) || (word[cut] & 0xC0) == 0x80)) --cut;
            const std::size_t hyphen = word.rfind('-', cut - 1);
            if (hyphen != std::string::npos && hyphen + 1 > cut / 2) cut = hyphen + 1;
            lines.push_back(word.substr(0, cut));
            word.erase(0, cut);
        }
        line = word;
    }
    if (!line.empty() || lines.empty()) lines.push_back(line);
    return lines;
}

void PdfFlow::write(const std::vector<std::string>& lines, double left_mm, Size size, Face face, double gray) {
    for (const std::string& line : lines) {
        need(step_of(size));
        y_ -= step_of(size);
        canvas_.text({frame_.margin_mm + left_mm, y_ + 0.4 * height_of(size)}, height_of(size), line, gray, Align::left,
                     0, face);
    }
}

void PdfFlow::title(const std::string& words) {
    write(lines_of(words, width(), Size::title, Face::bold), 0, Size::title, Face::bold);
    y_ -= gap_mm;
}

void PdfFlow::heading(const std::string& words) {
    need(frame_.page_mm.y / 3);
    canvas_.add_outline(words, page_);
    if (y_ < top()) y_ -= 2 * gap_mm;
    write(lines_of(words, width(), Size::head, Face::bold), 0, Size::head, Face::bold);
    canvas_.line({frame_.margin_mm, y_ - 0.6}, {frame_.margin_mm + width(), y_ - 0.6}, rule_pen);
    y_ -= gap_mm;
}

void PdfFlow::subheading(const std::string& words) {
    need(25);
    if (y_ < top()) y_ -= gap_mm;
    write(lines_of(words, width(), Size::sub, Face::bold), 0, Size::sub, Face::bold);
    y_ -= gap_mm / 2;
}

void PdfFlow::paragraph(const std::string& words, Face face) {
    write(lines_of(words, width(), Size::plain, face), 0, Size::plain, face);
    y_ -= gap_mm / 2;
}

void PdfFlow::bullet(const std::string& words) {
    const auto lines = lines_of(words, width() - indent_mm, Size::plain, Face::plain);
    need(static_cast<double>(lines.size()) * step_of(Size::plain));
    canvas_.disc({frame_.margin_mm + 3, y_ - step_of(Size::plain) + height_of(Size::plain)}, 0.6, black);
    write(lines, indent_mm, Size::plain, Face::plain);
    y_ -= gap_mm / 2;
}

void PdfFlow::box(Vec2 corner) {
    const Vec2 corners[] = {corner, corner + Vec2{box_mm, 0}, corner + Vec2{box_mm, box_mm}, corner + Vec2{0, box_mm}};
    canvas_.line(corners, box_pen, true);
}

void PdfFlow::task(const std::string& title, const std::string& figures, const std::string& text,
                   const std::string& small) {
    const double room = width() - indent_mm;
    const auto head = lines_of(title, room, Size::sub, Face::bold);
    const auto body = lines_of(text, room, Size::plain, Face::plain);
    const auto numbers =
        figures.empty() ? std::vector<std::string>{} : lines_of(figures, room, Size::plain, Face::bold);
    const auto print = small.empty() ? std::vector<std::string>{} : lines_of(small, room, Size::small, Face::plain);
    const auto rows = [](const auto& lines, Size size) { return static_cast<double>(lines.size()) * step_of(size); };
    need(rows(head, Size::sub) + rows(body, Size::plain) + rows(numbers, Size::plain) + rows(print, Size::small));
    box({frame_.margin_mm, y_ - step_of(Size::sub) + 0.4 * height_of(Size::sub) - 0.5});
    write(head, indent_mm, Size::sub, Face::bold);
    write(body, indent_mm, Size::plain, Face::plain);
    write(numbers, indent_mm, Size::plain, Face::bold);
    write(print, indent_mm, Size::small, Face::plain, soft);
    y_ -= gap_mm;
}

double PdfFlow::table_row(const std::vector<FlowColumn>& columns, const std::vector<std::string>& cells, Face face,
                          bool draws) {
    double shares = 0;
    for (const FlowColumn& column : columns) shares += column.share;
    const double step = 1.6 * height_of(Size::small);
    double left = frame_.margin_mm, most = 0;
    for (std::size_t i = 0; i < columns.size(); ++i) {
        const double wide = width() * columns[i].share / shares;
        const std::string& cell = i < cells.size() ? cells[i] : std::string();
        if (cell == "[]") {
            if (draws) box({left + cell_pad_mm, y_ - box_mm - cell_pad_mm});
            most = std::max(most, box_mm);
        } else if (cell == "__") {
            if (draws)
                canvas_.line({left + cell_pad_mm, y_ - cell_pad_mm - 5},
                             {left + wide - cell_pad_mm, y_ - cell_pad_mm - 5}, write_pen);
            most = std::max(most, 6.0);
        } else if (!cell.empty()) {
            const auto lines = lines_of(cell, wide - 2 * cell_pad_mm, Size::small, face);
            most = std::max(most, step * static_cast<double>(lines.size()));
            const bool is_right = columns[i].align == Align::right;
            for (std::size_t k = 0; draws && k < lines.size(); ++k)
                canvas_.text({is_right ? left + wide - cell_pad_mm : left + cell_pad_mm,
                              y_ - cell_pad_mm - step * static_cast<double>(k) - height_of(Size::small) - 0.3},
                             height_of(Size::small), lines[k], black, columns[i].align, 0, face);
        }
        left += wide;
    }
    return most + 2 * cell_pad_mm;
}

void PdfFlow::table(const std::vector<FlowColumn>& columns, const std::vector<std::vector<std::string>>& rows) {
    if (rows.empty()) return;
    std::vector<std::string> heads;
    for (const FlowColumn& column : columns) heads.push_back(column.head);
    const bool has_head = std::ranges::any_of(heads, [](const std::string& head) { return !head.empty(); });
    const auto rule = [&](const Pen& pen) {
        canvas_.line({frame_.margin_mm, y_}, {frame_.margin_mm + width(), y_}, pen);
    };
    const auto draw_head = [&] {
        if (has_head) {
            const double height = table_row(columns, heads, Face::bold, false);
            table_row(columns, heads, Face::bold, true);
            y_ -= height;
        }
        rule(box_pen);
    };
    if (y_ < top()) y_ -= gap_mm;
    const double head_room = has_head ? table_row(columns, heads, Face::bold, false) : 0;
    need(head_room + table_row(columns, rows.front(), Face::plain, false));
    draw_head();
    for (const auto& row : rows) {
        const double height = table_row(columns, row, Face::plain, false);
        if (y_ - height < bottom()) {
            new_page();
            draw_head();
        }
        table_row(columns, row, Face::plain, true);
        y_ -= height;
        rule(rule_pen);
    }
    y_ -= gap_mm;
}

void PdfFlow::draw(const Picture& picture, Vec2 upper_left, double mm_per_px) {
    const auto at = [&](Vec2 p) { return upper_left + Vec2{p.x, -p.y} * mm_per_px; };
    constexpr double label_px = 11, name_px = 13, capital_share = 0.72;
    for (const PictureItem& item : picture.items) {
        switch (item.kind) {
            case PictureItem::Kind::path: {
                std::vector<std::vector<Vec2>> chains;
                for (const PictureItem::Chain& chain : item.chains) {
                    chains.emplace_back();
                    for (const Vec2 p : chain.points) chains.back().push_back(at(p));
                }
                if (const double gray = fill_of(item.css); gray >= 0) canvas_.fill(chains, gray);
                const Pen pen = pen_of_class(item.css);
                for (std::size_t i = 0; pen.width_mm > 0 && i < chains.size(); ++i)
                    canvas_.line(chains[i], pen, item.chains[i].is_closed);
                break;
            }
            case PictureItem::Kind::circle:
                if (has_class(item.css, "node")) canvas_.disc(at(item.at), item.radius * mm_per_px, 1);
                canvas_.circle(at(item.at), item.radius * mm_per_px, pen_of_class(item.css));
                break;
            case PictureItem::Kind::text: {
                const bool is_name = has_class(item.css, "name"), is_strong = has_class(item.css, "strong");
                const double height = (is_name ? name_px : label_px) * capital_share * mm_per_px;
                const Align align = item.anchor == Anchor::start    ? Align::left
                                    : item.anchor == Anchor::middle ? Align::middle
                                                                    : Align::right;
                if (has_class(item.css, "halo")) canvas_.halo(at(item.at), height, item.words, align);
                canvas_.text(at(item.at), height, item.words, black, align, 0,
                             is_name || is_strong ? Face::bold : Face::plain);
                break;
            }
        }
    }
}

void PdfFlow::pictures(const std::vector<Picture>& pictures, double width_mm) {
    constexpr double between_mm = 4;
    const auto columns =
        static_cast<std::size_t>(std::max(1.0, std::floor((width() + between_mm) / (width_mm + between_mm))));
    const double pitch = (width() + between_mm) / static_cast<double>(columns), wide = pitch - between_mm;
    for (std::size_t first = 0; first < pictures.size(); first += columns) {
        const std::size_t last = std::min(pictures.size(), first + columns);
        std::vector<std::vector<std::string>> captions;
        double tallest = 0, most = 0;
        for (std::size_t i = first; i < last; ++i) {
            const Picture& picture = pictures[i];
            const double mm_per_px = std::min(width_mm, wide) / picture.width;
            // Rounded up to a whole number that a builder can keep in mind; it is not for measuring.
            const double scale = 1 / std::max(picture.px_per_mm * mm_per_px, 1e-9);
            const std::string said =
                scale >= 1 ? "1 : " + fixed(scale, scale < 10 ? 1 : 0) : fixed(1 / scale, 1) + " : 1";
            captions.push_back(
                lines_of(picture.title + ". About " + said + ", not for measuring. " + picture.description, wide,
                         Size::small, Face::plain));
            tallest = std::max(tallest, picture.height * mm_per_px);
            most = std::max(most, static_cast<double>(captions.back().size()) * step_of(Size::small));
        }
        need(tallest + most + gap_mm);
        const double start = y_;
        for (std::size_t i = first; i < last; ++i) {
            const double left = frame_.margin_mm + pitch * static_cast<double>(i - first);
            draw(pictures[i], {left, start}, std::min(width_mm, wide) / pictures[i].width);
            y_ = start - tallest;
            for (const std::string& line : captions[i - first]) {
                y_ -= step_of(Size::small);
                canvas_.text({left, y_ + 0.4 * height_of(Size::small)}, height_of(Size::small), line);
            }
        }
        y_ = start - tallest - most - gap_mm;
    }
}

std::string PdfFlow::finish() {
    end_page();
    return canvas_.finish();
}

}  // namespace cradlewright
