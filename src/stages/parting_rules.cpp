// SPDX-License-Identifier: GPL-3.0-or-later
// Method, failure cases and rejected ideas: parting.md beside this file.
#include "stages/parting_rules.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <string>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/faces_near.hpp"
#include "cradlewright/geom/mesh_index.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "stages/parting_smooth.hpp"
#include "stages/parting_strip.hpp"

namespace cradlewright {
namespace {

constexpr std::size_t tangent_window = 3;   // samples on either side that settle the line's direction
constexpr std::size_t median_window = 4;    // samples on either side that outvote a bad section
constexpr double least_found_share = 0.6;   // of an edge's sections must show the strip
constexpr double least_triangles = 3;       // across the strip: contract 2.4
constexpr double least_width_sigmas = 6;    // contract 2.4
constexpr double least_lean_rad = 0.0087;   // 0.5 deg: a strip that leans less serves both halves. Source: assumed
constexpr double leaning_share = 0.1;       // of the edge: less of it leaning the other way does not count
constexpr double most_doubt_rad = 0.1;      // of a lean: what leans more does so whatever the noise. Source: assumed
constexpr double most_snap_mm = 10;         // a told point further off the plug is a mistake. Source: assumed
constexpr double most_ramp_share = 0.25;    // of an edge
constexpr double least_border_share = 0.1;  // of the move: where less is left of it the border stays
constexpr double label_reach_edges = 3;     // faces looked at beyond the moved strip, in mean edges

/// 0 before the ramp, 1 after it, without a bend at either end.
double ramp(double way, double length) {
    if (length <= 0) return 1;
    const double t = std::clamp(way / length, 0.0, 1.0);
    return t * t * (3 - 2 * t);
}

/// Each value replaced by the median of its neighbours along an open chain.
std::vector<double> outvoted(const std::vector<double>& values) {
    std::vector<double> result(values.size()), window;
    for (std::size_t i = 0; i < values.size(); ++i) {
        const std::size_t reach = std::min({median_window, i, values.size() - 1 - i});
        window.assign(values.begin() + static_cast<std::ptrdiff_t>(i - reach),
                      values.begin() + static_cast<std::ptrdiff_t>(i + reach + 1));
        std::nth_element(window.begin(), window.begin() + static_cast<std::ptrdiff_t>(reach), window.end());
        result[i] = window[reach];
    }
    return result;
}

/// Fills gaps straight between their neighbours. Precondition: one value at least.
std::vector<double> without_gaps(const std::vector<std::optional<double>>& values) {
    std::vector<double> result(values.size());
    std::optional<std::size_t> before;
    for (std::size_t i = 0; i < values.size(); ++i) {
        if (!values[i]) continue;
        result[i] = *values[i];
        for (std::size_t k = before ? *before + 1 : 0; k < i; ++k) {
            const double share = before ? static_cast<double>(k - *before) / static_cast<double>(i - *before) : 1;
            result[k] = (before ? *values[*before] : *values[i]) * (1 - share) + *values[i] * share;
        }
        before = i;
    }
    for (std::size_t k = *before + 1; k < values.size(); ++k) result[k] = *values[*before];
    return result;
}

/// Precondition: at least one value, share in [0, 1].
double quantile(std::vector<double> values, double share) {
    const auto at = static_cast<std::ptrdiff_t>(std::lround(share * static_cast<double>(values.size() - 1)));
    std::nth_element(values.begin(), values.begin() + at, values.end());
    return values[static_cast<std::size_t>(at)];
}
double median(std::vector<double> values) { return quantile(std::move(values), 0.5); }

std::string mm_text(double mm) { return fixed(mm, 2) + " mm"; }

/// What one edge's samples move by, in their sections.
struct Moves {
    std::vector<EdgeSection> sections;
    std::vector<Vec2> by;  ///< per sample, already faded out toward the ends
};

/// One edge of a loop as an open run of samples, or the whole loop.
class EdgeRun {
public:
    EdgeRun(const PosedPlug& posed, const PartingLoop& loop, std::size_t first, std::size_t last)
        : posed_(posed), loop_(loop), n_(loop.panel_line.size()), first_(first), is_whole_(first == last) {
        count_ = is_whole_ ? n_ : (last + n_ - first) % n_ + 1;
        for (std::size_t i = 0; i < count_; ++i)
            way_.push_back(i == 0 ? 0 : way_.back() + norm(point(i) - point(i - 1)));
    }

