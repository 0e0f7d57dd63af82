// SPDX-License-Identifier: GPL-3.0-or-later
// Formulas and their sources: edge_lock.md beside this file.
#include "cradlewright/stages/edge_lock.hpp"

#include <algorithm>
#include <cmath>
#include <compare>
#include <iterator>
#include <map>
#include <optional>
#include <tuple>
#include <utility>

#include "cradlewright/geom/faces_near.hpp"
#include "cradlewright/geom/mesh_index.hpp"
#include "cradlewright/stages/mould_skin.hpp"

namespace cradlewright {
namespace {

constexpr double step_mm = 0.25;            // between the heights at which the outline is met
constexpr double look_without_bead_mm = 5;  // how far above a bare panel line
constexpr double look_polyline_mm = 30;     // a told line may lie that far off. Source: assumed
constexpr double look_share = 1.5;          // of a told overrun or strip
constexpr std::size_t most_told_places = 200;
constexpr double least_square = 1e-9;  // of a level part: a foot on a level place draws in without end
constexpr double slope_steps = 4;      // rays over the wedges' lift that settle the wall's slope

/// A place of a mould's edge.
struct EdgePlace {
    Vec3 line, edge, outward;  ///< on the panel line; of the mould; unit, square to the pull
    double radius_mm = 0, strip_mm = 0;
    std::optional<double> lift{};  ///< sine of the draft at a round bead's foot, toward the half
    bool is_bare = true;           ///< no clay: the mould ends at the panel line
};

struct EdgeKey {
    std::size_t loop, edge;
    friend auto operator<=>(const EdgeKey&, const EdgeKey&) = default;
};

/// The plug's outline in the plane of outward and pull through a place.
class Outline {
public:
    Outline(const Pose& pose, const TriMesh& mesh, const MeshIndex& index, Vec3 up, const EdgePlace& place,
            double look_mm)
        : pose_(pose),
          mesh_(mesh),
          index_(index),
          up_(up),
          place_(place),
          look_(look_mm),
          inward_(pose.direction_to_scan(-place.outward)) {}

    /// How far out the plug reaches at a height over the panel line; far in where it is not.
    [[nodiscard]] double out(double height) const {
        const Vec3 from = place_.line + up_ * height + place_.outward * look_;
        const auto hit = index_.first_hit(pose_.to_scan(from), inward_);
        // A face met from behind belongs to another part of the plug, inside which the ray began.
        const bool is_outline = hit && dot(area_vector(mesh_.corners(hit->face)), inward_) < 0;
        return is_outline ? look_ - hit->distance_mm : -look_;
    }
    /// What the wall draws in over `rise`, by a straight line through it: for an arc exactly, and quieter than two
    /// ends.
    [[nodiscard]] double drop(double height, double rise) const {
        double sum = 0, squares = 0;
        for (int k = 0; k <= 2 * static_cast<int>(slope_steps); ++k) {
            const double off = rise * (k / (2 * slope_steps) - 0.5);
            sum -= off * out(height + 0.5 * rise + off);
            squares += off * off;
        }
        return squares > 0 ? rise * sum / squares : 0;
    }

private:
    const Pose& pose_;
    const TriMesh& mesh_;
    const MeshIndex& index_;
    Vec3 up_;
    const EdgePlace& place_;
    double look_;
    Vec3 inward_;
};

class HalfMeter {
public:
    HalfMeter(const PosedPlug& posed, const Parting& parting, const Settings& settings, const Spread& shrinkage,
              int half)
        : posed_(posed),
          parting_(parting),
          settings_(settings),
          shrinkage_(shrinkage),
          half_(half),
          up_(posed.pose.pull_of(half)),
          middle_((posed.box_fixture.low + posed.box_fixture.high) * 0.5) {}

