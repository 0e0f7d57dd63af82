// SPDX-License-Identifier: GPL-3.0-or-later
// The noise that was put into the demo plugs, found again. Truth: the deviation that their maker was told.
#include <catch2/catch.hpp>
#include <cmath>

#include "cradlewright/geom/mesh_repair.hpp"
#include "plugs.hpp"

using namespace cradlewright;
using namespace cradlewright::demo;

namespace {

template <typename Shape>
void check_noise(const Shape& shape, std::size_t triangles, Triangulation kind) {
    for (const double sigma : {0.02, 0.05, 0.12}) {
        for (const std::uint32_t seed : {1u, 2u, 3u}) {
            ScanOptions options;
            options.triangles = triangles;
            options.triangulation = kind;
            options.noise_mm = sigma;
            options.seed = seed;
            options.defects.holes = 2;
            INFO(triangles << " triangles, kind " << static_cast<int>(kind) << ", sigma " << sigma << ", seed "
                           << seed);
            const RepairedMesh mended = repair_mesh(make_scan(shape, options), {}, "scan");
            CHECK(mended.report.noise_mm == Approx(sigma).epsilon(0.2));
        }
    }
}

}  // namespace

TEMPLATE_TEST_CASE("noise of a scan is found within a fifth", "[demo][noise]", Blade, Daggerboard, Seat, Scoop) {
    check_noise(TestType{}, 30000, Triangulation::irregular);
    check_noise(TestType{}, 30000, Triangulation::shuffled);
    check_noise(TestType{}, 100000, Triangulation::regular);
}

TEMPLATE_TEST_CASE("noise of a large scan is found within a fifth", "[demo][noise][slow]", Blade, Seat) {
    ScanOptions options;
    options.triangles = 1000000;
    options.noise_mm = 0.04;
    options.seed = 5;
    CHECK(repair_mesh(make_scan(TestType{}, options), {}, "scan").report.noise_mm == Approx(0.04).epsilon(0.2));
}
