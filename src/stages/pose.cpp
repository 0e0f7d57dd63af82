// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/stages/pose.hpp"

#include <Eigen/Eigenvalues>
#include <charconv>
#include <numbers>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"

namespace cradlewright {
namespace {

constexpr double same_direction_rad = 1e-6;  // a told opposite differs from the computed one by rounding
constexpr double snap_cos = 0.9659258;       // 15 deg

struct FoundAxis {
    Vec3 direction;
    std::string from;
};

/// Third moment of the surface along `axis` about the centroid decides a free sign, so a turned scan keeps its ends.
double skewness(const TriMesh& mesh, Vec3 centroid, Vec3 axis) {
    double sum = 0;
    for (FaceId f = 0; f < mesh.face_count(); ++f) {
        const auto c = mesh.corners(f);
        const double t = dot((c[0] + c[1] + c[2]) / 3 - centroid, axis);
        sum += norm(area_vector(c)) * t * t * t;
    }
    return sum;
}

FoundAxis settle_axis(const TriMesh& mesh, Vec3 centroid, Vec3 axis, std::string_view what) {
    constexpr std::array<Vec3, 3> scan_axes{Vec3{1, 0, 0}, Vec3{0, 1, 0}, Vec3{0, 0, 1}};
    constexpr std::array<const char*, 3> names{"x", "y", "z"};
    for (std::size_t i = 0; i < 3; ++i)
        if (std::abs(dot(axis, scan_axes[i])) >= snap_cos)
            return {scan_axes[i], "found: scan " + std::string(names[i]) + ", nearest to the " + std::string(what)};
    if (skewness(mesh, centroid, axis) < 0) axis = -axis;
    return {axis, "found: " + std::string(what)};
}

struct Principal {
    Vec3 least, greatest;
};

Principal principal_axes(const MassProperties& mass) {
    Eigen::Matrix3d m;
    const auto& q = mass.area_moments;
    m << q[0], q[3], q[5], q[3], q[1], q[4], q[5], q[4], q[2];
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver(m);
    const auto column = [&](int i) {
        return normalized(Vec3{solver.eigenvectors()(0, i), solver.eigenvectors()(1, i), solver.eigenvectors()(2, i)});
    };
    return {column(0), column(2)};
}

Frame3 find_plug_frame(const Plug& plug, const PoseOptions& options, Pose& pose) {
    const TriMesh& mesh = *plug.mesh;
    const Vec3 middle = plug.mass_properties.area_centroid;
    const Principal principal = principal_axes(plug.mass_properties);

    FoundAxis up, span;
    up = options.up == "auto" ? settle_axis(mesh, middle, principal.least, "axis of least spread")
                              : FoundAxis{parse_direction(options.up, "pose.up"), "told"};
    span = options.span == "auto" ? settle_axis(mesh, middle, principal.greatest, "axis of greatest spread")
                                  : FoundAxis{parse_direction(options.span, "pose.span"), "told"};
    if (std::abs(dot(up.direction, span.direction)) > 0.999) {
        if (options.span != "auto")
            throw Error(ErrorCode::bad_input, "pose.span", "span and up are parallel",
                        "give two different axes, for example --up z --span x");
        // Told `up` is the long axis: the span becomes the longest direction square to it.
        const Vec3 other = std::abs(dot(principal.least, up.direction)) > 0.9 ? cross(up.direction, principal.greatest)
                                                                              : cross(up.direction, principal.least);
        span = settle_axis(mesh, middle, normalized(other), "axis square to up");
    }
    pose.up_from = up.from;
    pose.span_from = span.from;

    Frame3 frame;
    frame.z = up.direction;
    frame.x = normalized(span.direction - frame.z * dot(span.direction, frame.z));
    frame.y = cross(frame.z, frame.x);

    double low = std::numeric_limits<double>::infinity(), high = -low;
    for (const Vec3& v : mesh.vertices) {
        const double t = dot(v - middle, frame.x);
        low = std::min(low, t);
        high = std::max(high, t);
    }
    const Vec3 center = plug.has_volume() ? plug.mass_properties.centroid : middle;
    const double along = 0.5 * (low + high) + dot(middle, frame.x);
    frame.origin = center + frame.x * (along - dot(center, frame.x));
    return frame;
}

/// Rigid motion plug frame -> fixture frame, without height.
Frame3 turn_of(double tilt_rad, double turn_rad) {
    return compose(rotation_about({0, 0, 1}, turn_rad), rotation_about({1, 0, 0}, tilt_rad));
}

Box3 box_in_fixture(const TriMesh& mesh, const Pose& pose) {
    Box3 box;
    for (const Vec3& v : mesh.vertices) box.add(pose.to_fixture(v));
    return box;
}

/// Half 2's way out, fixture frame, once half 1's is known.
void find_pull_2(const PoseOptions& options, const Frame3& plug_to_fixture, Pose& pose) {
    pose.pull2_fixture = -pose.pull_fixture;
    pose.pull2_from = "opposite to half 1's";
    if (options.pull_2 == "vertical") {
        pose.pull2_fixture = {0, 0, -1};
        pose.pull2_from = "straight down";
    } else if (options.pull_2 == "plug-down") {
        pose.pull2_fixture = plug_to_fixture.direction_to_parent({0, 0, -1});
        pose.pull2_from = "plug's down axis, carried by the tilt";
    } else if (options.pull_2 != "opposite" && options.pull_2 != "best") {
        pose.pull2_fixture = plug_to_fixture.direction_to_parent(parse_direction(options.pull_2, "pose.pull-2"));
        pose.pull2_from = "told";
    }
    if (!pose.has_own_pull_2()) pose.pull2_fixture = -pose.pull_fixture;
    pose.pull2_plug = plug_to_fixture.direction_to_local(pose.pull2_fixture);
    pose.pull2_scan = pose.direction_to_scan(pose.pull2_fixture);
    const double apart = std::numbers::pi - pose.pulls_lean_rad();
    if (apart < std::numbers::pi / 2 + same_direction_rad)
        throw Error(ErrorCode::bad_input, "pose.pull-2",
                    "it lies " + fixed(Angle::rad(apart).deg(), 1) +
                        " deg from half 1's pull; within 90 deg of that half 1 is in half 2's way",
                    "tell a direction on half 2's side of the parting line, or opposite");
}

}  // namespace

bool Pose::has_own_pull_2() const { return pulls_lean_rad() > same_direction_rad; }

double Pose::pulls_lean_rad() const {
    return std::atan2(norm(cross(pull_fixture, pull2_fixture)), -dot(pull_fixture, pull2_fixture));
}

Vec3 Pose::opening_fixture() const { return normalized(pull_fixture - pull2_fixture); }

Vec3 parse_direction(const std::string& text, const std::string& place) {
    std::string_view rest = text;
    double sign = 1;
    if (rest.size() == 2 && (rest[0] == '-' || rest[0] == '+')) {
        sign = rest[0] == '-' ? -1 : 1;
        rest.remove_prefix(1);
    }
    if (rest == "x" || rest == "X") return {sign, 0, 0};
    if (rest == "y" || rest == "Y") return {0, sign, 0};
    if (rest == "z" || rest == "Z") return {0, 0, sign};

    std::array<double, 3> value{};
    const char* at = text.data();
    const char* const end = text.data() + text.size();
    bool is_good = true;
    for (std::size_t i = 0; i < 3 && is_good; ++i) {
        while (at != end && (*at == ' ' || *at == '+')) ++at;
        const auto [next, code] = std::from_chars(at, end, value[i]);
        is_good = code == std::errc{} && std::isfinite(value[i]);
        at = next;
        while (at != end && *at == ' ') ++at;
        if (i < 2) is_good = is_good && at != end && *at++ == ',';
    }
    const Vec3 direction{value[0], value[1], value[2]};
    if (!is_good || at != end || norm(direction) == 0)
        throw Error(ErrorCode::bad_input, place, "\"" + text + "\" is no direction",
                    "use x -x y -y z -z or three numbers such as 0,0.2,1");
    return normalized(direction);
}

PosedPlug pose_plug(const Plug& plug, const PoseOptions& options, double clearance_mm) {
    CRADLEWRIGHT_PRECONDITION(plug.mesh && !plug.mesh->triangles.empty());
    PosedPlug posed{plug, {}, {}};
    Pose& pose = posed.pose;
    pose.tilt_rad = options.tilt.rad();
    pose.turn_rad = options.turn.rad();
    pose.plug_in_scan = find_plug_frame(plug.scanned(), options, pose);

    const Frame3 plug_to_fixture = turn_of(pose.tilt_rad, pose.turn_rad);
    pose.scan_to_fixture = compose(plug_to_fixture, inverse(pose.plug_in_scan));

    if (options.pull == "vertical" || options.pull == "best") {
        pose.pull_fixture = {0, 0, 1};
        pose.pull_from = "vertical";
    } else if (options.pull == "plug-up") {
        pose.pull_fixture = plug_to_fixture.direction_to_parent({0, 0, 1});
        pose.pull_from = "plug's up axis, carried by the tilt";
    } else {
        pose.pull_fixture = plug_to_fixture.direction_to_parent(parse_direction(options.pull, "pose.pull"));
        pose.pull_from = "told";
    }
    pose.pull_plug = plug_to_fixture.direction_to_local(pose.pull_fixture);
    pose.pull_scan = pose.direction_to_scan(pose.pull_fixture);
    find_pull_2(options, plug_to_fixture, pose);

    const Box3 box = box_in_fixture(*plug.mesh, pose);
    posed.box_fixture = box;
    return shifted(posed, clearance_mm - box.low.z);
}

Vec3 scanned_size(const PosedPlug& posed) {
    return posed.plug.unextended ? box_in_fixture(*posed.plug.unextended->mesh, posed.pose).size()
                                 : posed.box_fixture.size();
}

PosedPlug shifted(const PosedPlug& posed, double dz_mm) {
    PosedPlug result = posed;
    result.pose.scan_to_fixture.origin.z += dz_mm;
    result.box_fixture.low.z += dz_mm;
    result.box_fixture.high.z += dz_mm;
    return result;
}

}  // namespace cradlewright
