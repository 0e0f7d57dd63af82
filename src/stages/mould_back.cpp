// SPDX-License-Identifier: GPL-3.0-or-later
// Method, limits and what else was thought of: mould_back.md.
#include "cradlewright/stages/mould_back.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <utility>

#include "base/parallel.hpp"
#include "cradlewright/catalog/cutting.hpp"
#include "cradlewright/geom/corner_relief.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/slices.hpp"
#include "cradlewright/stages/cradle_hold.hpp"
#include "cradlewright/stages/mould_skin.hpp"
#include "geom/convex_hull.hpp"
#include "stages/cradle_parts.hpp"
#include "stages/mould_back_parts.hpp"
#include "stages/part_words.hpp"

namespace cradlewright {
namespace {

using Sizes = HardwareSizes;

constexpr double infinite = std::numeric_limits<double>::infinity();
constexpr double rim_inset_mm = 10;    // plates end so far inside the rim, which is trimmed and wedged
constexpr double end_share = 0.1;      // of the plug's length: from its end to the first plate
constexpr double narrow_mm = 150;      // one plate along the span is enough under a plug no wider
constexpr double spanner_mm = 5;       // plates to nuts, pads and nozzles on the flange's back
constexpr double slot_side_mm = 3;     // beside a slot there is wall
constexpr double own_stand_mm = 0.5;   // places of a back so near its lowest one touch the bench
constexpr double flat_share = 0.5;     // of the plug's length and width: a back that lies so far does not rock
constexpr double least_pitch_mm = 30;  // two plates closer than this are one

/// Axes of a stand at the fixture's origin, the bench still to be found.
Frame3 stand_axes(const Pose& pose, int half, double tilt_rad) {
    const Vec3 up = -pose.pull_of(half);
    Frame3 frame = frame_from_normal({}, up, {1, 0, 0});
    const Vec3 front = frame.y.y < 0 ? -frame.y : frame.y;
    frame.z = normalized(up * std::cos(tilt_rad) + front * std::sin(tilt_rad));
    frame.y = cross(frame.z, frame.x);
    return frame;
}

/// Drawing axes of a plate within a stand, as those of the cradle's ribs within the fixture.
Frame3 drawn_in(const Frame3& stand, bool is_along) {
    const Frame3 local = is_along ? Frame3{{0, 0, 0}, {1, 0, 0}, {0, 0, 1}, {0, -1, 0}}
                                  : Frame3{{0, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}};
    return compose(stand, local);
}

/// Parallel sections of the plug at places along a direction, in the axes of a frame.
struct Cut {
    Frame3 frame;
    std::vector<Slice> plug;
};

class BackBuilder {
public:
    BackBuilder(const PosedPlug& posed, const Parting& parting, const Flange& flange, const Beads& beads,
                const Hardware& hardware, const Layup& layup, const Settings& settings)
        : posed_(posed),
          parting_(parting),
          flange_(flange),
          beads_(beads),
          hardware_(hardware),
          layup_(layup),
          settings_(settings),
          options_(settings.mould),
          sheet_(stock(settings, settings.mould.stiffener_stock)),
          t_(sheet_.thickness_mm) {}

    MouldBack build() {
        if (!parting_.is_found()) {
            back_.reason = "there is no parting line";
            return std::move(back_);
        }
        back_.skin_mm =
            laminate_thickness_mm(make_laminate(settings_, settings_.laminate_mould, "laminate.mould.plies"));
        back_.strip_mm = options_.soft_strip.mm();
        for (const int half : {1, 2}) {
            if (half == 2 && options_.use == MouldUse::single) continue;
            BackHalf back;
            back.half = half;
            back.stand = stand_axes(posed_.pose, half, options_.stand_tilt.rad());
            for (const FlangePanel& panel : flange_.panels)
                for (const Vec2& p : flatten(panel.part.outline.outer, Tolerances{}.chord_mm)) {
                    const Vec3 q = back.stand.to_local(placed(panel.part, p));
                    back.rim.push_back({q.x, q.y});
                }
            weigh_skin(back);
            back_.halves.push_back(std::move(back));
        }
        if (options_.back == "no") {
            back_.reason = "mould.back is no";
            back_.halves.clear();
        } else if (stands_by_itself()) {
            back_.reason = "the shell is no wider than " + fixed(options_.stiffener_spacing.mm(), 0) +
                           " mm and stands on its own back";
        } else {
            choose_tabs();
            add_plates();
        }
        return std::move(back_);
    }

private:
    // ---- what there is without plates

