// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages.hpp"

#include <chrono>
#include <functional>

#include "cradlewright/checks/all_checks.hpp"
#include "cradlewright/files/read_mesh.hpp"
#include "cradlewright/files/write_report.hpp"
#include "cradlewright/files/write_scene.hpp"
#include "cradlewright/output/layout.hpp"
#include "cradlewright/output/scene.hpp"

namespace cradlewright::bench {

std::vector<StageTime> time_stages(const std::string& scan) {
    std::vector<StageTime> times;
    const auto time = [&](const char* stage, const std::function<void()>& work) {
        const auto start = std::chrono::steady_clock::now();
        work();
        const std::chrono::duration<double> spent = std::chrono::steady_clock::now() - start;
        times.push_back({stage, spent.count()});
    };

    Design design;
    Settings& settings = design.settings;
    settings.plug.scan = scan;
    settings.plug.unit = "mm";
    settings.pose.up = "z";
    settings.pose.span = "x";
    settings.pose.tilt = Angle::deg(6);
    ScanMesh read;
    Plug plug;
    ReleaseMap map;
    CheckReport checks;
    Layout layout;
    time("read_scan", [&] { read = read_scan(settings.plug); });
    time("mend_plug", [&] { plug = mend_plug(std::move(read), settings.plug); });
    time("pose_plug", [&] {
        design.posed = pose_plug(plug, settings.pose, settings.cradle.clearance.mm() + settings.cradle.pad.mm());
    });
    time("map_release", [&] { map = map_release(design.posed); });
    time("find_parting", [&] { design.parting = find_parting(design.posed, map); });
    time("measure_release",
         [&] { design.release = measure_release(design.posed, map, design.parting, settings.release); });
    time("lay_flange", [&] { design.flange = lay_flange(design.posed, design.parting, settings); });
    settings.laminate_mould.auto_count = choose_mould_plies(design.posed, design.flange, settings).count;
    time("build_cradle", [&] { design.cradle = build_cradle(design.posed, design.parting, design.flange, settings); });
    time("lay_beads", [&] { design.beads = lay_beads(design.posed, design.parting, design.flange, settings); });
    time("run_checks", [&] { checks = run_checks(design); });
    time("lay_out", [&] { layout = lay_out(design); });
    time("scene, mesh and report", [&] {
        const ReportInput input{&design, &checks, &layout, {}};
        write_glb(make_scene(design), scan + ".glb");
        ply_bytes(design.posed.mesh());
        report_html(input);
        report_json(input);
    });
    return times;
}

}  // namespace cradlewright::bench
