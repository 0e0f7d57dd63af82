// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/piece_net.hpp"

#include <algorithm>
#include <cmath>

#include "cradlewright/geom/polyline.hpp"
#include "geom/point_index.hpp"

namespace cradlewright {
namespace {

constexpr double on_cell = 0.71;      // of a cell: no point of a square net is further from its nodes
constexpr int least_strip_cells = 4;  // narrower strips hold too few nodes to tell anything

Polygons moved(Polygons loops, Vec2 by) {
    for (auto& loop : loops)
        for (Vec2& p : loop) p += by;
    return loops;
}

/// The net's place at a point of the flat cloth, from the nearest nodes round it.
Vec3 place_on_net(const ClothNet& net, Vec2 flat) {
    const double x = flat.x / net.cell_mm, y = flat.y / net.cell_mm;
    const int i = static_cast<int>(std::floor(x)), j = static_cast<int>(std::floor(y));
    Vec3 sum;
    double whole = 0;
    for (const int di : {0, 1})
        for (const int dj : {0, 1}) {
            const NetNode* node = net.find(i + di, j + dj);
            const double share = (di != 0 ? x - i : 1 - x + i) * (dj != 0 ? y - j : 1 - y + j);
            if (node == nullptr || !(share > 0)) continue;
            sum += node->at * share;
            whole += share;
        }
    return whole > 0 ? sum / whole : Vec3{};
}

}  // namespace

PieceNet PieceNet::lay(const NetSurface& surface, const NetOptions& options) {
    PieceNet piece;
    piece.strips_.push_back({lay_net(surface, options), 0, options.first_i, options.last_i});
    piece.start_ = piece.strips_.front().net.nodes.front().at;
    return piece;
}

PieceNet PieceNet::slit(const NetSurface& surface, const NetOptions& options, int darts) const {
    const ClothNet& whole = strips_.front().net;
    int low = 0, high = 0;  // of the spine, on the surface
    const auto is_on = [&](int i) {
        const NetNode* node = whole.find(i, 0);
        return node != nullptr && node->steps_beyond == 0;
    };
    while (is_on(low - 1)) --low;
    while (is_on(high + 1)) ++high;
    const int count = std::min(darts + 1, (high - low) / least_strip_cells);
    if (count < 2) return *this;
    PieceNet piece;
    piece.start_ = start_;
    for (int s = 0; s < count; ++s) {
        const int first = low + (high - low) * s / count, last = low + (high - low) * (s + 1) / count;
        const int middle = (first + last) / 2;
        NetOptions own = options;
        own.start = whole.find(middle, 0)->at;
        own.warp = whole.find(middle + 1, 0)->at - whole.find(middle - 1, 0)->at;
        Strip strip;
        strip.middle = middle;
        strip.first = s == 0 ? options.first_i : first;  // the outermost go on to the rim
        strip.last = s + 1 == count ? options.last_i : last;
        if (s > 0) own.first_i = first - middle;
        if (s + 1 < count) own.last_i = last - middle;
        strip.net = lay_net(surface, own);
        piece.strips_.push_back(std::move(strip));
    }
    return piece;
}

Polygons PieceNet::outline(double most_shear_rad) const {
    Polygons all;
    for (const Strip& strip : strips_) {
        const Polygons own = moved(strip.net.outline(most_shear_rad), {strip.middle * cell_mm(), 0});
        all.insert(all.end(), own.begin(), own.end());
    }
    return strips_.size() == 1 ? all : unite(all);
}

std::vector<Vec3> PieceNet::nodes_in(const Polygons& flat) const {
    std::vector<Vec3> found;
    for (const Strip& strip : strips_)
        for (const NetNode& node : strip.net.nodes)
            if (contains(flat, Vec2{double(node.i + strip.middle), double(node.j)} * cell_mm()))
                found.push_back(node.at);
    return found;
}

std::vector<Vec3> PieceNet::own_nodes(const Strip& strip, const Polygons& flat) const {
    std::vector<Vec3> found;
    for (const NetNode& node : strip.net.nodes) {
        const int column = node.i + strip.middle;
        if (column > strip.first && column < strip.last &&
            contains(flat, Vec2{double(column), double(node.j)} * cell_mm()))
            found.push_back(node.at);
    }
    return found;
}

double PieceNet::doubled_share(const Polygons& flat) const {
    std::vector<std::vector<Vec3>> nodes;
    for (const Strip& strip : strips_) nodes.push_back(own_nodes(strip, flat));
    std::size_t doubled = 0, whole = 0;
    for (std::size_t s = 0; s < nodes.size(); ++s) {
        std::vector<Vec3> others;
        for (std::size_t o = 0; o < nodes.size(); ++o)
            if (o != s) others.insert(others.end(), nodes[o].begin(), nodes[o].end());
        whole += nodes[s].size();
        if (others.empty()) continue;
        const PointIndex index(others);
        for (const Vec3 p : nodes[s]) doubled += index.nearest(p, on_cell * cell_mm()).has_value();
    }
    return whole > 0 ? double(doubled) / double(whole) : 0;
}

std::pair<double, Vec3> PieceNet::worst(double most_shear_rad) const {
    std::pair<double, Vec3> worst{0, {}};
    for (const Strip& strip : strips_) {
        const std::size_t cell = strip.net.worst_cell(most_shear_rad);
        if (cell == strip.net.cells.size()) continue;
        if (const double shear = strip.net.cells[cell].shear_rad; shear >= worst.first)
            worst = {shear, strip.net.middle(strip.net.cells[cell])};
    }
    return worst;
}

const PieceNet::Strip& PieceNet::strip_at(double x_mm) const {
    for (const Strip& strip : strips_)
        if (x_mm <= strip.last * cell_mm()) return strip;
    return strips_.back();
}

Vec3 PieceNet::place_on(Vec2 flat) const {
    const Strip& strip = strip_at(flat.x);
    return place_on_net(strip.net, flat - Vec2{strip.middle * cell_mm(), 0});
}

std::vector<std::optional<Vec2>> PieceNet::find(std::span<const Vec3> points) const {
    std::vector<std::optional<Vec2>> found(points.size());
    for (const Strip& strip : strips_) {
        const std::vector<std::optional<Vec2>> own = on_cloth(strip.net, points);
        for (std::size_t k = 0; k < points.size(); ++k) {
            if (found[k] || !own[k]) continue;
            const Vec2 flat = *own[k] + Vec2{strip.middle * cell_mm(), 0};
            if (&strip == &strip_at(flat.x)) found[k] = flat;
        }
    }
    return found;
}

std::optional<Dart> PieceNet::dart_between(const Strip& left, const Strip& right, int side, const Polygons& flat,
                                           double overlap_mm) const {
    Dart dart;
    std::vector<std::pair<double, double>> laps;
    const int column = left.last;
    const auto flat_at = [&](int row) { return Vec2{double(column), double(side * row)} * cell_mm(); };
    bool is_open = false;
    for (int row = 1; contains(flat, flat_at(row)); ++row) {
        const NetNode* a = left.net.find(column - left.middle, side * row);
        const NetNode* b = right.net.find(column - right.middle, side * row);
        const NetNode* inward = left.net.find(column - 1 - left.middle, side * row);
        if (a == nullptr || b == nullptr || inward == nullptr) continue;
        const double apart = dot(b->at - a->at, normalized(a->at - inward->at));
        if (!is_open && std::abs(apart) > dart_tip_mm) {
            is_open = true;
            dart.tip = flat_at(row - 1);
            const NetNode* tip = left.net.find(column - left.middle, side * (row - 1));
            dart.tip_at = tip != nullptr ? tip->at : a->at;
        }
        laps.emplace_back(row * cell_mm(), -apart);
        dart.lap_mm = std::max(dart.lap_mm, -apart);
        dart.opens_mm = std::max(dart.opens_mm, apart);
    }
    if (!is_open) return std::nullopt;
    dart.edge = dart.tip;
    constexpr double step_mm = 0.5;
    while (contains(flat, dart.edge)) dart.edge.y += side * step_mm;
    dart.wedge = wedge_between(left, right, dart, laps, overlap_mm);
    return dart;
}

std::vector<Vec2> PieceNet::wedge_between(const Strip& left, const Strip& right, const Dart& dart,
                                          const std::vector<std::pair<double, double>>& laps, double overlap_mm) const {
    const double side = dart.edge.y > 0 ? 1 : -1, end = std::abs(dart.edge.y) + cell_mm();
    const int narrow = std::min(left.last - left.middle, right.middle - right.first) - 1;
    std::vector<Vec2> there, back;
    const auto add = [&](double v, double lap) {
        const double half = std::min((lap - overlap_mm) / 2, narrow * cell_mm());
        if (!(half > 0)) return;
        if (there.empty()) there.push_back({dart.tip.x, side * (v - cell_mm())});
        there.push_back({dart.tip.x - half, side * v});
        back.push_back({dart.tip.x + half, side * v});
    };
    for (const auto& [v, lap] : laps) add(v, lap);
    // Where threads lock, and past the rim, there are no nodes: on with the square of the distance.
    if (!laps.empty())
        for (double v = laps.back().first + cell_mm(); v < end + cell_mm(); v += cell_mm())
            add(v, laps.back().second * v * v / (laps.back().first * laps.back().first));
    there.insert(there.end(), back.rbegin(), back.rend());
    if (area_of({there}) < 0) std::reverse(there.begin() + 1, there.end());
    return there;
}

std::vector<Dart> PieceNet::darts(const Polygons& flat, double overlap_mm) const {
    std::vector<Dart> found;
    for (std::size_t s = 0; s + 1 < strips_.size(); ++s)
        for (const int side : {1, -1})
            if (const std::optional<Dart> dart = dart_between(strips_[s], strips_[s + 1], side, flat, overlap_mm))
                found.push_back(*dart);
    return found;
}

}  // namespace cradlewright
