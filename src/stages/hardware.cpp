// SPDX-License-Identifier: GPL-3.0-or-later
// What is placed, why there and what else was thought of: hardware.md beside this file.
#include "cradlewright/stages/hardware.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <numeric>
#include <optional>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "stages/hardware_room.hpp"

namespace cradlewright {
namespace {

using Sizes = HardwareSizes;
using std::numbers::pi;

constexpr double along_step_mm = 2, coarse_step_mm = 6, across_step_mm = 1;
constexpr int phases = 16;  // places round the loop at which the first locator is tried
constexpr std::size_t least_locators = 3, most_locators = 5;
constexpr double locators_until_mm = 1600, one_more_each_mm = 800;
constexpr double jack_spacing_mm = 500, notch_spacing_mm = 300;
constexpr double long_edge_share = 0.5;           // of the longest edge: a side on which jack bolts push
constexpr double least_stand_share = 0.5;         // of a locator's height, over the panel on its uphill side
constexpr double even_step_mm = 5, spare_mm = 2;  // advised widths
constexpr double strip_inset_mm = 12;             // of the outer strip from a panel's rim, as the cradle lays it

/// Gaps between locators round the loop, to be scaled: no two alike, nor two sums that a turn could swap, and none half
/// of the whole.
std::vector<double> gap_pattern(std::size_t count) {
    switch (count) {
        case 3:
            return {1.0, 1.3, 1.7};
        case 4:
            return {1.0, 1.45, 1.2, 1.8};
        default:
            return {1.0, 1.3, 1.1, 1.7, 1.5};
    }
}

/// Places of a kind as wanted along a loop, and how far each may give way.
struct Wanted {
    const LoopWalk* walk = nullptr;
    std::vector<double> at;
    double window_mm = 0;
};

/// The room that a kind takes.
struct Need {
    HardwareKind kind;
    double radius_mm = 0;  // of its rim on the panel
    double edge_mm = 0;    // from its rim to edges of the panel
};

/// One that could be placed, with the disc that others keep off.
struct Placed {
    HardwareItem item;
    Vec3 center;
    double radius_mm = 0;
};

class Placer {
public:
    Placer(const PosedPlug& posed, const Parting& parting, const Flange& flange, const Cradle& cradle,
           const Beads& beads, const MouldJoint& joint, const Settings& settings)
        : opening_(posed.pose.opening_fixture()),
          settings_(settings),
          joint_(joint),
          shape_(locator_shape(settings)),
          trim_lines_(beads.trim_lines),
          room_(flange, cradle, beads) {
        if (beads.groove)
            trim_lines_.insert(trim_lines_.end(), beads.groove->trim_lines.begin(), beads.groove->trim_lines.end());
        for (std::size_t k = 0; k < parting.loops.size(); ++k)
            if (!parting.loops[k].is_inner) walks_.emplace_back(parting.loops[k], k, posed, flange);
        for (const LoopWalk& walk : walks_)
            if (longest_ == nullptr || walk.length_mm() > longest_->length_mm()) longest_ = &walk;
    }

    Hardware place() {
        Hardware hardware;
        hardware.locator = shape_;
        hardware.misfit_mm = place_locators();
        place_all(HardwareKind::port, {ports()});
        place_all(HardwareKind::jack, each_walk([&](const LoopWalk& walk) { return jacks(walk); }));
        place_all(HardwareKind::bolt,
                  each_walk([&](const LoopWalk& walk) { return even(walk, 3, joint_.bolt_spacing_mm, 0.5); }));
        place_all(HardwareKind::notch,
                  each_walk([&](const LoopWalk& walk) { return even(walk, 4, notch_spacing_mm, 0); }));
        for (Placed& placed : placed_) hardware.items.push_back(std::move(placed.item));
        hardware.notes = std::move(notes_);
        return hardware;
    }

private:
    // ---- what is wanted

    template <class Function>
    [[nodiscard]] std::vector<Wanted> each_walk(const Function& wanted) const {
        std::vector<Wanted> all;
        for (const LoopWalk& walk : walks_) all.push_back(wanted(walk));
        return all;
    }

