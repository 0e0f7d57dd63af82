// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/plugs.hpp"

namespace cradlewright::test {

Plug plug_of(TriMesh mesh) {
    ScanMesh scan;
    scan.soup = std::move(mesh);
    scan.name = "shape";
    scan.format = "made";
    scan.unit_from = "told";
    PlugOptions options;
    options.opening = PlugOpening::cap;  // shapes are solid to their flat
    return mend_plug(std::move(scan), options);
}

PosedPlug posed_plug(TriMesh mesh, Angle tilt, const std::string& pull) {
    PoseOptions options;
    options.tilt = tilt;
    options.pull = pull;
    options.up = "z";
    options.span = "x";
    return pose_plug(plug_of(std::move(mesh)), options, 70);
}

PartedPlug parted_plug(TriMesh mesh, Angle tilt, const std::string& pull,
                       const std::map<std::string, EdgeOptions>& edges) {
    PartedPlug p;
    p.posed = posed_plug(std::move(mesh), tilt, pull);
    p.map = map_release(p.posed);
    p.parting = find_parting(p.posed, p.map, {.tolerances = {}, .edges = edges});
    p.release = measure_release(p.posed, p.map, p.parting, {});
    return p;
}

}  // namespace cradlewright::test