    [[nodiscard]] std::size_t size() const { return count_; }
    [[nodiscard]] bool is_whole() const { return is_whole_; }
    [[nodiscard]] std::size_t sample(std::size_t i) const { return (first_ + i) % n_; }
    [[nodiscard]] Vec3 point(std::size_t i) const { return loop_.panel_line[sample(i)]; }
    [[nodiscard]] double length() const { return way_.back(); }
    [[nodiscard]] double step() const { return length() / static_cast<double>(count_ - 1); }
    /// Way to the nearer of the ends that fade out.
    [[nodiscard]] double way_to_end(std::size_t i, bool fades_at_first, bool fades_at_last) const {
        double way = std::numeric_limits<double>::infinity();
        if (fades_at_first) way = std::min(way, way_[i]);
        if (fades_at_last) way = std::min(way, length() - way_[i]);
        return way;
    }

    /// Sections square to the run itself: what lies beyond its corners does not turn them.
    [[nodiscard]] std::vector<EdgeSection> sections(double reach_mm) const {
        std::vector<EdgeSection> result;
        result.reserve(count_);
        for (std::size_t i = 0; i < count_; ++i)
            result.push_back(cut_section(posed_, loop_.surface_line.points[sample(i)], point(i), tangent(i), reach_mm));
        return result;
    }

    /// Smooth along the run, given how well each value is known.
    [[nodiscard]] std::vector<Vec2> smoothed(std::vector<double> x, std::vector<double> y, double doubt_mm) const {
        x = outvoted(x);
        y = outvoted(y);
        std::vector<std::uint8_t> is_kink(count_, 0);
        if (!is_whole_) is_kink.front() = is_kink.back() = 1;
        Eigen::MatrixXd told(static_cast<Eigen::Index>(count_), 2);
        for (std::size_t i = 0; i < count_; ++i) told.row(static_cast<Eigen::Index>(i)) << x[i], y[i];
        const ChainSmoother smoother(std::vector<double>(count_, doubt_mm), std::move(is_kink));
        const Eigen::MatrixXd smooth = smoother.smooth(told, step());
        std::vector<Vec2> result;
        for (Eigen::Index i = 0; i < smooth.rows(); ++i) result.push_back({smooth(i, 0), smooth(i, 1)});
        return result;
    }

private:
    [[nodiscard]] Vec3 tangent(std::size_t i) const {
        if (is_whole_) return point((i + tangent_window) % count_) - point((i + count_ - tangent_window) % count_);
        const std::size_t a = i > tangent_window ? i - tangent_window : 0;
        return point(std::min(i + tangent_window, count_ - 1)) - point(a);
    }

    const PosedPlug& posed_;
    const PartingLoop& loop_;
    std::size_t n_, first_, count_ = 0;
    bool is_whole_;
    std::vector<double> way_;
};

class EdgeMover {
public:
    EdgeMover(const PosedPlug& posed, const ReleaseMap& map, const PartingOptions& options, PartingLoop& loop,
              std::vector<std::uint8_t>& half)
        : posed_(posed), map_(map), options_(options), loop_(loop), half_(half) {}

