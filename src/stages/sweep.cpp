// SPDX-License-Identifier: GPL-3.0-or-later
// Definitions and limits: sweep.md beside this file.
#include "cradlewright/stages/sweep.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>

#include "cradlewright/base/error.hpp"

namespace cradlewright {
namespace {

constexpr double unknown = std::numeric_limits<double>::quiet_NaN();
constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr double saddle_step_mm = 2;
constexpr std::size_t least_bearing = 2;  // 4 mm of saddle: less is crushed before it holds
// Differences that a builder would not trade anything for. Source: assumed.
constexpr double same_draft_deg = 0.5, same_access = 0.03, same_slide_deg = 1;
constexpr double same_tilt_rad = 1e-6;
constexpr double steepest_tilt_deg = 80;  // as the range of pose.tilt
constexpr std::size_t most_steps = 361;

/// Rise toward +y along a saddle, rad, a sample each step.
void add_climbs(const std::vector<Vec2>& saddle, std::vector<double>& climbs) {
    for (std::size_t i = 0; i + 1 < saddle.size(); ++i) {
        const Vec2 step = saddle[i + 1] - saddle[i];
        const auto samples = static_cast<std::size_t>(std::max(1.0, std::ceil(norm(step) / saddle_step_mm)));
        climbs.insert(climbs.end(), samples, std::atan2(step.y, step.x));
    }
}

/// What holds the plug against moving toward `side` * y at one rib.
double hold_of(const Rib& rib, double side) {
    std::vector<double> climbs;
    add_climbs(rib.saddle, climbs);
    for (const std::vector<Vec2>& saddle : rib.more_saddles) add_climbs(saddle, climbs);
    if (climbs.size() < least_bearing) return -infinity;
    for (double& c : climbs) c *= side;
    std::nth_element(climbs.begin(), climbs.begin() + (least_bearing - 1), climbs.end(), std::greater<>());
    return climbs[least_bearing - 1];
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
std::string millimetres(double mm) { return known(mm, 1, " mm"); }
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
    if (row.failing.empty()) return "no check";
    std::string text;
    for (const std::string& id : row.failing) text += (text.empty() ? "" : ", ") + id;
    return text;
}

const EdgeAccess* hardest_edge(const SweepRow& row) {
    const EdgeAccess* hardest = nullptr;
    for (const EdgeAccess& a : row.access)
        if (!std::isnan(a.least()) && (hardest == nullptr || a.least() < hardest->least())) hardest = &a;
    return hardest;
}

void choose_by_release(Choice& choice, const ReleaseOptions& release) {
    const double limit = release.undercut_limit.mm(), good = release.good_draft.deg();
    const auto beyond = [&](const SweepRow& r) { return std::max(0.0, r.undercut_mm() - limit); };
    choice.keep_near_best(beyond, 1, 0.05);
    const double hooked = choice.best(beyond, 1);
    choice.add(hooked > 0 ? "the least undercut is " + millimetres(limit + hooked) + ", at " + choice.count()
                          : choice.count() + " of these have no undercut over " + millimetres(limit));
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
    const auto slide = [](const SweepRow& r) { return Angle::rad(r.slide_rad).deg(); };
    choice.keep_near_best(slide, 1, same_slide_deg);
    choice.keep_near_best([](const SweepRow& r) { return std::abs(r.tilt_rad); }, 1, same_tilt_rad);
}

}  // namespace

double SweepRow::draft_deg() const { return worse(half[0].draft_deg, half[1].draft_deg, false); }
double SweepRow::undercut_mm() const { return worse(half[0].undercut_mm, half[1].undercut_mm, true); }
double SweepRow::least_access() const {
    double least = unknown;
    for (const EdgeAccess& a : access) least = worse(least, a.least(), false);
    return least;
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

double slide_demand_rad(const Cradle& cradle) {
    double low = infinity, high = -infinity;
    for (const Rib& rib : cradle.ribs) {
        if (rib.saddle.size() < 2) continue;
        low = std::min(low, rib.station_mm);
        high = std::max(high, rib.station_mm);
    }
    if (low > high) return unknown;
    double demand = 0;
    for (const double side : {1.0, -1.0}) {
        std::array<double, 2> halves{-infinity, -infinity};
        for (const Rib& rib : cradle.ribs) {
            if (rib.saddle.size() < 2) continue;
            double& half = halves[rib.station_mm > 0.5 * (low + high) ? 1 : 0];
            half = std::max(half, hold_of(rib, side));
        }
        // All ribs at one station, or on one side of the middle: they hold alone.
        const double hold = std::isinf(halves[0]) || std::isinf(halves[1]) ? std::max(halves[0], halves[1])
                                                                           : std::min(halves[0], halves[1]);
        if (std::isinf(hold)) return unknown;
        demand = std::max(demand, -hold);
    }
    return demand;
}

void recommend_tilt(Sweep& sweep, const ReleaseOptions& release) {
    Choice choice(sweep.rows);
    sweep.best.reset();
    if (choice.left().empty()) {
        sweep.reason = "no tilt of this range has a parting line";
        return;
    }
    choice.add(choice.count() + " of " + std::to_string(sweep.rows.size()) + " tilts have a parting line");
    choice.keep_near_best([](const SweepRow& r) { return static_cast<double>(r.failing.size()); }, 1, 0);
    choice.add(choice.count() + " of these fail the fewest checks");
    choose_by_release(choice, release);
    choose_by_handling(choice);

    // Two tilts of one size: the one that lifts the front, as tilt is counted.
    sweep.best = choice.left().back();
    const SweepRow& row = sweep.rows[*sweep.best];
    const EdgeAccess* edge = hardest_edge(row);
    sweep.reason = choice.story() + ". Of those " + degrees(Angle::rad(row.tilt_rad).deg()) +
                   " asks little of the pads (" + degrees(Angle::rad(row.slide_rad).deg()) +
                   " of friction) at the least tilt: draft " + degrees(row.draft_deg()) + ", undercut " +
                   millimetres(row.undercut_mm()) +
                   (edge ? ", " + edge->edge + " seen to " + percent(edge->least()) : std::string()) + "; it fails " +
                   failing_text(row);
}

}  // namespace cradlewright
