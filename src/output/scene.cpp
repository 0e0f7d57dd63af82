// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/output/scene.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>
#include <unordered_map>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/triangulate.hpp"

namespace cradlewright {
namespace {

using Ring = std::vector<Vec3>;

constexpr std::array<float, 4> plug_colour{0.60f, 0.62f, 0.63f, 1};
constexpr std::array<float, 4> extension_colour{0.74f, 0.70f, 0.58f, 1};
constexpr std::array<float, 4> mould_colour{0.10f, 0.36f, 0.42f, 1};
constexpr std::array<float, 4> line_colour{0.75f, 0.06f, 0.12f, 1};
constexpr std::array<float, 4> clay_colour{0.62f, 0.30f, 0.08f, 1};
constexpr std::array<float, 4> locator_colour{0.80f, 0.62f, 0.10f, 1};

std::array<float, 4> part_colour(PartKind kind) {
    switch (kind) {
        case PartKind::panel:
            return {0.72f, 0.78f, 0.80f, 1};
        case PartKind::rib:
            return {0.60f, 0.44f, 0.26f, 1};
        case PartKind::stringer:
            return {0.48f, 0.31f, 0.15f, 1};
        case PartKind::tie:
            return {0.53f, 0.40f, 0.28f, 1};
        case PartKind::base:
            return {0.40f, 0.33f, 0.26f, 1};
        case PartKind::stop:
            return {0.20f, 0.28f, 0.22f, 1};
        case PartKind::strap:
            return {0.58f, 0.62f, 0.66f, 1};
        case PartKind::mould_rib:  // see add_mould_backs
        case PartKind::card:       // hand tools, not in the scene
        case PartKind::section:
        case PartKind::cloth:
            break;
    }
    return {0.7f, 0.7f, 0.7f, 1};
}

// Drops vertices that no triangle uses; the rest in order of first use.
TriMesh compacted(const TriMesh& mesh) {
    TriMesh result;
    result.triangles.reserve(mesh.triangles.size());
    std::vector<VertexId> renumbered(mesh.vertices.size(), no_id);
    for (Triangle t : mesh.triangles) {
        for (VertexId& v : t) {
            VertexId& number = renumbered[v];
            if (number == no_id) {
                number = static_cast<VertexId>(result.vertices.size());
                result.vertices.push_back(mesh.vertices[v]);
            }
            v = number;
        }
        result.triangles.push_back(t);
    }
    return result;
}

void turn_outward(TriMesh& mesh) {
    if (mass_properties(mesh).volume_mm3 < 0) {
        for (Triangle& t : mesh.triangles) {
            std::swap(t[1], t[2]);
        }
    }
}

void append(TriMesh& mesh, const TriMesh& more) {
    const auto shift = static_cast<VertexId>(mesh.vertices.size());
    mesh.vertices.insert(mesh.vertices.end(), more.vertices.begin(), more.vertices.end());
    for (const Triangle& t : more.triangles) {
        mesh.triangles.push_back({t[0] + shift, t[1] + shift, t[2] + shift});
    }
}

// ---- clustering

// Cells of a cubic grid; 21 bits an axis hold any plug that mend_plug lets pass at any useful cell size.
class CellGrid {
public:
    CellGrid(Vec3 low, double cell_mm) : low_(low), per_mm_(1 / cell_mm) {}
    [[nodiscard]] std::uint64_t key(Vec3 p) const {
        return (index(p.x, low_.x) << 42) | (index(p.y, low_.y) << 21) | index(p.z, low_.z);
    }

private:
    [[nodiscard]] std::uint64_t index(double v, double low) const {
        constexpr double last = (1 << 21) - 1;
        return static_cast<std::uint64_t>(std::clamp((v - low) * per_mm_, 0.0, last));
    }
    Vec3 low_;
    double per_mm_;
};

double surface_area(const TriMesh& mesh) {
    double twice = 0;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        twice += norm(area_vector(mesh.corners(f)));
    }
    return twice / 2;
}

// A surface of area A cut by cells of side h falls into A/h2 clusters where it lies square to an axis, up to sqrt(3)
// times that where it is oblique, two faces each. Half of all directions lie above 1.5. Source: derived (projected
// area).
double cell_size(const TriMesh& mesh, std::size_t max_faces) {
    return std::sqrt(2 * 1.5 * surface_area(mesh) / static_cast<double>(max_faces));
}

// Cluster number of each vertex, numbered in vertex order. The map is only asked, never walked.
std::vector<VertexId> number_clusters(const TriMesh& mesh, const CellGrid& grid, std::size_t expected) {
    std::unordered_map<std::uint64_t, VertexId> number;
    number.reserve(expected);
    std::vector<VertexId> cluster(mesh.vertices.size());
    for (std::size_t v = 0; v < mesh.vertices.size(); ++v) {
        const auto next = static_cast<VertexId>(number.size());
        cluster[v] = number.try_emplace(grid.key(mesh.vertices[v]), next).first->second;
    }
    return cluster;
}

// The vertex nearest to the mean of its cluster: on the surface, unlike the mean.
std::vector<VertexId> representatives(const TriMesh& mesh, const std::vector<VertexId>& cluster) {
    const std::size_t count = cluster.empty() ? 0 : 1 + *std::max_element(cluster.begin(), cluster.end());
    std::vector<Vec3> mean(count);
    std::vector<double> weight(count, 0);
    for (std::size_t v = 0; v < cluster.size(); ++v) {
        mean[cluster[v]] += mesh.vertices[v];
        weight[cluster[v]] += 1;
    }
    for (std::size_t c = 0; c < count; ++c) {
        mean[c] = mean[c] / weight[c];
    }
    std::vector<VertexId> nearest(count, no_id);
    std::vector<double> distance(count, std::numeric_limits<double>::infinity());
    for (std::size_t v = 0; v < cluster.size(); ++v) {
        const std::size_t c = cluster[v];
        const double d = norm(mesh.vertices[v] - mean[c]);
        if (d < distance[c]) {
            distance[c] = d;
            nearest[c] = static_cast<VertexId>(v);
        }
    }
    return nearest;
}

struct ClusteredFace {
    Triangle corners;  // smallest first, facing kept
    FaceId source;
    friend auto operator<=>(const ClusteredFace&, const ClusteredFace&) = default;
};

// Faces whose corners fall into three clusters, once each, in order of the first face that shows them.
std::vector<ClusteredFace> spanning_faces(const TriMesh& mesh, const std::vector<VertexId>& cluster) {
    std::vector<ClusteredFace> faces;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const Triangle& t = mesh.triangles[f];
        Triangle c{cluster[t[0]], cluster[t[1]], cluster[t[2]]};
        if (c[0] != c[1] && c[1] != c[2] && c[2] != c[0]) {
            std::rotate(c.begin(), std::min_element(c.begin(), c.end()), c.end());
            faces.push_back({c, f});
        }
    }
    std::sort(faces.begin(), faces.end());
    const auto is_same = [](const ClusteredFace& a, const ClusteredFace& b) { return a.corners == b.corners; };
    faces.erase(std::unique(faces.begin(), faces.end(), is_same), faces.end());
    std::sort(faces.begin(), faces.end(), [](const auto& a, const auto& b) { return a.source < b.source; });
    return faces;
}

