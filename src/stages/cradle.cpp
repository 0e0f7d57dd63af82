// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/cradle.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/slices.hpp"
#include "stages/cradle_parts.hpp"

namespace cradlewright {
namespace {

constexpr double slab_sample_mm = 1.5;   // spacing of slices through a rib's thickness
constexpr double outrigger_share = 0.7;  // of the flange width: where the plate under an end panel stands
constexpr double stop_gap_mm = 1;        // stop to the plug's end, for its pad
constexpr double stringer_inset_mm = 6;  // outer stringer from the panel's outer edge
constexpr double tie_overhang_mm = 15;
constexpr double tie_inset_mm = 28;  // tie to the end of the shortest upright
constexpr double text_mm = 6;

/// (y, z) axes at x = 0, looking from end-b: slices come out as the rib is drawn.
constexpr Frame3 station_frame{{0, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}};

enum class Role { rib, outrigger, stop };
struct Station {
    double x = 0;
    Role role = Role::rib;
    std::string end;  // of a stop: "end-a" or "end-b"
};

/// A strip under a panel, on a line in the panel's own frame.
struct StringerLine {
    std::size_t panel = 0;
    Vec2 from, to;  // middle of the strip's top, panel frame
    double height_mm = 0;
};

struct Crossing {
    double y = 0, z_top = 0;  // middle of the strip's top at the station
    double half_width = 0;    // of the notch, slab and clearance included
    double depth = 0;
};

class CradleBuilder {
public:
    CradleBuilder(const PosedPlug& posed, const Flange& flange, const Settings& settings)
        : posed_(posed),
          flange_(flange),
          settings_(settings),
          options_(settings.cradle),
          rib_t_(stock(settings, options_.rib_stock).thickness_mm) {}

