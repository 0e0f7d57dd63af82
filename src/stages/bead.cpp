// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/bead.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/mechanics/ply_bend.hpp"
#include "stages/bead_layer.hpp"
#include "stages/bead_plan.hpp"
#include "stages/bead_totals.hpp"

// Method: bead.md. Sphere tracing: J. C. Hart, "Sphere Tracing" (1996); longer strides that are taken back when the two
// spheres do not overlap: B. Keinert et al., "Enhanced Sphere Tracing" (2014) [both from memory]. We choose the stride
// from the direction of the nearest point instead of a fixed factor. Area by Gauss-Legendre; volume by Pappus.

namespace cradlewright {

namespace {

// Of a split strip a ramp leaves at least so much to the part: half, or what a blade can be set to. Source: assumed.
constexpr double least_strip_left_mm = 2;

/// For a plug that is an arc from panel line to foot, the chord's direction is the mean of the end tangents, which
/// gives the corner angle at the panel line; no smaller ball on a convex plug hides more than r cot(a/2) for that
/// angle. On a scan a short chord has no direction to speak of; thrice the present share is then more than enough.
double strip_per_radius(const BeadSection& section, double radius_mm, Vec3 outward, Vec3 normal) {
    const Vec3 chord = section.on_plug - section.joint;
    const double present = section.plug_strip_mm / radius_mm;
    const double chord_rad = std::atan2(dot(chord, normal), dot(chord, outward));
    const double corner_rad = 2 * chord_rad - section.corner_rad;
    if (!(corner_rad > 0)) return 3 * present;
    return std::clamp(1 / std::tan(std::min(corner_rad, std::numbers::pi) / 2), present, 3 * present);
}

Vec3 outward_at(const BeadSection& section, Vec3 normal) {
    const Vec3 out = section.on_panel - section.joint;
    return normalized(out - normal * dot(out, normal));
}

void note_strip(Beads& beads, const BeadSection& section, Vec3 normal) {
    const double per_radius = strip_per_radius(section, beads.radius_mm, outward_at(section, normal), normal);
    beads.strip_per_radius = std::max(beads.strip_per_radius, per_radius);
    if (section.plug_strip_mm <= beads.max_plug_strip_mm) return;
    beads.max_plug_strip_mm = section.plug_strip_mm;
    beads.max_plug_strip_at = section.on_plug;
}

/// Half 2's bead at the same station, on the other side of the plane. Where the plug turns away there, half 2 needs no
/// bead and is trimmed at the panel line.
void note_join(Beads& beads, const BeadSection& upper, const BeadSection& lower, Vec3 normal) {
    const Vec3 outward = outward_at(upper, normal);
    double gap_mm = upper.plug_strip_mm, per_radius = strip_per_radius(upper, beads.radius_mm, outward, normal);
    if (lower.is_valid) {
        gap_mm += lower.plug_strip_mm;
        per_radius += strip_per_radius(lower, beads.radius_mm, outward, -normal);
    }
    beads.join_gap_per_radius = std::max(beads.join_gap_per_radius, per_radius);
    if (gap_mm <= beads.join_gap_mm) return;
    beads.join_gap_mm = gap_mm;
    beads.join_gap_at = upper.joint;
}

std::string bead_id(const std::string& panel_id) {
    constexpr std::string_view prefix = "panel-";
    return "bead-" + (panel_id.starts_with(prefix) ? panel_id.substr(prefix.size()) : panel_id);
}

std::vector<Vec3> anchors_of(const std::vector<RunPlan>& plans, double radius_mm) {
    std::vector<Vec3> anchors;
    for (const RunPlan& plan : plans) {
        for (const Station& station : plan.stations)
            anchors.push_back(BeadLayer::anchor_of(station, radius_mm, near_start));
        for (const auto& valley : {plan.before, plan.after, plan.before_below, plan.after_below})
            if (valley)
                anchors.push_back(BeadLayer::anchor_of({valley->joint, valley->outward, {}}, radius_mm, near_start));
    }
    return anchors;
}

/// What the clay of one panel is shaped to, on either half's side.
struct Shape {
    BeadKind kind = BeadKind::round;
    double ramp_height_mm = 0;
};
/// A ramp as high as the bead at a square wall; on a split edge lower, so that the strip shows in the part.
double ramp_height_mm(double radius_mm, double strip_mm, bool is_split) {
    return is_split ? std::min(radius_mm, strip_mm - std::min(strip_mm / 2, least_strip_left_mm)) : radius_mm;
}
Shape shape_at(const Parting& parting, const FlangePanel& panel, const Settings& settings, double radius_mm,
               Side side) {
    const auto told = settings.edges.find(panel.edge);
    const std::string word = told == settings.edges.end() ? "" : told->second.bead;
    if (word == "none") return {BeadKind::none, 0};
    double strip_mm = 0;
    bool is_split = false;
    for (const PartingEdge& edge : parting.loops[panel.loop].edges) {
        if (edge.id != panel.edge || !(edge.strip_mm > 0)) continue;
        is_split = true;
        strip_mm = side == Side::half_1 ? edge.strip_up_mm : edge.strip_mm - edge.strip_up_mm;
    }
    if (word == "round" || (word.empty() && !is_split)) return {BeadKind::round, 0};
    return {BeadKind::ramp, ramp_height_mm(radius_mm, strip_mm, is_split)};
}

/// One panel's sections on one side.
std::vector<BeadSection> lay_sections(const RunPlan& plan, const Shape& shape, const BeadLayer& layer, Side side) {
    std::vector<BeadSection> sections;
    if (shape.kind == BeadKind::none) return sections;
    for (const Station& station : plan.stations)
        sections.push_back(shape.kind == BeadKind::ramp ? layer.ramp_at(station, side, shape.ramp_height_mm)
                                                        : layer.at_station(station, side));
    return sections;
}

/// Tries the stations that found no ball again from further out, as far as the panel is wide.
void try_from_afar(std::vector<BeadSection>& sections, const PosedPlug& posed, const RunPlan& plan, double radius_mm,
                   double tolerance_mm, Side side) {
    const double start = std::min(far_start, plan.panel->width_mm / radius_mm);
    if (!(start > near_start)) return;
    std::vector<Vec3> anchors;
    for (std::size_t k = 0; k < sections.size(); ++k)
        if (!sections[k].is_valid) anchors.push_back(BeadLayer::anchor_of(plan.stations[k], radius_mm, start));
    if (anchors.empty()) return;
    const NearPlug plug(posed, anchors, touch_reach(start) * radius_mm);
    const BeadLayer layer(plug, radius_mm, tolerance_mm, start);
    for (std::size_t k = 0; k < sections.size(); ++k)
        if (!sections[k].is_valid) sections[k] = layer.at_station(plan.stations[k], side);
}

BeadRun blank_run(const RunPlan& plan, const Shape& shape, double radius_mm) {
    BeadRun run;
    run.id = bead_id(plan.panel->id);
    run.edge = plan.panel->edge;
    run.panel = plan.panel->id;
    run.kind = shape.kind;
    run.is_ring = plan.is_ring;
    if (shape.kind == BeadKind::round) run.radius_mm = radius_mm;
    if (shape.kind == BeadKind::ramp) run.ramp_height_mm = shape.ramp_height_mm;
    return run;
}

/// Lays the runs of both halves over one plan after the other.
class RunLayer {
public:
    RunLayer(const PosedPlug& posed, const Parting& parting, const Settings& settings, const BeadLayer& layer,
             double tolerance_mm, Beads& beads)
        : posed_(posed),
          parting_(parting),
          settings_(settings),
          layer_(layer),
          tolerance_(tolerance_mm),
          beads_(beads) {}

