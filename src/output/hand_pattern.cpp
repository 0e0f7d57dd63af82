// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/output/hand_pattern.hpp"

#include <algorithm>
#include <cmath>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"

namespace cradlewright {
namespace {

constexpr double sag_mm = 0.1;
/// Of lines from point to point, before rounding: 1/16 in rounds by 1.1 mm at most, both ways together.
constexpr double chord_mm = 1.5;
constexpr double short_mm = 2000;  // up to here stations lie 50 mm or 2 in apart, beyond twice that
constexpr double inch_mm = 25.4;

struct Candidate {
    Vec2 at;
    bool is_station = false;
};

class Sampler {
public:
    Sampler(std::vector<Vec2> loop, double x0, double step) {
        const std::size_t n = loop.size();
        for (std::size_t i = 0; i < n; ++i) {
            const Vec2 a = loop[i], b = loop[(i + 1) % n];
            line_.push_back({a, false});
            const double from = (a.x - x0) / step, to = (b.x - x0) / step;
            std::vector<double> crossed;
            for (double k = std::ceil(std::min(from, to)); k <= std::max(from, to); ++k) crossed.push_back(k);
            if (from > to) std::reverse(crossed.begin(), crossed.end());
            for (const double k : crossed) {
                const double share = from == to ? 0 : (k - from) / (to - from);
                if (share == 0)
                    line_.back().is_station = true;
                else if (share < 1)
                    line_.push_back({a + (b - a) * share, true});
            }
        }
        const auto left = std::ranges::min_element(line_, {}, [](const Candidate& c) { return c.at.x; });
        std::rotate(line_.begin(), left, line_.end());
        line_.push_back(line_.front());
    }

    /// From the leftmost point round to before it again.
    [[nodiscard]] std::vector<Candidate> chosen() const {
        std::vector<std::size_t> points{0};
        const std::size_t last = line_.size() - 1;
        for (std::size_t at = 0; at < last; at = points.back()) {
            std::size_t reach = at;
            for (std::size_t next = at + 1; next <= last; ++next) {
                if (next != last && !line_[next].is_station) continue;
                if (farthest(at, next).miss > chord_mm) break;
                reach = next;
            }
            if (reach == at) {
                reach = at + 1;
                while (reach < last && !line_[reach].is_station) ++reach;
                split(at, reach, points);
            }
            points.push_back(reach);
        }
        // A corner beside a station makes the station's point superfluous.
        for (std::size_t k = 1; k + 1 < points.size();)
            if (farthest(points[k - 1], points[k + 1]).miss <= chord_mm)
                points.erase(points.begin() + static_cast<std::ptrdiff_t>(k));
            else
                ++k;
        points.pop_back();
        std::vector<Candidate> kept;
        for (const std::size_t i : points) kept.push_back(line_[i]);
        return kept;
    }

private:
    struct Far {
        std::size_t index = 0;
        double miss = 0;
    };
    [[nodiscard]] Far farthest(std::size_t from, std::size_t to) const {
        const std::vector<Vec2> chord{line_[from].at, line_[to].at};
        Far far;
        for (std::size_t i = from + 1; i < to; ++i)
            if (const double d = distance_to_polyline(line_[i].at, chord, false); d > far.miss) far = {i, d};
        return far;
    }
    /// Douglas and Peucker's rule between two stations. Source: The Canadian Cartographer 10 (1973), 112, from memory.
    void split(std::size_t from, std::size_t to, std::vector<std::size_t>& points) const {
        const Far far = farthest(from, to);
        if (far.miss <= chord_mm) return;
        split(from, far.index, points);
        points.push_back(far.index);
        split(far.index, to, points);
    }

    std::vector<Candidate> line_;  // closed: the first once more at the end
};

double rounded(double mm, double unit) { return std::round(mm / unit) * unit; }

}  // namespace

HandPattern hand_pattern(const PlatePart& part, UnitSystem units) {
    CRADLEWRIGHT_PRECONDITION(!part.outline.outer.vertices.empty());
    const bool is_inch = units == UnitSystem::inch;
    const double unit = is_inch ? inch_mm / 16 : 1;
    const Box2 box = bounding_box(part.outline);
    HandPattern pattern{.id = part.id, .note = part.note, .origin = box.low, .loops = {}, .crosses = {}};
    pattern.length_mm = std::ceil(box.size().x / unit) * unit;
    pattern.width_mm = std::ceil(box.size().y / unit) * unit;
    pattern.station_mm = (is_inch ? 2 * inch_mm : 50) * (pattern.length_mm > short_mm ? 2 : 1);
    std::vector<const Loop*> loops{&part.outline.outer};
    for (const Loop& hole : part.outline.holes) loops.push_back(&hole);
    for (const Loop* loop : loops) {
        const std::vector<Vec2> line = flatten(*loop, sag_mm);
        std::vector<HandPoint> points;
        std::vector<Vec2> drawn;
        for (const Candidate& c : Sampler(line, box.low.x, pattern.station_mm).chosen()) {
            const Vec2 at{rounded(c.at.x - box.low.x, unit), rounded(c.at.y - box.low.y, unit)};
            if (!drawn.empty() && drawn.back() == at) continue;
            points.push_back({at, c.is_station});
            drawn.push_back(at);
        }
        for (const Vec2 p : line)
            pattern.miss_mm = std::max(pattern.miss_mm, distance_to_polyline(p - box.low, drawn, true));
        pattern.loops.push_back(std::move(points));
    }
    // A mark's number is the text that follows its cross; the cross that none follows is where cloth is laid first.
    for (std::size_t i = 0; i < part.marks.size(); ++i) {
        const Mark& mark = part.marks[i];
        if (mark.kind != MarkKind::cross) continue;
        const bool is_named = i + 1 < part.marks.size() && part.marks[i + 1].kind == MarkKind::text;
        const Vec2 at = mark.points.front() - box.low;
        pattern.crosses.push_back(
            {{rounded(at.x, unit), rounded(at.y, unit)}, is_named ? part.marks[i + 1].text : "start"});
    }
    std::stable_partition(pattern.crosses.begin(), pattern.crosses.end(),
                          [](const auto& cross) { return cross.name == "start"; });
    return pattern;
}

}  // namespace cradlewright
