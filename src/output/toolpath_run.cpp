// SPDX-License-Identifier: GPL-3.0-or-later
#include "output/toolpath_run.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "cradlewright/base/error.hpp"

namespace cradlewright {

namespace {

/// Rapid moves end so far above the sheet, which may be bowed. Source: common practice.
constexpr double approach_mm = 1;
constexpr double level_mm = 1e-9;  // heights closer than this are one
/// Spacing at which edges are looked at for tabs; finer than any tab is wide.
constexpr double look_step_mm = 1;

CutKind kind_at(Vec2 p, const std::vector<OutlinePiece>& outlines) {
    double least = std::numeric_limits<double>::infinity();
    CutKind kind = CutKind::rough;
    for (const OutlinePiece& piece : outlines) {
        const Vec2 along = piece.b - piece.a;
        const double length2 = dot(along, along);
        const double t = length2 > 0 ? std::clamp(dot(p - piece.a, along) / length2, 0.0, 1.0) : 0;
        const Vec2 off = p - (piece.a + along * t);
        if (dot(off, off) < least) {
            least = dot(off, off);
            kind = piece.cut;
        }
    }
    return kind;
}

/// A stretch of a path that keeps a tab: level from `from` to `to`, then down along the lead-in's slope.
struct TabPlace {
    double from = 0, to = 0;
};

/// Where tabs may stand on a path, looked up at even steps.
class TabFinder {
public:
    TabFinder(const ClosedPath& path, const std::vector<OutlinePiece>& outlines, const CutDepths& depths)
        : length_(path.length()), zone_(depths.tab_width_mm + depths.cutter_mm) {
        drop_ = depths.tab_height_mm / depths.ramp_slope;
        const auto steps = static_cast<std::size_t>(std::ceil(length_ / look_step_mm));
        for (std::size_t i = 0; i < steps; ++i) {
            const double along = length_ * (static_cast<double>(i) + 0.5) / static_cast<double>(steps);
            const bool is_rough = kind_at(path.at(along), outlines) == CutKind::rough;
            quality_.push_back(!is_rough ? 0 : path.is_straight_at(along) ? 2 : 1);
        }
        count_ = static_cast<int>(
            std::min(std::max(2.0, std::ceil(length_ / depths.tab_spacing_mm)), std::floor(length_ / room())));
    }

    [[nodiscard]] std::vector<TabPlace> find() const {
        std::vector<Candidate> best;
        for (int i = 0; i < count_; ++i) best.push_back(best_in(length_ * i / count_, length_ * (i + 1) / count_));
        // Fit edges keep tabs only where rough ones do not give two.
        std::stable_sort(best.begin(), best.end(), [](auto& a, auto& b) { return a.quality > b.quality; });
        std::vector<TabPlace> places;
        for (const Candidate& c : best)
            if (c.quality > 0 || places.size() < 2) places.push_back({c.from, c.from + zone_});
        std::sort(places.begin(), places.end(), [](auto& a, auto& b) { return a.from < b.from; });
        return places;
    }

private:
    struct Candidate {
        double from = 0;
        int quality = 0;
    };
    [[nodiscard]] double room() const { return zone_ + drop_; }

    [[nodiscard]] int quality_of(double from) const {
        const double step = length_ / static_cast<double>(quality_.size());
        int least = 2;
        for (auto i = static_cast<std::size_t>(from / step); i < quality_.size() && double(i) * step < from + room();
             ++i)
            least = std::min(least, quality_[i]);
        return least;
    }
    /// Nearest to the middle among the best of a stretch.
    [[nodiscard]] Candidate best_in(double low, double high) const {
        const double middle = (low + high - room()) / 2, play = std::max(0.0, (high - low - room()) / 2);
        Candidate best{middle, quality_of(middle)};
        for (double off = look_step_mm; off <= play; off += look_step_mm)
            for (const double from : {middle - off, middle + off})
                if (const int quality = quality_of(from); quality > best.quality) best = {from, quality};
        return best;
    }

    double length_, zone_, drop_ = 0;
    int count_ = 0;
    std::vector<int> quality_;  ///< 2 straight and rough, 1 rough, 0 fit
};

/// Height along a path: a line or a level.
struct Slope {
    double at = 0, z = 0, fall = 0;  ///< z at `at`, falling by `fall` a mm
    [[nodiscard]] double height(double along) const { return z - (along - at) * fall; }
};

/// Lays the moves of one cut.
class RunBuilder {
public:
    RunBuilder(const ClosedPath& path, std::vector<TabPlace> tabs, const CutDepths& depths, double bottom_z)
        : path_(path), tabs_(std::move(tabs)), depths_(depths), bottom_z_(bottom_z) {
        tab_z_ = -depths.thickness_mm + depths.tab_height_mm;
    }

