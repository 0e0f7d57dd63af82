// SPDX-License-Identifier: GPL-3.0-or-later
// From the sheets to the plug ready on its cradle, clay run and tried: everything before half 1 is laid.
#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "stages/work_words.hpp"

namespace cradlewright {
namespace {

template <class Parts, class Id>
std::vector<std::string> ids_of(const Parts& parts, Id id) {
    std::vector<std::string> ids;
    for (const auto& part : parts) ids.push_back(id(part));
    return ids;
}
std::string id_of(const PlatePart& part) { return part.id; }
std::string id_of_held(const auto& holder) { return holder.part.id; }

std::vector<std::string> joined_ids(std::vector<std::vector<std::string>> lists) {
    std::vector<std::string> all;
    for (std::vector<std::string>& list : lists) std::ranges::move(list, std::back_inserter(all));
    return all;
}

bool is_porous(const Settings& settings, const std::string& stock_name) {
    const std::string& name = stock(settings, stock_name).material;
    return name.find("plywood") != std::string::npos || name == "hardboard" || name == "mdf" || name == "pine";
}

/// What the fixture is cut from, with the ids of the parts on each.
std::map<std::string, std::vector<std::string>> parts_by_stock(const WorkInput& input) {
    std::map<std::string, std::vector<std::string>> by_stock;
    const auto add = [&](const PlatePart& part) { by_stock[part.stock].push_back(part.id); };
    for (const PlatePart* part : standing_plates(input.cradle)) add(*part);
    if (!input.cradle.base.id.empty()) add(input.cradle.base);
    for (const Stringer& stringer : input.cradle.stringers) add(stringer.part);
    for (const FlangePanel& panel : input.flange.panels) add(panel.part);
    for (const PlatePart& strap : input.flange.straps) add(strap);
    for (const ScraperCard& card : input.cards) add(card.part);
    for (const PlatePart& part : input.templates) add(part);
    for (const BackHalf& half : input.back.halves)
        for (const BackPlate& plate : half.plates) add(plate.part);
    return by_stock;
}

class Fixture {
public:
    explicit Fixture(const WorkInput& input) : in_(input), words_(input.settings) {}

    std::vector<WorkStep> cut_and_fit() {
        measure_stock();
        cut_parts();
        dry_fit();
        return std::move(steps_);
    }

    std::vector<WorkStep> ready_for_layup() {
        prepare();
        joints();
        test_patch();
        return std::move(steps_);
    }

private:
    WorkStep& add(WorkPhase phase, std::string id, std::string title, std::string text) {
        steps_.push_back({.id = std::string(work_phase_id(phase)) + "-" + std::move(id),
                          .phase = phase,
                          .title = std::move(title),
                          .text = std::move(text)});
        return steps_.back();
    }

    void measure_stock() {
        WorkStep& step =
            add(WorkPhase::cut, "measure", "Measure every sheet before you cut",
                "Four places each, with a caliper. Slots and seats follow the thickness told, not the nominal "
                "one: where a sheet differs by more than " +
                    words_.len(DryFitTolerance::thickness) +
                    ", tell it (stock.NAME.thickness, see the dry-fit sheet) and make the files again.");
        for (const auto& [name, ids] : parts_by_stock(in_))
            step.amounts.push_back(a_length("thickness told of " + name, stock(in_.settings, name).thickness_mm));
    }

    void cut_back_plates() {
        if (!in_.back.has_plates()) return;
        std::string halves;
        std::vector<WorkAmount> amounts;
        for (const BackHalf& half : in_.back.halves) {
            const std::string name = "half " + std::to_string(half.half);
            const auto ids = ids_of(half.plates, [](const BackPlate& plate) { return plate.part.id; });
            if (ids.empty()) continue;
            halves += (halves.empty() ? "" : "; behind ") + name + " " + named(ids);
            amounts.push_back(a_count("plates behind " + name, double(ids.size())));
        }
        WorkStep& step =
            add(WorkPhase::cut, "back-plates", "Cut the plates behind the mould",
                "Behind " + halves +
                    ". With the other sheets now, or while half 1 cures: they are set only then. Try each half's "
                    "slots dry, on a flat bench; keep the halves' plates apart, they look alike.");
        step.amounts = std::move(amounts);
        step.cautions = {caution_blades, caution_dust};
    }

