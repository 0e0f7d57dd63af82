// SPDX-License-Identifier: GPL-3.0-or-later
// Definitions and limits: sweep.md beside this file.
#include "cradlewright/stages/sweep.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>

#include "base/quantile.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/mechanics/stand.hpp"
#include "cradlewright/stages/moulded.hpp"
#include "geom/convex_hull.hpp"
#include "geom/point_index.hpp"

namespace cradlewright {
namespace {

constexpr double unknown = std::numeric_limits<double>::quiet_NaN();
constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr double steepest_share = 0.02;  // of the surface borne on: less is crushed before it holds
constexpr std::size_t least_bearing = 20;
// Differences that a builder would not trade anything for. Source: assumed.
constexpr double same_draft_deg = 0.5, same_access = 0.03, same_slide_deg = 1;
constexpr double same_tilt_rad = 1e-6;
constexpr double steepest_tilt_deg = 80;  // as the range of pose.tilt
constexpr std::size_t most_steps = 361;

/// A place that a saddle can bear on, fixture frame.
struct Bearing {
    Vec3 at, normal;
};

std::vector<Bearing> bearings_of(const PosedPlug& posed, const Parting& parting, const std::vector<PlugPlace>& places,
                                 const CradleOptions& cradle, double panel_mm) {
    std::vector<Vec3> line;
    for (const PartingLoop& loop : parting.loops)
        line.insert(line.end(), loop.panel_line.begin(), loop.panel_line.end());
    const PointIndex index(line);
    // Clear of the panel's far face as well.
    const double clear_mm = cradle.panel_margin.mm() + panel_mm;
    std::vector<Bearing> bearings;
    for (const PlugPlace& place : places) {
        if (parting.half[place.face] != 2) continue;
        const Vec3 n = posed.pose.scan_to_fixture.direction_to_parent(place.smooth);
        if (-n.z < std::cos(cradle.steepest.rad())) continue;
        const Vec3 p = posed.pose.to_fixture(place.at);
        if (!index.nearest(p, clear_mm)) bearings.push_back({p, n});
    }
    return bearings;
}

/// Rise, rad, that moving toward `side` * y asks for in the half of the span on `end` * x.
double climb(const std::vector<Bearing>& bearings, double middle_x, double end, double side) {
    std::vector<WeightedValue> climbs;
    for (const Bearing& b : bearings)
        if (end * (b.at.x - middle_x) >= 0)
            climbs.push_back({static_cast<float>(-std::atan2(side * b.normal.y, -b.normal.z)), 1});
    return climbs.empty() ? infinity : -weighted_quantile(std::move(climbs), steepest_share);
}

double slide_demand_rad(const std::vector<Bearing>& bearings) {
    double low = infinity, high = -infinity;
    for (const Bearing& b : bearings) low = std::min(low, b.at.x), high = std::max(high, b.at.x);
    double demand = 0;
    for (const double side : {1.0, -1.0})
        for (const double end : {1.0, -1.0}) demand = std::max(demand, -climb(bearings, (low + high) / 2, end, side));
    return demand;
}

double tip_rad(const PosedPlug& posed, const std::vector<Bearing>& bearings) {
    if (std::isnan(posed.plug.mass_kg)) return unknown;
    std::vector<Vec2> feet;
    double lowest = infinity;
    for (const Bearing& b : bearings) {
        feet.push_back({b.at.x, b.at.y});
        lowest = std::min(lowest, b.at.z);
    }
    const Vec3 center = posed.pose.to_fixture(posed.plug.mass_properties.centroid);
    return tip_angle_rad(margin_inside({center.x, center.y}, convex_hull(std::move(feet))),
                         std::max(1.0, center.z - lowest));
}

SweepHalf half_of(const HalfRelease& half) {
    return {half.draft_p01_deg, half.low_band_mm, half.undercut_depth_mm, half.undercut_area_mm2};
}

double worse(double a, double b, bool is_more_worse) {
    if (std::isnan(a)) return b;
    if (std::isnan(b)) return a;
    return is_more_worse ? std::max(a, b) : std::min(a, b);
}

std::string known(double value, int decimals, const char* unit) {
    return std::isfinite(value) ? fixed(value, decimals) + unit : "unknown";
}
std::string degrees(double deg) { return known(deg, 1, " deg"); }
std::string length_text(double mm, UnitSystem units) {
    return std::isfinite(mm) ? format_quantity(Quantity::of(Length::mm(mm)), units, units == UnitSystem::inch ? 3 : 1)
                             : "unknown";
}
std::string percent(double share) { return known(100 * share, 0, " %"); }

/// Tilts still in the running, and the story of how the others left.
class Choice {
public:
    explicit Choice(const std::vector<SweepRow>& rows) : rows_(rows) {
        for (std::size_t i = 0; i < rows.size(); ++i)
            if (rows[i].has_line) left_.push_back(i);
    }
    [[nodiscard]] const std::vector<std::size_t>& left() const { return left_; }
    [[nodiscard]] const SweepRow& row(std::size_t i) const { return rows_[i]; }

