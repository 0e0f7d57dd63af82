// SPDX-License-Identifier: GPL-3.0-or-later
#include "stages/layup_pieces.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <span>
#include <tuple>
#include <utility>

#include "cradlewright/geom/polyline.hpp"
#include "geom/point_index.hpp"
#include "stages/layup_flat.hpp"
#include "stages/layup_outline.hpp"
#include "stages/piece_net.hpp"

namespace cradlewright {
namespace {

constexpr double most_shear_rad = 1.4;   // 80 deg: beyond it a net tells nothing
constexpr int most_pieces = 60;          // as kit.pieces
constexpr double reach_cells = 1.5;      // of a node: what it covers
constexpr double rim_cells = 1.5;        // from the surface's rim: an outline there is no seam
constexpr double scrap_cells2 = 6;       // smaller places, and those the size of an overlap, the neighbours cover
constexpr double mat_shear_rad = 0.785;  // 45 deg: strands slide, but a pattern sheared further is none. Assumed
constexpr double match_every_mm = 80;
constexpr double dart_gain = 0.02;    // of what the piece covers: less is not worth a dart's cut and lap. Assumed
constexpr double most_doubled = 0.2;  // of a piece that may lie on itself: more would cost less as a seam. Assumed
constexpr double joined_mm = 0.5;     // slits narrower than twice this are no slits
constexpr double cross_mm = 5, text_mm = 8;

/// Outer loop round the net's start with its holes, slits closed.
Polygons piece_at_start(const PieceNet& net, double shear_rad) {
    Polygons all = offset(offset(net.outline(shear_rad), joined_mm), -joined_mm);
    for (auto& loop : all)
        if (std::vector<Vec2> few = thinned(loop, cloth_fit_mm); few.size() > 2) loop = std::move(few);
    const std::vector<Vec2>* best = nullptr;
    for (const auto& loop : all)
        if (area_of({loop}) > 0 && (contains({loop}, {0, 0}) || best == nullptr)) best = &loop;
    if (best == nullptr) return {};
    Polygons piece{*best};
    for (const auto& loop : all)
        if (area_of({loop}) < -scrap_cells2 * net.cell_mm() * net.cell_mm() && contains({*best}, loop.front()))
            piece.push_back(loop);
    return unite(piece);
}

struct Part {
    double area_mm2 = 0;
    Vec3 middle;
};

class PieceCutter {
public:
    PieceCutter(LaidSurface& surface, const TriMesh& mesh, Vec3 warp, const Settings& settings)
        : surface_(surface), net_surface_(mesh), warp_(warp), settings_(settings) {
        for (FaceId f = 0; f < mesh.face_count(); ++f) {
            const auto c = mesh.corners(f);
            middle_.push_back((c[0] + c[1] + c[2]) / 3);
            area_.push_back(norm(area_vector(c)) / 2);
            for (unsigned k = 0; k < 3; ++k)
                if (net_surface_.adjacency()[3 * f + k] == no_id) rim_.push_back((c[k] + c[(k + 1) % 3]) * 0.5);
        }
        rim_index_.emplace(rim_);
        wanted_.assign(mesh.face_count(), 1);
        taken_by_.assign(mesh.face_count(), none);
    }

    void cut() {
        const double limit = std::isfinite(surface_.lock_rad.low)
                                 ? std::min(most_shear_rad, cut_share * surface_.lock_rad.low)
                                 : mat_shear_rad;
        const int told = static_cast<int>(settings_.kit.pieces);
        int needed = 0;
        for (; needed < most_pieces; ++needed) {
            const std::optional<Part> part = largest_wanted();
            if (!part) break;
            if (needed + 1 <= told) {
                if (!add_piece(*part, limit, needed + 1 == told)) break;
            } else {
                const PieceNet net = lay_well(*part, limit);
                if (!cover(net, piece_at_start(net, limit), none)) break;
            }
        }
        surface_.pieces_needed = std::max(1, needed);
        add_match_marks();
        flatten_pieces();
        cut_to_roll();
        name_pieces();
    }

private:
    [[nodiscard]] NetOptions options_for(Vec3 start, double shear_rad, std::span<const std::uint8_t> wanted) const {
        NetOptions options;
        options.start = start;
        options.warp = warp_;
        const Vec3 normal = net_surface_.nearest(start).normal;
        if (norm(cross(normal, warp_)) < 0.1) options.warp = frame_from_normal(start, normal, warp_).x;
        options.cell_mm = surface_.cell_mm;
        options.most_shear_rad = shear_rad;
        options.wanted = wanted;
        options.rows_beyond =
            2 + static_cast<int>(std::ceil(settings_.kit.overlap.mm() / surface_.cell_mm));  // to match
        return options;
    }

