// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cradlewright/catalog/options.hpp"
#include "cradlewright/stages/bead.hpp"
#include "cradlewright/stages/cradle.hpp"
#include "cradlewright/stages/edge_lock.hpp"
#include "cradlewright/stages/flange.hpp"
#include "cradlewright/stages/hardware.hpp"
#include "cradlewright/stages/layup.hpp"
#include "cradlewright/stages/mould_back.hpp"
#include "cradlewright/stages/mould_joint.hpp"
#include "cradlewright/stages/mould_skin.hpp"
#include "cradlewright/stages/parting.hpp"
#include "cradlewright/stages/pose.hpp"
#include "cradlewright/stages/release.hpp"
#include "cradlewright/stages/scraper.hpp"
#include "cradlewright/stages/work_plan.hpp"

namespace cradlewright {

/// Everything the stages worked out for one job, in the order of the flow. Checks read it, writers show it.
struct Design {
    Settings settings;
    PosedPlug posed;
    Parting parting;
    Release release;
    Flange flange;           ///< with the hardware marked on it
    MouldPlies mould_plies;  ///< its count stands in settings.laminate_mould.auto_count
    Cradle cradle;
    Beads beads;
    std::vector<EdgeLock> locks;
    std::vector<ScraperCard> cards;
    std::vector<PlatePart> templates;  ///< of the plug's extensions
    MouldJoint joint;
    Hardware hardware;
    Layup layup;
    MouldBack back;
    WorkPlan work;
};

/// Parts that stand in the fixture, in a fixed order: panels, straps, ribs, long ribs, stringers, ties, stops, base.
std::vector<const PlatePart*> fixture_parts(const Design& design);
/// All parts that get cut: those of the fixture, then scraper cards, templates and the plates behind the mould.
std::vector<const PlatePart*> all_parts(const Design& design);

}  // namespace cradlewright