    void weigh_skin(BackHalf& back) const {
        const LaidSurface* surface = find_mould(layup_, back.half);
        if (surface == nullptr || !surface->mesh || surface->laminate.plies.empty()) {
            back.trouble =
                surface == nullptr || surface->trouble.empty() ? "its laminate has no plies" : surface->trouble;
            return;
        }
        back.laminate_kg = surface->area_mm2 * cure(surface->laminate, material(options_.resin).e_mpa).mass_kg_mm2();
        back.centre = back.stand.to_local(mass_properties(*surface->mesh).area_centroid);
    }

    /// A shell that needs no plates and whose lowest places carry it.
    [[nodiscard]] bool stands_by_itself() {
        const Vec3 size = posed_.box_fixture.size();
        if (std::min(size.x, size.y) > options_.stiffener_spacing.mm()) return false;
        std::vector<BackHalf> stood = back_.halves;
        for (BackHalf& back : stood) {
            const LaidSurface* surface = find_mould(layup_, back.half);
            if (!back.trouble.empty()) return false;
            std::vector<Vec3> points;
            double low = infinite;
            for (const Vec3& p : surface->mesh->vertices) {
                points.push_back(back.stand.to_local(p));
                low = std::min(low, points.back().z);
            }
            std::vector<Vec2> touching;
            for (const Vec3& p : points)
                if (p.z < low + own_stand_mm) touching.push_back({p.x, p.y});
            put_on_bench(back, low - back_.skin_mm);
            back.footprint = convex_hull(std::move(touching));
            // A round back rocks, however still it lies.
            Box2 flat;
            for (const Vec2& p : back.footprint) flat.add(p);
            if (back.footprint.empty() || flat.size().x < flat_share * extent(back.stand.x).width() ||
                flat.size().y < flat_share * extent(back.stand.y).width() ||
                stand_tip(back).low_rad < slide_limit_rad(settings_))
                return false;
        }
        back_.halves = std::move(stood);
        return true;
    }

    static void put_on_bench(BackHalf& back, double bench) {
        back.stand.origin = back.stand.origin + back.stand.z * bench;
        back.centre.z -= bench;
    }

    // ---- stations

    /// Of the plug within the outer parting lines, along an axis.
    [[nodiscard]] Stretch extent(Vec3 axis) const {
        Stretch whole{infinite, -infinite};
        for (const PartingLoop& loop : parting_.loops)
            for (const Vec3& p : loop.panel_line)
                whole = {std::min(whole.low, dot(p, axis)), std::max(whole.high, dot(p, axis))};
        return whole;
    }

    [[nodiscard]] double keep_off_mm(const HardwareItem& item) const {
        switch (item.kind) {
            case HardwareKind::locator:  // half 1's back bulges over the button
                return hardware_.locator.radius_mm + back_.skin_mm + spanner_mm;
            case HardwareKind::port:
                return Sizes::nozzle / 2 + spanner_mm;
            case HardwareKind::jack:
                return Sizes::pad / 2 + spanner_mm;
            case HardwareKind::bolt:
                return Sizes::washer / 2 + spanner_mm;
            case HardwareKind::notch:
                break;
        }
        return Sizes::notch_width / 2 + spanner_mm;
    }

    [[nodiscard]] std::vector<std::pair<double, double>> obstacles_along(Vec3 axis) const {
        std::vector<std::pair<double, double>> found;
        for (const HardwareItem& item : hardware_.items) found.emplace_back(dot(item.at, axis), keep_off_mm(item));
        return found;
    }

    [[nodiscard]] std::vector<double> stations_across(Vec3 axis) const {
        const Stretch span = extent(axis);
        const double inset = std::max(end_share * span.width(), t_ / 2);
        const double low = span.low + inset, high = span.high - inset;
        if (high - low < least_pitch_mm) return {span.middle()};
        const double most = options_.stiffener_spacing.mm();
        const auto least = static_cast<std::size_t>(std::ceil((high - low) / (most + t_) - 1e-9)) + 1;
        return clear_stations(low, high, std::max<std::size_t>(2, least), t_, obstacles_along(axis), most).at;
    }