    /// With darts where they let the piece reach further; no more of them than pay, no strips that lie on one
    /// another, and no lips that an overlap would not close.
    [[nodiscard]] PieceNet lay_well(const Part& part, double limit) const {
        const NetOptions options = options_for(part.middle, limit, wanted_);
        const PieceNet whole = PieceNet::lay(net_surface_, options);
        PieceNet best = whole;
        double most = area_of_faces(covered(best, piece_at_start(best, limit)));
        const int told = static_cast<int>(settings_.kit.darts);
        for (int darts = 1; darts <= told && part.area_mm2 - most > scrap_mm2(); ++darts) {
            PieceNet net = whole.slit(net_surface_, options, darts);
            if (net.strip_count() <= darts) break;
            const Polygons piece = piece_at_start(net, limit);
            if (net.doubled_share(piece) > most_doubled) break;  // nor would more strips
            if (std::ranges::any_of(
                    net.darts(offset(piece, settings_.kit.cloth_margin.mm()), settings_.kit.overlap.mm()),
                    [&](const Dart& dart) { return dart.opens_mm > settings_.kit.overlap.mm() / 2; }))
                continue;
            const double area = area_of_faces(covered(net, piece));
            if (area < most * (1 + dart_gain * (net.strip_count() - best.strip_count()))) continue;
            most = area;
            best = std::move(net);
        }
        return best;
    }

    [[nodiscard]] double area_of_faces(const std::vector<FaceId>& faces) const {
        double sum = 0;
        for (const FaceId f : faces) sum += area_[f];
        return sum;
    }

    /// What of the wanted faces a piece covers.
    [[nodiscard]] std::vector<FaceId> covered(const PieceNet& net, const Polygons& piece) const {
        std::vector<FaceId> faces;
        const std::vector<Vec3> used = net.nodes_in(offset(piece, net.cell_mm() / 2, cloth_fit_mm));
        if (used.empty()) return faces;
        const PointIndex index(used);
        // Its overlap reaches into what is left.
        const double reach = std::max(reach_cells * net.cell_mm(), settings_.kit.overlap.mm());
        for (FaceId f = 0; f < wanted_.size(); ++f)
            if (wanted_[f] && index.nearest(middle_[f], reach)) faces.push_back(f);
        return faces;
    }

    /// Strikes out what a piece covers. False when that is nothing.
    bool cover(const PieceNet& net, const Polygons& piece, std::size_t piece_number) {
        const std::vector<FaceId> faces = covered(net, piece);
        for (const FaceId f : faces) wanted_[f] = 0, taken_by_[f] = piece_number;
        return !faces.empty();
    }

    [[nodiscard]] double scrap_mm2() const {
        const double cell = surface_.cell_mm, lap = settings_.kit.overlap.mm();
        return std::max(scrap_cells2 * cell * cell, lap * lap);
    }

    /// Of the places not yet covered that are worth a piece of their own the largest; its middle is a face's.
    [[nodiscard]] std::optional<Part> largest_wanted() const {
        std::optional<Part> best;
        std::vector<std::uint8_t> seen(wanted_.size(), 0);
        std::vector<FaceId> faces;
        for (FaceId seed = 0; seed < wanted_.size(); ++seed) {
            if (!wanted_[seed] || seen[seed]) continue;
            faces.assign(1, seed);
            seen[seed] = 1;
            Part part;
            for (std::size_t n = 0; n < faces.size(); ++n) {
                part.area_mm2 += area_[faces[n]];
                part.middle += middle_[faces[n]] * area_[faces[n]];
                for (unsigned k = 0; k < 3; ++k) {
                    const FaceId next = net_surface_.adjacency()[3 * faces[n] + k];
                    if (next == no_id || seen[next] || !wanted_[next]) continue;
                    seen[next] = 1;
                    faces.push_back(next);
                }
            }
            if (part.area_mm2 < scrap_mm2()) continue;
            if (best && part.area_mm2 <= best->area_mm2) continue;
            const Vec3 mean = part.middle / part.area_mm2;
            double nearest = std::numeric_limits<double>::infinity();
            for (const FaceId f : faces)
                if (const double d = norm(middle_[f] - mean); d < nearest) nearest = d, part.middle = middle_[f];
            best = part;
        }
        return best;
    }

