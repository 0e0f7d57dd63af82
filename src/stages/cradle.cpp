// SPDX-License-Identifier: GPL-3.0-or-later
// Method and rejected ideas: cradle.md.
#include "cradlewright/stages/cradle.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/corner_relief.hpp"
#include "cradlewright/geom/slices.hpp"
#include "cradlewright/stages/panel_support.hpp"
#include "stages/cradle_choice.hpp"
#include "stages/cradle_parts.hpp"
#include "stages/part_words.hpp"

namespace cradlewright {
namespace {

constexpr double slab_sample_mm = 1.5;   // spacing of slices through a rib's thickness
constexpr double outrigger_share = 0.7;  // of the flange width: where the outer plate under an end panel stands
constexpr double least_bearing_mm = 15;  // of a panel on an upright
constexpr double tie_overhang_mm = 15;
constexpr double tie_inset_mm = 28;  // tie to the end of the narrowest upright
constexpr double least_ties_apart_mm = 60;
constexpr double least_tie_mm = 16;  // height of a tie: half of it must hold at each lap
constexpr double text_mm = 6;
constexpr double slot_side_mm = 3;   // beside a slot there is wall
constexpr double slot_word_mm = 12;  // under a slot, its rib's number

/// (y, z) axes at x = 0, looking from end-b: slices come out as the rib is drawn. Of long ribs (x, z), from the back.
constexpr Frame3 station_frame{{0, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}};
constexpr Frame3 long_frame{{0, 0, 0}, {1, 0, 0}, {0, 0, 1}, {0, -1, 0}};

enum class Role {
    rib,        ///< stands under the plug
    outrigger,  ///< stands beside it, under an end panel
    post,       ///< stands only under panels that nothing else carries enough
};
struct Station {
    double x = 0;
    Role role = Role::rib;
    std::vector<std::size_t> panels;  ///< of a post
};

class CradleBuilder {
public:
    CradleBuilder(const PosedPlug& posed, const Parting& parting, const Flange& flange, const Settings& settings)
        : posed_(posed),
          parting_(parting),
          flange_(flange),
          settings_(settings),
          rib_t_(stock(settings, options_.rib_stock).thickness_mm) {}

    Cradle build() {
        choose_stations();
        // Where strips can run at all decides who needs posts; which of them run is chosen on the uprights.
        lines_ = place_stringers(flange_, settings_, positions(), rib_t_);
        for (const bool is_inner : {true, false})  // an opening leaves less choice of place
            for (std::size_t i = 0; i < flange_.panels.size(); ++i)
                if (flange_.panels[i].is_inner == is_inner) add_posts(i);
        std::stable_sort(stations_.begin(), stations_.end(),
                         [](const Station& a, const Station& b) { return a.x < b.x; });
        slice_plug();
        lay_strips();
        place_ties();
        raise_ties();
        shape_uprights();
        add_stringers();
        for (std::size_t i = 0; i < tie_y_.size(); ++i) long_[i].is_rib ? add_long_rib(i) : add_tie(i);
        place_stops(posed_, flange_, settings_, lines_, cradle_);
        add_base();
        for (PlatePart& stop : cradle_.stops) stop.outline = opened(std::move(stop.outline));
        return std::move(cradle_);
    }

private:
    // ---- stations

    void choose_stations() {
        const double low = posed_.box_fixture.low.x, high = posed_.box_fixture.high.x;
        RibChoice choice = choose_ribs(posed_, settings_);
        options_.ribs = choice.ribs;
        cradle_.trials = std::move(choice.trials);
        for (const double x : rib_stations(low, high, rib_t_, told_stations())) stations_.push_back({x, Role::rib, {}});
        const std::size_t ribs = stations_.size();
        add_outriggers("end-a", low, -1);
        add_outriggers("end-b", high, 1);
        if (!options_.stations_mm.empty())
            cradle_.count_reason = "stations told";
        else if (!choice.reason.empty())
            cradle_.count_reason = std::move(choice.reason);
        else if (options_.ribs > 0)
            cradle_.count_reason = "number told";
        else
            cradle_.count_reason =
                std::to_string(ribs) + " ribs: not more than " + fixed(options_.spacing.mm(), 0) + " mm apart";
    }