    /// Counted toward the front, so that both halves have them at one place: about the middle of the area within the
    /// lines, so that a plate stays under a plug that tapers or sweeps.
    [[nodiscard]] std::vector<double> stations_along(Vec3 front) const {
        const Vec3 span = back_.halves.front().stand.x;
        double area = 0, moment = 0;
        for (const PartingLoop& loop : parting_.loops) {
            if (loop.is_inner) continue;
            for (std::size_t k = 0; k < loop.panel_line.size(); ++k) {
                const Vec3 a = loop.panel_line[k], b = loop.panel_line[(k + 1) % loop.panel_line.size()];
                const double twice = dot(a, span) * dot(b, front) - dot(b, span) * dot(a, front);
                area += twice / 2;
                moment += twice * (dot(a, front) + dot(b, front)) / 6;
            }
        }
        const Stretch whole = extent(front);
        const double width = std::abs(area) / extent(span).width();
        const double middle = area != 0 ? moment / area : whole.middle();
        const std::vector<std::pair<double, double>> obstacles = obstacles_along(front);
        // A plate along meets hardware only at its ends: little is worth leaving the middle.
        const double shift = width / 12;
        if (width <= narrow_mm) return clear_stations(middle, middle, 1, t_, obstacles, infinite, shift).at;
        return clear_stations(middle - width / 4, middle + width / 4, 2, t_, obstacles, infinite, shift).at;
    }

    // ---- sections

    [[nodiscard]] double reach() const { return back_.skin_mm + back_.strip_mm; }

    /// Heights over the frame that slabs about the stations need.
    [[nodiscard]] std::vector<double> heights_for(const std::vector<double>& middles) const {
        std::vector<double> heights;
        for (const double middle : middles)
            for (const double offset : slab_heights(t_, reach())) heights.push_back(middle + offset);
        return heights;
    }

    [[nodiscard]] Cut cut_plug(const Frame3& frame, const std::vector<double>& heights) const {
        return {frame, slice_mesh(posed_.mesh(), compose(inverse(posed_.pose.scan_to_fixture), frame), heights)};
    }

    static void take_chains(const Slice& slice, const Frame3& from, const Frame3& to, BackSection& section) {
        const Frame3 change = compose(inverse(to), from);
        for (const SliceLoop& loop : slice) {
            std::vector<Vec2>& chain = section.chains.emplace_back();
            chain.reserve(loop.points.size() + 1);
            for (const Vec2& p : loop.points) {
                const Vec3 q = change.to_parent(p);
                chain.push_back({q.x, q.y});
            }
            if (loop.is_closed && !chain.empty()) chain.push_back(chain.front());
        }
    }

    /// Edges of one half's plates one way, over the stand's origin. `middles`: heights of the plates over `frame`.
    [[nodiscard]] std::vector<BackEdge> edges_of(const Frame3& frame, const Cut& cut, const TriMesh& beside,
                                                 const std::vector<double>& middles) const {
        const std::vector<Slice> flange = slice_mesh(beside, frame, heights_for(middles));
        const std::vector<double> offsets = slab_heights(t_, reach());
        std::vector<BackEdge> edges(middles.size());
        for_each_piece(middles.size(), 1, [&](std::size_t first, std::size_t last) {
            for (std::size_t s = first; s < last; ++s) {
                std::vector<BackSection> sections(offsets.size());
                for (std::size_t k = 0; k < offsets.size(); ++k) {
                    sections[k].away_mm = std::max(0.0, std::abs(offsets[k]) - t_ / 2 - 1e-9);
                    take_chains(cut.plug[s * offsets.size() + k], cut.frame, frame, sections[k]);
                    take_chains(flange[s * offsets.size() + k], frame, frame, sections[k]);
                }
                edges[s] = edge_under(sections, reach());
                trim(edges[s].edge);
            }
        });
        return edges;
    }

    static void trim(std::vector<Vec2>& edge) {
        if (edge.empty()) return;
        const double low = edge.front().x + rim_inset_mm, high = edge.back().x - rim_inset_mm;
        std::erase_if(edge, [&](Vec2 p) { return p.x < low || p.x > high; });
        if (edge.size() < 2) edge.clear();
    }

    // ---- plates

