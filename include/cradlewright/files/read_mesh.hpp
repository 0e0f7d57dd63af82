// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>

#include "cradlewright/stages/plug.hpp"

namespace cradlewright {

/// Reads a scan: binary STL by our own reader, ASCII STL, OBJ, PLY, OFF, 3MF and GLB through Assimp.
/// In: PlugOptions::scan, ::unit, ::known. Out: triangles in mm, exact duplicates of vertices joined.
/// Errors: Error(bad_input): missing, empty, truncated (byte offset), no triangles, NaN or infinite (facet number), unknown
/// unit; a format without a unit and none told: the message shows the size in each unit.
/// Cost: O(F). Guarantees: never allocates more than a small multiple of the file's size.
ScanMesh read_scan(const PlugOptions& options);

/// mm per unit of "mm" "cm" "m" "in" "ft". Errors: Error(bad_input).
double unit_factor(std::string_view unit);

}  // namespace cradlewright