    void lay(const RunPlan& plan) {
        const auto up = [&](const BeadSection& section) {
            return normalized(plan.panel->top_near(section.joint).normal);
        };
        auto [run, sections] = begin(plan, Side::half_1);
        if (beads_.groove) {
            auto [below, sections_below] = begin(plan, Side::half_2);
            for (std::size_t k = 0; k < std::min(sections.size(), sections_below.size()); ++k)
                if (sections[k].is_valid) note_join(beads_, sections[k], sections_below[k], up(sections[k]));
            finish(below, std::move(sections_below), plan, Side::half_2);
            beads_.groove->runs.push_back(std::move(below));
        }
        finish(run, std::move(sections), plan, Side::half_1);
        for (const BeadSection& section : run.sections) {
            if (!section.is_valid) continue;
            note_strip(beads_, section, up(section));
            note_groove(section);
        }
        beads_.runs.push_back(std::move(run));
    }

private:
    [[nodiscard]] std::pair<BeadRun, std::vector<BeadSection>> begin(const RunPlan& plan, Side side) const {
        const Shape shape = shape_at(parting_, *plan.panel, settings_, beads_.radius_mm, side);
        std::vector<BeadSection> sections = lay_sections(plan, shape, layer_, side);
        if (shape.kind == BeadKind::round) try_from_afar(sections, posed_, plan, beads_.radius_mm, tolerance_, side);
        return {blank_run(plan, shape, beads_.radius_mm), std::move(sections)};
    }