    bool add_piece(const Part& part, double limit, bool is_last) {
        const std::vector<std::uint8_t> wanted = wanted_;
        double shear = limit;
        PieceNet net = lay_well(part, shear);
        ClothPiece piece;
        piece.net_outline = piece_at_start(net, shear);
        if (!cover(net, piece.net_outline, nets_.size())) return false;
        // What is left after the last piece is counted on, and given to that piece all the same.
        if (is_last && largest_wanted()) {
            const NetOptions options = options_for(part.middle, shear = most_shear_rad, wanted);
            net = PieceNet::lay(net_surface_, options).slit(net_surface_, options, net.strip_count() - 1);
            piece.net_outline = piece_at_start(net, shear);
        }
        piece.laid_mm2 = area_of(piece.net_outline);
        piece.start = net.start();
        std::tie(piece.max_shear_rad, piece.max_shear_at) = net.worst(shear);
        piece.part.kind = PartKind::cloth;
        finish(piece, net);
        surface_.pieces.push_back(std::move(piece));
        nets_.push_back(std::move(net));
        return true;
    }

    /// What no piece took lies under its neighbours' overlaps, and goes to one of them.
    void share_out_rest() {
        std::vector<FaceId> reached;
        for (FaceId f = 0; f < taken_by_.size(); ++f)
            if (taken_by_[f] != none) reached.push_back(f);
        for (std::size_t n = 0; n < reached.size(); ++n)
            for (unsigned k = 0; k < 3; ++k) {
                const FaceId next = net_surface_.adjacency()[3 * reached[n] + k];
                if (next == no_id || taken_by_[next] != none) continue;
                taken_by_[next] = taken_by_[reached[n]];
                reached.push_back(next);
            }
    }

    void flatten_pieces() {
        share_out_rest();
        for (std::size_t n = 0; n < surface_.pieces.size(); ++n) {
            FlatPlace place{{}, surface_.pieces[n].start, warp_};
            for (FaceId f = 0; f < taken_by_.size(); ++f)
                if (taken_by_[f] == n) place.faces.push_back(f);
            FlatPiece& flat = surface_.flats.emplace_back(
                flatten_piece(net_surface_.mesh(), net_surface_.adjacency(), place, settings_.kit));
            flat.part.id = "flat-" + surface_.id + (surface_.pieces.size() > 1 ? "-" + std::to_string(n + 1) : "");
            flat.part.note = "for what does not shear: mat, peel ply, film";
        }
    }

    [[nodiscard]] bool is_seam(const PieceNet& net, Vec3 place) const {
        return !rim_index_->nearest(place, rim_cells * net.cell_mm());
    }

    void finish(ClothPiece& piece, const PieceNet& net) {
        const auto at_seam = [&](Vec2 p) { return is_seam(net, net.place_on(p)); };
        const Polygons wide = with_margins(piece.net_outline, at_seam, settings_.kit);
        // Where strips lock beside a dart they leave holes, under its wedge.
        Polygons whole = wide;
        std::erase_if(whole, [](const std::vector<Vec2>& loop) { return area_of({loop}) < 0; });
        piece.darts = net.darts(whole, settings_.kit.overlap.mm());
        Polygons wedges;
        for (const Dart& dart : piece.darts)
            if (!dart.wedge.empty()) wedges.push_back(dart.wedge);
        if (!wedges.empty()) {
            wedges = unite(wedges);
            piece.net_outline = subtract(piece.net_outline, wedges);
            piece.laid_mm2 = area_of(piece.net_outline);
        }
        set_outline(piece, wedges.empty() ? wide : subtract(wide, wedges));
    }

    void set_outline(ClothPiece& piece, const Polygons& loops) const {
        piece.part.fit = {};
        piece.part.outline = cut_region(loops, settings_.kit, piece.part.fit);
    }

