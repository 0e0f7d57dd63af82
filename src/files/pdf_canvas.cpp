// SPDX-License-Identifier: GPL-3.0-or-later
// Source: ISO 32000-1, 7.9.4 (dates), 8.3.2 (units of 1/72 in).
#include "files/pdf_canvas.hpp"

#include <cairo-pdf.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"

namespace cradlewright {
namespace {

constexpr double points_per_mm = 72 / mm_per_inch;
/// Capitals of common sans serif faces are 0.72 of the type size high (Helvetica 0.718).
constexpr double capital_share = 0.72;

}  // namespace

Pen pen_of(Layer layer) { return layer == Layer::cut_fit ? fit_pen : layer == Layer::cut_rough ? rough_pen : mark_pen; }

PdfCanvas::PdfCanvas(Vec2 page_mm, Vec2 scale, const std::string& title)
    : title_(title),
      page_(page_mm),
      scale_(scale),
      surface_(cairo_pdf_surface_create_for_stream(&PdfCanvas::append, &bytes_, page_mm.x * points_per_mm,
                                                   page_mm.y * points_per_mm)),
      cairo_(cairo_create(surface_.get())) {
    cairo_pdf_surface_set_metadata(surface_.get(), CAIRO_PDF_METADATA_TITLE, title_.c_str());
    // Cairo would take the clock; finish() blanks the entry that this makes.
    cairo_pdf_surface_set_metadata(surface_.get(), CAIRO_PDF_METADATA_CREATE_DATE, "2000-01-01T00:00:00Z");
    cairo_select_font_face(cairo_.get(), "sans-serif", CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
}

void PdfCanvas::begin_page(Vec2 page_mm, const std::string& label) {
    page_ = page_mm;
    cairo_pdf_surface_set_size(surface_.get(), page_mm.x * points_per_mm, page_mm.y * points_per_mm);
    cairo_pdf_surface_set_page_label(surface_.get(), label.c_str());
    cairo_save(cairo_.get());
    cairo_scale(cairo_.get(), points_per_mm, -points_per_mm);
    cairo_translate(cairo_.get(), page_.x / 2, -page_.y / 2);
    cairo_scale(cairo_.get(), scale_.x, scale_.y);
    cairo_translate(cairo_.get(), -page_.x / 2, -page_.y / 2);
}

void PdfCanvas::end_page() {
    cairo_restore(cairo_.get());
    cairo_show_page(cairo_.get());
}

void PdfCanvas::add_outline(const std::string& name, int page) {
    cairo_pdf_surface_add_outline(surface_.get(), CAIRO_PDF_OUTLINE_ROOT, name.c_str(),
                                  ("page=" + std::to_string(page)).c_str(), CAIRO_PDF_OUTLINE_FLAG_OPEN);
}

void PdfCanvas::clip(const Box2& box) {
    cairo_save(cairo_.get());
    cairo_rectangle(cairo_.get(), box.low.x, box.low.y, box.size().x, box.size().y);
    cairo_clip(cairo_.get());
}
void PdfCanvas::place(Vec2 shift, double scale) {
    cairo_save(cairo_.get());
    cairo_translate(cairo_.get(), shift.x, shift.y);
    cairo_scale(cairo_.get(), scale, scale);
}
void PdfCanvas::release() { cairo_restore(cairo_.get()); }

void PdfCanvas::line(std::span<const Vec2> points, const Pen& pen, bool is_closed) {
    for (const Vec2 p : points) cairo_line_to(cairo_.get(), p.x, p.y);
    if (is_closed) cairo_close_path(cairo_.get());
    stroke(pen);
}
void PdfCanvas::line(Vec2 a, Vec2 b, const Pen& pen) {
    const Vec2 points[] = {a, b};
    line(points, pen);
}

void PdfCanvas::path(const DrawnPath& path, const Pen& pen) {
    const std::size_t n = path.vertices.size();
    if (n == 0) return;
    cairo_move_to(cairo_.get(), path.vertices.front().at.x, path.vertices.front().at.y);
    for (std::size_t i = 0; i + (path.is_closed ? 0 : 1) < n; ++i) {
        add_edge(path.vertices[i].at, path.vertices[(i + 1) % n].at, path.vertices[i].bulge);
    }
    if (path.is_closed) cairo_close_path(cairo_.get());
    stroke(pen);
}

void PdfCanvas::fill(std::span<const std::vector<Vec2>> chains, double gray) {
    for (const std::vector<Vec2>& chain : chains) {
        cairo_new_sub_path(cairo_.get());
        for (const Vec2 p : chain) cairo_line_to(cairo_.get(), p.x, p.y);
        cairo_close_path(cairo_.get());
    }
    cairo_set_fill_rule(cairo_.get(), CAIRO_FILL_RULE_EVEN_ODD);
    cairo_set_source_rgb(cairo_.get(), gray, gray, gray);
    cairo_fill(cairo_.get());
}

void PdfCanvas::circle(Vec2 center, double radius_mm, const Pen& pen) {
    cairo_new_sub_path(cairo_.get());
    cairo_arc(cairo_.get(), center.x, center.y, radius_mm, 0, 2 * std::numbers::pi);
    stroke(pen);
}
void PdfCanvas::disc(Vec2 center, double radius_mm, double gray) {
    cairo_new_sub_path(cairo_.get());
    cairo_arc(cairo_.get(), center.x, center.y, radius_mm, 0, 2 * std::numbers::pi);
    cairo_set_source_rgb(cairo_.get(), gray, gray, gray);
    cairo_fill(cairo_.get());
}

void PdfCanvas::set_face(Face face) {
    if (face == face_) return;
    face_ = face;
    cairo_select_font_face(cairo_.get(), "sans-serif", CAIRO_FONT_SLANT_NORMAL,
                           face == Face::bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
}

void PdfCanvas::text(Vec2 at, double height_mm, const std::string& words, double gray, Align align, double angle_rad,
                     Face face) {
    set_face(face);
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
    set_face(Face::plain);
}

void PdfCanvas::halo(Vec2 at, double height_mm, const std::string& words, Align align) {
    constexpr double rim_share = 0.25, white = 1;
    const double width = width_of(words, height_mm), rim = rim_share * height_mm;
    const double left = at.x - width * (align == Align::left ? 0 : align == Align::middle ? 0.5 : 1);
    const std::vector<Vec2> box[] = {{{left - rim, at.y - rim},
                                      {left + width + rim, at.y - rim},
                                      {left + width + rim, at.y + height_mm + rim},
                                      {left - rim, at.y + height_mm + rim}}};
    fill(box, white);
}

double PdfCanvas::width_of(const std::string& words, double height_mm, Face face) {
    set_face(face);
    cairo_save(cairo_.get());
    cairo_set_font_size(cairo_.get(), height_mm / capital_share);
    cairo_text_extents_t extents;
    cairo_text_extents(cairo_.get(), words.c_str(), &extents);
    cairo_restore(cairo_.get());
    set_face(Face::plain);
    return extents.x_advance;
}

std::string PdfCanvas::finish() {
    cairo_surface_finish(surface_.get());
    const cairo_status_t drawn = cairo_status(cairo_.get()), written = cairo_surface_status(surface_.get());
    const cairo_status_t status = drawn != CAIRO_STATUS_SUCCESS ? drawn : written;
    if (status != CAIRO_STATUS_SUCCESS) throw Error(ErrorCode::internal, title_, cairo_status_to_string(status));
    blank_date();
    return std::move(bytes_);
}

cairo_status_t PdfCanvas::append(void* closure, const unsigned char* data, unsigned int length) {
    static_cast<std::string*>(closure)->append(reinterpret_cast<const char*>(data), length);
    return CAIRO_STATUS_SUCCESS;
}

void PdfCanvas::add_edge(Vec2 a, Vec2 b, double bulge) {
    if (bulge == 0 || a == b) return cairo_line_to(cairo_.get(), b.x, b.y);
    const Arc arc = arc_of(a, b, bulge);
    const auto draw = bulge > 0 ? cairo_arc : cairo_arc_negative;
    draw(cairo_.get(), arc.center.x, arc.center.y, arc.radius, arc.start_rad, arc.start_rad + arc.sweep_rad);
}

void PdfCanvas::stroke(const Pen& pen) {
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
void PdfCanvas::blank_date() {
    const std::size_t start = bytes_.rfind("/CreationDate (");  // the document's own entry, at the end
    if (start == std::string::npos) return;
    const std::size_t end = bytes_.find(')', start);
    std::fill(bytes_.begin() + static_cast<std::ptrdiff_t>(start),
              bytes_.begin() + static_cast<std::ptrdiff_t>(end) + 1, ' ');
}

}  // namespace cradlewright
