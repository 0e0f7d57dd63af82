// SPDX-License-Identifier: GPL-3.0-or-later
// Cloth and resin: both halves of the mould, and the first part out of it.
#include <algorithm>
#include <cmath>

#include "cradlewright/mechanics/resin.hpp"
#include "cradlewright/stages/groove_fill.hpp"
#include "cradlewright/stages/ramp_plies.hpp"
#include "stages/work_words.hpp"

namespace cradlewright {
namespace {

class Layers {
public:
    explicit Layers(const WorkInput& input)
        : in_(input), kit_(input.settings.kit), hardware_(input.hardware), words_(input.settings) {}

    std::vector<WorkStep> mould_half(int half) {
        phase_ = half == 1 ? WorkPhase::half_1 : WorkPhase::half_2;
        half_ = half;
        const std::string id = "mould-" + std::to_string(half);
        lay_out_kit(id);
        if (half == 2) before_half_2();
        cut_cloth({id});
        gel_coat(id);
        paste_in_ramps();
        ports();
        plies(id);
        cure(half == 2 || in_.settings.mould.use == MouldUse::single ? kit_.open_wait_s : kit_.cure_s,
             half == 2 ? "half 2 to cure hard, with half 1 in it" : "half 1 to cure");
        trim_and_stiffen();
        return std::move(steps_);
    }

    std::vector<WorkStep> part() {
        phase_ = WorkPhase::part;
        const std::vector<std::string> ids = part_ids();
        if (ids.empty()) return {};
        double area = 0;
        for (const std::string& id : ids) area += find_surface(in_.layup, id)->area_mm2;
        release("release", "Release the mould", "Every face and both flanges; new moulds drink, so do not save a coat.",
                area);
        cut_cloth(ids);
        for (const std::string& id : ids) {
            gel_coat(id);
            plies(id);
        }
        join();
        return std::move(steps_);
    }

private:
    WorkStep& add(std::string id, std::string title, std::string text) {
        steps_.push_back({.id = std::string(work_phase_id(phase_)) + "-" + std::move(id),
                          .phase = phase_,
                          .title = std::move(title),
                          .text = std::move(text)});
        return steps_.back();
    }

    /// "half 1" or "part-1".
    [[nodiscard]] std::string name_of(const std::string& surface) const {
        return surface.starts_with("mould-") ? "half " + surface.substr(6) : surface;
    }
    /// Steps of the part's halves differ by their number only.
    [[nodiscard]] std::string suffix(const std::string& surface) const {
        return surface.starts_with("part-") ? surface.substr(4) : std::string();
    }

    [[nodiscard]] std::vector<std::string> part_ids() const {
        std::vector<std::string> ids;
        for (const LaidSurface& surface : in_.layup.surfaces)
            if (!surface.is_mould) ids.push_back(surface.id);
        return ids;
    }

    void release(const std::string& id, const std::string& title, const std::string& text, double area_mm2) {
        if (kit_.wax_coats > 0) {
            WorkStep& step = add(id + "-wax", title + ": wax", text + " Buff each coat before the next.");
            step.amounts = {a_count("coats of wax", kit_.wax_coats), an_area("a coat", area_mm2)};
            step.wait_s = kit_.wax_wait_s, step.wait_for = "after each coat";
            step.cautions = {caution_solvent};
        }
        if (kit_.film_coats > 0) {
            WorkStep& step = add(id + "-film", title + ": film", "Thin and even, no runs.");
            step.amounts = {a_count("coats of film", kit_.film_coats), an_area("a coat", area_mm2)};
            step.wait_s = kit_.film_wait_s, step.wait_for = "after each coat";
            step.cautions = {caution_solvent};
        }
    }

