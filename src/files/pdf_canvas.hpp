// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cairo.h>

#include <memory>
#include <span>
#include <string>

#include "cradlewright/base/vec.hpp"
#include "cradlewright/output/drawing.hpp"

/// \file What templates.pdf and build-sheet.pdf are drawn with.
namespace cradlewright {

/// What lines look like; told apart by width and dashes, so that any printer will do.
struct Pen {
    double width_mm;
    double gray;         ///< 0 black, 1 white
    double dash_mm = 0;  ///< 0: solid
};
inline constexpr Pen fit_pen{0.5, 0};
inline constexpr Pen rough_pen{0.25, 0, 3};
inline constexpr Pen mark_pen{0.18, 0.25};
inline constexpr Pen bar_pen{0.3, 0};
inline constexpr Pen seam_pen{0.15, 0.4, 0.8};
inline constexpr Pen diamond_pen{0.18, 0.2};
inline constexpr Pen frame_pen{0.12, 0.6};
inline constexpr double small_mm = 2.1, plain_mm = 2.6, head_mm = 3.4, title_mm = 6;  // heights of capitals
inline constexpr double faint = 0.7, soft = 0.4, black = 0;

Pen pen_of(Layer layer);

enum class Align { left, middle, right };
enum class Face { plain, bold };

/// A PDF in memory, drawn in mm with y up from the page's lower left corner. Same calls, same bytes: it carries no
/// date.
class PdfCanvas {
public:
    /// `scale` of everything about the middle of each page; `title` of the document.
    PdfCanvas(Vec2 page_mm, Vec2 scale, const std::string& title);

    void begin_page(Vec2 page_mm, const std::string& label);
    void end_page();
    void add_outline(const std::string& name, int page);

    /// Everything until release() stays inside the box.
    void clip(const Box2& box);
    /// Everything until release() is shifted, after scaling about the drawing's origin.
    void place(Vec2 shift, double scale);
    void release();

    void line(std::span<const Vec2> points, const Pen& pen, bool is_closed = false);
    void line(Vec2 a, Vec2 b, const Pen& pen);
    void path(const DrawnPath& path, const Pen& pen);
    /// Fills closed chains by the even-odd rule, so that one within another is a hole.
    void fill(std::span<const std::vector<Vec2>> chains, double gray);
    void circle(Vec2 center, double radius_mm, const Pen& pen);
    void disc(Vec2 center, double radius_mm, double gray);

    void text(Vec2 at, double height_mm, const std::string& words, double gray = black, Align align = Align::left,
              double angle_rad = 0, Face face = Face::plain);
    /// White behind a text, so that lines under it do not cross it.
    void halo(Vec2 at, double height_mm, const std::string& words, Align align);
    /// How far the text runs, mm. `height_mm` of capitals.
    [[nodiscard]] double width_of(const std::string& words, double height_mm, Face face = Face::plain);

    /// The file's bytes. Errors: Error(internal) with cairo's reason.
    std::string finish();

private:
    static cairo_status_t append(void* closure, const unsigned char* data, unsigned int length);
    void add_edge(Vec2 a, Vec2 b, double bulge);
    void stroke(const Pen& pen);
    void set_face(Face face);
    void blank_date();

    std::string bytes_, title_;
    Vec2 page_, scale_;
    Face face_ = Face::plain;
    struct Destroy {
        void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
        void operator()(cairo_t* context) const { cairo_destroy(context); }
    };
    std::unique_ptr<cairo_surface_t, Destroy> surface_;
    std::unique_ptr<cairo_t, Destroy> cairo_;
};

}  // namespace cradlewright