    std::vector<ToolMove> lay() {
        const Vec2 start = path_.at(0);
        moves_ = {{MoveKind::rapid, {start.x, start.y, depths_.safe_mm}},
                  {MoveKind::rapid, {start.x, start.y, approach_mm}}};
        base_z_ = z_ = approach_mm;
        const int passes = pass_count(-bottom_z_, depths_.pass_mm);
        for (int k = 1; k <= passes; ++k) lap_to(bottom_z_ * k / passes);
        const Vec2 end = path_.at(along_);
        moves_.push_back({MoveKind::rapid, {end.x, end.y, depths_.safe_mm}});
        return std::move(moves_);
    }

private:
    /// Down to a level along the cut, then once all round at it.
    void lap_to(double z) {
        const bool is_too_short = path_.length() < depths_.cutter_mm / 2;
        if (is_too_short) straight_to(z);
        const double run = is_too_short ? 0 : (base_z_ - z) / depths_.ramp_slope;
        if (run > 0) advance({along_, base_z_, depths_.ramp_slope}, along_ + run);
        base_z_ = z;
        advance({along_, z, 0}, along_ + path_.length());
    }

    /// Along the path to `to`, at the height of `base` or as high as tabs ask.
    void advance(const Slope& base, double to) {
        std::vector<double> breaks{along_, to};
        const double length = path_.length();
        for (double lap = std::floor(along_ / length) - 1; lap * length < to; ++lap) {
            for (const TabPlace& tab : tabs_) {
                const double from = tab.from + lap * length, end = tab.to + lap * length;
                const double down = end + (tab_z_ - bottom_z_) / depths_.ramp_slope;
                breaks.insert(breaks.end(), {from, end, down});
                add_crossing(base, {from, tab_z_, 0}, breaks);
                add_crossing(base, {end, tab_z_, depths_.ramp_slope}, breaks);
            }
        }
        std::sort(breaks.begin(), breaks.end());
        const double first = along_;
        for (std::size_t i = 0; i + 1 < breaks.size(); ++i) {
            const double u = breaks[i], v = breaks[i + 1];
            if (u < first || v > to || v - u < level_mm) continue;
            const Slope top = highest_at(base, (u + v) / 2);
            along_ = u;
            straight_to(top.height(u));
            const MoveKind kind = top.height(v) < z_ - level_mm ? MoveKind::ramp : MoveKind::cut;
            path_.follow(u, v, z_, top.height(v), kind, moves_);
            z_ = top.height(v);
        }
        along_ = to;
    }

    static void add_crossing(const Slope& a, const Slope& b, std::vector<double>& breaks) {
        if (std::abs(a.fall - b.fall) < level_mm) return;
        breaks.push_back((a.z + a.at * a.fall - b.z - b.at * b.fall) / (a.fall - b.fall));
    }

    [[nodiscard]] Slope highest_at(const Slope& base, double along) const {
        Slope top = base;
        const double length = path_.length();
        for (const TabPlace& tab : tabs_) {
            const double from = tab.from + std::floor((along - tab.from) / length) * length;
            const Slope tab_top = along < from + (tab.to - tab.from)
                                      ? Slope{from, tab_z_, 0}
                                      : Slope{from + tab.to - tab.from, tab_z_, depths_.ramp_slope};
            if (tab_top.height(along) > top.height(along)) top = tab_top;
        }
        return top;
    }

    void straight_to(double z) {
        if (std::abs(z - z_) < level_mm) return;
        const Vec2 at = path_.at(along_);
        moves_.push_back({z > z_ ? MoveKind::cut : MoveKind::plunge, {at.x, at.y, z}});
        z_ = z;
    }

