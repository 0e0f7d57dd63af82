// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <numbers>
#include <span>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"
#include "cradlewright/files/output_folder.hpp"
#include "cradlewright/files/write_drawings.hpp"
#include "files/pdf_canvas.hpp"

namespace cradlewright {

namespace {

constexpr double quarter_turn_rad = std::numbers::pi / 2;

/// The bar a builder holds a rule against.
struct CheckBar {
    double length_mm;
    const char* label;
};
/// The longest round length that leaves room for its label.
CheckBar check_bar(Vec2 window, UnitSystem units) {
    constexpr double label_room_mm = 35;
    constexpr CheckBar metric[] = {{100, "100 mm"}, {50, "50 mm"}, {20, "20 mm"}};
    constexpr CheckBar inch[] = {{4 * mm_per_inch, "4 in"}, {2 * mm_per_inch, "2 in"}, {mm_per_inch, "1 in"}};
    const std::span<const CheckBar> bars = units == UnitSystem::inch ? std::span(inch) : std::span(metric);
    const double room = std::min(window.x, window.y) - label_room_mm;
    const auto fits =
        std::find_if(bars.begin(), bars.end(), [&](const CheckBar& bar) { return bar.length_mm <= room; });
    return fits != bars.end() ? *fits : bars.back();
}

/// Scale that makes the next print true: what the bars should be over what they measured.
Vec2 print_scale(const PaperOptions& paper, const CheckBar& bar, UnitSystem units) {
    constexpr std::string_view place = "paper.measured";
    if (paper.measured.empty()) return {1, 1};
    const std::size_t comma = paper.measured.find(',');
    if (comma == std::string::npos) {
        throw Error(ErrorCode::bad_input, place, "wants two lengths",
                    "write the bars across and along: \"99.5mm,100.2mm\"");
    }
    const auto scale = [&](std::string text) {
        // The bars are labelled in one unit, so a bare number is plain here.
        if (text.find_first_of("abcdefghijklmnopqrstuvwxyz") == std::string::npos) {
            text += units == UnitSystem::inch ? "in" : "mm";
        }
        const double ratio = bar.length_mm / parse_length(text, place).mm();
        if (!(ratio > 0.9 && ratio < 1.1)) {
            throw Error(ErrorCode::bad_input, place, text + " is more than 10 % off",
                        std::string("measure the ") + bar.label + " bars of a print at 100 %");
        }
        return ratio;
    };
    return {scale(paper.measured.substr(0, comma)), scale(paper.measured.substr(comma + 1))};
}

const Tile* find_tile(const Tiling& tiling, int row, int column) {
    const auto found = std::find_if(tiling.tiles.begin(), tiling.tiles.end(),
                                    [&](const Tile& t) { return t.row == row && t.column == column; });
    return found != tiling.tiles.end() ? &*found : nullptr;
}

std::string page_id(const Tile& tile) { return tile.part + ' ' + tile_name(tile.row, tile.column); }

/// One page of a tiled part: the window of the drawing, seams to its neighbours, and the notes in the margin.
class TilePage {
public:
    TilePage(PdfCanvas& canvas, const Tiling& tiling, const Tile& tile, const CheckBar& bar, std::string page_of)
        : canvas_(canvas), tiling_(tiling), tile_(tile), bar_(bar), page_of_(std::move(page_of)) {
        box_.low = {tiling.margin_mm, tiling.margin_mm};
        box_.high = box_.low + tiling.window();
        // Notes go outside the window where a usual margin leaves room for them.
        constexpr double least_margin_mm = 9;
        outside_ = tiling.margin_mm >= least_margin_mm ? 1 : -1;
    }

    void draw() {
        canvas_.begin_page({tiling_.page_width_mm, tiling_.page_height_mm}, page_id(tile_));
        canvas_.clip(box_);
        draw_ghost_id();
        draw_seams();
        draw_window();
        canvas_.release();
        draw_bars();
        draw_head();
        draw_legend();
        canvas_.end_page();
    }

private:
    void draw_window() {
        canvas_.place(box_.low - tile_.low, 1);
        for (const DrawnPath& path : tiling_.drawing.paths) canvas_.path(path, pen_of(path.layer));
        for (const DrawnText& text : tiling_.drawing.texts) {
            canvas_.text(text.at, text.height_mm, text.text, black, Align::left, text.angle_rad);
        }
        canvas_.release();
    }

