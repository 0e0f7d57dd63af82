// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>

#include "cradlewright/output/scene.hpp"

namespace cradlewright {

/// GLB: metres, +Y up, one named node a SceneNode. Source: Khronos, glTF 2.0 specification, sec. 3.4 (units and axes).
void write_glb(const Scene& scene, const std::filesystem::path& path);
/// Binary PLY of a mesh, vertices as double mm.
std::string ply_bytes(const TriMesh& mesh);

}  // namespace cradlewright
