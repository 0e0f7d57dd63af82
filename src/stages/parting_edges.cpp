// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/parting_edges.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>

#include "cradlewright/geom/polyline.hpp"

namespace cradlewright {
namespace {

// A loop without corners whose plan is rounder than this is one edge.
constexpr double round_aspect = 1.5;
// Stretches shorter than these join a neighbour: between corners, and where only the compass changes (shares of the
// loop).
constexpr double least_corner_share = 0.012, least_turn_share = 0.04;

enum Sector : int { front, back, end_a, end_b };
constexpr std::array<const char*, 4> sector_names{"front", "back", "end-a", "end-b"};

struct Stretch {
    std::size_t first = 0, count = 0;  // points first .. first + count, modulo the loop
    int sector = front;
    bool starts_at_corner = false;
};

int sector_of(Vec3 outward_plug) {
    if (std::abs(outward_plug.y) >= std::abs(outward_plug.x)) return outward_plug.y >= 0 ? front : back;
    return outward_plug.x < 0 ? end_a : end_b;
}

class EdgeNamer {
public:
    EdgeNamer(const PosedPlug& posed, const PartingLoop& loop, std::span<const std::size_t> corners)
        : n_(loop.panel_line.size()), corners_(corners.begin(), corners.end()) {
        outward_.reserve(n_);
        for (const Vec3& o : loop.outward)
            outward_.push_back(posed.pose.plug_in_scan.direction_to_local(posed.pose.direction_to_scan(o)));
    }

    std::vector<Stretch> stretches() {
        cut_at_corners();
        if (corners_.size() < 2) cut_at_sector_changes();
        merge_short();
        return stretches_;
    }

private:
    [[nodiscard]] int majority(std::size_t first, std::size_t count) const {
        Vec3 sum{};
        for (std::size_t i = 0; i <= count; ++i) sum += outward_[(first + i) % n_];
        return sector_of(sum);
    }

    /// Between two corners one name; but a long way round a blunt end without a corner is cut where the compass
    /// changes.
    void cut_at_corners() {
        for (std::size_t k = 0; k < corners_.size(); ++k) {
            const std::size_t a = corners_[k], b = corners_[(k + 1) % corners_.size()];
            const std::size_t count = b > a ? b - a : b + n_ - a;
            add_by_compass(a, count);
        }
    }

    void cut_at_sector_changes() {
        stretches_.clear();
        std::size_t start = 0;
        while (start < n_ && sector_of(outward_[start]) == sector_of(outward_[(start + n_ - 1) % n_])) ++start;
        if (start == n_) start = 0;
        add_by_compass(start, n_);
        if (!stretches_.empty()) stretches_.front().starts_at_corner = false;
    }

    void add_by_compass(std::size_t first, std::size_t count) {
        const auto least = static_cast<std::size_t>(std::ceil(least_turn_share * static_cast<double>(n_)));
        std::vector<Stretch> runs;
        for (std::size_t i = 0; i < count; ++i) {
            const int s = sector_of(outward_[(first + i) % n_]);
            if (runs.empty() || runs.back().sector != s) runs.push_back({(first + i) % n_, 0, s, false});
            ++runs.back().count;
        }
        std::erase_if(runs, [&](const Stretch& s) { return s.count < least; });
        if (runs.size() < 2) runs.assign(1, {first, count, majority(first, count), false});
        runs.front().first = first;
        runs.front().starts_at_corner = true;
        for (std::size_t i = 0; i < runs.size(); ++i) {
            const std::size_t next = i + 1 < runs.size() ? runs[i + 1].first : (first + count) % n_;
            const std::size_t length = (next + n_ - runs[i].first) % n_;
            runs[i].count = length == 0 ? count : length;
            if (i > 0 && runs[i].sector == stretches_.back().sector)
                stretches_.back().count += runs[i].count;
            else
                stretches_.push_back(runs[i]);
        }
    }

    void merge_short() {
        const auto least = static_cast<std::size_t>(std::ceil(least_corner_share * static_cast<double>(n_)));
        for (std::size_t i = 0; stretches_.size() > 2 && i < stretches_.size();) {
            if (stretches_[i].count >= least) {
                ++i;
                continue;
            }
            const std::size_t previous = (i + stretches_.size() - 1) % stretches_.size();
            stretches_[previous].count += stretches_[i].count;
            stretches_.erase(stretches_.begin() + static_cast<std::ptrdiff_t>(i));
            i = 0;
        }
        for (std::size_t i = 0; stretches_.size() > 1 && i < stretches_.size();) {
            const std::size_t previous = (i + stretches_.size() - 1) % stretches_.size();
            if (stretches_[i].starts_at_corner || stretches_[i].sector != stretches_[previous].sector) {
                ++i;
                continue;
            }
            stretches_[previous].count += stretches_[i].count;
            stretches_.erase(stretches_.begin() + static_cast<std::ptrdiff_t>(i));
        }
    }

    std::size_t n_;
    std::vector<std::size_t> corners_;
    std::vector<Vec3> outward_;
    std::vector<Stretch> stretches_;
};

bool is_round(const PosedPlug& posed, const PartingLoop& loop) {
    Box2 box;
    for (const Vec3& p : loop.panel_line) {
        const Vec3 q = posed.pose.plug_in_scan.to_local(posed.pose.to_scan(p));
        box.add({q.x, q.y});
    }
    const Vec2 size = box.size();
    return std::max(size.x, size.y) < round_aspect * std::min(size.x, size.y);
}

/// Edges of a closed line of n points as the name at each of its pieces (from point i to i + 1).
class EdgeCutter {
public:
    EdgeCutter(const std::vector<PartingEdge>& edges, std::size_t n) : owner_(n), starts_(n, 0) {
        for (const PartingEdge& e : edges) {
            names_.push_back(e.id);
            starts_[e.first] = edges.size() > 1;
            const std::size_t count = e.first == e.last ? n : (e.last + n - e.first) % n;
            for (std::size_t i = 0; i < count; ++i) owner_[(e.first + i) % n] = names_.size() - 1;
        }
    }