    void before_half_2() {
        fill_groove();
        if (const std::size_t n = count_of(hardware_, HardwareKind::jack); n > 0)
            add("jacks", "Set the jack bolts' threads and pads",
                "Drill half 1's flange at the pips, bond an insert M" + fixed(HardwareSizes::jack, 0) +
                    " flush from the back, stop the thread with wax. Lay a steel disc of " +
                    words_.len(HardwareSizes::pad) + " over each with release film between: half 2 takes it up.")
                .amounts = {a_count("inserts and discs", double(n))};
        if (const std::size_t n = count_of(hardware_, HardwareKind::bolt); n > 0)
            add("pilots", "Drill the bolts' pilot holes",
                words_.len(3) + " through half 1's flange at the pips; stop them with wax so that no resin runs in.")
                .amounts = {a_count("pilot holes", double(n))};
        if (const LaidSurface* surface = find_mould(in_.layup, 2))
            release(
                "release", "Release for half 2",
                "Half 1's flange and its sockets, the plug's other side, the clay. The flange is new: give it every "
                "coat.",
                surface->area_mm2);
    }

    void fill_groove() {
        if (!in_.beads.groove) return;
        const Groove& groove = *in_.beads.groove;
        const std::vector<GrooveFill> fills = groove_fills(in_.beads, in_.cards);
        std::string runs;
        for (const GrooveFill& fill : fills) {
            if (!(fill.fill_kg > 0)) continue;
            runs += (runs.empty() ? " " : "; ") + fill.edge + " " + words_.len(fill.width_mm) + " wide over " +
                    words_.len(fill.length_mm, 0) + (fill.cards.empty() ? "" : ", " + named(fill.cards));
        }
        WorkStep& step =
            add("groove", "Fill the groove, run half 2's clay",
                "Half 1's clay left a groove up to " + words_.len(groove.width_mm) + " wide and " +
                    words_.len(groove.depth_mm) +
                    " deep along the plug. Fill it flush with half 1's flange and strike it off with the panel edge of "
                    "the edge's card laid flat on the flange, its nose to the plug; then run half 2's own bead in the "
                    "corner over it with the same card. Run by run:" +
                    runs + ".");
        step.amounts = {a_mass("clay to fill, less what stayed in", groove.fill_mass_kg),
                        a_mass("clay of half 2's beads", groove.clay_mass_kg)};
        for (const GrooveFill& fill : fills) {
            if (!(fill.fill_kg > 0)) continue;
            step.amounts.push_back(a_mass("to fill under half 1's " + fill.run, fill.fill_kg));
            step.amounts.push_back(a_mass("half 2's " + fill.run, fill.bead_kg));
        }
    }

    /// All that one half takes, to be laid out before it is begun.
    void lay_out_kit(const std::string& id) {
        const LayupKit::Pour* pour = find_pour(in_.layup, id);
        if (pour == nullptr) return;
        std::string cloths;
        for (const LayupKit::Pour::Cloth& cloth : pour->cloths)
            cloths += (cloths.empty() ? " Cloth: " : "; ") +
                      some(static_cast<std::size_t>(cloth.pieces), "piece", "pieces") + " of " + cloth.name + " for " +
                      some(static_cast<std::size_t>(cloth.plies), "ply", "plies");
        WorkStep& step = add("kit", "Lay out the kit of " + name_of(id),
                             "All of it within reach before the first pot is mixed." + cloths +
                                 (cloths.empty() ? "" : ".") + " The shopping list holds both halves' and the part's.");
        if (pour->gel_coat_kg > 0) {
            step.amounts.push_back(a_mass("gel coat", pour->gel_coat_kg));
            step.amounts.push_back(a_mass("fumed silica", pour->thickener_kg));
        }
        for (const LayupKit::Pour::Cloth& cloth : pour->cloths)
            step.amounts.push_back(an_area(cloth.name, cloth.area_mm2));
        step.amounts.push_back(a_mass("resin", pour->resin_kg));
        step.amounts.push_back(a_mass("hardener", pour->hardener_kg));
        step.amounts.push_back(a_count(pour->batches == 1 ? "batch" : "batches", pour->batches));
        if (pour->peel_ply_mm2 > 0) step.amounts.push_back(an_area("peel ply", pour->peel_ply_mm2));
        if (pour->clay_kg > 0) step.amounts.push_back(a_mass("clay of its beads", pour->clay_kg));
        if (pour->tab_mm2 > 0) {
            step.amounts.push_back(an_area("tabbing of its plates, " + in_.back.tab_cloth, pour->tab_mm2));
            step.amounts.push_back(a_mass("resin to tab them", pour->tab_resin_kg));
            step.amounts.push_back(a_mass("hardener to tab them", pour->tab_hardener_kg));
        }
        if (pour->strip_mm > 0) step.amounts.push_back(a_length("soft strip", pour->strip_mm));
    }

