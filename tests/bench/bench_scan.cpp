// SPDX-License-Identifier: GPL-3.0-or-later
#include <CLI/CLI.hpp>
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <fstream>
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
    std::vector<std::size_t> triangles{100'000, 1'000'000, 5'000'000};
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

void print_cost(const char* what, const bench::Cost& cost, const bench::Cost& peer) {
    if (cost.exit_code < 0 || cost.exit_code > 1) {
        std::printf("%-44s failed, exit %d\n", what, cost.exit_code);
        return;
    }
    std::printf("%-44s %9.3f s %9.1f MiB %9.2f %9.2f\n", what, cost.wall_s, cost.peak_mib, cost.wall_s / peer.wall_s,
                cost.peak_mib / peer.peak_mib);
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

/// Programs that run alone, so that time and memory are theirs. The peers only load and join, or load and mend; ours
/// does everything and writes everything.
bool compare_programs(const Request& request, const std::string& self, const std::string& scan) {
    const auto step = [&](const char* name) {
        return bench::median_run({self, "--step", name, "--file", scan}, request.repeats);
    };
    const bench::Cost assimp = step("assimp"), cgal = step("cgal");
    const bench::Cost vtk = bench::median_run({BENCH_PYTHON, BENCH_VTK, "load", scan}, request.repeats);
    // Exit 1 says that some check failed; everything was still written.
    const bench::Cost ours =
        bench::median_run({request.program, "make", scan, "--unit", "mm", "--up", "z", "--span", "x", "--tilt", "6deg",
                           "--quiet", "--overwrite", "--out", (fs::path(request.folder) / "made").string()},
                          request.repeats, 1);
    std::printf("%-44s %11s %13s %19s\n", "", "wall", "peak", "ratios to Assimp");
    print_cost("Assimp: load, drop normals, join", assimp, assimp);
    print_cost("VTK: load, join (with its Python start)", vtk, assimp);
    print_cost("CGAL: load, join, drop, turn faces one way", cgal, assimp);
    print_cost("cradlewright make: all outputs", ours, assimp);
    std::printf("%-44s %11s %33s\n", "stage, alone", "", "to Assimp");
    for (const bench::StageTime& stage : median_stages(scan, request.repeats))
        std::printf("  %-42s %9.3f s %33.2f\n", stage.stage.c_str(), stage.wall_s, stage.wall_s / assimp.wall_s);
    return assimp.exit_code == 0 && (ours.exit_code == 0 || ours.exit_code == 1);
}

/// Square to X.
const Frame3 across_span{{}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}};

struct SlicesRun {
    double seconds = 0, length_mm = 0;
};
SlicesRun slice_ourselves(const TriMesh& mesh, const std::vector<double>& stations, int repeats) {
    SlicesRun best;
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

/// VTK's cutter, all planes in one pass; its clock does not count the loading. Least of the repeats, as for ours.
SlicesRun slice_with_vtk(const Request& request, const std::string& scan) {
    const std::string result = (fs::path(request.folder) / "vtk.txt").string();
    SlicesRun best;
    for (int i = 0; i < request.repeats; ++i) {
        const bench::Cost run = bench::run_child({BENCH_PYTHON, BENCH_VTK, "slice", scan, result,
                                                  std::to_string(demo::Blade{}.span_mm), std::to_string(slice_count)});
        SlicesRun slices;
        std::ifstream file(result);
        if (run.exit_code != 0 || !(file >> slices.seconds >> slices.length_mm))
            throw Error(ErrorCode::io, BENCH_VTK, "did not run", "install python3-vtk9");
        if (i == 0 || slices.seconds < best.seconds) best = slices;
    }
    return best;
}

void compare_slicers(const Request& request, std::size_t triangles, const std::string& scan) {
    const TriMesh mesh = noisy_blade(triangles);
    std::vector<double> stations;
    for (int i = 0; i < slice_count; ++i) stations.push_back(demo::Blade{}.span_mm * (i + 0.5) / slice_count);
    const bench::SlicerRun cgal = bench::slice_with_cgal(mesh, stations);
    const SlicesRun vtk = slice_with_vtk(request, scan);
    const SlicesRun ours = slice_ourselves(mesh, stations, request.repeats);
    const auto print = [&](const char* what, double seconds, double length) {
        std::printf("%-44s %11.4f s %9.1f mm %10.1f\n", what, seconds, length, seconds / ours.seconds);
    };
    std::printf("%d sections %50s %13s\n", slice_count, "length", "ratio to ours");
    print("CGAL: slicer with its tree", cgal.tree_s + cgal.slices_s, cgal.length_mm);
    print("CGAL: slicer, tree not counted", cgal.slices_s, cgal.length_mm);
    print("VTK: cutter", vtk.seconds, vtk.length_mm);
    print("slice_mesh", ours.seconds, ours.length_mm);
    std::printf("\n");
    std::fflush(stdout);
}

int run_step(const Request& request) {
    if (request.step == "scan")
        demo::write_stl(noisy_blade(request.triangles.front()), request.file);
    else if (request.step == "assimp")
        bench::import_with_assimp(request.file);
    else if (request.step == "cgal")
        bench::mend_with_cgal(request.file);
    else
        throw Error(ErrorCode::bad_input, "--step", "unknown step", "leave it to the program itself");
    return 0;
}

bool run_size(const Request& request, const std::string& self, std::size_t triangles) {
    const std::string scan = (fs::path(request.folder) / "blade.stl").string();
    const bench::Cost made =
        bench::run_child({self, "--step", "scan", "--file", scan, "--triangles", std::to_string(triangles)});
    if (made.exit_code != 0) throw Error(ErrorCode::io, scan, "the scan could not be made");
    std::printf("noisy blade, %zu triangles, %.1f MB of binary STL; medians of %d runs\n", triangles,
                static_cast<double>(fs::file_size(scan)) / 1e6, request.repeats);
    const bool is_done = compare_programs(request, self, scan);
    compare_slicers(request, triangles, scan);
    return is_done;
}

int run_all(const Request& request) {
    const std::string self = fs::read_symlink("/proc/self/exe").string();
    fs::create_directories(request.folder);
    bool is_done = true;
    for (const std::size_t triangles : request.triangles) is_done = run_size(request, self, triangles) && is_done;
    return is_done ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app("Time and memory of a large scan, against general libraries.");
    Request request;
    app.add_option("--triangles", request.triangles, "of the scans, one table each")
        ->check(CLI::Range(1000, 20'000'000));
    app.add_option("--repeats", request.repeats, "runs of which the median counts")->check(CLI::Range(1, 99));
    app.add_option("--program", request.program, "the cradlewright program");
    app.add_option("--folder", request.folder, "where scan and outputs go");
    app.add_option("--step", request.step)->group("");
    app.add_option("--file", request.file)->group("");
    CLI11_PARSE(app, argc, argv);
    if (request.triangles.empty()) return 2;
    try {
        return request.step.empty() ? run_all(request) : run_step(request);
    } catch (const std::exception& error) {
        std::fprintf(stderr, "bench_scan: %s\n", error.what());
        return 2;
    }
}