// ---- sweeps

void append_strip(TriMesh& mesh, VertexId a, VertexId b, std::size_t size, std::size_t shift) {
    for (std::size_t i = 0; i < size; ++i) {
        const std::size_t j = (i + 1) % size;
        const VertexId a0 = a + static_cast<VertexId>(i), a1 = a + static_cast<VertexId>(j);
        const VertexId b0 = b + static_cast<VertexId>((i + shift) % size);
        const VertexId b1 = b + static_cast<VertexId>((j + shift) % size);
        mesh.triangles.push_back({a0, a1, b1});
        mesh.triangles.push_back({a0, b1, b0});
    }
}

TriMesh join_rings(const std::vector<Ring>& rings) {
    TriMesh mesh;
    const std::size_t size = rings.front().size();
    for (const Ring& ring : rings) {
        mesh.vertices.insert(mesh.vertices.end(), ring.begin(), ring.end());
    }
    for (std::size_t k = 0; k + 1 < rings.size(); ++k) {
        append_strip(mesh, static_cast<VertexId>(k * size), static_cast<VertexId>((k + 1) * size), size, 0);
    }
    return mesh;
}

// A solid through rings of equal size, ends closed by fans from each ring's first point, from which it must be
// star-shaped.
TriMesh sweep_open(const std::vector<Ring>& rings) {
    TriMesh mesh = join_rings(rings);
    const auto size = static_cast<VertexId>(rings.front().size());
    const auto last = static_cast<VertexId>(mesh.vertices.size() - size);
    for (VertexId i = 1; i + 1 < size; ++i) {
        mesh.triangles.push_back({0, i + 1, i});
        mesh.triangles.push_back({last, last + i, last + i + 1});
    }
    turn_outward(mesh);
    return mesh;
}

