// SPDX-License-Identifier: GPL-3.0-or-later
#include <CLI/CLI.hpp>
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <string>
#include <vector>

#include "child.hpp"
#include "cradlewright/base/error.hpp"
#include "cradlewright/geom/polyline.hpp"
#include "cradlewright/geom/slices.hpp"
#include "peers.hpp"
#include "plugs.hpp"
#include "stages.hpp"

/// \file Our program on a large scan against what general libraries need for a part of it. Each step runs in a child of
/// its own, so that one's memory does not count for the other.
namespace {

using namespace cradlewright;
namespace fs = std::filesystem;

struct Request {
    std::size_t triangles = 1'000'000;
    int repeats = 3;
    std::string program = BENCH_PROGRAM;
    std::string folder = (fs::temp_directory_path() / "cradlewright-bench").string();
    std::string step, file;  ///< set in a child only
};

constexpr int slice_count = 20;

TriMesh noisy_blade(std::size_t triangles) {
    demo::ScanOptions options;
    options.triangles = triangles;
    options.noise_mm = 0.02;
    options.triangulation = demo::Triangulation::shuffled;
    options.defects.strays = 1;
    return demo::make_scan(demo::Blade{}, options);
}

void print_cost(const char* what, const bench::Cost& cost) {
    std::printf("%-44s %9.3f s %9.1f MiB   exit %d\n", what, cost.wall_s, cost.peak_mib, cost.exit_code);
}

std::vector<bench::StageTime> median_stages(const std::string& scan, int repeats) {
    std::vector<std::vector<bench::StageTime>> runs;
    for (int i = 0; i < repeats; ++i) runs.push_back(bench::time_stages(scan));
    std::vector<bench::StageTime> medians = runs.front();
    for (std::size_t s = 0; s < medians.size(); ++s) {
        std::sort(runs.begin(), runs.end(), [s](const auto& a, const auto& b) { return a[s].wall_s < b[s].wall_s; });
        medians[s] = runs[runs.size() / 2][s];
    }
    return medians;
}

bool compare_import(const Request& request, const std::string& self, const std::string& scan) {
    const bench::Cost peer = bench::median_run({self, "--step", "assimp", "--file", scan}, request.repeats);
    // Exit 1 says that some check failed; everything was still written.
    const bench::Cost ours =
        bench::median_run({request.program, "make", scan, "--unit", "mm", "--up", "z", "--span", "x", "--tilt", "6deg",
                           "--quiet", "--overwrite", "--out", (fs::path(request.folder) / "made").string()},
                          request.repeats, 1);
    print_cost("Assimp: load, drop normals, join", peer);
    print_cost("cradlewright make: all outputs", ours);
    std::printf("%-44s %9.2f   %9.2f\n\n", "ratio, ours to Assimp (wanted <= 1.5, <= 1)", ours.wall_s / peer.wall_s,
                ours.peak_mib / peer.peak_mib);
    std::printf("%-44s %11s %18s\n", "stage, alone", "median", "ratio to Assimp");
    for (const bench::StageTime& stage : median_stages(scan, request.repeats))
        std::printf("%-44s %9.3f s %18.2f\n", stage.stage.c_str(), stage.wall_s, stage.wall_s / peer.wall_s);
    std::printf("\n");
    return peer.exit_code == 0 && (ours.exit_code == 0 || ours.exit_code == 1);
}

/// Square to X.
const Frame3 across_span{{}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}};

struct OurSlices {
    double seconds = 0, length_mm = 0;
};
OurSlices slice_ourselves(const TriMesh& mesh, const std::vector<double>& stations, int repeats) {
    OurSlices best;
    for (int i = 0; i < repeats; ++i) {
        const auto start = std::chrono::steady_clock::now();
        const std::vector<Slice> slices = slice_mesh(mesh, across_span, stations);
        const std::chrono::duration<double> spent = std::chrono::steady_clock::now() - start;
        best.seconds = i == 0 ? spent.count() : std::min(best.seconds, spent.count());
        best.length_mm = 0;
        for (const Slice& slice : slices)
            for (const SliceLoop& loop : slice) best.length_mm += polyline_length(loop.points, loop.is_closed);
    }
    return best;
}

void compare_slicers(const Request& request) {
    const TriMesh mesh = noisy_blade(request.triangles);
    std::vector<double> stations;
    for (int i = 0; i < slice_count; ++i) stations.push_back(demo::Blade{}.span_mm * (i + 0.5) / slice_count);
    const bench::SlicerRun peer = bench::slice_with_cgal(mesh, stations);
    const OurSlices ours = slice_ourselves(mesh, stations, request.repeats);
    std::printf("%d sections of %zu triangles\n", slice_count, mesh.face_count());
    std::printf("%-44s %9.4f s (tree %.4f, slices %.4f), %.1f mm\n", "CGAL Polygon_mesh_slicer with its tree",
                peer.tree_s + peer.slices_s, peer.tree_s, peer.slices_s, peer.length_mm);
    std::printf("%-44s %9.4f s, %.1f mm\n", "slice_mesh", ours.seconds, ours.length_mm);
    std::printf("%-44s %9.1f\n", "ratio, CGAL to ours (wanted >= 50)", (peer.tree_s + peer.slices_s) / ours.seconds);
    std::fflush(stdout);
}

int run_step(const Request& request) {
    if (request.step == "scan")
        demo::write_stl(noisy_blade(request.triangles), request.file);
    else if (request.step == "assimp")
        bench::import_with_assimp(request.file);
    else
        throw Error(ErrorCode::bad_input, "--step", "unknown step", "leave it to the program itself");
    return 0;
}

int run_all(const Request& request) {
    const std::string self = fs::read_symlink("/proc/self/exe").string();
    fs::create_directories(request.folder);
    const std::string scan = (fs::path(request.folder) / "blade.stl").string();
    const std::string triangles = std::to_string(request.triangles);
    const bench::Cost made = bench::run_child({self, "--step", "scan", "--file", scan, "--triangles", triangles});
    if (made.exit_code != 0) throw Error(ErrorCode::io, scan, "the scan could not be made");
    std::printf("noisy blade, %s triangles, %.1f MB of binary STL; medians of %d runs\n", triangles.c_str(),
                static_cast<double>(fs::file_size(scan)) / 1e6, request.repeats);
    const bool is_done = compare_import(request, self, scan);
    compare_slicers(request);
    return is_done ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app("Time and memory of a large scan, against general libraries.");
    Request request;
    app.add_option("--triangles", request.triangles, "of the scan")->check(CLI::Range(1000, 20'000'000));
    app.add_option("--repeats", request.repeats, "runs of which the median counts")->check(CLI::Range(1, 99));
    app.add_option("--program", request.program, "the cradlewright program");
    app.add_option("--folder", request.folder, "where scan and outputs go");
    app.add_option("--step", request.step)->group("");
    app.add_option("--file", request.file)->group("");
    CLI11_PARSE(app, argc, argv);
    try {
        return request.step.empty() ? run_all(request) : run_step(request);
    } catch (const std::exception& error) {
        std::fprintf(stderr, "bench_scan: %s\n", error.what());
        return 2;
    }
}