    void cut_parts() {
        WorkStep& start = add(WorkPhase::cut, "lines", "Bring the lines on to the sheets", lines_text());
        if (in_.settings.cut_by == CutMethod::router) start.cautions = {caution_blades};
        const Cradle& cradle = in_.cradle;
        const std::string edges =
            " Solid lines fit something: cut beside them and finish to the line. Dashed lines touch nothing. Copy "
            "level "
            "line, centre mark and id on to each part.";
        const auto plates = ids_of(standing_plates(cradle), [](const PlatePart* part) { return part->id; });
        if (!plates.empty()) {
            WorkStep& step = add(WorkPhase::cut, "uprights", "Cut ribs, ties and stops", named(plates) + "." + edges);
            step.amounts = {a_count("ribs", double(cradle.ribs.size() + cradle.long_ribs.size())),
                            a_count("ties", double(cradle.ties.size())), a_count("stops", double(cradle.stops.size()))};
            std::erase_if(step.amounts, [](const WorkAmount& amount) { return amount.amount.value == 0; });
            step.cautions = {caution_blades, caution_dust};
        }
        if (!cradle.base.id.empty()) {
            const Vec2 size = bounding_box(cradle.base.outline).size();
            add(WorkPhase::cut, "board", "Cut the base",
                words_.len(size.x) + " by " + words_.len(size.y) +
                    ", flat and out of wind. Draw the places of ribs and stops on it from the cut file.")
                .cautions = {caution_blades};
        }
        if (!cradle.stringers.empty()) {
            double length = 0;
            for (const Stringer& s : cradle.stringers) length += norm(s.to - s.from);
            WorkStep& step = add(WorkPhase::cut, "strips", "Saw the strips to length",
                                 named(ids_of(cradle.stringers, [](const Stringer& s) { return id_of_held(s); })) +
                                     ", straight ones only: sight along each.");
            step.amounts = {a_count("strips", double(cradle.stringers.size())), a_length("together", length)};
            step.cautions = {caution_blades};
        }
        cut_panels();
        const auto small = joined_ids({ids_of(in_.cards, [](const ScraperCard& c) { return id_of_held(c); }),
                                       ids_of(in_.templates, [](const PlatePart& p) { return id_of(p); })});
        if (!small.empty())
            add(WorkPhase::cut, "cards", in_.templates.empty() ? "Cut the scraper cards" : "Cut cards and templates",
                named(small) + ". Smooth the noses: what is rough in the card is rough in the mould.")
                .amounts = {a_count("cards and templates", double(small.size()))};
        cut_back_plates();
        if (!in_.posed.plug.extensions.empty())
            add(WorkPhase::cut, "extensions", "Shape the extensions and set them on to the plug",
                "By their templates, as the report's section on extensions says. Fill each joint flush with the plug's "
                "skin.")
                .cautions = {caution_dust};
    }

    [[nodiscard]] std::string lines_text() const {
        switch (in_.settings.cut_by) {
            case CutMethod::router:
                return "Read each program's head: stock, cutter, zero, what to clamp. Run it in the air first, then "
                       "cut "
                       "one sheet and measure a slot before the next. Strips and extensions are sawn by hand.";
            case CutMethod::saw:
                return "From the files in cut/: draw each sheet at full size, check two diagonals of it, and leave the "
                       "line standing.";
            case CutMethod::print:
                break;
        }
        return "Print print/templates.pdf at 100 %. Hold a rule against both check bars of a page; off bars are told "
               "as "
               "paper.measured. Tape the pages by their diamonds and stick them to the stock.";
    }

    void cut_panels() {
        if (in_.flange.panels.empty()) return;
        const auto ids = joined_ids({ids_of(in_.flange.panels, [](const FlangePanel& p) { return id_of_held(p); }),
                                     ids_of(in_.flange.straps, [](const PlatePart& p) { return id_of(p); })});
        std::string bevels;
        for (const FlangePanel& panel : in_.flange.panels)
            for (const PanelBevel& bevel : panel.bevels)
                bevels += (bevels.empty() ? " Bevel: " : "; ") + panel.id + " toward " + bevel.toward + " by " +
                          words_.angle(std::abs(bevel.angle_rad)) + " off square";
        const auto bent = static_cast<std::size_t>(
            std::ranges::count_if(in_.flange.panels, [](const FlangePanel& p) { return p.is_curved(); }));
        WorkStep& step = add(
            WorkPhase::cut, "panels", "Cut the flange panels",
            named(ids) + ". The inner edge follows the plug with its gap; mark the top face." + bevels +
                (bevels.empty() ? "" : ".") +
                (bent > 0
                     ? " " + some(bent, "panel is", "panels are") + " bent when laid, along the rulings drawn on it."
                     : std::string()) +
                (in_.hardware.items.empty() ? "" : " Drill and mark the hardware's crosses now, on the bench."));
        double area = 0;
        for (const FlangePanel& panel : in_.flange.panels) area += area_of(panel.part.outline);
        step.amounts = {a_count("panels", double(in_.flange.panels.size())), an_area("panels together", area)};
        if (!in_.flange.straps.empty()) step.amounts.push_back(a_count("straps", double(in_.flange.straps.size())));
        step.cautions = {caution_blades, caution_dust};
    }

