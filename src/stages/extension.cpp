// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/extension.hpp"

#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/stages/pose.hpp"
#include "stages/extension_end.hpp"
#include "stages/extension_solid.hpp"

namespace cradlewright {
namespace {

constexpr double least_left = 0.2;     // of its width that a narrowing piece keeps. Source: assumed
constexpr double most_cut_off = 0.01;  // of its area that the trim step may cut off in pieces. Source: assumed
constexpr double row_edges = 1.5;      // length of the piece's faces in edges of the scan. Source: assumed

[[noreturn]] void refuse(const std::string& edge, const char* setting, const std::string& problem,
                         const std::string& hint) {
    throw Error(ErrorCode::bad_input, "edge." + edge + "." + setting, problem, hint);
}

/// Point at `share` of the side from a loop's point on.
struct Place {
    std::size_t side = 0;
    double share = 0;
};

/// Middle, along `up`, of what reaches furthest along `out`: a corner or a wall.
Place furthest_middle(const std::vector<Vec2>& loop, Vec2 out, Vec2 up) {
    constexpr double same_share = 1e-3;  // of the outline's size, that a wall may wander. Source: assumed
    const std::size_t n = loop.size();
    const auto reach = [&](std::size_t i) { return dot(loop[i % n], out); };
    std::size_t best = 0;
    Box2 box;
    for (std::size_t i = 0; i < n; ++i) {
        box.add(loop[i]);
        if (reach(i) > reach(best)) best = i;
    }
    const double least = reach(best) - same_share * norm(box.size());
    std::size_t first = best + n, last = best + n;
    while (first > best + 1 && reach(first - 1) >= least) --first;
    while (last < best + 2 * n - 1 && reach(last + 1) >= least) ++last;
    if (first == last) return {best, 0};
    const double middle = (dot(loop[first % n], up) + dot(loop[last % n], up)) / 2;
    for (std::size_t i = first; i < last; ++i) {
        const double a = dot(loop[i % n], up), b = dot(loop[(i + 1) % n], up);
        if ((a - middle) * (b - middle) <= 0 && a != b) return {i % n, (middle - a) / (b - a)};
    }
    return {best, 0};
}

/// Further points on long sides, so that the piece's faces are about as long as wide.
std::vector<Vec2> with_points_between(const std::vector<Vec2>& loop, double longest_mm) {
    std::vector<Vec2> result;
    for (std::size_t i = 0; i < loop.size(); ++i) {
        const Vec2 a = loop[i], b = loop[(i + 1) % loop.size()];
        const int pieces = std::max(1, static_cast<int>(std::ceil(norm(b - a) / longest_mm - 1e-9)));
        for (int k = 0; k < pieces; ++k) result.push_back(a + (b - a) * (static_cast<double>(k) / pieces));
    }
    return result;
}

/// Where each point of a loop came from by an inset: out along the bisector of its sides' normals until both sides are
/// `step_mm` further out.
std::vector<Vec2> outset_points(const std::vector<Vec2>& loop, double step_mm) {
    constexpr double longest_steps = 10;  // at tails so sharp that the inset has cut off their end
    std::vector<Vec2> result;
    const std::size_t n = loop.size();
    for (std::size_t i = 0; i < n; ++i) {
        const Vec2 in = -perp(normalized(loop[i] - loop[(i + n - 1) % n]));
        const Vec2 out = -perp(normalized(loop[(i + 1) % n] - loop[i]));
        const Vec2 mitre = (in + out) * (step_mm / std::max(1 + dot(in, out), 2 / (longest_steps * longest_steps)));
        result.push_back(loop[i] + mitre);
    }
    return result;
}

class Piece {
public:
    Piece(const Plug& plug, const Pose& pose, std::string edge, const EdgeOptions& told)
        : edge_(std::move(edge)), told_(told) {
        const Vec3 span = pose.plug_in_scan.x;
        const Vec3 outward = edge_ == "end-a" ? -span : span;
        end_ = find_flat_end(plug, pose.plug_in_scan, outward, edge_);
        extension_.edge = edge_;
        extension_.is_sloped = told.extension_slope == "sloped";
        extension_.length_mm = told.extension->mm();
        extension_.trim_step_mm = told.trim_step.value_or(default_trim_step).mm();
        extension_.joint = end_.joint;
        extension_.gap_mm = end_.gap_mm;
        extension_.end = end_.outline;
        const Vec3 along = end_.joint.direction_to_local(outward);
        if (extension_.is_sloped)
            run_ = end_.walls;
        else
            run_.shift = Vec2{along.x, along.y} / along.z;
        shape_.row_mm = row_edges * plug.repair.mean_edge_mm;
        check_narrowing();
        inset();
        lean(pose);
        extension_.outer = outer_outline();
        if (shape_.ridge_from != shape_.ridge_to)
            extension_.ridge = {extension_.outer[shape_.ridge_from], extension_.outer[shape_.ridge_to]};
        note_slopes();
    }