    Cradle build() {
        choose_stations();
        place_stringers();
        slice_plug();
        shape_uprights_without_ties();
        place_ties();
        shape_uprights();
        add_stringers();
        add_ties();
        add_base();
        return std::move(cradle_);
    }

private:
    void choose_stations() {
        const double low = posed_.box_fixture.low.x, high = posed_.box_fixture.high.x;
        for (const double x : rib_stations(low, high, rib_t_, told_stations())) stations_.push_back({x, Role::rib, ""});
        const double out = outrigger_share * settings_.flange.width.mm();
        add_end(low - stop_gap_mm - rib_t_ / 2, low - out, "end-a");
        add_end(high + stop_gap_mm + rib_t_ / 2, high + out, "end-b");
        std::sort(stations_.begin(), stations_.end(), [](const Station& a, const Station& b) { return a.x < b.x; });

        const auto ribs =
            std::count_if(stations_.begin(), stations_.end(), [](const Station& s) { return s.role == Role::rib; });
        if (!options_.stations_mm.empty())
            cradle_.count_reason = "stations told";
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

    void add_end(double stop_x, double outrigger_x, const std::string& end) {
        const double glue = settings_.flange.glue.mm();
        if (!spans_at(flange_, stop_x, rib_t_, glue).empty()) stations_.push_back({stop_x, Role::stop, end});
        if (std::abs(outrigger_x - stop_x) > 2 * rib_t_ && !spans_at(flange_, outrigger_x, rib_t_, glue).empty())
            stations_.push_back({outrigger_x, Role::outrigger, ""});
    }

    /// Two strips under each panel that runs along the span: one behind the inner edge, one near the outer.
    void place_stringers() {
        for (std::size_t i = 0; i < flange_.panels.size(); ++i) {
            const FlangePanel& panel = flange_.panels[i];
            if (panel.is_inner || std::abs(panel.part.frame.x.x) < std::abs(panel.part.frame.y.x)) continue;
            const std::vector<Vec2> outline = flatten(panel.part.outline.outer, 0.1);
            Box2 box;
            for (const Vec2& p : outline) box.add(p);
            const double half = options_.stringer_width.mm() / 2;
            const double height = options_.stringer_height.mm();
            if (const auto line = inner_line(outline, box, half, options_.free.mm() + 2))
                lines_.push_back({i, line->first, line->second, height});
            const double y_out = box.high.y - stringer_inset_mm - half;
            if (lines_.empty() || lines_.back().panel != i ||
                y_out - std::max(lines_.back().from.y, lines_.back().to.y) > 3 * half)
                if (const auto line = clip_strip(outline, {box.low.x, y_out}, {box.high.x, y_out}, half))
                    lines_.push_back({i, line->first, line->second, height});
        }
    }

    /// Straight line that stays `distance` outward of the panel's inner edge along the panel's straight part.
    [[nodiscard]] static std::optional<std::pair<Vec2, Vec2>> inner_line(const std::vector<Vec2>& outline,
                                                                         const Box2& box, double half, double away) {
        constexpr int samples = 64;
        std::vector<Vec2> inner;
        for (int i = 0; i <= samples; ++i) {
            const double x = box.low.x + (box.high.x - box.low.x) * (i + 0.5) / (samples + 1);
            double y = std::numeric_limits<double>::infinity();
            for (std::size_t k = 0; k < outline.size(); ++k) {
                const Vec2 a = outline[k], b = outline[(k + 1) % outline.size()];
                if ((a.x < x) == (b.x < x)) continue;
                y = std::min(y, a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x));
            }
            if (std::isfinite(y)) inner.push_back({x, y});
        }
        // Corner pieces at the mitres reach inward less or not at all; the line is fitted where the edge faces the
        // plug.
        const double reach = 0.5 * (box.high.y - box.low.y);
        std::erase_if(inner, [&](Vec2 p) { return p.y > box.high.y - reach; });
        if (inner.size() < 4) return std::nullopt;
        double sx = 0, sy = 0, sxx = 0, sxy = 0;
        const auto n = static_cast<double>(inner.size());
        for (const Vec2& p : inner) sx += p.x / n, sy += p.y / n;
        for (const Vec2& p : inner) sxx += (p.x - sx) * (p.x - sx), sxy += (p.x - sx) * (p.y - sy);
        const double m = sxx > 0 ? sxy / sxx : 0;
        double lift = 0;
        for (const Vec2& p : inner) lift = std::max(lift, p.y - (sy + m * (p.x - sx)));
        const auto line = [&](double x) {
            return Vec2{x, sy + m * (x - sx) + lift + (half + away) * std::sqrt(1 + m * m)};
        };
        return clip_strip(outline, line(box.low.x), line(box.high.x), half);
    }

    /// The stretch of the line a..b along which a strip of this half width lies wholly under the outline; longest one.
    [[nodiscard]] static std::optional<std::pair<Vec2, Vec2>> clip_strip(const std::vector<Vec2>& outline, Vec2 a,
                                                                         Vec2 b, double half) {
        constexpr double short_of_edge_mm = 1, least_mm = 20;
        const double length = norm(b - a);
        const Vec2 along = (b - a) / length, across = perp(along) * half;
        double low = 0, high = length;
        for (const Vec2 side : {across, Vec2{}, -across}) {
            std::vector<double> at;
            for (std::size_t k = 0; k < outline.size(); ++k) {
                const Vec2 p = outline[k] - a - side, q = outline[(k + 1) % outline.size()] - a - side;
                const double hp = cross(along, p), hq = cross(along, q);
                if ((hp < 0) != (hq < 0)) at.push_back(dot(along, p + (q - p) * (hp / (hp - hq))));
            }
            std::sort(at.begin(), at.end());
            double best_low = 0, best_high = 0;
            for (std::size_t k = 0; k + 1 < at.size(); k += 2)
                if (at[k + 1] - at[k] > best_high - best_low) best_low = at[k], best_high = at[k + 1];
            low = std::max(low, best_low);
            high = std::min(high, best_high);
        }
        low += short_of_edge_mm;
        high -= short_of_edge_mm;
        if (high - low < least_mm) return std::nullopt;
        return std::pair{a + along * low, a + along * high};
    }