    bool move() {
        shift_.assign(loop_.panel_line.size(), {});
        times_.assign(loop_.panel_line.size(), 0);
        const auto rim = options_.edges.find("rim");
        const bool is_told_whole = !loop_.is_inner && loop_.edges.front().id != "rim" && rim != options_.edges.end() &&
                                   !rim->second.polyline.empty();
        if (is_told_whole) {
            const EdgeRun run(posed_, loop_, 0, 0);
            const std::string finding = follow("rim", run, rim->second, std::vector<double>(run.size(), 1));
            for (PartingEdge& edge : loop_.edges) {
                edge.rule = EdgeRule::polyline;
                edge.finding = finding;
            }
        } else {
            for (std::size_t e = 0; e < loop_.edges.size(); ++e)
                if (const EdgeOptions* told = told_of(e); told && told->rule() != EdgeRule::silhouette)
                    move_edge(e, *told);
        }
        bool has_moved = false;
        for (std::size_t i = 0; i < shift_.size(); ++i) {
            if (times_[i] == 0) continue;
            loop_.panel_line[i] += shift_[i] / times_[i];
            has_moved = true;
        }
        return has_moved;
    }

private:
    [[nodiscard]] const EdgeOptions* told_of(std::size_t e) const {
        const auto told = options_.edges.find(loop_.edges[e].id);
        return told == options_.edges.end() ? nullptr : &told->second;
    }

    /// Neighbours of one treatment go on into each other without a step.
    [[nodiscard]] bool is_alike(std::size_t e, const EdgeOptions& told) const {
        const EdgeOptions* other = told_of(e);
        return other && other->rule() == told.rule() && other->split == told.split &&
               (!told.overrun || other->overrun->mm() == told.overrun->mm());
    }

    /// Share of the move at each sample.
    [[nodiscard]] std::vector<double> fading(const EdgeRun& run, bool fades_at_first, bool fades_at_last) const {
        const double length = std::min(options_.tolerances.corner_run_mm, most_ramp_share * run.length());
        std::vector<double> share;
        for (std::size_t i = 0; i < run.size(); ++i)
            share.push_back(ramp(run.way_to_end(i, fades_at_first, fades_at_last), length));
        return share;
    }

    void move_edge(std::size_t e, const EdgeOptions& told) {
        PartingEdge& edge = loop_.edges[e];
        const EdgeRun run(posed_, loop_, edge.first, edge.last);
        if (run.size() < 2 * tangent_window + 1) {
            edge.finding = "too short for a rule of its own";
            return;
        }
        const std::size_t n = loop_.edges.size();
        const bool at_first = !run.is_whole() && !is_alike((e + n - 1) % n, told);
        const bool at_last = !run.is_whole() && !is_alike((e + 1) % n, told);
        const std::vector<double> share = fading(run, at_first, at_last);
        edge.rule = told.rule();
        if (told.split) {
            split(edge, run, *told.split, share);
        } else if (told.overrun) {
            overrun(edge, run, told.overrun->mm(), share);
        } else {
            edge.finding = follow(edge.id, run, told, share);
        }
    }

    [[nodiscard]] double doubt_mm() const { return std::hypot(posed_.plug.noise_mm, options_.tolerances.arc_fit_mm); }

    void overrun(PartingEdge& edge, const EdgeRun& run, double arc_mm, const std::vector<double>& share) {
        Moves moves{run.sections(std::abs(arc_mm) + label_reach_edges * map_.mean_edge_mm), {}};
        std::vector<double> x, y;
        std::size_t short_ones = 0;
        for (std::size_t i = 0; i < run.size(); ++i) {
            const EdgeSection& section = moves.sections[i];
            const double way = arc_mm * share[i];
            if (way < section.arc.front() || way > section.arc.back()) ++short_ones;
            const Vec2 by = section.at(way) - section.at(0);
            x.push_back(by.x);
            y.push_back(by.y);
        }
        moves.by = run.smoothed(x, y, doubt_mm());
        for (std::size_t i = 0; i < run.size(); ++i) moves.by[i] = share[i] > 0 ? moves.by[i] : Vec2{};
        if (short_ones > 0) edge.finding = "the surface ends before the overrun does";
        add(run, moves, share);
    }

