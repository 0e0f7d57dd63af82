// SPDX-License-Identifier: GPL-3.0-or-later
#include <CLI/CLI.hpp>
#include <array>
#include <iostream>
#include <numbers>
#include <string>

#include "plugs.hpp"

namespace {

using namespace cradlewright;

struct Request {
    std::string shape, out;
    demo::ScanOptions scan;
    std::array<double, 3> turn_deg{}, shift_mm{};
};

/// Turns about the fixed X, then Y, then Z.
Frame3 pose_of(const Request& request) {
    Frame3 pose;
    pose.origin = {request.shift_mm[0], request.shift_mm[1], request.shift_mm[2]};
    const std::array<Vec3, 3> axes = {Vec3{1, 0, 0}, Vec3{0, 1, 0}, Vec3{0, 0, 1}};
    for (std::size_t i = 0; i < 3; ++i) {
        const Frame3 step = rotation_about(axes[i], request.turn_deg[i] * std::numbers::pi / 180);
        for (Vec3* axis : {&pose.x, &pose.y, &pose.z}) *axis = step.direction_to_parent(*axis);
    }
    return pose;
}

TriMesh make(const std::string& shape, const demo::ScanOptions& options) {
    if (shape == "blade") return demo::make_scan(demo::Blade{}, options);
    if (shape == "daggerboard") return demo::make_scan(demo::Daggerboard{}, options);
    if (shape == "seat") return demo::make_scan(demo::Seat{}, options);
    return demo::make_scan(demo::Scoop{}, options);
}

void add_options(CLI::App& app, Request& request) {
    using Style = demo::Triangulation;
    const std::map<std::string, Style> styles = {
        {"regular", Style::regular}, {"irregular", Style::irregular}, {"shuffled", Style::shuffled}};
    demo::ScanOptions& scan = request.scan;
    app.add_option("shape", request.shape, "which plug")
        ->required()
        ->check(CLI::IsMember({"blade", "daggerboard", "seat", "scoop"}));
    app.add_option("--out", request.out, "binary STL to write")->required();
    app.add_option("--triangles", scan.triangles, "about how many")->check(CLI::Range(500, 20'000'000));
    app.add_option("--noise", scan.noise_mm, "standard deviation along the normal, mm")->check(CLI::Range(0.0, 5.0));
    app.add_option("--seed", scan.seed, "of everything drawn by lot");
    app.add_option("--scale", scan.scale, "of all lengths but the noise")->check(CLI::Range(0.01, 100.0));
    app.add_option("--style", scan.triangulation, "regular, irregular or shuffled")
        ->transform(CLI::CheckedTransformer(styles));
    app.add_option("--turn", request.turn_deg, "X,Y,Z: turned about X, then Y, then Z, degrees")->delimiter(',');
    app.add_option("--shift", request.shift_mm, "X,Y,Z: then moved, mm")->delimiter(',');
    app.add_option("--holes", scan.defects.holes, "round patches left out")->check(CLI::Range(0, 1000));
    app.add_option("--strays", scan.defects.strays, "small shells beside the plug")->check(CLI::Range(0, 1000));
    app.add_option("--flipped", scan.defects.flipped, "patches turned inside out")->check(CLI::Range(0, 1000));
    app.add_option("--duplicates", scan.defects.duplicates, "triangles written twice")->check(CLI::Range(0, 100000));
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app("Makes the demo plugs as scans with a known closed form.");
    Request request;
    add_options(app, request);
    CLI11_PARSE(app, argc, argv);
    try {
        request.scan.pose = pose_of(request);
        const TriMesh mesh = make(request.shape, request.scan);
        demo::write_stl(mesh, request.out);
        std::cout << request.out << ": " << mesh.face_count() << " triangles\n";
        return 0;
    } catch (const std::exception& error) {
        std::cerr << "make_plugs: " << error.what() << '\n';
        return 2;
    }
}
