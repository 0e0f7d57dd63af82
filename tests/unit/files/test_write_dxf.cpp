// SPDX-License-Identifier: GPL-3.0-or-later
// Read back by ezdxf, which shares no code with the writer.
#include <catch2/catch.hpp>
#include <map>
#include <numbers>

#include "cradlewright/base/error.hpp"
#include "cradlewright/files/write_drawings.hpp"
#include "outside_tools.hpp"

namespace cradlewright {
namespace {

using std::numbers::pi;

/// What ezdxf says of a file: words and numbers by name.
std::map<std::string, std::string> read_by_ezdxf(const std::string& path) {
    static const std::string script = R"(
import sys, math, ezdxf
from ezdxf import bbox
from ezdxf.lldxf.encoding import decode_dxf_unicode
from ezdxf.math import bulge_to_arc, Vec2
doc = ezdxf.readfile(sys.argv[1])
audit = doc.audit()
print('errors', len(audit.errors)); print('fixes', len(audit.fixes))
print('version', doc.dxfversion); print('units', doc.header['$INSUNITS'])
low, high = doc.header['$EXTMIN'], doc.header['$EXTMAX']
print('header_box', '%.4f,%.4f,%.4f,%.4f' % (low[0], low[1], high[0], high[1]))
for layer in doc.layers:
    if layer.dxf.name not in ('0', 'Defpoints'): print('layer_' + layer.dxf.name, '%d,%s' % (layer.dxf.color, layer.dxf.linetype))
msp = doc.modelspace()
length = {}; count = {}; arcs = 0
for e in msp.query('LWPOLYLINE'):
    p = list(e.get_points('xyb')); n = len(p)
    for i in range(n if e.closed else n - 1):
        a, b = Vec2(p[i][:2]), Vec2(p[(i + 1) % n][:2])
        if p[i][2]:
            c, s, t, r = bulge_to_arc(a, b, p[i][2]); arcs += 1
            d = r * ((t - s) % (2 * math.pi))
        else:
            d = (b - a).magnitude
        length[e.dxf.layer] = length.get(e.dxf.layer, 0) + d
    count[e.dxf.layer] = count.get(e.dxf.layer, 0) + 1
for k in length: print('length_' + k, '%.4f' % length[k]); print('count_' + k, count[k])
print('arcs', arcs)
box = bbox.extents(msp.query('LWPOLYLINE'), flatten=1e-4)
print('box', '%.3f,%.3f,%.3f,%.3f' % (box.extmin.x, box.extmin.y, box.extmax.x, box.extmax.y))
for t in msp.query('TEXT'): print('text', '%s|%s|%.3f|%.3f|%.3f|%.3f' % (decode_dxf_unicode(t.dxf.text), t.dxf.layer, t.dxf.insert.x, t.dxf.insert.y, t.dxf.height, t.dxf.rotation))
seen = [e.dxf.handle for e in doc.entitydb.values()]
print('handles', len(seen) - len(set(seen)))
print('seed', int(doc.header['$HANDSEED'], 16) > max(int(h, 16) for h in [e.dxf.handle for e in msp]) if len(msp) else True)
)";
    std::istringstream lines(test::output_of("/usr/bin/python3 -c '" + [] {
        std::string quoted;
        for (const char c : script) quoted += c == '\'' ? std::string("'\\''") : std::string(1, c);
        return quoted;
    }() + "' '" + path + "'"));
    std::map<std::string, std::string> said;
    for (std::string line; std::getline(lines, line);) {
        const std::size_t space = line.find(' ');
        said[line.substr(0, space)] += line.substr(space + 1);
    }
    return said;
}

/// A 300 x 80 plate with a hollow arc on top, a round hole, a mark and two texts.
Drawing sample() {
    PlatePart part;
    part.id = "rib-2";
    part.outline.outer = make_rectangle({-20, 5}, {280, 85}, CutKind::rough);
    part.outline.outer.vertices[2].cut = CutKind::fit;
    part.outline.outer.vertices[2].bulge = -0.25;
    part.outline.holes = {make_circle({40, 40}, 10, CutKind::rough, true)};
    part.marks = {{MarkKind::cross, {{150, 20}}, "", 5}, {MarkKind::text, {{0, 12}}, "end-a", 4}};
    return draw_part(part);
}

TEST_CASE("ezdxf finds nothing to mend", "[files]") {
    const test::ScratchFolder folder("dxf");
    write_dxf(sample(), folder / "rib.dxf");
    auto said = read_by_ezdxf(folder / "rib.dxf");
    CHECK(said["errors"] == "0");
    CHECK(said["fixes"] == "0");
    CHECK(said["version"] == "AC1015");
    CHECK(said["units"] == "4");
    CHECK(said["handles"] == "0");
    CHECK(said["seed"] == "True");
}

TEST_CASE("lengths, arcs, extents and layers come back from the file", "[files]") {
    const test::ScratchFolder folder("dxf");
    write_dxf(sample(), folder / "rib.dxf");
    auto said = read_by_ezdxf(folder / "rib.dxf");
    // Arc over a chord of 300: sweep 4 atan(0.25), radius chord (1 + b^2) / (4 b).
    const double arc = 300 * (1 + 0.0625) / 1.0 * 4 * std::atan(0.25);
    CHECK(std::stod(said["length_cut-fit"]) == Approx(arc).margin(1e-3));
    CHECK(std::stod(said["length_cut-rough"]) == Approx(300 + 160 + 20 * pi).margin(1e-3));
    CHECK(std::stod(said["length_mark"]) == Approx(20).margin(1e-3));
    CHECK(said["count_cut-fit"] == "1");
    CHECK(said["count_cut-rough"] == "2");
    CHECK(said["count_mark"] == "2");
    CHECK(said["arcs"] == "3");
    CHECK(said["box"] == "-20.000,5.000,280.000,85.000");
    CHECK(said["header_box"] == "-20.0000,5.0000,280.0000,85.0000");
    // Told apart in colour and, fit from rough, in line type.
    CHECK(said["layer_cut-fit"] == "1,Continuous");
    CHECK(said["layer_cut-rough"] == "5,DASHED");
    CHECK(said["layer_mark"] == "3,Continuous");
    CHECK(said["layer_text"] == "7,Continuous");
    CHECK(said["text"].find("end-a|text|0.000|12.000|4.000|0.000") == 0);
    CHECK(said["text"].find("rib-2|text|") != std::string::npos);
}

TEST_CASE("a part in its own frame and the same part moved differ by the move only", "[files]") {
    const test::ScratchFolder folder("dxf");
    write_dxf(moved(sample(), pi / 2, {1000, 0}), folder / "moved.dxf");
    auto said = read_by_ezdxf(folder / "moved.dxf");
    CHECK(said["errors"] == "0");
    CHECK(said["box"] == "915.000,-20.000,995.000,280.000");
    CHECK(said["text"].find("|90.000") != std::string::npos);
}

TEST_CASE("DXF bytes repeat", "[files]") {
    const test::ScratchFolder folder("dxf");
    write_dxf(sample(), folder / "a.dxf");
    write_dxf(sample(), folder / "b.dxf");
    CHECK(test::bytes_of(folder / "a.dxf") == test::bytes_of(folder / "b.dxf"));
    CHECK(test::bytes_of(folder / "a.dxf").find("-0.000000") == std::string::npos);
}

TEST_CASE("words beyond ASCII and an empty drawing do not break the file", "[files]") {
    const test::ScratchFolder folder("dxf");
    Drawing drawing = sample();
    drawing.texts.push_back({{0, 30}, 5, 0, "h\xC3\xA9t\nbord \xE2\x86\x92"});  // e acute, line break, arrow
    write_dxf(drawing, folder / "words.dxf");
    auto said = read_by_ezdxf(folder / "words.dxf");
    CHECK(said["errors"] == "0");
    CHECK(said["text"].find("h\xC3\xA9t bord \xE2\x86\x92|") != std::string::npos);

    write_dxf(Drawing{}, folder / "empty.dxf");
    CHECK(test::output_of("/usr/bin/python3 -c 'import ezdxf,sys; d=ezdxf.readfile(sys.argv[1]); "
                          "a=d.audit(); print(len(a.errors),len(a.fixes),len(d.modelspace()))' '" +
                          (folder / "empty.dxf") + "'") == "0 0 0\n");
}

TEST_CASE("a DXF that cannot be written says so", "[files]") {
    const test::ScratchFolder folder("dxf");
    CHECK_THROWS_AS(write_dxf(sample(), folder / "no-such-folder/rib.dxf"), Error);
}

}  // namespace
}  // namespace cradlewright
