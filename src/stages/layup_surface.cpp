// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/layup_surface.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "cradlewright/geom/triangulate.hpp"

namespace cradlewright {
namespace {

constexpr double cells_on_surface = 4000;
constexpr double least_cell_mm = 2, most_cell_mm = 40;  // below: nobody places cloth so finely
constexpr double edge_cells = 2;                        // longest edge: a face is taken or left as a whole
constexpr int arc_chords = 4;                           // of a bead's section
constexpr double band_slack_mm = 0.05;                  // the bead's foot is not left to chance

double half_area_mm2(const TriMesh& mesh, const Parting& parting, int half) {
    double twice = 0;
    for (FaceId f = 0; f < mesh.face_count(); ++f)
        if (parting.half[f] == half) twice += norm(area_vector(mesh.corners(f)));
    return twice / 2;
}

/// Neighbouring sections of a run that both stand.
template <class Action>
void for_each_pair(const BeadRun& run, Action action) {
    const std::size_t n = run.sections.size();
    for (std::size_t k = 0; k + (run.is_ring ? 0 : 1) < n; ++k) {
        const BeadSection &a = run.sections[k], &b = run.sections[(k + 1) % n];
        if (a.is_valid && b.is_valid) action(a, b);
    }
}

void add_bead(SurfaceClusters& clusters, const BeadRun& run) {
    if (run.kind == BeadKind::none) return;
    for_each_pair(run, [&](const BeadSection& a, const BeadSection& b) {
        const std::vector<Vec3> p = clay_face(a, run.kind, arc_chords), q = clay_face(b, run.kind, arc_chords);
        for (std::size_t k = 0; k + 1 < p.size(); ++k) {
            clusters.add({p[k], p[k + 1], q[k + 1]});
            clusters.add({p[k], q[k + 1], q[k]});
        }
    });
}

/// What of a panel its bead covers.
Polygons band_under(const FlangePanel& panel, const std::vector<BeadRun>& runs) {
    Polygons band;
    for (const BeadRun& run : runs) {
        if (run.panel != panel.id || run.kind == BeadKind::none) continue;
        for_each_pair(run, [&](const BeadSection& a, const BeadSection& b) {
            std::vector<Vec2> quad;
            for (const Vec3 p : {a.joint, b.joint, b.on_panel, a.on_panel}) {
                const Vec3 flat = on_pattern(panel.part, p);
                quad.push_back({flat.x, flat.y});
            }
            if (area_of({quad}) < 0) std::ranges::reverse(quad);
            band.push_back(std::move(quad));
        });
    }
    return offset(unite(band), band_slack_mm);
}

std::vector<Vec2> with_even_edges(const std::vector<Vec2>& loop, double length_mm) {
    std::vector<Vec2> result;
    for (std::size_t k = 0; k < loop.size(); ++k) {
        const Vec2 a = loop[k], b = loop[(k + 1) % loop.size()];
        const int pieces = std::max(1, static_cast<int>(std::ceil(norm(b - a) / length_mm)));
        for (int n = 0; n < pieces; ++n) result.push_back(a + (b - a) * (double(n) / pieces));
    }
    return result;
}

void add_panel(SurfaceClusters& clusters, const FlangePanel& panel, const std::vector<BeadRun>& runs, double cell_mm) {
    Polygons top = subtract(to_polygons(panel.part.outline), band_under(panel, runs));
    for (auto& loop : top) loop = with_even_edges(loop, cell_mm / 2);
    std::vector<Vec2> within;
    const Box2 box = bounding_box(panel.part.outline);
    for (double x = box.low.x + cell_mm / 2; x < box.high.x; x += cell_mm)
        for (double y = box.low.y + cell_mm / 2; y < box.high.y; y += cell_mm)
            if (contains(top, {x, y})) within.push_back({x, y});
    const Triangulation flat = triangulate(top, within);
    const auto place = [&](Vec2 p) { return placed(panel.part, p); };
    for (const Triangle& t : flat.triangles)
        clusters.add({place(flat.points[t[0]]), place(flat.points[t[1]]), place(flat.points[t[2]])});
    for (const auto& loop : to_polygons(panel.part.outline))
        for (const Vec2 p : with_even_edges(loop, cell_mm / 2)) clusters.pin(place(p));
}

/// Every edge longer than `length_mm` halved, again and again; neighbours agree since it is the edge that decides.
TriMesh with_short_edges(TriMesh mesh, double length_mm) {
    while (true) {
        std::map<std::pair<VertexId, VertexId>, VertexId> middle;
        const auto middle_of = [&](VertexId a, VertexId b) {
            const Vec3 p = mesh.vertices[a], q = mesh.vertices[b];
            if (norm(q - p) <= length_mm) return no_id;
            const auto [it, is_new] =
                middle.try_emplace({std::min(a, b), std::max(a, b)}, static_cast<VertexId>(mesh.vertices.size()));
            if (is_new) mesh.vertices.push_back((p + q) * 0.5);
            return it->second;
        };
        std::vector<Triangle> faces;
        for (const Triangle& t : mesh.triangles) {
            // Round the face with its middles, then fanned from a corner that no long edge meets twice.
            std::vector<VertexId> round;
            std::size_t first = 0;
            for (std::size_t k = 0; k < 3; ++k) {
                round.push_back(t[k]);
                const VertexId m = middle_of(t[k], t[(k + 1) % 3]);
                if (m != no_id) {
                    first = round.size();
                    round.push_back(m);
                }
            }
            if (round.size() == 6) {
                for (std::size_t k = 0; k < 6; k += 2) faces.push_back({round[k], round[k + 1], round[(k + 5) % 6]});
                faces.push_back({round[1], round[3], round[5]});
                continue;
            }
            std::rotate(round.begin(), round.begin() + static_cast<std::ptrdiff_t>(first), round.end());
            for (std::size_t k = 1; k + 1 < round.size(); ++k) faces.push_back({round[0], round[k], round[k + 1]});
        }
        mesh.triangles = std::move(faces);
        if (middle.empty()) return mesh;
    }
}

}  // namespace

double layup_cell_mm(const PosedPlug& posed, const Parting& parting, const Flange& flange, const LaidOn& on) {
    double area = half_area_mm2(posed.mesh(), parting, on.half);
    if (on.has_flange)
        for (const FlangePanel& panel : flange.panels) area += area_of(panel.part.outline);
    return std::clamp(std::sqrt(area / cells_on_surface), least_cell_mm, most_cell_mm);
}

SurfaceClusters::Result clean_surface(const PosedPlug& posed, const Parting& parting, const Flange& flange,
                                      const LaidOn& on, double cell_mm, Vec3 up) {
    SurfaceClusters clusters(cell_mm);
    auto next_hidden = on.hidden->begin();
    clusters.add(posed.mesh(), posed.pose.scan_to_fixture, [&](FaceId f) {
        while (next_hidden != on.hidden->end() && *next_hidden < f) ++next_hidden;
        const bool is_hidden = next_hidden != on.hidden->end() && *next_hidden == f;
        return parting.half[f] == on.half && !is_hidden && posed.mesh().origin_of(f) != FaceOrigin::assumed;
    });
    if (on.has_flange) {
        for (const BeadRun& run : *on.runs) add_bead(clusters, run);
        for (const FlangePanel& panel : flange.panels) add_panel(clusters, panel, *on.runs, cell_mm);
    } else {
        for (const auto& line : *on.trim_lines)
            for (const Vec3 p : line) clusters.pin(p);
    }
    SurfaceClusters::Result result = clusters.finish(up, posed.plug.name);
    result.mesh = with_short_edges(std::move(result.mesh), edge_cells * cell_mm);
    return result;
}

}  // namespace cradlewright