// A ring-shaped solid. The turn that a carried frame picks up on its way round is taken up where the ends meet.
TriMesh sweep_closed(const std::vector<Ring>& rings) {
    TriMesh mesh = join_rings(rings);
    const std::size_t size = rings.front().size();
    std::size_t shift = 0;
    for (std::size_t s = 1; s < size; ++s) {
        const auto gap = [&](std::size_t k) { return norm(rings.front()[k] - rings.back().front()); };
        shift = gap(s) < gap(shift) ? s : shift;
    }
    append_strip(mesh, static_cast<VertexId>(mesh.vertices.size() - size), 0, size, shift);
    turn_outward(mesh);
    return mesh;
}

// Round tube about a closed chain; its frame is carried along by projection, so it does not spin.
TriMesh closed_tube(const std::vector<Vec3>& chain, double radius) {
    constexpr int sides = 6;
    std::vector<Ring> rings;
    Vec3 across{};
    for (std::size_t i = 0; i < chain.size(); ++i) {
        const Vec3 before = chain[(i + chain.size() - 1) % chain.size()];
        const Vec3 along = normalized(chain[(i + 1) % chain.size()] - before);
        const Frame3 frame = frame_from_normal(chain[i], along, across == Vec3{} ? Vec3{0, 0, 1} : across);
        across = frame.x;
        Ring ring;
        for (int k = 0; k < sides; ++k) {
            const double angle = 2 * std::numbers::pi * k / sides;
            ring.push_back(frame.to_parent(Vec2{radius * std::cos(angle), radius * std::sin(angle)}));
        }
        rings.push_back(std::move(ring));
    }
    return sweep_closed(rings);
}

// ---- beads

// Panel line, foot on the plug, arc, foot on the panel.
Ring bead_ring(const BeadSection& section, BeadKind kind) {
    Ring ring{section.joint};
    for (const Vec3 p : clay_face(section, kind, kind == BeadKind::ramp ? 1 : 8)) ring.push_back(p);
    return ring;
}

// One solid for each stretch over which the ball found its place.
TriMesh bead_solid(const BeadRun& run) {
    TriMesh mesh;
    std::vector<Ring> rings;
    const auto finish_stretch = [&] {
        if (rings.size() > 1) {
            append(mesh, sweep_open(rings));
        }
        rings.clear();
    };
    for (const BeadSection& section : run.sections) {
        if (section.is_valid) {
            rings.push_back(bead_ring(section, run.kind));
        } else {
            finish_stretch();
        }
    }
    // A run all round the plug has no ends, unless the ball found no place somewhere.
    if (run.is_ring && mesh.triangles.empty() && rings.size() > 2) return sweep_closed(rings);
    finish_stretch();
    return mesh;
}

// ---- locators

