// SPDX-License-Identifier: GPL-3.0-or-later
// Source: Autodesk, DXF reference, R2000 (AC1015): symbol tables, LWPOLYLINE, TEXT, DICTIONARY.
// Written directly, not by dxflib: dxflib 3.26 leaves owner handles of its objects dangling, states a wrong next handle
// once there are more than 65535, and does not tell when the disk is full.
#include <algorithm>

#include "cradlewright/base/units.hpp"
#include "cradlewright/files/output_folder.hpp"
#include "cradlewright/files/write_drawings.hpp"

namespace cradlewright {

namespace {

constexpr Layer all_layers[] = {Layer::cut_fit, Layer::cut_rough, Layer::mark, Layer::text};

/// Colours of the AutoCAD colour index; the line types tell fit from rough without colour.
struct LayerStyle {
    int color;
    std::string_view line_type;
};
LayerStyle style_of(Layer layer) {
    switch (layer) {
        case Layer::cut_fit:
            return {1, "Continuous"};  // red
        case Layer::cut_rough:
            return {5, "DASHED"};  // blue
        case Layer::mark:
            return {3, "Continuous"};  // green
        case Layer::text:
            break;
    }
    return {7, "Continuous"};  // black or white
}

/// Handles that something else in the file points to; the rest count up from first_free.
enum Handle : unsigned {
    no_owner = 0,
    block_record_table = 0x1,
    model_space = 0x2,
    paper_space = 0x3,
    root_dictionary = 0x4,
    group_dictionary = 0x5,
    first_free = 0x10,
};

std::string hex(unsigned value) {
    constexpr std::string_view digits = "0123456789ABCDEF";
    std::string text;
    do {
        text.insert(text.begin(), digits[value % 16]);
        value /= 16;
    } while (value > 0);
    return text;
}

/// One line of text in the file's code page: what is not ASCII as \U+ and four hex digits. Source: DXF reference,
/// "Unicode in text".
std::string plain_text(std::string_view utf8) {
    std::string text;
    for (std::size_t i = 0; i < utf8.size();) {
        const auto byte = static_cast<unsigned char>(utf8[i++]);
        if (byte < 0x80) {
            text += byte < 0x20 ? ' ' : static_cast<char>(byte);
            continue;
        }
        unsigned code = byte & (byte >= 0xF0 ? 0x07u : byte >= 0xE0 ? 0x0Fu : 0x1Fu);
        for (; i < utf8.size() && (static_cast<unsigned char>(utf8[i]) & 0xC0u) == 0x80u; ++i) {
            code = code << 6 | (static_cast<unsigned char>(utf8[i]) & 0x3Fu);
        }
        const std::string digits = hex(code);
        text += "\\U+" + std::string(4 - std::min<std::size_t>(digits.size(), 4), '0') + digits;
    }
    return text;
}

/// The text as group code and value in turn.
class DxfText {
public:
    void add(int code, std::string_view value) {
        body_ += std::to_string(code);
        body_ += '\n';
        body_ += value;
        body_ += '\n';
    }
    void add(int code, int value) { add(code, std::to_string(value)); }
    void add(int code, double value) { add(code, fixed(value, 6)); }
    void add_point(Vec2 p) {
        add(10, p.x);
        add(20, p.y);
        add(30, 0.0);
    }
    /// Start of anything that has a handle: type, handle, owner.
    unsigned begin(std::string_view type, unsigned owner, int handle_code = 5) {
        begin_at(next_, type, owner, handle_code);
        return next_++;
    }
    void begin_at(unsigned handle, std::string_view type, unsigned owner, int handle_code = 5) {
        add(0, type);
        add(handle_code, hex(handle));
        add(330, hex(owner));
    }
    void begin_section(std::string_view name) {
        add(0, "SECTION");
        add(2, name);
    }
    void end_section() { add(0, "ENDSEC"); }
    /// A symbol table, its records written by `records(owner)`.
    template <class Records>
    void add_table(std::string_view name, int count, const Records& records) {
        const unsigned table = name == "BLOCK_RECORD" ? unsigned{block_record_table} : next_++;
        add(0, "TABLE");
        add(2, name);
        add(5, hex(table));
        add(330, hex(no_owner));
        add(100, "AcDbSymbolTable");
        add(70, count);
        if (name == "DIMSTYLE") add(100, "AcDbDimStyleTable");
        records(table);
        add(0, "ENDTAB");
    }
    /// Start of a table's record up to its name.
    void begin_record(std::string_view type, unsigned table, std::string_view subclass, std::string_view name) {
        begin(type, table, type == "DIMSTYLE" ? 105 : 5);
        name_record(subclass, name);
    }
    void name_record(std::string_view subclass, std::string_view name) {
        add(100, "AcDbSymbolTableRecord");
        add(100, subclass);
        add(2, name);
    }
    [[nodiscard]] unsigned next_handle() const { return next_; }
    [[nodiscard]] const std::string& body() const { return body_; }

private:
    std::string body_;
    unsigned next_ = first_free;
};

std::string header_of(const Box2& box, unsigned next_handle) {
    DxfText out;
    out.begin_section("HEADER");
    out.add(9, "$ACADVER");
    out.add(1, "AC1015");
    out.add(9, "$DWGCODEPAGE");
    out.add(3, "ANSI_1252");
    out.add(9, "$HANDSEED");
    out.add(5, hex(next_handle));
    out.add(9, "$INSUNITS");
    out.add(70, 4);  // millimetres
    out.add(9, "$MEASUREMENT");
    out.add(70, 1);  // metric line types
    if (!box.is_empty()) {
        out.add(9, "$EXTMIN");
        out.add_point(box.low);
        out.add(9, "$EXTMAX");
        out.add_point(box.high);
    }
    out.end_section();
    out.begin_section("CLASSES");
    out.end_section();
    return out.body();
}

void write_view_port(DxfText& out, const Box2& box) {
    out.add_table("VPORT", 1, [&](unsigned table) {
        out.begin_record("VPORT", table, "AcDbViewportTableRecord", "*Active");
        out.add(70, 0);
        out.add(10, 0.0);  // corners of the view port on the screen
        out.add(20, 0.0);
        out.add(11, 1.0);
        out.add(21, 1.0);
        const Vec2 center = box.is_empty() ? Vec2{} : box.center();
        out.add(12, center.x);
        out.add(22, center.y);
        out.add(40, std::max(box.size().y * 1.1, 1.0));  // height seen
        out.add(41, 1.5);                                // aspect
    });
}

void write_line_types(DxfText& out) {
    constexpr std::string_view plain[] = {"ByBlock", "ByLayer", "Continuous"};
    out.add_table("LTYPE", 4, [&](unsigned table) {
        const auto head = [&](std::string_view name, std::string_view help, int dashes, double length) {
            out.begin_record("LTYPE", table, "AcDbLinetypeTableRecord", name);
            out.add(70, 0);
            out.add(3, help);
            out.add(72, 65);
            out.add(73, dashes);
            out.add(40, length);
        };
        for (const std::string_view name : plain) head(name, "", 0, 0);
        head("DASHED", "rough cut __ __ __", 2, 9);
        for (const double dash : {6.0, -3.0}) {  // mm, negative is the gap
            out.add(49, dash);
            out.add(74, 0);
        }
    });
}

void write_layers(DxfText& out) {
    out.add_table("LAYER", 5, [&](unsigned table) {
        const auto layer = [&](std::string_view name, const LayerStyle& style) {
            out.begin_record("LAYER", table, "AcDbLayerTableRecord", name);
            out.add(70, 0);
            out.add(62, style.color);
            out.add(6, style.line_type);
        };
        layer("0", {7, "Continuous"});
        for (const Layer each : all_layers) layer(layer_name(each), style_of(each));
    });
}

void write_styles(DxfText& out) {
    out.add_table("STYLE", 1, [&](unsigned table) {
        out.begin_record("STYLE", table, "AcDbTextStyleTableRecord", "Standard");
        out.add(70, 0);
        out.add(40, 0.0);  // height: as each text says
        out.add(41, 1.0);
        out.add(50, 0.0);
        out.add(71, 0);
        out.add(42, 2.5);
        out.add(3, "txt");
        out.add(4, "");
    });
}

void write_tables(DxfText& out, const Box2& box) {
    out.begin_section("TABLES");
    write_view_port(out, box);
    write_line_types(out);
    write_layers(out);
    write_styles(out);
    out.add_table("VIEW", 0, [](unsigned) {});
    out.add_table("UCS", 0, [](unsigned) {});
    out.add_table("APPID", 1, [&](unsigned table) {
        out.begin_record("APPID", table, "AcDbRegAppTableRecord", "ACAD");
        out.add(70, 0);
    });
    out.add_table("DIMSTYLE", 1, [&](unsigned table) {
        out.begin_record("DIMSTYLE", table, "AcDbDimStyleTableRecord", "Standard");
        out.add(70, 0);
    });
    out.add_table("BLOCK_RECORD", 2, [&](unsigned table) {
        out.begin_at(model_space, "BLOCK_RECORD", table);
        out.name_record("AcDbBlockTableRecord", "*Model_Space");
        out.begin_at(paper_space, "BLOCK_RECORD", table);
        out.name_record("AcDbBlockTableRecord", "*Paper_Space");
    });
    out.end_section();
}

void write_block(DxfText& out, unsigned owner, std::string_view name) {
    out.begin("BLOCK", owner);
    out.add(100, "AcDbEntity");
    out.add(8, "0");
    out.add(100, "AcDbBlockBegin");
    out.add(2, name);
    out.add(70, 0);
    out.add_point({});
    out.add(3, name);
    out.add(1, "");
    out.begin("ENDBLK", owner);
    out.add(100, "AcDbEntity");
    out.add(8, "0");
    out.add(100, "AcDbBlockEnd");
}

void write_path(DxfText& out, const DrawnPath& path) {
    out.begin("LWPOLYLINE", model_space);
    out.add(100, "AcDbEntity");
    out.add(8, layer_name(path.layer));
    out.add(100, "AcDbPolyline");
    out.add(90, static_cast<int>(path.vertices.size()));
    out.add(70, path.is_closed ? 1 : 0);
    for (const PathVertex& v : path.vertices) {
        out.add(10, v.at.x);
        out.add(20, v.at.y);
        // Ten decimals: an arc of a metre and a small bulge would move by hundredths with six.
        if (v.bulge != 0) out.add(42, fixed(v.bulge, 10));
    }
}

void write_text(DxfText& out, const DrawnText& text) {
    out.begin("TEXT", model_space);
    out.add(100, "AcDbEntity");
    out.add(8, layer_name(Layer::text));
    out.add(100, "AcDbText");
    out.add_point(text.at);
    out.add(40, text.height_mm);
    out.add(1, plain_text(text.text));
    out.add(50, Angle::rad(text.angle_rad).deg());
    out.add(7, "Standard");
    out.add(100, "AcDbText");
}

void write_dictionaries(DxfText& out) {
    out.begin_at(root_dictionary, "DICTIONARY", no_owner);
    out.add(100, "AcDbDictionary");
    out.add(281, 1);
    out.add(3, "ACAD_GROUP");
    out.add(350, hex(group_dictionary));
    out.begin_at(group_dictionary, "DICTIONARY", root_dictionary);
    out.add(100, "AcDbDictionary");
    out.add(281, 1);
}

std::string dxf_text(const Drawing& drawing) {
    const Box2 box = drawing.box();
    DxfText out;
    write_tables(out, box);
    out.begin_section("BLOCKS");
    write_block(out, model_space, "*Model_Space");
    write_block(out, paper_space, "*Paper_Space");
    out.end_section();
    out.begin_section("ENTITIES");
    for (const DrawnPath& path : drawing.paths) write_path(out, path);
    for (const DrawnText& text : drawing.texts) write_text(out, text);
    out.end_section();
    out.begin_section("OBJECTS");
    write_dictionaries(out);
    out.end_section();
    out.add(0, "EOF");
    return header_of(box, out.next_handle()) + out.body();
}

}  // namespace

void write_dxf(const Drawing& drawing, const std::filesystem::path& path) {
    write_file(path, dxf_text(drawing), OutputFolder::Existing::replace);
}

}  // namespace cradlewright