    [[nodiscard]] static Wanted even(const LoopWalk& walk, double least, double spacing_mm, double phase) {
        const double count = std::max(least, std::ceil(walk.length_mm() / spacing_mm));
        const double step = walk.length_mm() / count;
        Wanted wanted{&walk, {}, step / 2};
        for (double i = 0; i < count; ++i) wanted.at.push_back((i + phase) * step);
        return wanted;
    }

    [[nodiscard]] Wanted ports() const {
        const double length = longest_->length_mm();
        return {longest_, {0.25 * length, 0.75 * length}, length / 8};
    }

    /// Evenly on each long side, all round where the line is one edge.
    [[nodiscard]] static Wanted jacks(const LoopWalk& walk) {
        struct Side {
            double from, length;
        };
        std::vector<Side> sides;
        double longest = 0;
        for (const PartingEdge& edge : walk.loop().edges) {
            const double from = walk.along(edge.first);
            double length = walk.along(edge.last) - from;
            if (length <= 0) length += walk.length_mm();
            const bool is_whole = edge.first == edge.last;
            sides.push_back({is_whole ? 0 : from, length});
            longest = std::max(longest, length);
        }
        std::sort(sides.begin(), sides.end(), [](const Side& a, const Side& b) { return a.from < b.from; });
        Wanted wanted{&walk, {}, std::numeric_limits<double>::infinity()};
        for (const Side& side : sides) {
            if (side.length < long_edge_share * longest) continue;
            const double least = sides.size() == 1 ? 4 : 1;
            const double count = std::max(least, std::ceil(side.length / jack_spacing_mm)), step = side.length / count;
            for (double i = 0; i < count; ++i) wanted.at.push_back(side.from + (i + 0.5) * step);
            wanted.window_mm = std::min(wanted.window_mm, step / 2);
        }
        return wanted;
    }

    // ---- room

    [[nodiscard]] Need need_of(HardwareKind kind) const {
        switch (kind) {
            case HardwareKind::locator:
                return {kind, shape_.radius_mm, Sizes::apart};
            case HardwareKind::port:
                return {kind, Sizes::nozzle / 2, Sizes::apart};
            case HardwareKind::jack:
                return {kind, Sizes::pad / 2, Sizes::apart};
            case HardwareKind::bolt:
                return {kind, Sizes::washer / 2, 0};
            case HardwareKind::notch:
                break;
        }
        return {kind, std::hypot(Sizes::notch_width, Sizes::notch_depth) / 2, 0};
    }

    [[nodiscard]] bool is_clear_of_others(Vec3 center, double radius_mm) const {
        return std::all_of(placed_.begin(), placed_.end(), [&](const Placed& other) {
            return norm(other.center - center) >= other.radius_mm + radius_mm + Sizes::apart - slack_mm;
        });
    }

    [[nodiscard]] static HardwareItem item_at(HardwareKind kind, const Spot& spot) {
        return {.kind = kind,
                .id = {},
                .panel = spot.panel->id,
                .at = spot.at,
                .axis = spot.normal,
                .normal = spot.normal,
                .out = spot.out,
                .flat = spot.flat,
                .flat_out = spot.flat_out};
    }

    [[nodiscard]] std::optional<Placed> try_at(const Need& need, const LoopWalk& walk, double s, double across_mm) {
        const FlangePanel* panel = walk.panel(s);
        if (panel == nullptr) return std::nullopt;
        const double foot = room_.foot_mm(*panel);
        if (need.kind == HardwareKind::notch) return try_notch(need, walk, s, foot);
        const double reach = (foot + panel->width_mm) / 2 + across_mm;
        const std::optional<Spot> spot = walk.spot(s, reach);
        if (!spot) return std::nullopt;
        double radius = need.radius_mm, shim = 0;
        if (need.kind == HardwareKind::locator) {
            shim = angle_between(opening_, spot->normal);
            // It must still stand up on its uphill side.
            if (shape_.radius_mm * std::tan(shim) > (1 - least_stand_share) * shape_.height_mm) return std::nullopt;
            radius = norm(shape_.print(shim, {1, 0}).front());
        }
        if (reach < foot + radius + Sizes::apart - slack_mm || !room_.is_on_panel(*spot, radius + need.edge_mm) ||
            !is_clear_of_others(spot->at, radius))
            return std::nullopt;
        HardwareItem item = item_at(need.kind, *spot);
        if (need.kind == HardwareKind::locator) {
            if (!room_.is_clear_below(*spot, Sizes::screw_head / 2 + Sizes::below)) return std::nullopt;
            item.axis = opening_;
            item.shim_rad = shim;
        }
        return Placed{std::move(item), spot->at, radius};
    }

