// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>
#include <optional>

#include "checks/advice.hpp"
#include "checks/families.hpp"
#include "cradlewright/geom/faces_near.hpp"
#include "cradlewright/geom/mesh_index.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/geom/slices.hpp"
#include "cradlewright/stages/panel_support.hpp"

namespace cradlewright {
namespace {

constexpr double sample_mm = 2;  // spacing of samples along edges
constexpr int slab_faces = 3;    // both faces of a plate and its middle
constexpr int path_steps = 12;   // heights at which the plug is tried on its way in

/// Points along a loop at most `sample_mm` apart.
std::vector<Vec2> samples_of(const Loop& loop) {
    const std::vector<Vec2> chain = flatten(loop, 0.05);
    std::vector<Vec2> samples;
    for (std::size_t i = 0; i < chain.size(); ++i) {
        const Vec2 a = chain[i], b = chain[(i + 1) % chain.size()];
        const int n = std::max(1, static_cast<int>(std::ceil(norm(b - a) / sample_mm)));
        for (int k = 0; k < n; ++k) samples.push_back(a + (b - a) * (static_cast<double>(k) / n));
    }
    return samples;
}

std::vector<Vec2> chain_samples(const std::vector<Vec2>& chain) {
    std::vector<Vec2> samples;
    for (std::size_t i = 0; i + 1 < chain.size(); ++i) {
        const int n = std::max(1, static_cast<int>(std::ceil(norm(chain[i + 1] - chain[i]) / sample_mm)));
        for (int k = 0; k < n; ++k)
            samples.push_back(chain[i] + (chain[i + 1] - chain[i]) * (static_cast<double>(k) / n));
    }
    if (!chain.empty()) samples.push_back(chain.back());
    return samples;
}

/// Both ways.
std::vector<const Rib*> all_ribs(const Cradle& cradle) {
    std::vector<const Rib*> ribs;
    for (const std::vector<Rib>* one : {&cradle.ribs, &cradle.long_ribs})
        for (const Rib& rib : *one) ribs.push_back(&rib);
    return ribs;
}

std::vector<Vec2> saddle_samples(const Rib& rib) {
    std::vector<Vec2> samples = chain_samples(rib.saddle);
    for (const std::vector<Vec2>& more : rib.more_saddles)
        for (const Vec2& p : chain_samples(more)) samples.push_back(p);
    return samples;
}

/// How far a saddle is from where its pad wants the plug, sample by sample.
struct SeatMisses {
    std::vector<double> sorted_mm;  ///< rising
    Vec3 worst_at;
    /// Share of the samples that miss by no more than this.
    [[nodiscard]] double share_within(double mm) const {
        const auto end = std::upper_bound(sorted_mm.begin(), sorted_mm.end(), mm);
        return static_cast<double>(end - sorted_mm.begin()) / static_cast<double>(sorted_mm.size());
    }
    /// What a pad must take up for a share to touch.
    [[nodiscard]] double taken_up_mm(double share) const {
        const auto count = static_cast<std::size_t>(std::ceil(share * static_cast<double>(sorted_mm.size()) - 1e-9));
        return count == 0 ? 0 : sorted_mm[std::min(count, sorted_mm.size()) - 1];
    }
};

/// The place in the middle of a plate's thickness.
Vec3 middle_of(const PlatePart& part, Vec2 p) { return part.frame.to_parent(Vec3{p.x, p.y, -part.thickness_mm / 2}); }

SeatMisses seat_misses(const Design& design, const Rib& rib, const MeshIndex& index) {
    SeatMisses misses;
    double worst = -1;
    for (const Vec2& p : saddle_samples(rib)) {
        // A taper touches at one face of the rib first: that face counts.
        double nearest = std::numeric_limits<double>::infinity();
        for (const double side : {-0.5, 0.0, 0.5}) {
            const Vec3 q = rib.part.frame.to_parent(Vec3{p.x, p.y, (side - 0.5) * rib.part.thickness_mm});
            nearest = std::min(nearest, index.nearest(design.posed.pose.to_scan(q)).distance_mm);
        }
        misses.sorted_mm.push_back(std::abs(nearest - design.settings.cradle.pad.mm()));
        if (misses.sorted_mm.back() <= worst) continue;
        worst = misses.sorted_mm.back();
        misses.worst_at = middle_of(rib.part, p);
    }
    std::sort(misses.sorted_mm.begin(), misses.sorted_mm.end());
    return misses;
}

Check seat_check(const Design& design, const Rib& rib, const MeshIndex& index) {
    const Settings& settings = design.settings;
    const double allowed = settings.limits.seat_deviation.mm(), noise = design.posed.plug.noise_mm;
    const SeatMisses misses = seat_misses(design, rib, index);
    Check c;
    c.id = "cradle.seat";
    c.subject = rib.part.id;
    c.value = Quantity::ratio(misses.share_within(allowed));
    c.low = Quantity::ratio(misses.share_within(allowed - noise));
    c.high = Quantity::ratio(misses.share_within(allowed + noise));
    c.limit = Quantity::ratio(settings.limits.seat_share);
    c.relation = Relation::at_least;
    c.at = misses.worst_at;
    c.formula = "share of the saddle's length whose distance to the plug is the pad's thickness, within " +
                length_text(settings, allowed) + " less or more the scan's noise";
    c.source = Source::common_practice("a pad takes up half a millimetre");
    c = judged(std::move(c));
    if (c.verdict == Verdict::pass) {
        c.advice = "pad of " + length_text(settings, settings.cradle.pad.mm()) + " touches along the saddle";
        return c;
    }
    c.advice = "lay a softer pad that takes up " +
               length_to_set(settings, misses.taken_up_mm(c.limit.value) + noise, Rounding::up) +
               " (limits.seat-deviation)";
    return c;
}

Check support_check(const std::string& subject, double value, double limit) {
    Check c;
    c.id = "cradle.support";
    c.subject = subject;
    c.value = c.low = c.high = Quantity::ratio(value);
    c.limit = Quantity::ratio(limit);
    c.relation = Relation::at_least;
    c.formula =
        "ties through the upright that has fewest; uprights under a panel, a strip along it or one glued under its "
        "middle third counting as two";
    c.source = Source::common_practice("a plate on edge falls over, a sheet on one edge tips");
    return c;
}

Check ties_check(const Design& design) {
    const Cradle& cradle = design.cradle;
    std::ptrdiff_t fewest = std::numeric_limits<std::ptrdiff_t>::max();
    const Rib* worst = nullptr;
    for (const Rib& rib : cradle.ribs) {
        const auto ties = std::count_if(cradle.joints.begin(), cradle.joints.end(), [&](const Joint& j) {
            return j.kind == JointKind::half_lap && j.part_a == rib.part.id;
        });
        if (ties >= fewest) continue;
        fewest = ties;
        worst = &rib;
    }
    Check c = support_check(worst->part.id, static_cast<double>(fewest), 1);
    const double lacking = design.settings.cradle.tie_height.mm() - cradle.tie_room_mm;
    if (fewest > 0)
        c.advice = "every upright is held by " + std::to_string(fewest) + " ties or more";
    else if (design.settings.cradle.ties < 1)
        c.advice = "no ties: set cradle.ties to 2";
    else if (cradle.ribs.size() > 1 && lacking > 0)
        c.advice = "no ties, " + cradle.tie_reason + ": set cradle.clearance to " +
                   length_to_set(design.settings, design.settings.cradle.clearance.mm() + lacking, Rounding::up);
    else
        c.advice = "no ties, " + cradle.tie_reason + ": set cradle.ribs to 2";
    return judged(std::move(c));
}

/// Of the panel that is carried least.
std::optional<Check> panels_check(const Design& design) {
    const Cradle& cradle = design.cradle;
    double fewest = std::numeric_limits<double>::infinity();
    const FlangePanel* worst = nullptr;
    for (const FlangePanel& panel : design.flange.panels) {
        double carriers = 0;
        for (const Rib& rib : cradle.ribs)
            if (std::any_of(cradle.joints.begin(), cradle.joints.end(), [&](const Joint& j) {
                    return j.kind == JointKind::seat && j.part_a == rib.part.id && j.part_b == panel.id;
                }))
                carriers += is_under_middle(panel, rib.station_mm) ? 2 : 1;
        for (const Stringer& s : cradle.stringers)
            if (std::find(s.panels.begin(), s.panels.end(), panel.id) != s.panels.end()) carriers += 2;
        if (carriers >= fewest) continue;
        fewest = carriers;
        worst = &panel;
    }
    if (!worst) return std::nullopt;
    Check c = support_check(worst->id, fewest, 2);
    c.at = worst->point;
    Box3 box;
    for (const Vec2& p : flatten(worst->part.outline.outer, 0.1)) box.add(placed(worst->part, p));
    c.advice = fewest >= 2 ? "every panel lies on two uprights or on a strip"
                           : worst->id + " lies on less than two uprights: set cradle.spacing to " +
                                 length_to_set(design.settings, box.size().x / 2.5, Rounding::down);
    return judged(std::move(c));
}

struct Intrusion {
    double depth_mm = 0;
    Vec3 at;
    void take(double depth, Vec3 where) {
        if (depth <= depth_mm) return;
        depth_mm = depth;
        at = where;
    }
};

struct UprightIntrusion {
    const PlatePart* part = nullptr;
    Intrusion worst;
};

/// Is there plug straight below a point of its plane? Only that sweeps over the point on the way down.
bool has_plug_below(const Polygons& sections, Vec2 p) {
    for (const std::vector<Vec2>& chain : sections)
        for (std::size_t k = 0; k < chain.size(); ++k) {
            const Vec2 a = chain[k], b = chain[(k + 1) % chain.size()];
            if ((a.x < p.x) != (b.x < p.x) && a.y + (b.y - a.y) * (p.x - a.x) / (b.x - a.x) < p.y) return true;
        }
    return false;
}

/// How far a plate's edge stands in the way of the plug on its way down, given the plug's sections over its thickness.
Intrusion intrusion_of_upright(const PlatePart& part, const Polygons& sections) {
    Intrusion worst;
    if (sections.empty()) return worst;
    const std::vector<Vec2> under = lower_envelope(sections);
    for (const Vec2& p : samples_of(part.outline.outer)) {
        if (p.x <= under.front().x || p.x >= under.back().x) continue;
        const auto over = std::lower_bound(under.begin(), under.end(), p.x, [](Vec2 a, double v) { return a.x < v; });
        const Vec2 a = over == under.begin() ? *over : *(over - 1);
        const double z = over->x > a.x ? a.y + (over->y - a.y) * (p.x - a.x) / (over->x - a.x) : a.y;
        if (p.y > z && has_plug_below(sections, p))
            worst.take(distance_to_polyline(p, under, false), middle_of(part, p));
    }
    return worst;
}

/// Uprights that stand one way from one pass over the mesh; slices at other places than the stage used.
void add_intrusions(std::vector<UprightIntrusion>& all, const Design& design,
                    const std::vector<const PlatePart*>& plates) {
    if (plates.empty()) return;
    Frame3 station = plates.front()->frame;
    station.origin = {};
    std::vector<double> heights;
    for (const PlatePart* plate : plates)
        for (int i = 0; i < slab_faces; ++i)
            heights.push_back(dot(middle_of(*plate, {}), station.z) +
                              plate->thickness_mm * (0.98 * i / (slab_faces - 1) - 0.49));
    const std::vector<Slice> slices =
        slice_mesh(design.posed.mesh(), compose(inverse(design.posed.pose.scan_to_fixture), station), heights);
    for (std::size_t k = 0; k < plates.size(); ++k) {
        Polygons sections;
        for (std::size_t i = 0; i < slab_faces; ++i)
            for (const SliceLoop& loop : slices[k * slab_faces + i])
                if (loop.is_closed) sections.push_back(loop.points);
        all.push_back({plates[k], intrusion_of_upright(*plates[k], sections)});
    }
}

/// Of all plates that reach up to the plug.
std::vector<UprightIntrusion> intrusions_of_uprights(const Design& design) {
    std::vector<const PlatePart*> across, along;
    for (const Rib& rib : design.cradle.ribs) across.push_back(&rib.part);
    for (const PlatePart& stop : design.cradle.stops) across.push_back(&stop);
    for (const Rib& rib : design.cradle.long_ribs) along.push_back(&rib.part);
    std::vector<UprightIntrusion> all;
    add_intrusions(all, design, across);
    add_intrusions(all, design, along);
    return all;
}

/// The same for a panel: every section of the plug below its top must pass through its opening. Sections are parallel
/// to its middle; what of them lies above the top of a bent panel elsewhere is no concern of it.
Intrusion intrusion_of_panel(const Design& design, const FlangePanel& panel) {
    const Frame3 in_scan = compose(inverse(design.posed.pose.scan_to_fixture), panel.part.frame);
    const double drop = panel.point.z - design.posed.box_fixture.low.z;
    std::vector<double> heights;
    for (int i = 0; i < path_steps; ++i) heights.push_back(-drop * (i + 0.5) / path_steps);
    Intrusion worst;
    Polygons plan;
    for (const PlatePart& flat : flats_of(panel.part))
        for (std::vector<Vec2> chain : to_polygons(flat.outline)) {
            for (Vec2& p : chain) {
                const Vec3 q = flat.frame.to_parent(p);
                p = {q.x, q.y};
            }
            plan.push_back(std::move(chain));
        }
    plan = unite(plan);
    const std::vector<Slice> slices = slice_mesh(design.posed.mesh(), in_scan, heights);
    for (std::size_t k = 0; k < slices.size(); ++k)
        for (const SliceLoop& loop : slices[k]) {
            if (!loop.is_closed) continue;
            for (const Vec2& p : loop.points) {
                const Vec3 q = panel.part.frame.to_parent(Vec3{p.x, p.y, heights[k]});
                const Vec2 at{q.x, q.y};
                if (!contains(plan, at)) continue;
                const double top = panel.top_near(q).height_at(q.x, q.y);
                if (q.z > top) continue;
                double depth = std::numeric_limits<double>::infinity();
                for (const auto& chain : plan) depth = std::min(depth, distance_to_polyline(at, chain, true));
                worst.take(depth, {q.x, q.y, top});
            }
        }
    return worst;
}

Check path_check(const Design& design, std::string id, const std::string& subject, const Intrusion& worst) {
    Check c;
    c.id = std::move(id);
    c.subject = subject;
    // Sections are exact; where the scan's noise puts the plug is not.
    const double doubt = worst.depth_mm > 0 ? design.posed.plug.noise_mm : 0;
    c.value = Quantity::of(Length::mm(worst.depth_mm));
    c.low = Quantity::of(Length::mm(std::max(0.0, worst.depth_mm - doubt)));
    c.high = Quantity::of(Length::mm(worst.depth_mm + doubt));
    c.limit = Quantity::of(design.settings.limits.clash);
    c.relation = Relation::at_most;
    if (worst.depth_mm > 0) c.at = worst.at;
    c.formula = "largest overlap of the part with the plug swept along the vertical";
    c.source = Source::derived("sections at places other than the design used");
    return judged(std::move(c));
}

/// How an upright is kept out of the plug's way: further from it where it carries, or where it only passes.
std::string clear_upright(const Design& design, const PlatePart& part, const Intrusion& worst, double by_mm) {
    const CradleOptions& cradle = design.settings.cradle;
    constexpr double on_saddle_mm = 1;
    const Vec3 local = part.frame.to_local(worst.at);
    const Vec2 at{local.x, local.y};
    bool is_carrying = part.kind == PartKind::stop;
    for (const Rib* rib_at : all_ribs(design.cradle))
        if (const Rib& rib = *rib_at; rib.part.id == part.id && rib.saddle.size() > 1)
            is_carrying = distance_to_polyline(at, rib.saddle, false) < on_saddle_mm + by_mm;
    const std::string key = is_carrying ? "cradle.pad" : "cradle.free";
    const double now_mm = is_carrying ? cradle.pad.mm() : cradle.free.mm();
    return "set " + key + " to " + length_to_set(design.settings, now_mm + by_mm, Rounding::up) + ", or take " +
           length_to_set(design.settings, by_mm, Rounding::up) + " off " + part.id + " there";
}

/// The same for a panel: a pull that is not upright leans it over the plug's way in.
std::string clear_panel(const Design& design, const FlangePanel& panel, double by_mm) {
    constexpr double upright = 0.9999;
    if (design.posed.pose.pull_fixture.z < upright)
        return "set pose.pull to vertical, so that no panel leans over the plug";
    const FlangeOptions& flange = design.settings.flange;
    if (flange.gap.mm() + by_mm <= flange.gap_limit.mm())
        return "set flange.gap to " + length_to_set(design.settings, flange.gap.mm() + by_mm, Rounding::up);
    return "saw " + panel.id + " in two there and join it after the plug is in: it overlaps by " +
           length_to_set(design.settings, by_mm, Rounding::up);
}

/// Two plates that may touch but not share space.
class PlatePair {
public:
    struct Solid {
        const PlatePart* part = nullptr;
        Polygons shape;
        std::vector<Vec2> edge;
        Box3 box;
    };
    static Solid solid_of(const PlatePart& part) {
        Solid solid{&part, to_polygons(part.outline), {}, {}};
        solid.edge = samples_of(part.outline.outer);
        for (const Vec2& p : solid.edge)
            for (const double z : {0.0, -part.thickness_mm}) solid.box.add(part.frame.to_parent(Vec3{p.x, p.y, z}));
        return solid;
    }

