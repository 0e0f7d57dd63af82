// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cradlewright/geom/region.hpp"
#include "cradlewright/output/layout.hpp"

namespace cradlewright {

/// Layers of every cut file: names are the contract's.
enum class Layer { cut_fit, cut_rough, mark, text };
std::string_view layer_name(Layer layer);   ///< "cut-fit" "cut-rough" "mark" "text"

/// A chain of lines and arcs on one layer. `vertices[i].bulge` belongs to the edge i -> i+1.
struct DrawnPath {
    Layer layer = Layer::mark;
    std::vector<PathVertex> vertices;
    bool is_closed = false;
};
struct DrawnText {
    Vec2 at;                  ///< left end of the base line
    double height_mm = 5;
    double angle_rad = 0;
    std::string text;
};
/// Lines, arcs and texts on layers, mm, true size; no file format. y up.
struct Drawing {
    std::string title;
    std::vector<DrawnPath> paths;
    std::vector<DrawnText> texts;
    [[nodiscard]] Box2 box() const;   ///< of paths and texts, arcs included
};

/// One part, true size, in its own frame. Outlines are broken where fit changes to rough.
Drawing draw_part(const PlatePart& part);
/// One sheet with its outline on the mark layer and every part moved to its place.
Drawing draw_sheet(const Sheet& sheet, const Design& design);
/// A drawing turned and moved.
Drawing moved(const Drawing& drawing, double angle_rad, Vec2 shift);

/// A page of a tiled drawing: the window [low, low + usable] of the drawing lands inside the margins.
struct Tile {
    std::string part;
    int row = 0, column = 0;
    Vec2 low;                 ///< of the window, drawing frame
};
struct Tiling {
    double page_width_mm = 0, page_height_mm = 0, margin_mm = 0, overlap_mm = 0;
    int rows = 0, columns = 0;
    bool is_turned = false;   ///< drawing turned a quarter to save pages
    Drawing drawing;          ///< as it lies (turned when is_turned)
    std::vector<Tile> tiles;  ///< only pages that carry ink, row by row
};
/// Cuts a drawing into pages. Tiles an axis: ceil((length - overlap) / (usable - overlap)).
Tiling tile_drawing(const Drawing& drawing, const PaperOptions& paper);

}  // namespace cradlewright
