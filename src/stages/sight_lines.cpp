// SPDX-License-Identifier: GPL-3.0-or-later
// Definition, failure cases and rejected ideas: sweep.md beside this file.
#include "cradlewright/stages/sight_lines.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/parallel.hpp"
#include "cradlewright/base/units.hpp"
#include "cradlewright/geom/column_grid.hpp"
#include "geom/point_index.hpp"

namespace cradlewright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr double unknown = std::numeric_limits<double>::quiet_NaN();
// A person bends over the mould to about this far from straight above. Source: assumed.
const double widest_look_cos = std::cos(Angle::deg(60).rad());
// Flatter looks see the surface too foreshortened to work on. Source: assumed.
const double flattest_look_sin = std::sin(Angle::deg(10).rad());
// Axes lie on great circles through the span, as the tilt turns them along these circles.
constexpr double turn_step_deg = 12, lean_step_deg = 24, widest_lean_deg = 48;
constexpr std::size_t least_places_near = 8;  // below: the share would be a matter of luck

/// Mirror-symmetric across span and height: a symmetric plug has symmetric access.
std::vector<Vec3> looking_axes() {
    std::vector<Vec3> axes;
    for (double turn = -90 + turn_step_deg / 2; turn < 90; turn += turn_step_deg)
        for (double lean = -widest_lean_deg; lean <= widest_lean_deg; lean += lean_step_deg) {
            const double a = Angle::deg(turn).rad(), b = Angle::deg(lean).rad();
            axes.push_back({std::sin(b), -std::cos(b) * std::sin(a), -std::cos(b) * std::cos(a)});
        }
    return axes;
}

/// The edge that each point of all panel lines belongs to, as an index into the names.
struct NamedLine {
    std::vector<Vec3> points;  // scan frame
    std::vector<std::size_t> edge;
    std::vector<std::string> names;
};

std::size_t index_of(std::vector<std::string>& names, const std::string& name) {
    const auto found = std::find(names.begin(), names.end(), name);
    if (found == names.end()) names.push_back(name);
    return static_cast<std::size_t>(std::find(names.begin(), names.end(), name) - names.begin());
}

NamedLine named_line(const Pose& pose, const Parting& parting) {
    NamedLine line;
    for (const PartingLoop& loop : parting.loops) {
        const std::size_t n = loop.panel_line.size();
        for (const PartingEdge& edge : loop.edges) {
            const std::size_t name = index_of(line.names, edge.id);
            const std::size_t count = (edge.last + n - edge.first) % n;
            for (std::size_t i = 0; i <= (count == 0 ? n - 1 : count); ++i) {
                line.points.push_back(pose.to_scan(loop.panel_line[(edge.first + i) % n]));
                line.edge.push_back(name);
            }
        }
    }
    return line;
}

}  // namespace

double EdgeAccess::least() const {
    if (std::isnan(share[0])) return share[1];
    return std::isnan(share[1]) ? share[0] : std::min(share[0], share[1]);
}

SightLines::SightLines(const Plug& plug, const Frame3& plug_in_scan, const std::vector<PlugPlace>& places)
    : plug_(plug), places_(&places) {
    for (const Vec3& local : looking_axes()) {
        Axis axis;
        axis.direction = plug_in_scan.direction_to_parent(local);
        axis.solid = std::sqrt(std::max(0.0, 1 - local.x * local.x));  // circles of latitude about the span
        axes_.push_back(std::move(axis));
    }
    // Far fewer questions than faces: wide cells, quickly filled.
    const double cell = 3 * mean_edge_length(*plug_.mesh);
    for_each_piece(axes_.size(), 1, [&](std::size_t i, std::size_t) { look_along(axes_[i], cell); });
}

