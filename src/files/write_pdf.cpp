// SPDX-License-Identifier: GPL-3.0-or-later
// Source: ISO 32000-1, 7.9.4 (dates), 8.3.2 (units of 1/72 in).
#include <cairo-pdf.h>
#include <cairo.h>

#include <algorithm>
#include <memory>
#include <numbers>
#include <span>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"
#include "cradlewright/files/output_folder.hpp"
#include "cradlewright/files/write_drawings.hpp"

namespace cradlewright {

namespace {

constexpr double points_per_mm = 72 / mm_per_inch;
constexpr double quarter_turn_rad = std::numbers::pi / 2;
/// Capitals of common sans serif faces are 0.72 of the type size high (Helvetica 0.718).
constexpr double capital_share = 0.72;

/// What lines look like; told apart by width and dashes, so that any printer will do.
struct Pen {
    double width_mm;
    double gray;         ///< 0 black, 1 white
    double dash_mm = 0;  ///< 0: solid
};
constexpr Pen fit_pen{0.5, 0};
constexpr Pen rough_pen{0.25, 0, 3};
constexpr Pen mark_pen{0.18, 0.25};
constexpr Pen bar_pen{0.3, 0};
constexpr Pen seam_pen{0.15, 0.4, 0.8};
constexpr Pen diamond_pen{0.18, 0.2};
constexpr Pen frame_pen{0.12, 0.6};
constexpr double small_mm = 2.1, plain_mm = 2.6, head_mm = 3.4, title_mm = 6;  // heights of capitals
constexpr double faint = 0.7, soft = 0.4, black = 0;

Pen pen_of(Layer layer) { return layer == Layer::cut_fit ? fit_pen : layer == Layer::cut_rough ? rough_pen : mark_pen; }

enum class Align { left, middle, right };

/// A PDF in memory, drawn in mm with y up from the page's lower left corner.
class PdfCanvas {
public:
    PdfCanvas(Vec2 page_mm, Vec2 scale)
        : page_(page_mm),
          scale_(scale),
          surface_(cairo_pdf_surface_create_for_stream(&PdfCanvas::append, &bytes_, page_mm.x * points_per_mm,
                                                       page_mm.y * points_per_mm)),
          cairo_(cairo_create(surface_.get())) {
        cairo_pdf_surface_set_metadata(surface_.get(), CAIRO_PDF_METADATA_TITLE, "Templates, true size");
        // Cairo would take the clock; finish() blanks the entry that this makes.
        cairo_pdf_surface_set_metadata(surface_.get(), CAIRO_PDF_METADATA_CREATE_DATE, "2000-01-01T00:00:00Z");
        cairo_select_font_face(cairo_.get(), "sans-serif", CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
    }

    void begin_page(Vec2 page_mm, const std::string& label) {
        page_ = page_mm;
        cairo_pdf_surface_set_size(surface_.get(), page_mm.x * points_per_mm, page_mm.y * points_per_mm);
        cairo_pdf_surface_set_page_label(surface_.get(), label.c_str());
        cairo_save(cairo_.get());
        cairo_scale(cairo_.get(), points_per_mm, -points_per_mm);
        cairo_translate(cairo_.get(), page_.x / 2, -page_.y / 2);
        cairo_scale(cairo_.get(), scale_.x, scale_.y);
        cairo_translate(cairo_.get(), -page_.x / 2, -page_.y / 2);
    }

    void end_page() {
        cairo_restore(cairo_.get());
        cairo_show_page(cairo_.get());
    }

    void add_outline(const std::string& name, int page) {
        cairo_pdf_surface_add_outline(surface_.get(), CAIRO_PDF_OUTLINE_ROOT, name.c_str(),
                                      ("page=" + std::to_string(page)).c_str(), CAIRO_PDF_OUTLINE_FLAG_OPEN);
    }

    /// Everything until release() stays inside the box.
    void clip(const Box2& box) {
        cairo_save(cairo_.get());
        cairo_rectangle(cairo_.get(), box.low.x, box.low.y, box.size().x, box.size().y);
        cairo_clip(cairo_.get());
    }
    /// Everything until release() is shifted, after scaling about the drawing's origin.
    void place(Vec2 shift, double scale) {
        cairo_save(cairo_.get());
        cairo_translate(cairo_.get(), shift.x, shift.y);
        cairo_scale(cairo_.get(), scale, scale);
    }
    void release() { cairo_restore(cairo_.get()); }

    void line(std::span<const Vec2> points, const Pen& pen, bool is_closed = false) {
        for (const Vec2 p : points) cairo_line_to(cairo_.get(), p.x, p.y);
        if (is_closed) cairo_close_path(cairo_.get());
        stroke(pen);
    }
    void line(Vec2 a, Vec2 b, const Pen& pen) {
        const Vec2 points[] = {a, b};
        line(points, pen);
    }

    void path(const DrawnPath& path, const Pen& pen) {
        const std::size_t n = path.vertices.size();
        if (n == 0) return;
        cairo_move_to(cairo_.get(), path.vertices.front().at.x, path.vertices.front().at.y);
        for (std::size_t i = 0; i + (path.is_closed ? 0 : 1) < n; ++i) {
            add_edge(path.vertices[i].at, path.vertices[(i + 1) % n].at, path.vertices[i].bulge);
        }
        if (path.is_closed) cairo_close_path(cairo_.get());
        stroke(pen);
    }

    void text(Vec2 at, double height_mm, const std::string& words, double gray = black, Align align = Align::left,
              double angle_rad = 0) {
        cairo_save(cairo_.get());
        cairo_translate(cairo_.get(), at.x, at.y);
        cairo_rotate(cairo_.get(), angle_rad);
        cairo_scale(cairo_.get(), 1, -1);
        cairo_set_font_size(cairo_.get(), height_mm / capital_share);
        cairo_text_extents_t extents;
        cairo_text_extents(cairo_.get(), words.c_str(), &extents);
        const double share = align == Align::left ? 0 : align == Align::middle ? 0.5 : 1;
        cairo_move_to(cairo_.get(), -share * extents.x_advance, 0);
        cairo_set_source_rgb(cairo_.get(), gray, gray, gray);
        cairo_show_text(cairo_.get(), words.c_str());
        cairo_new_path(cairo_.get());  // the pen stays at the end of the text otherwise
        cairo_restore(cairo_.get());
    }

    /// The file's bytes. Errors: Error(internal) with cairo's reason.
    std::string finish() {
        cairo_surface_finish(surface_.get());
        const cairo_status_t drawn = cairo_status(cairo_.get()), written = cairo_surface_status(surface_.get());
        const cairo_status_t status = drawn != CAIRO_STATUS_SUCCESS ? drawn : written;
        if (status != CAIRO_STATUS_SUCCESS)
            throw Error(ErrorCode::internal, "templates", cairo_status_to_string(status));
        blank_date();
        return std::move(bytes_);
    }

private:
    static cairo_status_t append(void* closure, const unsigned char* data, unsigned int length) {
        static_cast<std::string*>(closure)->append(reinterpret_cast<const char*>(data), length);
        return CAIRO_STATUS_SUCCESS;
    }

    void add_edge(Vec2 a, Vec2 b, double bulge) {
        if (bulge == 0 || a == b) return cairo_line_to(cairo_.get(), b.x, b.y);
        const Arc arc = arc_of(a, b, bulge);
        const auto draw = bulge > 0 ? cairo_arc : cairo_arc_negative;
        draw(cairo_.get(), arc.center.x, arc.center.y, arc.radius, arc.start_rad, arc.start_rad + arc.sweep_rad);
    }

    void stroke(const Pen& pen) {
        // Widths are in mm on paper, however the drawing is scaled.
        double dx = 1, dy = 0;
        cairo_user_to_device_distance(cairo_.get(), &dx, &dy);
        const double per_mm = points_per_mm / std::hypot(dx, dy);
        const double dashes[] = {pen.dash_mm * per_mm, pen.dash_mm * per_mm / 2};
        cairo_set_dash(cairo_.get(), dashes, pen.dash_mm > 0 ? 2 : 0, 0);
        cairo_set_line_width(cairo_.get(), pen.width_mm * per_mm);
        cairo_set_source_rgb(cairo_.get(), pen.gray, pen.gray, pen.gray);
        cairo_stroke(cairo_.get());
    }

    /// No date is better than a wrong one. Blanks keep every offset in the file.
    void blank_date() {
        const std::size_t start = bytes_.rfind("/CreationDate (");  // the document's own entry, at the end
        if (start == std::string::npos) return;
        const std::size_t end = bytes_.find(')', start);
        std::fill(bytes_.begin() + static_cast<std::ptrdiff_t>(start),
                  bytes_.begin() + static_cast<std::ptrdiff_t>(end) + 1, ' ');
    }

    std::string bytes_;
    Vec2 page_, scale_;
    std::unique_ptr<cairo_surface_t, decltype([](cairo_surface_t* s) { cairo_surface_destroy(s); })> surface_;
    std::unique_ptr<cairo_t, decltype([](cairo_t* c) { cairo_destroy(c); })> cairo_;
};

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
    PdfCanvas canvas({first.page_width_mm, first.page_height_mm}, print_scale(paper, bar, units));
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