    [[nodiscard]] Vec3 on_underside(const StringerLine& line, Vec2 local) const {
        const FlangePanel& panel = flange_.panels[line.panel];
        return panel.part.frame.to_parent(
            Vec3{local.x, local.y, -panel.part.thickness_mm - settings_.flange.glue.mm()});
    }

    [[nodiscard]] std::vector<Crossing> crossings_at(double x) const {
        std::vector<Crossing> crossings;
        for (const StringerLine& line : lines_) {
            const Vec3 a = on_underside(line, line.from), b = on_underside(line, line.to);
            const double low = std::min(a.x, b.x), high = std::max(a.x, b.x);
            if (x + rib_t_ / 2 < low || x - rib_t_ / 2 > high) continue;
            const Vec3 d = (b - a) / (b.x - a.x);  // per mm of x
            Crossing c;
            c.y = a.y + d.y * (x - a.x);
            c.z_top = a.z + d.z * (x - a.x);
            const double lean = std::sqrt(1 + d.y * d.y);
            // A sloped panel leans its stringer outward; its lower corners move by height times the slope.
            const Vec3 up = flange_.panels[line.panel].normal;
            const double tilt = std::abs(up.y / up.z) * line.height_mm;
            c.half_width = 0.5 * (options_.stringer_width.mm() * lean + rib_t_ * std::abs(d.y) +
                                  options_.slot_clearance.mm() + tilt);
            c.y -= 0.5 * up.y / up.z * line.height_mm;
            c.depth = line.height_mm / up.z + 0.5 * rib_t_ * std::abs(d.z) +
                      0.5 * options_.stringer_width.mm() * std::abs(up.y / up.z);
            crossings.push_back(c);
        }
        return crossings;
    }

    struct SlabSlice {
        std::size_t station = 0;
        double radius = 0;       // of the pad ball's section at this distance from the slab; < 0: not reached
        bool is_inside = false;  // within the rib's own thickness
    };

    /// One pass over the mesh for all slabs of all ribs, pads included.
    void slice_plug() {
        const double pad = options_.pad.mm();
        std::vector<double> heights;
        std::vector<SlabSlice> meaning;
        for (std::size_t s = 0; s < stations_.size(); ++s) {
            if (stations_[s].role != Role::rib) continue;
            const int n = std::max(1, static_cast<int>(std::ceil(rib_t_ / slab_sample_mm)));
            for (int i = 0; i <= n; ++i) {
                heights.push_back(stations_[s].x - rib_t_ / 2 + rib_t_ * i / n);
                meaning.push_back({s, pad, true});
            }
            for (const double share : {0.3, 0.6, 0.85})
                for (const double side : {-1.0, 1.0}) {
                    heights.push_back(stations_[s].x + side * (rib_t_ / 2 + share * pad));
                    meaning.push_back({s, pad * std::sqrt(1 - share * share), false});
                }
        }
        const Frame3 in_scan = compose(inverse(posed_.pose.scan_to_fixture), station_frame);
        const std::vector<Slice> slices = slice_mesh(posed_.mesh(), in_scan, heights);

        under_.resize(stations_.size());
        std::vector<Polygons> padded(stations_.size()), freed(stations_.size());
        for (std::size_t k = 0; k < slices.size(); ++k) {
            Polygons section;
            for (const SliceLoop& loop : slices[k])
                if (loop.is_closed && loop.points.size() > 2) section.push_back(loop.points);
            if (section.empty()) continue;
            UnderPlug& under = under_[meaning[k].station];
            if (meaning[k].is_inside) under.bare.insert(under.bare.end(), section.begin(), section.end());
            append(padded[meaning[k].station], offset(section, meaning[k].radius));
            append(freed[meaning[k].station], offset(section, meaning[k].radius + options_.free.mm()));
        }
        for (std::size_t s = 0; s < stations_.size(); ++s) {
            under_[s].bare = unite(under_[s].bare);
            under_[s].padded = unite(padded[s]);
            under_[s].freed = unite(freed[s]);
        }
    }