    void dry_fit() {
        const std::string sheet = " Write each figure on the dry-fit sheet.";
        add(WorkPhase::dry_fit, "base", "Lay the base level",
            "On a bench that does not give, shimmed until a level agrees along and across. Measure both diagonals." +
                sheet);
        add(WorkPhase::dry_fit, "uprights", "Stand the uprights without glue",
            "Ribs in order from end-a, each face as its words say; ties and long ribs into their slots by hand, no "
            "hammer. Feet flat on the base, centre marks on its line, level lines all at one height: stretch a thread "
            "along them." +
                sheet);
        add(WorkPhase::dry_fit, "panels", "Lay strips and panels dry",
            "Without glue, seats clean. Seat heights from the base and from the level lines have to agree, or base or "
            "ribs are off." +
                sheet);
        WorkStep& plug =
            add(WorkPhase::dry_fit, "plug", "Lower the plug on its pads",
                "Stick the pads to the saddles; they are " + words_.len(in_.settings.cradle.pad.mm()) +
                    " thick with the plug's weight on them. Straight down along the pull, front and back as "
                    "marked. It must not rock and must touch no panel: measure the gaps all round." +
                    sheet);
        if (std::isfinite(in_.posed.plug.mass_kg)) plug.amounts = {a_mass("plug", in_.posed.plug.mass_kg)};
        add(WorkPhase::dry_fit, "feed-back", "Compare, and feed back what is off",
            "Any figure outside its tolerance: do what its line says. Thicknesses are told in the job file and the "
            "parts "
            "made again; seats and saddles are planed or packed. Do not go on with a fixture that rocks.");
        WorkStep& glue =
            add(WorkPhase::dry_fit, "glue", "Glue the cradle",
                "Plug and panels off again. Glue uprights to the base and to each other, stops to the base; "
                "check level lines and diagonals once more before the glue sets.");
        glue.wait_for = "the glue, as its label says";
    }

    void prepare() {
        const Settings& s = in_.settings;
        const double plug_mm2 = in_.posed.plug.mass_properties.area_mm2;
        double panels_mm2 = 0;
        for (const FlangePanel& panel : in_.flange.panels) panels_mm2 += area_of(panel.part.outline);
        const bool seals_panels = is_porous(s, s.flange.stock);
        add(WorkPhase::prepare, "clean", "Make the plug's surface good and clean",
            "Every scratch comes out in the mould. Fill, sand to the finish you want, wash with what the sealer's data "
            "sheet names. Touch it with clean gloves only from now on.")
            .cautions = {caution_dust, caution_solvent};
        if (s.kit.seal_coats > 0) {
            WorkStep& step =
                add(WorkPhase::prepare, "seal", seals_panels ? "Seal plug and panels" : "Seal the plug",
                    std::string("Foam, wood, filler and plaster drink release agent: close them first, thin "
                                "coats, rubbed down between.") +
                        (seals_panels ? " The panels' top faces and edges too." : ""));
            step.amounts = {a_count("coats of sealer", s.kit.seal_coats),
                            an_area("a coat", plug_mm2 + (seals_panels ? panels_mm2 : 0))};
            step.wait_s = s.kit.seal_wait_s, step.wait_for = "after each coat";
            step.cautions = {caution_solvent, caution_dust};
        }
        if (s.kit.wax_coats > 0) {
            WorkStep& step = add(WorkPhase::prepare, "wax", "Wax plug and panels",
                                 "Thin, in turns that overlap, and buff each coat before the next. All that resin may "
                                 "reach: plug, panels' tops and edges, the locators.");
            step.amounts = {a_count("coats of wax", s.kit.wax_coats), an_area("a coat", plug_mm2 + panels_mm2)};
            step.wait_s = s.kit.wax_wait_s, step.wait_for = "after each coat";
            step.cautions = {caution_solvent};
        }
    }

