// SPDX-License-Identifier: GPL-3.0-or-later
#include "files/json_mould.hpp"

#include <cmath>

namespace cradlewright {
namespace {

Json item_json(const HardwareItem& item, const LocatorShape& shape) {
    using Sizes = HardwareSizes;
    Json json{{"id", item.id}, {"panel", item.panel}, {"at_mm", point(item.at)}, {"axis", direction(item.axis)}};
    switch (item.kind) {
        case HardwareKind::locator:
            json["diameter_mm"] = number(2 * shape.radius_mm);
            json["height_mm"] = number(shape.height_mm);
            json["draft_deg"] = degrees(shape.draft_rad);
            json["shim_deg"] = degrees(item.shim_rad);
            break;
        case HardwareKind::port:
            json["half"] = item.half;
            json["diameter_mm"] = number(Sizes::port);
            json["to_part_edge_mm"] = number(item.to_part_edge_mm);
            break;
        case HardwareKind::jack:
            json["diameter_mm"] = number(Sizes::jack);
            json["pad_mm"] = number(Sizes::pad);
            break;
        case HardwareKind::bolt:
            json["diameter_mm"] = number(Sizes::bolt);
            break;
        case HardwareKind::notch:
            json["out"] = direction(item.out);
            json["size_mm"] = point(Vec3{Sizes::notch_width, Sizes::notch_depth, Sizes::notch_height});
            break;
    }
    return json;
}

Json hardware_json(const Design& design, HardwareKind kind) {
    Json list = Json::array();
    for (const HardwareItem& item : design.hardware.items)
        if (item.kind == kind) list.push_back(item_json(item, design.hardware.locator));
    return list;
}

Json back_plate_json(const BackHalf& half, const BackPlate& plate) {
    Json json;
    json["id"] = plate.part.id;
    json["half"] = half.half;
    json["station_mm"] = number(plate.station_mm);
    json["direction"] = plate.is_along ? "y" : "x";
    json["thickness_mm"] = number(plate.part.thickness_mm);
    json["outline_mm"] = chain(flatten(plate.part.outline.outer, chord_mm));
    json["edge_mm"] = chain(plate.edge);
    json["min_inside_radius_mm"] = number(plate.min_inside_radius_mm);
    return json;
}

// Stations, outlines, footprint and centre in the half's stand frame, whose matrix leads into the fixture.
Json stand_json(const BackHalf& half, double tilt_deg) {
    Json json;
    json["half"] = half.half;
    json["tilt_deg"] = fine_number(tilt_deg);
    json["frame"] = matrix_json(half.stand);
    json["footprint_mm"] = chain(half.footprint);
    const bool is_known = half.trouble.empty();
    json["mass_kg"] = is_known ? fine_number(half.mass_kg()) : Json();
    json["plates_kg"] = fine_number(half.plates_kg);
    json["centre_mm"] = is_known ? point(half.centre) : Json();
    json["tip_deg"] = is_known ? degrees(stand_tip(half).angle_rad) : Json();
    json["rim_load_n"] = is_known ? number(rim_load_n(half)) : Json();
    json["free_width_mm"] = half.plates.empty() ? Json() : number(half.free_width_mm);
    return json;
}

/// Null where nothing was planned; without plates the stand is the mould's own back.
void add_back(Json& mould, const MouldBack& back, double tilt_deg) {
    mould["stiffeners"] = back.halves.empty() ? Json() : Json::array();
    mould["stand"] = back.halves.empty() ? Json() : Json::array();
    for (const BackHalf& half : back.halves) {
        for (const BackPlate& plate : half.plates) mould["stiffeners"].push_back(back_plate_json(half, plate));
        mould["stand"].push_back(stand_json(half, tilt_deg));
    }
    mould["back"] = {{"reason", back.reason},
                     {"notes", back.notes},
                     {"laminate_mm", number(back.skin_mm)},
                     {"soft_strip_mm", number(back.strip_mm)},
                     {"soft_strip_length_mm", number(back.strip_length_mm())},
                     {"tab_cloth", back.tab_cloth},
                     {"tab_plies", tab_plies},
                     {"tab_length_mm", number(back.tab_mm())}};
}

}  // namespace

Json mould_json(const Design& design) {
    Json json;
    json["use"] = get_setting(design.settings, "mould.use");
    add_back(json, design.back, design.settings.mould.stand_tilt.deg());
    json["locators"] = hardware_json(design, HardwareKind::locator);
    json["locator_misfit_mm"] = number(design.hardware.misfit_mm);
    json["bolts"] = hardware_json(design, HardwareKind::bolt);
    json["jack_bolts"] = hardware_json(design, HardwareKind::jack);
    json["wedge_notches"] = hardware_json(design, HardwareKind::notch);
    json["ports"] = hardware_json(design, HardwareKind::port);
    json["hardware_notes"] = design.hardware.notes;
    json["trim"] = design.joint.trim;
    return json;
}

}  // namespace cradlewright
