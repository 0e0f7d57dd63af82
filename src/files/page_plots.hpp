// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/checks/check.hpp"
#include "files/page_pictures.hpp"

/// \file Bar pictures of report.html: figures that are read quicker as lengths.
namespace cradlewright {

/// What bends and by how much of its limit: a bar a place of the sag and deflection checks, a line to the high end of
/// the spread. Empty body when none was judged.
Picture draw_deflections(const CheckReport& checks, UnitSystem units);
/// Share of each half's surface by its draft, from the scan's faces (every n-th of very many); the whole half, also
/// what beads hide. Empty body without a parting line.
Picture draw_drafts(const Design& design);

}  // namespace cradlewright
