// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/geom/mesh.hpp"
#include "cradlewright/stages/parting.hpp"
#include "cradlewright/stages/pose.hpp"
#include "cradlewright/stages/release.hpp"

/// Plugs made straight from a mesh, and the stages up to the parting line, for tests of later stages.
namespace cradlewright::test {

/// The mesh as a mended plug in mm.
Plug plug_of(TriMesh mesh);
/// Posed with span x and up z told, so that the plug frame is the mesh's own up to a shift.
PosedPlug posed_plug(TriMesh mesh, Angle tilt = {}, const std::string& pull = "vertical");

struct PartedPlug {
    PosedPlug posed;
    ReleaseMap map;
    Parting parting;
    Release release;
};
PartedPlug parted_plug(TriMesh mesh, Angle tilt = {}, const std::string& pull = "vertical",
                       const std::map<std::string, EdgeOptions>& edges = {});

}  // namespace cradlewright::test
