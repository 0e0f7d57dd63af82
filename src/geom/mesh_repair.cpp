// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/geom/mesh_repair.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"
#include "geom/boundary_loops.hpp"
#include "geom/crowded_edges.hpp"
#include "geom/degenerate_faces.hpp"
#include "geom/loop_patch.hpp"
#include "geom/mesh_edges.hpp"
#include "geom/mesh_shells.hpp"
#include "geom/mesh_weld.hpp"

namespace cradlewright {

namespace {

constexpr std::size_t fewest_faces = 4;  // of a solid
constexpr std::size_t most_places = 10;  // see RepairReport
constexpr int most_membrane_rounds = 8;
/// A boundary longer than this times the root of the surface's area is its rim, not a hole in it. A half sphere
/// has 2.5, a cube without one face 1.8. Source: assumed.
constexpr double rim_to_root_area = 2;
/// An open surface that encloses less than this times its area to the power 3/2 is a sheet. Source: assumed.
constexpr double sheet_volume = 1e-3;
/// A mean cosine of 8 deg: flatter than any plug's side. Source: assumed.
constexpr double flat_sheet_share = 0.99;
constexpr double least_body_share = 0.01;  // smaller beside a flat sheet is a crumb on it; assumed

std::string place_text(Vec3 p) { return fixed(p.x, 1) + ", " + fixed(p.y, 1) + ", " + fixed(p.z, 1) + " mm"; }

std::size_t drop_flagged(TriMesh& mesh, const std::vector<char>& drop) {
    if (drop.empty()) return 0;
    drop_faces(mesh, drop);
    return static_cast<std::size_t>(std::count(drop.begin(), drop.end(), char{1}));
}

/// A shell's size, and how flat it is.
struct ShellSize {
    StrayShell shell;
    Vec3 vector_area;
    /// A sheet all of whose faces look one way: a table that was scanned along.
    [[nodiscard]] bool is_flat() const { return norm(vector_area) > flat_sheet_share * shell.area_mm2; }
};

/// By shell number. Faces of a shell run one way.
std::vector<ShellSize> measure_shells(const TriMesh& mesh, const Shells& shells) {
    std::vector<ShellSize> out(shells.count);
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const std::array<Vec3, 3> c = mesh.corners(f);
        const Vec3 vector_area = area_vector(c) / 2;
        const double area = norm(vector_area);
        ShellSize& size = out[shells.shell_of[f]];
        ++size.shell.face_count;
        size.shell.area_mm2 += area;
        size.shell.center += (c[0] + c[1] + c[2]) * (area / 3);
        size.vector_area += vector_area;
    }
    for (ShellSize& size : out)
        size.shell.center = size.shell.area_mm2 > 0 ? size.shell.center / size.shell.area_mm2 : Vec3{};
    return out;
}

/// The largest, but a flat sheet only when nothing else has a hundredth of its area.
std::uint32_t plug_shell(const std::vector<ShellSize>& sizes) {
    std::uint32_t largest = 0, body = no_id;
    for (std::uint32_t i = 0; i < sizes.size(); ++i) {
        if (sizes[i].shell.area_mm2 > sizes[largest].shell.area_mm2) largest = i;
        if (!sizes[i].is_flat() && (body == no_id || sizes[i].shell.area_mm2 > sizes[body].shell.area_mm2)) body = i;
    }
    const bool has_body =
        body != no_id && sizes[body].shell.area_mm2 >= least_body_share * sizes[largest].shell.area_mm2;
    return has_body ? body : largest;
}

/// Volume inside the surface and the cones from its boundary loops to their middles; the loops run as caps would.
double enclosed_volume(const TriMesh& mesh, const std::vector<BoundaryLoop>& loops) {
    const Vec3 o = mesh.vertices[mesh.triangles[0][0]];
    double six_volumes = 0;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const std::array<Vec3, 3> c = mesh.corners(f);
        six_volumes += dot(c[0] - o, cross(c[1] - o, c[2] - o));
    }
    for (const BoundaryLoop& loop : loops) {
        const std::size_t n = loop.vertices.size();
        Vec3 middle;
        for (const VertexId v : loop.vertices) middle += (mesh.vertices[v] - o) / static_cast<double>(n);
        for (std::size_t i = 0; i < n; ++i)
            six_volumes +=
                dot(mesh.vertices[loop.vertices[i]] - o, cross(mesh.vertices[loop.vertices[(i + 1) % n]] - o, middle));
    }
    return six_volumes / 6;
}

class Mender {
public:
    Mender(TriMesh soup, const RepairOptions& options, const std::string& place)
        : options_(options), place_(place), mesh_(std::move(soup)) {
        report_.faces_in = mesh_.face_count();
        mesh_.openings.clear();
    }

