// SPDX-License-Identifier: GPL-3.0-or-later
// Cutter compensation is the offset of all outlines of a sheet at once, so that no cut bites into a neighbour; loops
// are followed innermost first.
#include "cradlewright/output/toolpath.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "output/toolpath_run.hpp"

namespace cradlewright {

namespace {

constexpr double sag_mm = 0.004, fit_mm = 0.02;
static_assert(2 * sag_mm + fit_mm < router_tolerance_mm);
/// Corners that keep less than this are not worth telling. Source: assumed, what a file takes off without notice.
constexpr double told_mm = 0.2;
constexpr double travel_mm_min = 3000;  // for the time only; source: assumed, a light machine
constexpr double look_up_sag_mm = 0.05;
/// Cuts of a cleared hole lie so many cutter radii apart. Source: common practice, a quarter of the cutter overlaps.
constexpr double step_over = 1.5;

struct PlacedPart {
    const PlatePart* part = nullptr;
    Polygons polygons;
    std::vector<OutlinePiece> pieces;
    Vec2 on_outline;
};

void add_pieces(const Loop& loop, std::vector<OutlinePiece>& pieces) {
    for (std::size_t i = 0, n = loop.vertices.size(); i < n; ++i) {
        const PathVertex& v = loop.vertices[i];
        Vec2 from = v.at;
        for (const Vec2 to : flatten_edge(from, loop.vertices[(i + 1) % n].at, v.bulge, look_up_sag_mm)) {
            pieces.push_back({from, to, v.cut});
            from = to;
        }
    }
}

PlacedPart place(const PlatePart& part, const Placement& placement) {
    const Region region = moved(part.outline, placement.angle_rad, placement.shift);
    PlacedPart placed{&part, to_polygons(region, sag_mm), {}, region.outer.vertices.front().at};
    add_pieces(region.outer, placed.pieces);
    for (const Loop& hole : region.holes) add_pieces(hole, placed.pieces);
    return placed;
}

double distance_to(const PlacedPart& placed, Vec2 p) {
    double least = std::numeric_limits<double>::infinity();
    for (const std::vector<Vec2>& loop : placed.polygons) least = std::min(least, distance_to_polyline(p, loop, true));
    return least;
}

const PlacedPart& nearest_part(const std::vector<PlacedPart>& parts, Vec2 p) {
    CRADLEWRIGHT_PRECONDITION(!parts.empty());
    const PlacedPart* nearest = nullptr;
    double least = std::numeric_limits<double>::infinity();
    for (const PlacedPart& part : parts) {
        if (const double distance = distance_to(part, p); distance < least) {
            least = distance;
            nearest = &part;
        }
    }
    return *nearest;
}

constexpr std::size_t none = std::numeric_limits<std::size_t>::max();

/// A closed line of cutter centres.
struct CutLoop {
    std::vector<Vec2> chain;
    double area = 0;  ///< positive = round a part, negative = within a hole
    std::size_t parent = none;
    std::vector<std::size_t> children;
    std::vector<const PlacedPart*> parts;
    bool frees_nothing = false;  ///< all within it is cut away
    Loop path;                   ///< fitted, in the direction of travel, from its start
    [[nodiscard]] bool is_inside() const { return area < 0; }
    [[nodiscard]] Vec2 start() const { return path.vertices.front().at; }
};

class SheetPlanner {
public:
    SheetPlanner(const Sheet& sheet, const Design& design)
        : settings_(design.settings), radius_(settings_.router.cutter.mm() / 2) {
        const std::vector<const PlatePart*> all = all_parts(design);
        for (const Placement& placement : sheet.placements) {
            const auto part = std::find_if(all.begin(), all.end(), [&](auto* p) { return p->id == placement.part; });
            CRADLEWRIGHT_PRECONDITION(part != all.end());
            if ((*part)->outline.outer.vertices.empty()) continue;
            parts_.push_back(place(**part, placement));
            placements_.push_back(placement);
        }
        describe(sheet);
    }

    SheetPath plan() {
        Polygons solids;
        for (const PlacedPart& part : parts_) solids.insert(solids.end(), part.polygons.begin(), part.polygons.end());
        for (std::vector<Vec2>& chain : offset(solids, radius_, sag_mm)) add_loop(std::move(chain));
        nest();
        clear_small_holes();
        nest();
        for (CutLoop& loop : loops_) prepare(loop);
        if (settings_.router.engrave.mm() > 0) engrave();
        order();
        for (const UnreachedPlace& at : unreached_places(solids, radius_, told_mm, sag_mm)) tell(at);
        measure();
        return std::move(path_);
    }

private:
    void tell(const UnreachedPlace& place) {
        constexpr double beside_mm = 0.1;
        const PlacedPart& part = nearest_part(parts_, place.at);
        double any = std::numeric_limits<double>::infinity(), fit = any;
        for (const OutlinePiece& piece : part.pieces) {
            const std::vector<Vec2> ends{piece.a, piece.b};
            const double distance = distance_to_polyline(place.at, ends, false);
            any = std::min(any, distance);
            if (piece.cut == CutKind::fit) fit = std::min(fit, distance);
        }
        path_.unreached.push_back({part.part->id, place, fit <= any + beside_mm ? CutKind::fit : CutKind::rough});
    }