    void cut_cloth(const std::vector<std::string>& ids) {
        std::vector<std::string> patterns;
        std::vector<WorkAmount> amounts;
        for (const std::string& id : ids) {
            const LaidSurface* surface = find_surface(in_.layup, id);
            if (surface == nullptr) continue;
            int pieces = 0;
            for (const ClothPiece& piece : surface->pieces) {
                patterns.push_back(piece.part.id);
                pieces += piece.plies;
            }
            amounts.push_back(a_count("pieces of cloth for " + id, pieces));
            amounts.push_back(an_area("cloth for " + id, surface->cloth_mm2() * surface->ply_count()));
        }
        if (patterns.empty()) return;
        const bool is_part = phase_ == WorkPhase::part;
        WorkStep& step =
            add("cloth", "Cut and stack the cloth",
                "Every ply by " + named(patterns) +
                    " in layup/. Stack the pieces in the order they are laid, first on top, and peel ply of "
                    "the same shape with its margin. Lay one ply dry: it has to lie without wrinkles.");
        step.amounts = std::move(amounts);
        step.cautions = {caution_dust};
        if (!is_part) return;
        step.text += " Part-1 is laid in half 1, part-2 in half 2.";
    }

    void gel_coat(const std::string& id) {
        const LayupKit::Pour* pour = find_pour(in_.layup, id);
        if (pour == nullptr || !(pour->gel_coat_kg > 0)) return;
        WorkStep& step =
            add("gel-coat" + suffix(id), "Gel coat of " + name_of(id),
                "One even coat, thick in corners and over beads and locators, none pooled. Its own hardener "
                "by its label; fumed silica until it does not sag. Go on when it is firm but still tacky.");
        step.amounts = {a_mass("gel coat, with waste", pour->gel_coat_kg),
                        a_mass("fumed silica in it", kit_.thickener * pour->gel_coat_kg)};
        step.wait_s = kit_.gel_coat_wait_s, step.wait_for = "firm but tacky";
        step.cautions = resin_cautions(in_.settings);
    }

    void paste_in_ramps() {
        const double fill_mm = corner_fill_mm(in_.settings, ramp_places(in_.beads));
        if (!(fill_mm > 0)) return;
        add("paste", "Fill the bends of the ramps",
            "Cloth would bridge them: run resin thickened to a paste into both bends of each ramp, to a radius of " +
                words_.len(fill_mm) + ", and lay the first cloth into it while it is wet.")
            .cautions = resin_cautions(in_.settings);
    }

    void ports() {
        std::vector<std::string> ids;
        for (const HardwareItem& item : hardware_.items)
            if (item.kind == HardwareKind::port && item.half == half_) ids.push_back(item.id);
        if (ids.empty()) return;
        add("ports", "Stand the ports' dowels",
            named(ids) + ": a waxed dowel of " + words_.len(HardwareSizes::port) +
                " on the cross, square to the flange; lay the cloth round it. Twist it out when the resin has gelled "
                "and "
                "tape the hole over.")
            .amounts = {a_count("dowels", double(ids.size()))};
    }