    /// Says which page it is once the margins are cut off.
    void draw_ghost_id() {
        const double inset = tiling_.overlap_mm / 2 + 3;
        canvas_.text(box_.low + Vec2{inset, inset}, head_mm, page_id(tile_), faint);
    }

    void draw_seams() {
        const double half = tiling_.overlap_mm / 2;
        const Vec2 low = box_.low, high = box_.high;
        draw_seam(0, -1, {low.x + half, low.y}, {low.x + half, high.y});
        draw_seam(0, 1, {high.x - half, low.y}, {high.x - half, high.y});
        draw_seam(1, 0, {low.x, low.y + half}, {high.x, low.y + half});
        draw_seam(-1, 0, {low.x, high.y - half}, {high.x, high.y - half});
    }

    /// A seam lies in the middle of the overlap, so both pages draw it and its marks at one place of the drawing.
    void draw_seam(int rows_down, int columns_right, Vec2 a, Vec2 b) {
        const Tile* neighbour = find_tile(tiling_, tile_.row + rows_down, tile_.column + columns_right);
        if (neighbour == nullptr) return;
        canvas_.line(a, b, seam_pen);
        for (const double share : {1.0 / 6, 0.5, 5.0 / 6}) draw_diamond(a + (b - a) * share);
        // In the strip that is cut off or covered.
        const Vec2 outward{static_cast<double>(columns_right), static_cast<double>(-rows_down)};
        const bool is_upright = columns_right != 0;
        const Vec2 strip =
            outward * (tiling_.overlap_mm / 4) - (is_upright ? Vec2{-1, 0} : Vec2{0, 1}) * (small_mm / 2);
        canvas_.text(a + (b - a) / 3.0 + strip, small_mm, "joins " + page_id(*neighbour), soft, Align::middle,
                     is_upright ? quarter_turn_rad : 0);
    }

    void draw_diamond(Vec2 at) {
        constexpr double r = 2.5, arm = 4;
        const Vec2 corners[] = {at + Vec2{r, 0}, at + Vec2{0, r}, at - Vec2{r, 0}, at - Vec2{0, r}};
        canvas_.line(corners, diamond_pen, true);
        canvas_.line(at - Vec2{arm, 0}, at + Vec2{arm, 0}, diamond_pen);
        canvas_.line(at - Vec2{0, arm}, at + Vec2{0, arm}, diamond_pen);
    }

    void draw_bars() {
        constexpr double start = 8;  // keeps the two bars apart
        const Vec2 x_start = box_.low + Vec2{start, -gutter()}, y_start = box_.low + Vec2{-gutter(), start};
        draw_bar(x_start, {1, 0});
        draw_bar(y_start, {0, 1});
        canvas_.text(x_start + Vec2{bar_.length_mm + 2, -small_mm / 2}, small_mm, bar_.label);
        canvas_.text(y_start + Vec2{small_mm / 2, bar_.length_mm + 2}, small_mm, bar_.label, black, Align::left,
                     quarter_turn_rad);
    }

    void draw_bar(Vec2 from, Vec2 along) {
        constexpr double tick = 1.5;
        const Vec2 to = from + along * bar_.length_mm, square = perp(along) * tick;
        canvas_.line(from, to, bar_pen);
        canvas_.line(from - square, from + square, bar_pen);
        canvas_.line(to - square, to + square, bar_pen);
    }

    void draw_head() {
        const double y = outside_ > 0 ? box_.high.y + 2.2 : box_.high.y - 2.2 - head_mm;
        canvas_.text({box_.low.x, y}, head_mm, page_id(tile_));
        canvas_.text({box_.high.x, y}, small_mm, "print at 100 %, check bars with a rule   " + page_of_, black,
                     Align::right);
    }

