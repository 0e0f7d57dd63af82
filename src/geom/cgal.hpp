// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

/// \file Kernel types and conversions for the sources of this room; nothing outside src/geom includes CGAL.

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>

#include "cradlewright/base/vec.hpp"

namespace cradlewright::cgal {

/// Exact decisions, rounded constructions.
using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Point = Kernel::Point_3;
using Vector = Kernel::Vector_3;
using Ray = Kernel::Ray_3;
using Triangle = Kernel::Triangle_3;

inline Point to_cgal(Vec3 p) { return {p.x, p.y, p.z}; }
inline Vec3 from_cgal(const Point& p) { return {p.x(), p.y(), p.z()}; }

}  // namespace cradlewright::cgal