// The button as it stands on its panel, with the shim under it: flank from the panel up, rounding, flat top.
TriMesh locator_solid(const HardwareItem& item, const LocatorShape& shape) {
    constexpr int sides = 48, chords = 6;
    const Frame3 frame = frame_from_normal(item.at, item.axis, item.normal);  // its x lies downhill
    const double draft = shape.draft_rad;
    const auto ring_at = [&](const auto& far_and_high) {
        Ring ring;
        for (int k = 0; k < sides; ++k) {
            const double azimuth = 2 * std::numbers::pi * k / sides;
            const auto [far, high] = far_and_high(azimuth);
            ring.push_back(frame.to_parent(Vec3{far * std::cos(azimuth), far * std::sin(azimuth), high}));
        }
        return ring;
    };
    std::vector<Ring> rings{ring_at([&](double azimuth) {
        const double high = shape.foot_height_mm(item.shim_rad, azimuth);
        return std::pair{shape.radius_mm - high * std::tan(draft), high};
    })};
    const Vec2 center = shape.round_center();
    for (int k = 0; k <= chords; ++k) {
        const double up = draft + (std::numbers::pi / 2 - draft) * k / chords;
        const Vec2 p = center + Vec2{std::cos(up), std::sin(up)} * shape.round_mm;
        rings.push_back(ring_at([&](double) { return std::pair{p.x, p.y}; }));
    }
    return sweep_open(rings);
}

// ---- nodes

void add_node(Scene& scene, SceneNode node) {
    if (!node.mesh.triangles.empty()) {
        scene.nodes.push_back(std::move(node));
    }
}

/// Those of the thinned faces whose source `is_wanted`.
template <class Wanted>
TriMesh faces_of(const ThinnedMesh& thinned, Wanted&& is_wanted) {
    TriMesh mesh{.vertices = thinned.mesh.vertices, .triangles = {}, .face_origin = {}, .openings = {}};
    for (FaceId f = 0; f < thinned.mesh.face_count(); ++f) {
        if (is_wanted(thinned.source[f])) {
            mesh.triangles.push_back(thinned.mesh.triangles[f]);
        }
    }
    return compacted(mesh);
}

void add_plug(Scene& scene, const Design& design, std::size_t max_faces) {
    if (!design.posed.plug.mesh) {
        return;
    }
    ThinnedMesh thinned = thin_by_clustering(design.posed.mesh(), max_faces);
    for (Vec3& v : thinned.mesh.vertices) {
        v = design.posed.pose.to_fixture(v);
    }
    scene.plug_deviation_mm = thinned.deviation_mm;
    const std::vector<Extension>& extensions = design.posed.plug.extensions;
    const auto is_of = [](const Extension& e, FaceId f) {
        return f >= e.first_face && f - e.first_face < e.face_count;
    };
    const auto add = [&](std::string name, const std::array<float, 4>& colour, const auto& is_wanted) {
        SceneNode node{std::move(name), faces_of(thinned, is_wanted), colour, Shading::smooth};
        if (design.parting.is_found())
            for (const FaceId f : thinned.source)
                if (is_wanted(f)) node.half.push_back(design.parting.half[f]);
        add_node(scene, std::move(node));
    };
    add("plug", plug_colour,
        [&](FaceId f) { return std::ranges::none_of(extensions, [&](const Extension& e) { return is_of(e, f); }); });
    for (const Extension& e : extensions)
        add("extension-" + e.edge, extension_colour, [&](FaceId f) { return is_of(e, f); });
    TriMesh mould = design.parting.is_found() ? faces_of(thinned, [&](FaceId f) { return design.parting.half[f] == 1; })
                                              : TriMesh{};
    add_node(scene, {"mould-surface", std::move(mould), mould_colour, Shading::smooth});
}

void add_parting_line(Scene& scene, const Design& design) {
    constexpr double thinnest_mm = 0.5, share_of_plug = 0.0015;  // seen at any zoom, hides nothing
    const Vec3 size = design.posed.box_fixture.size();
    const double radius = std::max(thinnest_mm, share_of_plug * std::max({size.x, size.y, size.z}));
    TriMesh mesh;
    for (const PartingLoop& loop : design.parting.loops) {
        if (loop.panel_line.size() >= 3) {
            append(mesh, closed_tube(loop.panel_line, radius));
        }
    }
    add_node(scene, {"parting-line", std::move(mesh), line_colour, Shading::smooth});
}

}  // namespace