    void describe(const Sheet& sheet) {
        const Stock& from = stock(settings_, sheet.stock);
        const RouterOptions& router = settings_.router;
        path_.stock = sheet.stock;
        path_.material = from.material;
        path_.number = sheet.number;
        path_.length_mm = sheet.length_mm;
        path_.width_mm = sheet.width_mm;
        path_.thickness_mm = from.thickness_mm;
        path_.cutter_mm = router.cutter.mm();
        path_.flutes = static_cast<int>(router.flutes);
        path_.direction = router.direction;
        path_.values = cutting_values(router, from.material);
        path_.ramp_feed_mm_min =
            std::min(path_.values.feed_mm_min, path_.values.plunge_mm_min / std::sin(router.ramp.rad()));
        path_.safe_mm = router.safe_height.mm();
        path_.tab_width_mm = router.tab_width.mm();
        path_.tab_height_mm = std::min(router.tab_height.mm(), from.thickness_mm / 2);
        path_.part_count = static_cast<int>(parts_.size());
        depths_ = {.thickness_mm = from.thickness_mm,
                   .cutter_mm = path_.cutter_mm,
                   .safe_mm = path_.safe_mm,
                   .through_mm = router.through.mm(),
                   .skin_mm = std::min(router.onion_skin.mm(), from.thickness_mm / 2),
                   .pass_mm = path_.values.pass_depth_mm,
                   .ramp_slope = std::tan(router.ramp.rad()),
                   .tab_spacing_mm = router.tab_spacing.mm(),
                   .tab_width_mm = path_.tab_width_mm,
                   .tab_height_mm = path_.tab_height_mm};
        path_.depth_mm = depths_.depth_mm();
        path_.passes = pass_count(path_.depth_mm, depths_.pass_mm);
    }

    void add_loop(std::vector<Vec2> chain) {
        CutLoop loop;
        loop.area = signed_area(chain);
        loop.chain = std::move(chain);
        loops_.push_back(std::move(loop));
    }

    /// Finds each loop's parent: the smallest one round it.
    void nest() {
        for (CutLoop& loop : loops_) {
            loop.parent = none;
            loop.children.clear();
        }
        for (std::size_t i = 0; i < loops_.size(); ++i) {
            for (std::size_t k = 0; k < loops_.size(); ++k) {
                if (std::abs(loops_[k].area) <= std::abs(loops_[i].area)) continue;
                if (!is_inside(loops_[i].chain.front(), loops_[k].chain)) continue;
                if (loops_[i].parent == none || std::abs(loops_[k].area) < std::abs(loops_[loops_[i].parent].area))
                    loops_[i].parent = k;
            }
            if (loops_[i].parent != none) loops_[loops_[i].parent].children.push_back(i);
        }
    }

    /// Waste narrower than the cutter would be thrown about when it comes loose: it is cut away from within.
    void clear_small_holes() {
        Polygons inner;
        for (CutLoop& loop : loops_) {
            if (!loop.is_inside() || !loop.children.empty()) continue;
            Polygons left{{loop.chain.rbegin(), loop.chain.rend()}};
            loop.frees_nothing = offset(left, -2 * radius_, sag_mm).empty();
            if (!loop.frees_nothing) continue;
            while (!offset(left, -radius_, sag_mm).empty()) {
                Polygons next = offset(left, -step_over * radius_, sag_mm);
                left = next.empty() ? offset(left, -radius_, sag_mm) : std::move(next);
                for (const std::vector<Vec2>& chain : left) inner.emplace_back(chain.rbegin(), chain.rend());
            }
        }
        for (std::vector<Vec2>& chain : inner) {
            add_loop(std::move(chain));
            loops_.back().frees_nothing = true;
        }
    }

    void prepare(CutLoop& loop) {
        if (loop.is_inside()) {
            loop.parts = {&nearest_part(parts_, loop.chain.front())};
        } else {
            for (const PlacedPart& part : parts_)
                if (is_within(part, loop)) loop.parts.push_back(&part);
        }
        const Loop fitted = fit_lines_and_arcs(make_loop(loop.chain, CutKind::rough), {.tolerance_mm = fit_mm}).loop;
        loop.path =
            started(settings_.router.direction == CutDirection::climb ? reversed(fitted) : fitted, pieces_of(loop));
    }
    /// Whether a cut goes round a part with nothing between them.
    [[nodiscard]] bool is_within(const PlacedPart& part, const CutLoop& loop) const {
        if (!is_inside(part.on_outline, loop.chain)) return false;
        return std::none_of(loops_.begin(), loops_.end(), [&](const CutLoop& other) {
            return !other.is_inside() && other.area < loop.area && is_inside(part.on_outline, other.chain);
        });
    }
    [[nodiscard]] static std::vector<OutlinePiece> pieces_of(const CutLoop& loop) {
        std::vector<OutlinePiece> pieces;
        for (const PlacedPart* part : loop.parts) pieces.insert(pieces.end(), part->pieces.begin(), part->pieces.end());
        return pieces;
    }