    void add_sections(const BeadRun& run, EdgeKey key) {
        for (const BeadSection& s : run.sections) {
            if (!s.is_valid) continue;
            const auto outward = level(s.on_panel - s.joint);
            if (!outward) continue;
            std::optional<double> lift;
            if (run.kind == BeadKind::round) lift = dot(s.center - s.on_plug, up_) / run.radius_mm;
            places_[key].push_back({s.joint, s.on_plug, *outward, run.radius_mm, s.plug_strip_mm, lift, false});
        }
    }

    void add_line(EdgeKey key, std::size_t first, std::size_t last) {
        const PartingLoop& loop = parting_.loops[key.loop];
        const std::size_t n = loop.panel_line.size();
        const std::size_t count = first == last ? n : (last + n - first) % n + 1;
        for (std::size_t k = 0; k < count; ++k) {
            const std::size_t i = (first + k) % n;
            if (const auto outward = level(loop.outward[i]))
                places_[key].push_back({loop.panel_line[i], loop.panel_line[i], *outward});
        }
    }

    [[nodiscard]] std::vector<EdgeLock> measure() const {
        const std::optional<MeshIndex> index = index_doubtful();
        std::vector<EdgeLock> rows;
        for (const auto& [key, places] : places_) {
            std::optional<EdgeLock> worst;
            const std::size_t stride = stride_of(key);
            for (std::size_t i = 0; i < places.size(); ++i) {
                if (!needs_rays(key, i, stride) && !places[i].lift) continue;
                EdgeLock here = needs_rays(key, i, stride) ? look_at(key, places[i], *index) : drafted(places[i]);
                if (!worst || is_worse(here, *worst)) worst = std::move(here);
            }
            worst->edge = edge_of(key).id;
            worst->half = half_;
            rows.push_back(std::move(*worst));
        }
        return rows;
    }

private:
    [[nodiscard]] std::optional<Vec3> level(Vec3 v) const {
        const Vec3 flat = v - up_ * dot(v, up_);
        return norm(flat) > 0 ? std::optional(normalized(flat)) : std::nullopt;
    }
    [[nodiscard]] const PartingEdge& edge_of(EdgeKey key) const { return parting_.loops[key.loop].edges[key.edge]; }

    [[nodiscard]] std::size_t stride_of(EdgeKey key) const { return 1 + places_.at(key).size() / most_told_places; }
    /// Where the wall at a bead's foot has draft and nothing was told, nothing reaches out.
    [[nodiscard]] bool needs_rays(EdgeKey key, std::size_t i, std::size_t stride) const {
        const EdgePlace& place = places_.at(key)[i];
        if (place.is_bare || (place.lift && *place.lift < 0)) return true;
        return i % stride == 0 && (!place.lift || edge_of(key).rule != EdgeRule::silhouette);
    }
    [[nodiscard]] double look_mm(EdgeKey key, const EdgePlace& place) const {
        const PartingEdge& edge = edge_of(key);
        double look = place.is_bare ? look_without_bead_mm : 2 * std::max(place.strip_mm, place.radius_mm);
        if (edge.rule == EdgeRule::polyline) look = std::max(look, look_polyline_mm);
        const auto told = settings_.edges.find(edge.id);
        if (told != settings_.edges.end() && told->second.overrun)
            look = std::max(look, look_share * std::abs(told->second.overrun->mm()));
        return std::max(look, look_share * edge.strip_mm);
    }
    [[nodiscard]] double top_mm(EdgeKey key, const EdgePlace& place) const {
        return dot(place.edge - place.line, up_) + std::max(look_mm(key, place), settings_.release.wedge_lift.mm());
    }

    [[nodiscard]] std::optional<MeshIndex> index_doubtful() const {
        std::vector<Vec3> in_scan;
        double reach = 0;
        for (const auto& [key, places] : places_) {
            const std::size_t stride = stride_of(key);
            for (std::size_t i = 0; i < places.size(); ++i) {
                if (!needs_rays(key, i, stride)) continue;
                in_scan.push_back(posed_.pose.to_scan(places[i].line));
                reach = std::max(reach, 1.5 * top_mm(key, places[i]));
            }
        }
        if (in_scan.empty()) return std::nullopt;
        return MeshIndex(posed_.mesh(), faces_near(posed_.mesh(), in_scan, reach));
    }