    /// Told stations are plug-frame x; here they become fixture x.
    [[nodiscard]] CradleOptions told_stations() const {
        CradleOptions options = options_;
        for (double& s : options.stations_mm)
            s = posed_.pose.to_fixture(posed_.pose.plug_in_scan.to_parent(Vec3{s, 0, 0})).x;
        return options;
    }

    [[nodiscard]] std::vector<double> positions() const {
        std::vector<double> xs;
        for (const Station& s : stations_) xs.push_back(s.x);
        return xs;
    }

    /// Two uprights so far apart leave a blunt piece of tie between their slots.
    [[nodiscard]] double least_apart() const { return rib_t_ + options_.slot_clearance.mm() + options_.horn.mm(); }

    [[nodiscard]] bool has_room(double x) const {
        return std::none_of(stations_.begin(), stations_.end(),
                            [&](const Station& s) { return std::abs(s.x - x) < least_apart(); });
    }

    /// Plates under the panels beyond an end: one under their middle where that holds them, else one close behind the
    /// stop and one further out.
    void add_outriggers(const std::string& end, double wall, double out) {
        const double near = stop_felt_mm + rib_t_ + stop_clear_mm + rib_t_ / 2, width = settings_.flange.width.mm();
        const double middle = wall + out * std::max(near, width / 2);
        if (has_room(middle) && one_plate_serves(end, wall, out, middle)) {
            stations_.push_back({middle, Role::outrigger, {}});
            return;
        }
        for (const double away : {near, outrigger_share * width}) {
            const double x = wall + out * away;
            if (has_room(x) && away >= near && !spans_at(flange_, x, rib_t_, settings_.flange.glue.mm()).empty())
                stations_.push_back({x, Role::outrigger, {}});
        }
    }

    [[nodiscard]] bool one_plate_serves(const std::string& end, double wall, double out, double x) {
        const Rib plate = bare_plate({x, Role::outrigger, {}}, {});
        if (plate.part.outline.outer.vertices.empty()) return false;
        std::vector<std::size_t> carried;
        for (std::size_t p = 0; p < flange_.panels.size(); ++p)
            if (std::count_if(stations_.begin(), stations_.end(), [&](const Station& s) { return carries(s, p); }) >= 2)
                carried.push_back(p);
        std::optional<Trial> trial = try_end_plate(flange_, parting_, settings_, plate, {wall, out}, carried);
        if (!trial) return false;
        trial->tried = end + ": 1 plate";
        cradle_.trials.push_back(*trial);
        return trial->is_enough;
    }

    /// An upright not yet cut for strips and ties.
    [[nodiscard]] Rib bare_plate(const Station& station, const UnderPlug& under) const {
        Rib rib;
        rib.station_mm = station.x;
        rib.part = plate_at("", PartKind::rib, station_frame);
        rib.part.frame.origin.x = station.x + rib_t_ / 2;
        rib.part.outline = shape_upright(request_for(station, under), options_, tolerances_).outline;
        return rib;
    }

    [[nodiscard]] bool carries(const Station& station, std::size_t panel) const {
        if (station.role == Role::post) return is_in(station.panels, panel);
        const std::vector<PanelSpan> spans = spans_at(flange_, station.x, rib_t_, settings_.flange.glue.mm());
        return std::any_of(spans.begin(), spans.end(), [&](const PanelSpan& s) {
            return s.panel == panel && s.y_high - s.y_low >= least_bearing_mm;
        });
    }

