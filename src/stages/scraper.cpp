// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/scraper.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "stages/mark_text.hpp"

namespace cradlewright {

namespace {

using std::numbers::pi;

// Sizes of a card, mm. Source: assumed, what a hand holds and a saw cuts.
constexpr double least_ride_mm = 20, most_ride_mm = 40, shortest_ride_mm = 5;  // on the panel
constexpr double rides_per_radius = 2.5;
constexpr double least_half_width_mm = 18;  // of the handle
constexpr double handle_mm = 58, top_radius_mm = 8, hang_hole_mm = 3, hang_below_top_mm = 9;
constexpr double least_land_mm = 5, most_land_mm = 15;  // on the plug
constexpr double most_relief_mm = 40;
constexpr double relief_rad = 8 * pi / 180;  // behind the land the card leans off the plug, which may be hollow there
constexpr double clear_of_rim_mm = 1;        // ends before the panel does
// Corners are told by so much: cards that differ by less are one.
constexpr double wedge_step_rad = 5 * pi / 180;
// A stepped card's end may stand so far off the plug; edges that ask for more than three cards vary by noise.
constexpr double most_off_step_mm = 0.5;  // Source: assumed, what a blade of plastic gives
constexpr int most_step_cards = 3;
constexpr double least_wedge_rad = 15 * pi / 180, most_wedge_rad = 170 * pi / 180;

/// Points of the working end from the plug side to the panel side, part frame; the bulge belongs to the edge that
/// leaves a point.
struct Nose {
    double wedge_rad = 0;
    std::vector<PathVertex> vertices;
};

Vec2 panel_way(double wedge_rad) { return {std::sin(wedge_rad / 2), std::cos(wedge_rad / 2)}; }
Vec2 plug_way(double wedge_rad) { return {-std::sin(wedge_rad / 2), std::cos(wedge_rad / 2)}; }

/// Length of the riding edge on the panel, from `start_mm` off the apex.
double ride_mm(double start_mm, double wedge_rad, double radius_mm, double panel_mm) {
    const double wanted = std::clamp(rides_per_radius * radius_mm, least_ride_mm, most_ride_mm);
    const double for_handle = least_half_width_mm / std::sin(wedge_rad / 2) - start_mm;
    const double room = std::max(shortest_ride_mm, panel_mm - clear_of_rim_mm - start_mm);
    return std::min(std::max(wanted, for_handle), room);
}

Nose round_nose(double radius_mm, double wedge_rad, double panel_mm) {
    const double tangent = radius_mm / std::tan(wedge_rad / 2);
    const double land = std::clamp(radius_mm, least_land_mm, most_land_mm);
    const Vec2 panel = panel_way(wedge_rad), plug = plug_way(wedge_rad);
    return {wedge_rad,
            {{plug * (tangent + land), 0, CutKind::fit},
             {plug * tangent, std::tan((pi - wedge_rad) / 4), CutKind::fit},
             {panel * tangent, 0, CutKind::fit},
             {panel * (tangent + ride_mm(tangent, wedge_rad, radius_mm, panel_mm)), 0, CutKind::rough}}};
}

/// `foot_mm` along the wall is clay, then `land_mm` of it is ridden on; the clay's flat ends `reach_mm` out on the
/// panel.
Nose step_nose(double foot_mm, double reach_mm, double land_mm, double wedge_rad, double panel_mm) {
    const Vec2 panel = panel_way(wedge_rad), plug = plug_way(wedge_rad);
    return {wedge_rad,
            {{plug * (foot_mm + land_mm), 0, CutKind::fit},
             {plug * foot_mm, 0, CutKind::fit},
             {panel * reach_mm, 0, CutKind::fit},
             {panel * (reach_mm + ride_mm(reach_mm, wedge_rad, reach_mm, panel_mm)), 0, CutKind::rough}}};
}

/// Where the handle starts on either side.
struct Shoulders {
    Vec2 plug, panel;
    double top = 0;
    [[nodiscard]] double half_width() const { return std::min(-plug.x, panel.x); }
};

Shoulders shoulders_of(const Nose& nose) {
    const Vec2 land_end = nose.vertices.front().at, ride_end = nose.vertices.back().at;
    const double lean = nose.wedge_rad / 2 - std::min(relief_rad, nose.wedge_rad / 4);
    const double missing = ride_end.x + land_end.x;  // of the handle's half width on the plug's side
    const double way = missing > 0 ? std::min(missing / std::sin(lean), most_relief_mm) : 0;
    Shoulders s{land_end + Vec2{-std::sin(lean), std::cos(lean)} * way, ride_end, 0};
    s.top = std::max(s.plug.y, s.panel.y) + handle_mm;
    return s;
}

Region card_outline(const Nose& nose, const Shoulders& s) {
    const double quarter = std::tan(pi / 8), r = top_radius_mm;
    Region region;
    std::vector<PathVertex>& v = region.outer.vertices;
    v = nose.vertices;
    v.push_back({{s.panel.x, s.top - r}, quarter, CutKind::rough});
    v.push_back({{s.panel.x - r, s.top}, 0, CutKind::rough});
    v.push_back({{s.plug.x + r, s.top}, quarter, CutKind::rough});
    v.push_back({{s.plug.x, s.top - r}, 0, CutKind::rough});
    if (norm(s.plug - nose.vertices.front().at) > 1e-9) v.push_back({s.plug, 0, CutKind::rough});
    const Vec2 hang{(s.plug.x + s.panel.x) / 2, s.top - hang_below_top_mm};
    region.holes.push_back(make_circle(hang, hang_hole_mm, CutKind::rough, true));
    return region;
}

/// Words under each other, below the hanging hole, as large as the handle's width lets them.
void write_lines(PlatePart& part, const Shoulders& s, const std::vector<std::string>& lines) {
    constexpr double largest_mm = 5, smallest_mm = 1.5, side_air_mm = 3, line_step = 1.6;
    double y = s.top - hang_below_top_mm - hang_hole_mm - 3;
    const double middle = (s.plug.x + s.panel.x) / 2, room = s.panel.x - s.plug.x - 2 * side_air_mm;
    for (const std::string& line : lines) {
        const double letters = mark_text_size(line, 1).x;
        const double size = std::clamp(room / letters, smallest_mm, largest_mm);
        y -= line_step * size;
        part.marks.push_back({MarkKind::text, {{middle - letters * size / 2, y}}, line, size});
    }
}

/// Which side goes where: both cards look alike from either face.
void name_sides(PlatePart& part, const Shoulders& s) {
    constexpr double size = 2.5, air = 2;
    const auto width = [&](const char* word) { return mark_text_size(word, size).x; };
    part.marks.push_back({MarkKind::text, {{s.panel.x - air - width("panel"), s.panel.y + air}}, "panel", size});
    part.marks.push_back({MarkKind::text, {{s.plug.x + air, std::max(s.plug.y, s.panel.y) + 3 * air}}, "plug", size});
}

/// Holds the card in a section: its apex there, panel edge along `outward`, middle of its thickness in the section.
Frame3 frame_in_use(Vec3 apex, Vec3 outward, Vec3 normal, double wedge_rad, double thickness_mm) {
    const Vec2 p = panel_way(wedge_rad);
    Frame3 frame{apex, outward * p.x - normal * p.y, outward * p.y + normal * p.x, cross(outward, normal)};
    frame.origin += frame.z * (thickness_mm / 2);
    return frame;
}

/// What the runs of one edge, both halves, ask of a card.
struct EdgeNeed {
    std::string edge;
    double corner_min_rad = pi, corner_max_rad = 0, panel_mm = 0;
    const BeadSection* sharpest = nullptr;     ///< of half 1
    Vec3 normal;                               ///< of its panel
    std::vector<const BeadSection*> sections;  ///< of half 1
};

const FlangePanel* panel_of(const Flange& flange, const std::string& id) {
    const auto found = std::ranges::find(flange.panels, id, &FlangePanel::id);
    return found == flange.panels.end() ? nullptr : &*found;
}

Vec3 outward_of(const BeadSection& section) { return normalized(section.on_panel - section.joint); }

/// Edges in the order of the runs that have clay of one kind.
std::vector<EdgeNeed> needs_of(const std::vector<BeadRun>& runs, const Flange& flange, BeadKind kind) {
    std::vector<EdgeNeed> needs;
    for (const BeadRun& run : runs) {
        const FlangePanel* panel = panel_of(flange, run.panel);
        if (run.kind != kind || run.valid_count() == 0 || panel == nullptr) continue;
        auto need = std::ranges::find(needs, run.edge, &EdgeNeed::edge);
        if (need == needs.end()) {
            needs.push_back({});
            need = needs.end() - 1;
            need->edge = run.edge;
            need->panel_mm = panel->width_mm;
        }
        need->panel_mm = std::min(need->panel_mm, panel->width_mm);
        for (const BeadSection& section : run.sections) {
            if (!section.is_valid) continue;
            need->sections.push_back(&section);
            need->corner_max_rad = std::max(need->corner_max_rad, section.corner_rad);
            if (need->sharpest && section.corner_rad >= need->corner_min_rad) continue;
            need->corner_min_rad = section.corner_rad;
            need->sharpest = &section;
            need->normal = panel->top_near(section.joint).normal;
        }
    }
    return needs;
}

class CardMaker {
public:
    CardMaker(const Beads& beads, const Flange& flange, const Parting& parting, const Settings& settings)
        : beads_(beads), flange_(flange), parting_(parting), settings_(settings) {}