    static void append(Polygons& all, const Polygons& more) { all.insert(all.end(), more.begin(), more.end()); }

    [[nodiscard]] UprightRequest request_for(std::size_t s) const {
        const double x = stations_[s].x;
        UprightRequest request;
        request.spans = spans_at(flange_, x, rib_t_, settings_.flange.glue.mm());
        request.under = under_[s];
        for (const Crossing& c : crossings_at(x)) {
            const bool is_carried = std::any_of(request.spans.begin(), request.spans.end(), [&](const PanelSpan& span) {
                return c.y + c.half_width > span.y_low && c.y - c.half_width < span.y_high;
            });
            if (is_carried)
                request.stringer_notches.push_back({c.y - c.half_width, c.y + c.half_width, c.z_top - c.depth});
        }
        const double half = 0.5 * (rib_t_ + options_.slot_clearance.mm());
        for (const double y : tie_y_) request.tie_slots.push_back({y - half, y + half, options_.tie_height.mm() / 2});
        return request;
    }

    /// First pass: only how wide each upright becomes, which decides where ties can run.
    void shape_uprights_without_ties() {
        for (std::size_t s = 0; s < stations_.size(); ++s) {
            const UprightRequest request = request_for(s);
            const Upright upright = shape_upright(request, options_, tolerances_);
            Box2 box;
            for (const PathVertex& v : upright.outline.outer.vertices) box.add(v.at);
            if (box.is_empty()) continue;
            low_ = std::max(low_, box.low.x);
            high_ = std::min(high_, box.high.x);
        }
    }

    void place_ties() {
        const auto count = static_cast<int>(options_.ties);
        const double a = low_ + tie_inset_mm, b = high_ - tie_inset_mm;
        if (!(b > a)) return;
        for (int i = 0; i < count; ++i) tie_y_.push_back(count == 1 ? 0.5 * (a + b) : a + (b - a) * i / (count - 1));
    }

    void shape_uprights() {
        int rib_number = 0;
        for (std::size_t s = 0; s < stations_.size(); ++s) {
            const Station& station = stations_[s];
            const UprightRequest request = request_for(s);
            Upright upright = shape_upright(request, options_, tolerances_);
            if (upright.outline.outer.vertices.empty()) continue;
            const std::string id =
                station.role == Role::stop ? "stop-" + station.end : "rib-" + std::to_string(++rib_number);
            PlatePart part;
            part.id = id;
            part.kind = station.role == Role::stop ? PartKind::stop : PartKind::rib;
            part.outline = std::move(upright.outline);
            part.thickness_mm = rib_t_;
            part.stock = options_.rib_stock;
            part.frame = station_frame;
            part.frame.origin = {station.x + rib_t_ / 2, 0, 0};
            part.note = station.role == Role::stop ? "stands against the plug's " + station.end + ", 1 mm felt between"
                                                   : upright.note;
            add_marks(part);
            add_upright_joints(id, station.x, request);
            upright_ids_.push_back({id, station.x});
            if (station.role == Role::stop)
                cradle_.stops.push_back(std::move(part));
            else
                add_rib(station, std::move(part), std::move(upright));
        }
    }

    void add_rib(const Station& station, PlatePart part, Upright upright) {
        Rib rib;
        rib.min_inside_radius_mm = min_inside_radius(part.outline, CutKind::fit).radius_mm;
        rib.part = std::move(part);
        rib.station_mm = station.x;
        rib.saddle = std::move(upright.saddle);
        rib.seats = std::move(upright.seats);
        rib.envelope = std::move(upright.envelope);
        cradle_.ribs.push_back(std::move(rib));
    }

    void add_marks(PlatePart& part) const {
        const Vec3 origin = posed_.pose.to_fixture(posed_.pose.plug_in_scan.origin);
        const Box2 box = bounding_box(part.outline);
        const double y = std::clamp(origin.y, box.low.x, box.high.x);
        const double level = std::min(0.5 * options_.clearance.mm(), 0.5 * box.high.y);
        part.marks.push_back({MarkKind::line, {{y, 5}, {y, level + 15}}, "", 0});
        part.marks.push_back({MarkKind::line, {{box.low.x + 8, level}, {box.high.x - 8, level}}, "", 0});
        part.marks.push_back({MarkKind::text, {{y + 3, level + 3}}, "this face to end-b", text_mm});
    }

