// SPDX-License-Identifier: GPL-3.0-or-later
// Format: G. Turk, "The PLY Polygon File Format" (1994), from memory.
#include <algorithm>
#include <bit>
#include <cstdint>
#include <cstring>
#include <optional>
#include <utility>
#include <vector>

#include "files/scan_formats.hpp"
#include "files/text_words.hpp"

namespace cradlewright {

namespace {

enum class PlyType { i8, u8, i16, u16, i32, u32, f32, f64 };

std::optional<PlyType> ply_type(std::string_view name) {
    constexpr std::pair<std::string_view, PlyType> names[] = {
        {"char", PlyType::i8},   {"int8", PlyType::i8},     {"uchar", PlyType::u8},   {"uint8", PlyType::u8},
        {"short", PlyType::i16}, {"int16", PlyType::i16},   {"ushort", PlyType::u16}, {"uint16", PlyType::u16},
        {"int", PlyType::i32},   {"int32", PlyType::i32},   {"uint", PlyType::u32},   {"uint32", PlyType::u32},
        {"float", PlyType::f32}, {"float32", PlyType::f32}, {"double", PlyType::f64}, {"float64", PlyType::f64}};
    for (const auto& [known, type] : names)
        if (known == name) return type;
    return std::nullopt;
}

struct Property {
    std::string name;
    PlyType type = PlyType::f32;
    std::optional<PlyType> count_type;  ///< of a list
};

struct Element {
    std::string name;
    std::size_t count = 0;
    std::vector<Property> properties;
};

enum class Coding { text, little, big };

struct Header {
    Coding coding = Coding::text;
    std::vector<Element> elements;
};

Header read_header(TextLines& lines) {
    if (!lines.next() || lines.words().size() != 1 || lines.words()[0] != "ply")
        lines.fail("a PLY file begins with ply");
    Header header;
    bool has_format = false;
    while (lines.next()) {
        const std::vector<std::string_view>& w = lines.words();
        if (w.empty() || w[0] == "comment" || w[0] == "obj_info") continue;
        if (w[0] == "end_header") {
            if (!has_format) lines.fail("the header has no format line");
            return header;
        }
        if (w[0] == "format" && w.size() == 3) {
            has_format = true;
            if (w[1] == "ascii")
                header.coding = Coding::text;
            else if (w[1] == "binary_little_endian")
                header.coding = Coding::little;
            else if (w[1] == "binary_big_endian")
                header.coding = Coding::big;
            else
                lines.fail("the format is not known");
        } else if (w[0] == "element" && w.size() == 3) {
            const long long count = lines.whole(2);
            if (count < 0) lines.fail("the count is negative");
            header.elements.push_back({std::string(w[1]), static_cast<std::size_t>(count), {}});
        } else if (w[0] == "property" && !header.elements.empty() &&
                   (w.size() == 3 || (w.size() == 5 && w[1] == "list"))) {
            const bool is_list = w.size() == 5;
            const auto type = ply_type(w[is_list ? 3 : 1]);
            const auto count_type = is_list ? ply_type(w[2]) : std::nullopt;
            if (!type || (is_list && !count_type)) lines.fail("the property's type is not known");
            header.elements.back().properties.push_back({std::string(w.back()), *type, count_type});
        } else {
            lines.fail("this line does not belong into the header");
        }
    }
    lines.fail("the file ends within its header");
}

/// Numbers of the body one after the other.
class Body {
public:
    Body(TextLines& lines, Coding coding, std::size_t file_size, const std::string& place)
        : lines_(lines), coding_(coding), rest_(lines.rest()), file_size_(file_size), place_(place) {}

