// SPDX-License-Identifier: GPL-3.0-or-later
// Method, failure cases and rejected ideas: flange.md beside this file.
#include "cradlewright/stages/flange.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <limits>

#include "base/parallel.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/faces_near.hpp"
#include "cradlewright/geom/mesh_index.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/region_ops.hpp"
#include "cradlewright/geom/slices.hpp"
#include "stages/flange_plan.hpp"
#include "stages/flange_run.hpp"
#include "stages/flange_unroll.hpp"
#include "stages/flange_words.hpp"

namespace cradlewright {
namespace {

constexpr int thickness_samples = 16;   // slices through the sheet less one
constexpr double edge_match_mm = 0.05;  // an outline edge this near a guide line follows it
constexpr double lost_share = 0.02;

class FlangeLayer {
public:
    FlangeLayer(const PosedPlug& posed, const Parting& parting, const Settings& settings)
        : posed_(posed),
          parting_(parting),
          settings_(settings),
          plan_(frame_from_normal({}, posed.pose.pull_fixture, {1, 0, 0})),
          thickness_(stock(settings, settings.flange.stock).thickness_mm),
          near_(make_index()) {}

    Flange lay() {
        for (std::size_t l = 0; l < parting_.loops.size(); ++l) {
            const std::vector<Run> runs = split_loop(parting_.loops[l], plan_, settings_);
            const LoopPlan plan = plan_panels(runs, thickness_, parting_.loops[l].is_inner);
            std::vector<Flange> of_run(runs.size());
            for_each_piece(runs.size(), 1, [&](std::size_t r, std::size_t) {
                std::vector<Mitre> mitres;
                if (!plan.mitres.empty()) mitres = {plan.mitres[r], plan.mitres[(r + 1) % runs.size()]};
                shape_panel(of_run[r], l, runs[r], plan.shapes[r], mitres);
            });
            for (Flange& one : of_run) append(std::move(one));
        }
        word_panels(flange_, settings_);
        return std::move(flange_);
    }

private:
    [[nodiscard]] MeshIndex make_index() const {
        std::vector<Vec3> points;
        for (const PartingLoop& loop : parting_.loops)
            for (const Vec3& p : loop.panel_line) points.push_back(posed_.pose.to_scan(p));
        const double reach = 2 * thickness_ + settings_.flange.gap_limit.mm() + 4;
        return MeshIndex(posed_.mesh(), faces_near(posed_.mesh(), points, reach));
    }

    void append(Flange&& more) {
        std::move(more.panels.begin(), more.panels.end(), std::back_inserter(flange_.panels));
        if (!more.note.empty()) add_note(flange_, more.note);
    }

    /// Where the sheet may not be for coming within `gap_mm` of the plug anywhere over its thickness, in the panel's
    /// frame, inside the box: sections of the plug through the sheet grown by the gap, and those within the gap above
    /// and below it by what is left of a ball of that radius.
    [[nodiscard]] Polygons keep_out(const Frame3& frame, const Box2& box, double gap_mm) const {
        const Vec2 reach{gap_mm + 1, gap_mm + 1};
        const Box2 where{box.low - reach, box.high + reach};
        const Polygons window{{where.low, {where.high.x, where.low.y}, where.high, {where.low.x, where.high.y}}};
        std::vector<double> heights, radius;
        for (int i = 0; i <= thickness_samples; ++i) {
            heights.push_back(-thickness_ * i / thickness_samples);
            radius.push_back(gap_mm);
        }
        for (const double share : {0.25, 0.5, 0.75, 0.95})
            for (const double surface : {0.0, -thickness_}) {
                heights.push_back(surface + (surface < 0 ? -share : share) * gap_mm);
                radius.push_back(gap_mm * std::sqrt(1 - share * share));
            }
        const Frame3 in_scan = compose(inverse(posed_.pose.scan_to_fixture), frame);
        const std::vector<Slice> slices = slice_mesh(posed_.mesh(), in_scan, heights);
        Polygons all;
        for (std::size_t i = 0; i < slices.size(); ++i) {
            Polygons near;
            for (const SliceLoop& loop : slices[i]) {
                Box2 own;
                for (const Vec2& p : loop.points) own.add(p);
                const bool is_apart = own.low.x > where.high.x || own.high.x < where.low.x ||
                                      own.low.y > where.high.y || own.high.y < where.low.y;
                if (loop.is_closed && !is_apart) near.push_back(loop.points);
            }
            for (std::vector<Vec2>& loop : offset(intersect(near, window), radius[i])) all.push_back(std::move(loop));
        }
        return unite(all);
    }

