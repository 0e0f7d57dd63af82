// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/layup.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <optional>

#include "base/parallel.hpp"
#include "cradlewright/base/error.hpp"
#include "stages/layup_kit.hpp"
#include "stages/layup_pieces.hpp"
#include "stages/layup_surface.hpp"

namespace cradlewright {
namespace {

// Cells in which sheets of the surface touch give no clean mesh; with the grid elsewhere they seldom touch again.
constexpr double cell_trials[] = {1, 0.83, 0.71, 0.59};

struct Task {
    std::string id, what;
    LaidOn on;
};

/// Half 1 of the mould, half 2, then what the part is laid up in.
std::vector<Task> tasks_of(const Beads& beads, const HiddenFaces& hidden, MouldUse use) {
    std::vector<Task> tasks;
    const auto add = [&](int half) {
        // Without a groove there is no clay, on either side.
        const bool has_own = half == 2 && beads.groove;
        const std::vector<FaceId>* faces = half == 1 ? &hidden.half1 : &hidden.half2;
        const auto* runs = has_own ? &beads.groove->runs : &beads.runs;
        const auto* lines = has_own ? &beads.groove->trim_lines : &beads.trim_lines;
        const std::string name = std::to_string(half);
        tasks.push_back({"mould-" + name,
                         "half " + name + " of the mould: plug, bead and flange",
                         {half, true, runs, faces, lines}});
        tasks.push_back({"part-" + name,
                         "half " + name + " of the part: the plug to its trim line",
                         {half, false, runs, faces, lines}});
    };
    add(1);
    if (use != MouldUse::single) add(2);
    std::ranges::stable_sort(tasks, std::greater{}, [](const Task& t) { return t.on.has_flange; });
    return tasks;
}

Spread least_lock(const std::vector<PlyRun>& plies) {
    constexpr double never = std::numeric_limits<double>::infinity();
    Spread least{never, never, never};
    for (const PlyRun& run : plies)
        if (const Spread lock = lock_angle_rad(run.cloth); lock.low < least.low) least = lock;
    return least;
}

}  // namespace

bool FlatPiece::is_exact() const { return trouble.empty() && std::max(-least_strain, most_strain) <= exact_strain; }

double LaidSurface::cloth_mm2() const {
    double sum = 0;
    for (const ClothPiece& piece : pieces) sum += piece.plies * piece.area_mm2();
    return sum / std::max(1, ply_count());
}

int LaidSurface::ply_count() const {
    int sum = 0;
    for (const PlyRun& run : laminate.plies) sum += run.count;
    return sum;
}

const LaidSurface* find_surface(const Layup& layup, std::string_view id) {
    const auto found = std::ranges::find(layup.surfaces, id, &LaidSurface::id);
    return found == layup.surfaces.end() ? nullptr : &*found;
}

const LaidSurface* find_mould(const Layup& layup, int half) {
    return find_surface(layup, "mould-" + std::to_string(half));
}

Layup plan_layup(const PosedPlug& posed, const Parting& parting, const Flange& flange, const Beads& beads,
                 const HiddenFaces& hidden, const Settings& settings) {
    Layup layup;
    if (!parting.is_found()) return layup;
    const Pose& pose = posed.pose;
    const auto in_fixture = [&](Vec3 plug_axis) {
        return pose.scan_to_fixture.direction_to_parent(pose.plug_in_scan.direction_to_parent(plug_axis));
    };
    const double turn = settings.kit.warp.rad();
    const Vec3 warp = in_fixture({std::cos(turn), std::sin(turn), 0});
    const std::vector<Task> tasks = tasks_of(beads, hidden, settings.mould.use);
    std::vector<LaidSurface> surfaces(tasks.size());
    for_each_piece(tasks.size(), 1, [&](std::size_t first, std::size_t last) {
        for (std::size_t n = first; n < last; ++n) {
            const auto& [id, what, on] = tasks[n];
            LaidSurface& surface = surfaces[n];
            surface.id = id, surface.what = what, surface.is_mould = on.has_flange;
            surface.laminate = surface.is_mould
                                   ? make_laminate(settings, settings.laminate_mould, "laminate.mould.plies")
                                   : make_laminate(settings, settings.laminate_part, "laminate.part.plies");
            surface.lock_rad = least_lock(surface.laminate.plies);
            // The mould's cloth lies on the plug, the part's within the mould.
            const Vec3 away = on.half == 1 ? pose.pull_fixture : -pose.pull_fixture;
            const double cell_mm = layup_cell_mm(posed, parting, flange, on);
            std::optional<SurfaceClusters::Result> clean;
            for (const double finer : cell_trials) {
                surface.cell_mm = finer * cell_mm;
                try {
                    clean = clean_surface(posed, parting, flange, on, surface.cell_mm, on.has_flange ? away : -away);
                    surface.trouble.clear();
                    break;
                } catch (const Error& error) {
                    surface.trouble = error.what();
                }
            }
            if (!clean) continue;
            surface.area_mm2 = mass_properties(clean->mesh).area_mm2;
            surface.deviation_mm = clean->deviation_mm;
            surface.mesh = std::make_shared<const TriMesh>(std::move(clean->mesh));
            if (!surface.laminate.plies.empty()) cut_pieces(surface, *surface.mesh, warp, settings);
        }
    });
    layup.surfaces = std::move(surfaces);
    layup.kit = make_kit(layup.surfaces, {beads.clay_mass_kg, beads.groove ? beads.groove->clay_mass_kg : 0}, settings);
    return layup;
}

}  // namespace cradlewright