    static bool are_apart(const Solid& a, const Solid& b) {
        return a.box.low.x > b.box.high.x || b.box.low.x > a.box.high.x || a.box.low.y > b.box.high.y ||
               b.box.low.y > a.box.high.y || a.box.low.z > b.box.high.z || b.box.low.z > a.box.high.z;
    }

    /// Deepest point of a's edges inside b.
    static Intrusion depth(const Solid& a, const Solid& b) {
        Intrusion worst;
        for (const Vec2& p : a.edge)
            for (int i = 0; i < slab_faces; ++i) {
                const Vec3 at = a.part->frame.to_parent(Vec3{p.x, p.y, -a.part->thickness_mm * i / (slab_faces - 1)});
                const Vec3 q = b.part->frame.to_local(at);
                double depth = std::min(-q.z, q.z + b.part->thickness_mm);
                if (depth <= worst.depth_mm || !contains(b.shape, {q.x, q.y})) continue;
                for (const auto& chain : b.shape)
                    depth = std::min(depth, distance_to_polyline(Vec2{q.x, q.y}, chain, true));
                worst.take(depth, at);
            }
        return worst;
    }
};

/// Ribs nearer to each other than their thickness: what else clashes follows from it.
std::optional<std::string> spread_ribs(const Design& design) {
    const std::vector<Rib>& ribs = design.cradle.ribs;
    for (std::size_t i = 0; i + 1 < ribs.size(); ++i) {
        const double together_mm = 0.5 * (ribs[i].part.thickness_mm + ribs[i + 1].part.thickness_mm);
        if (ribs[i + 1].station_mm - ribs[i].station_mm >= together_mm) continue;
        // One thickness of tie is left between their slots. Source: common practice.
        return "stand " + ribs[i + 1].part.id + " at least " +
               length_to_set(design.settings, 2 * together_mm + design.settings.cradle.slot_clearance.mm(),
                             Rounding::up) +
               " from " + ribs[i].part.id + " (cradle.stations)";
    }
    return std::nullopt;
}

/// The setting that gives the two parts room, or what to saw.
std::string part_them(const Design& design, const PlatePart& a, const PlatePart& b, double by_mm) {
    const Settings& settings = design.settings;
    const auto with_room = [&](double now_mm, double more_mm) {
        return length_to_set(settings, now_mm + more_mm, Rounding::up);
    };
    if (const auto spread = spread_ribs(design)) return *spread;
    const auto is_slot = [&](const Joint& j) {
        const bool are_these = (j.part_a == a.id && j.part_b == b.id) || (j.part_a == b.id && j.part_b == a.id);
        return are_these && (j.kind == JointKind::half_lap || j.kind == JointKind::notch);
    };
    if (std::ranges::any_of(design.cradle.joints, is_slot))
        return "set cradle.slot-clearance to " + with_room(settings.cradle.slot_clearance.mm(), 2 * by_mm);
    if ((a.kind == PartKind::panel) != (b.kind == PartKind::panel))
        return "set flange.glue to " + with_room(settings.flange.glue.mm(), by_mm) +
               ", so that what carries the panel stands lower";
    return "take " + with_room(0, by_mm) + " off " + b.id + " where it meets " + a.id;
}

}  // namespace

std::vector<Check> check_cradle_seat(const Design& design) {
    std::vector<Vec3> points;
    for (const Rib* rib : all_ribs(design.cradle))
        for (const Vec2& p : saddle_samples(*rib)) points.push_back(design.posed.pose.to_scan(middle_of(rib->part, p)));
    if (points.empty()) return {unknown_check("cradle.seat", "cradle", "no rib has a saddle")};
    const double reach = design.settings.cradle.pad.mm() + design.settings.limits.seat_deviation.mm() + 5;
    const MeshIndex index(design.posed.mesh(), faces_near(design.posed.mesh(), points, reach));
    std::vector<Check> checks;
    for (const Rib* rib : all_ribs(design.cradle))
        if (rib->saddle.size() > 1) checks.push_back(seat_check(design, *rib, index));
    return checks;
}

std::vector<Check> check_cradle_support(const Design& design) {
    if (design.cradle.ribs.empty()) return {unknown_check("cradle.support", "cradle", "there is no cradle")};
    std::vector<Check> checks{ties_check(design)};
    if (std::optional<Check> panels = panels_check(design)) checks.push_back(std::move(*panels));
    return checks;
}

std::vector<Check> check_cradle_drop_in(const Design& design) {
    constexpr const char* good = "the plug drops in from above";
    std::vector<Check> checks;
    for (const UprightIntrusion& one : intrusions_of_uprights(design)) {
        Check c = path_check(design, "cradle.drop-in", one.part->id, one.worst);
        c.advice = c.verdict == Verdict::pass ? good : clear_upright(design, *one.part, one.worst, c.high.value);
        checks.push_back(std::move(c));
    }
    for (const FlangePanel& panel : design.flange.panels) {
        Check c = path_check(design, "cradle.drop-in", panel.id, intrusion_of_panel(design, panel));
        c.advice = c.verdict == Verdict::pass ? good : clear_panel(design, panel, c.high.value);
        checks.push_back(std::move(c));
    }
    if (checks.empty()) checks.push_back(unknown_check("cradle.drop-in", "cradle", "there is no cradle"));
    return checks;
}

std::vector<Check> check_cradle_lift_off(const Design& design) {
    // The fixture leaves plug and half 1 downward: the same sweep seen from the plug, and nothing of the fixture stands
    // above the panels, so only the uprights can hook.
    const std::vector<UprightIntrusion> uprights = intrusions_of_uprights(design);
    if (uprights.empty()) return {unknown_check("cradle.lift-off", "cradle", "there is no cradle")};
    const UprightIntrusion* worst = &uprights.front();
    for (const UprightIntrusion& one : uprights)
        if (one.worst.depth_mm > worst->worst.depth_mm) worst = &one;
    Check c = path_check(design, "cradle.lift-off", "cradle", worst->worst);
    c.advice = c.verdict == Verdict::pass ? "the fixture comes off downward from plug and half 1"
                                          : clear_upright(design, *worst->part, worst->worst, c.high.value);
    return {std::move(c)};
}

std::vector<Check> check_cradle_clash(const Design& design) {
    std::vector<PlatePart> flats;
    for (const PlatePart* part : fixture_parts(design))
        if (!part->outline.outer.vertices.empty()) std::ranges::move(flats_of(*part), std::back_inserter(flats));
    std::vector<PlatePair::Solid> solids;
    for (const PlatePart& flat : flats) solids.push_back(PlatePair::solid_of(flat));
    // Parts that touch share a hundredth by rounding, now this pair and now that; assumed, a tenth of the limit.
    constexpr double touching_mm = 0.01;
    Intrusion worst;
    worst.depth_mm = touching_mm;
    std::string subject = "all parts";
    const PlatePart *first = nullptr, *second = nullptr;
    for (std::size_t i = 0; i < solids.size(); ++i)
        for (std::size_t k = i + 1; k < solids.size(); ++k) {
            if (solids[i].part->id == solids[k].part->id || PlatePair::are_apart(solids[i], solids[k])) continue;
            for (const Intrusion& one :
                 {PlatePair::depth(solids[i], solids[k]), PlatePair::depth(solids[k], solids[i])}) {
                if (one.depth_mm <= worst.depth_mm) continue;
                worst = one;
                first = solids[i].part;
                second = solids[k].part;
                subject = first->id + " and " + second->id;
            }
        }
    Check c;
    c.id = "cradle.clash";
    c.subject = subject;
    if (first == nullptr) worst.depth_mm = 0;
    c.value = c.low = c.high = Quantity::of(Length::mm(worst.depth_mm));
    c.limit = Quantity::of(design.settings.limits.clash);
    c.relation = Relation::at_most;
    if (worst.depth_mm > 0) c.at = worst.at;
    c.formula = "deepest point of any part's edges inside another part";
    c.source = Source::derived("edges sampled every 2 mm on three depths");
    c = judged(std::move(c));
    c.advice =
        c.verdict == Verdict::pass ? "no two parts share space" : part_them(design, *first, *second, worst.depth_mm);
    return {std::move(c)};
}

}  // namespace cradlewright
