// SPDX-License-Identifier: GPL-3.0-or-later
// Stops: plates on the base in the plug's way where its saddles do not hold it. Across an end wall they stand face on,
// beside a flank edge on.
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>

#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/geom/slices.hpp"
#include "cradlewright/stages/cradle_hold.hpp"
#include "stages/cradle_parts.hpp"

namespace cradlewright {
namespace {

constexpr double end_depth_mm = 1;       // how far inside the plug's end its wall is looked at
constexpr double least_wall_mm = 2;      // of the plug that a stop must face below the panels
constexpr double usual_wall_mm = 10;     // as much as it faces where there is room
constexpr double beside_upright_mm = 4;  // stop to ribs: room for fingers and glue
constexpr double steep_reach_mm = 8;     // of a flank that a stop follows inward
constexpr double place_step_mm = 1;      // at which places along an end wall are tried
constexpr int most_stops = 3;            // on one side of one half
constexpr std::array<double, 6> sizes_mm{15, 20, 30, 40, 50, 60};  // width of an end stop, depth of a side stop
constexpr Frame3 station_frame{{0, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}};

/// Where a stop can stand: outline in (y, z) in the plane x = middle.
struct Site {
    double x = 0;
    Stretch y;
    double top = 0;   ///< where the plug pushes
    double wall = 0;  ///< height of the plug's wall that faces it
    std::vector<Vec2> outline;
};

/// A plug's end as a stop sees it.
struct End {
    std::string side;
    double x = 0;
    double out = 1;               ///< direction away from the plug along x
    std::vector<Vec2> underside;  ///< of the section just inside the end, (y, z)
};

class StopPlacer {
public:
    StopPlacer(const PosedPlug& posed, const Flange& flange, const Settings& settings,
               const std::vector<StringerLine>& lines, Cradle& cradle)
        : posed_(posed),
          flange_(flange),
          settings_(settings),
          lines_(lines),
          cradle_(cradle),
          plate_(stock(settings, settings.cradle.rib_stock).thickness_mm) {}

    void place() {
        for (const SlideWay& way : slide_ways(posed_, cradle_, settings_)) {
            if (way.direction.x != 0) {
                if (way.needs_stop(0, settings_)) place_at_end(way);
                continue;
            }
            for (std::size_t half = 0; half < 2; ++half)
                if (way.needs_stop(half, settings_)) place_beside(way, half);
        }
    }

private:
    // ---- sizing, common to both

    /// From one stop up, and from the slightest up, until they take the load; else the strongest that have room.
    template <class FindSite>
    void add_stops(const std::string& name, const SlideWay& way, double load_n, FindSite find_site) {
        std::vector<Site> best;
        double least_dip = std::numeric_limits<double>::infinity();
        bool is_enough = false;
        for (int count = 1; count <= most_stops && !is_enough; ++count) {
            Trial trial;
            for (const double size : sizes_mm) {
                std::vector<Site> sites;
                for (int i = 0; i < count; ++i)
                    if (std::optional<Site> site = find_site(size, load_n / count, sites))
                        sites.push_back(std::move(*site));
                if (static_cast<int>(sites.size()) < count) continue;
                StopStrength weakest;
                for (const Site& site : sites) {
                    const StopStrength s = strength_of(way, site, size, load_n / count);
                    weakest.dip_mm = std::max(weakest.dip_mm, s.dip_mm);
                    weakest.crush_share = std::max(weakest.crush_share, s.crush_share);
                }
                trial = {"stops",
                         name + ": " + (count > 1 ? std::to_string(count) + " of " : "") + fixed(size, 0) + " x " +
                             fixed(plate_, 0) + " mm" + (weakest.crush_share > 1 ? ", dents the plug" : ""),
                         weakest.dip_mm, settings_.limits.seat_deviation.mm(), weakest.is_enough(settings_)};
                if (trial.is_enough || weakest.dip_mm < least_dip) best = std::move(sites);
                least_dip = std::min(least_dip, weakest.dip_mm);
                if (trial.is_enough) break;
            }
            if (!trial.what.empty()) cradle_.trials.push_back(trial);  // the strongest of so many
            is_enough = trial.is_enough;
        }
        stand(name, way, best, is_enough ? "" : "; weaker than asked, see the report for what was tried");
    }

