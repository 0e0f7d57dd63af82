// SPDX-License-Identifier: GPL-3.0-or-later
// What is drawn on uprights: level line, centre mark, which face looks where. All of it stays on material.
#include <algorithm>
#include <cmath>
#include <optional>

#include "cradlewright/geom/region_ops.hpp"
#include "stages/cradle_parts.hpp"

namespace cradlewright {
namespace {

constexpr double edge_mm = 2;              // marks stay so far inside the outline
constexpr double least_line_mm = 6;        // a shorter stroke tells nothing
constexpr double air_mm = 2;               // text to lines
constexpr double width_per_height = 0.85;  // of a character, as drawings count it
constexpr double grid_mm = 4;              // at which places for text are looked for

/// Stretches of a segment that lie on material.
std::vector<std::vector<Vec2>> on_material(const Polygons& shape, Vec2 from, Vec2 to) {
    const Vec2 d = to - from;
    std::vector<double> cuts{0, 1};
    for (const std::vector<Vec2>& chain : shape)
        for (std::size_t i = 0; i < chain.size(); ++i) {
            const Vec2 a = chain[i] - from, b = chain[(i + 1) % chain.size()] - from;
            const double ha = cross(d, a), hb = cross(d, b);
            if ((ha < 0) == (hb < 0)) continue;
            const double t = dot(d, a + (b - a) * (ha / (ha - hb))) / dot(d, d);
            if (t > 0 && t < 1) cuts.push_back(t);
        }
    std::sort(cuts.begin(), cuts.end());
    std::vector<std::vector<Vec2>> pieces;
    for (std::size_t i = 0; i + 1 < cuts.size(); ++i) {
        const Vec2 a = from + d * cuts[i], b = from + d * cuts[i + 1];
        if (norm(b - a) >= least_line_mm && contains(shape, (a + b) * 0.5)) pieces.push_back({a, b});
    }
    return pieces;
}

class Marker {
public:
    Marker(PlatePart& part, double centre_y, double level)
        : part_(part),
          box_(bounding_box(part.outline)),
          shape_(offset(to_polygons(part.outline), -edge_mm)),
          centre_(centre_y),
          level_(std::min(level, 0.5 * box_.high.y)) {}

    void mark() {
        constexpr double low_mm = 5, over_level_mm = 15;
        add_lines({centre_, low_mm}, {centre_, level_ + over_level_mm});
        add_lines({box_.low.x, level_}, {box_.high.x, level_});
        for (const char* words : {"this face to end-b", "to end-b"})
            for (const double height : {6.0, 5.0, 4.0, 3.0})
                if (const std::optional<Vec2> at = place_of(words, height)) {
                    part_.marks.push_back({MarkKind::text, {*at}, words, height});
                    return;
                }
        part_.note += std::string(part_.note.empty() ? "" : "; ") + "drawn face to end-b";
    }

private:
    void add_lines(Vec2 from, Vec2 to) {
        for (std::vector<Vec2>& piece : on_material(shape_, from, to))
            part_.marks.push_back({MarkKind::line, std::move(piece), "", 0});
    }

    [[nodiscard]] static std::vector<Vec2> corners(Vec2 low, Vec2 high) {
        return {low, {high.x, low.y}, high, {low.x, high.y}};
    }

    [[nodiscard]] bool is_free(Vec2 low, Vec2 high) const {
        for (const Mark& mark : part_.marks)
            for (const Vec2& p : mark.points) {  // strokes run level or upright, so their ends bound them
                const Vec2 q = mark.points.front();
                if (std::max(p.x, q.x) > low.x - air_mm && std::min(p.x, q.x) < high.x + air_mm &&
                    std::max(p.y, q.y) > low.y - air_mm && std::min(p.y, q.y) < high.y + air_mm)
                    return false;
            }
        const std::vector<Vec2> text = corners(low, high);
        if (!std::all_of(text.begin(), text.end(), [&](Vec2 p) { return contains(shape_, p); })) return false;
        return area_of(subtract({text}, shape_)) < 1e-3;
    }

    /// Start of the text's base line: nearest to beside the centre mark, above the level line.
    [[nodiscard]] std::optional<Vec2> place_of(const std::string& words, double height) const {
        const Vec2 size{width_per_height * height * static_cast<double>(words.size()), height};
        const Vec2 wanted{centre_ + air_mm + 1, level_ + air_mm + 1};
        std::vector<Vec2> places{wanted};
        for (double y = box_.low.y + edge_mm; y + size.y < box_.high.y; y += grid_mm)
            for (double x = box_.low.x + edge_mm; x + size.x < box_.high.x; x += grid_mm) places.push_back({x, y});
        std::stable_sort(places.begin(), places.end(),
                         [&](Vec2 a, Vec2 b) { return dot(a - wanted, a - wanted) < dot(b - wanted, b - wanted); });
        const auto at = std::find_if(places.begin(), places.end(), [&](Vec2 p) { return is_free(p, p + size); });
        return at == places.end() ? std::nullopt : std::optional<Vec2>(*at);
    }

    PlatePart& part_;
    Box2 box_;
    Polygons shape_;
    double centre_, level_;
};

}  // namespace

void mark_upright(PlatePart& part, double centre_y, double level) { Marker(part, centre_y, level).mark(); }

}  // namespace cradlewright