    /// A panel without a strip along it lies on two uprights at least: those that cross it, posts that are there
    /// already, else posts of its own.
    void add_posts(std::size_t panel) {
        if (std::any_of(lines_.begin(), lines_.end(),
                        [&](const StringerLine& line) { return is_in(line.panels, panel); }))
            return;
        Box3 box;
        const PlatePart& part = flange_.panels[panel].part;
        for (const Vec2& p : flatten(part.outline.outer, tolerances_.chord_mm)) box.add(part.frame.to_parent(p));
        if (std::any_of(stations_.begin(), stations_.end(), [&](const Station& s) {
                return s.role == Role::outrigger && carries(s, panel) && is_under_middle(flange_.panels[panel], s.x);
            }))
            return;
        auto carried =
            std::count_if(stations_.begin(), stations_.end(), [&](const Station& s) { return carries(s, panel); });
        for (Station& s : stations_) {
            if (carried >= 2 || s.role != Role::post || !carries({s.x, Role::rib, {}}, panel)) continue;
            s.panels.push_back(panel);
            ++carried;
        }
        for (const double share : {0.25, 0.75, 0.5, 0.125, 0.875, 0.375, 0.625}) {
            const double x = box.low.x + share * box.size().x;
            if (carried >= 2 || !has_room(x) || !carries({x, Role::rib, {}}, panel)) continue;
            stations_.push_back({x, Role::post, {panel}});
            ++carried;
        }
    }

    [[nodiscard]] static bool is_in(const std::vector<std::size_t>& list, std::size_t item) {
        return std::find(list.begin(), list.end(), item) != list.end();
    }

    // ---- what the plug asks

    struct SlabSlice {
        std::size_t station = 0;
        double pad = 0;
        bool is_inside = false;
    };

    void slice_plug() {
        std::vector<double> middles;
        for (const Station& station : stations_)
            if (station.role != Role::outrigger) middles.push_back(station.x);
        std::vector<UnderPlug> sliced = slice_slabs(station_frame, middles);
        auto next = sliced.begin();
        for (const Station& station : stations_)
            under_.push_back(station.role == Role::outrigger ? UnderPlug{} : std::move(*next++));
    }

    /// One pass over the mesh for slabs of a plate's thickness about planes at heights over a frame, pads included.
    [[nodiscard]] std::vector<UnderPlug> slice_slabs(const Frame3& frame, const std::vector<double>& middles) const {
        const double pad = options_.pad.mm();
        std::vector<double> heights;
        std::vector<SlabSlice> meaning;
        for (std::size_t s = 0; s < middles.size(); ++s) {
            const int n = std::max(1, static_cast<int>(std::ceil(rib_t_ / slab_sample_mm)));
            for (int i = 0; i <= n; ++i) {
                heights.push_back(middles[s] - rib_t_ / 2 + rib_t_ * i / n);
                meaning.push_back({s, pad, true});
            }
            for (const double share : {0.3, 0.6, 0.85})
                for (const double side : {-1.0, 1.0}) {
                    heights.push_back(middles[s] + side * (rib_t_ / 2 + share * pad));
                    meaning.push_back({s, pad * std::sqrt(1 - share * share), false});
                }
        }
        const Frame3 in_scan = compose(inverse(posed_.pose.scan_to_fixture), frame);
        std::vector<Slice> slices = slice_mesh(posed_.mesh(), in_scan, heights);

        std::vector<std::vector<SlabSection>> sections(middles.size());
        for (std::size_t k = 0; k < meaning.size(); ++k)
            if (Polygons loops = closed_loops(slices[k]); !loops.empty())
                sections[meaning[k].station].push_back({std::move(loops), meaning[k].pad, meaning[k].is_inside});
        std::vector<UnderPlug> under;
        for (const std::vector<SlabSection>& slab : sections) under.push_back(under_plug(slab, options_.free.mm()));
        return under;
    }

    [[nodiscard]] static Polygons closed_loops(Slice& slice) {
        Polygons loops;
        for (SliceLoop& loop : slice)
            if (loop.is_closed && loop.points.size() > 2) loops.push_back(std::move(loop.points));
        return loops;
    }

    // ---- uprights

