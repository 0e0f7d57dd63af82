// SPDX-License-Identifier: GPL-3.0-or-later
// What it weighs, who lifts it where, and how it comes apart again.
// Source: mechanics/lifting.hpp for the people; masses and centres from outlines and densities, derived.
#include <algorithm>
#include <cmath>
#include <limits>

#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/geom/slices.hpp"
#include "cradlewright/mechanics/lifting.hpp"
#include "stages/work_words.hpp"

namespace cradlewright {
namespace {

constexpr double nan_kg = std::numeric_limits<double>::quiet_NaN();

/// A body put together from pieces.
struct Heap {
    double mass_kg = 0;
    Vec3 moment;
    void add(double kg, Vec3 at) {
        mass_kg += kg;
        moment += at * kg;
    }
    [[nodiscard]] WorkMass as(std::string what) const {
        return {std::move(what), mass_kg, mass_kg > 0 ? moment / mass_kg : Vec3{}};
    }
};

constexpr double chord_sag_mm = 0.1;  // of arcs, where only mass counts

void add_plate(Heap& heap, const PlatePart& part, const Settings& settings) {
    const double density = material(stock(settings, part.stock).material).density_kg_mm3.value;
    for (const PlatePart& flat : flats_of(part)) {
        const SectionProperties face = loop_properties(to_polygons(flat.outline, chord_sag_mm));
        if (face.area_mm2 > 0)
            heap.add(face.area_mm2 * part.thickness_mm * density,
                     flat.frame.to_parent(Vec3{face.centroid.x, face.centroid.y, -part.thickness_mm / 2}));
    }
}

WorkMass fixture_mass(const WorkInput& in) {
    Heap heap;
    const auto add = [&](const PlatePart& part) { add_plate(heap, part, in.settings); };
    for (const PlatePart* part : standing_plates(in.cradle)) add(*part);
    if (!in.cradle.base.id.empty()) add(in.cradle.base);
    for (const Stringer& stringer : in.cradle.stringers) add(stringer.part);
    for (const FlangePanel& panel : in.flange.panels) add(panel.part);
    for (const PlatePart& strap : in.flange.straps) add(strap);
    return heap.as("fixture");
}

WorkMass clay_mass(const WorkInput& in) {
    Heap heap;
    for (const BeadRun& run : in.beads.runs)
        for (const BeadSection& section : run.sections)
            if (section.is_valid) heap.add(section.area_mm2, section.clay_center);
    WorkMass clay = heap.as("clay");
    clay.mass_kg = in.beads.clay_mass_kg;
    return clay;
}

WorkMass plug_mass(const PosedPlug& posed) {
    WorkMass plug{"plug", posed.plug.mass_kg, posed.pose.to_fixture(posed.plug.mass_properties.centroid)};
    if (!posed.plug.has_volume()) plug.mass_kg = nan_kg;
    return plug;
}

/// Centre of the faces of a half and, under half 1, the panels.
Vec3 shell_centre(const WorkInput& in, int half) {
    Heap heap;
    const TriMesh& mesh = in.posed.mesh();
    for (FaceId f = 0; f < mesh.face_count() && f < in.parting.half.size(); ++f) {
        if (in.parting.half[f] != half) continue;
        const auto corners = mesh.corners(f);
        heap.add(norm(area_vector(corners)) / 2, in.posed.pose.to_fixture((corners[0] + corners[1] + corners[2]) / 3));
    }
    for (const FlangePanel& panel : in.flange.panels) {
        PlatePart thin = panel.part;
        for (const PlatePart& flat : flats_of(thin)) {
            const SectionProperties face = loop_properties(to_polygons(flat.outline, chord_sag_mm));
            if (face.area_mm2 > 0) heap.add(face.area_mm2, flat.frame.to_parent(face.centroid));
        }
    }
    return heap.as("").centre;
}

class Turning {
public:
    explicit Turning(const WorkInput& input) : in_(input), words_(input.settings) {}

