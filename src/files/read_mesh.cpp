// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/files/read_mesh.hpp"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cmath>
#include <fstream>
#include <system_error>
#include <utility>

#include "cradlewright/base/error.hpp"
#include "cradlewright/base/units.hpp"
#include "files/scan_formats.hpp"
#include "files/text_words.hpp"

namespace cradlewright {

namespace {

namespace fs = std::filesystem;

std::size_t size_of_file(const fs::path& path, const std::string& place) {
    std::error_code error;
    const fs::file_status status = fs::status(path, error);
    if (!fs::exists(status)) fail_scan(place, "no such file", "check the path");
    if (!fs::is_regular_file(status)) fail_scan(place, "is not a file");
    const std::uintmax_t size = fs::file_size(path, error);
    if (error) fail_reading(place, error.value());
    if (size == 0) fail_scan(place, "is empty (0 bytes)", "copy or export the scan again");
    return static_cast<std::size_t>(size);
}

std::string read_bytes(const fs::path& path, std::size_t size, const std::string& place) {
    std::string bytes(size, '\0');
    errno = 0;
    std::ifstream file(path, std::ios::binary);
    if (!file || !file.read(bytes.data(), static_cast<std::streamsize>(size))) fail_reading(place, errno);
    return bytes;
}

using TextReader = FileMesh (*)(std::string_view, const std::string&);
struct Format {
    std::string_view ending, name;
    TextReader read;
};
constexpr std::array<Format, 5> formats{{{".obj", "obj", &read_obj},
                                         {".ply", "ply", &read_ply},
                                         {".off", "off", &read_off},
                                         {".glb", "glb", &read_glb},
                                         {".3mf", "3mf", &read_3mf}}};

FileMesh read_stl(const fs::path& path, std::size_t size, const std::string& place, std::string& format) {
    constexpr std::size_t start_size = 128;
    const std::string start = read_bytes(path, std::min(size, start_size), place);
    if (is_binary_stl(start, size)) {
        format = "stl-binary";
        return read_binary_stl(path, size, place);
    }
    format = "stl-ascii";
    return read_ascii_stl(read_bytes(path, size, place), place);
}

FileMesh read_file(const fs::path& path, const std::string& place, std::string& format) {
    const std::string ending = path.extension().string();
    const auto is_ending = [&](std::string_view wanted) { return equals_ignoring_case(ending, wanted); };
    const auto known =
        std::find_if(formats.begin(), formats.end(), [&](const Format& f) { return is_ending(f.ending); });
    const std::size_t size = size_of_file(path, place);
    if (is_ending(".stl")) return read_stl(path, size, place, format);
    if (known == formats.end())
        fail_scan(place, "its ending names no format that is read here", "use .stl, .obj, .ply, .off, .3mf or .glb");
    format = known->name;
    return known->read(read_bytes(path, size, place), place);
}

double largest_of(Vec3 size) { return std::max({size.x, size.y, size.z}); }

void set_unit(ScanMesh& scan, const PlugOptions& options, double format_mm) {
    const Vec3 size = bounding_box(scan.soup).size();
    if (!options.unit.empty()) {
        scan.unit_factor = unit_factor(options.unit);
        scan.unit_from = "told";
    } else if (format_mm > 0) {
        scan.unit_factor = format_mm;
        scan.unit_from = "format";
    } else if (!options.known.empty()) {
        const double known = parse_known(options.known, "--known").mm();
        if (!(largest_of(size) > 0)) fail_scan(options.scan, "has no extent, so a known length cannot fix its scale");
        scan.unit_factor = known / largest_of(size);
        scan.unit_from = "known length";
    } else {
        fail_scan(options.scan, "the file does not say its unit: " + size_in_each_unit(size),
                  "add --unit with the right one, or --known \"LENGTH along span\"");
    }
}

/// The second scan, with the first one's unit.
TriMesh read_second(const PlugOptions& options, const ScanMesh& first) {
    if (options.second_scan.empty())
        throw Error(ErrorCode::bad_input, "plug.second-scan", "plug.opening is \"join\" but no second scan is told",
                    "name its file, or choose keep, cap or mirror");
    std::string format;
    FileMesh file = read_file(fs::path(options.second_scan), options.second_scan, format);
    const double factor = first.unit_from == "format" && file.mm_per_unit > 0 ? file.mm_per_unit : first.unit_factor;
    if (factor != 1)
        for (Vec3& p : file.mesh.vertices) p = p * factor;
    return std::move(file.mesh);
}

}  // namespace

double unit_factor(std::string_view unit) {
    for (const auto& [name, mm] : scan_units)
        if (name == unit) return mm;
    throw Error(ErrorCode::bad_input, "--unit", "\"" + std::string(unit) + "\" is no unit", "use mm, cm, m, in or ft");
}

ScanMesh read_scan(const PlugOptions& options) {
    const fs::path path(options.scan);
    // A slip in these should not wait for a long read.
    if (!options.unit.empty()) unit_factor(options.unit);
    if (!options.known.empty()) parse_known(options.known, "--known");
    ScanMesh scan;
    scan.name = path.stem().string();
    FileMesh file = read_file(path, options.scan, scan.format);
    scan.soup = std::move(file.mesh);
    scan.note = std::move(file.note);
    set_unit(scan, options, file.mm_per_unit);
    if (scan.unit_factor != 1)
        for (Vec3& p : scan.soup.vertices) p = p * scan.unit_factor;
    if (options.opening == PlugOpening::join) scan.second = read_second(options, scan);
    return scan;
}

}  // namespace cradlewright
