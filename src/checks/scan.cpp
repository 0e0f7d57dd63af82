// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>

#include "checks/families.hpp"
#include "cradlewright/geom/mesh_index.hpp"

namespace cradlewright {
namespace {

// A scan off by more than this, or by this share of the length, was taken in the wrong unit or has drifted.
constexpr double caliper_slack_mm = 0.5, caliper_slack_share = 0.003;

double extent_along(const Design& design, Vec3 axis_scan) {
    double low = std::numeric_limits<double>::infinity(), high = -low;
    for (const Vec3& v : design.posed.mesh().vertices) {
        const double t = dot(v, axis_scan);
        low = std::min(low, t);
        high = std::max(high, t);
    }
    return high - low;
}

/// What a caliper set to this check would read on the scan.
double scan_reading(const Design& design, const CaliperCheck& caliper) {
    const Frame3& plug = design.posed.pose.plug_in_scan;
    if (caliper.axis == "span") return extent_along(design, plug.x);
    if (caliper.axis == "front") return extent_along(design, plug.y);
    if (caliper.axis == "up") return extent_along(design, plug.z);
    const MeshIndex index(design.posed.mesh());
    return norm(index.nearest(plug.to_parent(*caliper.to)).point - index.nearest(plug.to_parent(*caliper.from)).point);
}

}  // namespace

std::vector<Check> check_scan_quality(const Design& design) {
    const Plug& plug = design.posed.plug;
    Check c;
    c.id = "scan.quality";
    c.subject = plug.name;
    c.value = Quantity::of(Length::mm(plug.noise_mm));
    c.low = Quantity::of(Length::mm(0.8 * plug.noise_mm));  // the estimate is good to 20 %
    c.high = Quantity::of(Length::mm(1.2 * plug.noise_mm));
    c.limit = Quantity::of(design.settings.flange.gap / 2);
    c.relation = Relation::at_most;
    c.formula = "1.4826 median |normal part of the twice-applied umbrella operator| / 1.359";
    c.source = Source::derived("noise gain of the operator on a six-valent mesh; limit: half the panel gap");
    c.advice = c.high.value <= c.limit.value
                   ? "scan is quiet enough to cut by"
                   : "rescan with finer steps, or open flange.gap to " + fixed(2.4 * plug.noise_mm, 2) + " mm";
    return {judged(std::move(c))};
}

std::vector<Check> check_scan_caliper(const Design& design) {
    if (design.settings.calipers.empty())
        return {not_applicable_check("scan.caliper", "scan",
                                     "no [[caliper]] was given; three measured lengths would catch a wrong unit")};
    std::vector<Check> checks;
    for (const CaliperCheck& caliper : design.settings.calipers) {
        const double reading = scan_reading(design, caliper), measured = caliper.measured.mm();
        Check c;
        c.id = "scan.caliper";
        c.subject = caliper.name;
        c.value = Quantity::of(Length::mm(std::abs(reading - measured)));
        const double doubt = 2 * design.posed.plug.noise_mm;
        c.low = Quantity::of(Length::mm(std::max(0.0, c.value.value - doubt)));
        c.high = Quantity::of(Length::mm(c.value.value + doubt));
        c.limit = Quantity::of(Length::mm(std::max(caliper_slack_mm, caliper_slack_share * measured)));
        c.relation = Relation::at_most;
        c.formula = "|scan - caliper|; limit the larger of 0.5 mm and 0.3 %";
        c.source = Source::common_practice("what a hand scanner holds over a metre");
        c.advice = c.value.value <= c.limit.value ? "scan agrees with the caliper"
                                                  : "scan reads " + fixed(reading, 2) + " mm where the caliper reads " +
                                                        fixed(measured, 2) + " mm: scale it with --known";
        checks.push_back(judged(std::move(c)));
    }
    return checks;
}

}  // namespace cradlewright
