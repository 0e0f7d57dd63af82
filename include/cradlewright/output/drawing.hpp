// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cradlewright/geom/region.hpp"
#include "cradlewright/geom/slices.hpp"
#include "cradlewright/output/layout.hpp"

namespace cradlewright {

/// Layers of every cut file: names are the contract's.
enum class Layer { cut_fit, cut_rough, mark, text };
std::string_view layer_name(Layer layer);  ///< "cut-fit" "cut-rough" "mark" "text"

/// A chain of lines and arcs on one layer. `vertices[i].bulge` belongs to the edge i -> i+1.
struct DrawnPath {
    Layer layer = Layer::mark;
    std::vector<PathVertex> vertices;
    bool is_closed = false;
};
struct DrawnText {
    Vec2 at;               ///< left end of the base line
    double height_mm = 5;  ///< of capitals
    double angle_rad = 0;
    std::string text;
};
/// Width a text may take in any plain sans serif face: no more than this, mm. Source: derived, widths of Helvetica.
double text_width_mm(const DrawnText& text);
/// Corners of the box round a text, counter-clockwise from the left end of the base line.
std::vector<Vec2> text_corners(const DrawnText& text);
/// Lines, arcs and texts on layers, mm, true size; no file format. y up.
struct Drawing {
    std::string title;
    std::vector<DrawnPath> paths;
    std::vector<DrawnText> texts;
    [[nodiscard]] Box2 box() const;  ///< of paths and texts, arcs included
};

/// One part, true size, in its own frame. Outlines are broken where fit changes to rough. Texts of marks that would
/// cover each other are moved up or down within the outline. Its id is written inside the outline, clear of holes and,
/// where there is room, of marks; unless a mark says it already.
Drawing draw_part(const PlatePart& part);
/// draw_part as it is cut: with the relief cuts of a saw on the mark layer, outside the part, unless a router cuts it.
Drawing draw_to_cut(const PlatePart& part, const Settings& settings);
/// One sheet with its outline on the mark layer and every part moved to its place.
Drawing draw_sheet(const Sheet& sheet, const Design& design);
/// A drawing turned and moved.
Drawing moved(const Drawing& drawing, double angle_rad, Vec2 shift);

/// The plug cut square to the fixture's x at `x_mm`, as slice_mesh gives it: points are fixture (y, z), so seen from
/// end-b with the front on the right. Empty beside the plug.
Slice section_plug(const PosedPlug& posed, double x_mm);

/// A page of a tiled drawing: the window [low, low + usable] of the drawing lands inside the margins.
struct Tile {
    std::string part;
    int row = 0, column = 0;  ///< row 0 at the top, column 0 at the left
    Vec2 low;                 ///< of the window, drawing frame
};
/// Row letter and column number from A1; rows past Z go on with AA.
std::string tile_name(int row, int column);
struct Tiling {
    double page_width_mm = 0, page_height_mm = 0, margin_mm = 0, overlap_mm = 0;
    int rows = 0, columns = 0;
    bool is_turned = false;             ///< drawing turned a quarter to save pages
    Drawing drawing;                    ///< as it lies (turned when is_turned)
    std::vector<Tile> tiles;            ///< only pages that carry ink, row by row
    [[nodiscard]] Vec2 window() const;  ///< width and height of the part of a page inside the margins
};
/// Cuts a drawing into pages, as it is or turned a quarter, whichever takes fewer. Tiles an axis:
/// ceil((length - overlap) / (usable - overlap)); what they cover beyond the drawing is shared out to both sides. From
/// a roll pages are as long as the drawing needs, from 200 mm to 5 m, and the way that takes less of it is chosen.
/// Errors: Error(bad_input) when margins and overlap leave no room on the paper.
Tiling tile_drawing(const Drawing& drawing, const PaperOptions& paper);

/// Parts whose templates are printed, as in all_parts: every one, or those that paper.parts names by id or kind.
/// Errors: Error(bad_input, "paper.parts") for a name that is no part of this design, with the nearest one.
std::vector<const PlatePart*> parts_to_print(const Design& design);

}  // namespace cradlewright