    /// Why the strip cannot be split; empty when it can.
    [[nodiscard]] std::string unresolved(const std::vector<Strip>& found, std::size_t sections) const {
        if (static_cast<double>(found.size()) < least_found_share * static_cast<double>(sections))
            return "not resolvable: no flat strip between two corners at this edge";
        std::vector<double> width, triangles;
        for (const Strip& s : found) {
            width.push_back(s.width_mm());
            triangles.push_back(static_cast<double>(s.triangles_across));
        }
        // A section that shows no strip speaks for a narrow one: noise hides those first.
        std::vector<double> all(width);
        all.resize(sections, 0);
        const double wide = median(width), across = median(triangles), told_wide = median(std::move(all));
        if (across >= least_triangles && told_wide >= least_width_sigmas * posed_.plug.noise_mm) return {};
        return "not resolvable: the strip is " + mm_text(wide) + " wide, " + fixed(across, 0) +
               " triangles across, with noise of " + fixed(posed_.plug.noise_mm, 3) + " mm";
    }

    /// How the strip is split, and why.
    struct StripVerdict {
        std::string finding;
        double split = 0;
    };
    /// Judged by the corners' smooth curves: a single section leans by whatever noise and a nick at its corners make of
    /// it. What less than `leaning_share` of the edge does is left out at either end, so that a bad stretch neither
    /// decides nor is told as the strip's lean.
    [[nodiscard]] StripVerdict judge_lean(const std::vector<Vec2>& upper, const std::vector<Vec2>& lower,
                                          const std::vector<double>& share, double told) const {
        std::vector<double> lean, width;
        for (std::size_t i = 0; i < upper.size(); ++i) {
            if (share[i] < 1) continue;  // toward a corner the neighbouring edge is in view
            // Draft toward half 1: the strip's normal leans up where its upper corner stands back.
            lean.push_back(std::atan2(lower[i].x - upper[i].x, upper[i].y - lower[i].y));
            width.push_back(norm(lower[i] - upper[i]));
        }
        if (lean.empty()) return {"strip split as told", told};
        const double wide = median(width), doubt = 2 * posed_.plug.noise_mm / std::max(wide, posed_.plug.noise_mm);
        const double serves_both = std::max(least_lean_rad, std::min(doubt, most_doubt_rad));
        const double most_up = quantile(lean, 1 - leaning_share), most_down = -quantile(lean, leaning_share);
        const bool leans_up = most_up > serves_both, leans_down = most_down > serves_both;
        const std::string strip = "strip of " + mm_text(wide);
        if (leans_up && leans_down)
            return {strip + " leans to half 1 at one place and to half 2 at another; split all the same", told};
        if (leans_up || leans_down)
            return {strip + " leans up to " + fixed(Angle::rad(leans_up ? most_up : most_down).deg(), 1) +
                        " deg and goes whole to half " + (leans_up ? "1" : "2"),
                    leans_up ? 1.0 : 0.0};
        return {strip + " split at " + mm_text(told * wide) + " from half 1's corner", told};
    }