    /// Crosses with one number on two pieces where their seam lies.
    void add_match_marks() {
        int number = 0;
        std::vector<Polygons> outlines;
        for (const ClothPiece& piece : surface_.pieces) outlines.push_back(to_polygons(piece.part.outline));
        for (std::size_t a = 0; a < nets_.size(); ++a)
            for (const auto& loop : surface_.pieces[a].net_outline) {
                std::vector<Vec3> places;
                for (const Vec2 p : loop) places.push_back(nets_[a].place_on(p));
                std::vector<std::vector<std::optional<Vec2>>> on_other;  // of the pieces after a
                for (std::size_t b = a + 1; b < nets_.size(); ++b) on_other.push_back(nets_[b].find(places));
                double since = match_every_mm;
                for (std::size_t k = 0; k < loop.size(); ++k) {
                    since += norm(loop[k] - loop[(k + loop.size() - 1) % loop.size()]);
                    if (since < match_every_mm || !is_seam(nets_[a], places[k])) continue;
                    bool is_met = false;
                    for (std::size_t b = a + 1; b < nets_.size(); ++b) {
                        const std::optional<Vec2> flat = on_other[b - a - 1][k];
                        if (!flat || !contains(outlines[b], *flat)) continue;
                        if (!is_met) mark(surface_.pieces[a], loop[k], ++number);
                        is_met = true;
                        mark(surface_.pieces[b], *flat, number);
                    }
                    if (is_met) since = 0;
                }
            }
    }
    static void mark(ClothPiece& piece, Vec2 at, int number) {
        piece.part.marks.push_back({MarkKind::cross, {at}, {}, cross_mm});
        piece.part.marks.push_back({MarkKind::text, {at + Vec2{cross_mm, cross_mm}}, std::to_string(number), text_mm});
    }

    /// Strips across the roll that a pattern so wide is cut into; they lap over each other.
    [[nodiscard]] int strips_for(double width_mm, double roll_mm) const {
        const double lap = settings_.kit.overlap.mm();
        if (width_mm <= roll_mm || roll_mm <= 2 * lap) return 1;
        return static_cast<int>(std::ceil((width_mm - lap) / (roll_mm - lap)));
    }

    /// Pieces wider than a cloth's roll become strips along the warp, for the plies of that cloth.
    void cut_to_roll() {
        surface_.pieces_cut = static_cast<int>(surface_.pieces.size());
        const std::vector<PlyRun>& plies = surface_.laminate.plies;
        std::vector<ClothPiece> pieces;
        for (const ClothPiece& piece : surface_.pieces) {
            std::vector<std::pair<int, std::vector<std::size_t>>> ways;  // number of strips, whose plies are cut so
            for (std::size_t r = 0; r < plies.size(); ++r) {
                const int strips = strips_for(bounding_box(piece.part.outline).size().y, plies[r].cloth.roll_mm);
                auto way = std::ranges::find(ways, strips, &std::pair<int, std::vector<std::size_t>>::first);
                if (way == ways.end()) way = ways.insert(ways.end(), {strips, {}});
                way->second.push_back(r);
            }
            for (auto& [strips, runs] : ways)
                for (ClothPiece& strip : in_strips(piece, strips)) {
                    strip.runs = runs;
                    for (const std::size_t r : runs) strip.plies += plies[r].count;
                    pieces.push_back(std::move(strip));
                }
        }
        surface_.pieces = std::move(pieces);
    }

    [[nodiscard]] std::vector<ClothPiece> in_strips(const ClothPiece& piece, int strips) const {
        if (strips == 1) return {piece};
        const double lap = settings_.kit.overlap.mm();
        const Box2 box = bounding_box(piece.part.outline);
        const double step = (box.size().y - lap) / strips;
        const Polygons whole = to_polygons(piece.part.outline);
        const auto band = [&](double from, double to) {
            return Polygons{{{box.low.x - 1, from}, {box.high.x + 1, from}, {box.high.x + 1, to}, {box.low.x - 1, to}}};
        };
        std::vector<ClothPiece> cut;
        for (int s = 0; s < strips; ++s) {
            ClothPiece strip = piece;
            const double low = box.low.y + s * step, high = low + step + lap;
            set_outline(strip, intersect(whole, band(low, high)));
            strip.net_outline = intersect(piece.net_outline,
                                          band(s == 0 ? low : low + lap / 2, s + 1 == strips ? high : high - lap / 2));
            strip.laid_mm2 = area_of(strip.net_outline);
            std::erase_if(strip.darts, [&](const Dart& d) {
                return std::max(d.tip.y, d.edge.y) <= low || std::min(d.tip.y, d.edge.y) >= high;
            });
            for (Dart& dart : strip.darts)
                for (Vec2* end : {&dart.tip, &dart.edge}) end->y = std::clamp(end->y, low, high);
            std::erase_if(strip.part.marks,
                          [&](const Mark& m) { return m.points.front().y < low || m.points.front().y > high; });
            cut.push_back(std::move(strip));
        }
        return cut;
    }