    TriMesh set_on_to(const TriMesh& mesh) { return set_on(mesh, end_, shape_, extension_); }
    [[nodiscard]] const Extension& extension() const { return extension_; }

private:
    void check_narrowing() const {
        const double length = extension_.length_mm;
        if (run_.narrowest(length) >= least_left) return;
        double good = 0;
        constexpr int steps = 200;
        for (int k = 1; k <= steps && run_.narrowest(length * k / steps) >= least_left; ++k) good = length * k / steps;
        refuse(edge_, "extension",
               "the walls of " + edge_ + " close in to under a fifth of their width within " + fixed(length, 1) + " mm",
               "use at most " + fixed(std::floor(good), 0) + " mm, or edge." + edge_ + ".extension-slope = straight");
    }

    void inset() {
        const double step = extension_.trim_step_mm;
        if (step == 0) {
            extension_.inner = extension_.end;
            for (const Vec2 p : extension_.inner) shape_.speed.push_back(run_.speed(p));
            return;
        }
        Polygons left = offset({extension_.end}, -step);
        std::sort(left.begin(), left.end(),
                  [](const auto& a, const auto& b) { return signed_area(a) > signed_area(b); });
        if (left.empty())
            refuse(edge_, "trim-step", "nothing of " + edge_ + " is left within a step of " + fixed(step, 2) + " mm",
                   "use a smaller step");
        double lost = 0;
        for (std::size_t i = 1; i < left.size(); ++i) lost += std::abs(signed_area(left[i]));
        if (lost > most_cut_off * signed_area(left.front()))
            refuse(edge_, "trim-step",
                   "a step of " + fixed(step, 2) + " mm cuts the piece at " + edge_ + " into " +
                       std::to_string(left.size()) + " parts",
                   "use a smaller step");
        extension_.inner = with_points_between(left.front(), 2 * shape_.row_mm);
        // The piece stands back by the same step all along: its points go as those of the plug's walls above them.
        for (const Vec2 p : outset_points(extension_.inner, step)) shape_.speed.push_back(run_.speed(p));
    }

    [[nodiscard]] std::vector<Vec2> outer_outline() const {
        std::vector<Vec2> points;
        for (std::size_t i = 0; i < extension_.inner.size(); ++i)
            points.push_back(extension_.inner[i] + shape_.speed[i] * extension_.length_mm);
        return points;
    }

    /// Puts a point at the place of the outline unless one stands there; returns its number. Numbers from there on move
    /// up by one.
    std::size_t put_point(Place place) {
        const std::size_t next = (place.side + 1) % extension_.inner.size();
        if (place.share <= 0) return place.side;
        if (place.share >= 1) return next;
        const auto insert = [&](std::vector<Vec2>& points) {
            const Vec2 p = points[place.side] + (points[next] - points[place.side]) * place.share;
            points.insert(points.begin() + static_cast<std::ptrdiff_t>(place.side + 1), p);
        };
        insert(extension_.inner);
        insert(shape_.speed);
        return place.side + 1;
    }