    void engrave() {
        const double depth = std::min(settings_.router.engrave.mm(), path_.thickness_mm / 2);
        for (std::size_t i = 0; i < parts_.size(); ++i) {
            const double angle = placements_[i].angle_rad;
            const auto to_sheet = [&](Vec2 p) {
                return Vec2{std::cos(angle) * p.x - std::sin(angle) * p.y,
                            std::sin(angle) * p.x + std::cos(angle) * p.y} +
                       placements_[i].shift;
            };
            for (const std::vector<Vec2>& chain : strokes_of(*parts_[i].part)) {
                std::vector<Vec2> placed;
                for (const Vec2 p : chain) placed.push_back(to_sheet(p));
                path_.runs.push_back(mark_run(placed, depth, path_.safe_mm));
                path_.runs.back().parts = parts_[i].part->id;
            }
        }
    }
    /// Lines and crosses; circles and texts are finer than a cutter draws.
    [[nodiscard]] static std::vector<std::vector<Vec2>> strokes_of(const PlatePart& part) {
        std::vector<std::vector<Vec2>> strokes;
        for (const Mark& mark : part.marks) {
            if (mark.kind == MarkKind::line && mark.points.size() > 1) strokes.push_back(mark.points);
            if (mark.kind != MarkKind::cross) continue;
            for (const Vec2 arm : {Vec2{mark.size_mm, 0}, Vec2{0, mark.size_mm}})
                strokes.push_back({mark.points.front() - arm, mark.points.front() + arm});
        }
        return strokes;
    }

    void order() {
        std::vector<std::size_t> roots;
        for (std::size_t i = 0; i < loops_.size(); ++i)
            if (loops_[i].parent == none) roots.push_back(i);
        visit_all(roots);
    }
    void visit_all(std::vector<std::size_t> waiting) {
        while (!waiting.empty()) {
            const auto next = std::min_element(waiting.begin(), waiting.end(), [&](std::size_t a, std::size_t b) {
                return norm(loops_[a].start() - at_) < norm(loops_[b].start() - at_);
            });
            const CutLoop& loop = loops_[*next];
            waiting.erase(next);
            visit_all(loop.children);
            cut(loop);
        }
    }
    void cut(const CutLoop& loop) {
        CutDepths depths = depths_;
        if (loop.frees_nothing) depths.tab_height_mm = 0;
        ToolRun run = cut_run(loop.path, pieces_of(loop), depths);
        run.kind = loop.is_inside() ? RunKind::inside : RunKind::outside;
        for (const PlacedPart* part : loop.parts) run.parts += (run.parts.empty() ? "" : " ") + part->part->id;
        at_ = {run.moves.back().to.x, run.moves.back().to.y};
        path_.runs.push_back(std::move(run));
    }

    void measure() {
        Vec3 at{0, 0, path_.safe_mm};
        double minutes = 0;
        const auto feed_of = [&](MoveKind kind) {
            switch (kind) {
                case MoveKind::rapid:
                    return travel_mm_min;
                case MoveKind::plunge:
                    return path_.values.plunge_mm_min / 2;
                case MoveKind::ramp:
                    return path_.ramp_feed_mm_min;
                case MoveKind::cut:
                    break;
            }
            return path_.values.feed_mm_min;
        };
        for (const ToolRun& run : path_.runs) {
            for (const ToolMove& move : run.moves) {
                const double plan = edge_length({at.x, at.y}, {move.to.x, move.to.y}, move.bulge);
                const double length = std::hypot(plan, move.to.z - at.z);
                if (move.kind != MoveKind::rapid) path_.cut_length_mm += length;
                minutes += length / feed_of(move.kind);
                at = move.to;
            }
        }
        path_.time_s = 60 * minutes;
    }

    const Settings& settings_;
    double radius_;
    std::vector<PlacedPart> parts_;
    std::vector<Placement> placements_;
    CutDepths depths_;
    std::vector<CutLoop> loops_;
    Vec2 at_;
    SheetPath path_;
};

bool is_strip(const Sheet& sheet, const std::vector<const PlatePart*>& parts) {
    return std::all_of(sheet.placements.begin(), sheet.placements.end(), [&](const Placement& placement) {
        const auto part = std::find_if(parts.begin(), parts.end(), [&](auto* p) { return p->id == placement.part; });
        return part != parts.end() && (*part)->kind == PartKind::stringer;
    });
}

}  // namespace

std::vector<SheetPath> plan_router(const Design& design, const Layout& layout) {
    const std::vector<const PlatePart*> parts = all_parts(design);
    std::vector<SheetPath> paths;
    for (const Sheet& sheet : layout.sheets)
        if (!is_strip(sheet, parts)) paths.push_back(SheetPlanner(sheet, design).plan());
    return paths;
}

}  // namespace cradlewright