    [[nodiscard]] std::optional<Placed> try_notch(const Need& need, const LoopWalk& walk, double s, double foot) {
        constexpr double behind_rim_mm = 3;  // where a round rim has drawn back from a notch's corners
        const double rim = room_.rim_mm(walk, s, foot + Sizes::apart + Sizes::notch_depth);
        const std::optional<Spot> mouth = walk.spot(s, rim), middle = walk.spot(s, rim - Sizes::notch_depth / 2);
        if (rim == 0 || rim > walk.panel(s)->width_mm + behind_rim_mm || !mouth || !middle) return std::nullopt;
        const double half = Sizes::notch_width / 2 + Sizes::apart;
        for (const double side : {-half, half})
            for (const double back : {behind_rim_mm, Sizes::notch_depth}) {
                Spot corner = *mouth;
                corner.flat = mouth->flat - mouth->flat_out * back + perp(mouth->flat_out) * side;
                if (!room_.is_on_panel(corner, 0)) return std::nullopt;
            }
        if (!is_clear_of_others(middle->at, need.radius_mm)) return std::nullopt;
        return Placed{item_at(need.kind, *mouth), middle->at, need.radius_mm};
    }

    /// Along the middle first, then beside it; nearest first.
    [[nodiscard]] std::optional<Placed> find(const Need& need, const LoopWalk& walk, double s, double window_mm) {
        const auto to_and_fro = [](double step, double most, const auto& visit) {
            for (int k = 0; k * step <= most; ++k)
                for (const double side : {1.0, -1.0})
                    if ((k > 0 || side > 0) && visit(side * k * step)) return;
        };
        std::optional<Placed> found;
        const auto is_found = [&](double along, double across) {
            found = try_at(need, walk, s + along, across);
            return found.has_value();
        };
        to_and_fro(along_step_mm, window_mm, [&](double along) { return is_found(along, 0); });
        if (found || need.kind == HardwareKind::notch) return found;
        to_and_fro(coarse_step_mm, window_mm, [&](double along) {
            const FlangePanel* panel = walk.panel(s + along);
            const double beside =
                panel == nullptr ? 0 : (panel->width_mm - room_.foot_mm(*panel)) / 2 - need.radius_mm - need.edge_mm;
            to_and_fro(across_step_mm, beside, [&](double across) { return is_found(along, across); });
            return found.has_value();
        });
        return found;
    }

    // ---- placing

    void place_all(HardwareKind kind, const std::vector<Wanted>& wanted) {
        const Need need = need_of(kind);
        std::size_t asked = 0, missing = 0, number = 0;
        std::vector<const FlangePanel*> without;
        for (const Wanted& loop : wanted)
            for (const double s : loop.at) {
                ++asked;
                std::optional<Placed> placed = find(need, *loop.walk, s, loop.window_mm);
                if (!placed) {
                    ++missing;
                    without.push_back(loop.walk->panel(s));
                    continue;
                }
                placed->item.id = std::string(hardware_kind_name(kind)) + "-" + std::to_string(++number);
                if (kind == HardwareKind::port) {
                    placed->item.half = asked == 1 ? 1 : 2;
                    placed->item.id = "port-half-" + std::to_string(placed->item.half);
                    placed->item.to_part_edge_mm = to_part_edge_mm(placed->item);
                }
                placed_.push_back(std::move(*placed));
            }
        note_missing(kind, asked, missing, without);
    }