    [[nodiscard]] UprightRequest request_for(std::size_t index) const {
        UprightRequest request = request_for(stations_[index], under_[index]);
        const double half = 0.5 * (rib_t_ + options_.slot_clearance.mm());
        for (std::size_t i = 0; i < tie_y_.size(); ++i)
            request.tie_slots.push_back({tie_y_[i] - half, tie_y_[i] + half, lap_z(i, index), tie_id(i)});
        if (!tie_y_.empty()) {
            request.foot = {tie_y_.front() - tie_inset_mm, tie_y_.back() + tie_inset_mm};
            request.foot_height_mm = tie_height_;
        }
        return request;
    }

    /// An upright that no tie holds yet.
    [[nodiscard]] UprightRequest request_for(const Station& station, const UnderPlug& under) const {
        const double x = station.x;
        UprightRequest request;
        request.is_post = station.role == Role::post;
        request.spans = spans_at(flange_, x, rib_t_, settings_.flange.glue.mm());
        if (request.is_post)
            for (PanelSpan& span : request.spans) span.is_own = is_in(station.panels, span.panel);
        request.under = under;
        for (const StringerLine& line : lines_)
            if (const std::optional<Notch> notch = notch_for(line, x, rib_t_, options_))
                request.stringer_notches.push_back(*notch);
        return request;
    }

    [[nodiscard]] std::string tie_id(std::size_t i) const {
        return (long_[i].is_rib ? "rib-long-" : "tie-") + std::to_string(i + 1);
    }
    /// Of the lap of a tie with an upright: how high the upright's slot reaches, where the tie's begins.
    [[nodiscard]] double lap_z(std::size_t tie, std::size_t station) const {
        return long_[tie].is_rib ? long_[tie].lap_z[station] : tie_height_ / 2;
    }

    /// Height that is free above the base under the plug, the strips and the panels.
    [[nodiscard]] double room_for_ties() const {
        double room = posed_.box_fixture.low.z - options_.pad.mm() - options_.free.mm();
        for (const StringerLine& line : lines_) {
            const double depth = options_.stringer_height.mm() + options_.stringer_width.mm();
            room = std::min(room, std::min(line.from.z, line.to.z) - depth);
        }
        return room;
    }

    /// Strips are chosen on uprights that are not yet cut for them.
    void lay_strips() {
        lines_.clear();
        Cradle bare;
        std::vector<double> stations;
        for (std::size_t s = 0; s < stations_.size(); ++s) {
            Rib rib = bare_plate(stations_[s], under_[s]);
            if (rib.part.outline.outer.vertices.empty()) continue;
            if (stations_[s].role != Role::post) stations.push_back(rib.station_mm);
            if (stations_[s].role == Role::rib) {
                const Box2 box = bounding_box(rib.part.outline);
                rib_widths_.push_back({box.low.x + tie_inset_mm, box.high.x - tie_inset_mm});
            }
            bare.ribs.push_back(std::move(rib));
        }
        StripChoice choice = choose_strips(flange_, parting_, settings_, bare, stations);
        lines_ = std::move(choice.lines);
        options_ = std::move(choice.cradle);
        cradle_.trials.insert(cradle_.trials.end(), choice.trials.begin(), choice.trials.end());
    }

    /// Ties run where every rib under the plug has width to spare, or where they may rise to carry the plug; where ribs
    /// share no such stretch, and at plates beside the plug, the foot is widened to meet them.
    void place_ties() {
        cradle_.tie_room_mm = room_for_ties();
        tie_height_ = std::min(options_.tie_height.mm(), cradle_.tie_room_mm);
        if (rib_widths_.size() < 2)
            cradle_.tie_reason = "there are not two ribs to tie";
        else if (options_.ties < 1)
            cradle_.tie_reason = "none wanted";
        else if (tie_height_ < least_tie_mm)
            cradle_.tie_reason = "only " + fixed(std::max(0.0, cradle_.tie_room_mm), 0) + " mm between base and plug";
        if (!cradle_.tie_reason.empty()) return;
        Stretch shared = rib_widths_.front();
        for (const Stretch& w : rib_widths_) shared = {std::max(shared.low, w.low), std::min(shared.high, w.high)};
        const auto count = static_cast<int>(options_.ties);
        if (wants_long_ribs()) {  // each under an equal share of the plug's width
            const Box3& box = posed_.box_fixture;
            const double margin = 0.5 * box.size().y / count;
            shared = {box.low.y + margin, box.high.y - margin};
        }
        const double least = (count - 1) * least_ties_apart_mm;
        if (shared.width() < least) {
            const double middle = shared.middle();
            shared = {middle - least / 2, middle + least / 2};
        }
        for (int i = 0; i < count; ++i)
            tie_y_.push_back(count == 1 ? shared.middle() : shared.low + shared.width() * i / (count - 1));
    }