    /// "4 plies alike", or "3 plies: 1 of glass-160, 2 of glass-300".
    [[nodiscard]] std::string plies_text(const ClothPiece& piece) const {
        const std::vector<PlyRun>& plies = surface_.laminate.plies;
        std::string text = std::to_string(piece.plies) + (piece.plies == 1 ? " ply" : " plies");
        if (piece.runs.size() == plies.size()) return text + (piece.plies == 1 ? "" : " alike");
        std::string of;
        for (const std::size_t r : piece.runs)
            of += (of.empty() ? ": " : ", ") + std::to_string(plies[r].count) + " of " + plies[r].cloth.name;
        return text + of;
    }

    /// "; 2 darts: slit from the edge to the cross, lips lap by up to 9 mm".
    [[nodiscard]] std::string darts_text(const ClothPiece& piece) const {
        if (piece.darts.empty()) return {};
        const auto most = [&](double Dart::*what) {
            return Quantity::of(Length::mm(std::ranges::max(piece.darts, {}, what).*what));
        };
        const Quantity lap = most(&Dart::lap_mm), opens = most(&Dart::opens_mm);
        std::string text = "; " + std::to_string(piece.darts.size()) + (piece.darts.size() == 1 ? " dart" : " darts") +
                           ": slit from the edge to the cross";
        if (lap.value > dart_tip_mm)
            text += ", lips lap by up to " +
                    format_quantity(Quantity::of(Length::mm(std::min(lap.value, settings_.kit.overlap.mm()))),
                                    settings_.units, 0);
        if (opens.value > dart_tip_mm)
            text += ", lips part by up to " + format_quantity(opens, settings_.units, 0) + ", lay a strip there";
        return text;
    }

    static void mark_dart(PlatePart& part, const Dart& dart, std::size_t number) {
        part.marks.push_back({MarkKind::line, {dart.tip, dart.wedge.empty() ? dart.edge : dart.wedge.front()}, {}, 0});
        part.marks.push_back({MarkKind::cross, {dart.tip}, {}, cross_mm});
        part.marks.push_back(
            {MarkKind::text, {dart.tip + Vec2{cross_mm, 0}}, "dart " + std::to_string(number), text_mm});
    }

    void name_pieces() {
        for (std::size_t n = 0; n < surface_.pieces.size(); ++n) {
            ClothPiece& piece = surface_.pieces[n];
            PlatePart& part = piece.part;
            part.id = "cloth-" + surface_.id + (surface_.pieces.size() > 1 ? "-" + std::to_string(n + 1) : "");
            const Cloth& cloth = surface_.laminate.plies[piece.runs.front()].cloth;
            part.stock = cloth.name;
            part.thickness_mm = ply_thickness_mm(cloth, settings_.laminate_mould.resin_density.kg_mm3());
            part.note = plies_text(piece) + ", warp along the arrow" + darts_text(piece);
            add_cloth_marks(part, piece.net_outline);
            for (std::size_t d = 0; d < piece.darts.size(); ++d) mark_dart(part, piece.darts[d], d + 1);
        }
    }

    LaidSurface& surface_;
    NetSurface net_surface_;
    Vec3 warp_;
    const Settings& settings_;
    std::vector<Vec3> middle_, rim_;
    std::vector<double> area_;
    std::optional<PointIndex> rim_index_;
    static constexpr std::size_t none = std::numeric_limits<std::size_t>::max();
    std::vector<std::uint8_t> wanted_;   // a face each: 1 = no piece covers it yet
    std::vector<std::size_t> taken_by_;  // a face each: the piece that was laid on it first
    std::vector<PieceNet> nets_;         // of surface_.pieces before these are cut to the roll
};

}  // namespace

void cut_pieces(LaidSurface& surface, const TriMesh& mesh, Vec3 warp, const Settings& settings) {
    PieceCutter(surface, mesh, warp, settings).cut();
}

}  // namespace cradlewright