    void split(PartingEdge& edge, const EdgeRun& run, double told, const std::vector<double>& share) {
        Moves moves{run.sections(strip_reach_mm), {}};
        std::vector<std::optional<double>> ux(run.size()), uy = ux, lx = ux, ly = ux;
        std::vector<Strip> found;
        for (std::size_t i = 0; i < run.size(); ++i) {
            const std::optional<Strip> strip = fit_strip(moves.sections[i], posed_.plug.noise_mm);
            if (!strip) continue;
            found.push_back(*strip);
            ux[i] = strip->upper.x;
            uy[i] = strip->upper.y;
            lx[i] = strip->lower.x;
            ly[i] = strip->lower.y;
        }
        edge.finding = unresolved(found, run.size());
        if (!edge.finding.empty()) {
            edge.rule = EdgeRule::silhouette;
            return;
        }
        const std::vector<Vec2> upper = run.smoothed(without_gaps(ux), without_gaps(uy), doubt_mm());
        const std::vector<Vec2> lower = run.smoothed(without_gaps(lx), without_gaps(ly), doubt_mm());
        const StripVerdict verdict = judge_lean(upper, lower, share, told);
        edge.finding = verdict.finding;
        for (std::size_t i = 0; i < run.size(); ++i)
            moves.by.push_back((upper[i] + (lower[i] - upper[i]) * verdict.split) * share[i]);
        double least_mm = std::numeric_limits<double>::infinity(), most_mm = 0;
        for (std::size_t i = 0; i < run.size(); ++i)
            if (!(share[i] < 1)) {
                least_mm = std::min(least_mm, norm(lower[i] - upper[i]));
                most_mm = std::max(most_mm, norm(lower[i] - upper[i]));
            }
        if (std::isfinite(least_mm)) {
            edge.strip_mm = least_mm;
            edge.strip_most_mm = most_mm;
            edge.strip_share = verdict.split;
            edge.strip_up_mm = least_mm * verdict.split;
        }
        add(run, moves, share);
    }

    /// The told line laid on the surface, fixture frame.
    [[nodiscard]] std::vector<Vec3> snapped(const std::string& key, const EdgeOptions& told, bool is_closed) const {
        std::vector<Vec3> points;
        for (const Vec3& p : told.polyline)
            points.push_back(posed_.pose.to_fixture(posed_.pose.plug_in_scan.to_parent(p)));
        const std::vector<Vec3> fine = resample(points, is_closed, options_.tolerances.surface_step_mm);
        std::vector<Vec3> in_scan;
        for (const Vec3& p : fine) in_scan.push_back(posed_.pose.to_scan(p));
        const MeshIndex near(posed_.mesh(), faces_near(posed_.mesh(), in_scan, most_snap_mm + map_.mean_edge_mm));
        for (std::size_t i = 0; i < points.size(); ++i) {
            const double off = near.nearest(posed_.pose.to_scan(points[i])).distance_mm;
            if (off <= most_snap_mm) continue;
            throw Error(ErrorCode::bad_input, key,
                        "point " + std::to_string(i + 1) + " lies " +
                            (std::isfinite(off) ? fixed(off, 1) + " mm" : std::string("far")) + " off the plug",
                        "points are in the plug frame: x along the span, y front, z up, from the middle of the plug");
        }
        std::vector<Vec3> line;
        for (const Vec3& p : in_scan) {
            // Straight between told points far apart the line may cut through the plug.
            const MeshIndex::Nearest foot = near.nearest(p);
            if (foot.face != no_id) line.push_back(posed_.pose.to_fixture(foot.point));
        }
        return line;
    }

    struct Foot {
        Vec3 at;
        double way = 0, length = 0;
    };
    [[nodiscard]] static Foot foot_on(const std::vector<Vec3>& line, bool is_closed, Vec3 p) {
        Foot best;
        double least = std::numeric_limits<double>::infinity(), walked = 0;
        for (std::size_t i = 0; i + (is_closed ? 0 : 1) < line.size(); ++i) {
            const Vec3 a = line[i], d = line[(i + 1) % line.size()] - a;
            const double square = dot(d, d);
            const double t = square > 0 ? std::clamp(dot(p - a, d) / square, 0.0, 1.0) : 0;
            if (const double off = norm(p - a - d * t); off < least) {
                least = off;
                best.at = a + d * t;
                best.way = walked + t * std::sqrt(square);
            }
            walked += std::sqrt(square);
        }
        best.length = walked;
        return best;
    }