    // ---- long ribs

    /// A tie that may rise to a rib along the span.
    struct LongRib {
        bool is_rib = false;
        UnderPlug under;
        std::vector<PanelSpan> spans;
        std::vector<double> lap_z;  ///< a station each
    };

    [[nodiscard]] bool wants_long_ribs() const {
        if (options_.long_ribs != "auto") return options_.long_ribs == "yes";
        const bool is_wide = posed_.box_fixture.size().y > options_.spacing.mm();
        return is_wide && !flange_.panels.empty() && std::ranges::all_of(flange_.panels, [](const FlangePanel& panel) {
                   return panel.is_inner || panel.edge == "rim";
               });
    }

    /// Ties whose bare plates touch the plug become ribs; each lap is halfway up what both plates have there.
    void raise_ties() {
        long_.resize(tie_y_.size());
        if (!wants_long_ribs() || tie_y_.empty()) return;
        std::vector<double> middles;
        for (const double y : tie_y_) middles.push_back(-y);
        std::vector<UnderPlug> under = slice_slabs(long_frame, middles);
        std::vector<Region> across;
        for (std::size_t s = 0; s < stations_.size(); ++s)
            across.push_back(bare_plate(stations_[s], under_[s]).part.outline);
        for (std::size_t i = 0; i < tie_y_.size(); ++i) {
            LongRib& rib = long_[i];
            rib.under = std::move(under[i]);
            rib.spans = spans_at(flange_, tie_y_[i], rib_t_, settings_.flange.glue.mm(), PlateRun::along);
            const Upright bare = shape_upright(long_request(i), options_, tolerances_);
            if (bare.saddle.size() < 2) continue;
            rib.is_rib = true;
            for (std::size_t s = 0; s < stations_.size(); ++s) {
                const double top =
                    std::min(top_near(across[s], tie_y_[i], tie_height_), top_near(bare.outline, stations_[s].x, 0));
                rib.lap_z.push_back(std::max(top, least_tie_mm) / 2);
            }
        }
    }

    /// Least height of what stands solid on the base over a slot and a little beside it; `foot_mm`: of a foot yet to
    /// come.
    [[nodiscard]] double top_near(const Region& outline, double middle, double foot_mm) const {
        if (outline.outer.vertices.empty()) return foot_mm;
        double least = std::numeric_limits<double>::infinity();
        const double reach = rib_t_ / 2 + slot_side_mm;
        const std::vector<Vec2> chain = flatten(outline.outer, tolerances_.chord_mm);
        for (const double at : {middle - reach, middle - reach / 2, middle, middle + reach / 2, middle + reach}) {
            std::vector<double> crossed;
            for (std::size_t k = 0; k < chain.size(); ++k) {
                const Vec2 a = chain[k], b = chain[(k + 1) % chain.size()];
                if ((a.x < at) != (b.x < at)) crossed.push_back(a.y + (b.y - a.y) * (at - a.x) / (b.x - a.x));
            }
            std::ranges::sort(crossed);
            least = std::min(least, crossed.size() > 1 ? std::max(crossed[1], foot_mm) : foot_mm);
        }
        return least;
    }

    [[nodiscard]] Stretch tie_reach() const {
        const double overhang = rib_t_ / 2 + tie_overhang_mm;
        return {stations_.front().x - overhang, stations_.back().x + overhang};
    }