    RepairedMesh mend() && {
        clean_soup();
        match_and_thin_out();
        keep_plug_shell();
        split_touching();
        loops_ = find_boundary_loops(mesh_, mate_);
        face_outward();
        report_.mean_edge_mm = mean_edge_length(mesh_);
        close_holes();
        close_openings();
        verify();
        number_by_first_use(mesh_);
        report_.faces_out = mesh_.face_count();
        report_.noise_mm = estimate_noise(mesh_);
        return {std::move(mesh_), std::move(report_)};
    }

private:
    void clean_soup() {
        if (mesh_.face_count() < fewest_faces)
            fail("only " + std::to_string(mesh_.face_count()) + " triangles, which is no surface of a body");
        for (const Triangle& t : mesh_.triangles)
            for (const VertexId v : t) CRADLEWRIGHT_PRECONDITION(v < mesh_.vertices.size());
        CRADLEWRIGHT_PRECONDITION(std::all_of(mesh_.vertices.begin(), mesh_.vertices.end(), is_finite));
        CRADLEWRIGHT_PRECONDITION(mesh_.face_count() < no_id / 12);
        CRADLEWRIGHT_PRECONDITION(mesh_.face_origin.empty() || mesh_.face_origin.size() == mesh_.face_count());
        report_.vertices_merged = weld_vertices(mesh_, options_.weld_mm);
        report_.degenerate_dropped = remove_degenerate_faces(mesh_);
        if (mesh_.face_count() < fewest_faces)
            fail("only " + std::to_string(mesh_.face_count()) + " of " + std::to_string(report_.faces_in) +
                 " triangles have an area");
    }

    void match_and_thin_out() {
        SideMates sides = match();
        if (join_split_corners(sides)) sides = match();
        report_.duplicate_dropped = drop_flagged(mesh_, find_duplicate_faces(mesh_, sides));
        if (report_.duplicate_dropped > 0) sides = match();
        if (mesh_.face_count() < fewest_faces) fail("too few different triangles");
        note_crowded(sides);
        for (int round = 0; round < most_membrane_rounds && !sides.crowded.empty(); ++round) {
            const std::size_t dropped = drop_flagged(mesh_, find_membranes(mesh_, sides));
            if (dropped == 0) break;
            report_.membranes_dropped += dropped;
            sides = match();
        }
        pair_crowded_sides(mesh_, sides);
        mate_ = std::move(sides.mate);
    }

    /// Corners that differ in their last written digits leave every edge between them open; a scan without open edges
    /// pays nothing.
    bool join_split_corners(const SideMates& sides) {
        if (options_.weld_mm > 0) return false;
        std::vector<char> is_open;
        for (SideId s = 0; s < sides.mate.size(); ++s) {
            if (sides.mate[s] != no_id) continue;
            if (is_open.empty()) is_open.assign(mesh_.vertices.size(), 0);
            is_open[from_of(mesh_.triangles, s)] = is_open[to_of(mesh_.triangles, s)] = 1;
        }
        if (is_open.empty()) return false;
        report_.split_corners_joined = weld_split_vertices(mesh_, is_open);
        if (report_.split_corners_joined == 0) return false;
        report_.degenerate_dropped += remove_degenerate_faces(mesh_);
        return true;
    }

    [[nodiscard]] SideMates match() const { return match_sides(mesh_.triangles, mesh_.vertices.size()); }

    void note_crowded(const SideMates& sides) {
        report_.non_manifold_edges = sides.crowded.size();
        for (const std::vector<SideId>& crowd : sides.crowded) {
            if (report_.trouble_places.size() == most_places) break;
            report_.trouble_places.push_back(middle_of(crowd.front()));
        }
        needs_check_ = needs_check_ || !sides.crowded.empty();
    }

    [[nodiscard]] Vec3 middle_of(SideId s) const {
        return (mesh_.vertices[from_of(mesh_.triangles, s)] + mesh_.vertices[to_of(mesh_.triangles, s)]) * 0.5;
    }

    void keep_plug_shell() {
        const std::size_t mates = static_cast<std::size_t>(std::count(mate_.begin(), mate_.end(), no_id));
        const Shells shells = orient_shells(mesh_.triangles, mate_);
        const bool was_cut = mates != static_cast<std::size_t>(std::count(mate_.begin(), mate_.end(), no_id));
        needs_check_ = needs_check_ || was_cut;
        const std::vector<ShellSize> sizes = measure_shells(mesh_, shells);
        const std::uint32_t kept = plug_shell(sizes);
        area_mm2_ = sizes[kept].shell.area_mm2;
        for (std::size_t f = 0; f < shells.is_turned.size(); ++f)
            if (shells.is_turned[f] != 0 && shells.shell_of[f] == kept) ++report_.flipped;
        if (shells.count == 1) return;
        keep_shell(mesh_, mate_, shells, kept);
        for (std::uint32_t i = 0; i < sizes.size(); ++i)
            if (i != kept) report_.stray_shells.push_back(sizes[i].shell);
        std::stable_sort(report_.stray_shells.begin(), report_.stray_shells.end(),
                         [](const StrayShell& a, const StrayShell& b) { return a.area_mm2 > b.area_mm2; });
        if (mesh_.face_count() < fewest_faces) fail("no connected piece has more than three triangles");
    }