    void finish(BeadRun& run, std::vector<BeadSection> sections, const RunPlan& plan, Side side) const {
        run.sections =
            run.kind == BeadKind::round ? layer_.with_corners(std::move(sections), plan, side) : std::move(sections);
        measure_run(run);
    }

    void note_groove(const BeadSection& section) {
        if (!beads_.groove) return;
        Groove& groove = *beads_.groove;
        groove.depth_mm = std::max(groove.depth_mm, section.plug_strip_mm);
        const double width_mm = norm(section.on_panel - section.joint);
        if (width_mm <= groove.width_mm) return;
        groove.width_mm = width_mm;
        groove.widest_at = section.joint;
    }

    const PosedPlug& posed_;
    const Parting& parting_;
    const Settings& settings_;
    const BeadLayer& layer_;
    double tolerance_;
    Beads& beads_;
};

double clay_of(const std::vector<BeadRun>& runs) {
    double volume_mm3 = 0;
    for (const BeadRun& run : runs) volume_mm3 += run.volume_mm3;
    return volume_mm3;
}

/// Trim lines and clay of both halves.
void total(Beads& beads, const Parting& parting, const std::vector<RunPlan>& plans, double tolerance_mm,
           Density density) {
    for (std::size_t loop = 0; loop < parting.loops.size(); ++loop) {
        const auto& line = parting.loops[loop].panel_line;
        beads.trim_lines.push_back(join_runs(beads.runs, plans, loop, line, tolerance_mm));
        if (beads.groove)
            beads.groove->trim_lines.push_back(join_runs(beads.groove->runs, plans, loop, line, tolerance_mm));
    }
    beads.clay_volume_mm3 = clay_of(beads.runs);
    beads.clay_mass_kg = beads.clay_volume_mm3 * density.kg_mm3();
    if (!beads.groove) return;
    Groove& groove = *beads.groove;
    groove.fill_volume_mm3 = beads.clay_volume_mm3;
    groove.fill_mass_kg = beads.clay_mass_kg;
    groove.clay_volume_mm3 = clay_of(groove.runs);
    groove.clay_mass_kg = groove.clay_volume_mm3 * density.kg_mm3();
}

/// Faces under the clay. The ball about line and foot holds every convex profile between them that turns by less than
/// a right angle, and is widened to meet the next section's.
std::vector<FaceId> find_hidden(const Beads& beads, const NearPlug& plug, std::size_t face_count) {
    std::vector<std::uint8_t> is_hidden(beads.runs.empty() ? 0 : face_count, 0);
    for (const BeadRun& run : beads.runs) {
        const auto valid = valid_sections(run);
        for (std::size_t k = 0; k < valid.size(); ++k) {
            const BeadSection &s = *valid[k], &next = *valid[std::min(k + 1, valid.size() - 1)];
            const double half_step_mm = std::min(norm(next.joint - s.joint), beads.radius_mm) / 2;
            const double half_strip_mm = norm(s.on_plug - s.joint) / 2;
            plug.flag_within((s.on_plug + s.joint) / 2, std::hypot(half_strip_mm, half_step_mm), is_hidden);
        }
    }
    std::vector<FaceId> hidden;
    for (FaceId f = 0; f < is_hidden.size(); ++f)
        if (is_hidden[f]) hidden.push_back(f);
    return hidden;
}

/// The run of plies that keeps the radius from being smaller.
std::string deciding_plies(const PlyCase& needed, double radius_mm) {
    constexpr double step_mm = 0.5;
    const auto fits = judge_plies(needed.laminate, radius_mm - step_mm, needed.curvature);
    const auto worst = std::ranges::max_element(fits, {}, &PlyFit::result);
    return worst == fits.end() ? std::string{} : worst->cloth;
}

}  // namespace

std::string_view bead_kind_name(BeadKind kind) {
    constexpr std::string_view names[] = {"bead", "ramp", "none"};
    return names[static_cast<std::size_t>(kind)];
}

std::size_t BeadRun::valid_count() const {
    return static_cast<std::size_t>(std::ranges::count_if(sections, &BeadSection::is_valid));
}

std::vector<Vec3> clay_face(const BeadSection& section, BeadKind kind, int chords) {
    const Vec3 from = section.on_plug - section.center, to = section.on_panel - section.center;
    const double radius = norm(from);
    const Vec3 u = radius > 0 ? from / radius : Vec3{}, aside = to - u * dot(to, u);
    const bool is_arc = kind == BeadKind::round && norm(aside) > 0;
    const Vec3 v = is_arc ? normalized(aside) : Vec3{};
    const double angle = std::atan2(dot(to, v), dot(to, u));
    std::vector<Vec3> face;
    for (int k = 0; k <= chords; ++k) {
        const double share = double(k) / chords, at = angle * share;
        face.push_back(section.center +
                       (is_arc ? (u * std::cos(at) + v * std::sin(at)) * radius : from + (to - from) * share));
    }
    return face;
}

double flat_bead_area_mm2(double radius_mm, double corner_rad) {
    CRADLEWRIGHT_PRECONDITION(corner_rad > 0 && corner_rad <= std::numbers::pi);
    return radius_mm * radius_mm * (1 / std::tan(corner_rad / 2) - (std::numbers::pi - corner_rad) / 2);
}

BeadRadius choose_bead_radius(const Settings& settings) {
    if (settings.bead.radius != "auto") {
        const double told_mm = parse_length(settings.bead.radius, "bead.radius").mm();
        if (!(told_mm >= 0) || !std::isfinite(told_mm))
            throw Error(ErrorCode::bad_input, "bead.radius", "a radius cannot be negative",
                        "use auto, 0 or a length such as 9.5mm");
        return {told_mm, "told"};
    }
    if (settings.mould.use == MouldUse::join_in_mould)
        return {
            0,
            "auto: no bead, since the halves are joined in the mould and a bead would leave a groove along the seam"};
    const PlyCase mould{make_laminate(settings, settings.laminate_mould, "laminate.mould.plies"), Curvature::concave};
    const PlyCase part{make_laminate(settings, settings.laminate_part, "laminate.part.plies"), Curvature::convex};
    const double mould_mm = smallest_passing_radius_mm(std::span(&mould, 1));
    const double part_mm = smallest_passing_radius_mm(std::span(&part, 1));
    if (mould_mm >= part_mm)
        return {mould_mm, "auto: " + deciding_plies(mould, mould_mm) + " of the mould laminate in the inside corner"};
    return {part_mm, "auto: " + deciding_plies(part, part_mm) + " of the part laminate over the mould's lip"};
}

Beads lay_beads(const PosedPlug& posed, const Parting& parting, const Flange& flange, const Settings& settings) {
    const BeadRadius chosen = choose_bead_radius(settings);
    Beads beads;
    beads.radius_mm = chosen.radius_mm;
    beads.radius_from = chosen.from;
    const double tolerance_mm = Tolerances{}.contact_mm / 100;
    std::vector<RunPlan> plans;
    if (chosen.radius_mm > tolerance_mm) plans = plan_beads(parting, flange, chosen.radius_mm);

    if (!plans.empty() && settings.mould.use != MouldUse::single) beads.groove.emplace();

    const NearPlug plug(posed, anchors_of(plans, chosen.radius_mm),
                        touch_reach(near_start) * std::max(chosen.radius_mm, tolerance_mm));
    const BeadLayer layer(plug, chosen.radius_mm, tolerance_mm, near_start);
    RunLayer runs(posed, parting, settings, layer, tolerance_mm, beads);
    for (const RunPlan& plan : plans) runs.lay(plan);
    total(beads, parting, plans, tolerance_mm, settings.bead.density);
    beads.hidden_faces = find_hidden(beads, plug, posed.mesh().face_count());
    return beads;
}

}  // namespace cradlewright