    [[nodiscard]] UprightRequest long_request(std::size_t i) const {
        UprightRequest request;
        request.under = long_[i].under;
        request.spans = long_[i].spans;
        request.foot = tie_reach();
        request.foot_height_mm = tie_height_;
        return request;
    }

    void add_long_rib(std::size_t i) {
        UprightRequest request = long_request(i);
        const double half = 0.5 * (rib_t_ + options_.slot_clearance.mm());
        for (const auto& [s, id] : shaped_)
            request.stringer_notches.push_back({stations_[s].x - half, stations_[s].x + half, lap_z(i, s), id});
        Upright upright = shape_upright(request, options_, tolerances_);
        Rib rib;
        rib.part = plate_at(tie_id(i), PartKind::rib, long_frame);
        rib.part.frame.origin = {0, tie_y_[i] - rib_t_ / 2, 0};
        rib.part.outline = opened(std::move(upright.outline));
        rib.part.fit = upright.fit;
        rib.part.note = upright.note;
        rib.station_mm = tie_y_[i];
        mark_upright(rib.part, posed_.pose.to_fixture(posed_.pose.plug_in_scan.origin).x, 0.5 * options_.clearance.mm(),
                     "back");
        for (const Notch& n : request.stringer_notches)
            write_words(rib.part, n.other.substr(4), {0.5 * (n.y_low + n.y_high), n.z - slot_word_mm});
        for (const PanelSpan& span : request.spans) {
            const double x = 0.5 * (span.y_low + span.y_high);
            cradle_.joints.push_back({rib.part.id,
                                      flange_.panels[span.panel].id,
                                      JointKind::seat,
                                      {x, tie_y_[i], span.seat(x)},
                                      {0, 0, -1},
                                      0,
                                      0,
                                      0});
        }
        rib.min_inside_radius_mm = min_inside_radius(rib.part.outline, CutKind::fit).radius_mm;
        rib.saddle = std::move(upright.saddle);
        rib.more_saddles = std::move(upright.more_saddles);
        rib.seats = std::move(upright.seats);
        rib.envelope = long_[i].under.bare;
        cradle_.long_ribs.push_back(std::move(rib));
    }

    void shape_uprights() {
        int number = 0;
        for (std::size_t s = 0; s < stations_.size(); ++s) {
            const Station& station = stations_[s];
            const UprightRequest request = request_for(s);
            Upright upright = shape_upright(request, options_, tolerances_);
            if (upright.outline.outer.vertices.empty()) continue;
            PlatePart part = plate_at("rib-" + std::to_string(++number), PartKind::rib, station_frame);
            part.frame.origin.x = station.x + rib_t_ / 2;
            shaped_.emplace_back(s, part.id);
            part.outline = opened(std::move(upright.outline));
            part.fit = upright.fit;
            part.note = upright.note;
            mark_upright(part, posed_.pose.to_fixture(posed_.pose.plug_in_scan.origin).y, 0.5 * options_.clearance.mm(),
                         "end-b");
            add_upright_joints(part.id, station.x, request);
            Rib rib;
            rib.min_inside_radius_mm = min_inside_radius(part.outline, CutKind::fit).radius_mm;
            rib.part = std::move(part);
            rib.station_mm = station.x;
            rib.saddle = std::move(upright.saddle);
            rib.more_saddles = std::move(upright.more_saddles);
            rib.seats = std::move(upright.seats);
            rib.envelope = under_[s].bare;
            cradle_.ribs.push_back(std::move(rib));
        }
    }

    [[nodiscard]] PlatePart plate_at(std::string id, PartKind kind, const Frame3& frame) const {
        PlatePart part;
        part.id = std::move(id);
        part.kind = kind;
        part.thickness_mm = rib_t_;
        part.stock = options_.rib_stock;
        part.frame = frame;
        return part;
    }

