// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cradlewright/geom/region.hpp"

/// \file Pictures of the report as SVG, and what is in them as lines and words for other writers. Geometry is scaled to
/// a nominal width in px, so lines and letters have one size in all of them; colours and line kinds are classes that
/// the page's style sheet defines.
namespace cradlewright {

inline constexpr double letter_px = 6.6;  ///< widest usual letter of the 11 px labels
inline constexpr double row_px = 15;      ///< from one line of labels to the next

enum class Anchor { start, middle, end };

/// One thing drawn, px, y down.
struct PictureItem {
    enum class Kind { path, circle, text } kind = Kind::path;
    std::string css;
    struct Chain {
        std::vector<Vec2> points;
        bool is_closed = false;
    };
    std::vector<Chain> chains{};  ///< of a path; a chain within another is a hole
    Vec2 at{};                    ///< of a circle its middle, of a text where its base line is anchored
    double radius = 0;
    Anchor anchor = Anchor::start;
    std::string words{};
};

/// What goes inside an <svg>, with what a person who cannot see it is told. `title` and `description` are plain text.
struct Picture {
    std::string title, description;
    std::string body;                ///< SVG elements
    double width = 0, height = 0;    ///< px; the viewBox starts at 0 0
    double px_per_mm = 0;            ///< scale of the geometry
    std::vector<PictureItem> items;  ///< the same as data, in drawing order
};

struct Margins {
    double left = 12, top = 12, right = 12, bottom = 12;
};

/// Draws in mm with y up into px with y down.
class Canvas {
public:
    Canvas(const Box2& box, double width_px, double max_height_px, const Margins& margins);

    [[nodiscard]] Vec2 at(Vec2 mm) const {
        return {shift_ + (mm.x - box_.low.x) * scale_, margins_.top + (box_.high.y - mm.y) * scale_};
    }
    [[nodiscard]] double sag_mm() const;
    [[nodiscard]] double scale() const { return scale_; }
    [[nodiscard]] double bottom() const { return margins_.top + box_.size().y * scale_; }

    void region(std::string_view css, const Region& region);
    void chain(std::string_view css, const std::vector<Vec2>& points, bool is_closed);
    /// All in one, so that a loop within a loop is a hole.
    void loops(std::string_view css, const std::vector<std::vector<Vec2>>& closed);
    /// Neighbouring edges of one kind become one stroke, so that dashes run through.
    void cut_edges(const Loop& loop);
    void line(std::string_view css, Vec2 a_px, Vec2 b_px);
    void circle(std::string_view css, Vec2 center_px, double radius_px);
    void text(std::string_view css, Vec2 at_px, Anchor anchor, std::string_view words);
    /// A dimension line between two points with slashes at its ends; the text sits on it.
    void dimension(Vec2 a_px, Vec2 b_px, std::string_view words);
    void arrow(Vec2 from_px, Vec2 to_px);

    [[nodiscard]] Picture finish(std::string title, std::string description) &&;

private:
    void path(std::string_view css, std::vector<PictureItem::Chain> chains);
    [[nodiscard]] PictureItem::Chain in_px(const std::vector<Vec2>& points, bool is_closed) const;

    Box2 box_;
    Margins margins_;
    double width_, scale_ = 1, shift_ = 0;
    std::string body_;
    std::vector<PictureItem> items_;
};

/// Labels in rows: each takes the first row where it does not touch the one before it.
class LabelRows {
public:
    /// Row of a label `letters` long whose middle is at x; call from left to right.
    int place(double x, std::size_t letters);
    [[nodiscard]] int count() const { return static_cast<int>(ends_.size()); }

private:
    std::vector<double> ends_;
};

/// Labels that may not cover each other: whoever comes first has the place.
class LabelPlaces {
public:
    /// Claims the room of a label about `middle`, px; false when some of it is taken.
    bool claim(Vec2 middle, std::size_t letters);

private:
    std::vector<Box2> taken_;
};

}  // namespace cradlewright
