// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/plug.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "base/parallel.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"
#include "geom/degenerate_faces.hpp"
#include "geom/mesh_weld.hpp"
#include "stages/plug_opening.hpp"

namespace cradlewright {

namespace {

// Beyond these a wrong unit is far likelier than such a plug. Source: assumed.
constexpr double largest_plug_mm = 50000, smallest_plug_mm = 5;

double largest_of(Vec3 size) { return std::max({size.x, size.y, size.z}); }

/// Three figures or so.
std::string short_number(double value) { return fixed(value, value < 10 ? 2 : value < 100 ? 1 : 0); }

std::string short_size(Vec3 mm) {
    constexpr double very_large_mm = 1e9;
    if (!(largest_of(mm) < very_large_mm)) return "over 1000 km";
    const bool in_metres = largest_of(mm) >= 1000;
    const Vec3 s = in_metres ? mm / 1000 : mm;
    return short_number(s.x) + " x " + short_number(s.y) + " x " + short_number(s.z) + (in_metres ? " m" : " mm");
}

void check_size(const TriMesh& mesh, const ScanMesh& scan) {
    const Vec3 size = bounding_box(mesh).size();
    const double largest = largest_of(size);
    if (largest <= largest_plug_mm && largest >= smallest_plug_mm) return;
    throw Error(ErrorCode::bad_input, scan.name,
                "the plug is " + short_size(size) + ", " +
                    (largest > largest_plug_mm ? "longer than 50 m" : "smaller than 5 mm") +
                    " (unit: " + scan.unit_from + "); " + size_in_each_unit(size / scan.unit_factor),
                "say the unit with --unit, or --known \"LENGTH along span\"");
}

TriMesh without_caps(TriMesh mesh) {
    std::vector<char> is_assumed(mesh.face_count(), 0);
    for (FaceId f = 0; f < mesh.face_count(); ++f) is_assumed[f] = mesh.origin_of(f) == FaceOrigin::assumed ? 1 : 0;
    drop_faces(mesh, is_assumed);
    for (Opening& opening : mesh.openings) opening.is_capped = false;
    number_by_first_use(mesh);
    return mesh;
}

}  // namespace

std::string size_in_each_unit(Vec3 size) {
    std::string text;
    for (const auto& [name, mm] : scan_units)
        text += (text.empty() ? "" : ", ") + std::string("--unit ") + std::string(name) + " makes it " +
                short_size(size * mm);
    return text;
}

Plug mend_plug(ScanMesh scan, const PlugOptions& options) {
    const std::string& place = options.scan.empty() ? scan.name : options.scan;
    Plug plug;
    plug.cap_is_told = options.opening == PlugOpening::cap;
    RepairedMesh mended = complete_scan(scan, options, place, plug);
    check_size(mended.mesh, scan);

    plug.name = std::move(scan.name);
    plug.note = std::move(scan.note);
    plug.noise_mm = mended.report.noise_mm;
    plug.repair = std::move(mended.report);
    return with_surface(std::move(plug), std::move(mended.mesh), options.density);
}

Plug with_surface(Plug plug, TriMesh mesh, Density density) {
    plug.is_closed = mesh.openings.empty();
    plug.has_assumed_cap =
        std::any_of(mesh.openings.begin(), mesh.openings.end(), [](const Opening& o) { return o.is_capped; });
    run_together({[&] { plug.mass_properties = mass_properties(plug.has_volume() ? mesh : without_caps(mesh)); },
                  [&] { plug.adjacency = std::make_shared<const std::vector<FaceId>>(face_adjacency(mesh)); }});
    plug.mass_kg = plug.has_volume() ? plug.mass_properties.volume_mm3 * density.kg_mm3()
                                     : std::numeric_limits<double>::quiet_NaN();
    plug.mesh = std::make_shared<const TriMesh>(std::move(mesh));
    return plug;
}

TriMesh kept_surface(const Plug& plug) { return plug.has_volume() ? *plug.mesh : without_caps(*plug.mesh); }

}  // namespace cradlewright