    const ClosedPath& path_;
    std::vector<TabPlace> tabs_;
    const CutDepths& depths_;
    double bottom_z_, tab_z_ = 0;
    double along_ = 0, base_z_ = 0, z_ = 0;
    std::vector<ToolMove> moves_;
};

}  // namespace

ClosedPath::ClosedPath(const Loop& loop) {
    const std::size_t n = loop.vertices.size();
    double along = 0;
    for (std::size_t i = 0; i < n; ++i) {
        const PathVertex& v = loop.vertices[i];
        const Vec2 b = loop.vertices[(i + 1) % n].at;
        if (v.at == b) continue;
        const double length = edge_length(v.at, b, v.bulge);
        edges_.push_back({v.at, b, v.bulge, along, along + length});
        along += length;
    }
    CRADLEWRIGHT_PRECONDITION(!edges_.empty());
}

std::size_t ClosedPath::edge_at(double along) const {
    const auto found =
        std::upper_bound(edges_.begin(), edges_.end(), along, [](double value, const Edge& e) { return value < e.to; });
    return static_cast<std::size_t>(std::min(found, edges_.end() - 1) - edges_.begin());
}

namespace {

/// The point at a share of an edge; its ends exactly.
Vec2 point_on(Vec2 a, Vec2 b, double bulge, double share) {
    if (share <= 0) return a;
    if (share >= 1) return b;
    if (bulge == 0) return a + (b - a) * share;
    const Arc arc = arc_of(a, b, bulge);
    const double angle = arc.start_rad + arc.sweep_rad * share;
    return arc.center + Vec2{std::cos(angle), std::sin(angle)} * arc.radius;
}

}  // namespace

Vec2 ClosedPath::at(double along) const {
    const double lap = along - std::floor(along / length()) * length();
    const Edge& e = edges_[edge_at(lap)];
    return point_on(e.a, e.b, e.bulge, (lap - e.from) / (e.to - e.from));
}

bool ClosedPath::is_straight_at(double along) const {
    return edges_[edge_at(along - std::floor(along / length()) * length())].bulge == 0;
}

void ClosedPath::follow(double from, double to, double z_from, double z_to, MoveKind kind,
                        std::vector<ToolMove>& moves) const {
    CRADLEWRIGHT_PRECONDITION(from < to);
    double lap = std::floor(from / length()) * length();
    std::size_t i = edge_at(from - lap);
    for (double along = from; along < to;) {
        const Edge& e = edges_[i];
        const double end = std::min(to, lap + e.to);
        const double u = std::max(0.0, (along - lap - e.from) / (e.to - e.from)),
                     v = (end - lap - e.from) / (e.to - e.from);
        const Vec2 p = point_on(e.a, e.b, e.bulge, end < to || end == lap + e.to ? 1.0 : v);
        const double bulge = e.bulge == 0 ? 0 : std::tan(std::atan(e.bulge) * (v - u));
        const double z = z_from + (z_to - z_from) * (end - from) / (to - from);
        if (end > along) moves.push_back({kind, {p.x, p.y, z}, bulge});
        along = end;
        if (end < to && ++i == edges_.size()) {
            i = 0;
            lap += length();
        }
    }
}

int pass_count(double depth_mm, double pass_mm) {
    CRADLEWRIGHT_PRECONDITION(depth_mm > 0 && pass_mm > 0);
    return std::max(1, static_cast<int>(std::ceil(depth_mm / pass_mm - level_mm)));
}

Loop started(const Loop& loop, const std::vector<OutlinePiece>& outlines) {
    const std::size_t n = loop.vertices.size();
    std::size_t chosen = n;
    double best = -1;
    bool is_rough = false;
    for (std::size_t i = 0; i < n; ++i) {
        const PathVertex& v = loop.vertices[i];
        const Vec2 b = loop.vertices[(i + 1) % n].at;
        if (v.bulge != 0 || v.at == b) continue;
        const double length = norm(b - v.at);
        if (is_rough && length <= best) continue;
        const bool rough = kind_at((v.at + b) * 0.5, outlines) == CutKind::rough;
        if (rough == is_rough ? length > best : rough) {
            chosen = i;
            best = length;
            is_rough = rough;
        }
    }
    if (chosen == n) return loop;
    Loop result;
    const Vec2 middle = (loop.vertices[chosen].at + loop.vertices[(chosen + 1) % n].at) * 0.5;
    result.vertices.push_back({middle, 0, loop.vertices[chosen].cut});
    for (std::size_t k = 1; k <= n; ++k) result.vertices.push_back(loop.vertices[(chosen + k) % n]);
    return result;
}

ToolRun cut_run(const Loop& loop, const std::vector<OutlinePiece>& outlines, const CutDepths& depths) {
    const ClosedPath path(loop);
    ToolRun run;
    run.skin_mm = depths.skin_mm;
    double bottom_z = -depths.depth_mm();
    std::vector<TabPlace> tabs;
    if (depths.skin_mm == 0 && depths.tab_height_mm > 0) {
        tabs = TabFinder(path, outlines, depths).find();
        if (tabs.empty()) {  // too short for one
            run.skin_mm = depths.tab_height_mm;
            bottom_z = -depths.thickness_mm + depths.tab_height_mm;
        }
    }
    run.tabs = static_cast<int>(tabs.size());
    run.moves = RunBuilder(path, std::move(tabs), depths, bottom_z).lay();
    return run;
}

ToolRun mark_run(const std::vector<Vec2>& chain, double depth_mm, double safe_mm) {
    CRADLEWRIGHT_PRECONDITION(!chain.empty());
    ToolRun run;
    run.kind = RunKind::mark;
    const auto at = [](Vec2 p, double z) { return Vec3{p.x, p.y, z}; };
    run.moves = {{MoveKind::rapid, at(chain.front(), safe_mm)},
                 {MoveKind::rapid, at(chain.front(), approach_mm)},
                 {MoveKind::plunge, at(chain.front(), -depth_mm)}};
    for (std::size_t i = 1; i < chain.size(); ++i) run.moves.push_back({MoveKind::cut, at(chain[i], -depth_mm)});
    run.moves.push_back({MoveKind::rapid, at(chain.back(), safe_mm)});
    return run;
}

}  // namespace cradlewright