    std::vector<ScraperCard> make() {
        add_round_cards();
        add_step_cards(beads_.runs, "half 1");
        if (beads_.groove) add_step_cards(beads_.groove->runs, "half 2");
        return std::move(cards_);
    }

private:
    [[nodiscard]] std::string length(double mm) const {
        return format_quantity(Quantity::of(Length::mm(mm)), settings_.units);
    }
    [[nodiscard]] std::string corners(const ScraperCard& card) const {
        const auto deg = [](double rad) { return fixed(Angle::rad(rad).deg(), 0); };
        return deg(card.corner_min_rad) + " to " + deg(card.corner_max_rad) + " deg";
    }
    /// What stands on a radius card: few letters a line, so that they can be read.
    [[nodiscard]] std::vector<std::string> words_of(const ScraperCard& card) const {
        constexpr std::size_t longest = 13;
        std::vector<std::string> lines{"R " + length(card.radius_mm)};
        std::string line;
        for (const std::string& edge : card.edges) {
            if (!line.empty() && line.size() + 2 + edge.size() > longest) {
                lines.push_back(line + ",");
                line.clear();
            }
            line += (line.empty() ? "" : ", ") + edge;
        }
        lines.push_back(line);
        lines.push_back(corners(card));
        return lines;
    }

    /// Cards by wedge: an edge goes to the card of the five degrees that its sharpest corner falls in.
    void add_round_cards() {
        std::vector<EdgeNeed> needs = needs_of(beads_.runs, flange_, BeadKind::round);
        if (beads_.groove)
            for (const EdgeNeed& below : needs_of(beads_.groove->runs, flange_, BeadKind::round)) {
                const auto same = std::ranges::find(needs, below.edge, &EdgeNeed::edge);
                if (same == needs.end()) continue;
                same->corner_min_rad = std::min(same->corner_min_rad, below.corner_min_rad);
                same->corner_max_rad = std::max(same->corner_max_rad, below.corner_max_rad);
            }
        std::map<int, std::vector<EdgeNeed>> by_wedge;
        for (const EdgeNeed& need : needs)
            by_wedge[static_cast<int>(std::floor(need.corner_min_rad / wedge_step_rad + 1e-6))].push_back(need);
        int number = 0;
        for (const auto& [steps, group] : by_wedge)
            cards_.push_back(round_card(group, std::clamp(steps * wedge_step_rad, least_wedge_rad, most_wedge_rad),
                                        "card-round-" + std::to_string(++number)));
    }

