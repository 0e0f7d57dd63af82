// SPDX-License-Identifier: GPL-3.0-or-later
// What is drawn on uprights: level line, centre mark, which face looks where. All of it stays on material.
#include <algorithm>
#include <cmath>

#include "cradlewright/geom/region_ops.hpp"
#include "stages/cradle_parts.hpp"
#include "stages/part_words.hpp"

namespace cradlewright {
namespace {

constexpr double edge_mm = 2;        // marks stay so far inside the outline
constexpr double least_line_mm = 6;  // a shorter stroke tells nothing

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
    Marker(PlatePart& part, double centre, double level, const std::string& face_to)
        : part_(part),
          box_(bounding_box(part.outline)),
          shape_(offset(to_polygons(part.outline), -edge_mm)),
          centre_(centre),
          level_(std::min(level, 0.5 * box_.high.y)),
          face_to_(face_to) {}

    void mark() {
        constexpr double low_mm = 5, over_level_mm = 15;
        add_lines({centre_, low_mm}, {centre_, level_ + over_level_mm});
        add_lines({box_.low.x, level_}, {box_.high.x, level_});
        for (const char* words : {"this face to ", "to "})
            if (write_words(part_, words + face_to_, {centre_, level_})) return;
        part_.note += std::string(part_.note.empty() ? "" : "; ") + "drawn face to " + face_to_;
    }

private:
    void add_lines(Vec2 from, Vec2 to) {
        for (std::vector<Vec2>& piece : on_material(shape_, from, to))
            part_.marks.push_back({MarkKind::line, std::move(piece), "", 0});
    }

    PlatePart& part_;
    Box2 box_;
    Polygons shape_;
    double centre_, level_;
    const std::string& face_to_;
};

}  // namespace

void mark_upright(PlatePart& part, double centre, double level, const std::string& face_to) {
    Marker(part, centre, level, face_to).mark();
}

}  // namespace cradlewright