void SightLines::look_along(Axis& axis, double cell_mm) const {
    const std::vector<PlugPlace>& places = *places_;
    const Frame3 frame = frame_from_normal({}, axis.direction, {1, 0, 0});
    const ColumnGrid grid(*plug_.mesh, frame, cell_mm);
    // The flattest look is clear of the scan's own grain after this far.
    const double grain_mm = 4 * plug_.noise_mm / flattest_look_sin + 1e-6;
    axis.way.assign(places.size(), 0);
    axis.start.assign(places.size() + 1, 0);
    for (std::size_t i = 0; i < places.size(); ++i) {
        const PlugPlace& place = places[i];
        // The mould is seen from the plug's inside.
        const double rise = -dot(place.smooth, axis.direction);
        axis.start[i] = static_cast<std::uint32_t>(axis.faces.size());
        if (std::abs(rise) < flattest_look_sin || rise * dot(place.normal, axis.direction) >= 0) continue;
        const Vec3 p = frame.to_local(place.at);
        axis.way[i] = rise > 0 ? 1 : -1;
        const std::size_t first = axis.faces.size();
        grid.faces_between({p.x, p.y}, rise > 0 ? p.z + grain_mm : -infinity, rise > 0 ? infinity : p.z - grain_mm,
                           axis.faces);
        // No mould is laid on a closing that stands for the bench.
        const auto is_open = [&](FaceId f) {
            return f == place.face || plug_.mesh->origin_of(f) == FaceOrigin::assumed;
        };
        axis.faces.erase(
            std::remove_if(axis.faces.begin() + static_cast<std::ptrdiff_t>(first), axis.faces.end(), is_open),
            axis.faces.end());
    }
    axis.start.back() = static_cast<std::uint32_t>(axis.faces.size());
}

std::vector<EdgeAccess> SightLines::near_edges(const PosedPlug& posed, const Parting& parting, double near_mm) const {
    const std::vector<PlugPlace>& places = *places_;
    const NamedLine line = named_line(posed.pose, parting);
    if (line.points.empty()) return {};
    struct Near {
        std::size_t place, edge, half;
    };
    std::vector<Near> near;
    const PointIndex index(line.points);
    for (std::size_t i = 0; i < places.size(); ++i) {
        if (plug_.mesh->origin_of(places[i].face) == FaceOrigin::assumed) continue;
        if (const auto hit = index.nearest(places[i].at, near_mm))
            near.push_back({i, line.edge[hit->index], parting.half[places[i].face] == 1 ? 0u : 1u});
    }

    struct Sum {
        double seen = 0;
        std::size_t count = 0;
    };
    std::vector<std::array<Sum, 2>> sums(line.names.size());
    for (const Near& n : near) ++sums[n.edge][n.half].count;
    const Vec3 down = posed.pose.direction_to_scan({0, 0, -1});
    double whole = 0;
    for (const Axis& axis : axes_) {
        // Half 1's mould is looked into along -z, half 2's along +z; an axis holds a look of either.
        const double off = dot(axis.direction, down);
        const double weight = axis.solid * std::max(0.0, std::abs(off) - widest_look_cos);
        if (weight == 0) continue;
        whole += weight;
        for (const Near& n : near) {
            const bool is_along = (off > 0) == (n.half == 0);
            if (axis.way[n.place] != (is_along ? 1 : -1)) continue;
            const auto is_mould = [&](FaceId f) { return parting.half[f] == n.half + 1; };
            if (std::none_of(axis.faces.begin() + axis.start[n.place], axis.faces.begin() + axis.start[n.place + 1],
                             is_mould))
                sums[n.edge][n.half].seen += weight;
        }
    }
    std::vector<EdgeAccess> result;
    for (std::size_t e = 0; e < line.names.size(); ++e) {
        EdgeAccess access{line.names[e], {unknown, unknown}};
        for (std::size_t h = 0; h < 2; ++h)
            if (sums[e][h].count >= least_places_near)
                access.share[h] = sums[e][h].seen / (whole * static_cast<double>(sums[e][h].count));
        result.push_back(std::move(access));
    }
    return result;
}

}  // namespace cradlewright
