// SPDX-License-Identifier: GPL-3.0-or-later
// Source: W3C, Scalable Vector Graphics 1.1, 8.3 (path data), 10.9 (text anchors).
#include "files/picture_canvas.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "cradlewright/base/units.hpp"
#include "files/markup.hpp"

namespace cradlewright {
namespace {

constexpr double sag_px = 0.2;  // chords of arcs, on the screen

std::string px(double value) { return fixed(value, 1); }
std::string pair(Vec2 p) { return px(p.x) + " " + px(p.y); }

/// Points that fall on one pixel tenth are written once.
std::string chain_data(const PictureItem::Chain& chain) {
    std::string d, last;
    for (const Vec2 p : chain.points) {
        std::string now = pair(p);
        if (now != last) {
            d += (d.empty() ? "M" : "L") + now;
            last = std::move(now);
        }
    }
    return d + (chain.is_closed ? "Z" : "");
}

}  // namespace

Canvas::Canvas(const Box2& box, double width_px, double max_height_px, const Margins& margins)
    : box_(box), margins_(margins), width_(width_px) {
    const Vec2 size = box.size();
    const double room = width_px - margins.left - margins.right;
    scale_ = std::min(room / std::max(size.x, 1e-6), max_height_px / std::max(size.y, 1e-6));
    shift_ = margins.left + (room - size.x * scale_) / 2;
}

double Canvas::sag_mm() const { return sag_px / scale_; }

void Canvas::region(std::string_view css, const Region& region) {
    std::vector<PictureItem::Chain> chains{in_px(flatten(region.outer, sag_mm()), true)};
    for (const Loop& hole : region.holes) chains.push_back(in_px(flatten(hole, sag_mm()), true));
    path(css, std::move(chains));
}

void Canvas::chain(std::string_view css, const std::vector<Vec2>& points, bool is_closed) {
    if (points.size() > 1) path(css, {in_px(points, is_closed)});
}

void Canvas::loops(std::string_view css, const std::vector<std::vector<Vec2>>& closed) {
    std::vector<PictureItem::Chain> chains;
    for (const std::vector<Vec2>& points : closed)
        if (!points.empty()) chains.push_back(in_px(points, true));
    if (!chains.empty()) path(css, std::move(chains));
}

void Canvas::cut_edges(const Loop& loop) {
    const std::size_t n = loop.vertices.size();
    std::size_t start = 0;
    while (start < n && loop.vertices[start].cut == loop.vertices[(start + n - 1) % n].cut) ++start;
    start %= n;  // one kind all round: from the first vertex
    for (std::size_t i = 0; i < n;) {
        const CutKind kind = loop.vertices[(start + i) % n].cut;
        std::vector<Vec2> points{loop.vertices[(start + i) % n].at};
        for (; i < n && loop.vertices[(start + i) % n].cut == kind; ++i) {
            const PathVertex& v = loop.vertices[(start + i) % n];
            const Vec2 next = loop.vertices[(start + i + 1) % n].at;
            const std::vector<Vec2> more = flatten_edge(v.at, next, v.bulge, sag_mm());
            points.insert(points.end(), more.begin(), more.end());
        }
        chain(kind == CutKind::fit ? "fit" : "rough", points, false);
    }
}

void Canvas::line(std::string_view css, Vec2 a_px, Vec2 b_px) { path(css, {{{a_px, b_px}, false}}); }

void Canvas::circle(std::string_view css, Vec2 center_px, double radius_px) {
    body_ += "<circle class=\"" + std::string(css) + "\" cx=\"" + px(center_px.x) + "\" cy=\"" + px(center_px.y) +
             "\" r=\"" + px(radius_px) + "\"/>";
    items_.push_back({PictureItem::Kind::circle, std::string(css), {}, center_px, radius_px});
}

void Canvas::text(std::string_view css, Vec2 at_px, Anchor anchor, std::string_view words) {
    constexpr const char* names[] = {"start", "middle", "end"};
    body_ += "<text class=\"" + std::string(css) + "\" x=\"" + px(at_px.x) + "\" y=\"" + px(at_px.y) +
             "\" text-anchor=\"" + names[static_cast<int>(anchor)] + "\">" + escape_markup(words) + "</text>";
    items_.push_back({PictureItem::Kind::text, std::string(css), {}, at_px, 0, anchor, std::string(words)});
}

void Canvas::dimension(Vec2 a_px, Vec2 b_px, std::string_view words) {
    line("dim", a_px, b_px);
    for (const Vec2 p : {a_px, b_px}) line("dim", p + Vec2{-3, 3}, p + Vec2{3, -3});
    const bool is_level = std::abs(a_px.y - b_px.y) < 1;
    const Vec2 middle = (a_px + b_px) * 0.5;
    text("lbl halo", middle + Vec2{0, is_level ? -4.0 : 4.0}, Anchor::middle, words);
}

void Canvas::arrow(Vec2 from_px, Vec2 to_px) {
    const Vec2 along = normalized(to_px - from_px);
    line("pull", from_px, to_px);
    path("pull", {{{to_px - along * 9 + perp(along) * 4, to_px, to_px - along * 9 - perp(along) * 4}, false}});
}

Picture Canvas::finish(std::string title, std::string description) && {
    return {std::move(title), std::move(description), std::move(body_), width_, bottom() + margins_.bottom,
            scale_,           std::move(items_)};
}

void Canvas::path(std::string_view css, std::vector<PictureItem::Chain> chains) {
    std::string d;
    for (const PictureItem::Chain& chain : chains) d += chain_data(chain);
    body_ += "<path class=\"" + std::string(css) + "\" d=\"" + d + "\"/>";
    items_.push_back({PictureItem::Kind::path, std::string(css), std::move(chains)});
}

PictureItem::Chain Canvas::in_px(const std::vector<Vec2>& points, bool is_closed) const {
    PictureItem::Chain chain{{}, is_closed};
    for (const Vec2 p : points) chain.points.push_back(at(p));
    return chain;
}

int LabelRows::place(double x, std::size_t letters) {
    const double half = static_cast<double>(letters) * letter_px / 2;
    std::size_t row = 0;
    while (row < ends_.size() && ends_[row] > x - half) ++row;
    if (row == ends_.size()) ends_.push_back(0);
    ends_[row] = x + half + letter_px;
    return static_cast<int>(row);
}

bool LabelPlaces::claim(Vec2 middle, std::size_t letters) {
    const Vec2 half{static_cast<double>(letters) * letter_px / 2, row_px / 2};
    const Box2 room{middle - half, middle + half};
    const auto covers = [&](const Box2& other) {
        return room.low.x < other.high.x && other.low.x < room.high.x && room.low.y < other.high.y &&
               other.low.y < room.high.y;
    };
    if (std::any_of(taken_.begin(), taken_.end(), covers)) return false;
    taken_.push_back(room);
    return true;
}

}  // namespace cradlewright