    [[nodiscard]] ScraperCard round_card(const std::vector<EdgeNeed>& group, double wedge_rad, std::string id) const {
        ScraperCard card = blank_card(group, BeadKind::round, wedge_rad);
        card.radius_mm = beads_.radius_mm;
        double panel_mm = group.front().panel_mm;
        for (const EdgeNeed& need : group) panel_mm = std::min(panel_mm, need.panel_mm);
        const BeadSection& at = *group.front().sharpest;
        // In use the nose's middle is the ball's, whatever the corner.
        const Vec3 outward = outward_of(at), normal = group.front().normal;
        const double tangent = card.radius_mm / std::tan(wedge_rad / 2);
        finish(card, round_nose(card.radius_mm, wedge_rad, panel_mm), at.on_panel - outward * tangent, outward, normal,
               std::move(id), words_of(card));
        card.part.note =
            "scraper card: nose true to the line; in the corner of two panels finish with a ball or dowel of " +
            length(2 * card.radius_mm);
        return card;
    }

    void add_step_cards(const std::vector<BeadRun>& runs, const std::string& half) {
        for (const EdgeNeed& need : needs_of(runs, flange_, BeadKind::ramp)) {
            const BeadRun& run = *std::ranges::find_if(
                runs, [&](const BeadRun& r) { return r.edge == need.edge && r.kind == BeadKind::ramp; });
            for (const EdgeNeed& stretch : by_corner(need, run.ramp_height_mm))
                cards_.push_back(step_card(stretch, run.ramp_height_mm, half));
        }
    }

