// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cradlewright/stages/hardware.hpp"
#include "cradlewright/stages/layup.hpp"
#include "cradlewright/stages/mould_back.hpp"
#include "cradlewright/stages/mould_joint.hpp"
#include "cradlewright/stages/scraper.hpp"

/// \file The order of work at the bench, as data: report page, report.json and build sheet show the same steps. Texts
/// are plain, lengths in them in Settings::units.
namespace cradlewright {

enum class WorkPhase { cut, dry_fit, prepare, joints, test_patch, half_1, turn_over, half_2, opening, part };
std::string_view work_phase_id(WorkPhase phase);     ///< "cut" "dry-fit" "prepare" "joints" ...
std::string_view work_phase_title(WorkPhase phase);  ///< "Cut the parts" ...

/// A quantity of this job that a step needs.
struct WorkAmount {
    std::string what;  ///< "resin a batch", "coats of wax"
    Quantity amount;
};

struct WorkStep {
    std::string id;  ///< "half-1-gel-coat": unique, of letters, digits and hyphens, the same from run to run
    WorkPhase phase = WorkPhase::cut;
    std::string title, text;
    std::vector<WorkAmount> amounts{};
    double wait_s = 0;       ///< after the step; of coats after each of them
    std::string wait_for{};  ///< what is waited for, or empty
    std::vector<std::string> cautions{};
};

/// A line of the dry-fit sheet: something to measure before anything is glued.
struct DryFitRow {
    std::string id, group, what;
    double target_mm = 0;
    double tolerance_mm = 0;  ///< either way; of gaps and rocking: at most
    std::string setting;      ///< what the measured figure is told as, or empty
    std::string when_off;
    double from_level_mm =
        0;  ///< the same place from the rib's level line, the second reference; NaN where there is none
};

struct WorkMass {
    std::string what;
    double mass_kg = 0;  ///< NaN where it is not known
    Vec3 centre;         ///< fixture frame
};
struct HandHold {
    std::string where;
    Vec3 at;           ///< fixture frame
    double share = 0;  ///< of the mass
};
/// Fixture, plug and half 1 turned over as one. Fixture frame, before turning.
struct TurnOver {
    std::vector<WorkMass> masses;
    double mass_kg = 0;   ///< of all that is known
    Vec3 centre;          ///< of it
    std::string unknown;  ///< what is not known and what to tell, or empty
    double one_person_kg = 0;
    int people = 0;  ///< 0 = no team may: hoist, or take it apart
    std::vector<HandHold> holds;
    std::vector<double> straps_mm;  ///< fixture x of the straps that keep the plug in half 1
    std::string held_by;            ///< what keeps the plug in half 1, one sentence
};

struct WorkPlan {
    std::vector<WorkStep> steps;  ///< in the order of work, phase by phase
    std::vector<DryFitRow> dry_fit;
    TurnOver turn_over;
    std::vector<std::string> cautions;  ///< for all of it
    double wait_s = 0;                  ///< all waits, coats counted, one after another
};

/// "45 min", "4 h", "3 days".
std::string spell_time(double seconds);

/// What the plan is made from; all outlive the call.
struct WorkInput {
    const PosedPlug& posed;
    const Parting& parting;
    const Flange& flange;
    const Cradle& cradle;
    const Beads& beads;
    const std::vector<ScraperCard>& cards;
    const std::vector<PlatePart>& templates;
    const MouldJoint& joint;
    const Hardware& hardware;
    const Layup& layup;
    const MouldBack& back;
    const Settings& settings;
};
/// Tolerances of the dry fit. Source: assumed, what a straight-edge, a tape and a feeler gauge tell apart.
struct DryFitTolerance {
    static constexpr double level_mm_m = 1;   ///< base out of true
    static constexpr double diagonal = 1;     ///< of the base
    static constexpr double station = 1;      ///< rib from its place
    static constexpr double thickness = 0.2;  ///< sheets, pads, glue: that of the slots' clearance
};
/// Steps for both halves in order; half 1 is not pulled before half 2 has cured, but for a single mould. No steps
/// without a parting line. Masses of parts from their outlines and the stock's material; of half 1 from its laminate;
/// its centre that of the plug's faces and panels it covers; of the plates behind it from their outlines. Guarantees:
/// ids unique; quantities are those of the layup kit. Cost: O(F). Source: common practice for the order and the
/// cautions; lifting.hpp for the people.
WorkPlan plan_work(const WorkInput& input);

}  // namespace cradlewright