    void joints() {
        const Settings& s = in_.settings;
        if (const std::size_t n = count_of(in_.hardware, HardwareKind::locator); n > 0) {
            const bool has_shim = std::ranges::any_of(in_.hardware.items, &HardwareItem::has_shim);
            add(WorkPhase::joints, "locators", "Screw the locators to their panels",
                std::string("From below, so that no head shows on top, before a panel is glued down.") +
                    (has_shim ? " Shims under those that the report names, thick edge downhill, joint filled." : "") +
                    " Seal round each foot with wax.")
                .amounts = {a_count("locators", double(n))};
        }
        WorkStep& panels =
            add(WorkPhase::joints, "panels", "Glue the panels down",
                "On strips and seats, inner edges to the marks, tops flush at the mitres; no screw head on "
                "top. The joint is taken as " +
                    words_.len(s.flange.glue.mm()) + " thick." +
                    (in_.flange.straps.empty() ? "" : " Straps go under the joints of butted panels."));
        panels.wait_for = "the glue, as its label says";
        panels.amounts = {a_count("panels", double(in_.flange.panels.size()))};
        add(WorkPhase::joints, "plug", "Set the plug for good",
            "On clean pads, straight down. Measure the gap to the panels once more at every rib, and tape or wedge it "
            "against the stops so that it cannot shift while clay is pressed.");
        clay();
        if (s.kit.film_coats > 0) {
            double area = in_.posed.plug.mass_properties.area_mm2;
            for (const FlangePanel& panel : in_.flange.panels) area += area_of(panel.part.outline);
            WorkStep& step = add(WorkPhase::joints, "film", "Release film over all of it",
                                 "Thin coats with a lint-free pad or spray, over plug, clay and panels, without runs.");
            step.amounts = {a_count("coats of film", s.kit.film_coats), an_area("a coat", area)};
            step.wait_s = s.kit.film_wait_s, step.wait_for = "after each coat";
            step.cautions = {caution_solvent};
        }
    }

    void clay() {
        add(WorkPhase::joints, "gaps", "Fill gaps and joints",
            "Press clay into the gap between plug and panels from above and strike it flush; the same with mitres, "
            "butt "
            "joints and hollows round heads.");
        if (!in_.cards.empty()) {
            std::string cards;
            for (const ScraperCard& card : in_.cards) {
                cards += (cards.empty() ? "" : "; ") + card.part.id + " at " + named(card.edges);
                cards += card.kind == BeadKind::ramp ? " (ramp, " + words_.len(card.ramp_height_mm) + " high)"
                                                     : " (bead of " + words_.len(card.radius_mm) + ")";
            }
            add(WorkPhase::joints, "clay", "Run the clay beads",
                "Clay without sulphur, warmed by hand, pressed into the corner. Draw the card along, one edge on the "
                "panel "
                "and one on the plug, square to the line: " +
                    cards + ". Wipe both sides clean of smears, which would stop the gel coat.")
                .amounts = {a_mass("clay", in_.beads.clay_mass_kg)};
        }
        if (const std::size_t n = count_of(in_.hardware, HardwareKind::notch); n > 0)
            add(WorkPhase::joints, "notches", "Press the wedge notches",
                "Inside each outline at the rim a taper of clay, from nothing to " +
                    words_.len(HardwareSizes::notch_height) + " high at the rim.")
                .amounts = {a_count("wedge notches", double(n))};
    }

    void test_patch() {
        const Settings& s = in_.settings;
        std::vector<std::string> cautions = resin_cautions(s);
        WorkStep& step = add(
            WorkPhase::test_patch, "lay", "Lay a test patch",
            "On an offcut of the plug's material with the same sealer, wax and film, and a strip of the clay beside a "
            "scrap of panel: gel coat and two plies, mixed and timed as planned. Best made a day ahead, beside the "
            "work on the panels.");
        step.wait_s = s.kit.cure_s, step.wait_for = "the patch to cure";
        step.cautions = std::move(cautions);
        add(WorkPhase::test_patch, "pull", "Pull the test patch",
            "It has to come off clean, from the clay too, and be hard through. Sticking: find out why before anything "
            "goes "
            "on the plug. Tacky at the clay: another clay, or a coat more of film over it. Note how long the pot "
            "stayed "
            "usable; tell it as kit.pot-life.");
    }

    const WorkInput& in_;
    Words words_;
    std::vector<WorkStep> steps_;
};

}  // namespace

std::vector<WorkStep> steps_to_fixture(const WorkInput& input) { return Fixture(input).cut_and_fit(); }
std::vector<WorkStep> steps_to_layup(const WorkInput& input) { return Fixture(input).ready_for_layup(); }

}  // namespace cradlewright