ThinnedMesh thin_by_clustering(const TriMesh& mesh, std::size_t max_faces) {
    CRADLEWRIGHT_PRECONDITION(max_faces > 0);
    ThinnedMesh result;
    if (mesh.face_count() <= max_faces) {
        result.mesh.vertices = mesh.vertices;
        result.mesh.triangles = mesh.triangles;
        result.source.resize(mesh.face_count());
        std::iota(result.source.begin(), result.source.end(), FaceId{0});
        return result;
    }
    const CellGrid grid(bounding_box(mesh).low, cell_size(mesh, max_faces));
    const std::vector<VertexId> cluster = number_clusters(mesh, grid, max_faces);
    const std::vector<VertexId> chosen = representatives(mesh, cluster);
    for (std::size_t v = 0; v < cluster.size(); ++v) {
        const double way = norm(mesh.vertices[v] - mesh.vertices[chosen[cluster[v]]]);
        result.deviation_mm = std::max(result.deviation_mm, way);
    }
    TriMesh coarse;
    coarse.vertices.reserve(chosen.size());
    for (const VertexId v : chosen) {
        coarse.vertices.push_back(mesh.vertices[v]);
    }
    for (const ClusteredFace& face : spanning_faces(mesh, cluster)) {
        coarse.triangles.push_back(face.corners);
        result.source.push_back(face.source);
    }
    result.mesh = compacted(coarse);
    return result;
}

TriMesh extrude_plate(const PlatePart& part, double sag_mm) {
    if (part.bend) {
        TriMesh bent;
        for (const PlatePart& flat : flats_of(part)) append(bent, extrude_plate(flat, sag_mm));
        return bent;
    }
    std::vector<std::vector<Vec2>> loops{flatten(part.outline.outer, sag_mm)};
    for (const Loop& hole : part.outline.holes) {
        loops.push_back(flatten(hole, sag_mm));
    }
    const Triangulation face = triangulate(loops);
    const auto below = static_cast<VertexId>(face.points.size());
    TriMesh mesh;
    for (const double z : {0.0, -part.thickness_mm}) {
        for (const Vec2 p : face.points) {
            mesh.vertices.push_back(part.frame.to_parent(Vec3{p.x, p.y, z}));
        }
    }
    std::vector<std::pair<VertexId, VertexId>> sides;
    for (const Triangle& t : face.triangles) {
        mesh.triangles.push_back(t);
        mesh.triangles.push_back({t[0] + below, t[2] + below, t[1] + below});
        for (std::size_t k = 0; k < 3; ++k) {
            sides.emplace_back(t[k], t[(k + 1) % 3]);
        }
    }
    // A side without its twin bounds the face: taken from the triangles, walls fit them whatever the outline was.
    std::sort(sides.begin(), sides.end());
    for (const auto& [a, b] : sides) {
        if (!std::binary_search(sides.begin(), sides.end(), std::pair{b, a})) {
            mesh.triangles.push_back({b, a, a + below});
            mesh.triangles.push_back({b, a + below, b + below});
        }
    }
    return compacted(mesh);
}

Scene make_scene(const Design& design, const SceneOptions& options) {
    Scene scene;
    add_plug(scene, design, options.max_plug_faces);
    add_parting_line(scene, design);
    for (const PlatePart* part : fixture_parts(design)) {
        if (part->outline.outer.vertices.size() >= 2) {
            add_node(scene,
                     {part->id, extrude_plate(*part, options.plate_sag_mm), part_colour(part->kind), Shading::flat});
        }
    }
    for (const BeadRun& run : design.beads.runs) {
        add_node(scene, {run.id, bead_solid(run), clay_colour, Shading::flat});
    }
    for (const HardwareItem& item : design.hardware.items) {
        if (item.kind == HardwareKind::locator) {
            add_node(scene, {item.id, locator_solid(item, design.hardware.locator), locator_colour, Shading::flat});
        }
    }
    return scene;
}

}  // namespace cradlewright