    void plies(const std::string& id) {
        const LaidSurface* surface = find_surface(in_.layup, id);
        const LayupKit::Pour* pour = find_pour(in_.layup, id);
        if (surface == nullptr || pour == nullptr) return;
        std::string stack;
        for (const PlyRun& run : surface->laminate.plies)
            stack += (stack.empty() ? "" : ", then ") + std::to_string(run.count) + " x " + run.cloth.name;
        if (stack.empty()) return;
        const bool meets_locators = surface->is_mould && count_of(hardware_, HardwareKind::locator) > 0;
        std::string text =
            "From the surface: " + stack +
            ". Wet the surface, lay the cross first, smooth outward along warp and weft, roll the air out, "
            "no dry spot and no pool.";
        std::size_t darts = 0;
        for (const ClothPiece& piece : surface->pieces) darts += piece.darts.size();
        if (darts > 0)
            text += " The patterns have " + std::to_string(darts) + (darts == 1 ? " dart" : " darts") +
                    ": slit them from the edge to their crosses, lay the warp through the start first, then each strip "
                    "from its middle outward, and let the lips lap; move the laps of one ply off those of the next.";
        if (meets_locators)
            text += half_ == 2
                        ? " Fill half 1's sockets with the first plies in small pieces: they become the pegs."
                        : " Over the locators the first plies in small pieces, thickened resin round their feet.";
        text += " Peel ply last.";
        if (!surface->trouble.empty()) text += " No pattern was cut for it (" + surface->trouble + "): cut by hand.";
        const double batch = std::min(in_.layup.kit.batch_kg, pour->mix_kg);
        const Mix mix = mix_by_mass(batch, kit_.hardener);
        WorkStep& step = add("plies" + suffix(id), "Cloth of " + name_of(id), text);
        step.amounts = {a_count("plies", surface->ply_count()),
                        a_mass("resin and hardener in all, with waste", pour->mix_kg),
                        a_count(pour->batches == 1 ? "batch" : "batches", pour->batches),
                        a_mass("resin a batch", mix.base_kg), a_mass("hardener a batch", mix.hardener_kg)};
        const double usable = usable_pot_life * pot_life_s(kit_.pot_life_s, kit_.pot_life_at_degc, kit_.room_degc);
        step.text += " Spread each batch within " + spell_time(60 * std::floor(usable / 60)) + " of mixing.";
        step.cautions = resin_cautions(in_.settings);
    }

    void cure(double wait_s, const std::string& what_for) {
        WorkStep& step = add("cure", "Let it cure",
                             "No load, no sun, at the temperature of the data sheet. Do not pull, "
                             "drill or turn it before.");
        step.wait_s = wait_s, step.wait_for = what_for;
        step.cautions = {caution_exotherm};
    }

    void trim_and_stiffen() {
        const std::string half = "half " + std::to_string(half_);
        if (const BackHalf* back = find_plated(in_.back, half_)) {
            set_plates(half, *back);
        } else {
            stiffen(half);
        }
        if (half_ != 2) return;
        if (const std::size_t n = count_of(hardware_, HardwareKind::bolt); n > 0) {
            WorkStep& step = add("bolts", "Drill and set the clamp bolts, before the halves part",
                                 words_.len(HardwareSizes::bolt) +
                                     " through both flanges from half 1's back, along the pilot holes. Washers of " +
                                     words_.len(HardwareSizes::washer) + " on both sides.");
            step.amounts = {a_count("bolts M" + fixed(HardwareSizes::bolt, 0), double(n))};
            step.cautions = {caution_dust};
        }
    }