    void split_touching() {
        report_.self_touching_vertices = split_touching_vertices(mesh_, mate_);
        if (report_.self_touching_vertices > 0) needs_check_ = true;
        // Edges can double only where edges were crowded, cut or pinched.
        if (needs_check_) rematch(separate_double_edges(mesh_, mate_));
    }

    void rematch(SideMates sides) {
        if (!sides.crowded.empty())
            fail("the surface meets itself at " + place_text(middle_of(sides.crowded.front().front())));
        mate_ = std::move(sides.mate);
    }

    void face_outward() {
        const double volume = enclosed_volume(mesh_, loops_);
        if (volume >= 0) return;
        if (!loops_.empty() && -volume < sheet_volume * std::pow(area_mm2_, 1.5)) return;
        report_.was_inside_out = true;
        turn_over(mesh_.triangles, mate_);
        loops_ = find_boundary_loops(mesh_, mate_);
    }

    /// Loops come longest first: openings, then holes.
    void close_holes() {
        const double longest = std::min(options_.hole_perimeter_mm, rim_to_root_area * std::sqrt(area_mm2_));
        const auto first = std::find_if(loops_.begin(), loops_.end(),
                                        [&](const BoundaryLoop& loop) { return loop.perimeter_mm <= longest; });
        if (first == loops_.end()) return;
        report_.largest_closed_hole_mm = first->perimeter_mm;
        std::vector<LoopGroup> holes;
        for (auto loop = first; loop != loops_.end(); ++loop) {
            Vec3 center;
            for (const VertexId v : loop->vertices)
                center += mesh_.vertices[v] / static_cast<double>(loop->vertices.size());
            report_.closed_holes.push_back({center, loop->perimeter_mm});
            holes.push_back({std::move(*loop)});
        }
        report_.holes_closed = holes.size();
        loops_.erase(first, loops_.end());
        close(holes, FaceOrigin::patched, PatchKind::fair);
    }

    void close_openings() {
        for (const BoundaryLoop& loop : loops_) mesh_.openings.push_back(describe_opening(mesh_, loop));
        const std::vector<LoopGroup> groups = group_openings(mesh_, loops_, mesh_.openings);
        if (!options_.caps_openings || loops_.empty()) return;
        for (Opening& opening : mesh_.openings) opening.is_capped = true;
        close(groups, FaceOrigin::assumed, PatchKind::flat);
    }

    void close(const std::vector<LoopGroup>& groups, FaceOrigin origin, PatchKind kind) {
        needs_check_ = true;
        if (close_loops(mesh_, mate_, groups, origin, kind)) has_flat_patch_ = true;
    }

    void verify() {
        if (has_flat_patch_) remove_degenerate_faces(mesh_);
        if (!needs_check_) return;
        const SideMates sides = match();
        const bool is_sound = sides.crowded.empty() && sides.is_one_way;
        const auto open = static_cast<std::size_t>(std::count(sides.mate.begin(), sides.mate.end(), no_id));
        std::size_t wanted_open = 0;
        for (const Opening& opening : mesh_.openings) wanted_open += opening.is_capped ? 0 : opening.loop.size();
        if (!sides.crowded.empty())
            fail("the surface meets itself at " + place_text(middle_of(sides.crowded.front().front())));
        if (is_sound && open == wanted_open) return;
        const auto at =
            static_cast<SideId>(std::find(sides.mate.begin(), sides.mate.end(), no_id) - sides.mate.begin());
        fail("the surface cannot be mended" + (at < sides.mate.size() ? " at " + place_text(middle_of(at)) : ""));
    }

    [[noreturn]] void fail(const std::string& problem) const {
        throw Error(ErrorCode::bad_input, place_, problem,
                    "clean the scan at that place, or export it again as one surface");
    }

    RepairOptions options_;
    const std::string& place_;
    TriMesh mesh_;
    std::vector<SideId> mate_;
    std::vector<BoundaryLoop> loops_;
    RepairReport report_;
    double area_mm2_ = 0;
    bool needs_check_ = false;
    bool has_flat_patch_ = false;
};

}  // namespace

RepairedMesh repair_mesh(TriMesh soup, const RepairOptions& options, const std::string& place) {
    return Mender(std::move(soup), options, place).mend();
}

}  // namespace cradlewright