    void choose_tabs() {
        const Laminate laminate = make_laminate(settings_, settings_.laminate_mould, "laminate.mould.plies");
        if (laminate.plies.empty()) return;
        const Cloth& cloth = std::ranges::max_element(laminate.plies, {}, [](const PlyRun& run) {
                                 return run.cloth.areal_mass_kg_mm2;
                             })->cloth;
        back_.tab_cloth = cloth.name;
        back_.tab_kg_mm2 = tab_plies * cloth.areal_mass_kg_mm2;
        back_.tab_resin_kg_mm2 = tab_plies * ply_resin_kg_mm2(cloth);
    }

    void add_plates() {
        Cut cut_across, cut_along;
        const auto are_parallel = [](Vec3 a, Vec3 b) { return norm(cross(a, b)) < 1e-9; };
        for (std::size_t h = 0; h < back_.halves.size(); ++h) {
            BackHalf& back = back_.halves[h];
            const double to_front = back.stand.y.y < 0 ? -1 : 1;
            const std::vector<double> across = stations_across(back.stand.x);
            const std::vector<double> along = stations_along(back.stand.y * to_front);
            const Frame3 frame_across = drawn_in(back.stand, false), frame_along = drawn_in(back.stand, true);
            std::vector<double> middles;  // heights over the drawing of plates along, which looks to -y
            for (const double v : along) middles.push_back(-v * to_front);
            // Sections of the plug serve both halves where their planes are the same: not on a tilted stand, nor where
            // half 2 has a pull of its own.
            const Frame3& first = back_.halves.front().stand;
            const bool cuts_across = h == 0 || !are_parallel(back.stand.x, first.x);
            const bool cuts_along = h == 0 || !are_parallel(back.stand.y, first.y);
            run_together({[&] {
                              if (cuts_across) cut_across = cut_plug(frame_across, heights_for(across));
                          },
                          [&] {
                              if (cuts_along) cut_along = cut_plug(frame_along, heights_for(middles));
                          }});
            const TriMesh beside =
                flange_surface(flange_, back.half == 2 && beads_.groove ? beads_.groove->runs : beads_.runs);
            std::vector<BackEdge> edges = edges_of(frame_across, cut_across, beside, across);
            std::vector<BackEdge> long_edges = edges_of(frame_along, cut_along, beside, middles);
            for (double& m : middles) m = -m;  // stations in y
            const std::vector<BackJoint> joints = splice(long_edges, middles, longest_mm(), across);
            stand_plates(back, across, std::move(edges), middles, std::move(long_edges), joints);
        }
        std::size_t cross_count = 0;
        std::set<double> long_stations;  // of a plate in pieces one
        for (const BackPlate& plate : back_.halves.front().plates) {
            if (!plate.is_along) ++cross_count;
            if (plate.is_along && !plate.edge.empty()) long_stations.insert(plate.station_mm);
        }
        const std::size_t long_count = long_stations.size();
        back_.reason = std::to_string(cross_count) + " plates across: no more than " +
                       fixed(options_.stiffener_spacing.mm(), 0) + " mm of shell between two; " +
                       std::to_string(long_count) + " along keep" + (long_count == 1 ? "s" : "") + " them upright";
    }

    [[nodiscard]] static double least_height(const std::vector<Vec2>& edge, double middle, double half_width) {
        double least = infinite;
        for (const double share : {-1.0, -0.5, 0.0, 0.5, 1.0})
            least = std::min(least, height_on(edge, middle + share * half_width));
        return least;
    }

    [[nodiscard]] static BackShape shape_of(BackEdge edge) {
        BackShape shape;
        shape.edge = std::move(edge.edge);
        shape.surface = std::move(edge.surface);
        return shape;
    }