    /// Moves a run onto the told line as far as that reaches. Returns the finding.
    std::string follow(const std::string& name, const EdgeRun& run, const EdgeOptions& told,
                       std::vector<double> share) {
        const std::vector<Vec3>& points = told.polyline;
        const bool is_closed = run.is_whole() || points.front() == points.back();
        const std::vector<Vec3> line = snapped("edge." + name + ".polyline", told, is_closed);
        Moves moves;
        std::vector<Vec3> feet;
        std::vector<double> x, y;
        double most = 0;
        std::size_t beyond = 0;
        for (std::size_t i = 0; i < run.size(); ++i) {
            const Foot foot = foot_on(line, is_closed, run.point(i));
            if (!is_closed) {
                const double left = std::min(foot.way, foot.length - foot.way);
                if (left <= 0) ++beyond;
                share[i] *= ramp(left, options_.tolerances.corner_run_mm);
            }
            most = std::max(most, norm(foot.at - run.point(i)));
            feet.push_back(foot.at);
        }
        moves.sections = run.sections(most + label_reach_edges * map_.mean_edge_mm);
        for (std::size_t i = 0; i < run.size(); ++i) {
            const Vec3 q = moves.sections[i].frame.to_local(feet[i]);
            x.push_back(q.x);
            y.push_back(q.y);
        }
        moves.by = run.smoothed(x, y, doubt_mm());
        for (std::size_t i = 0; i < run.size(); ++i) moves.by[i] = moves.by[i] * share[i];
        add(run, moves, share);
        std::string finding = "line as told, up to " + mm_text(most) + " from the found one";
        if (beyond > 0) finding += "; it ends before the edge does";
        return finding;
    }

    void add(const EdgeRun& run, const Moves& moves, const std::vector<double>& share) {
        for (std::size_t i = 0; i < run.size(); ++i) {
            shift_[run.sample(i)] += moves.sections[i].frame.direction_to_parent({moves.by[i].x, moves.by[i].y, 0});
            ++times_[run.sample(i)];
        }
        move_border(run, moves, share);
    }

    /// Faces beside the run go to the half on whose side of the moved line they lie.
    void move_border(const EdgeRun& run, const Moves& moves, const std::vector<double>& share) {
        double most = 0;
        std::vector<Vec3> points;
        for (std::size_t i = 0; i < run.size(); ++i) {
            most = std::max(most, norm(moves.by[i]));
            points.push_back(posed_.pose.to_scan(run.point(i)));
        }
        const double reach = most + label_reach_edges * map_.mean_edge_mm;
        for (const FaceId f : faces_near(posed_.mesh(), points, reach)) {
            const auto c = posed_.mesh().corners(f);
            const Vec3 middle = posed_.pose.to_fixture((c[0] + c[1] + c[2]) / 3);
            std::size_t i = 0;
            double least = std::numeric_limits<double>::infinity();
            for (std::size_t k = 0; k < run.size(); ++k)
                if (const double off = norm(run.point(k) - middle); off < least) {
                    least = off;
                    i = k;
                }
            // Toward a corner where the rule fades out the border stays, as the line does.
            if (share[i] < least_border_share) continue;
            const EdgeSection& section = moves.sections[i];
            const Vec3 q = section.frame.to_local(middle);
            const EdgeSection::Nearest foot = section.nearest({q.x, q.y});
            if (least > reach || std::abs(q.z) > run.step() || foot.distance_mm > map_.mean_edge_mm ||
                std::abs(foot.arc_mm) > reach)
                continue;
            half_[f] = foot.arc_mm < section.nearest(moves.by[i]).arc_mm ? 1 : 2;
        }
    }

    const PosedPlug& posed_;
    const ReleaseMap& map_;
    const PartingOptions& options_;
    PartingLoop& loop_;
    std::vector<std::uint8_t>& half_;
    std::vector<Vec3> shift_;
    std::vector<double> times_;
};

}  // namespace

bool apply_edge_rules(const PosedPlug& posed, const ReleaseMap& map, const PartingOptions& options, PartingLoop& loop,
                      std::vector<std::uint8_t>& half) {
    return EdgeMover(posed, map, options, loop, half).move();
}

}  // namespace cradlewright
