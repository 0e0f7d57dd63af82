// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/pipeline.hpp"

#include "cradlewright/checks/all_checks.hpp"

namespace cradlewright {
namespace {

constexpr int most_pull_rounds = 4;
constexpr double settled_dot = 0.999999;  // 0.08 deg

struct Parted {
    PosedPlug posed;
    ReleaseMap map;
    Parting parting;
    Release release;
};

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
        if (dot(p.release.best_pull_plug, p.posed.pose.pull_plug) > settled_dot) break;
        pose.pull = direction_text(p.release.best_pull_plug);
        p = part_plug(plug, settings, pose);
    }
    p.posed.pose.pull_from = "best: largest least draft of half 1";
    return p;
}

}  // namespace

Build run_pipeline(ScanMesh scan, const Settings& settings, const Progress& progress) {
    Build build;
    Design& design = build.design;
    design.settings = settings;

    progress.report("plug", 0.0, "mending the scan");
    const Plug plug = mend_plug(std::move(scan), settings.plug);
    progress.report("parting", 0.25, "finding the parting line");
    Parted parted =
        settings.pose.pull == "best" ? part_with_best_pull(plug, settings) : part_plug(plug, settings, settings.pose);
    design.posed = std::move(parted.posed);
    design.parting = std::move(parted.parting);
    design.release = std::move(parted.release);

    progress.report("flange", 0.55, "laying the flange panels");
    design.flange = lay_flange(design.posed, design.parting, settings);
    progress.report("cradle", 0.65, "shaping ribs and stringers");
    design.cradle = build_cradle(design.posed, design.flange, settings);
    progress.report("bead", 0.75, "rolling the beads");
    design.beads = lay_beads(design.posed, design.parting, design.flange, settings);
    progress.report("checks", 0.85, "checking");
    build.checks = run_checks(design);
    build.layout = lay_out(design);
    progress.report("checks", 0.9, "designed");
    return build;
}

}  // namespace cradlewright