    void stand_plates(BackHalf& back, const std::vector<double>& across, std::vector<BackEdge> edges,
                      const std::vector<double>& along, std::vector<BackEdge> long_edges,
                      const std::vector<BackJoint>& joints) {
        double low = infinite;
        for (const auto* some : {&edges, &long_edges})
            for (const BackEdge& one : *some)
                for (const Vec2& p : one.edge) low = std::min(low, p.y);
        if (low == infinite) {
            back.trouble = "no plate finds a place behind it";
            return;
        }
        const double bench = low - options_.stiffener_depth.mm();
        put_on_bench(back, bench);
        for (auto* some : {&edges, &long_edges})
            for (BackEdge& one : *some)
                for (std::vector<Vec2>* chain : {&one.edge, &one.surface})
                    for (Vec2& p : *chain) p.y -= bench;

        std::vector<BackShape> shapes(edges.size()), long_shapes(long_edges.size());
        const double half = 0.5 * (t_ + settings_.cradle.slot_clearance.mm());
        for (std::size_t i = 0; i < edges.size(); ++i) shapes[i] = shape_of(std::move(edges[i]));
        for (std::size_t j = 0; j < long_edges.size(); ++j) long_shapes[j] = shape_of(std::move(long_edges[j]));
        const auto holds = [&](const std::vector<Vec2>& edge, double at) {
            return edge.size() > 1 && at - half > edge.front().x && at + half < edge.back().x;
        };
        for (std::size_t i = 0; i < shapes.size(); ++i)
            for (std::size_t j = 0; j < long_shapes.size(); ++j) {
                const double x = across[i], y = along[j], reach = half + slot_side_mm;
                if (!holds(shapes[i].edge, y) || !holds(long_shapes[j].edge, x)) continue;
                const double z =
                    0.5 * std::min(least_height(shapes[i].edge, y, reach), least_height(long_shapes[j].edge, x, reach));
                shapes[i].slots.push_back({y - half, y + half, z, true});
                long_shapes[j].slots.push_back({x - half, x + half, z, false});
            }
        if (!shapes.empty()) shapes.front().has_hand_hole = shapes.back().has_hand_hole = true;
        int number = 0;
        for (std::size_t i = 0; i < shapes.size(); ++i) add_plate(back, across[i], false, shapes[i], ++number);
        std::vector<Region> straps;
        for (const BackJoint& joint : joints)
            straps.push_back(splice_strap(joint.at, long_shapes[joint.right - 1].edge, long_shapes[joint.right].edge,
                                          t_, across, cut_back_at(back, along[joint.right], joint.at)));
        number = 0;
        for (std::size_t j = 0; j < long_shapes.size(); ++j) add_plate(back, along[j], true, long_shapes[j], ++number);
        for (std::size_t k = 0; k < joints.size(); ++k)
            add_strap(back, along[joints[k].right], joints[k], std::move(straps[k]), static_cast<int>(k + 1));
        finish(back, across);
    }

    /// The drawing looks to +x, or to -y: its face is half a thickness beyond the middle.
    [[nodiscard]] Frame3 frame_at(const BackHalf& back, bool is_along, double station) const {
        Frame3 frame = drawn_in(back.stand, is_along);
        frame.origin = frame.origin + frame.z * (is_along ? t_ / 2 - station : t_ / 2 + station);
        return frame;
    }

    /// How far a plate along is cut back about a place for hardware on the flange.
    [[nodiscard]] double cut_back_at(const BackHalf& back, double station, double x) const {
        const bool is_met = std::ranges::any_of(hardware_.items, [&](const HardwareItem& item) {
            const Vec3 at = back.stand.to_local(item.at);
            const double r = keep_off_mm(item);
            return std::abs(at.y - station) < r + 1.5 * t_ && std::abs(at.x - x) < r + strap_thicknesses * t_;
        });
        return is_met ? back_clearing_mm : 0;
    }

    void add_strap(BackHalf& back, double station, const BackJoint& joint, const Region& outline, int number) {
        const std::string half = "back-" + std::to_string(back.half),
                          left = half + "-long-" + std::to_string(joint.right),
                          right = half + "-long-" + std::to_string(joint.right + 1);
        if (outline.outer.vertices.empty()) {
            back_.notes.push_back("no room for a strap where " + left + " meets " + right +
                                  ": glue a block across the joint by hand");
            return;
        }
        BackPlate strap;
        strap.is_along = true;
        strap.station_mm = station + t_;
        strap.part = strap_part(half + "-strap-" + std::to_string(number), outline, joint.at);
        strap.part.thickness_mm = t_;
        strap.part.stock = options_.stiffener_stock;
        strap.part.frame = frame_at(back, true, strap.station_mm);
        strap.part.note = "glued and screwed flat over the joint of " + left + " and " + right;
        strap.min_inside_radius_mm = min_inside_radius(strap.part.outline, CutKind::fit).radius_mm;
        strap.from_mm = from_front(back, strap.station_mm);
        back.plates.push_back(std::move(strap));
    }

    /// Of a plate along, counted from the plug's front.
    [[nodiscard]] double from_front(const BackHalf& back, double station) const {
        const double way = back.stand.y.y < 0 ? -1 : 1;
        return extent(back.stand.y * way).high - station * way;
    }