    TurnOver plan() {
        masses();
        people();
        straps();
        return std::move(turn_);
    }

private:
    void masses() {
        turn_.masses = {fixture_mass(in_), plug_mass(in_.posed)};
        if (in_.beads.clay_mass_kg > 0) turn_.masses.push_back(clay_mass(in_));
        turn_.masses.push_back({"half 1", mould_mass_kg(in_, 1), shell_centre(in_, 1)});
        add_mould_plates();
        Heap heap;
        for (const WorkMass& part : turn_.masses)
            if (std::isfinite(part.mass_kg)) heap.add(part.mass_kg, part.centre);
        const WorkMass all = heap.as("");
        turn_.mass_kg = all.mass_kg, turn_.centre = all.centre;
        if (!std::isfinite(turn_.masses[1].mass_kg))
            turn_.unknown =
                "The plug's mass is not known, so it is left out here: its scan is open. Weigh the plug and add it, or "
                "say what closes it (plug.opening) and how dense it is (plug.density).";
        const auto half_1 = std::ranges::find(turn_.masses, "half 1", &WorkMass::what);
        if (!(half_1->mass_kg > 0))
            turn_.unknown += std::string(turn_.unknown.empty() ? "" : " ") +
                             "Half 1's laminate is not told, so its mass is left out (laminate.mould.plies).";
    }

    /// With their tabs, whose centre is taken for that of the plates.
    void add_mould_plates() {
        const BackHalf* half = find_plated(in_.back, 1);
        if (half == nullptr) return;
        Heap heap;
        for (const BackPlate& plate : half->plates) add_plate(heap, plate.part, in_.settings);
        WorkMass plates = heap.as("plates behind half 1");
        plates.mass_kg += half->tabs_kg;
        turn_.masses.push_back(plates);
    }

    void people() {
        // Hands at the ends of the base on a bench: an upright hold with the arms somewhat out, fingers under the
        // board. Source: assumed. In turning, hands go from one side of the fixture to the other, half of its breadth
        // up.
        constexpr double reach_mm = 400, bench_mm = 750;
        const Box2 board = bounding_box(in_.cradle.base.outline);
        LiftTask task{.reach_mm = reach_mm, .hands_mm = bench_mm, .grip = Grip::fair};
        task.travel_mm = std::max(250.0, board.size().y / 2);
        turn_.one_person_kg = recommended_lift_kg(task);
        // One cannot watch both ends of it.
        turn_.people = turn_.unknown.empty() ? people_to_lift(turn_.mass_kg, turn_.one_person_kg, 2)
                                             : std::max(2, people_to_lift(turn_.mass_kg, turn_.one_person_kg, 2));
        if (in_.cradle.base.id.empty()) return;
        Box3 base;
        for (const PathVertex& v : in_.cradle.base.outline.outer.vertices) base.add(placed(in_.cradle.base, v.at));
        const double y = std::clamp(turn_.centre.y, base.low.y, base.high.y);
        const double length = base.high.x - base.low.x;
        const double share_b = length > 0 ? std::clamp((turn_.centre.x - base.low.x) / length, 0.0, 1.0) : 0.5;
        turn_.holds = {{"end-a of the base", {base.low.x, y, 0}, 1 - share_b},
                       {"end-b of the base", {base.high.x, y, 0}, share_b}};
        if (turn_.people == 3)
            turn_.holds.push_back({"back edge of the base, guiding", {turn_.centre.x, base.low.y, 0}, 0});
    }

    void straps() {
        const std::vector<Rib>& ribs = in_.cradle.ribs;
        if (ribs.size() >= 2) {
            const std::size_t in_from_end = ribs.size() > 3 ? 1 : 0;
            turn_.straps_mm = {ribs[in_from_end].station_mm, ribs[ribs.size() - 1 - in_from_end].station_mm};
        } else {
            const Box3& box = in_.posed.box_fixture;
            turn_.straps_mm = {box.low.x + box.size().x / 4, box.high.x - box.size().x / 4};
        }
        turn_.held_by = std::string("Two webbing straps round base and half 1, drawn hand-tight over ") +
                        (in_.back.has_plates() ? "the plates behind half 1" : "a batten on half 1's back") +
                        ", keep plug, half and fixture together while they turn; afterwards the plug lies in half 1 by "
                        "its own weight, and the flange "
                        "stays unpulled on it.";
    }