    /// A step rides on the narrowest place of its strip, so it fits all wider ones; but where the corner is wider than
    /// the card its end stands off the plug. An edge over which that is more than the tolerance gets a card for each
    /// part of its corners.
    [[nodiscard]] std::vector<EdgeNeed> by_corner(const EdgeNeed& need, double ramp_height_mm) const {
        const double ride_end_mm = std::max(strip_of(need.edge, 1).least_mm, ramp_height_mm + least_land_mm);
        const double off_mm = ride_end_mm * std::sin(need.corner_max_rad - need.corner_min_rad);
        const int count = std::clamp(static_cast<int>(std::ceil(off_mm / most_off_step_mm)), 1, most_step_cards);
        const double part_rad = (need.corner_max_rad - need.corner_min_rad) / count;
        std::vector<EdgeNeed> parts;
        for (int k = 0; k < count; ++k) {
            const double from = need.corner_min_rad + k * part_rad, to = from + part_rad;
            const bool is_last = k + 1 == count;
            EdgeNeed part = need;
            part.sections.clear();
            part.sharpest = nullptr;
            for (const BeadSection* section : need.sections) {
                if (section->corner_rad < from || (section->corner_rad >= to && !is_last)) continue;
                part.sections.push_back(section);
                if (!part.sharpest || section->corner_rad < part.sharpest->corner_rad) part.sharpest = section;
            }
            if (!part.sharpest) continue;
            part.corner_min_rad = part.sharpest->corner_rad;
            part.corner_max_rad = (*std::ranges::max_element(part.sections, {}, &BeadSection::corner_rad))->corner_rad;
            parts.push_back(std::move(part));
        }
        return parts;
    }