    void add_upright_joints(const std::string& id, double x, const UprightRequest& request) {
        const double clearance = options_.slot_clearance.mm();
        for (const Notch& n : request.tie_slots)
            cradle_.joints.push_back({id,
                                      n.other,
                                      JointKind::half_lap,
                                      {x, 0.5 * (n.y_low + n.y_high), n.z},
                                      {0, 0, 1},
                                      n.y_high - n.y_low,
                                      n.z,
                                      clearance});
        for (const PanelSpan& s : request.spans) {
            if (!s.is_own) continue;
            const double y = 0.5 * (s.y_low + s.y_high);
            cradle_.joints.push_back(
                {id, flange_.panels[s.panel].id, JointKind::seat, {x, y, s.seat(y)}, {0, 0, -1}, 0, 0, 0});
        }
        for (const Notch& n : request.stringer_notches)
            cradle_.joints.push_back({id,
                                      n.other,
                                      JointKind::notch,
                                      {x, 0.5 * (n.y_low + n.y_high), n.z},
                                      {0, 0, -1},
                                      n.y_high - n.y_low,
                                      options_.stringer_height.mm(),
                                      clearance});
    }

    /// For joints to go home where a round cutter made them; strips are sawn.
    [[nodiscard]] Region opened(Region outline) const {
        if (settings_.cut_by != CutMethod::router) return outline;
        return with_corner_relief(outline, settings_.router.cutter.mm());
    }

    // ---- strips, ties, stops, base

    void add_stringers() {
        for (const StringerLine& line : lines_) {
            Stringer stringer = make_stringer(line, flange_, settings_);
            for (const std::string& panel : stringer.panels)
                cradle_.joints.push_back(
                    {line.id, panel, JointKind::seat, (line.from + line.to) * 0.5, -line.up, 0, 0, 0});
            cradle_.stringers.push_back(std::move(stringer));
        }
    }

    void add_tie(std::size_t i) {
        const Stretch reach = tie_reach();
        const double low = reach.low, high = reach.high, half = 0.5 * (rib_t_ + options_.slot_clearance.mm());
        // x along the fixture, drawn face toward -y.
        PlatePart tie =
            plate_at(tie_id(i), PartKind::tie, {{low, tie_y_[i] - rib_t_ / 2, 0}, {1, 0, 0}, {0, 0, 1}, {0, -1, 0}});
        std::vector<PathVertex>& path = tie.outline.outer.vertices;
        path = {{{0, 0}, 0, CutKind::fit},
                {{high - low, 0}, 0, CutKind::rough},
                {{high - low, tie_height_}, 0, CutKind::rough}};
        for (auto rib = cradle_.ribs.rbegin(); rib != cradle_.ribs.rend(); ++rib) {
            const double x = rib->station_mm - low;
            path.push_back({{x + half, tie_height_}, 0, CutKind::fit});
            path.push_back({{x + half, tie_height_ / 2}, 0, CutKind::fit});
            path.push_back({{x - half, tie_height_ / 2}, 0, CutKind::fit});
            path.push_back({{x - half, tie_height_}, 0, CutKind::rough});
            tie.marks.push_back({MarkKind::text, {{x - half, 3}}, rib->part.id.substr(4), text_mm});
        }
        path.push_back({{0, tie_height_}, 0, CutKind::rough});
        tie.outline = opened(std::move(tie.outline));
        tie.note = "numbers are those of the ribs";
        cradle_.ties.push_back(std::move(tie));
    }