    double place_locators() {
        const double length = longest_->length_mm();
        const auto more = static_cast<std::size_t>(
            std::ceil(std::max(0.0, length - locators_until_mm - slack_mm) / one_more_each_mm));
        const std::size_t count = std::min(most_locators, least_locators + more);
        const std::vector<double> gaps = gap_pattern(count);
        const double scale = length / std::accumulate(gaps.begin(), gaps.end(), 0.0);
        const Need need = need_of(HardwareKind::locator);
        std::vector<Placed> best;
        double misfit = 0;
        std::vector<const FlangePanel*> without;
        for (int phase = 0; phase < phases; ++phase) {
            std::vector<Placed> set;
            std::vector<const FlangePanel*> missed;
            double s = length * phase / phases;
            for (const double gap : gaps) {
                // Gaps that give way by less than a tenth keep their order.
                if (std::optional<Placed> placed = find(need, *longest_, s, 0.1 * gap * scale))
                    set.push_back(std::move(*placed));
                else
                    missed.push_back(longest_->panel(s));
                s += gap * scale;
            }
            const double own = misfit_of(set);
            const bool is_better = set.size() > best.size() ||
                                   (set.size() == best.size() && misfit < shape_.radius_mm && own > misfit + slack_mm);
            if (phase > 0 && !is_better) continue;
            best = std::move(set);
            without = std::move(missed);
            misfit = own;
        }
        for (std::size_t i = 0; i < best.size(); ++i) {
            best[i].item.id = "locator-" + std::to_string(i + 1);
            placed_.push_back(std::move(best[i]));
        }
        note_missing(HardwareKind::locator, count, count - placed_.size(), without);
        if (without.empty() && misfit < shape_.radius_mm)
            notes_.push_back("the locators stand so evenly that the halves might go together turned: mark both halves");
        return misfit;
    }

    [[nodiscard]] static double misfit_of(const std::vector<Placed>& set) {
        std::vector<Vec3> places;
        for (const Placed& placed : set) places.push_back(placed.item.at);
        return misfit_when_turned(places);
    }

    /// From the port's axis as a whole line; trim lines have a point every few millimetres.
    [[nodiscard]] double to_part_edge_mm(const HardwareItem& port) const {
        double least = std::numeric_limits<double>::infinity();
        for (const std::vector<Vec3>& line : trim_lines_)
            for (const Vec3& p : line) least = std::min(least, norm(cross(p - port.at, port.axis)));
        return least;
    }

    // ---- what to set when there is no room

    [[nodiscard]] double width_for(const Need& need, double foot) const {
        double width = foot + Sizes::apart + 2 * need.radius_mm + need.edge_mm;
        if (need.kind == HardwareKind::notch) width = foot + Sizes::apart + Sizes::notch_depth;
        if (need.kind == HardwareKind::locator)  // its screw beside the outer strip
            width = std::max(width, foot + Sizes::apart + need.radius_mm + Sizes::screw_head / 2 + Sizes::below +
                                        settings_.cradle.stringer_width.mm() + strip_inset_mm);
        return even_step_mm * std::ceil((width + spare_mm) / even_step_mm);
    }

    void note_missing(HardwareKind kind, std::size_t asked, std::size_t missing,
                      const std::vector<const FlangePanel*>& without) {
        if (missing == 0) return;
        std::map<std::string, double> to_set;  // setting -> width
        for (const FlangePanel* panel : without) {
            if (panel == nullptr) continue;
            const double width = width_for(need_of(kind), room_.foot_mm(*panel));
            if (width <= panel->width_mm) continue;
            const auto edge = settings_.edges.find(panel->edge);
            const bool is_own = edge != settings_.edges.end() && edge->second.width.has_value();
            double& most = to_set[is_own ? "edge." + panel->edge + ".width" : "flange.width"];
            most = std::max(most, width);
        }
        std::string text = std::to_string(missing) + " of " + std::to_string(asked) + " " +
                           std::string(words_for(kind)) + (missing == 1 ? " finds" : " find") +
                           " no room on the flange: ";
        std::string sets;
        for (const auto& [key, width] : to_set)
            sets += (sets.empty() ? "set " : " and ") + key + " to " +
                    format_quantity(Quantity::of(Length::mm(width)), settings_.units);
        notes_.push_back(text + (sets.empty() ? "mitres, strips and what else stands there leave none; place it by hand"
                                              : sets + " or more"));
    }