    void set_plates(const std::string& half, const BackHalf& back) {
        const MouldBack& mould = in_.back;
        double tabs_mm = 0;
        for (const BackPlate& plate : back.plates) tabs_mm += plate.tab_mm;
        std::vector<std::string> plates, straps;
        for (const BackPlate& plate : back.plates) (plate.edge.empty() ? straps : plates).push_back(plate.part.id);
        if (plates.empty()) std::swap(plates, straps);
        WorkStep& trim =
            add("back", "Trim the rim of " + half, "Saw the flange's rim to the panel's outline and break the edge.");
        trim.cautions = {caution_dust, caution_blades};
        WorkStep& set = add("plates", "Set the plates behind " + half,
                            (straps.empty() ? std::string()
                                            : "On a flat bench butt the pieces of the plates along, glue and screw " +
                                                  named(straps) + " over their joints. ") +
                                "Slot " + named(plates) +
                                " together dry and lower them on the back, at the places that the report's plan of the "
                                "mould's back shows, while the half still sits on the plug. Stick a soft strip of " +
                                words_.len(mould.strip_mm) +
                                " along each inner edge first, so that nothing prints through. Outer edges must lie in "
                                "one plane: sight along them, pack the strip where one stands low, plane nothing.");
        set.amounts = {a_count("plates", double(plates.size()))};
        if (!straps.empty()) set.amounts.push_back(a_count("straps", double(straps.size())));
        WorkStep& tab = add("tabs", "Tab the plates on",
                            "Roughen the back beside them and wipe the dust off. Lay " + std::to_string(tab_plies) +
                                " plies of " + mould.tab_cloth + ", " + words_.len(in_.settings.mould.tab_width.mm()) +
                                " wide, half on the plate and half on the back, on both sides.");
        tab.amounts = {a_length("tabbing strip, all plies", tab_plies * tabs_mm),
                       a_mass(half + " with its plates", back.mass_kg())};
        if (!back.trouble.empty()) tab.amounts.pop_back();
        tab.wait_s = kit_.cure_s, tab.wait_for = "the tabs to cure";
        tab.cautions = resin_cautions(in_.settings);
    }

    void stiffen(const std::string& half) {
        const double spacing = in_.settings.mould.stiffener_spacing.mm();
        add("back", "Trim the rim, stiffen the back of " + half,
            "Saw the flange's rim to the panel's outline and break the edge. Bond stiffeners to the back no further "
            "than " +
                words_.len(spacing) +
                " apart, on a soft strip so that they do not print through, while the half still sits on the plug.")
            .cautions = {caution_dust, caution_blades};
        if (const double mass = mould_mass_kg(in_, half_); mass > 0)
            steps_.back().amounts = {a_mass(half + " without stiffeners", mass)};
    }

    void join() {
        WorkStep& step = add("cure", "Join, cure, trim", join_text());
        step.wait_s = kit_.cure_s, step.wait_for = "the part to cure";
        step.cautions = {caution_exotherm, caution_dust, caution_opening};
    }
    [[nodiscard]] std::string join_text() const {
        std::string trim = in_.joint.trim.empty() ? std::string() : " " + in_.joint.trim + ".";
        if (trim.size() > 1 && trim[1] >= 'a' && trim[1] <= 'z') trim[1] -= 'a' - 'A';
        switch (in_.settings.mould.use) {
            case MouldUse::single:
                return "Cure in the mould, then out by wedges all round." + trim;
            case MouldUse::trim_and_bond:
                return "Cure both halves, trim them, bolt the mould round them and bond them along the joint with "
                       "thickened resin." +
                       trim;
            case MouldUse::join_in_mould:
                break;
        }
        return "Trim the wet edges flush with the flanges, lay thickened resin along the joint, close the mould on its "
               "locators and draw the bolts tight crosswise, by turns." +
               trim;
    }

    const WorkInput& in_;
    const KitOptions& kit_;
    const Hardware& hardware_;
    Words words_;
    WorkPhase phase_ = WorkPhase::half_1;
    int half_ = 0;
    std::vector<WorkStep> steps_;
};

}  // namespace

std::vector<WorkStep> steps_of_half(const WorkInput& input, int half) { return Layers(input).mould_half(half); }
std::vector<WorkStep> steps_of_part(const WorkInput& input) { return Layers(input).part(); }

}  // namespace cradlewright