    /// Height of wall that a stop of this width meets: enough for its pressure, no more, as a low stop stands stiffer.
    [[nodiscard]] double wanted_wall(double load_n, double width) const {
        const double crush = material(settings_.plug.material).crush_mpa.low;
        const double needed = crush > 0 ? load_n / (width * settings_.limits.bearing * crush) : 0;
        return std::max(usual_wall_mm, needed);
    }

    [[nodiscard]] StopStrength strength_of(const SlideWay& way, const Site& site, double size, double load_n) const {
        const bool is_face_on = way.direction.x != 0;
        return stop_strength(settings_, load_n, is_face_on ? size : plate_, is_face_on ? plate_ : size, site.top,
                             site.wall);
    }

    void stand(const std::string& name, const SlideWay& way, const std::vector<Site>& sites,
               const std::string& remark) {
        for (std::size_t i = 0; i < sites.size(); ++i) {
            const Site& site = sites[i];
            PlatePart stop;
            stop.id = name + (i > 0 ? "-" + std::to_string(i + 1) : "");
            stop.kind = PartKind::stop;
            stop.thickness_mm = plate_;
            stop.stock = settings_.cradle.rib_stock;
            stop.frame = station_frame;
            stop.frame.origin = {site.x + plate_ / 2, 0, 0};
            stop.outline.outer = make_loop(site.outline, CutKind::rough);
            for (std::size_t k = 0; k < site.outline.size(); ++k) {
                const Vec2 middle = (site.outline[k] + site.outline[(k + 1) % site.outline.size()]) * 0.5;
                const bool is_on_base = middle.y < 1e-6;
                const bool is_on_plug = way.direction.x == 0 && middle.x > site.y.low + 1e-3 &&
                                        middle.x < site.y.high - 1e-3 && middle.y < site.top - 1e-3;
                if (is_on_base || is_on_plug) stop.outline.outer.vertices[k].cut = CutKind::fit;
            }
            stop.note = "glued and screwed to the base against the plug's " + way.side + ", " + fixed(stop_felt_mm, 0) +
                        " mm felt between" + remark;
            cradle_.stops.push_back(std::move(stop));
        }
    }

    // ---- what else is there

    /// Lowest thing over a stretch that a stop keeps below: panels, strips.
    [[nodiscard]] double room_over(double x, Stretch y) const {
        double top = std::numeric_limits<double>::infinity();
        for (const PanelSpan& s : spans_at(flange_, x, plate_ + 2 * stop_clear_mm, settings_.flange.glue.mm())) {
            if (s.y_low > y.high || s.y_high < y.low) continue;
            top = std::min({top, s.seat(std::max(s.y_low, y.low)), s.seat(std::min(s.y_high, y.high))});
        }
        for (const StringerLine& line : lines_)
            if (const std::optional<Notch> n = notch_for(line, x, plate_ + 2 * stop_clear_mm, settings_.cradle))
                if (n->y_low - stop_clear_mm < y.high && n->y_high + stop_clear_mm > y.low) top = std::min(top, n->z);
        return top - stop_clear_mm;
    }

    [[nodiscard]] std::vector<Stretch> ties() const {
        std::vector<Stretch> taken;
        for (const PlatePart* plate : standing_plates(cradle_))
            if (plate->frame.z.y < 0)
                taken.push_back({plate->frame.origin.y - stop_clear_mm,
                                 plate->frame.origin.y + plate->thickness_mm + stop_clear_mm});
        return taken;
    }

    [[nodiscard]] std::vector<Slice> slices_at(const std::vector<double>& xs) const {
        return slice_mesh(posed_.mesh(), compose(inverse(posed_.pose.scan_to_fixture), station_frame), xs);
    }

    [[nodiscard]] static Polygons closed_loops(const Slice& slice) {
        Polygons loops;
        for (const SliceLoop& loop : slice)
            if (loop.is_closed && loop.points.size() > 2) loops.push_back(loop.points);
        return loops;
    }

    // ---- across an end

