// SPDX-License-Identifier: GPL-3.0-or-later
// Formats: ASCII STL as of 3D Systems, "StereoLithography Interface Specification" (1989); Wavefront OBJ, "Advanced
// Visualizer Manual", appendix B1; OFF as of the Geomview manual, "Object File Formats". All from memory.
#include <array>
#include <utility>
#include <vector>

#include "files/scan_formats.hpp"
#include "files/text_words.hpp"
#include "geom/mesh_weld.hpp"

namespace cradlewright {

namespace {

class AsciiStl {
public:
    AsciiStl(std::string_view bytes, const std::string& place)
        : lines_(bytes, place), place_(place), size_(bytes.size()), welder_(bytes.size() / 512) {}

    FileMesh read() && {
        while (lines_.next()) read_line();
        if (is_open_ || corner_count_ != 0)
            fail_scan(place_, "is cut short: it ends at byte " + std::to_string(size_) + " without endsolid",
                      "copy or export the scan again");
        if (triangles_.empty()) fail_no_triangles(place_);
        FileMesh out;
        out.mesh.vertices = welder_.take();
        out.mesh.triangles = std::move(triangles_);
        return out;
    }

private:
    void read_line() {
        const std::vector<std::string_view>& words = lines_.words();
        for (std::size_t i = 0; i < words.size(); ++i) {
            if (is_word(words[i], "vertex")) {
                add_corner({lines_.real(i + 1), lines_.real(i + 2), lines_.real(i + 3)});
                i += 3;
            } else if (is_word(words[i], "solid") || is_word(words[i], "endsolid")) {
                is_open_ = is_word(words[i], "solid");
                return;  // the rest is a name
            } else if (is_word(words[i], "normal")) {
                i += 3;  // derived from the corners instead
            } else if (is_word(words[i], "endfacet")) {
                if (corner_count_ != 0) lines_.fail("the facet before has not three corners");
            } else if (!is_word(words[i], "facet") && !is_word(words[i], "outer") && !is_word(words[i], "loop") &&
                       !is_word(words[i], "endloop")) {
                lines_.fail("this is not a line of an STL file");
            }
        }
    }
    static bool is_word(std::string_view word, std::string_view wanted) { return equals_ignoring_case(word, wanted); }
    void add_corner(Vec3 p) {
        if (!is_usable(p)) fail_not_finite(place_, triangles_.size() + 1);
        corners_[corner_count_++] = welder_.add(p);
        if (corner_count_ < 3) return;
        triangles_.push_back(corners_);
        corner_count_ = 0;
    }

    TextLines lines_;
    std::string place_;
    std::size_t size_;
    PointWelder welder_;
    std::vector<Triangle> triangles_;
    Triangle corners_{};
    std::size_t corner_count_ = 0;
    bool is_open_ = false;
};

/// "7", "7/1", "7//3", "-1/2/3": the vertex only.
std::size_t obj_vertex(std::string_view word, std::size_t known, const TextLines& lines) {
    const auto n = to_whole(word.substr(0, word.find('/')));
    const auto count = static_cast<long long>(known);
    if (!n || *n == 0 || *n > count || *n < -count) lines.fail("uses a vertex that the file does not have before it");
    return static_cast<std::size_t>(*n > 0 ? *n - 1 : count + *n);
}

/// OFF headers: [ST][C][N]OFF; the position comes first on each vertex line.
bool is_off_header(std::string_view word) {
    for (const std::string_view prefix : {"ST", "C", "N"})
        if (word.starts_with(prefix)) word.remove_prefix(prefix.size());
    return word == "OFF";
}

std::size_t off_count(const TextLines& lines, std::size_t i) {
    const long long n = lines.whole(i);
    if (n < 0) lines.fail("a count is negative");
    return static_cast<std::size_t>(n);
}

}  // namespace

FileMesh read_ascii_stl(std::string_view bytes, const std::string& place) { return AsciiStl(bytes, place).read(); }

FileMesh read_obj(std::string_view bytes, const std::string& place) {
    TextLines lines(bytes, place);
    MeshBuilder builder(place);
    std::vector<std::size_t> corners;
    bool goes_on = false;  // the line before ended with a backslash in a face
    while (lines.next_with_words()) {
        const std::vector<std::string_view>& words = lines.words();
        std::size_t first = 1;
        if (goes_on) {
            first = 0;
        } else if (words[0] == "v") {
            builder.add_vertex({lines.real(1), lines.real(2), lines.real(3)});
            continue;
        } else if (words[0] != "f") {
            continue;  // normals, texture, names, materials, lines
        }
        if (!goes_on) corners.clear();
        goes_on = words.back() == "\\";
        for (std::size_t i = first; i + (goes_on ? 1 : 0) < words.size(); ++i)
            corners.push_back(obj_vertex(words[i], builder.vertex_count(), lines));
        if (!goes_on) builder.add_face(corners);
    }
    return std::move(builder).finish();
}

FileMesh read_off(std::string_view bytes, const std::string& place) {
    TextLines lines(bytes, place);
    MeshBuilder builder(place);
    if (!lines.next_with_words() || !is_off_header(lines.words()[0]))
        fail_scan(place, "does not begin with OFF", "check the file's format");
    std::size_t at = 1;
    if (lines.words().size() > 1 && lines.words()[1] == "BINARY")
        fail_scan(place, "is a binary OFF file, which is not read", "export it as text, or as STL or PLY");
    if (lines.words().size() < 3) {
        if (!lines.next_with_words()) lines.fail("the file ends before its counts");
        at = 0;
    }
    const std::size_t vertices = off_count(lines, at), faces = off_count(lines, at + 1);
    const auto next_of = [&](std::size_t i, std::size_t count, const char* what) {
        if (!lines.next_with_words())
            lines.fail("the file ends at " + std::string(what) + " " + std::to_string(i + 1) + " of " +
                       std::to_string(count));
    };
    for (std::size_t i = 0; i < vertices; ++i) {
        next_of(i, vertices, "vertex");
        builder.add_vertex({lines.real(0), lines.real(1), lines.real(2)});
    }
    std::vector<std::size_t> corners;
    for (std::size_t i = 0; i < faces; ++i) {
        next_of(i, faces, "face");
        const std::size_t n = off_count(lines, 0);
        if (n >= lines.words().size()) lines.fail("the face has fewer corners than it says");
        corners.clear();
        for (std::size_t k = 1; k <= n; ++k) corners.push_back(off_count(lines, k));
        builder.add_face(corners);
    }
    return std::move(builder).finish();
}

}  // namespace cradlewright
