// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/pipeline.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "base/parallel.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/checks/all_checks.hpp"
#include "cradlewright/stages/moulded.hpp"
#include "cradlewright/stages/panel_joint.hpp"
#include "cradlewright/stages/panel_support.hpp"

namespace cradlewright {
namespace {

constexpr int most_pull_rounds = 4;
constexpr double most_toward_half_1 = 0.087;  // 5 deg past square. Source: assumed, the flange must still let go
constexpr double settled_dot = 0.999999;      // 0.08 deg

Parted part_plug(const Plug& plug, const Settings& settings, const PoseOptions& pose) {
    const double lowest = settings.cradle.clearance.mm() + settings.cradle.pad.mm();
    Parted p;
    p.posed = pose_plug(plug, pose, lowest);
    p.map = map_release(p.posed);
    p.parting = find_parting(p.posed, p.map, {.tolerances = {}, .edges = settings.edges});
    p.release = measure_release(p.posed, p.map, p.parting, settings.release);
    return p;
}

std::string direction_text(Vec3 d) { return fixed(d.x, 9) + "," + fixed(d.y, 9) + "," + fixed(d.z, 9); }

/// `best` pull: part, take the best pull of half 1, part again, until it settles.
Parted part_with_best_pull(const Plug& plug, const Settings& settings) {
    PoseOptions pose = settings.pose;
    Parted p = part_plug(plug, settings, pose);
    for (int round = 0; round < most_pull_rounds && p.parting.is_found(); ++round) {
        if (dot(p.release.best1.direction_plug, p.posed.pose.pull_plug) > settled_dot) break;
        pose.pull = direction_text(p.release.best1.direction_plug);
        p = part_plug(plug, settings, pose);
    }
    p.posed.pose.pull_from = "best: largest least draft of half 1";
    return p;
}

/// `best` pull of half 2: the parting line does not hang on it, so what is parted stays and only half 2 is measured
/// anew. Where no pull frees more than the opposite of half 1's, or only one that half 1 is in the way of, that one is
/// kept.
void take_best_pull_2(const Settings& settings, Parted& p) {
    if (settings.pose.pull_2 != "best" || !p.parting.is_found()) return;
    Pose& pose = p.posed.pose;
    const HalfPull& best = p.release.best2;
    if (!(best.draft_deg > best.told_draft_deg) || !(dot(best.direction_plug, pose.pull_plug) < -most_toward_half_1)) {
        pose.pull2_from = "best: no pull of half 2 frees more than the opposite of half 1's";
        return;
    }
    pose.pull2_plug = best.direction_plug;
    pose.pull2_scan = pose.plug_in_scan.direction_to_parent(pose.pull2_plug);
    pose.pull2_fixture = pose.scan_to_fixture.direction_to_parent(pose.pull2_scan);
    pose.pull2_from = "best: largest least draft of half 2";
    p.map = map_release(p.posed);
    p.release = measure_release(p.posed, p.map, p.parting, settings.release);
}

/// All but the triangles.
ScanMesh described(const ScanMesh& scan) {
    return {{}, scan.name, scan.format, scan.unit_factor, scan.unit_from, scan.note};
}

double length_along_span(const Plug& plug, const PoseOptions& pose) {
    const Frame3 frame = pose_plug(plug, pose, 0).pose.plug_in_scan;
    double low = std::numeric_limits<double>::infinity(), high = -low;
    for (const Vec3& p : plug.mesh->vertices) {
        low = std::min(low, frame.to_local(p).x);
        high = std::max(high, frame.to_local(p).x);
    }
    return high - low;
}

ScanMesh scaled(const ScanMesh& scan, double factor) {
    ScanMesh result = scan;
    for (Vec3& p : result.soup.vertices) p = p * factor;
    for (Vec3& p : result.second.vertices) p = p * factor;
    result.unit_factor *= factor;
    return result;
}

void check_told_unit(const ScanMesh& scan, const Settings& settings, double factor) {
    constexpr double most_off = 0.01;  // Source: assumed, a tape measure on a plug.
    if (scan.unit_from != "told" || std::abs(factor - 1) <= most_off) return;
    const double known = parse_known(settings.plug.known, "--known").mm();
    throw Error(ErrorCode::bad_input, settings.plug.scan.empty() ? scan.name : settings.plug.scan,
                "--known \"" + settings.plug.known + "\" and --unit " + settings.plug.unit + " disagree: the span is " +
                    fixed(known / factor, 1) + " mm by the unit",
                "leave one of them out");
}

}  // namespace

Plug mend_to_scale(ScanMesh& scan, const Settings& settings) {
    if (settings.plug.known.empty()) return mend_plug(std::exchange(scan, described(scan)), settings.plug);
    const Plug first = mend_plug(scan, settings.plug);
    const double factor = parse_known(settings.plug.known, "--known").mm() / length_along_span(first, settings.pose);
    check_told_unit(scan, settings, factor);
    scan = scaled(scan, factor);
    scan.unit_from = "known length";
    return mend_plug(std::exchange(scan, described(scan)), settings.plug);
}

Plug with_extensions(const Plug& plug, const Settings& settings) {
    return extend_plug(plug, pose_plug(plug, settings.pose, 0).pose, settings);
}

Parted part(const Plug& plug, const Settings& settings) {
    Parted p =
        settings.pose.pull == "best" ? part_with_best_pull(plug, settings) : part_plug(plug, settings, settings.pose);
    take_best_pull_2(settings, p);
    return p;
}

Designed design_from(Parted parted, const Settings& told, const Progress& progress) {
    const Settings settings = settings_for_use(told);
    Designed result;
    Design& design = result.design;
    design.settings = settings;
    design.posed = std::move(parted.posed);
    design.parting = std::move(parted.parting);
    design.release = std::move(parted.release);

    progress.report("flange", 0.55, "laying the flange panels");
    design.flange = lay_flange(design.posed, design.parting, settings);
    design.mould_plies = choose_mould_plies(design.posed, design.flange, settings);
    design.settings.laminate_mould.auto_count = design.mould_plies.count;
    progress.report("cradle", 0.65, "shaping ribs and stringers, rolling the beads");
    run_together({[&] { design.cradle = build_cradle(design.posed, design.parting, design.flange, design.settings); },
                  [&] { design.beads = lay_beads(design.posed, design.parting, design.flange, design.settings); }});
    design.locks = measure_edge_locks(design.posed, design.parting, design.flange, design.beads, design.settings);
    design.joint = plan_mould_joint(design.parting, design.beads, design.settings);
    design.hardware = place_hardware(design.posed, design.parting, design.flange, design.cradle, design.beads,
                                     design.joint, design.settings);
    design.flange = lay_straps(std::move(design.flange), design.parting, design.cradle, design.settings);
    design.flange =
        mark_hardware(mark_glue_lines(std::move(design.flange), design.cradle, design.settings), design.hardware);
    design.templates = make_templates(design.posed.plug.extensions, design.posed.pose, design.settings);
    design.cards = make_scraper_cards(design.beads, design.flange, design.parting, design.settings);
    if (design.parting.is_found()) {
        const HiddenFaces hidden =
            hidden_by_beads(design.posed, design.parting, design.beads, design.release.draft_rad);
        leave_out_hidden(design.posed, parted.map, design.parting, hidden, settings.release, design.release);
        design.layup = plan_layup(design.posed, design.parting, design.flange, design.beads, hidden, design.settings);
        design.back = build_mould_back(design.posed, design.parting, design.flange, design.beads, design.hardware,
                                       design.layup, design.settings);
        add_to_kit(design.layup.kit, design.back, design.settings);
    }
    design.work =
        plan_work({design.posed, design.parting, design.flange, design.cradle, design.beads, design.cards,
                   design.templates, design.joint, design.hardware, design.layup, design.back, design.settings});
    progress.report("checks", 0.85, "checking");
    result.checks = run_checks(design);
    return result;
}

Build run_pipeline(ScanMesh scan, const Settings& settings, const Progress& progress) {
    progress.report("plug", 0.0, "mending the scan");
    const Plug plug = with_extensions(mend_to_scale(scan, settings), settings);
    progress.report("parting", 0.25, "finding the parting line");
    Designed designed = design_from(part(plug, settings), settings, progress);
    Build build{std::move(designed.design), std::move(designed.checks), {}};
    build.layout = lay_out(build.design);
    progress.report("checks", 0.9, "designed");
    return build;
}

}  // namespace cradlewright
