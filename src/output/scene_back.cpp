// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <string>
#include <utility>

#include "cradlewright/output/scene.hpp"

namespace cradlewright {
namespace {

constexpr std::array<float, 4> plate_colour{0.66f, 0.54f, 0.34f, 1}, laminate_colour{0.10f, 0.36f, 0.42f, 1};
constexpr double aside_mm = 80;  // between the fixture and what stands beside it

/// A surface as a shell: itself seen from within, and a copy as thick as the laminate away from it.
TriMesh shell(const TriMesh& surface, double thickness_mm) {
    std::vector<Vec3> out(surface.vertices.size());
    for (FaceId f = 0; f < surface.face_count(); ++f) {
        const Vec3 area = area_vector(surface.corners(f));
        for (const VertexId v : surface.triangles[f]) out[v] += area;
    }
    TriMesh mesh;
    mesh.vertices = surface.vertices;
    const auto count = static_cast<VertexId>(surface.vertices.size());
    for (VertexId v = 0; v < count; ++v)
        mesh.vertices.push_back(surface.vertices[v] + (norm(out[v]) > 0 ? normalized(out[v]) * thickness_mm : Vec3{}));
    for (const Triangle& t : surface.triangles) {
        mesh.triangles.push_back({t[0], t[2], t[1]});
        mesh.triangles.push_back({t[0] + count, t[1] + count, t[2] + count});
    }
    return mesh;
}

}  // namespace

void add_mould_backs(Scene& scene, const Design& design, const SceneOptions& options) {
    Box3 fixture;
    for (const SceneNode& node : scene.nodes)
        for (const Vec3& p : node.mesh.vertices) fixture.add(p);
    for (const BackHalf& half : design.back.halves) {
        if (half.plates.empty()) continue;
        std::vector<SceneNode> nodes;
        for (const BackPlate& plate : half.plates)
            nodes.push_back(
                {plate.part.id, extrude_plate(plate.part, options.plate_sag_mm), plate_colour, Shading::flat});
        const LaidSurface* surface = find_mould(design.layup, half.half);
        if (surface != nullptr && surface->mesh)
            nodes.push_back({"back-" + std::to_string(half.half) + "-mould", shell(*surface->mesh, design.back.skin_mm),
                             laminate_colour, Shading::smooth});
        Box3 box;
        for (SceneNode& node : nodes)
            for (Vec3& p : node.mesh.vertices) {
                p = half.stand.to_local(p);
                box.add(p);
            }
        const bool is_in_front = half.half == 1;
        const Vec3 move{fixture.center().x - box.center().x,
                        is_in_front ? fixture.high.y + aside_mm - box.low.y : fixture.low.y - aside_mm - box.high.y,
                        fixture.low.z};
        for (SceneNode& node : nodes) {
            for (Vec3& p : node.mesh.vertices) p += move;
            scene.nodes.push_back(std::move(node));
        }
    }
}

}  // namespace cradlewright
