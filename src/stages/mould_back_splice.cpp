// SPDX-License-Identifier: GPL-3.0-or-later
// A plate along a mould longer than its sheet: pieces that butt between two plates across, and a strap over the joint.
#include <algorithm>
#include <cmath>
#include <limits>

#include "cradlewright/geom/region.hpp"
#include "stages/cradle_parts.hpp"
#include "stages/mould_back_parts.hpp"
#include "stages/part_words.hpp"

namespace cradlewright {
namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();
constexpr double clear_mm = 3;   // strap to the plates across
constexpr double above_mm = 8;   // strap over the bench
constexpr double under_mm = 8;   // and under the plate's inner edge
constexpr double least_mm = 20;  // a strap no higher holds nothing

/// Where a plate from low to high is cut; nowhere if it is short enough.
std::vector<double> splice_places(double low_mm, double high_mm, double most_mm, const std::vector<double>& across) {
    std::vector<double> joints;
    const double pieces = std::ceil((high_mm - low_mm) / most_mm - 1e-9);
    double start = low_mm;
    while (high_mm - start > most_mm + 1e-9) {
        const double wanted = low_mm + (high_mm - low_mm) * static_cast<double>(joints.size() + 1) / pieces;
        double best = infinite;
        for (std::size_t k = 0; k + 1 < across.size(); ++k) {
            const double middle = 0.5 * (across[k] + across[k + 1]);
            if (middle <= start || middle > start + most_mm || middle >= high_mm) continue;
            if (std::abs(middle - wanted) < std::abs(best - wanted)) best = middle;
        }
        if (best == infinite) best = start + most_mm;
        joints.push_back(best);
        start = best;
    }
    return joints;
}

/// Edge and surface cut at places along them.
std::vector<BackEdge> split_at(const BackEdge& whole, const std::vector<double>& joints) {
    std::vector<BackEdge> pieces;
    double low = -infinite;
    for (std::size_t k = 0; k <= joints.size(); ++k) {
        const double high = k < joints.size() ? joints[k] : infinite;
        BackEdge piece;
        const auto take = [&](const std::vector<Vec2>& from, std::vector<Vec2>& to) {
            if (from.size() < 2) return;
            if (from.front().x < low && low < from.back().x) to.push_back({low, height_on(from, low)});
            for (const Vec2& p : from)
                if (p.x > low && p.x < high) to.push_back(p);
            if (from.front().x < high && high < from.back().x) to.push_back({high, height_on(from, high)});
        };
        take(whole.edge, piece.edge);
        take(whole.surface, piece.surface);
        pieces.push_back(std::move(piece));
        low = high;
    }
    return pieces;
}

}  // namespace

std::vector<BackJoint> splice(std::vector<BackEdge>& edges, std::vector<double>& stations, double most_mm,
                              const std::vector<double>& across) {
    std::vector<BackEdge> pieces;
    std::vector<double> at;
    std::vector<BackJoint> joints;
    for (std::size_t k = 0; k < edges.size(); ++k) {
        const std::vector<Vec2>& edge = edges[k].edge;
        const std::vector<double> places =
            edge.empty() ? std::vector<double>{} : splice_places(edge.front().x, edge.back().x, most_mm, across);
        for (std::size_t n = 0; n < places.size(); ++n) joints.push_back({places[n], pieces.size() + n + 1});
        for (BackEdge& piece : split_at(edges[k], places)) pieces.push_back(std::move(piece));
        at.resize(pieces.size(), stations[k]);
    }
    edges = std::move(pieces), stations = std::move(at);
    return joints;
}

PlatePart strap_part(const std::string& id, const Region& outline, double joint_mm) {
    PlatePart part;
    part.id = id;
    part.kind = PartKind::mould_rib;
    part.outline = outline;
    const Box2 box = bounding_box(outline);
    part.marks.push_back({MarkKind::line, {{joint_mm, box.low.y}, {joint_mm, box.high.y}}, "", 0});
    write_words(part, id, {joint_mm, box.low.y});
    return part;
}

Region splice_strap(double joint_mm, const std::vector<Vec2>& left, const std::vector<Vec2>& right, double thickness_mm,
                    const std::vector<double>& across, double lowered_mm) {
    double half = strap_thicknesses * thickness_mm;
    for (const double x : across) half = std::min(half, std::abs(x - joint_mm) - thickness_mm / 2 - clear_mm);
    double top = infinite;
    for (const auto* edge : {&left, &right})
        for (const Vec2& p : *edge)
            if (std::abs(p.x - joint_mm) <= half) top = std::min(top, p.y);
    top -= under_mm + lowered_mm;
    if (!(half > least_mm) || !(top - above_mm > least_mm) || top == infinite) return {};
    Region strap;
    strap.outer = make_rectangle({joint_mm - half, above_mm}, {joint_mm + half, top}, CutKind::rough);
    return strap;
}

}  // namespace cradlewright