    /// The ridge runs between the places of the outer outline that a mould half turns away at.
    void lean(const Pose& pose) {
        const double length = extension_.length_mm;
        shape_.height_mm.assign(extension_.inner.size(), length);
        const double lean_rad = told_.extension_lean.value_or(default_extension_lean).rad();
        const Vec3 pull = extension_.joint.direction_to_local(pose.pull_scan);
        const Vec2 up = normalized(Vec2{pull.x, pull.y});
        if (lean_rad == 0 || norm(Vec2{pull.x, pull.y}) < std::numbers::sqrt2 / 2) return;
        std::size_t from = put_point(furthest_middle(outer_outline(), -perp(up), up));
        const std::size_t count = extension_.inner.size();
        const std::size_t to = put_point(furthest_middle(outer_outline(), perp(up), up));
        if (extension_.inner.size() > count && to <= from) ++from;
        const std::vector<Vec2> points = outer_outline();
        shape_.height_mm.assign(points.size(), length);
        if (!divides(points, from, to)) return;  // a section so bent that no straight ridge lies in it: left square
        extension_.lean_rad = lean_rad;
        shape_.ridge_from = from;
        shape_.ridge_to = to;
        const Vec2 across = perp(normalized(points[to] - points[from]));
        shape_.height_mm.clear();
        for (const Vec2 p : points)
            shape_.height_mm.push_back(length - std::tan(lean_rad) * std::abs(dot(p - points[from], across)));
        const double least = *std::ranges::min_element(shape_.height_mm);
        if (least < least_left * length)
            refuse(edge_, "extension-lean",
                   "a lean of " + fixed(Angle::rad(lean_rad).deg(), 1) + " deg takes " + fixed(length - least, 1) +
                       " mm off a piece of " + fixed(length, 1) + " mm",
                   "use a smaller lean or a longer piece");
    }

    static bool divides(const std::vector<Vec2>& loop, std::size_t from, std::size_t to) {
        const auto part = [&](std::size_t a, std::size_t b) {
            std::vector<Vec2> points{loop[a]};
            for (std::size_t i = a; i != b; points.push_back(loop[i])) i = (i + 1) % loop.size();
            return points;
        };
        const std::vector<Vec2> one = part(from, to), other = part(to, from);
        constexpr double rounding = 1e-3;
        for (const auto& side : {one, other})
            if (side.size() < 3 || !(signed_area(side) > 0) || unite({side}).size() != 1 ||
                std::abs(area_of(unite({side})) - signed_area(side)) > rounding * signed_area(side))
                return false;
        return true;
    }

    void note_slopes() {
        bool is_first = true;
        const std::vector<Vec2>& loop = extension_.inner;
        for (std::size_t i = 0; i < loop.size(); ++i) {
            const Vec2 a = loop[i], b = loop[(i + 1) % loop.size()];
            if (!(norm(b - a) > 0)) continue;
            const Vec2 outward = -perp(normalized(b - a));
            const double deg = Angle::rad(std::atan(-dot(outward, shape_.speed[i]))).deg();
            extension_.slope_deg_low = is_first ? deg : std::min(extension_.slope_deg_low, deg);
            extension_.slope_deg_high = is_first ? deg : std::max(extension_.slope_deg_high, deg);
            is_first = false;
        }
    }

    std::string edge_;
    const EdgeOptions& told_;
    FlatEnd end_;
    WallSlope run_;
    Extension extension_;
    PieceShape shape_;
};

}  // namespace

Plug extend_plug(const Plug& plug, const Pose& pose, const Settings& settings) {
    std::vector<Piece> pieces;
    for (const auto& [name, edge] : settings.edges) {
        if (!edge.extension || edge.extension->mm() == 0) continue;
        if (name != "end-a" && name != "end-b")
            refuse(name, "extension", "only an end along the span can be extended",
                   "use edge.end-a or edge.end-b; pose.span tells which way the span runs");
        pieces.emplace_back(plug, pose, name, edge);
    }
    if (pieces.empty()) return plug;

    TriMesh mesh = *plug.mesh;
    std::vector<Extension> extensions;
    for (Piece& piece : pieces) {
        mesh = piece.set_on_to(mesh);
        Extension extension = piece.extension();
        extension.mass_kg = extension.volume_mm3 * settings.plug.density.kg_mm3();
        // A later cut takes scanned faces away, which all stand before the pieces'.
        for (Extension& earlier : extensions) earlier.first_face = extension.first_face - earlier.face_count;
        extensions.push_back(std::move(extension));
    }
    Plug extended = with_surface(plug, std::move(mesh), settings.plug.density);
    extended.extensions = std::move(extensions);
    extended.unextended = std::make_shared<const Plug>(plug);
    return extended;
}

}  // namespace cradlewright