    void shape_panel(Flange& out, std::size_t l, const Run& run, const Polygons& plan_shape,
                     const std::vector<Mitre>& mitres) const {
        if (plan_shape.empty()) {
            add_note(out, "edge " + run.edge + ": its neighbours leave no room for a panel of " +
                              fixed(run.width_mm, 0) + " mm");
            return;
        }
        FlangePanel panel;
        panel.edge = run.edge;
        panel.loop = l;
        panel.first = run.first;
        panel.last = (run.first + run.count) % parting_.loops[l].panel_line.size();
        panel.width_mm = run.width_mm;
        panel.slope_rad =
            run.is_whole_loop ? std::acos(std::clamp(run.flats.front().normal().z, -1.0, 1.0)) : run.slope_rad;
        panel.off_plane_mm = run.off_plane_mm;
        panel.is_inner = parting_.loops[l].is_inner;
        if (!mitres.empty()) panel.step_mm = mitres.back().step_mm;
        PlatePart& part = panel.part;
        part.kind = PartKind::panel;
        const std::vector<Frame3> flats = flat_frames(run, plan_);
        part.frame = flats[flats.size() / 2];
        part.thickness_mm = thickness_;
        part.stock = settings_.flange.stock;
        panel.point = part.frame.origin;
        panel.normal = part.frame.z;

        panel.bend_radius_mm = run.bend_radius_mm;

        Polygons pieces, out_of_bounds;
        for (std::size_t k = 0; k < flats.size(); ++k) {
            Polygons strip = on_flat(run, k, plan_shape);
            Box2 box;
            for (std::vector<Vec2>& chain : strip)
                for (Vec2& p : chain) {
                    p = to_pattern(run, plan_, flats[k], k, p);
                    box.add(p);
                }
            if (strip.empty()) continue;
            // The outline may be off by the tolerance of its arcs.
            const Polygons near = keep_out(flats[k], box, settings_.flange.gap.mm() + tolerances_.arc_fit_mm);
            const Polygons kept = subtract(strip, near);
            pieces.insert(pieces.end(), kept.begin(), kept.end());
            out_of_bounds.insert(out_of_bounds.end(), near.begin(), near.end());
        }
        const Polygons shape = largest_piece(out, unite(pieces), run.edge);
        if (shape.empty()) return;
        part.bend = bend_map(run, plan_, flats, shape);
        std::vector<std::vector<Vec2>> guides;
        for (std::size_t i = 0; i < mitres.size(); ++i) {
            const Mitre& m = mitres[i];
            const Vec2 from = m.edge(i == 0 ? -1 : 1);
            const std::size_t flat = i == 0 ? 0 : flats.size() - 1;
            const auto there = [&](double out_mm) {
                return to_pattern(run, plan_, flats[flat], flat, from + m.direction * out_mm);
            };
            guides.push_back({there(-run.width_mm), there(3 * run.width_mm)});
        }
        const std::vector<std::vector<bool>> faces_plug = edges_along(shape, out_of_bounds);
        part.outline = outline_of(shape, faces_plug, guides, part.fit);
        measure_gap(panel, shape, faces_plug);
        out.panels.push_back(std::move(panel));
    }

    static void add_note(Flange& out, const std::string& text) {
        if (out.note.find(text) == std::string::npos) out.note += (out.note.empty() ? "" : "; ") + text;
    }

    [[nodiscard]] static Polygons largest_piece(Flange& out, const Polygons& pieces, const std::string& edge) {
        std::size_t best = pieces.size();
        double best_area = 0, total = 0;
        for (std::size_t i = 0; i < pieces.size(); ++i) {
            const double area = signed_area(pieces[i]);
            total += std::max(0.0, area);
            if (area > best_area) {
                best_area = area;
                best = i;
            }
        }
        if (best == pieces.size()) return {};
        if (total - best_area > lost_share * total)
            add_note(out, "edge " + edge + ": the plug cuts its panel apart, only the largest piece is kept");
        Polygons kept{pieces[best]};
        for (const std::vector<Vec2>& chain : pieces)
            if (signed_area(chain) < 0 && is_inside(chain.front(), pieces[best])) kept.push_back(chain);
        return kept;
    }