    /// Grip left once the wedges have lifted the mould: what the wall drew in by then is free.
    [[nodiscard]] static double grip(double shrunk_mm, double drop_mm) {
        return shrunk_mm > 0 ? std::clamp(shrunk_mm - drop_mm, 0.0, shrunk_mm) : shrunk_mm;
    }

    [[nodiscard]] EdgeLock summed(EdgeLock lock, double noise_mm) const {
        const double out = lock.overhang_mm();
        const auto sum = [&](double strain) { return out + grip(strain * lock.half_width_mm, lock.drop_mm); };
        lock.shrinkage_mm = std::max(-out, grip(shrinkage_.value * lock.half_width_mm, lock.drop_mm));
        const double doubt = out > 0 ? 2 * noise_mm : 0;
        // A mould that shrinks off the plug frees it more with the higher shrinkage.
        const auto [least, most] = std::minmax({sum(shrinkage_.low), sum(shrinkage_.high)});
        lock.depth_mm = {std::max(0.0, least - doubt), std::max(0.0, out + lock.shrinkage_mm),
                         std::max(0.0, most + doubt)};
        lock.holds = lock.depth_mm.value > 0 ? cause_of(lock) : LockCause::none;
        return lock;
    }

    [[nodiscard]] EdgeLock placed(const EdgePlace& place) const {
        EdgeLock lock;
        lock.at = place.edge;
        lock.bead_radius_mm = place.radius_mm;
        lock.strip_mm = place.strip_mm;
        lock.half_width_mm = dot(place.edge - middle_, place.outward);
        return lock;
    }

    [[nodiscard]] EdgeLock drafted(const EdgePlace& place) const {
        EdgeLock lock = placed(place);
        lock.drop_mm = drop_by_draft(*place.lift);
        return summed(std::move(lock), posed_.plug.noise_mm);
    }

    [[nodiscard]] double drop_by_draft(double lift) const {
        return settings_.release.wedge_lift.mm() * lift / std::sqrt(std::max(least_square, 1 - lift * lift));
    }

    [[nodiscard]] EdgeLock look_at(EdgeKey key, const EdgePlace& place, const MeshIndex& index) const {
        EdgeLock lock = placed(place);
        const double look = look_mm(key, place), height = dot(place.edge - place.line, up_);
        const Outline outline(posed_.pose, posed_.mesh(), index, up_, place, look);
        // A smoothed panel line runs a little inside a coarse mesh.
        const double at_line = std::max(0.0, outline.out(0));
        const double at_edge = place.is_bare ? at_line : dot(place.edge - place.line, place.outward);
        std::vector<Vec2> wall{{at_edge, height}};  // from the mould's edge up
        double bare = 0, widest = at_edge;
        for (double rise = step_mm; rise <= height + look; rise += step_mm) {
            const double out = outline.out(rise);
            bare = std::max(bare, out - at_line);
            if (rise <= height) continue;
            wall.push_back({out, rise});
            if (out <= widest) continue;
            widest = out;
            lock.rise_mm = rise - height;
        }
        const bool has_draft = place.lift && *place.lift >= 0;
        const double left = has_draft ? 0 : widest - at_edge + lip_mm(place);
        (edge_of(key).rule == EdgeRule::split ? lock.split_mm : lock.overrun_mm) = std::max(bare, left);
        lock.bead_mm = std::min(0.0, left - bare);
        lock.drop_mm = has_draft ? drop_by_draft(*place.lift) : outline.drop(height, settings_.release.wedge_lift.mm());
        lock = summed(std::move(lock), posed_.plug.noise_mm);
        lock.arc_back_mm = arc_back_mm(lock, wall, widest);
        return lock;
    }