    /// Least (sign 1) or greatest (sign -1) of a figure over those left, NaN counting last.
    template <class Figure>
    [[nodiscard]] double best(const Figure& figure, double sign) const {
        double found = infinity;
        for (const std::size_t i : left_)
            if (const double v = sign * figure(rows_[i]); v < found) found = v;
        return sign * found;
    }
    /// Keeps the rows whose figure is within `slack` of the best. Nothing known: keeps all.
    template <class Figure>
    void keep_near_best(const Figure& figure, double sign, double slack) {
        const double limit = sign * best(figure, sign) + slack;
        if (!std::isfinite(limit)) return;
        std::erase_if(left_, [&](std::size_t i) { return !(sign * figure(rows_[i]) <= limit); });
    }
    void add(const std::string& clause) { story_ += (story_.empty() ? "" : "; ") + clause; }
    [[nodiscard]] const std::string& story() const { return story_; }
    [[nodiscard]] std::string count() const { return std::to_string(left_.size()); }

private:
    const std::vector<SweepRow>& rows_;
    std::vector<std::size_t> left_;
    std::string story_;
};

std::string failing_text(const SweepRow& row) {
    if (!row.failing || row.failing->empty()) return "no check";
    std::string text;
    for (const std::string& id : *row.failing) text += (text.empty() ? "" : ", ") + id;
    return text;
}

const EdgeAccess* hardest_edge(const SweepRow& row) {
    const EdgeAccess* hardest = nullptr;
    for (const EdgeAccess& a : row.access)
        if (!std::isnan(a.least()) && (hardest == nullptr || a.least() < hardest->least())) hardest = &a;
    return hardest;
}

void choose_by_release(Choice& choice, const ReleaseOptions& release, UnitSystem units) {
    const double limit = release.undercut_limit.mm(), good = release.good_draft.deg();
    const auto beyond = [&](const SweepRow& r) { return std::max(0.0, r.undercut_mm() - limit); };
    choice.keep_near_best(beyond, 1, 0.05);
    const double hooked = choice.best(beyond, 1);
    choice.add(hooked > 0 ? "the least undercut is " + length_text(limit + hooked, units) + ", at " + choice.count()
                          : choice.count() + " of these have no undercut over " + length_text(limit, units));
    // Draft beyond what is good buys nothing.
    const auto draft = [&](const SweepRow& r) { return std::min(good, r.draft_deg()); };
    const double best = choice.best(draft, -1);
    choice.keep_near_best(draft, -1, best >= good ? 0 : same_draft_deg);
    if (std::isfinite(best))
        choice.add(choice.count() + (best >= good ? " have at least " + degrees(good) + " of draft"
                                                  : " come near the best draft, " + degrees(best)));
}

void choose_by_handling(Choice& choice) {
    const auto access = [](const SweepRow& r) { return r.least_access(); };
    const double best = choice.best(access, -1);
    choice.keep_near_best(access, -1, same_access);
    if (std::isfinite(best))
        choice.add("into the mould one sees at best " + percent(best) + " beside the hardest edge, " +
                   percent(best - same_access) + " or more at " + choice.count());
    const auto slide = [](const SweepRow& r) { return Angle::rad(r.standing.slide_rad).deg(); };
    const double least = choice.best(slide, 1);
    choice.keep_near_best(slide, 1, same_slide_deg);
    if (std::isfinite(least))
        choice.add(choice.count() + " of those ask the pads for " + degrees(least + same_slide_deg) +
                   " of friction angle or less");
}

}  // namespace

double SweepRow::draft_deg() const { return worse(half[0].draft_deg, half[1].draft_deg, false); }
double SweepRow::undercut_mm() const { return worse(half[0].undercut_mm, half[1].undercut_mm, true); }
double SweepRow::least_access() const {
    double least = unknown;
    for (const EdgeAccess& a : access) least = worse(least, a.least(), false);
    return least;
}

double SweepRow::access_to(const std::string& edge) const {
    const auto found = std::ranges::find(access, edge, &EdgeAccess::edge);
    return found == access.end() ? unknown : found->least();
}
double SweepRow::access_to_others(const std::vector<std::string>& edges) const {
    double least = unknown;
    for (const EdgeAccess& a : access)
        if (std::ranges::find(edges, a.edge) == edges.end()) least = worse(least, a.least(), false);
    return least;
}

std::vector<std::string> Sweep::main_edges(std::size_t most) const {
    std::vector<std::string> edges;
    for (const std::string known : {"front", "back", "end-a", "end-b", "rim"})
        if (std::ranges::find(edge_names, known) != edge_names.end()) edges.push_back(known);
    for (const std::string& name : edge_names)
        if (std::ranges::find(edges, name) == edges.end()) edges.push_back(name);
    if (edges.size() > most) edges.resize(most);
    return edges;
}

std::vector<double> sweep_tilts_rad(const SweepOptions& options, std::optional<double> told_rad) {
    const double from = options.from.rad(), to = options.to.rad(), limit = Angle::deg(steepest_tilt_deg).rad();
    if (!(from < to)) throw Error(ErrorCode::bad_input, "--from", "is not below --to", "e.g. --from -30deg --to 30deg");
    if (from < -limit - same_tilt_rad || to > limit + same_tilt_rad)
        throw Error(ErrorCode::bad_input, from < -limit ? "--from" : "--to", "a plug can be tilted 80 deg at most",
                    "e.g. --from -45deg --to 45deg");
    if (options.steps < 2 || options.steps > most_steps)
        throw Error(ErrorCode::bad_input, "--steps", "takes 2 to 361 tilts", "e.g. --steps 31");
    std::vector<double> tilts;
    const auto last = static_cast<double>(options.steps - 1);
    for (std::size_t i = 0; i < options.steps; ++i) {
        const double share = static_cast<double>(i) / last;
        tilts.push_back(from * (1 - share) + to * share);
    }
    const auto is_told = [&](double t) { return std::abs(t - *told_rad) < same_tilt_rad; };
    if (told_rad && *told_rad > from && *told_rad < to) {
        // The told tilt to the last bit, so that its row is what `make` finds.
        if (const auto same = std::find_if(tilts.begin(), tilts.end(), is_told); same != tilts.end())
            *same = *told_rad;
        else
            tilts.insert(std::lower_bound(tilts.begin(), tilts.end(), *told_rad), *told_rad);
    }
    return tilts;
}

Standing standing_of(const PosedPlug& posed, const Parting& parting, const std::vector<PlugPlace>& places,
                     const CradleOptions& cradle, double panel_mm) {
    const std::vector<Bearing> bearings = bearings_of(posed, parting, places, cradle, panel_mm);
    if (bearings.size() < least_bearing) return {unknown, unknown};
    return {slide_demand_rad(bearings), tip_rad(posed, bearings)};
}

SweepRow measure_row(const PosedPlug& posed, const Parting& parting, const Release& release,
                     const std::vector<PlugPlace>& places, const SightLines& sight, const SweepOptions& options,
                     const Settings& settings) {
    SweepRow row;
    row.height_mm = posed.box_fixture.high.z;
    row.has_line = parting.is_found();
    if (!row.has_line) {
        row.reason = parting.reason;
        return row;
    }
    row.half = {half_of(release.half1), half_of(release.half2)};
    row.standing =
        standing_of(posed, parting, places, settings.cradle, stock(settings, settings.flange.stock).thickness_mm);
    const double weight = standard_gravity * posed.plug.mass_kg;
    row.stop_force_n = weight >= 0 && row.standing.slide_rad >= 0
                           ? stop_force_n(weight, row.standing.slide_rad, settings.limits.friction)
                           : unknown;
    row.access = sight.near_edges(posed, parting, options.near_edge.mm());
    return row;
}

std::vector<std::size_t> shortlist(Sweep& sweep, const ReleaseOptions& release, std::size_t most) {
    Choice choice(sweep.rows);
    if (choice.left().empty()) {
        sweep.reason = "no tilt of this range has a parting line";
        return {};
    }
    choice.add(choice.count() + " of " + std::to_string(sweep.rows.size()) + " tilts have a parting line");
    // Two tilts of one size: first the one that lifts the front, as tilt is counted.
    const auto is_flatter = [&](std::size_t a, std::size_t b) {
        const double x = sweep.rows[a].tilt_rad, y = sweep.rows[b].tilt_rad;
        return std::abs(std::abs(x) - std::abs(y)) > same_tilt_rad ? std::abs(x) < std::abs(y) : x > y;
    };
    choose_by_release(choice, release, sweep.units);
    const std::size_t flattest = *std::min_element(choice.left().begin(), choice.left().end(), is_flatter);
    choose_by_handling(choice);
    std::vector<std::size_t> listed = choice.left();
    std::stable_sort(listed.begin(), listed.end(), is_flatter);
    if (listed.size() > most) {
        listed.resize(most);
        choice.add("the " + std::to_string(most) + " least tilted of them were designed in full");
    }
    // Easy reach is no use in a fixture that fails: the plain way to lay the plug is held against it.
    if (most > 1 && std::ranges::find(listed, flattest) == listed.end()) {
        if (listed.size() == most) listed.pop_back();
        listed.push_back(flattest);
        choice.add(degrees(Angle::rad(sweep.rows[flattest].tilt_rad).deg()) +
                   ", the least tilt that releases as well, was designed beside them");
    }
    sweep.reason = choice.story();
    return listed;
}

void recommend(Sweep& sweep, const std::vector<std::size_t>& listed) {
    sweep.best.reset();
    if (listed.empty()) return;
    const auto fails = [&](std::size_t i) {
        return sweep.rows[i].failing ? sweep.rows[i].failing->size() : std::numeric_limits<std::size_t>::max();
    };
    sweep.best = *std::min_element(listed.begin(), listed.end(),
                                   [&](std::size_t a, std::size_t b) { return fails(a) < fails(b); });
    const SweepRow& row = sweep.rows[*sweep.best];
    const EdgeAccess* edge = hardest_edge(row);
    sweep.reason += "; " + std::string(listed.size() > 1 ? "with the fewest failing checks " : "") +
                    degrees(Angle::rad(row.tilt_rad).deg()) + " remains: draft " + degrees(row.draft_deg()) +
                    ", undercut " + length_text(row.undercut_mm(), sweep.units) +
                    (edge ? ", hardest edge " + edge->edge + " seen to " + percent(edge->least()) : std::string()) +
                    ", slide demand " + degrees(Angle::rad(row.standing.slide_rad).deg()) + "; it fails " +
                    failing_text(row);
}

}  // namespace cradlewright