    [[nodiscard]] static std::string_view words_for(HardwareKind kind) {
        constexpr std::string_view words[] = {"locators", "ports", "jack bolts", "clamp bolts", "wedge notches"};
        return words[static_cast<std::size_t>(kind)];
    }

    static constexpr double slack_mm = 1e-7;  // of sums that are equal but for rounding

    Vec3 opening_;
    const Settings& settings_;
    const MouldJoint& joint_;
    LocatorShape shape_;
    std::vector<std::vector<Vec3>> trim_lines_;
    FlangeRoom room_;
    std::vector<LoopWalk> walks_;
    const LoopWalk* longest_ = nullptr;
    std::vector<Placed> placed_;
    std::vector<std::string> notes_;
};

}  // namespace

std::string_view hardware_kind_name(HardwareKind kind) {
    constexpr std::string_view names[] = {"locator", "port", "jack-bolt", "bolt", "wedge-notch"};
    return names[static_cast<std::size_t>(kind)];
}

Vec2 LocatorShape::round_center() const {
    const double up = height_mm - round_mm;
    return {radius_mm - (round_mm + up * std::sin(draft_rad)) / std::cos(draft_rad), up};
}

double LocatorShape::foot_height_mm(double shim_rad, double azimuth_rad) const {
    // r(z) = r - z tan(draft) away from the axis the panel lies at z = -r(z) cos(azimuth) tan(shim).
    const double fall = std::cos(azimuth_rad) * std::tan(shim_rad);
    return -radius_mm * fall / (1 - fall * std::tan(draft_rad));
}

std::vector<Vec2> LocatorShape::print(double shim_rad, Vec2 down) const {
    constexpr int corners = 72;
    std::vector<Vec2> chain;
    for (int k = 0; k < corners; ++k) {
        const double azimuth = 2 * pi * k / corners;
        const double far = radius_mm - foot_height_mm(shim_rad, azimuth) * std::tan(draft_rad);
        chain.push_back(down * (far * std::cos(azimuth) / std::cos(shim_rad)) + perp(down) * (far * std::sin(azimuth)));
    }
    return chain;
}

LocatorShape locator_shape(const Settings& settings) {
    const MouldOptions& mould = settings.mould;
    LocatorShape shape{mould.locator_diameter.mm() / 2, mould.locator_height.mm(), mould.locator_draft.rad(),
                       mould.locator_height.mm() / 3};
    if (shape.round_center().x < 0)
        throw Error(ErrorCode::bad_input, "mould.locator-diameter",
                    "a locator of this diameter, height and draft ends in a point",
                    "set a larger mould.locator-diameter, or less mould.locator-height or mould.locator-draft");
    return shape;
}

double misfit_when_turned(const std::vector<Vec3>& places) {
    const std::size_t n = places.size();
    double least = std::numeric_limits<double>::infinity();
    // Two pegs over one socket: one of them lies half of their distance off.
    for (std::size_t i = 0; i < n; ++i)
        for (std::size_t j = 0; j < i; ++j) least = std::min(least, norm(places[i] - places[j]) / 2);
    std::vector<std::size_t> other(n);
    std::iota(other.begin(), other.end(), std::size_t{0});
    while (std::next_permutation(other.begin(), other.end())) {
        double worst = 0;
        for (std::size_t i = 0; i < n; ++i)
            for (std::size_t j = 0; j < i; ++j)
                worst = std::max(worst,
                                 std::abs(norm(places[i] - places[j]) - norm(places[other[i]] - places[other[j]])) / 2);
        least = std::min(least, worst);
    }
    return least;
}

Hardware place_hardware(const PosedPlug& posed, const Parting& parting, const Flange& flange, const Cradle& cradle,
                        const Beads& beads, const MouldJoint& joint, const Settings& settings) {
    Hardware none;
    none.locator = locator_shape(settings);
    none.misfit_mm = std::numeric_limits<double>::infinity();
    if (!parting.is_found() || flange.panels.empty()) return none;
    if (!(joint.bolt_spacing_mm > 0)) {
        none.notes.push_back(
            "a single mould meets no other half: no locators, clamp bolts, jack bolts, ports or wedge notches");
        return none;
    }
    return Placer(posed, parting, flange, cradle, beads, joint, settings).place();
}

}  // namespace cradlewright