    /// The edges with a new one from point `first` to `last`.
    std::vector<PartingEdge> cut(const std::string& name, std::size_t first, std::size_t last) {
        const std::size_t n = owner_.size();
        names_.push_back(name);
        for (std::size_t i = first; i != last; i = (i + 1) % n) {
            owner_[i] = names_.size() - 1;
            starts_[i] = 0;
        }
        starts_[first] = starts_[last] = 1;
        std::vector<PartingEdge> edges;
        std::size_t start = last;
        do {
            std::size_t end = (start + 1) % n;
            while (!starts_[end]) end = (end + 1) % n;
            edges.push_back({free_name(names_[owner_[start]], edges), EdgeRule::silhouette, start, end, {}});
            start = end;
        } while (start != last);
        std::rotate(edges.begin(),
                    std::min_element(edges.begin(), edges.end(),
                                     [](const auto& a, const auto& b) { return a.first < b.first; }),
                    edges.end());
        return edges;
    }

private:
    [[nodiscard]] std::string free_name(const std::string& wanted, const std::vector<PartingEdge>& used) const {
        const auto is_used = [&](const std::string& id) {
            return std::any_of(used.begin(), used.end(), [&](const PartingEdge& e) { return e.id == id; });
        };
        std::string name = wanted;
        for (int k = 2; is_used(name) || (name != wanted && is_found(name)); ++k)
            name = wanted + "-" + std::to_string(k);
        return name;
    }
    [[nodiscard]] bool is_found(const std::string& id) const {
        return std::find(names_.begin(), names_.end(), id) != names_.end();
    }

    std::vector<std::string> names_;
    std::vector<std::size_t> owner_;
    std::vector<std::uint8_t> starts_;
};

}  // namespace

std::vector<std::size_t> find_corners(std::span<const Vec3> points, double corner_rad, double run_mm) {
    const std::size_t n = points.size();
    std::vector<std::size_t> corners;
    if (n < 8) return corners;
    const double step = polyline_length(points, true) / static_cast<double>(n);
    const std::size_t reach = std::clamp<std::size_t>(static_cast<std::size_t>(std::lround(run_mm / step)), 2,
                                                      std::max<std::size_t>(2, n / 8));
    std::vector<double> turn(n);
    for (std::size_t i = 0; i < n; ++i) {
        const Vec3 in = normalized(points[i] - points[(i + n - reach) % n]);
        const Vec3 out = normalized(points[(i + reach) % n] - points[i]);
        turn[i] = angle_between(in, out);
    }
    for (std::size_t i = 0; i < n; ++i) {
        if (turn[i] < corner_rad) continue;
        bool is_peak = true;
        for (std::size_t k = 1; k <= reach && is_peak; ++k)
            is_peak = turn[(i + n - k) % n] < turn[i] && turn[(i + k) % n] <= turn[i];
        if (is_peak) corners.push_back(i);
    }
    return corners;
}

std::vector<PartingEdge> name_edges(const PosedPlug& posed, const PartingLoop& loop,
                                    std::span<const std::size_t> corners, std::size_t number) {
    const std::size_t n = loop.panel_line.size();
    if (number > 0) return {{"inner-" + std::to_string(number), EdgeRule::silhouette, 0, 0, {}}};
    if (corners.size() < 2 && is_round(posed, loop)) return {{"rim", EdgeRule::silhouette, 0, 0, {}}};

    std::array<int, 4> used{};
    std::vector<PartingEdge> edges;
    for (const Stretch& s : EdgeNamer(posed, loop, corners).stretches()) {
        std::string id = sector_names[static_cast<std::size_t>(s.sector)];
        const int nth = ++used[static_cast<std::size_t>(s.sector)];
        if (nth > 1) id += "-" + std::to_string(nth);
        edges.push_back({std::move(id), EdgeRule::silhouette, s.first, (s.first + s.count) % n, {}});
    }
    if (edges.size() == 1) edges.front() = {"rim", EdgeRule::silhouette, 0, 0, {}};
    return edges;
}

void cut_told_edges(const PosedPlug& posed, const std::map<std::string, EdgeOptions>& told, double most_off_mm,
                    PartingLoop& loop) {
    const std::vector<Vec3>& line = loop.panel_line;
    const auto nearest = [&](Vec3 in_plug) -> std::optional<std::size_t> {
        const Vec3 p = posed.pose.to_fixture(posed.pose.plug_in_scan.to_parent(in_plug));
        const auto closer = [&](Vec3 a, Vec3 b) { return norm(a - p) < norm(b - p); };
        const auto found = std::min_element(line.begin(), line.end(), closer);
        if (norm(*found - p) > most_off_mm) return {};
        return static_cast<std::size_t>(found - line.begin());
    };
    for (const auto& [name, options] : told) {
        if (!options.from || !options.to) continue;
        auto first = nearest(*options.from), last = nearest(*options.to);
        if (!first || !last || *first == *last) continue;
        if ((*last + line.size() - *first) % line.size() > line.size() / 2) std::swap(first, last);
        loop.edges = EdgeCutter(loop.edges, line.size()).cut(name, *first, *last);
    }
}

}  // namespace cradlewright
