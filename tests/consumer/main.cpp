// SPDX-License-Identifier: GPL-3.0-or-later
// Uses one thing from each end of each installed library, so that a missing dependency shows as a link error.
#include <cmath>
#include <cradlewright/files/job_file.hpp>
#include <cradlewright/files/write_scene.hpp>
#include <cradlewright/pipeline.hpp>
#include <iostream>
#include <numbers>

using namespace cradlewright;

namespace {

/// A closed ellipsoid, 2 n segments by n rings.
TriMesh make_plug(double a, double b, double c, std::uint32_t n) {
    TriMesh mesh;
    for (std::uint32_t i = 1; i < n; ++i)
        for (std::uint32_t j = 0; j < 2 * n; ++j) {
            const double t = std::numbers::pi * i / n, p = std::numbers::pi * j / n;
            mesh.vertices.push_back({a * std::sin(t) * std::cos(p), b * std::sin(t) * std::sin(p), c * std::cos(t)});
        }
    const auto north = static_cast<VertexId>(mesh.vertices.size()), south = north + 1;
    mesh.vertices.push_back({0, 0, c});
    mesh.vertices.push_back({0, 0, -c});
    const auto at = [n](std::uint32_t i, std::uint32_t j) { return (i - 1) * 2 * n + j % (2 * n); };
    for (std::uint32_t j = 0; j < 2 * n; ++j) {
        mesh.triangles.push_back({north, at(1, j), at(1, j + 1)});
        mesh.triangles.push_back({south, at(n - 1, j + 1), at(n - 1, j)});
        for (std::uint32_t i = 1; i + 1 < n; ++i) {
            mesh.triangles.push_back({at(i, j), at(i + 1, j), at(i + 1, j + 1)});
            mesh.triangles.push_back({at(i, j), at(i + 1, j + 1), at(i, j + 1)});
        }
    }
    return mesh;
}

}  // namespace

int main() {
    Settings settings;
    set_setting(settings, "pose.up", "z", Origin::command_line, "consumer");
    set_setting(settings, "pose.span", "x", Origin::command_line, "consumer");
    ScanMesh scan;
    scan.soup = make_plug(120, 40, 20, 24);
    scan.name = "consumer";
    const Build build = run_pipeline(std::move(scan), settings);
    const bool is_whole = build.design.parting.is_found() && !build.checks.checks.empty() &&
                          !ply_bytes(build.design.posed.mesh()).empty() && !job_text(settings).empty();
    std::cout << build.checks.checks.size() << " checks\n";
    return is_whole ? 0 : 1;
}