    void add_upright_joints(const std::string& id, double x, const UprightRequest& request) {
        for (const Notch& n : request.tie_slots) {
            const auto tie = static_cast<std::size_t>(&n - request.tie_slots.data());
            cradle_.joints.push_back({id,
                                      "tie-" + std::to_string(tie + 1),
                                      JointKind::half_lap,
                                      {x, 0.5 * (n.y_low + n.y_high), n.z},
                                      {0, 0, 1},
                                      n.y_high - n.y_low,
                                      n.z,
                                      options_.slot_clearance.mm()});
        }
        for (const PanelSpan& s : request.spans) {
            const double y = 0.5 * (s.y_low + s.y_high);
            cradle_.joints.push_back(
                {id, flange_.panels[s.panel].id, JointKind::seat, {x, y, s.seat(y)}, {0, 0, -1}, 0, 0, 0});
        }
        for (const Notch& n : request.stringer_notches)
            cradle_.joints.push_back({id,
                                      "",
                                      JointKind::notch,
                                      {x, 0.5 * (n.y_low + n.y_high), n.z},
                                      {0, 0, -1},
                                      n.y_high - n.y_low,
                                      0,
                                      options_.slot_clearance.mm()});
    }

    void add_stringers() {
        std::map<std::string, int> count;
        const double width = options_.stringer_width.mm();
        for (const StringerLine& line : lines_) {
            const FlangePanel& panel = flange_.panels[line.panel];
            Stringer stringer;
            stringer.edge = panel.edge;
            stringer.width_mm = width;
            stringer.height_mm = line.height_mm;
            stringer.from = on_underside(line, line.from);
            stringer.to = on_underside(line, line.to);
            if (stringer.from.x > stringer.to.x) std::swap(stringer.from, stringer.to);
            PlatePart& part = stringer.part;
            part.id = "stringer-" + panel.edge + "-" + std::to_string(++count[panel.edge]);
            part.kind = PartKind::stringer;
            part.thickness_mm = width;
            part.stock = options_.stringer_stock;
            part.outline.outer =
                make_rectangle({0, 0}, {norm(stringer.to - stringer.from), line.height_mm}, CutKind::rough);
            part.outline.outer.vertices[2].cut = CutKind::fit;  // the edge under the panel
            part.frame.x = normalized(stringer.to - stringer.from);
            part.frame.y = panel.normal;
            part.frame.z = cross(part.frame.x, part.frame.y);
            part.frame.origin = stringer.from - part.frame.y * line.height_mm + part.frame.z * (width / 2);
            part.note = "strip " + fixed(width, 1) + " x " + fixed(line.height_mm, 1) + " mm, on edge";
            name_notches(stringer);
            cradle_.stringers.push_back(std::move(stringer));
        }
    }

    /// Notch joints know their place only; the strip that runs through it gives its name.
    void name_notches(const Stringer& stringer) {
        for (Joint& joint : cradle_.joints) {
            if (joint.kind != JointKind::notch || !joint.part_b.empty()) continue;
            const double t = (joint.at.x - stringer.from.x) / (stringer.to.x - stringer.from.x);
            const double y = stringer.from.y + t * (stringer.to.y - stringer.from.y);
            if (std::abs(y - joint.at.y) > joint.width_mm) continue;
            joint.part_b = stringer.part.id;
            joint.depth_mm = stringer.height_mm;
        }
    }