    void add_base() {
        Box2 foot;
        const auto cover = [&](const PlatePart& part) {
            const Box2 box = bounding_box(part.outline);
            for (const double depth : {0.0, -part.thickness_mm})
                for (const Vec2 corner : {box.low, box.high}) {
                    const Vec3 p = part.frame.to_parent(Vec3{corner.x, corner.y, depth});
                    foot.add({p.x, p.y});
                }
        };
        for (const PlatePart* plate : standing_plates(cradle_)) cover(*plate);
        if (foot.is_empty()) return;
        const double margin = options_.base_margin.mm();
        PlatePart& base = cradle_.base;
        base.id = "base";
        base.kind = PartKind::base;
        base.thickness_mm = stock(settings_, options_.base_stock).thickness_mm;
        base.stock = options_.base_stock;
        base.outline.outer =
            make_rectangle(foot.low - Vec2{margin, margin}, foot.high + Vec2{margin, margin}, CutKind::rough);
        const auto mark_foot = [&](const PlatePart& part) {
            const Box2 box = bounding_box(part.outline);
            const double b = part.frame.origin.x, a = b - part.thickness_mm;
            base.marks.push_back({MarkKind::line,
                                  {{a, box.low.x}, {b, box.low.x}, {b, box.high.x}, {a, box.high.x}, {a, box.low.x}},
                                  "",
                                  0});
            base.marks.push_back({MarkKind::text, {{b + 2, box.low.x + 4}}, part.id, text_mm});
        };
        for (const Rib& rib : cradle_.ribs) mark_foot(rib.part);
        for (const PlatePart& stop : cradle_.stops) mark_foot(stop);
        for (const double y : tie_y_)
            base.marks.push_back({MarkKind::line, {{foot.low.x, y}, {foot.high.x, y}}, "", 0});
        base.marks.push_back({MarkKind::text, {{foot.low.x, foot.high.y + 8}}, "end-a here", text_mm});
    }

    const PosedPlug& posed_;
    const Parting& parting_;
    const Flange& flange_;
    Settings settings_;  ///< with what is chosen filled in
    CradleOptions& options_ = settings_.cradle;
    Tolerances tolerances_;
    double rib_t_;
    std::vector<Station> stations_;
    std::vector<StringerLine> lines_;
    std::vector<UnderPlug> under_;
    std::vector<Stretch> rib_widths_;  ///< of the ribs under the plug, where ties may run
    std::vector<double> tie_y_;
    double tie_height_ = 0;
    std::vector<LongRib> long_;                                ///< a tie each
    std::vector<std::pair<std::size_t, std::string>> shaped_;  ///< stations that got a plate, and its id
    Cradle cradle_;
};

}  // namespace

std::vector<double> rib_stations(double low_mm, double high_mm, double thickness_mm, const CradleOptions& options) {
    CRADLEWRIGHT_PRECONDITION(high_mm > low_mm);
    if (!options.stations_mm.empty()) {
        std::vector<double> told = options.stations_mm;
        std::sort(told.begin(), told.end());
        for (const double s : told)
            if (s - thickness_mm / 2 < low_mm - 1e-6 || s + thickness_mm / 2 > high_mm + 1e-6)
                throw Error(ErrorCode::bad_input, "cradle.stations", "a rib would stand beyond the plug's end",
                            "keep stations half a rib thickness inside the plug");
        return told;
    }
    const double first = low_mm + thickness_mm / 2, last = high_mm - thickness_mm / 2;
    if (last <= first) return {0.5 * (low_mm + high_mm)};
    const double length = last - first;
    auto count = static_cast<std::size_t>(options.ribs);
    if (count == 0) count = static_cast<std::size_t>(std::ceil(length / options.spacing.mm() - 1e-9)) + 1;
    count = std::max<std::size_t>(count, 2);
    std::vector<double> stations;
    for (std::size_t i = 0; i < count; ++i)
        stations.push_back(first + length * static_cast<double>(i) / static_cast<double>(count - 1));
    return stations;
}

std::vector<const PlatePart*> standing_plates(const Cradle& cradle) {
    std::vector<const PlatePart*> plates;
    for (const std::vector<Rib>* ribs : {&cradle.ribs, &cradle.long_ribs})
        for (const Rib& rib : *ribs) plates.push_back(&rib.part);
    for (const PlatePart& tie : cradle.ties) plates.push_back(&tie);
    for (const PlatePart& stop : cradle.stops) plates.push_back(&stop);
    return plates;
}

Cradle build_cradle(const PosedPlug& posed, const Parting& parting, const Flange& flange, const Settings& settings) {
    return CradleBuilder(posed, parting, flange, settings).build();
}

}  // namespace cradlewright
