// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <iterator>

#include "checks/advice.hpp"
#include "checks/arris.hpp"
#include "checks/families.hpp"
#include "checks/ply_rule.hpp"

namespace cradlewright {

namespace {

using Result = PlyFit::Result;

/// Adhesion's radius for a cloth, as information: it never decides.
std::string adhesion_note(const Settings& settings, const Cloth& cloth) {
    if (!(cloth.fibre_e_mpa > 0) || !(cloth.fibre_diameter_mm > 0)) return {};
    const double radius_mm = adhesion_radius_mm(filament_rigidity_n_mm(cloth), wetted_work_n_per_mm);
    return "; wet resin alone would hold this cloth down to about " + length_text(settings, radius_mm);
}

struct PlyQuestion {
    std::string id, place;  ///< check id and the setting of the plies
    Curvature side;
    std::string formula, bare_corner;  ///< what to do where no bead is
};

std::vector<Check> check_plies(const Design& design, const LaminateOptions& options, const PlyQuestion& question) {
    const Laminate laminate = make_laminate(design.settings, options, question.place);
    const double radius_mm = design.beads.radius_mm;
    if (!(radius_mm > 0)) {
        const double good_mm = limits_of(laminate, question.side).good_mm.high;
        return {not_applicable_check(question.id, "no bead",
                                     question.bare_corner + length_to_set(design.settings, good_mm, Rounding::up))};
    }
    std::vector<Check> checks;
    const auto fits = judge_plies(laminate, radius_mm, question.side);
    for (std::size_t run = 0; run < fits.size(); ++run) {
        const RadiusLimits limits = limits_of_run(laminate, run, question.side);
        Check c = radius_check(question.id, run_name(fits[run]), {radius_mm, radius_mm, radius_mm}, limits);
        c.formula = question.formula;
        const double tightest_mm = std::min(fits[run].first_radius_mm, fits[run].last_radius_mm);
        c.advice = fits[run].result == Result::pass
                       ? "tightest ply meets " + length_text(design.settings, tightest_mm) + ", class radius " +
                             class_text(design.settings, fits[run].class_radius_mm)
                       : "set bead.radius to " + length_to_set(design.settings, limits.good_mm.high, Rounding::up) +
                             " or more" + own_test_note(design.settings, laminate.plies[run].cloth) +
                             "; below it cut this cloth on the bias, lay it into tacky resin and press it with "
                             "peel ply";
        c.advice += adhesion_note(design.settings, laminate.plies[run].cloth);
        checks.push_back(judged(std::move(c)));
    }
    std::ranges::move(check_ramp_plies(design, laminate, question.id, question.side), std::back_inserter(checks));
    return checks;
}

/// Largest radius whose strip stays within the limit; a hundredth is left for roundings.
double radius_within(double limit_mm, double per_radius) { return 0.99 * limit_mm / per_radius; }

/// The narrowest bead that the mould's plies still pass on.
double needed_radius_mm(const Settings& settings) {
    const Laminate mould = make_laminate(settings, settings.laminate_mould, "laminate.mould.plies");
    return limits_of(mould, Curvature::concave).good_mm.high;
}

/// Too wide a strip. A bead that the plies no longer follow is no way out; then the limit gives, or the bead goes and
/// the sharp corner is filled behind the gel coat, where cloth alone would leave a void.
std::string narrower_strip_advice(const Design& design, double limit_mm, double value_mm, double per_radius,
                                  const std::string& limit_setting) {
    const Settings& settings = design.settings;
    const double radius_mm = radius_within(limit_mm, per_radius), needed_mm = needed_radius_mm(settings);
    const std::string raise = "raise " + limit_setting + " to " + length_to_set(settings, value_mm, Rounding::up) +
                              " if the part may lose that strip";
    if (radius_mm >= needed_mm)
        return "set bead.radius to " + length_to_set(settings, radius_mm, Rounding::down) + " or less, or " + raise;
    const std::string filler = ", each mould's corner then filled with resin paste over the gel coat to a radius of " +
                               length_to_set(settings, needed_mm, Rounding::up) + " before its cloth";
    const std::string no_bead = settings.mould.use == MouldUse::single
                                    ? "set edge.NAME.bead to none for the edges that cannot"
                                    : "set mould.use to join-in-mould with bead.radius auto, which leaves no bead";
    return raise + ", or " + no_bead + filler + "; a smaller bead is no way out: these plies need " +
           length_to_set(settings, needed_mm, Rounding::up);
}

/// Why strips cannot be measured, if so.
std::optional<Check> without_beads(const Design& design, const std::string& id) {
    if (!design.parting.is_found()) return unknown_check(id, "bead", "there is no parting line to lay a bead along");
    if (!(design.beads.radius_mm > 0))
        return not_applicable_check(id, "bead", "no bead: the trim line is the panel line");
    const auto has_valid = [](const BeadRun& run) { return run.valid_count() > 0; };
    if (std::ranges::none_of(design.beads.runs, has_valid))
        return unknown_check(id, "bead",
                             "a ball of " + length_text(design.settings, design.beads.radius_mm) +
                                 " finds no place between plug and panel; where they meet so sharply, its foot would "
                                 "lie beyond the panel");
    return std::nullopt;
}

Check strip_check(std::string id, std::string subject, double value_mm, double limit_mm, Vec3 at) {
    Check c;
    c.id = std::move(id);
    c.subject = std::move(subject);
    c.value = c.low = c.high = Quantity::of(Length::mm(value_mm));
    c.limit = Quantity::of(Length::mm(limit_mm));
    c.relation = Relation::at_most;
    c.at = at;
    c.source = Source::assumed("how much of its edge a part may lose is the builder's choice");
    return c;
}

/// Places where the ball found no room, for the advice.
std::string bare_note(const Design& design) {
    std::size_t bare = 0, all = 0;
    for (const BeadRun& run : design.beads.runs) {
        bare += run.sections.size() - run.valid_count();
        all += run.sections.size();
    }
    if (bare == 0) return {};
    return "; at " + std::to_string(bare) + " of " + std::to_string(all) +
           " sections the ball finds no room: shape the clay there by hand";
}

/// One laminate over the plug's own edges of one sense.
struct ArrisQuestion {
    std::string subject;
    const Laminate& laminate;
    Curvature side;
    const Arris& arris;
    double resolution_mm = 0;
    std::string remedy;  ///< ends before the radius
};

Check check_arris(const Design& design, const ArrisQuestion& question) {
    const RadiusLimits limits = limits_of(question.laminate, question.side);
    // Beyond this the exact radius no longer matters, and a flat has none.
    const double cap_mm = 4 * limits.good_mm.high;
    const auto capped = [cap_mm](double mm) { return std::min(mm, cap_mm); };
    const Arris& arris = question.arris;
    const Spread radius{capped(arris.radius_low_mm), capped(arris.radius_mm), capped(arris.radius_high_mm)};
    Check c = radius_check("plug.arris-plies", question.subject, radius, limits);
    c.formula =
        "distance of neighbouring patches of the plug over the change of their normals, against the radius the plies "
        "take";
    if (std::isfinite(arris.radius_mm)) c.at = design.posed.pose.to_fixture(arris.at);
    c = judged(std::move(c));
    // Middles of patches of triangles lie off by some of a face, so a radius measures up to an eighth small.
    constexpr double measures_as = 1.15;
    c.advice = c.verdict == Verdict::pass
                   ? "no place sharper than " + length_text(design.settings, std::min(arris.radius_mm, cap_mm))
                   : question.remedy + length_to_set(design.settings,
                                                     measures_as * (limits.good_mm.high + question.resolution_mm),
                                                     Rounding::up);
    return c;
}

}  // namespace

std::vector<Check> check_release_join_gap(const Design& design) {
    const std::string id = "release.join-gap";
    if (design.settings.mould.use == MouldUse::single)
        return {not_applicable_check(id, "bead", "a single mould has no second half to join")};
    if (auto without = without_beads(design, id)) return {*without};
    const double limit_mm = design.settings.bead.join_gap_limit.mm();
    const Beads& beads = design.beads;
    Check c = strip_check(id, "parting line", beads.join_gap_mm, limit_mm, beads.join_gap_at);
    c.formula = "plug arc from half 1's trim line over the panel line to half 2's, same bead on both sides";
    c.advice = beads.join_gap_mm <= limit_mm
                   ? "join the part over a strip of " + length_text(design.settings, beads.join_gap_mm)
                   : narrower_strip_advice(design, limit_mm, beads.join_gap_mm, beads.join_gap_per_radius,
                                           "bead.join-gap-limit");
    return {judged(std::move(c))};
}

std::vector<Check> check_bead_mould_plies(const Design& design) {
    return check_plies(
        design, design.settings.laminate_mould,
        {"bead.mould-plies", "laminate.mould.plies", Curvature::concave,
         "bead radius R against the least at which R / class radius and (R - gel coat - veil - plies below) / "
         "class radius meet the rule",
         "fill the corner with resin paste over the gel coat before the cloth, to a radius of at least "});
}

std::vector<Check> check_bead_part_plies(const Design& design) {
    return check_plies(
        design, design.settings.laminate_part,
        {"bead.part-plies", "laminate.part.plies", Curvature::convex,
         "radius of the mould's lip, which is the bead's, against a third of the cloth's class radius (at "
         "least 3 mm), for plies that run past the trim line over the lip",
         "trim the part's cloth at the panel line; to lap it onto the flange the lip would need "});
}

std::vector<Check> check_bead_cover(const Design& design) {
    const std::string id = "bead.cover";
    if (auto without = without_beads(design, id)) return {*without};
    const Beads& beads = design.beads;
    const double limit_mm = design.settings.bead.cover_limit.mm();
    Check c = strip_check(id, "half 1", beads.max_plug_strip_mm, limit_mm, beads.max_plug_strip_at);
    c.formula = "plug surface from panel line to the bead's foot, widest place";
    c.advice = beads.max_plug_strip_mm <= limit_mm
                   ? "the part's edge lies up to " + length_text(design.settings, beads.max_plug_strip_mm) +
                         " inside the panel line"
                   : narrower_strip_advice(design, limit_mm, beads.max_plug_strip_mm, beads.strip_per_radius,
                                           "bead.cover-limit");
    c.advice += bare_note(design);
    return {judged(std::move(c))};
}

std::vector<Check> check_plug_arris_plies(const Design& design) {
    const std::string id = "plug.arris-plies";
    const TriMesh& mesh = design.posed.mesh();
    if (!design.posed.plug.adjacency || design.parting.half.size() != mesh.face_count())
        return {unknown_check(id, "plug", "the plug is not divided into halves")};
    const Settings& settings = design.settings;
    const Laminate mould = make_laminate(settings, settings.laminate_mould, "laminate.mould.plies");
    const Laminate part = make_laminate(settings, settings.laminate_part, "laminate.part.plies");
    double widest_mm = 0;
    for (const Laminate* laminate : {&mould, &part})
        widest_mm = std::max(widest_mm, limits_of(*laminate, Curvature::concave).good_mm.high);
    // What the bead hides is not moulded, so its edges do not matter.
    std::vector<std::uint8_t> moulded = design.parting.half;
    for (const FaceId f : design.beads.hidden_faces) moulded[f] = 0;
    // What is moulded of an extension is cut off, and its step is there to be seen.
    for (const Extension& piece : design.posed.plug.extensions)
        std::fill_n(moulded.begin() + static_cast<std::ptrdiff_t>(piece.first_face), piece.face_count, 0);
    const Arrises found =
        find_arrises(mesh, *design.posed.plug.adjacency, moulded, design.posed.plug.noise_mm, widest_mm);

    // What is an outside edge to the mould's plies is a groove to the part's, and the other way round.
    const ArrisQuestion questions[] = {
        {"mould plies over outside edges", mould, Curvature::convex, found.outside, found.resolution_mm,
         "round the plug's edge to a radius of at least "},
        {"part plies in the grooves those leave", part, Curvature::concave, found.outside, found.resolution_mm,
         "lay a thread of thickened resin in the groove before the cloth, or round the plug's edge, to a radius of at "
         "least "},
        {"mould plies in inside corners", mould, Curvature::concave, found.inside, found.resolution_mm,
         "fillet the plug's corner to a radius of at least "},
        {"part plies over the ridges those leave", part, Curvature::convex, found.inside, found.resolution_mm,
         "fillet the plug's corner to a radius of at least "}};
    std::vector<Check> checks;
    for (const ArrisQuestion& question : questions) checks.push_back(check_arris(design, question));
    return checks;
}

}  // namespace cradlewright