    void place_at_end(const SlideWay& way) {
        const bool is_low = way.direction.x < 0;
        const double out = is_low ? -1 : 1, wall = is_low ? posed_.box_fixture.low.x : posed_.box_fixture.high.x;
        const std::vector<Slice> slices = slices_at({wall - out * end_depth_mm});
        const End end{way.side, wall, out, lower_envelope(closed_loops(slices.front()))};
        if (end.underside.size() < 2) return;
        add_stops("stop-" + way.side, way, stop_load_n(posed_, settings_, way.climb_rad()),
                  [&](double width, double load_n, const std::vector<Site>& others) {
                      return end_site(end, width, wanted_wall(load_n, width), others);
                  });
    }

    /// The place with the wall that is wanted, or the most, where the stop need not be tall.
    [[nodiscard]] std::optional<Site> end_site(const End& end, double width, double wanted,
                                               const std::vector<Site>& others) const {
        const double x = end.x + end.out * (stop_felt_mm + plate_ / 2);
        std::vector<Stretch> taken = ties();
        for (const Site& other : others) taken.push_back({other.y.low - stop_clear_mm, other.y.high + stop_clear_mm});
        for (const StringerLine& line : lines_)
            if (const std::optional<Notch> notch = notch_for(line, x, plate_, settings_.cradle))
                taken.push_back({notch->y_low - stop_clear_mm, notch->y_high + stop_clear_mm});
        std::optional<Site> best;
        for (const Stretch& free : free_stretches({end.underside.front().x, end.underside.back().x}, taken)) {
            for (double low = free.low; low + width <= free.high; low += place_step_mm) {
                const Stretch at{low, low + width};
                double top = room_over(x, at), wall = least_wall(end, at, top);
                if (!std::isfinite(top) || wall < least_wall_mm) continue;
                const double spare = std::max(0.0, wall - wanted);
                top -= spare;
                wall -= spare;
                if (best && (wall < best->wall || (wall == best->wall && top >= best->top))) continue;
                best = Site{x, at, top, wall, {}};
            }
        }
        if (!best) return best;
        best->outline = {{best->y.low, 0}, {best->y.high, 0}, {best->y.high, best->top}, {best->y.low, best->top}};
        return best;
    }

    /// Least height of the end wall in front of the middle half of a stop.
    [[nodiscard]] static double least_wall(const End& end, const Stretch& at, double top) {
        double wall = std::numeric_limits<double>::infinity();
        for (const double share : {0.25, 0.375, 0.5, 0.625, 0.75})
            wall = std::min(wall, top - height_on(end.underside, at.low + share * at.width()));
        return wall;
    }

    // ---- beside a flank

    /// The plug's section beside which a stop may stand, grown by the felt.
    struct Bay {
        double x = 0;
        UnderPlug under;
    };

    void place_beside(const SlideWay& way, std::size_t half) {
        const std::vector<Bay> bays = bays_of(half);
        add_stops(
            "stop-" + way.side + (half == 0 ? "-a" : "-b"), way, stop_load_n(posed_, settings_, way.saddle_rad[half]),
            [&](double depth, double load_n, const std::vector<Site>& others) {
                std::optional<Site> best;
                for (const Bay& bay : bays) {
                    const bool is_taken =
                        std::any_of(others.begin(), others.end(), [&](const Site& o) { return o.x == bay.x; });
                    if (is_taken) continue;
                    std::optional<Site> site = side_site(bay, way.direction.y, depth, wanted_wall(load_n, plate_));
                    if (site && (!best || site->wall > best->wall)) best = std::move(site);
                }
                return best;
            });
    }