    void add_ties() {
        if (upright_ids_.empty()) return;
        const double low = upright_ids_.front().second - rib_t_ / 2 - tie_overhang_mm;
        const double high = upright_ids_.back().second + rib_t_ / 2 + tie_overhang_mm;
        const double height = options_.tie_height.mm(), half = 0.5 * (rib_t_ + options_.slot_clearance.mm());
        for (std::size_t i = 0; i < tie_y_.size(); ++i) {
            PlatePart tie;
            tie.id = "tie-" + std::to_string(i + 1);
            tie.kind = PartKind::tie;
            tie.thickness_mm = rib_t_;
            tie.stock = options_.rib_stock;
            // x along the fixture, drawn face toward -y.
            tie.frame = {{low, tie_y_[i] - rib_t_ / 2, 0}, {1, 0, 0}, {0, 0, 1}, {0, -1, 0}};
            Loop& loop = tie.outline.outer;
            loop.vertices = {{{0, 0}, 0, CutKind::fit},
                             {{high - low, 0}, 0, CutKind::rough},
                             {{high - low, height}, 0, CutKind::rough}};
            for (auto it = upright_ids_.rbegin(); it != upright_ids_.rend(); ++it) {
                const double x = it->second - low;
                loop.vertices.push_back({{x + half, height}, 0, CutKind::fit});
                loop.vertices.push_back({{x + half, height / 2}, 0, CutKind::fit});
                loop.vertices.push_back({{x - half, height / 2}, 0, CutKind::fit});
                loop.vertices.push_back({{x - half, height}, 0, CutKind::rough});
                tie.marks.push_back({MarkKind::text, {{x - half, 6}}, it->first, text_mm});
            }
            loop.vertices.push_back({{0, height}, 0, CutKind::rough});
            cradle_.ties.push_back(std::move(tie));
        }
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
        for (const Rib& rib : cradle_.ribs) cover(rib.part);
        for (const PlatePart& p : cradle_.stops) cover(p);
        for (const PlatePart& p : cradle_.ties) cover(p);
        if (foot.is_empty()) return;
        const double margin = options_.base_margin.mm();
        PlatePart& base = cradle_.base;
        base.id = "base";
        base.kind = PartKind::base;
        base.thickness_mm = stock(settings_, options_.base_stock).thickness_mm;
        base.stock = options_.base_stock;
        base.outline.outer =
            make_rectangle(foot.low - Vec2{margin, margin}, foot.high + Vec2{margin, margin}, CutKind::rough);
        const auto mark_foot = [&](const PlatePart& part, double x) {
            const Box2 box = bounding_box(part.outline);
            const double a = x - rib_t_ / 2, b = x + rib_t_ / 2;
            base.marks.push_back({MarkKind::line,
                                  {{a, box.low.x}, {b, box.low.x}, {b, box.high.x}, {a, box.high.x}, {a, box.low.x}},
                                  "",
                                  0});
            base.marks.push_back({MarkKind::text, {{b + 2, box.low.x + 4}}, part.id, text_mm});
        };
        for (const Rib& rib : cradle_.ribs) mark_foot(rib.part, rib.station_mm);
        for (const PlatePart& stop : cradle_.stops) mark_foot(stop, stop.frame.origin.x - rib_t_ / 2);
        for (const double y : tie_y_)
            base.marks.push_back({MarkKind::line, {{foot.low.x, y}, {foot.high.x, y}}, "", 0});
        base.marks.push_back({MarkKind::text, {{foot.low.x, foot.high.y + 8}}, "end-a here", text_mm});
    }

    const PosedPlug& posed_;
    const Flange& flange_;
    const Settings& settings_;
    const CradleOptions& options_;
    Tolerances tolerances_;
    double rib_t_;
    std::vector<Station> stations_;
    std::vector<StringerLine> lines_;
    std::vector<UnderPlug> under_;
    std::vector<double> tie_y_;
    double low_ = -std::numeric_limits<double>::infinity(), high_ = std::numeric_limits<double>::infinity();
    std::vector<std::pair<std::string, double>> upright_ids_;
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

Cradle build_cradle(const PosedPlug& posed, const Flange& flange, const Settings& settings) {
    return CradleBuilder(posed, flange, settings).build();
}

}  // namespace cradlewright