    [[nodiscard]] static Vec2 middle_of_edge(const std::vector<Vec2>& chain, std::size_t i) {
        return (chain[i] + chain[(i + 1) % chain.size()]) * 0.5;
    }

    /// Per edge of each chain: does it run along one of the lines?
    [[nodiscard]] static std::vector<std::vector<bool>> edges_along(const Polygons& shape, const Polygons& lines) {
        std::vector<std::vector<bool>> along;
        for (const std::vector<Vec2>& chain : shape) {
            along.emplace_back();
            for (std::size_t i = 0; i < chain.size(); ++i) {
                const Vec2 middle = middle_of_edge(chain, i);
                along.back().push_back(std::any_of(lines.begin(), lines.end(), [&](const std::vector<Vec2>& line) {
                    return distance_to_polyline(middle, line, true) < edge_match_mm;
                }));
            }
        }
        return along;
    }

    [[nodiscard]] static Loop classified(const std::vector<Vec2>& chain, const std::vector<bool>& faces_plug,
                                         const std::vector<std::vector<Vec2>>& guides) {
        Loop loop;
        for (std::size_t i = 0; i < chain.size(); ++i) {
            const Vec2 middle = middle_of_edge(chain, i);
            bool is_fit = faces_plug[i];
            for (const std::vector<Vec2>& g : guides)
                is_fit = is_fit || distance_to_polyline(middle, g, false) < edge_match_mm;
            loop.vertices.push_back({chain[i], 0, is_fit ? CutKind::fit : CutKind::rough});
        }
        return loop;
    }

    [[nodiscard]] Region outline_of(const Polygons& shape, const std::vector<std::vector<bool>>& faces_plug,
                                    const std::vector<std::vector<Vec2>>& guides, OutlineFit& fit) const {
        const double tolerance = tolerances_.arc_fit_mm;
        Region region;
        region.outer = fitted(classified(shape.front(), faces_plug.front(), guides), tolerance, fit);
        for (std::size_t i = 1; i < shape.size(); ++i)
            region.holes.push_back(fitted(classified(shape[i], faces_plug[i], guides), tolerance, fit));
        return region;
    }

    /// Clearance along the edge that faces the plug: at each place the least over the sheet's thickness. Where the plug
    /// leans away upward so far that the top is left more open than the limit, the bevel that would close it.
    void measure_gap(FlangePanel& panel, const Polygons& shape,
                     const std::vector<std::vector<bool>>& faces_plug) const {
        panel.min_gap_mm = std::numeric_limits<double>::infinity();
        if (near_.is_empty()) return;
        PanelBevel bevel{"the plug", 0, 0};
        for (std::size_t k = 0; k < shape.size(); ++k)
            for (std::size_t i = 0; i < shape[k].size(); ++i) {
                if (!faces_plug[k][i]) continue;
                const Vec2 middle = middle_of_edge(shape[k], i);
                std::array<double, 3> at_depth{};
                for (std::size_t d = 0; d < at_depth.size(); ++d) {
                    const Vec3 p = placed(panel.part, Vec3{middle.x, middle.y, -thickness_ * double(d) / 2});
                    at_depth[d] = near_.nearest(posed_.pose.to_scan(p)).distance_mm;
                }
                const double gap = std::ranges::min(at_depth), top = at_depth.front();
                if (top > settings_.flange.gap_limit.mm() && top - gap > bevel.open_mm)
                    bevel = {"the plug", std::asin(std::min(1.0, (top - gap) / thickness_)), top - gap};
                panel.min_gap_mm = std::min(panel.min_gap_mm, gap);
                if (gap <= panel.max_gap_mm) continue;
                panel.max_gap_mm = gap;
                panel.max_gap_at = placed(panel.part, middle);
            }
        if (bevel.open_mm > 0) panel.bevels.push_back(std::move(bevel));
    }

    const PosedPlug& posed_;
    const Parting& parting_;
    const Settings& settings_;
    Tolerances tolerances_;
    Frame3 plan_;
    double thickness_;
    MeshIndex near_;
    Flange flange_;
};

}  // namespace

FlangePanel::Top FlangePanel::top_near(Vec3 place) const {
    if (!is_curved()) return {point, normal};
    const Frame3& flat = frame_near(part, place);
    return {flat.origin, flat.z};
}

Flange lay_flange(const PosedPlug& posed, const Parting& parting, const Settings& settings) {
    if (!parting.is_found()) return {};
    return FlangeLayer(posed, parting, settings).lay();
}

}  // namespace cradlewright