    /// Middles of the bays between uprights, in one half of the plug.
    [[nodiscard]] std::vector<Bay> bays_of(std::size_t half) const {
        std::vector<Bay> bays;
        const double middle = posed_.box_fixture.center().x;
        for (std::size_t i = 0; i + 1 < cradle_.ribs.size(); ++i) {
            const double a = cradle_.ribs[i].station_mm, b = cradle_.ribs[i + 1].station_mm, x = 0.5 * (a + b);
            if (b - a >= 2 * (plate_ + beside_upright_mm) && (x > middle ? 1U : 0U) == half) bays.push_back({x, {}});
        }
        std::vector<double> heights;
        for (const Bay& bay : bays)
            for (const double share : {-0.5, 0.0, 0.5}) heights.push_back(bay.x + share * plate_);
        const std::vector<Slice> slices = slices_at(heights);
        for (std::size_t i = 0; i < bays.size(); ++i) {
            std::vector<SlabSection> slab;
            for (std::size_t k = 3 * i; k < 3 * i + 3; ++k)
                if (Polygons loops = closed_loops(slices[k]); !loops.empty())
                    slab.push_back({std::move(loops), stop_felt_mm, true});
            bays[i].under = under_plug(slab, stop_clear_mm);
        }
        std::erase_if(bays, [](const Bay& bay) { return bay.under.is_empty(); });
        return bays;
    }

    /// Outermost place on a side where the plug, felt and all, is not above `top`.
    [[nodiscard]] static std::optional<double> flank_at(const std::vector<Vec2>& padded, double side, double top) {
        const double inner = side > 0 ? padded.front().x : padded.back().x,
                     outer = side > 0 ? padded.back().x : padded.front().x;
        constexpr double step_mm = 0.25;
        for (double y = outer; (y - inner) * side > 0; y -= side * step_mm)
            if (height_on(padded, y) <= top) return y;
        return std::nullopt;
    }

    [[nodiscard]] std::optional<Site> side_site(const Bay& bay, double side, double depth, double wanted) const {
        const std::vector<Vec2> padded = lower_envelope(bay.under.padded);
        const auto reach = [&](double flank) {
            const double a = flank - side * steep_reach_mm, b = flank + side * depth;
            return Stretch{std::min(a, b), std::max(a, b)};
        };
        double flank = side > 0 ? padded.back().x : padded.front().x;
        double top = std::numeric_limits<double>::infinity();
        for (int round = 0; round < 2; ++round) {
            top = std::min(top, room_over(bay.x, reach(flank)));
            const std::optional<double> found = flank_at(padded, side, top);
            if (!found || !std::isfinite(top)) return std::nullopt;
            flank = *found;
        }
        top = std::min(top, room_over(bay.x, reach(flank)));
        double inner = steep_end(padded, flank, side);
        if (const double spare = top - height_on(padded, inner) - wanted; spare > 0) {
            top -= spare;
            flank = flank_at(padded, side, top).value_or(flank);
            inner = steep_end(padded, flank, side);
        }
        const double wall = top - height_on(padded, inner);
        const double a = inner, b = flank + side * depth;
        const Stretch y{std::min(a, b), std::max(a, b)};
        for (const Stretch& tie : ties())
            if (tie.low < y.high && tie.high > y.low) return std::nullopt;
        if (wall < least_wall_mm) return std::nullopt;
        const Polygons solid = subtract({{{y.low, 0}, {y.high, 0}, {y.high, top}, {y.low, top}}}, bay.under.padded);
        const auto largest = std::max_element(
            solid.begin(), solid.end(), [](const auto& p, const auto& q) { return signed_area(p) < signed_area(q); });
        if (largest == solid.end()) return std::nullopt;
        return Site{bay.x, y, top, wall, *largest};
    }

    /// How far in the flank stays too steep for a saddle.
    [[nodiscard]] double steep_end(const std::vector<Vec2>& padded, double flank, double side) const {
        constexpr double step_mm = 0.5;
        const double steep = std::tan(settings_.cradle.steepest.rad());
        double y = flank;
        while (std::abs(y - flank) < steep_reach_mm &&
               height_on(padded, y) - height_on(padded, y - side * step_mm) > step_mm * steep)
            y -= side * step_mm;
        return y;
    }

    const PosedPlug& posed_;
    const Flange& flange_;
    const Settings& settings_;
    const std::vector<StringerLine>& lines_;
    Cradle& cradle_;
    double plate_;
};

}  // namespace

void place_stops(const PosedPlug& posed, const Flange& flange, const Settings& settings,
                 const std::vector<StringerLine>& lines, Cradle& cradle) {
    StopPlacer(posed, flange, settings, lines, cradle).place();
}

}  // namespace cradlewright
