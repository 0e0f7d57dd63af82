// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/panel_support.hpp"

#include <algorithm>
#include <cmath>

#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/mechanics/section.hpp"
#include "cradlewright/mechanics/sheet.hpp"

namespace cradlewright {
namespace {

constexpr double below_mm = 0.8;          // a point so far under the contact must be inside the plate that carries it
constexpr double below_notch_mm = 5;      // a notch for a leaning strip is deeper than the strip
constexpr double sample_mm = 3;           // along lines of contact
constexpr double under_mm = 1.5;          // a strip this near a panel's underside lies under it
constexpr double cells_across = 8;        // the width of a panel
constexpr double most_columns = 160;      // a longer panel gets longer cells
constexpr double least_glue_line_mm = 6;  // shorter ones are corners that touch
constexpr double load_step_mm = 25;       // between places of the squeegee

struct Upright {
    const PlatePart* part = nullptr;
    Polygons shape;
    [[nodiscard]] bool has_below(Vec3 contact, double depth_mm) const {
        const Vec3 q = part->frame.to_local(contact - Vec3{0, 0, depth_mm});
        return contains(shape, {q.x, q.y});
    }
};
std::vector<Upright> uprights_of(const Cradle& cradle) {
    std::vector<Upright> uprights;
    const auto add = [&](const PlatePart& part) {
        if (!part.outline.outer.vertices.empty()) uprights.push_back({&part, to_polygons(part.outline, 0.05)});
    };
    for (const PlatePart* plate : standing_plates(cradle)) add(*plate);
    return uprights;
}

std::vector<double> supports_along(const Stringer& stringer, const std::vector<Upright>& uprights) {
    const Vec3 along = stringer.to - stringer.from;
    const double length = norm(along);
    const Vec3 foot = stringer.from - stringer.part.frame.y * stringer.height_mm;  // its lower edge bears
    std::vector<double> places;
    for (const Upright& upright : uprights) {
        const Frame3& frame = upright.part->frame;
        const double speed = dot(along, frame.z);
        if (std::abs(speed) < 0.1 * length) continue;  // runs beside it, not over it
        // From face to face, as far as the strip reaches.
        const double drawn = dot(frame.origin - foot, frame.z) / speed,
                     back = drawn - upright.part->thickness_mm / speed;
        const double low = std::max(0.0, std::min(drawn, back)), high = std::min(1.0, std::max(drawn, back));
        if ((high - low) * length < least_strip_bearing_mm) continue;
        const double t = std::clamp(0.5 * (drawn + back), 0.0, 1.0);
        if (upright.has_below(foot + along * t, below_notch_mm)) places.push_back(t * length);
    }
    std::sort(places.begin(), places.end());
    constexpr double same_mm = 1;
    places.erase(std::unique(places.begin(), places.end(), [](double a, double b) { return b - a < same_mm; }),
                 places.end());
    return places;
}

bool is_carried(const std::vector<double>& supports) { return supports.size() >= 2; }

/// Samples along a line, those that bear gathered into stretches without a break.
class Stretches {
public:
    void add(Vec2 at, bool bears) {
        if (bears && !is_open_) found_.emplace_back();
        if (bears) found_.back().push_back(at);
        is_open_ = bears;
    }
    [[nodiscard]] const std::vector<std::vector<Vec2>>& found() const { return found_; }

private:
    std::vector<std::vector<Vec2>> found_;
    bool is_open_ = false;
};

/// Stretches of the line in which an upright meets the panel's underside, sampled where there is material below;
/// `share` of its thickness lies between that line and its drawn face.
Stretches upright_stretches(const Frame3& p, const Polygons& outline, const Box2& box, const Upright& upright,
                            double drop_mm, double share) {
    const Frame3& u = upright.part->frame;
    const Vec2 gradient{dot(u.z, p.x), dot(u.z, p.y)};  // of the distance to the upright's drawn face, over the panel
    const double slope = norm(gradient);
    Stretches stretches;
    if (slope < 0.1) return stretches;
    const Vec2 across = gradient / slope, along = perp(across);
    const Vec2 middle = (box.low + box.high) * 0.5;
    const double reach = norm(box.size()) / 2;
    const double offset = dot(u.z, p.to_parent(Vec3{middle.x, middle.y, -drop_mm}) - u.origin);
    const double shift = (-share * upright.part->thickness_mm - offset) / slope;
    for (double s = -reach; s <= reach; s += sample_mm) {
        const Vec2 at = middle + across * shift + along * s;
        stretches.add(at,
                      contains(outline, at) && upright.has_below(p.to_parent(Vec3{at.x, at.y, -drop_mm}), below_mm));
    }
    return stretches;
}

/// Contact of an upright's two faces, a hair inside each.
void add_upright(std::vector<Vec2>& points, const Frame3& p, const Polygons& outline, const Box2& box,
                 const Upright& upright, double drop_mm) {
    for (const double share : {0.02, 0.98}) {
        const Stretches stretches = upright_stretches(p, outline, box, upright, drop_mm, share);
        for (const std::vector<Vec2>& stretch : stretches.found())
            points.insert(points.end(), stretch.begin(), stretch.end());
    }
}

/// Stretches of a strip's middle line right below the panel's underside.
Stretches strip_stretches(const FlangePanel& panel, const Polygons& outline, const Stringer& stringer, double drop_mm) {
    const Vec3 run = stringer.to - stringer.from;
    const auto count = std::max(1.0, std::ceil(norm(run) / sample_mm));
    Stretches stretches;
    for (double i = 0; i <= count; ++i) {
        const Vec3 at = on_pattern(panel.part, stringer.from + run * (i / count));
        stretches.add({at.x, at.y}, std::abs(at.z + drop_mm) <= under_mm && contains(outline, {at.x, at.y}));
    }
    return stretches;
}

void add_stringer(std::vector<Vec2>& points, const FlangePanel& panel, const Polygons& outline,
                  const Stringer& stringer, double drop_mm) {
    const Vec3 run = stringer.to - stringer.from;
    const double length = norm(run);
    const auto count = std::max(1.0, std::ceil(length / sample_mm));
    for (double i = 0; i <= count; ++i) {
        const Vec3 place = stringer.from + run * (i / count);
        const Frame3& top = frame_near(panel.part, place);
        const Vec3 at = top.to_local(place), along = top.direction_to_local(run);
        if (std::abs(at.z + drop_mm) > under_mm) continue;
        const Vec2 middle{at.x, at.y}, side = perp(normalized(Vec2{along.x, along.y})) * (stringer.width_mm / 2);
        for (const Vec2 edge : {middle - side, middle + side})
            if (contains(outline, edge)) points.push_back(edge);
    }
}

/// Cells whose middle is on the sheet, the largest piece that hangs together along cell edges.
SheetGrid grid_over(const Polygons& outline, const Box2& box, double width_mm) {
    SheetGrid grid;
    const Vec2 size = box.size();
    const double cell = std::max(width_mm / cells_across, std::max(size.x, size.y) / most_columns);
    grid.low = box.low;
    grid.columns = static_cast<std::size_t>(std::max(2.0, std::ceil(size.x / cell)));
    grid.rows = static_cast<std::size_t>(std::max(2.0, std::ceil(size.y / cell)));
    grid.step_x_mm = size.x / static_cast<double>(grid.columns);
    grid.step_y_mm = size.y / static_cast<double>(grid.rows);
    grid.is_solid.assign(grid.columns * grid.rows, 0);
    for (std::size_t r = 0; r < grid.rows; ++r)
        for (std::size_t c = 0; c < grid.columns; ++c)
            if (contains(outline, grid.node(c, r) + Vec2{grid.step_x_mm / 2, grid.step_y_mm / 2}))
                grid.is_solid[r * grid.columns + c] = 1;
    return grid;
}
void keep_largest_piece(SheetGrid& grid) {
    std::vector<std::uint32_t> piece(grid.is_solid.size(), 0);
    std::uint32_t count = 0, largest = 0;
    std::size_t most = 0;
    std::vector<std::size_t> todo;
    for (std::size_t start = 0; start < piece.size(); ++start) {
        if (grid.is_solid[start] == 0 || piece[start] != 0) continue;
        ++count;
        std::size_t size = 0;
        piece[start] = count;
        todo.push_back(start);
        while (!todo.empty()) {
            const std::size_t cell = todo.back(), c = cell % grid.columns, r = cell / grid.columns;
            todo.pop_back();
            ++size;
            const auto visit = [&](bool is_inside, std::size_t next) {
                if (!is_inside || grid.is_solid[next] == 0 || piece[next] != 0) return;
                piece[next] = count;
                todo.push_back(next);
            };
            visit(c > 0, cell - 1);
            visit(c + 1 < grid.columns, cell + 1);
            visit(r > 0, cell - grid.columns);
            visit(r + 1 < grid.rows, cell + grid.columns);
        }
        if (size <= most) continue;
        most = size;
        largest = count;
    }
    for (std::size_t i = 0; i < piece.size(); ++i) grid.is_solid[i] = piece[i] == largest && count > 0 ? 1 : 0;
}

struct Place {
    Vec2 at, along;    // the squeegee lies along the panel line
    double share = 1;  // of its force
};
struct LoadPlaces {
    std::vector<Place> near_plug, away;
};

bool is_on_sheet(const SheetGrid& grid, Vec2 p) {
    const double c = std::floor((p.x - grid.low.x) / grid.step_x_mm),
                 r = std::floor((p.y - grid.low.y) / grid.step_y_mm);
    if (c < 0 || r < 0 || c >= static_cast<double>(grid.columns) || r >= static_cast<double>(grid.rows)) return false;
    return grid.is_solid[static_cast<std::size_t>(r) * grid.columns + static_cast<std::size_t>(c)] != 0;
}

/// Steps from the panel line square away from it: distances at which there is sheet, first and last.
struct Reach {
    double first = 0, last = 0;
};
Reach sheet_beside(const SheetGrid& grid, Vec2 from, Vec2 direction, double most_mm) {
    const double step = 0.25 * std::min(grid.step_x_mm, grid.step_y_mm);
    Reach reach{-1, -1};
    for (double s = 0; s <= most_mm; s += step) {
        if (is_on_sheet(grid, from + direction * s)) {
            if (reach.first < 0) reach.first = s;
            reach.last = s;
        } else if (reach.first >= 0) {
            break;
        }
    }
    return reach;
}

/// A place on a chain by its arc length.
struct OnLine {
    Vec2 at, along;
};
OnLine point_at(const std::vector<Vec2>& line, double arc_mm) {
    for (std::size_t i = 0; i + 1 < line.size(); ++i) {
        const double length = norm(line[i + 1] - line[i]);
        if (length < arc_mm && i + 2 < line.size()) {
            arc_mm -= length;
            continue;
        }
        const Vec2 along = normalized(line[i + 1] - line[i]);
        return {line[i] + along * std::min(arc_mm, length), along};
    }
    return {};
}
double length_of(const std::vector<Vec2>& line) {
    double length = 0;
    for (std::size_t i = 0; i + 1 < line.size(); ++i) length += norm(line[i + 1] - line[i]);
    return length;
}

/// Evenly along the panel line: beside the plug, in the middle of the width and at the far edge. At the ends of its run
/// a panel takes only the share of the squeegee that is over it; the neighbour takes the rest.
LoadPlaces load_places(const SheetGrid& grid, const std::vector<Vec2>& line, double width_mm, double squeegee_mm) {
    LoadPlaces places;
    const double total = length_of(line), most = 2 * width_mm;
    if (!(total > 0)) return places;
    const bool is_round = line.front() == line.back();
    const auto count = std::ceil(total / load_step_mm);
    for (double k = 0; k <= count; ++k) {
        const double arc = total * k / count;
        const auto [from, along] = point_at(line, arc);
        const Reach left = sheet_beside(grid, from, perp(along), most),
                    right = sheet_beside(grid, from, -perp(along), most);
        const bool is_left = left.last - left.first >= right.last - right.first && left.first >= 0;
        const Reach reach = is_left ? left : right;
        if (reach.first < 0) continue;
        const double over = std::min(arc + squeegee_mm / 2, total) - std::max(arc - squeegee_mm / 2, 0.0);
        const double share = is_round ? 1 : over / squeegee_mm;
        const Vec2 outward = is_left ? perp(along) : -perp(along);
        for (const double s : {reach.first, 0.5 * (reach.first + reach.last), reach.last})
            (s <= PanelDips::near_mm ? places.near_plug : places.away).push_back({from + outward * s, along, share});
    }
    return places;
}

}  // namespace

std::vector<double> stringer_supports(const Stringer& stringer, const Cradle& cradle) {
    return supports_along(stringer, uprights_of(cradle));
}

std::optional<Beam> stringer_beam(const Stringer& stringer, const std::vector<double>& supports,
                                  const Settings& settings, double e_mpa) {
    if (!is_carried(supports)) return std::nullopt;
    const Material& wood = material(stock(settings, stringer.part.stock).material);
    const SectionStiffness s =
        rectangle_stiffness(stringer.width_mm, stringer.height_mm, {e_mpa, shear_modulus_mpa(wood, e_mpa)});
    const double load = standard_gravity * wood.density_kg_mm3.value * stringer.width_mm * stringer.height_mm;
    const double length = norm(stringer.to - stringer.from);
    return Beam{{{0, s.ei_n_mm2, s.ga_n, load}, {length, s.ei_n_mm2, s.ga_n, load}}, supports, Hold::both_ways};
}

WorstDip stringer_dip(const Beam& beam, const Settings& settings) {
    std::vector<double> places;
    const double length = beam.points.back().x_mm;
    const auto count = std::max(1.0, std::ceil(length / (load_step_mm / 2)));
    for (double i = 0; i <= count; ++i) places.push_back(length * i / count);
    return worst_dip(beam, settings.limits.squeegee_load.n(), places);
}

std::vector<Vec2> panel_supports(const FlangePanel& panel, const Cradle& cradle, const Settings& settings) {
    const Polygons outline = to_polygons(panel.part.outline, 0.05);
    const double drop = panel.part.thickness_mm + settings.flange.glue.mm();
    const std::vector<Upright> uprights = uprights_of(cradle);
    std::vector<Vec2> points;
    for (const PlatePart& flat : flats_of(panel.part)) {
        const Polygons shape = to_polygons(flat.outline, 0.05);
        const Box2 box = bounding_box(flat.outline);
        for (const Upright& upright : uprights) add_upright(points, flat.frame, shape, box, upright, drop);
    }
    for (const Stringer& stringer : cradle.stringers)
        if (is_carried(supports_along(stringer, uprights))) add_stringer(points, panel, outline, stringer, drop);
    return points;
}

std::vector<GlueLine> glue_lines(const FlangePanel& panel, const Cradle& cradle, const Settings& settings) {
    const double drop = panel.part.thickness_mm + settings.flange.glue.mm();
    std::vector<GlueLine> lines;
    const auto add = [&](const std::string& part, const Stretches& stretches) {
        for (const std::vector<Vec2>& stretch : stretches.found())
            if (norm(stretch.back() - stretch.front()) >= least_glue_line_mm)
                lines.push_back({part, stretch.front(), stretch.back()});
    };
    const std::vector<Upright> uprights = uprights_of(cradle);
    for (const PlatePart& flat : flats_of(panel.part)) {
        const Polygons shape = to_polygons(flat.outline, 0.05);
        const Box2 box = bounding_box(flat.outline);
        for (const Upright& upright : uprights)
            add(upright.part->id, upright_stretches(flat.frame, shape, box, upright, drop, 0.5));
    }
    const Polygons outline = to_polygons(panel.part.outline, 0.05);
    for (const Stringer& stringer : cradle.stringers)
        add(stringer.part.id, strip_stretches(panel, outline, stringer, drop));
    return lines;
}

bool is_under_middle(const FlangePanel& panel, double x_mm) {
    Box3 box;
    for (const Vec2& p : flatten(panel.part.outline.outer, 0.05)) box.add(placed(panel.part, p));
    return std::abs(x_mm - box.center().x) <= box.size().x / 6;
}

double plate_tilt_dip_mm(const Settings& settings, double length_mm, double height_mm, double lever_mm) {
    const Stock& board = stock(settings, settings.cradle.rib_stock);
    const double t = board.thickness_mm, ei = material(board.material).e_mpa.low * length_mm * t * t * t / 12;
    return settings.limits.squeegee_load.n() * lever_mm * lever_mm * height_mm / ei;
}

std::vector<Vec3> panel_run(const FlangePanel& panel, const Parting& parting) {
    std::vector<Vec3> run;
    if (panel.loop >= parting.loops.size()) return run;
    const std::vector<Vec3>& line = parting.loops[panel.loop].panel_line;
    std::size_t i = panel.first;
    do {
        run.push_back(line[i]);
        i = (i + 1) % line.size();
    } while (i != panel.last);  // a panel that goes all round ends where it begins
    run.push_back(line[i]);
    return run;
}

std::optional<PanelDips> panel_dips(const FlangePanel& panel, const std::vector<Vec3>& line,
                                    const std::vector<Vec2>& supports, const Settings& settings) {
    SheetGrid grid = grid_over(to_polygons(panel.part.outline, 0.05), bounding_box(panel.part.outline), panel.width_mm);
    keep_largest_piece(grid);
    const Material& sheet = material(stock(settings, panel.part.stock).material);
    const BentSheet bent(grid, isotropic_sheet(sheet.e_mpa.value, sheet.poisson, panel.part.thickness_mm), supports);
    if (!bent.is_held()) return std::nullopt;

    std::vector<Vec2> flat_line;
    for (const Vec3& p : line) {
        const Vec3 q = on_pattern(panel.part, p);
        flat_line.push_back({q.x, q.y});
    }
    const LimitOptions& limits = settings.limits;
    const auto deepest = [&](const std::vector<Place>& places, double& dip, Vec3& where) {
        for (const auto& [at, along, share] : places) {
            const PatchLoad load{at, limits.squeegee_width.mm(), 0, share * limits.squeegee_load.n(), along};
            const std::vector<double> dips = bent.dips({&load, 1});
            const double here = *std::max_element(dips.begin(), dips.end());
            if (here <= dip) continue;
            dip = here;
            where = placed(panel.part, at);
        }
    };
    const LoadPlaces places = load_places(grid, flat_line, panel.width_mm, limits.squeegee_width.mm());
    if (places.near_plug.empty() && places.away.empty()) return std::nullopt;
    PanelDips dips;
    deepest(places.near_plug, dips.near_plug_mm, dips.near_plug_at);
    deepest(places.away, dips.away_mm, dips.away_at);
    return dips;
}

}  // namespace cradlewright
