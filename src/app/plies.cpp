// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"
#include "app/console.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/mechanics/ply_bend.hpp"
#include "cradlewright/stages/bead.hpp"

namespace cradlewright::app {

namespace {

using Json = nlohmann::ordered_json;

/// One laminate against the bead: what it is called, which way it bends there, how its plies do.
struct LaminateFit {
    std::string_view name;
    std::vector<PlyFit> plies;
};

struct BeadTrial {
    double radius_mm = 0, corner_rad = 0;
    double smallest_mm = 0;
    std::vector<LaminateFit> laminates;
    PlyFit::Result result = PlyFit::Result::pass;
};

Angle corner_of(const Request& request) {
    const Angle corner = parse_angle(request.corner, "--corner");
    if (!(corner >= Angle::deg(10) && corner <= Angle::deg(170)))
        throw Error(ErrorCode::bad_input, "--corner", request.corner + " leaves no corner to fill", "10deg to 170deg");
    return corner;
}

BeadTrial try_bead(const Request& request, const Settings& settings) {
    // The mould is laid into the bead, so each ply meets a smaller radius; the part is laid over the edge that the bead
    // leaves in the mould, so each ply meets a larger one.
    parse_plies(settings, settings.laminate_mould.plies, "--mould-plies");  // no count can be left open here
    const Laminate mould = make_laminate(settings, settings.laminate_mould, "--mould-plies");
    const Laminate part = make_laminate(settings, settings.laminate_part, "--part-plies");

    const std::vector<PlyCase> cases{{mould, Curvature::concave}, {part, Curvature::convex}};
    BeadTrial trial;
    trial.corner_rad = corner_of(request).rad();
    trial.smallest_mm = smallest_passing_radius_mm(cases);
    const bool is_auto = settings.bead.radius == "auto";
    trial.radius_mm = is_auto ? trial.smallest_mm : parse_length(settings.bead.radius, "--radius").mm();
    trial.laminates = {{"mould", judge_plies(mould, trial.radius_mm, Curvature::concave)},
                       {"part", judge_plies(part, trial.radius_mm, Curvature::convex)}};
    for (const LaminateFit& laminate : trial.laminates)
        trial.result = std::max(trial.result, worst_result(laminate.plies));
    return trial;
}

double tangent_mm(const BeadTrial& trial) { return trial.radius_mm / std::tan(trial.corner_rad / 2); }

/// mm3 of clay in one metre of bead.
double clay_mm3_per_m(const BeadTrial& trial) { return 1000 * flat_bead_area_mm2(trial.radius_mm, trial.corner_rad); }

Json trial_json(const BeadTrial& trial, const Settings& settings) {
    Json plies = Json::array();
    for (const LaminateFit& laminate : trial.laminates)
        for (const PlyFit& fit : laminate.plies)
            plies.push_back({{"laminate", laminate.name},
                             {"cloth", fit.cloth},
                             {"first_ply", fit.first_ply},
                             {"last_ply", fit.last_ply},
                             {"first_radius_mm", fit.first_radius_mm},
                             {"last_radius_mm", fit.last_radius_mm},
                             {"class_radius_mm", fit.class_radius_mm.value},
                             {"class_radius_low_mm", fit.class_radius_mm.low},
                             {"class_radius_high_mm", fit.class_radius_mm.high},
                             {"first_ratio", fit.first_ratio},
                             {"last_ratio", fit.last_ratio},
                             {"verdict", ply_result_name(fit.result)}});
    return {{"schema", "cradlewright-fillet-1"},
            {"radius_mm", trial.radius_mm},
            {"corner_deg", Angle::rad(trial.corner_rad).deg()},
            {"tangent_mm", tangent_mm(trial)},
            {"clay_mm3_per_m", clay_mm3_per_m(trial)},
            {"clay_kg_per_m", clay_mm3_per_m(trial) * settings.bead.density.kg_mm3()},
            {"smallest_passing_radius_mm", trial.smallest_mm},
            {"plies", plies},
            {"verdict", ply_result_name(trial.result)}};
}

std::string length_text(double mm, UnitSystem units) { return format_quantity(Quantity::of(Length::mm(mm)), units); }

/// "7.9 mm to 9.5 mm", or one length where both are written the same.
std::string range_text(const Spread& mm, UnitSystem units) {
    const std::string low = length_text(mm.low, units), high = length_text(mm.high, units);
    return low == high ? low : low + " to " + high;
}

void print_trial(Console& console, const BeadTrial& trial, const Settings& settings) {
    const auto mm = [&](double v) { return length_text(v, settings.units); };
    Table table({{"laminate"},
                 {"plies"},
                 {"cloth"},
                 {"meets", Table::Align::right},
                 {"wants", Table::Align::right},
                 {"ratio", Table::Align::right},
                 {"last", Table::Align::right},
                 {"verdict"}});
    for (const LaminateFit& laminate : trial.laminates)
        for (const PlyFit& fit : laminate.plies)
            table.add({std::string(laminate.name), std::to_string(fit.first_ply) + "-" + std::to_string(fit.last_ply),
                       fit.cloth, mm(std::min(fit.first_radius_mm, fit.last_radius_mm)),
                       range_text(fit.class_radius_mm, settings.units), fixed(fit.first_ratio, 2),
                       fixed(fit.last_ratio, 2), std::string(ply_result_name(fit.result))});

    console.result("bead radius " + mm(trial.radius_mm) + ": " + std::string(ply_result_name(trial.result)) + "\n");
    console.result(table.text());
    console.fact("tangent", mm(tangent_mm(trial)) + " from the corner to where the bead ends, at a corner of " +
                                format_quantity(Quantity::of(Angle::rad(trial.corner_rad)), settings.units));
    const double grams = clay_mm3_per_m(trial) * settings.bead.density.kg_mm3() * 1000;
    console.fact("clay", fixed(clay_mm3_per_m(trial) / 1000, 1) + " cm3 or " + fixed(grams, 0) + " g a metre");
    console.fact("smallest", mm(trial.smallest_mm) + " is the smallest radius that passes for these plies");
}

// ---- cloth ----------------------------------------------------------------------------------------------------------

struct ClothTrial {
    Quantity areal_mass;
    Length overhang;
    double bending_length_mm = 0, rigidity_n_mm = 0, adhesion_mm = 0;
    Spread radius_mm;  ///< that it is likely to follow
};

ClothTrial try_cloth(const Request& request) {
    const double overhang = parse_length(request.overhang, "--overhang").mm();
    const Quantity areal_mass = parse_quantity(request.areal_mass, Dimension::areal_mass, "--areal");
    const double areal = areal_mass.value;
    if (!(overhang >= 5 && overhang <= 1000))
        throw Error(ErrorCode::bad_input, "--overhang", request.overhang + " is no cloth's overhang", "5mm to 1m");
    if (!(areal >= 5e-9 && areal <= 5e-6))
        throw Error(ErrorCode::bad_input, "--areal", request.areal_mass + " is no cloth's weight", "5g/m2 to 5000g/m2");
    const double rigidity = cantilever_rigidity_n_mm(overhang, areal);
    return {areal_mass,
            Length::mm(overhang),
            overhang / 2,
            rigidity,
            adhesion_radius_mm(rigidity, wetted_work_n_per_mm),
            tested_radius_mm(overhang, areal)};
}

Json cloth_json(const ClothTrial& trial) {
    return {{"schema", "cradlewright-cloth-1"},
            {"bending_length_mm", trial.bending_length_mm},
            {"rigidity_n_mm", trial.rigidity_n_mm},
            {"dry_adhesion_radius_mm", trial.adhesion_mm},
            {"class_radius_mm", trial.radius_mm.value},
            {"class_radius_low_mm", trial.radius_mm.low},
            {"class_radius_high_mm", trial.radius_mm.high}};
}

void print_cloth(Console& console, const ClothTrial& trial, UnitSystem units) {
    const auto mm = [&](double v) { return length_text(v, units); };
    // 1 N mm = 1000 uN m.
    console.result("your cloth\n");
    console.fact("bending", mm(trial.bending_length_mm) + " bending length, half the overhang at 41.5 deg");
    console.fact("rigidity", fixed(trial.rigidity_n_mm * 1000, 2) + " uN m (weight times bending length cubed)");
    console.fact("radius dry", mm(trial.adhesion_mm) +
                                   " would hold by wet adhesion if it stayed as stiff as dry; wetting out frees the "
                                   "filaments, so this is the far side");
    console.fact("class",
                 mm(trial.radius_mm.value) + " (" + range_text(trial.radius_mm, units) +
                     ") likely, by the square root of the rigidity from glass of 320 g/m2 that follows 12.7 mm");
    console.fact("job", "[cloth.mine]");
    console.fact("", "areal-mass = \"" + format_quantity(trial.areal_mass, units) + "\"");
    console.fact("", "overhang = \"" + format_quantity(Quantity::of(trial.overhang), units) + "\"");
    console.fact("", "puts it in the table; a built-in cloth's name overrides that cloth");
    console.fact("next",
                 "lay the real plies over beads of several radii, cure, saw across, and set class-radius of your "
                 "[cloth.NAME] in place of overhang to the smallest without a void");
}

}  // namespace

Outcome run_fillet(const Request& request) {
    const Settings settings = settings_of(request);
    const BeadTrial trial = try_bead(request, settings);
    Console console(!request.prints_json && !request.is_quiet);
    if (request.prints_json) Console::raw(trial_json(trial, settings).dump(2) + "\n");
    print_trial(console, trial, settings);
    return trial.result == PlyFit::Result::fail ? Outcome::weak : Outcome::good;
}

Outcome run_cloth(const Request& request) {
    const Settings settings = settings_of(request);
    const ClothTrial trial = try_cloth(request);
    Console console(!request.prints_json && !request.is_quiet);
    if (request.prints_json) Console::raw(cloth_json(trial).dump(2) + "\n");
    print_cloth(console, trial, settings.units);
    return Outcome::good;
}

}  // namespace cradlewright::app