    const WorkInput& in_;
    Words words_;
    TurnOver turn_;
};

/// How half 2 is lifted off half 1, which lies under it.
std::string way_of_half_2(const Pose& pose) {
    if (!pose.has_own_pull_2()) return "Along the pull, level, both ends together.";
    // Named as on the plug, so that it holds however the mould lies.
    const Vec3 aside = pose.pull2_fixture + pose.pull_fixture * std::cos(pose.pulls_lean_rad());
    const Vec3 plug = pose.plug_in_scan.direction_to_local(pose.direction_to_scan(aside));
    constexpr double named_share = 0.4;  // of the larger part: less is not worth a word
    const double most = std::max(std::abs(plug.x), std::abs(plug.y));
    std::string toward;
    if (std::abs(plug.y) >= named_share * most) toward = plug.y > 0 ? "the front" : "the back";
    if (std::abs(plug.x) >= named_share * most)
        toward += (toward.empty() ? "" : " and ") + std::string(plug.x > 0 ? "end-b" : "end-a");
    return "Along its own pull, not straight up: away from half 1 and toward " + toward + ", " +
           fixed(Angle::rad(pose.pulls_lean_rad()).deg(), 1) +
           " deg off square to it. Level, both ends together; a straight-edge leaned at that angle shows the way.";
}

WorkStep step_of(WorkPhase phase, const std::string& id, std::string title, std::string text) {
    return {.id = std::string(work_phase_id(phase)) + "-" + id,
            .phase = phase,
            .title = std::move(title),
            .text = std::move(text)};
}

}  // namespace

double mould_mass_kg(const WorkInput& input, int half) {
    const LaidSurface* surface = find_mould(input.layup, half);
    if (surface == nullptr || surface->laminate.plies.empty()) return 0;
    return cure(surface->laminate, material(input.settings.mould.resin).e_mpa).mass_kg_mm2() * surface->area_mm2;
}

TurnOver plan_turn_over(const WorkInput& input) { return Turning(input).plan(); }

std::vector<WorkStep> steps_of_turning(const WorkInput& input, const TurnOver& turn) {
    constexpr WorkPhase phase = WorkPhase::turn_over;
    const Words words(input.settings);
    std::vector<WorkStep> steps;
    const auto toward = [&](double x) { return words.len(std::abs(x), 0) + " toward " + (x < 0 ? "end-a" : "end-b"); };
    const std::string strap_places = toward(turn.straps_mm.front()) + " and " + toward(turn.straps_mm.back());
    steps.push_back(
        input.back.has_plates()
            ? step_of(phase, "place", "Make a flat place for half 1",
                      "Half 1 will stand on its plates: a bench that does not rock, as large as the flange, padded "
                      "with carpet, beside the fixture. Clamp it there once it stands; a hand that leans on the rim "
                      "may tip a light mould.")
            : step_of(phase, "place", "Make a soft bed for half 1",
                      "Battens or sandbags as wide as the flange, high enough that the back's highest point hangs "
                      "free, level, beside the bench. Try them on the half before you turn it."));
    steps.push_back(step_of(phase, "strap", "Strap it together",
                            "Two straps, at " + strap_places + " of the fixture's middle. " + turn.held_by));
    const std::string who =
        turn.people == 0
            ? "No team may lift it by hand: use a hoist with slings made for it, or turn it lying on its edge "
              "on a padded floor."
            : some(static_cast<std::size_t>(turn.people), "person", "people") + ", one at each end of the base" +
                  (turn.people == 3 ? ", one guiding" : "") + ". The centre of gravity lies " +
                  words.len(std::abs(turn.centre.x), 0) + " toward " + (turn.centre.x < 0 ? "end-a" : "end-b") +
                  " of the middle and " + words.len(std::abs(turn.centre.y), 0) + " toward the " +
                  (turn.centre.y < 0 ? "back" : "front") + ".";
    WorkStep turning =
        step_of(phase, "turn", "Turn it over",
                who + " Up, over about the span in one go, down on the bed; no half 1 dragged on its rim." +
                    (turn.unknown.empty() ? "" : " " + turn.unknown));
    turning.amounts = {a_mass(turn.unknown.empty() ? "together" : "together, as far as known", turn.mass_kg),
                       a_mass("one person may lift so", turn.one_person_kg), a_count("people", turn.people)};
    if (turn.people == 0) turning.amounts.pop_back();
    turning.cautions = {caution_lifting};
    steps.push_back(std::move(turning));
    WorkStep off = step_of(phase, "fixture-off", "Lift the fixture off",
                           "Straps off. Loosen the locators' screws from what is now above. Lift the cradle with its "
                           "panels straight up, along the pull; ease the panels with plastic wedges at the rim, never "
                           "between plug and half 1.");
    off.amounts = {a_mass("fixture", turn.masses.front().mass_kg)};
    off.cautions = {caution_lifting, caution_opening};
    steps.push_back(std::move(off));
    const bool is_single = input.settings.mould.use == MouldUse::single;
    WorkStep clean =
        step_of(phase, "clean", "Clean the flange",
                std::string("Buttons out, loose clay out, with plastic or wood and nothing that scratches. ") +
                    (is_single ? "Look for pinholes along the bead."
                               : "The plug stays where it is: half 1 is not pulled before half 2 has cured, "
                                 "or the two never fit again."));
    clean.cautions = {caution_solvent};
    steps.push_back(std::move(clean));
    return steps;
}

std::vector<WorkStep> steps_of_opening(const WorkInput& input) {
    constexpr WorkPhase phase = WorkPhase::opening;
    const Words words(input.settings);
    const Hardware& hardware = input.hardware;
    std::vector<WorkStep> steps;
    const auto add = [&](const std::string& id, std::string title, std::string text) -> WorkStep& {
        steps.push_back(step_of(phase, id, std::move(title), std::move(text)));
        return steps.back();
    };
    const auto ids = [&](HardwareKind kind) {
        std::vector<std::string> list;
        for (const HardwareItem& item : hardware.items)
            if (item.kind == kind) list.push_back(item.id);
        return list;
    };
    if (input.settings.mould.use == MouldUse::single) {
        WorkStep& wedge = add("wedge", "Free the plug",
                              "Plastic wedges between flange and plug all round, a few millimetres each in turn, then "
                              "water into the gap. Lift the half along the pull; never pry on one side alone.");
        wedge.cautions = {caution_opening, caution_lifting};
    } else {
        if (const auto bolts = ids(HardwareKind::bolt); !bolts.empty())
            add("bolts", "Loosen the clamp bolts, leave them in",
                named(bolts) + ": a few turns each, crosswise. They catch the half if it jumps.")
                .amounts = {a_count("bolts", double(bolts.size()))};
        if (const auto ports = ids(HardwareKind::port); !ports.empty()) {
            WorkStep& step =
                add("ports", "Water, then air",
                    named(ports) + ": water from a bottle with a nozzle of " + words.len(HardwareSizes::nozzle) +
                        " first; only if that does not do, air at low pressure, bolts still in.");
            step.cautions = {caution_opening};
        }
        if (const auto notches = ids(HardwareKind::notch); !notches.empty()) {
            WorkStep& step = add("wedges", "Plastic wedges at the notches",
                                 named(notches) + ", in turn round the mould, a few millimetres each. No steel.");
            step.amounts = {a_count("plastic wedges", double(notches.size()))};
            step.cautions = {caution_opening};
        }
        if (const auto jacks = ids(HardwareKind::jack); !jacks.empty())
            add("jacks", "Bolts out, jack bolts by turns",
                "Clamp bolts right out. Then " + named(jacks) +
                    ": a quarter turn each, round and round, never one alone. If it does not move, wait and go round "
                    "again with the wedges.")
                .amounts = {a_count("jack bolts M" + fixed(HardwareSizes::jack, 0), double(jacks.size()))};
        if (hardware.items.empty())
            add("wedges", "Plastic wedges all round",
                "Between the flanges, in turn, a few millimetres each; then water into the gap. No steel, no prying on "
                "one side.")
                .cautions = {caution_opening};
        WorkStep& lift = add("half-2", "Lift half 2 off",
                             way_of_half_2(input.posed.pose) + " Half 1 stays where it is, with the plug in it.");
        if (find_plated(input.back, 2) != nullptr)
            lift.text +=
                " Turn half 2 over and stand it on its own plates, on a bench that does not rock; clamp it there.";
        if (const BackHalf* half = find_plated(input.back, 2); half != nullptr && half->trouble.empty())
            lift.amounts = {a_mass("half 2 with its plates", half->mass_kg())};
        else if (const double mass = mould_mass_kg(input, 2); mass > 0)
            lift.amounts = {a_mass("half 2 without stiffeners", mass)};
        lift.cautions = {caution_lifting};
        WorkStep& plug = add("plug", "Take the plug out of half 1",
                             "Wedges between plug and flange all round, water into the gap, then straight up along the "
                             "pull. Keep the plug: a mould can be made again.");
        if (std::isfinite(input.posed.plug.mass_kg)) plug.amounts = {a_mass("plug", input.posed.plug.mass_kg)};
        plug.cautions = {caution_opening, caution_lifting};
    }
    add("inspect", "Wash and look",
        "Warm water, a soft cloth. Mend pinholes with gel coat, wet-sand and polish what the plug left. Keep halves "
        "bolted "
        "together when they are not in use, on their bed, so that they do not creep.")
        .cautions = {caution_dust};
    return steps;
}

}  // namespace cradlewright
