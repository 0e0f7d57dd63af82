// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/plug_beam.hpp"

#include <algorithm>
#include <cmath>

#include "cradlewright/base/error.hpp"
#include "cradlewright/mechanics/laminate.hpp"
#include "cradlewright/mechanics/stand.hpp"
#include "cradlewright/stages/cradle.hpp"

namespace cradlewright {
namespace {

constexpr int cuts = 80;
constexpr double hand_area_share = 0.05;  // nobody leans on a tip thinner than this share of the largest section
constexpr double least_stiffness = 1e-4;  // of the largest: a vanishing tip carries nothing, but must not divide by 0

/// Outline that faces up: material on the left, so the outward normal is (dy, -dx) and up where the chain runs back.
double facing_up_mm(const Slice& slice) {
    double length = 0;
    for (const SliceLoop& loop : slice)
        for (std::size_t i = 0; i < loop.points.size(); ++i) {
            const Vec2 d = loop.points[(i + 1) % loop.points.size()] - loop.points[i];
            if (d.x < 0) length += norm(d);
        }
    return length;
}

Slice closed_loops(const Slice& slice) {
    Slice closed;
    for (const SliceLoop& loop : slice)
        if (loop.is_closed) closed.push_back(loop);
    return closed;
}

double of(const Spread& spread, Stiffness end) {
    return end == Stiffness::soft ? spread.low : end == Stiffness::stiff ? spread.high : spread.value;
}

SectionBuild build_of(const PlugOptions& plug, Stiffness stiffness) {
    const Material& core = material(plug.material);
    const double told = plug.stiffness.mpa();
    const double e = told > 0 ? told : of(core.e_mpa, stiffness);
    constexpr double skin_poisson = 0.3;  // assumed
    return {{e, shear_modulus_mpa(core, e)}, isotropic(plug.skin_stiffness.mpa(), skin_poisson), plug.skin.mm()};
}

/// As the cradle spaces them when none are told; 0 = by cradle.spacing.
std::vector<double> even_stations(const PlugBeam& plug, const Settings& settings, int ribs) {
    CradleOptions options = settings.cradle;
    options.stations_mm.clear();
    options.ribs = ribs;
    return rib_stations(plug.low_mm, plug.high_mm, stock(settings, options.rib_stock).thickness_mm, options);
}

}  // namespace

PlugBeam cut_plug_beam(const PosedPlug& posed, const Settings& settings) {
    PlugBeam plug;
    plug.low_mm = posed.box_fixture.low.x;
    plug.high_mm = posed.box_fixture.high.x;
    if (!posed.plug.has_volume()) {
        plug.reason = "the scan is open, so its sections are not known; cap or complete the scan";
        return plug;
    }
    std::vector<double> heights;
    const double step = (plug.high_mm - plug.low_mm) / cuts;
    for (int i = 0; i < cuts; ++i) heights.push_back(plug.low_mm + step * (i + 0.5));
    const Frame3 station{{0, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}};
    const std::vector<Slice> slices =
        slice_mesh(posed.mesh(), compose(inverse(posed.pose.scan_to_fixture), station), heights);
    for (std::size_t i = 0; i < slices.size(); ++i) {
        const Slice slice = closed_loops(slices[i]);
        const SectionProperties solid = section_properties(slice);
        if (!(solid.area_mm2 > 0)) continue;
        const double inset = settings.plug.skin.mm() / 2;
        plug.sections.push_back({heights[i], solid, skin_moments(slice, inset), facing_up_mm(slice)});
    }
    if (plug.sections.empty()) plug.reason = "no section of the plug is closed";
    return plug;
}

RibTrial try_ribs(const PlugBeam& plug, const Settings& settings, int ribs) {
    const double sag = plug_sag(plug, settings, even_stations(plug, settings, ribs), Stiffness::soft).dip_mm;
    return {ribs, sag, sag <= settings.limits.sag.mm()};
}

std::vector<RibTrial> try_more_ribs(const PlugBeam& plug, const Settings& settings, int from) {
    const auto most = 2 * static_cast<int>(even_stations(plug, settings, 0).size());
    std::vector<RibTrial> trials;
    for (int n = from; n <= most; ++n) {
        trials.push_back(try_ribs(plug, settings, n));
        if (trials.back().is_enough) break;
    }
    return trials;
}

double saddle_crush_share(const PlugBeam& plug, const Settings& settings, double station_mm, double load_n,
                          double width_mm, double thickness_mm, Stiffness stiffness) {
    CRADLEWRIGHT_PRECONDITION(!plug.sections.empty());
    // A soft core also dents sooner.
    const double crush = of(material(settings.plug.material).crush_mpa, stiffness);
    if (!(crush > 0)) return 0;
    const SectionBuild build = build_of(settings.plug, stiffness);
    const double d = build.skin.e_mpa * build.skin_mm * build.skin_mm * build.skin_mm / 12;
    const auto& nearest =
        *std::min_element(plug.sections.begin(), plug.sections.end(), [&](const PlugSection& a, const PlugSection& b) {
            return std::abs(a.x_mm - station_mm) < std::abs(b.x_mm - station_mm);
        });
    // Mean depth of the section over the saddle's own width, no more than the section has.
    const double depth = nearest.solid.area_mm2 / std::max(width_mm, std::sqrt(nearest.solid.area_mm2));
    const double share = pressure_share_under_plate(thickness_mm, d, build.core.e_mpa / depth);
    return share * saddle_pressure_mpa(load_n, width_mm, thickness_mm) / crush;
}

double wet_laminate_kg_mm2(const Settings& settings) {
    const Laminate laminate = make_laminate(settings, settings.laminate_mould, "laminate.mould.plies");
    return cure(laminate, material(settings.mould.resin).e_mpa).mass_kg_mm2();
}

Beam plug_on_ribs(const PlugBeam& plug, const Settings& settings, std::span<const double> supports_mm,
                  Stiffness stiffness) {
    CRADLEWRIGHT_PRECONDITION(!plug.sections.empty());
    const SectionBuild build = build_of(settings.plug, stiffness);
    const double wet = wet_laminate_kg_mm2(settings), density = settings.plug.density.kg_mm3();
    Beam beam{{}, {supports_mm.begin(), supports_mm.end()}, Hold::push_only};
    double most_ei = 0, most_ga = 0;
    for (const PlugSection& section : plug.sections) {
        const SectionStiffness s = section_stiffness(section.solid, section.skin, build);
        const double load = standard_gravity * (density * section.solid.area_mm2 + wet * section.upper_mm);
        beam.points.push_back({section.x_mm, s.ei_n_mm2, s.ga_n, load});
        most_ei = std::max(most_ei, s.ei_n_mm2);
        most_ga = std::max(most_ga, s.ga_n);
    }
    for (BeamPoint& p : beam.points) {
        p.ei_n_mm2 = std::max(p.ei_n_mm2, least_stiffness * most_ei);
        p.ga_n = std::max(p.ga_n, least_stiffness * most_ga);
    }
    // Half a step from the last cut to the plug's end: as at the last cut.
    BeamPoint first = beam.points.front(), last = beam.points.back();
    first.x_mm = plug.low_mm;
    last.x_mm = plug.high_mm;
    beam.points.insert(beam.points.begin(), first);
    beam.points.push_back(last);
    return beam;
}

WorstDip plug_sag(const PlugBeam& plug, const Settings& settings, std::span<const double> supports_mm,
                  Stiffness stiffness) {
    double largest = 0;
    for (const PlugSection& s : plug.sections) largest = std::max(largest, s.solid.area_mm2);
    std::vector<double> places;
    for (const PlugSection& s : plug.sections)
        if (s.solid.area_mm2 >= hand_area_share * largest) places.push_back(s.x_mm);
    return worst_dip(plug_on_ribs(plug, settings, supports_mm, stiffness), settings.limits.hand_load.n(), places);
}

}  // namespace cradlewright
