// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>

#include "cradlewright/stages/plug.hpp"

namespace cradlewright {

/// Reads a scan: STL (binary and ASCII), OBJ, PLY, OFF, 3MF, GLB, told by the file's ending; all by readers of our own,
/// since scans come from anywhere and no file may crash or flood the program. In: PlugOptions::scan, ::unit, ::known;
/// ::second_scan too when ::opening is `join`, in the same unit.
/// Out: triangles in mm, equal vertices joined, larger polygons split. Unit: as told, else as the format states it (3MF
/// its unit, GLB metres). Without either, `known` gives a first scale: the longest side of the scan's box has that
/// length; mend_to_scale makes it exact. A binary STL is told by its size, also when its header starts with "solid";
/// bytes after its last triangle give a note. Errors: Error(bad_input): missing, empty, truncated (byte or line),
/// damaged, no triangles, NaN or infinite (facet number), unknown unit; a format without a unit and none told: the
/// message shows the size in each unit. Error(io): cannot be read. Cost: O(F). Guarantees: never allocates more than a
/// small multiple of the file's size (of the unpacked model's for 3MF, which is at most 200 times the packed one).
ScanMesh read_scan(const PlugOptions& options);

/// mm per unit of "mm" "cm" "m" "in" "ft". Errors: Error(bad_input).
double unit_factor(std::string_view unit);

}  // namespace cradlewright
