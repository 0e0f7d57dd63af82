// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/part_words.hpp"

#include <algorithm>
#include <optional>
#include <vector>

#include "cradlewright/geom/region_ops.hpp"
#include "stages/mark_text.hpp"

namespace cradlewright {
namespace {

constexpr double edge_mm = 2;  // words stay so far inside the outline
constexpr double air_mm = 2;   // words to marks
constexpr double grid_mm = 4;  // at which places are looked for

class Writer {
public:
    explicit Writer(const PlatePart& part)
        : part_(part), box_(bounding_box(part.outline)), shape_(offset(to_polygons(part.outline), -edge_mm)) {}

    /// Start of the base line: nearest to beside and above the point.
    [[nodiscard]] std::optional<Vec2> place_of(const std::string& words, double height, Vec2 near) const {
        const Vec2 size = mark_text_size(words, height);
        const Vec2 wanted = near + Vec2{air_mm + 1, air_mm + 1};
        std::vector<Vec2> places{wanted};
        for (double y = box_.low.y + edge_mm; y + size.y < box_.high.y; y += grid_mm)
            for (double x = box_.low.x + edge_mm; x + size.x < box_.high.x; x += grid_mm) places.push_back({x, y});
        std::stable_sort(places.begin(), places.end(),
                         [&](Vec2 a, Vec2 b) { return dot(a - wanted, a - wanted) < dot(b - wanted, b - wanted); });
        const auto at = std::find_if(places.begin(), places.end(), [&](Vec2 p) { return is_free(p, p + size); });
        return at == places.end() ? std::nullopt : std::optional<Vec2>(*at);
    }

private:
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

    const PlatePart& part_;
    Box2 box_;
    Polygons shape_;
};

}  // namespace

bool write_words(PlatePart& part, const std::string& words, Vec2 near) {
    const Writer writer(part);
    for (const double height : {6.0, 5.0, 4.0, 3.0})
        if (const std::optional<Vec2> at = writer.place_of(words, height, near)) {
            part.marks.push_back({MarkKind::text, {*at}, words, height});
            return true;
        }
    return false;
}

}  // namespace cradlewright
