// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/output/drawing.hpp"

#include <algorithm>
#include <numbers>
#include <optional>

#include "catalog/text.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "output/saw_relief.hpp"

namespace cradlewright {

namespace {

constexpr double quarter_turn_rad = std::numbers::pi / 2;
/// Chords that stand for arcs where only crossings and clearances matter.
constexpr double sketch_sag_mm = 0.05;
/// Lines have a width: a page cut to the drawing's box shows all of it.
constexpr double drawn_width_mm = 2;

Layer layer_of(CutKind cut) { return cut == CutKind::fit ? Layer::cut_fit : Layer::cut_rough; }

Vec2 turned(Vec2 p, double angle_rad) {
    // A quarter turn is the common case and shall not smear zeros.
    if (angle_rad == quarter_turn_rad) return perp(p);
    const double c = std::cos(angle_rad), s = std::sin(angle_rad);
    return {c * p.x - s * p.y, s * p.x + c * p.y};
}

/// The outline as chains of one kind each; closed when it has only one.
void draw_loop(const Loop& loop, std::vector<DrawnPath>& paths) {
    const std::vector<PathVertex>& v = loop.vertices;
    const std::size_t n = v.size();
    std::vector<std::size_t> starts;
    for (std::size_t i = 0; i < n; ++i) {
        if (v[i].cut != v[(i + n - 1) % n].cut) starts.push_back(i);
    }
    if (starts.empty()) {
        if (n > 0) paths.push_back({layer_of(v[0].cut), v, true});
        return;
    }
    for (std::size_t k = 0; k < starts.size(); ++k) {
        const std::size_t end = k + 1 < starts.size() ? starts[k + 1] : starts[0] + n;
        DrawnPath path{layer_of(v[starts[k]].cut), {}, false};
        for (std::size_t i = starts[k]; i <= end; ++i) path.vertices.push_back(v[i % n]);
        path.vertices.back().bulge = 0;
        paths.push_back(std::move(path));
    }
}

DrawnPath straight_path(const std::vector<Vec2>& points) {
    return {Layer::mark, make_loop(points, CutKind::rough).vertices, false};
}

void draw_mark(const Mark& mark, Drawing& drawing) {
    CRADLEWRIGHT_PRECONDITION(!mark.points.empty());
    const Vec2 at = mark.points.front();
    switch (mark.kind) {
        case MarkKind::line:
            drawing.paths.push_back(straight_path(mark.points));
            break;
        case MarkKind::circle:
            drawing.paths.push_back({Layer::mark, make_circle(at, mark.size_mm, CutKind::rough, false).vertices, true});
            break;
        case MarkKind::cross:
            for (const Vec2 arm : {Vec2{mark.size_mm, 0}, Vec2{0, mark.size_mm}}) {
                drawing.paths.push_back(straight_path({at - arm, at + arm}));
            }
            break;
        case MarkKind::text:
            drawing.texts.push_back({at, mark.size_mm, 0, mark.text});
            break;
    }
}

struct Segment {
    Vec2 a, b;
};

void add_segments(const DrawnPath& path, std::vector<Segment>& segments) {
    const std::size_t n = path.vertices.size();
    for (std::size_t i = 0; i + (path.is_closed ? 0 : 1) < n; ++i) {
        Vec2 from = path.vertices[i].at;
        for (const Vec2 to : flatten_edge(from, path.vertices[(i + 1) % n].at, path.vertices[i].bulge, sketch_sag_mm)) {
            segments.push_back({from, to});
            from = to;
        }
    }
}

void add_segments(const DrawnText& text, std::vector<Segment>& segments) {
    const std::vector<Vec2> corners = text_corners(text);
    for (std::size_t i = 0; i < 4; ++i) segments.push_back({corners[i], corners[(i + 1) % 4]});
}

/// Whether a segment meets a box, edges included: separating axes of both.
bool meets(const Segment& s, const Box2& box) {
    if (std::max(s.a.x, s.b.x) < box.low.x || std::min(s.a.x, s.b.x) > box.high.x) return false;
    if (std::max(s.a.y, s.b.y) < box.low.y || std::min(s.a.y, s.b.y) > box.high.y) return false;
    const Vec2 n = perp(s.b - s.a), half = box.size() * 0.5;
    return std::abs(dot(n, box.center() - s.a)) <= std::abs(n.x) * half.x + std::abs(n.y) * half.y;
}

/// Looks for a place for a text of given height: points of a grid over the part, nearest to the middle first.
std::optional<DrawnText> place_text(const std::string& words, double height_mm, double angle_rad,
                                    const Polygons& outline, const std::vector<Segment>& keep_off) {
    constexpr int grid = 24;
    constexpr double air = 0.5;  // of the height, on all sides
    DrawnText text{{}, height_mm, angle_rad, words};
    Vec2 half{text_width_mm(text) / 2, height_mm / 2};
    const Vec2 to_start = turned(-half, angle_rad);
    half = half + Vec2{air, air} * height_mm;
    if (angle_rad != 0) std::swap(half.x, half.y);
    Box2 box;
    for (const Vec2 p : outline.front()) box.add(p);

    std::vector<Vec2> places;
    for (int i = 1; i < grid; ++i) {
        for (int j = 1; j < grid; ++j) {
            places.push_back({box.low.x + box.size().x * i / grid, box.low.y + box.size().y * j / grid});
        }
    }
    const auto off_center = [&](Vec2 p) { return dot(p - box.center(), p - box.center()); };
    std::stable_sort(places.begin(), places.end(), [&](Vec2 p, Vec2 q) { return off_center(p) < off_center(q); });
    for (const Vec2 place : places) {
        const Box2 room{place - half, place + half};
        const auto is_hit = [&](const Segment& s) { return meets(s, room); };
        // No line enters the room, so one point inside tells for all of it.
        if (!contains(outline, place) || std::any_of(keep_off.begin(), keep_off.end(), is_hit)) continue;
        text.at = place + to_start;
        return text;
    }
    return std::nullopt;
}

DrawnText label_of(const PlatePart& part, const Drawing& drawing) {
    const Polygons outline = to_polygons(part.outline, sketch_sag_mm);
    std::vector<Segment> cuts, all;
    for (const DrawnPath& path : drawing.paths) {
        add_segments(path, all);
        if (path.layer != Layer::mark) add_segments(path, cuts);
    }
    for (const DrawnText& text : drawing.texts) add_segments(text, all);
    for (const std::vector<Segment>* keep_off : {&all, &cuts}) {
        for (const double height : {10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.5}) {
            for (const double angle : {0.0, quarter_turn_rad}) {
                if (const auto text = place_text(part.id, height, angle, outline, *keep_off)) return *text;
            }
        }
    }
    // No room anywhere: beside the part is better than across a cut.
    const Box2 box = bounding_box(part.outline);
    return {{box.low.x, box.low.y - 5}, 3, 0, part.id};
}

Box2 box_of(const DrawnText& text) {
    Box2 box;
    for (const Vec2 corner : text_corners(text)) box.add(corner);
    return box;
}

bool overlap(const Box2& a, const Box2& b) {
    return a.low.x < b.high.x && b.low.x < a.high.x && a.low.y < b.high.y && b.low.y < a.high.y;
}

/// Moves texts of marks up or down where they would be written over each other, as at two slots side by side. A text
/// for which there is no room stays.
void spread_texts(const PlatePart& part, Drawing& drawing) {
    constexpr double line_step = 1.4;  // of the height
    const Polygons outline = to_polygons(part.outline, sketch_sag_mm);
    std::vector<Segment> cuts;
    for (const DrawnPath& path : drawing.paths)
        if (path.layer != Layer::mark) add_segments(path, cuts);
    for (std::size_t i = 1; i < drawing.texts.size(); ++i) {
        const DrawnText wanted = drawing.texts[i];
        const auto is_written_over = [&](const DrawnText& text) {
            return std::any_of(drawing.texts.begin(), drawing.texts.begin() + static_cast<std::ptrdiff_t>(i),
                               [&](const DrawnText& other) { return overlap(box_of(text), box_of(other)); });
        };
        const auto is_on_part = [&](const DrawnText& text) {
            const Box2 box = box_of(text);
            return contains(outline, box.center()) &&
                   std::none_of(cuts.begin(), cuts.end(), [&](const Segment& s) { return meets(s, box); });
        };
        if (!is_written_over(wanted)) continue;
        for (const double lines : {1.0, -1.0, 2.0, -2.0, 3.0, -3.0}) {
            DrawnText moved_text = wanted;
            moved_text.at.y += lines * line_step * wanted.height_mm;
            if (is_written_over(moved_text) || !is_on_part(moved_text)) continue;
            drawing.texts[i] = moved_text;
            break;
        }
    }
}

bool is_labelled(const PlatePart& part) {
    return std::any_of(part.marks.begin(), part.marks.end(),
                       [&](const Mark& mark) { return mark.kind == MarkKind::text && mark.text == part.id; });
}

int tile_count(double length, double usable, double overlap) {
    return std::max(1, static_cast<int>(std::ceil((length - overlap) / (usable - overlap))));
}

/// Length of a page cut from a roll: room for the check bars at least, at most what PDF readers take (14 400 points).
double roll_length(const Drawing& drawing, const PaperOptions& options) {
    constexpr double shortest_mm = 200, longest_mm = 5000;
    return std::clamp(drawing.box().size().y + 2 * options.margin.mm() + drawn_width_mm, shortest_mm, longest_mm);
}

/// Pages of a drawing as it lies, those without ink left out.
Tiling tile_as_is(const Drawing& drawing, const PaperSize& paper, const PaperOptions& options) {
    Tiling tiling{.page_width_mm = paper.width_mm,
                  .page_height_mm = paper.height_mm > 0 ? paper.height_mm : roll_length(drawing, options),
                  .margin_mm = options.margin.mm(),
                  .overlap_mm = options.overlap.mm(),
                  .drawing = drawing,
                  .tiles = {}};
    const Box2 box = drawing.box();
    const Vec2 window = tiling.window(), step = window - Vec2{1, 1} * tiling.overlap_mm;
    if (!(step.x > 0 && step.y > 0)) {
        throw Error(ErrorCode::bad_input, "paper", "margins and overlap leave no room on the paper",
                    "set smaller paper.margin or paper.overlap, or larger paper.size");
    }
    if (box.is_empty()) return tiling;
    tiling.columns = tile_count(box.size().x, window.x, tiling.overlap_mm);
    tiling.rows = tile_count(box.size().y, window.y, tiling.overlap_mm);
    const Vec2 covered{step.x * tiling.columns + tiling.overlap_mm, step.y * tiling.rows + tiling.overlap_mm};
    const Vec2 corner{box.center().x - covered.x / 2, box.center().y + covered.y / 2};  // upper left of all pages

    std::vector<Segment> ink;
    for (const DrawnPath& path : drawing.paths) add_segments(path, ink);
    for (const DrawnText& text : drawing.texts) add_segments(text, ink);
    for (int row = 0; row < tiling.rows; ++row) {
        for (int column = 0; column < tiling.columns; ++column) {
            const Vec2 low{corner.x + step.x * column, corner.y - step.y * row - window.y};
            const Box2 page{low, low + window};
            if (std::any_of(ink.begin(), ink.end(), [&](const Segment& s) { return meets(s, page); })) {
                tiling.tiles.push_back({drawing.title, row, column, low});
            }
        }
    }
    return tiling;
}

}  // namespace

std::string_view layer_name(Layer layer) {
    constexpr std::string_view names[] = {"cut-fit", "cut-rough", "mark", "text"};
    return names[static_cast<std::size_t>(layer)];
}

double text_width_mm(const DrawnText& text) {
    // Capital M is 0.833 em wide and capitals 0.718 em high (Helvetica); mixed ids average two thirds of that.
    constexpr double width_per_height = 0.85;
    return width_per_height * text.height_mm * static_cast<double>(text.text.size());
}

std::vector<Vec2> text_corners(const DrawnText& text) {
    const Vec2 along = turned({text_width_mm(text), 0}, text.angle_rad);
    const Vec2 up = turned({0, text.height_mm}, text.angle_rad);
    return {text.at, text.at + along, text.at + along + up, text.at + up};
}

Box2 Drawing::box() const {
    Box2 box;
    for (const DrawnPath& path : paths) {
        const std::size_t n = path.vertices.size();
        for (std::size_t i = 0; i + (path.is_closed ? 0 : 1) < n; ++i) {
            const Box2 edge = edge_box(path.vertices[i].at, path.vertices[(i + 1) % n].at, path.vertices[i].bulge);
            box.add(edge.low);
            box.add(edge.high);
        }
    }
    for (const DrawnText& text : texts) {
        for (const Vec2 corner : text_corners(text)) box.add(corner);
    }
    return box;
}

Drawing draw_part(const PlatePart& part) {
    Drawing drawing{.title = part.id, .paths = {}, .texts = {}};
    draw_loop(part.outline.outer, drawing.paths);
    for (const Loop& hole : part.outline.holes) draw_loop(hole, drawing.paths);
    for (const Mark& mark : part.marks) draw_mark(mark, drawing);
    spread_texts(part, drawing);
    if (part.bend) {
        for (const BendMap::Ruling& ruling : part.bend->rulings) {
            drawing.paths.push_back(straight_path({ruling.from, ruling.to}));
        }
    }
    if (!part.outline.outer.vertices.empty() && !is_labelled(part)) drawing.texts.push_back(label_of(part, drawing));
    return drawing;
}

Drawing draw_to_cut(const PlatePart& part, const Settings& settings) {
    Drawing drawing = draw_part(part);
    if (settings.cut_by != CutMethod::router)
        for (const Mark& cut : relief_cuts(part, settings.saw)) draw_mark(cut, drawing);
    return drawing;
}

Drawing draw_sheet(const Sheet& sheet, const Design& design) {
    const std::string name = "sheet-" + sheet.stock + "-" + std::to_string(sheet.number);
    Drawing drawing{.title = name, .paths = {}, .texts = {}};
    const Loop edge = make_rectangle({0, 0}, {sheet.length_mm, sheet.width_mm}, CutKind::rough);
    drawing.paths.push_back({Layer::mark, edge.vertices, true});
    const std::vector<const PlatePart*> parts = all_parts(design);
    for (const Placement& placement : sheet.placements) {
        const auto part = std::find_if(parts.begin(), parts.end(), [&](auto* p) { return p->id == placement.part; });
        CRADLEWRIGHT_PRECONDITION(part != parts.end());
        Drawing placed = moved(draw_part(**part), placement.angle_rad, placement.shift);
        std::move(placed.paths.begin(), placed.paths.end(), std::back_inserter(drawing.paths));
        std::move(placed.texts.begin(), placed.texts.end(), std::back_inserter(drawing.texts));
    }
    return drawing;
}

Drawing moved(const Drawing& drawing, double angle_rad, Vec2 shift) {
    Drawing result = drawing;
    for (DrawnPath& path : result.paths) {
        for (PathVertex& v : path.vertices) v.at = turned(v.at, angle_rad) + shift;
    }
    for (DrawnText& text : result.texts) {
        text.at = turned(text.at, angle_rad) + shift;
        text.angle_rad += angle_rad;
    }
    return result;
}

Slice section_plug(const PosedPlug& posed, double x_mm) {
    const Frame3& to_fixture = posed.pose.scan_to_fixture;
    const Frame3 in_scan{to_fixture.to_local({x_mm, 0, 0}), to_fixture.direction_to_local({0, 1, 0}),
                         to_fixture.direction_to_local({0, 0, 1}), to_fixture.direction_to_local({1, 0, 0})};
    const double height = 0;
    return slice_mesh(posed.mesh(), in_scan, {&height, 1}).front();
}

std::string tile_name(int row, int column) {
    std::string letters;
    for (int rest = row; rest >= 0; rest = rest / 26 - 1)
        letters.insert(letters.begin(), static_cast<char>('A' + rest % 26));
    return letters + std::to_string(column + 1);
}

Vec2 Tiling::window() const { return {page_width_mm - 2 * margin_mm, page_height_mm - 2 * margin_mm}; }

Tiling tile_drawing(const Drawing& drawing, const PaperOptions& paper) {
    const PaperSize size = paper_size(paper);
    const Tiling upright = tile_as_is(drawing, size, paper);
    Tiling turned_one = tile_as_is(moved(drawing, quarter_turn_rad, {}), size, paper);
    turned_one.is_turned = true;
    const auto paper_of = [](const Tiling& t) {
        const auto pages = static_cast<double>(t.tiles.size());
        return std::pair(pages, pages * t.page_height_mm);
    };
    return paper_of(turned_one) < paper_of(upright) ? turned_one : upright;
}

std::vector<const PlatePart*> parts_to_print(const Design& design) {
    const std::vector<const PlatePart*> all = all_parts(design);
    const std::vector<std::string_view> wanted = split_list(design.settings.paper.parts);
    if (wanted.empty()) return all;
    const auto is_called = [](const PlatePart* part, std::string_view name) {
        return part->id == name || part_kind_name(part->kind) == name;
    };
    for (const std::string_view name : wanted) {
        if (std::any_of(all.begin(), all.end(), [&](const PlatePart* part) { return is_called(part, name); })) continue;
        std::vector<std::string> known;
        for (const PlatePart* part : all)
            known.insert(known.end(), {part->id, std::string(part_kind_name(part->kind))});
        const std::string near = nearest_name(name, known);
        throw Error(ErrorCode::bad_input, "paper.parts", "no part or kind \"" + std::string(name) + "\" in this design",
                    near.empty() ? "cutlist.csv lists the parts" : "did you mean " + near + "?");
    }
    std::vector<const PlatePart*> chosen;
    std::copy_if(all.begin(), all.end(), std::back_inserter(chosen), [&](const PlatePart* part) {
        return std::any_of(wanted.begin(), wanted.end(), [&](std::string_view name) { return is_called(part, name); });
    });
    return chosen;
}

}  // namespace cradlewright