    void draw_legend() {
        constexpr double sample = 9, word = 14, room = 2 * (sample + word);
        const double right = box_.high.x, y = box_.low.y - gutter();
        if (right - room < box_.low.x + bar_.length_mm + 25) return;  // the page map has it too
        double x = right - room;
        for (const auto& [pen, name] : {std::pair{fit_pen, "fit"}, std::pair{rough_pen, "rough"}}) {
            canvas_.line({x, y}, {x + sample, y}, pen);
            canvas_.text({x + sample + 1.5, y - small_mm / 2}, small_mm, name);
            x += sample + word;
        }
    }

    [[nodiscard]] double gutter() const { return 4 * outside_; }

    PdfCanvas& canvas_;
    const Tiling& tiling_;
    const Tile& tile_;
    const CheckBar& bar_;
    std::string page_of_;
    Box2 box_;
    double outside_ = 1;
};

/// The first pages: every part small, with the pages it is printed on.
class PageMap {
public:
    explicit PageMap(const std::vector<Tiling>& tilings) : tilings_(tilings) {
        const Tiling& first = tilings.front();
        // Pages from a roll differ in length; the map takes the longest, up to the usual shape of a sheet.
        constexpr double usual_shape = 1.4142135623730951;
        double longest = 0;
        for (const Tiling& tiling : tilings) longest = std::max(longest, tiling.page_height_mm);
        page_ = {first.page_width_mm,
                 std::min(longest, std::max(first.page_height_mm, usual_shape * first.page_width_mm))};
        box_ = {{first.margin_mm, first.margin_mm}, page_ - Vec2{1, 1} * first.margin_mm};
        columns_ = std::max(1, static_cast<int>(box_.size().x / 58));
        rows_ = std::max(1, static_cast<int>((box_.size().y - head_room_mm) / 62));
        cell_ = {box_.size().x / columns_, (box_.size().y - head_room_mm) / rows_};
    }

    [[nodiscard]] int page_count() const {
        const int per_page = columns_ * rows_;
        return (static_cast<int>(tilings_.size()) + per_page - 1) / per_page;
    }

    void draw(PdfCanvas& canvas, const std::string& total_pages) const {
        int first_sheet = page_count() + 1;
        const int per_page = columns_ * rows_;
        for (int k = 0; k < static_cast<int>(tilings_.size()); ++k) {
            const int slot = k % per_page;
            if (slot == 0) {
                if (k > 0) canvas.end_page();
                canvas.begin_page(page_, "map " + std::to_string(k / per_page + 1));
                draw_head(canvas, std::to_string(k / per_page + 1) + " / " + total_pages);
            }
            const Tiling& tiling = tilings_[static_cast<std::size_t>(k)];
            const Vec2 corner{box_.low.x + cell_.x * (slot % columns_),
                              box_.high.y - head_room_mm - cell_.y * (slot / columns_)};
            draw_part(canvas, tiling, corner, first_sheet);
            first_sheet += static_cast<int>(tiling.tiles.size());
        }
        canvas.end_page();
    }

private:
    static constexpr double head_room_mm = 40;

    void draw_head(PdfCanvas& canvas, const std::string& page_of) const {
        constexpr const char* lines[] = {
            "Print all pages at 100 % (no \"fit to page\"). Hold a rule against both bars",
            "of a page. If they are off, give both lengths as paper.measured and print again.",
            "Cut one page of a pair along the dotted seam, lay it on the other so that the",
            "diamonds meet, tape. Row letters run down, numbers run to the right.",
        };
        double y = box_.high.y - title_mm;
        canvas.text({box_.low.x, y}, title_mm, "Page map");
        canvas.text({box_.high.x, y}, small_mm, page_of, black, Align::right);
        y -= 3;
        for (const char* words : lines) canvas.text({box_.low.x, y -= 4.6}, plain_mm, words);
        y -= 5.4;
        double x = box_.low.x;
        for (const auto& [pen, name] :
             {std::pair{fit_pen, "fit: cut to the line"}, std::pair{rough_pen, "rough: touches nothing"},
              std::pair{mark_pen, "mark: do not cut"}}) {
            canvas.line({x, y + plain_mm / 2}, {x + 12, y + plain_mm / 2}, pen);
            canvas.text({x + 14, y}, plain_mm, name);
            x += 60;
        }
    }