    [[nodiscard]] ScraperCard step_card(const EdgeNeed& need, double ramp_height_mm, const std::string& half) {
        const double side = half == "half 1" ? 1 : -1;
        ScraperCard card = blank_card({need}, BeadKind::ramp, need.corner_min_rad);
        card.ramp_height_mm = ramp_height_mm;
        const double foot_mm = ramp_height_mm / std::sin(card.wedge_rad);
        const StripRange strip = strip_of(need.edge, side);
        card.step_mm = strip.least_mm > foot_mm ? strip.least_mm - foot_mm : least_land_mm;
        card.strip_least_mm = strip.least_mm;
        card.strip_most_mm = strip.most_mm;
        const Vec3 outward = outward_of(*need.sharpest);
        const double reach_mm = norm(need.sharpest->on_panel - need.sharpest->joint);
        finish(
            card, step_nose(foot_mm, reach_mm, card.step_mm, card.wedge_rad, need.panel_mm), need.sharpest->joint,
            outward, need.normal * side, "card-step-" + std::to_string(++step_number_),
            {"ramp " + length(ramp_height_mm), "step " + length(card.step_mm), need.edge + ", " + half, corners(card)});
        card.part.note = "stepped card for " + need.edge + ", " + half + ": its step rides on " + length(card.step_mm) +
                         " of the plug's cut-off edge, the clay ends " + length(foot_mm) + " above the panel; " +
                         range_of(card, foot_mm);
        return card;
    }

    /// Where the card fits, and how well.
    [[nodiscard]] std::string range_of(const ScraperCard& card, double foot_mm) const {
        std::string text = "for corners of " + corners(card);
        if (card.strip_most_mm > card.strip_least_mm)
            text += " and strips of " + length(card.strip_least_mm) + " to " + length(card.strip_most_mm);
        const double off_mm = (foot_mm + card.step_mm) * std::sin(card.corner_max_rad - card.corner_min_rad);
        return text + ", its end off the plug by at most " + length(off_mm);
    }

    struct StripRange {
        double least_mm = 0, most_mm = 0;
    };
    /// Of the strip, what one half takes, narrowest and widest; zeros where the edge is not split.
    [[nodiscard]] StripRange strip_of(const std::string& edge, double side) const {
        for (const PartingLoop& loop : parting_.loops)
            for (const PartingEdge& e : loop.edges) {
                if (e.id != edge || !(e.strip_mm > 0)) continue;
                const double least = side > 0 ? e.strip_up_mm : e.strip_mm - e.strip_up_mm;
                const double share = side > 0 ? e.strip_share : 1 - e.strip_share;
                return {least, std::max(least, share * e.strip_most_mm)};
            }
        return {};
    }

    [[nodiscard]] static ScraperCard blank_card(const std::vector<EdgeNeed>& group, BeadKind kind, double wedge_rad) {
        ScraperCard card;
        card.kind = kind;
        card.wedge_rad = wedge_rad;
        card.corner_min_rad = pi;
        for (const EdgeNeed& need : group) {
            card.edges.push_back(need.edge);
            card.corner_min_rad = std::min(card.corner_min_rad, need.corner_min_rad);
            card.corner_max_rad = std::max(card.corner_max_rad, need.corner_max_rad);
        }
        card.at = group.front().sharpest->joint;
        return card;
    }

    void finish(ScraperCard& card, const Nose& nose, Vec3 apex, Vec3 outward, Vec3 normal, std::string id,
                std::vector<std::string> lines) const {
        PlatePart& part = card.part;
        const Shoulders shoulders = shoulders_of(nose);
        part.id = std::move(id);
        part.kind = PartKind::card;
        part.stock = settings_.bead.card_stock;
        part.thickness_mm = stock(settings_, part.stock).thickness_mm;
        part.outline = card_outline(nose, shoulders);
        part.frame = frame_in_use(apex, outward, normal, nose.wedge_rad, part.thickness_mm);
        lines.insert(lines.begin(), part.id);
        write_lines(part, shoulders, lines);
        name_sides(part, shoulders);
    }

    const Beads& beads_;
    const Flange& flange_;
    const Parting& parting_;
    const Settings& settings_;
    std::vector<ScraperCard> cards_;
    int step_number_ = 0;
};

}  // namespace

std::vector<ScraperCard> make_scraper_cards(const Beads& beads, const Flange& flange, const Parting& parting,
                                            const Settings& settings) {
    return CardMaker(beads, flange, parting, settings).make();
}

}  // namespace cradlewright