    /// That a sheet gives.
    [[nodiscard]] double longest_mm() const {
        const StockRoom room = room_on(settings_, sheet_);
        return std::max(sheet_.length_mm, sheet_.width_mm) - 2 * std::max(room.end_mm, room.side_mm);
    }

    void add_plate(BackHalf& back, double station, bool is_along, BackShape& shape, int number) {
        for (const HardwareItem& item : hardware_.items) {
            const Vec3 at = back.stand.to_local(item.at);
            const double off = std::abs((is_along ? at.y : at.x) - station), r = keep_off_mm(item);
            if (shape.edge.size() < 2 || off >= r + t_ / 2) continue;
            double low = (is_along ? at.x : at.y) - r, high = low + 2 * r;
            // What would stand beyond is no use.
            constexpr double least_beyond_mm = 25;
            if (low < shape.edge.front().x + least_beyond_mm) low = shape.edge.front().x - 1;
            if (high > shape.edge.back().x - least_beyond_mm) high = shape.edge.back().x + 1;
            if (high > shape.edge.front().x && low < shape.edge.back().x) shape.clearings.emplace_back(low, high);
        }
        BackPlate plate;
        PlatePart& part = plate.part;
        part.outline = shape_back_plate(shape, part.fit);
        if (part.outline.outer.vertices.empty()) return;
        if (settings_.cut_by == CutMethod::router)
            part.outline = with_corner_relief(part.outline, settings_.router.cutter.mm());
        part.id = "back-" + std::to_string(back.half) + (is_along ? "-long-" : "-rib-") + std::to_string(number);
        part.kind = PartKind::mould_rib;
        part.thickness_mm = t_;
        part.stock = options_.stiffener_stock;
        part.frame = frame_at(back, is_along, station);
        if (!shape.clearings.empty()) part.note = "cut back where hardware sits on the flange";
        const Vec3 centre = back.stand.to_local(posed_.pose.to_fixture(posed_.pose.plug_in_scan.origin));
        const bool looks_front = back.stand.y.y < 0;  // along: the drawing looks to -y
        mark_upright(part, is_along ? centre.x : centre.y, 0.5 * options_.stiffener_depth.mm(),
                     !is_along     ? "end-b"
                     : looks_front ? "front"
                                   : "back");
        constexpr double under_mm = 12, over_mm = 3;
        for (std::size_t k = 0; k < shape.slots.size(); ++k) {
            const BackSlot& s = shape.slots[k];
            write_words(part, std::to_string(k + 1),
                        {0.5 * (s.low + s.high), s.z + (s.is_open_below ? over_mm : -under_mm)});
        }
        plate.is_along = is_along;
        plate.station_mm = station;
        plate.min_inside_radius_mm = min_inside_radius(part.outline, CutKind::fit).radius_mm;
        plate.from_mm = is_along ? from_front(back, station) : station - extent(back.stand.x).low;
        plate.surface = std::move(shape.surface);
        plate.edge = std::move(shape.edge);
        plate.tab_mm = 2 * polyline_length(plate.edge, false);
        back.plates.push_back(std::move(plate));
    }

    /// Free width, masses, centre, footprint.
    void finish(BackHalf& back, const std::vector<double>& across) const {
        const Stretch span = extent(back.stand.x);
        double before = span.low;
        for (const double x : across) {
            back.free_width_mm = std::max(back.free_width_mm, x - t_ / 2 - before);
            before = x + t_ / 2;
        }
        back.free_width_mm = std::max(back.free_width_mm, span.high - before);

        weigh_plates(back, options_.tab_width.mm() * (back_.tab_kg_mm2 + back_.tab_resin_kg_mm2),
                     material(sheet_.material).density_kg_mm3.value);
    }

    const PosedPlug& posed_;
    const Parting& parting_;
    const Flange& flange_;
    const Beads& beads_;
    const Hardware& hardware_;
    const Layup& layup_;
    const Settings& settings_;
    const MouldOptions& options_;
    const Stock& sheet_;
    double t_;
    MouldBack back_;
};

}  // namespace

MouldBack build_mould_back(const PosedPlug& posed, const Parting& parting, const Flange& flange, const Beads& beads,
                           const Hardware& hardware, const Layup& layup, const Settings& settings) {
    return BackBuilder(posed, parting, flange, beads, hardware, layup, settings).build();
}

}  // namespace cradlewright
