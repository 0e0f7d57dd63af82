// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/catalog/options.hpp"
#include "files/pdf_canvas.hpp"
#include "files/picture_canvas.hpp"

/// \file Running text on pages: headings, paragraphs, tick boxes, tables, pictures, one under the other.
namespace cradlewright {

/// Paper for sheets to read at the bench: what a job that prints on settings.paper has in its office printer, letter or
/// A4, mm. Source: ISO 216 and ASME Y14.1 families.
Vec2 office_sheet_mm(const Settings& settings);

/// What stands on every page.
struct PageFrame {
    Vec2 page_mm;
    double margin_mm = 15;
    std::string title, job, foot;
    int pages = 0;  ///< as counted by a first run; 0 = not known yet
};

struct FlowColumn {
    std::string head;
    double share = 1;  ///< of the width
    Align align = Align::left;
};

/// Guarantees: nothing leaves the margins, nothing lies on anything else: words are measured and broken, a block that
/// does not fit starts a new page, a table's head is repeated. All in mm.
class PdfFlow {
public:
    explicit PdfFlow(PageFrame frame);

    void title(const std::string& words);
    /// Also an entry of the outline; starts a new page unless a third of one is left.
    void heading(const std::string& words);
    void subheading(const std::string& words);
    void paragraph(const std::string& words, Face face = Face::plain);
    void bullet(const std::string& words);
    /// A box to tick, a bold title, a line of figures, text, and small print.
    void task(const std::string& title, const std::string& figures, const std::string& text, const std::string& small);
    /// A cell "[]" is drawn as a box to tick, "__" as a line to write on.
    void table(const std::vector<FlowColumn>& columns, const std::vector<std::vector<std::string>>& rows);
    /// Pictures side by side, each with its title, scale and description under it; as many in a row as fit.
    void pictures(const std::vector<Picture>& pictures, double width_mm);
    void new_page();

    [[nodiscard]] int pages() const { return page_; }
    std::string finish();

private:
    enum class Size { small, plain, sub, head, title };
    [[nodiscard]] static double height_of(Size size);
    [[nodiscard]] static double step_of(Size size);
    [[nodiscard]] double width() const { return frame_.page_mm.x - 2 * frame_.margin_mm; }
    [[nodiscard]] double top() const;
    [[nodiscard]] double bottom() const;
    /// Starts a new page when less than this is left.
    void need(double height_mm);
    void begin_page();
    void end_page();
    std::vector<std::string> lines_of(const std::string& words, double width_mm, Size size, Face face);
    void write(const std::vector<std::string>& lines, double left_mm, Size size, Face face, double gray = black);
    void box(Vec2 corner);
    void draw(const Picture& picture, Vec2 upper_left, double mm_per_px);
    double table_row(const std::vector<FlowColumn>& columns, const std::vector<std::string>& cells, Face face,
                     bool draws);

    PageFrame frame_;
    PdfCanvas canvas_;
    int page_ = 0;
    double y_ = 0;
};

}  // namespace cradlewright