    /// Text has one entry a line.
    void begin_entry() {
        if (coding_ != Coding::text) return;
        if (!lines_.next_with_words(0)) lines_.fail("the file is cut short: entries are missing");
        word_ = 0;
    }
    double number(PlyType type) {
        if (coding_ == Coding::text) return lines_.real(word_++);
        switch (type) {
            case PlyType::i8:
                return binary<std::int8_t>();
            case PlyType::u8:
                return binary<std::uint8_t>();
            case PlyType::i16:
                return binary<std::int16_t>();
            case PlyType::u16:
                return binary<std::uint16_t>();
            case PlyType::i32:
                return binary<std::int32_t>();
            case PlyType::u32:
                return binary<std::uint32_t>();
            case PlyType::f32:
                return double{binary<float>()};
            case PlyType::f64:
                return binary<double>();
        }
        return 0;
    }
    /// A number that must be a whole one from 0 to below 2^32.
    std::size_t whole(PlyType type) {
        const double value = number(type);
        if (!(value >= 0 && value < 4294967296.0)) fail_scan(place_, "has a count or a corner out of range" + where());
        return static_cast<std::size_t>(value);
    }

private:
    template <class Number>
    Number binary() {
        if (rest_.size() < sizeof(Number))
            fail_scan(place_,
                      "is cut short: it ends at byte " + std::to_string(file_size_) + " within its list of entries",
                      "copy or export the scan again");
        char bytes[sizeof(Number)];
        std::memcpy(bytes, rest_.data(), sizeof bytes);
        if ((coding_ == Coding::big) != (std::endian::native == std::endian::big))
            std::reverse(std::begin(bytes), std::end(bytes));
        rest_.remove_prefix(sizeof bytes);
        Number value;
        std::memcpy(&value, bytes, sizeof bytes);
        return value;
    }
    [[nodiscard]] std::string where() const {
        return coding_ == Coding::text ? " in line " + std::to_string(lines_.number())
                                       : " at byte " + std::to_string(file_size_ - rest_.size());
    }

    TextLines& lines_;
    Coding coding_;
    std::string_view rest_;
    std::size_t word_ = 0;
    std::size_t file_size_;
    const std::string& place_;
};

/// Reads entries of one element; vertices and faces go to the builder, the rest is passed over.
class Entries {
public:
    Entries(const Element& element, Body& body, MeshBuilder& builder)
        : element_(element), body_(body), builder_(builder) {
        is_vertex_ = element.name == "vertex";
        is_face_ = element.name == "face";
    }
    void read() {
        if (element_.properties.empty()) return;
        for (std::size_t i = 0; i < element_.count; ++i) {
            body_.begin_entry();
            for (const Property& property : element_.properties) read_property(property);
            if (is_vertex_) builder_.add_vertex(position_);
            if (is_face_) builder_.add_face(corners_);
        }
    }

private:
    void read_property(const Property& property) {
        if (property.count_type) {
            const std::size_t n = body_.whole(*property.count_type);
            const bool is_corners = is_face_ && (property.name == "vertex_indices" || property.name == "vertex_index");
            if (is_corners) corners_.clear();
            for (std::size_t k = 0; k < n; ++k) {
                if (is_corners)
                    corners_.push_back(body_.whole(property.type));
                else
                    body_.number(property.type);
            }
            return;
        }
        const double value = body_.number(property.type);
        if (property.name == "x") position_.x = value;
        if (property.name == "y") position_.y = value;
        if (property.name == "z") position_.z = value;
    }

    const Element& element_;
    Body& body_;
    MeshBuilder& builder_;
    bool is_vertex_ = false, is_face_ = false;
    Vec3 position_;
    std::vector<std::size_t> corners_;
};

bool has_property(const Element& element, std::string_view name) {
    return std::any_of(element.properties.begin(), element.properties.end(),
                       [&](const Property& p) { return p.name == name; });
}

}  // namespace

FileMesh read_ply(std::string_view bytes, const std::string& place) {
    TextLines lines(bytes, place);
    const Header header = read_header(lines);
    MeshBuilder builder(place);
    Body body(lines, header.coding, bytes.size(), place);
    for (const Element& element : header.elements) {
        if (element.name == "vertex" &&
            !(has_property(element, "x") && has_property(element, "y") && has_property(element, "z")))
            fail_scan(place, "has vertices without x, y and z");
        Entries(element, body, builder).read();
    }
    return std::move(builder).finish();
}

}  // namespace cradlewright