    /// Where the foot turns away from the pull, the mould's lip goes on under it as far as the ball reaches in.
    [[nodiscard]] static double lip_mm(const EdgePlace& place) {
        if (!place.lift || *place.lift >= 0) return 0;
        return place.radius_mm * (1 - std::sqrt(std::max(0.0, 1 - *place.lift * *place.lift)));
    }

    [[nodiscard]] static LockCause cause_of(const EdgeLock& lock) {
        if (lock.shrinkage_mm > lock.overhang_mm()) return LockCause::shrinkage;
        return lock.split_mm > 0 ? LockCause::split : LockCause::overrun;
    }

    [[nodiscard]] double arc_back_mm(const EdgeLock& lock, const std::vector<Vec2>& wall, double widest) const {
        const double allowed = settings_.release.undercut_limit.mm() - (lock.depth_mm.high - lock.overhang_mm());
        double arc = 0;
        for (std::size_t k = 1; k < wall.size() && widest - wall[k - 1].x > std::max(0.0, allowed); ++k)
            arc += norm(wall[k] - wall[k - 1]);
        return arc;
    }

    [[nodiscard]] static bool is_worse(const EdgeLock& a, const EdgeLock& b) {
        const auto rank = [](const EdgeLock& lock) {
            return std::tuple(lock.depth_mm.value, lock.depth_mm.high, lock.overrun_mm + lock.split_mm);
        };
        return rank(a) > rank(b);
    }

    const PosedPlug& posed_;
    const Parting& parting_;
    const Settings& settings_;
    Spread shrinkage_;
    int half_;
    Vec3 up_, middle_;
    std::map<EdgeKey, std::vector<EdgePlace>> places_;
};

std::optional<EdgeKey> key_of(const Parting& parting, std::size_t loop, const std::string& id) {
    const auto& edges = parting.loops[loop].edges;
    const auto found = std::ranges::find(edges, id, &PartingEdge::id);
    if (found == edges.end()) return std::nullopt;
    return EdgeKey{loop, static_cast<std::size_t>(found - edges.begin())};
}

}  // namespace

std::string_view lock_cause_name(LockCause cause) {
    constexpr std::string_view names[] = {"nothing", "overrun", "split", "shrinkage"};
    return names[static_cast<std::size_t>(cause)];
}

std::vector<EdgeLock> measure_edge_locks(const PosedPlug& posed, const Parting& parting, const Flange& flange,
                                         const Beads& beads, const Settings& settings) {
    const Laminate laminate = make_laminate(settings, settings.laminate_mould, "laminate.mould.plies");
    const Spread shrinkage =
        laminate.plies.empty() ? Spread{} : mould_shrinkage(settings, laminate, resin_shrinkage(settings));
    std::vector<EdgeLock> rows;
    for (const int half : {1, 2}) {
        if (half == 2 && settings.mould.use == MouldUse::single) continue;
        const std::vector<BeadRun>* runs = half == 1 ? &beads.runs : beads.groove ? &beads.groove->runs : nullptr;
        HalfMeter meter(posed, parting, settings, shrinkage, half);
        if (!(beads.radius_mm > 0)) {
            for (std::size_t loop = 0; loop < parting.loops.size(); ++loop)
                for (std::size_t e = 0; e < parting.loops[loop].edges.size(); ++e) {
                    const PartingEdge& edge = parting.loops[loop].edges[e];
                    meter.add_line({loop, e}, edge.first, edge.last);
                }
        } else if (runs) {
            for (const BeadRun& run : *runs) {
                const auto panel = std::ranges::find(flange.panels, run.panel, &FlangePanel::id);
                const auto key = panel == flange.panels.end() ? std::nullopt : key_of(parting, panel->loop, run.edge);
                if (!key) continue;
                if (run.kind == BeadKind::none)
                    meter.add_line(*key, panel->first, panel->last);
                else
                    meter.add_sections(run, *key);
            }
        }
        std::ranges::move(meter.measure(), std::back_inserter(rows));
    }
    return rows;
}

}  // namespace cradlewright
