// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/dump.hpp"

#include <nlohmann/json.hpp>
#include <span>

#include "cradlewright/base/units.hpp"
#include "cradlewright/files/write_drawings.hpp"
#include "cradlewright/files/write_scene.hpp"
#include "cradlewright/output/drawing.hpp"

namespace cradlewright::app {

namespace {

/// Named chains as Wavefront OBJ lines; vertices are numbered from 1 through the file.
class CurveFile {
public:
    enum class Ends { open, closed };
    void add(const std::string& name, std::span<const Vec3> points, Ends ends) {
        if (points.empty()) return;
        text_ += "o " + name + "\n";
        for (const Vec3 p : points) text_ += "v " + fixed(p.x, 6) + " " + fixed(p.y, 6) + " " + fixed(p.z, 6) + "\n";
        text_ += "l";
        for (std::size_t i = 0; i < points.size(); ++i) text_ += " " + std::to_string(next_ + i);
        if (ends == Ends::closed) text_ += " " + std::to_string(next_);
        text_ += "\n";
        next_ += points.size();
    }
    [[nodiscard]] const std::string& text() const { return text_; }

private:
    std::string text_;
    std::size_t next_ = 1;
};

std::string parting_curves(const Parting& parting) {
    CurveFile file;
    for (std::size_t i = 0; i < parting.loops.size(); ++i) {
        const std::string loop = "loop-" + std::to_string(i + 1);
        file.add(loop + "-panel-line", parting.loops[i].panel_line, CurveFile::Ends::closed);
        file.add(loop + "-silhouette", parting.loops[i].silhouette, CurveFile::Ends::closed);
    }
    return file.text();
}

std::string bead_curves(const Beads& beads) {
    CurveFile file;
    for (const BeadRun& run : beads.runs) {
        std::vector<Vec3> centers, on_plug, on_panel;
        for (const BeadSection& section : run.sections) {
            if (!section.is_valid) continue;
            centers.push_back(section.center);
            on_plug.push_back(section.on_plug);
            on_panel.push_back(section.on_panel);
        }
        file.add(run.id + "-center", centers, CurveFile::Ends::open);
        file.add(run.id + "-on-plug", on_plug, CurveFile::Ends::open);
        file.add(run.id + "-on-panel", on_panel, CurveFile::Ends::open);
    }
    return file.text();
}

}  // namespace

void dump_stages(const Build& build, std::string_view report, OutputFolder& folder) {
    const auto sections = nlohmann::ordered_json::parse(report);
    for (const auto& [name, section] : sections.items())
        if (section.is_structured()) folder.write(name + ".json", section.dump(2) + "\n");
    const Design& design = build.design;
    folder.write("plug.ply", ply_bytes(design.posed.mesh()));
    folder.write("parting.obj", parting_curves(design.parting));
    folder.write("beads.obj", bead_curves(design.beads));
    for (const PlatePart* part : all_parts(design)) {
        const std::string stage = part->kind == PartKind::panel || part->kind == PartKind::strap ? "flange/"
                                  : part->kind == PartKind::card                                 ? "beads/"
                                  : part->kind == PartKind::section                              ? "plug/"
                                  : part->kind == PartKind::mould_rib                            ? "mould/"
                                                                                                 : "cradle/";
        folder.write(stage + part->id + ".svg", svg_text(draw_part(*part)));
    }
}

}  // namespace cradlewright::app
