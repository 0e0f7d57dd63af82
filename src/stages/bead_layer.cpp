// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/bead_layer.hpp"

#include <array>

#include "cradlewright/geom/polyline.hpp"

namespace cradlewright {

namespace {

// Of a ramp to its panel: both its bends at an upright wall are then 45 deg. Source: assumed.
constexpr double ramp_run_per_rise = 1;

// Five-point Gauss-Legendre on [-1, 1]. Source: M. Abramowitz, I. Stegun, Table 25.4 [from memory].
constexpr std::array<double, 5> gauss_node{-0.9061798459386640, -0.5384693101056831, 0, 0.5384693101056831,
                                           0.9061798459386640};
constexpr std::array<double, 5> gauss_weight{0.2369268850561891, 0.4786286704993665, 0.5688888888888889,
                                             0.4786286704993665, 0.2369268850561891};

}  // namespace

/// Fills area, centroid and strip. The clay at the height of an arc point reaches from that point inward to the plug,
/// and the angle along the arc makes the integrand smooth where the arc leaves the panel.
void measure_clay(BeadSection& section, const NearPlug& plug, double radius_mm, Vec3 outward, Vec3 normal) {
    const double foot_height = std::clamp(dot(section.on_plug - section.on_panel, normal), 0.0, 2 * radius_mm);
    const double end_rad = std::acos(1 - foot_height / radius_mm);
    const Vec3 chord = section.on_plug - section.joint;
    std::vector<Vec3> profile{section.joint};
    Vec3 moment{};
    for (std::size_t k = 0; k < gauss_node.size(); ++k) {
        const double phi = end_rad * (1 + gauss_node[k]) / 2;
        const Vec3 on_arc =
            section.center - outward * (radius_mm * std::sin(phi)) - normal * (radius_mm * std::cos(phi));
        const double share = foot_height > 0 ? radius_mm * (1 - std::cos(phi)) / foot_height : 0;
        const double to_chord = std::max(0.0, dot(on_arc - section.joint - chord * share, outward));
        // Where the plane of the section misses the plug that the ball touches beside it, or passes under a thin wall
        // and meets what lies behind, the chord stands in. No hollow between line and foot is deeper than half a
        // circle.
        const auto to_plug = plug.distance_along(on_arc, -outward, to_chord + norm(chord) / 2);
        const double width = to_plug.value_or(to_chord);
        const double area = gauss_weight[k] * end_rad / 2 * radius_mm * std::sin(phi) * width;
        section.area_mm2 += area;
        moment += (on_arc - outward * (width / 2)) * area;
        profile.push_back(on_arc - outward * width);
    }
    profile.push_back(section.on_plug);
    section.clay_center = section.area_mm2 > 0 ? moment / section.area_mm2 : section.joint;
    // Beside a foot out of the plane the profile may zigzag; no longer than half a circle over the chord either.
    section.plug_strip_mm = std::min(polyline_length(profile, false), std::numbers::pi / 2 * norm(chord));
}

/// Area, centroid, strip and foot of a ramp of the given height. The clay at each height reaches from the flat inward
/// to the plug; empty where the plug does not stand that high beside the line.
std::optional<BeadSection> measure_ramp(const NearPlug& plug, double height_mm, const Station& station, Vec3 normal) {
    const double reach_mm = ramp_run_per_rise * height_mm;
    const auto wall = [&](double share) {
        const Vec3 from = station.joint + station.outward * reach_mm + normal * (height_mm * share);
        return plug.distance_along(from, -station.outward, 2 * reach_mm);
    };
    const std::optional<double> top = wall(1);
    if (!top) return std::nullopt;
    BeadSection section;
    section.joint = station.joint;
    section.on_panel = station.joint + station.outward * reach_mm;
    section.on_plug = section.on_panel + normal * height_mm - station.outward * *top;
    section.center = (section.on_plug + section.on_panel) / 2;
    section.corner_rad = angle_between(section.on_plug - section.joint, station.outward);
    Vec3 moment{};
    std::vector<Vec3> profile{section.joint};
    for (std::size_t k = 0; k < gauss_node.size(); ++k) {
        const double share = (1 + gauss_node[k]) / 2;
        const Vec3 on_flat = section.on_panel + (section.on_plug - section.on_panel) * share;
        const Vec3 from = section.on_panel + normal * (height_mm * share);
        const double width = std::max(0.0, wall(share).value_or(reach_mm) - dot(from - on_flat, station.outward));
        const double area = gauss_weight[k] / 2 * height_mm * width;
        section.area_mm2 += area;
        moment += (on_flat - station.outward * (width / 2)) * area;
        profile.push_back(on_flat - station.outward * width);
    }
    profile.push_back(section.on_plug);
    section.clay_center = section.area_mm2 > 0 ? moment / section.area_mm2 : section.joint;
    section.plug_strip_mm = polyline_length(profile, false);
    return section;
}

}  // namespace cradlewright
