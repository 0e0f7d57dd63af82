// SPDX-License-Identifier: GPL-3.0-or-later
// Source: W3C, Scalable Vector Graphics 1.1, 8.3 (path data), 10.9 (text anchors).
#include "files/page_pictures.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include "cradlewright/output/drawing.hpp"
#include "files/markup.hpp"

namespace cradlewright {
namespace {

constexpr double wide_px = 720, narrow_px = 260;
constexpr double rib_px = 230;  // tallest rib

std::string in_system(UnitSystem units) { return units == UnitSystem::inch ? "inches" : "mm"; }

Vec2 yz(Vec3 p) { return {p.y, p.z}; }

// Part outlines in a view: `project` takes a fixture point to the view's plane.
template <class Project>
std::vector<Vec2> projected(const PlatePart& part, const Loop& loop, Project project) {
    std::vector<Vec2> points;
    for (const Vec2 p : flatten(loop, 0.1)) {
        points.push_back(project(placed(part, p)));
    }
    return points;
}
template <class Project>
std::vector<Vec2> projected(const PlatePart& part, Project project) {
    return projected(part, part.outline.outer, project);
}
template <class Project>
std::vector<Vec2> projected(const std::vector<Vec3>& chain, Project project) {
    std::vector<Vec2> points;
    std::transform(chain.begin(), chain.end(), std::back_inserter(points), project);
    return points;
}
void add(Box2& box, const std::vector<Vec2>& points) {
    for (const Vec2 p : points) {
        box.add(p);
    }
}

Vec2 middle_of(const std::vector<Vec2>& points) {
    Box2 box;
    add(box, points);
    return box.center();
}

// Points of an edge's stretch, both ends included.
template <class Point>
std::vector<Point> stretch(const std::vector<Point>& loop, std::size_t first, std::size_t last) {
    std::vector<Point> points{loop[first]};
    for (std::size_t i = first; i != last || points.size() == 1;) {
        i = (i + 1) % loop.size();
        points.push_back(loop[i]);
    }
    return points;
}

std::string short_panel_name(const std::string& id) { return id.starts_with("panel-") ? id.substr(6) : id; }

// ---- top view

/// Axes of the view against the pull: right = span, up = front.
class PullView {
public:
    explicit PullView(Vec3 pull) : frame_(frame_from_normal({}, pull, {1, 0, 0})) {}
    Vec2 operator()(Vec3 p) const {
        const Vec3 local = frame_.to_local(p);
        return {local.x, local.y};
    }

private:
    Frame3 frame_;
};

// On the plug's side of the line, moved up or down where another name stands.
void draw_edge_names(Canvas& canvas, const PartingLoop& loop, const PullView& view, LabelPlaces& places) {
    for (const PartingEdge& edge : loop.edges) {
        const std::vector<Vec2> points = projected(stretch(loop.panel_line, edge.first, edge.last), view);
        canvas.circle("node", canvas.at(points.front()), 3);
        const std::size_t middle = points.size() / 2;
        const Vec3 outward = stretch(loop.outward, edge.first, edge.last)[middle];
        const Vec2 inward = normalized(view(outward)) * -1.0;
        const double reach = 10 + static_cast<double>(edge.id.size()) * letter_px / 2;
        const Vec2 wanted = canvas.at(points[middle]) + Vec2{inward.x * reach, -inward.y * row_px};
        for (const int row : {0, 1, -1, 2, -2, 3, -3}) {
            const Vec2 at = wanted + Vec2{0, row_px * row};
            if (places.claim(at, edge.id.size() + 1)) {
                canvas.text("name halo", at + Vec2{0, 4}, Anchor::middle, edge.id);
                break;
            }
        }
    }
}

struct RibLine {
    std::string id;
    Vec2 low, high;
};
std::vector<RibLine> rib_lines(const Cradle& cradle, const PullView& view) {
    std::vector<RibLine> lines;
    for (const Rib& rib : cradle.ribs) {
        const std::vector<Vec2> points = projected(rib.part, view);
        const auto [low, high] = std::minmax_element(points.begin(), points.end(), [](Vec2 a, Vec2 b) {
            return std::pair{a.y, a.x} < std::pair{b.y, b.x};
        });
        lines.push_back({rib.part.id, *low, *high});
    }
    std::sort(lines.begin(), lines.end(), [](const auto& a, const auto& b) { return a.high < b.high; });
    return lines;
}

// ---- end view

/// Of the ribs square to the span; none in a cradle without any.
const Rib* middle_rib(const Cradle& cradle) {
    std::vector<const Rib*> across;
    for (const Rib& rib : cradle.ribs)
        if (std::abs(rib.part.frame.z.x) >= std::abs(rib.part.frame.z.y)) across.push_back(&rib);
    return across.empty() ? nullptr : across[across.size() / 2];
}

// ---- ribs

/// A rib's outline in the axes of its drawing, height up: a shift and perhaps a mirror of the part frame.
Region in_drawing(const PlatePart& part) {
    const bool is_across_x = std::abs(part.frame.z.x) >= std::abs(part.frame.z.y);
    const auto map = [&](Vec2 p) {
        const Vec3 q = part.frame.to_parent(p);
        return Vec2{is_across_x ? q.y : q.x, q.z};
    };
    const Vec2 zero = map({0, 0});
    const bool is_mirrored = cross(map({1, 0}) - zero, map({0, 1}) - zero) < 0;
    const auto map_loop = [&](Loop loop) {
        for (PathVertex& v : loop.vertices) {
            v.at = map(v.at);
            v.bulge = is_mirrored ? -v.bulge : v.bulge;
        }
        return loop;
    };
    Region region{map_loop(part.outline.outer), {}};
    for (const Loop& hole : part.outline.holes) {
        region.holes.push_back(map_loop(hole));
    }
    return region;
}

struct SeatLabel {
    Vec2 at;
    std::string text;
};
std::vector<SeatLabel> seat_labels(const Rib& rib, UnitSystem units) {
    std::vector<SeatLabel> labels;
    for (const std::vector<Vec2>& seat : rib.seats) {
        if (seat.empty()) {
            continue;
        }
        const std::string left = dimension_text(seat.front().y, units), right = dimension_text(seat.back().y, units);
        labels.push_back({(seat.front() + seat.back()) * 0.5, left == right ? left : left + " to " + right});
    }
    std::sort(labels.begin(), labels.end(), [](const auto& a, const auto& b) { return a.at < b.at; });
    return labels;
}

void draw_seat_labels(Canvas& canvas, const std::vector<SeatLabel>& labels, double top_px) {
    LabelRows rows;
    for (const SeatLabel& label : labels) {
        const Vec2 seat = canvas.at(label.at);
        const double y = top_px - row_px * rows.place(seat.x, label.text.size());
        canvas.line("lead", {seat.x, y + 3}, seat);
        canvas.text("lbl halo", {seat.x, y}, Anchor::middle, label.text);
    }
}

int rows_needed(const std::vector<SeatLabel>& labels, const Canvas& canvas) {
    LabelRows rows;
    for (const SeatLabel& label : labels) {
        rows.place(canvas.at(label.at).x, label.text.size());
    }
    return rows.count();
}

// Drop lines from the saddle with distance and height written under the base, as on a table of offsets.
void draw_offsets(Canvas& canvas, const Rib& rib, const std::vector<double>& offsets, UnitSystem units) {
    const double row_y = canvas.bottom() + row_px, row_height = row_y + row_px;
    if (rib.saddle.empty()) {
        return;
    }
    canvas.text("lbl", {4, row_y}, Anchor::start, "from centre");
    canvas.text("lbl strong", {4, row_height}, Anchor::start, "height");
    LabelPlaces places;
    for (const double y : offsets) {
        const double height = saddle_height(rib, y);
        if (!std::isfinite(height)) {
            continue;
        }
        const Vec2 foot = canvas.at({y, 0});
        const std::string across = dimension_text(y, units), up = dimension_text(height, units);
        canvas.circle("node", canvas.at({y, height}), 2);
        if (places.claim(foot, std::max(across.size(), up.size()) + 1)) {  // the rest stands in the table of offsets
            canvas.line("lead", foot, canvas.at({y, height}));
            canvas.text("lbl", {foot.x, row_y}, Anchor::middle, across);
            canvas.text("lbl strong", {foot.x, row_height}, Anchor::middle, up);
        }
    }
}

}  // namespace

std::string counted(std::size_t count, std::string_view one, std::string_view many) {
    return std::to_string(count) + " " + std::string(count == 1 ? one : many);
}

std::string short_number(double value, int decimals) {
    std::string text = fixed(value, decimals);
    if (text.find('.') != std::string::npos) {
        text.erase(text.find_last_not_of('0') + 1);
        text.erase(text.find_last_not_of('.') + 1);
    }
    return text;
}

std::string dimension_text(double mm, UnitSystem units) {
    if (!std::isfinite(mm)) {
        return "?";
    }
    if (units == UnitSystem::inch) {
        return inch_fraction(Length::mm(mm));
    }
    return short_number(mm, 1);
}

std::vector<double> offset_places(const Cradle& cradle, UnitSystem units) {
    double low = std::numeric_limits<double>::infinity(), high = -low;
    for (const Rib& rib : cradle.ribs) {
        for (const Vec2 p : rib.saddle) {
            low = std::min(low, p.x);
            high = std::max(high, p.x);
        }
    }
    const std::vector<double> steps_mm{2, 5, 10, 20, 25, 50, 100, 200, 250, 500, 1000};
    const std::vector<double> steps_in{1.0 / 8, 1.0 / 4, 1.0 / 2, 1, 2, 4, 6, 12, 24, 48};
    std::vector<double> places;
    for (const double step : units == UnitSystem::inch ? steps_in : steps_mm) {
        const double step_mm = units == UnitSystem::inch ? Length::inch(step).mm() : step;
        const double first = std::ceil(low / step_mm), last = std::floor(high / step_mm);
        if (last - first <= 10) {
            for (double k = first; k <= last; ++k) {
                places.push_back(k * step_mm);
            }
            break;
        }
    }
    return places;
}

double saddle_height(const Rib& rib, double y) {
    double height = std::numeric_limits<double>::quiet_NaN();
    for (std::size_t i = 0; i + 1 < rib.saddle.size(); ++i) {
        const Vec2 a = rib.saddle[i], b = rib.saddle[i + 1];
        if (std::min(a.x, b.x) <= y && y <= std::max(a.x, b.x)) {
            const double t = a.x < b.x || b.x < a.x ? (y - a.x) / (b.x - a.x) : 0;
            height = std::fmin(height, a.y + (b.y - a.y) * t);
        }
    }
    return height;
}

Picture draw_top_view(const Design& design) {
    const PullView view(design.posed.pose.pull_fixture);
    const std::vector<RibLine> ribs = rib_lines(design.cradle, view);
    Box2 box;
    for (const PartingLoop& loop : design.parting.loops) {
        add(box, projected(loop.panel_line, view));
    }
    for (const FlangePanel& panel : design.flange.panels) {
        add(box, projected(panel.part, view));
    }
    for (const RibLine& rib : ribs) {
        add(box, {rib.low, rib.high});
    }
    Canvas canvas(box, wide_px, 520, {.left = 20, .top = 20 + 2 * row_px, .right = 20, .bottom = 16});
    for (const FlangePanel& panel : design.flange.panels) {
        std::vector<std::vector<Vec2>> loops{projected(panel.part, view)};
        for (const Loop& hole : panel.part.outline.holes) {
            loops.push_back(projected(panel.part, hole, view));
        }
        canvas.loops("panel", loops);
    }
    LabelRows rows;
    for (const RibLine& rib : ribs) {
        canvas.line("rib", canvas.at(rib.low), canvas.at(rib.high));
        const double x = canvas.at(rib.high).x;
        const int row = rows.place(x, rib.id.size());
        if (row < 2) {  // more ribs than room: the others are counted from these
            canvas.text("lbl", {x, 14 + row_px * row}, Anchor::middle, rib.id);
            canvas.line("lead", {x, 17 + row_px * row}, canvas.at(rib.high));
        }
    }
    std::size_t edges = 0;
    LabelPlaces places;
    for (const PartingLoop& loop : design.parting.loops) {
        canvas.chain("parting", projected(loop.panel_line, view), true);
        draw_edge_names(canvas, loop, view, places);
        edges += loop.edges.size();
    }
    // Panels are numbered along the line, so a name left out for want of room follows from its neighbours.
    for (const FlangePanel& panel : design.flange.panels) {
        const std::string name = short_panel_name(panel.id);
        // A panel round the plug has its middle in the plug: its name goes beside its outer edge there.
        const std::vector<Vec2> outer = projected(panel.part, view);
        const bool is_ring = !panel.part.outline.holes.empty();
        const Vec2 middle =
            is_ring
                ? canvas.at(*std::min_element(outer.begin(), outer.end(), [](Vec2 a, Vec2 b) { return a.y < b.y; })) -
                      Vec2{0, 12}
                : canvas.at(middle_of(outer));
        if (places.claim(middle, name.size())) {
            canvas.text("lbl halo", middle + Vec2{0, 4}, Anchor::middle, name);
        }
    }
    return std::move(canvas).finish(
        "Parting line seen against the pull",
        "Front is up, end-a is left. " + counted(design.parting.loops.size(), "loop", "loops") +
            " of parting line in " + counted(edges, "edge", "edges") + ", " +
            counted(design.flange.panels.size(), "flange panel", "flange panels") + " along it, " +
            counted(design.cradle.ribs.size(), "rib", "ribs") + " under it.");
}

Picture draw_end_view(const Design& design) {
    const UnitSystem units = design.settings.units;
    const Box3& plug = design.posed.box_fixture;
    const PlatePart& base = design.cradle.base;
    Box2 box;
    add(box, {yz(plug.low), yz(plug.high), {0, -base.thickness_mm}});
    for (const FlangePanel& panel : design.flange.panels) {
        add(box, projected(panel.part, yz));
    }
    const std::vector<Vec2> board = projected(base, yz);
    add(box, board);
    const Rib* rib = middle_rib(design.cradle);
    Canvas canvas(box, wide_px, 320, {.left = 20, .top = 58, .right = 86, .bottom = 16});
    if (!board.empty()) {
        Box2 side;
        add(side, board);
        canvas.chain(
            "board",
            {{side.low.x, -base.thickness_mm}, {side.high.x, -base.thickness_mm}, {side.high.x, 0}, {side.low.x, 0}},
            true);
    }
    if (rib != nullptr) canvas.region("wood", in_drawing(rib->part));
    const double cut_x = rib != nullptr ? rib->station_mm : plug.center().x;
    std::vector<std::vector<Vec2>> material;
    for (const SliceLoop& loop : section_plug(design.posed, cut_x)) material.push_back(loop.points);
    canvas.loops("section", material);
    canvas.chain("ghost", {yz(plug.low), {plug.high.y, plug.low.z}, yz(plug.high), {plug.low.y, plug.high.z}}, true);
    for (const FlangePanel& panel : design.flange.panels) {
        canvas.chain("panel thin", projected(panel.part, yz), true);
    }
    for (const PartingLoop& loop : design.parting.loops) {
        canvas.chain("parting", projected(loop.panel_line, yz), true);
    }
    const Vec2 from = canvas.at({plug.center().y, plug.high.z}) + Vec2{0, 4};
    const Vec2 pull = normalized(yz(design.posed.pose.pull_fixture));
    const Vec2 to = from + Vec2{pull.x, -pull.y} * 44;
    canvas.arrow(from, to);
    canvas.text("lbl strong", to + Vec2{8, 4}, Anchor::start, "pull");
    const double side_px = wide_px - 46;
    canvas.dimension({side_px, canvas.at({0, 0}).y}, {side_px, canvas.at({0, plug.high.z}).y},
                     dimension_text(plug.high.z, units));
    return std::move(canvas).finish(
        "The plug as it stands, seen from end-b",
        "Front is right. The plug's top is " + dimension_text(plug.high.z, units) + " " + in_system(units) +
            " above the base, its lowest point " + dimension_text(plug.low.z, units) + " " + in_system(units) +
            ". Grey: the plug cut at " + dimension_text(cut_x, units) + " along the span" +
            (rib != nullptr ? ", over " + rib->part.id : "") +
            "; the dotted frame is the plug's overall box, the pull points as the arrow shows.");
}

namespace {

Picture panel_picture(const FlangePanel& panel, UnitSystem units, double width_px, double height_px, bool has_words) {
    const Box2 box = bounding_box(panel.part.outline);
    Canvas canvas(box, width_px, height_px, {.left = 12, .top = 12, .right = 52, .bottom = 30});
    LabelPlaces places;
    canvas.region("sheet", panel.part.outline);
    for (const Mark& mark : panel.part.marks) {
        switch (mark.kind) {
            case MarkKind::line:
                canvas.chain("mark", mark.points, false);
                break;
            case MarkKind::circle:
                canvas.circle("mark", canvas.at(mark.points.front()), mark.size_mm * canvas.scale());
                break;
            case MarkKind::cross:
                for (const Vec2 arm : {Vec2{mark.size_mm, 0}, Vec2{0, mark.size_mm}})
                    canvas.chain("mark", {mark.points.front() - arm, mark.points.front() + arm}, false);
                break;
            case MarkKind::text:  // true size would be too small to be read
                if (const Vec2 at = canvas.at(mark.points.front()); has_words) {
                    const double half = static_cast<double>(mark.text.size()) * letter_px / 2;
                    if (at.x + 2 * half < width_px && places.claim(at + Vec2{half, -4}, mark.text.size()))
                        canvas.text("lbl halo", at, Anchor::start, mark.text);
                }
                break;
        }
    }
    canvas.cut_edges(panel.part.outline.outer);
    for (const Loop& hole : panel.part.outline.holes) {
        canvas.cut_edges(hole);
    }
    const Vec2 low = canvas.at(box.low), high = canvas.at(box.high), size = box.size();
    canvas.dimension({low.x, low.y + 20}, {high.x, low.y + 20}, dimension_text(size.x, units));
    canvas.dimension({high.x + 22, low.y}, {high.x + 22, high.y}, dimension_text(size.y, units));
    return std::move(canvas).finish(
        "Flat pattern of " + panel.id,
        "Overall " + dimension_text(size.x, units) + " by " + dimension_text(size.y, units) + " " + in_system(units) +
            ", top face up. Thick edges fit the plug or a neighbour, dashed edges are rough.");
}

}  // namespace

Picture draw_panel(const FlangePanel& panel, UnitSystem units) {
    return panel_picture(panel, units, narrow_px, 130, false);
}
Picture draw_panel_large(const FlangePanel& panel, UnitSystem units) {
    return panel_picture(panel, units, wide_px, 360, true);
}

/// A long rib.
bool is_along_span(const Rib& rib) { return std::abs(rib.part.frame.z.y) > std::abs(rib.part.frame.z.x); }

Picture draw_rib(const Rib& rib, const std::vector<double>& offsets, UnitSystem units) {
    const Region region = in_drawing(rib.part);
    Box2 box = bounding_box(region);
    add(box, rib.envelope);
    box.add({box.center().x, 0});
    const std::vector<SeatLabel> labels = seat_labels(rib, units);
    Margins margins{.left = 76, .top = 20, .right = 30, .bottom = 2 * row_px + 10};
    margins.top += row_px * rows_needed(labels, Canvas(box, wide_px, rib_px, margins));
    Canvas canvas(box, wide_px, rib_px, margins);
    canvas.region("sheet", region);
    canvas.line("base", canvas.at({box.low.x, 0}), canvas.at({box.high.x, 0}));
    canvas.chain("plug", rib.envelope, false);
    draw_offsets(canvas, rib, offsets, units);
    canvas.cut_edges(region.outer);
    for (const Loop& hole : region.holes) {
        canvas.cut_edges(hole);
    }
    draw_seat_labels(canvas, labels, margins.top - 8);
    const auto lowest =
        std::min_element(rib.saddle.begin(), rib.saddle.end(), [](Vec2 a, Vec2 b) { return a.y < b.y; });
    return std::move(canvas).finish(
        rib.part.id + " seen from " + (is_along_span(rib) ? "the back" : "end-b"),
        std::string(is_along_span(rib) ? "End-b" : "Front") + " is right, heights from the top of the base. " +
            (lowest == rib.saddle.end()
                 ? std::string("It has no saddle. ")
                 : "The saddle is lowest at " + dimension_text(lowest->x, units) + " from the centre line, height " +
                       dimension_text(lowest->y, units) + " " + in_system(units) + ". ") +
            (labels.empty() ? "" : "Heights above it are of the seats of panels and stringers."));
}

Picture draw_bead(const BeadSection& section, double radius_mm, UnitSystem units) {
    const Vec3 along = normalized(section.on_panel - section.joint);
    const Vec3 to_ball = section.center - section.joint;
    const Vec3 up = normalized(to_ball - along * dot(to_ball, along));
    const auto flat = [&](Vec3 p) { return Vec2{dot(p - section.joint, along), dot(p - section.joint, up)}; };
    const Vec2 center = flat(section.center), on_plug = flat(section.on_plug), on_panel = flat(section.on_panel);
    const double r = radius_mm;
    // The plug goes on along the ball's tangent; from the joint to there it may curve.
    const Vec2 tangent = perp(normalized(on_plug - center));
    const Vec2 up_plug = on_plug + tangent * (tangent.y < 0 ? -r : r);
    Box2 box;
    add(box, {center + Vec2{r, r} * 1.05, center - Vec2{r, r} * 1.05, up_plug, {0, -0.35 * r}});
    Canvas canvas(box, narrow_px, 180, {.left = 16, .top = 16, .right = 16, .bottom = 16});

    const Vec2 from = on_plug - center, to = on_panel - center;
    const double sweep = std::atan2(cross(from, to), dot(from, to));
    std::vector<Vec2> clay{{0, 0}};
    constexpr int chords = 24;
    for (int k = 0; k <= chords; ++k) {
        const double a = sweep * k / chords;
        clay.push_back(center +
                       Vec2{from.x * std::cos(a) - from.y * std::sin(a), from.x * std::sin(a) + from.y * std::cos(a)});
    }
    canvas.chain("panel", {{0, 0}, {box.high.x, 0}, {box.high.x, -0.35 * r}, {0, -0.35 * r}}, true);
    canvas.chain("clay", clay, true);
    canvas.circle("ghost", canvas.at(center), r * canvas.scale());
    canvas.chain("plug", {{0, 0}, on_plug, up_plug}, false);
    canvas.line("lead", canvas.at(center), canvas.at(on_panel));
    canvas.line("lead", canvas.at(center), canvas.at(on_plug));
    for (const Vec2 p : {on_plug, on_panel}) {
        canvas.circle("node", canvas.at(p), 3);
    }
    const std::string radius = dimension_text(r, units), corner = fixed(section.corner_rad * 180 / std::numbers::pi, 1);
    canvas.text("lbl strong halo", canvas.at(center) + Vec2{0, -8}, Anchor::middle, "r " + radius);
    canvas.text("lbl halo", canvas.at({box.high.x, 0}) + Vec2{-6, 14}, Anchor::end, "panel");
    canvas.text("lbl halo", canvas.at(up_plug) + Vec2{6, 10}, Anchor::start, "plug");
    return std::move(canvas).finish("Bead where the corner is sharpest",
                                    "Ball of radius " + radius + " " + in_system(units) + " in a corner of " + corner +
                                        " degrees; the clay fills what the ball cannot reach.");
}

Picture draw_sheet(const Sheet& sheet, const std::vector<const PlatePart*>& parts, UnitSystem units) {
    Box2 box;
    add(box, {{0, 0}, {sheet.length_mm, sheet.width_mm}});
    Canvas canvas(box, wide_px, 400, {.left = 12, .top = 12, .right = 64, .bottom = 32});
    canvas.chain("board", {{0, 0}, {box.high.x, 0}, box.high, {0, box.high.y}}, true);
    for (const Placement& placement : sheet.placements) {
        const auto found =
            std::find_if(parts.begin(), parts.end(), [&](const auto* p) { return p->id == placement.part; });
        if (found == parts.end()) {
            continue;
        }
        const Region region = moved((*found)->outline, placement.angle_rad, placement.shift);
        canvas.region("part", region);
        const Box2 part_box = bounding_box(region);
        const double room = part_box.size().x * canvas.scale();
        if (room > static_cast<double>(placement.part.size()) * letter_px && part_box.size().y * canvas.scale() > 12) {
            canvas.text("lbl halo", canvas.at(part_box.center()) + Vec2{0, 4}, Anchor::middle, placement.part);
        }
    }
    const Vec2 low = canvas.at({0, 0}), high = canvas.at(box.high);
    canvas.dimension({low.x, low.y + 20}, {high.x, low.y + 20}, dimension_text(sheet.length_mm, units));
    canvas.dimension({high.x + 28, low.y}, {high.x + 28, high.y}, dimension_text(sheet.width_mm, units));
    std::string names;
    for (const Placement& placement : sheet.placements) {
        names += (names.empty() ? "" : ", ") + placement.part;
    }
    return std::move(canvas).finish("Sheet " + std::to_string(sheet.number) + " of " + sheet.stock,
                                    "Parts: " + names + ".");
}

}  // namespace cradlewright