    void draw_part(PdfCanvas& canvas, const Tiling& tiling, Vec2 corner, int first_sheet) const {
        const auto count = static_cast<int>(tiling.tiles.size());
        const std::string range =
            count == 1 ? "page " + std::to_string(first_sheet)
                       : "pages " + std::to_string(first_sheet) + " to " + std::to_string(first_sheet + count - 1);
        canvas.text(corner - Vec2{0, head_mm}, head_mm, tiling.drawing.title);
        canvas.text(corner - Vec2{0, head_mm + 2 + small_mm}, small_mm,
                    std::to_string(tiling.rows) + " x " + std::to_string(tiling.columns) + ", " + range, soft);
        Box2 all;
        for (const Tile& tile : tiling.tiles) {
            all.add(tile.low);
            all.add(tile.low + tiling.window());
        }
        const Vec2 room = cell_ - Vec2{6, head_mm + small_mm + 10};
        constexpr double least_mm = 5;  // on tiny paper
        const double scale =
            std::min(std::max(room.x, least_mm) / all.size().x, std::max(room.y, least_mm) / all.size().y);
        const Vec2 upper_left{corner.x, corner.y - head_mm - small_mm - 4};
        const Vec2 shift = upper_left - Vec2{all.low.x, all.high.y} * scale;
        canvas.place(shift, scale);
        for (const Tile& tile : tiling.tiles) {
            const Loop edge = make_rectangle(tile.low, tile.low + tiling.window(), CutKind::rough);
            canvas.path({Layer::mark, edge.vertices, true}, frame_pen);
        }
        for (const DrawnPath& path : tiling.drawing.paths) {
            if (path.layer != Layer::mark) canvas.path(path, {path.layer == Layer::cut_fit ? 0.35 : 0.18, 0.2});
        }
        canvas.release();
        int sheet = first_sheet;
        for (const Tile& tile : tiling.tiles) {
            const Vec2 middle = shift + (tile.low + tiling.window() * 0.5) * scale;
            const double height = std::clamp(tiling.window().x * scale / 5, 1.4, 4.0);
            canvas.text(middle, height, tile_name(tile.row, tile.column), black, Align::middle);
            canvas.text(middle - Vec2{0, height * 1.2}, height * 0.6, "p " + std::to_string(sheet++), soft,
                        Align::middle);
        }
    }

    const std::vector<Tiling>& tilings_;
    Vec2 page_;
    Box2 box_;
    int columns_ = 1, rows_ = 1;
    Vec2 cell_;
};

}  // namespace

void write_templates_pdf(const std::vector<Tiling>& tilings, const PaperOptions& paper, UnitSystem units,
                         const std::filesystem::path& path) {
    std::vector<Tiling> printed;
    std::copy_if(tilings.begin(), tilings.end(), std::back_inserter(printed),
                 [](const Tiling& t) { return !t.tiles.empty(); });
    if (printed.empty()) throw Error(ErrorCode::internal, path.string(), "no part to print");
    const Tiling& first = printed.front();
    Vec2 least = first.window();
    for (const Tiling& tiling : printed)
        least = {std::min(least.x, tiling.window().x), std::min(least.y, tiling.window().y)};
    const CheckBar bar = check_bar(least, units);
    PdfCanvas canvas({first.page_width_mm, first.page_height_mm}, print_scale(paper, bar, units),
                     "Templates, true size");
    const PageMap map(printed);
    int total = map.page_count();
    for (const Tiling& tiling : printed) total += static_cast<int>(tiling.tiles.size());

    map.draw(canvas, std::to_string(total));
    int page = map.page_count();
    for (const Tiling& tiling : printed) {
        canvas.add_outline(tiling.drawing.title, page + 1);
        for (const Tile& tile : tiling.tiles) {
            TilePage(canvas, tiling, tile, bar, std::to_string(++page) + " / " + std::to_string(total)).draw();
        }
    }
    write_file(path, canvas.finish(), OutputFolder::Existing::replace);
}

}  // namespace cradlewright
