// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <set>

#include "cradlewright/mechanics/lifting.hpp"
#include "cradlewright/stages/work_plan.hpp"
#include "support/shapes.hpp"

namespace cradlewright {
namespace {

constexpr double base_x = 800, base_y = 400, base_t = 18;

/// A box of 600 x 200 x 40 on its middle height, a base board, one rib, one level panel of 100 x 60 beside it.
struct Job {
    PosedPlug posed;
    Parting parting;
    Flange flange;
    Cradle cradle;
    Beads beads;
    std::vector<ScraperCard> cards;
    std::vector<PlatePart> templates;
    MouldJoint joint;
    Hardware hardware;
    Layup layup;
    MouldBack back;
    Settings settings;

    Job() {
        posed.plug.name = "box";
        posed.plug.mesh = std::make_shared<TriMesh>(test::make_box({600, 200, 40}));
        posed.plug.mass_properties = mass_properties(*posed.plug.mesh);
        posed.plug.mass_kg = 2;
        posed.pose.scan_to_fixture.origin = {0, 0, 100};
        posed.pose.pull_fixture = {0, 0, 1};
        posed.pose.pull2_fixture = {0, 0, -1};
        for (const Vec3 v : posed.mesh().vertices) posed.box_fixture.add(posed.pose.to_fixture(v));
        parting.loops.emplace_back();
        for (const Vec3 n : face_normals(posed.mesh())) parting.half.push_back(n.z > 0 ? 1 : 2);
        cradle.base = plate("base", PartKind::base, {{-base_x / 2, -base_y / 2, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
                            {base_x, base_y}, base_t, "birch-ply-18");
        Rib rib;
        rib.part = plate("rib-1", PartKind::rib, {{4.5, -150, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}}, {300, 97}, 9,
                         "birch-ply-9");
        rib.part.marks.push_back({MarkKind::line, {{10, 35}, {290, 35}}, "", 0});
        rib.seats = {{{-150, 97}, {-102, 97}}, {{102, 97}, {150, 99}}};
        cradle.ribs = {rib};
        FlangePanel panel;
        panel.id = "panel-front-1";
        panel.part =
            plate(panel.id, PartKind::panel, {{-50, 100, 100}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}}, {100, 60}, 3, "pvc-3");
        panel.max_gap_mm = 0.75;
        flange.panels = {panel};
        LaidSurface surface;
        surface.id = "mould-1";
        surface.area_mm2 = 2e5;
        surface.laminate = {};
        layup.surfaces = {surface};
        layup.kit.batch_kg = 0.4;
        layup.kit.pours = {{.surface = "mould-1", .mix_kg = 1.3, .batches = 4, .gel_coat_kg = 0.2}};
    }

    static PlatePart plate(const std::string& id, PartKind kind, const Frame3& frame, Vec2 size, double t,
                           const std::string& stock) {
        PlatePart part;
        part.id = id, part.kind = kind, part.frame = frame, part.thickness_mm = t, part.stock = stock;
        part.outline.outer = make_rectangle({0, 0}, size, CutKind::rough);
        return part;
    }

    [[nodiscard]] WorkPlan plan() const {
        return plan_work(
            {posed, parting, flange, cradle, beads, cards, templates, joint, hardware, layup, back, settings});
    }
};

const WorkStep* find(const WorkPlan& plan, const std::string& id) {
    const auto found = std::ranges::find(plan.steps, id, &WorkStep::id);
    return found == plan.steps.end() ? nullptr : &*found;
}
const DryFitRow* find_row(const WorkPlan& plan, const std::string& id) {
    const auto found = std::ranges::find(plan.dry_fit, id, &DryFitRow::id);
    return found == plan.dry_fit.end() ? nullptr : &*found;
}
double amount(const WorkStep& step, const std::string& what) {
    for (const WorkAmount& a : step.amounts)
        if (a.what == what) return a.amount.value;
    return std::numeric_limits<double>::quiet_NaN();
}

void add_plies(Job& job) {
    job.layup.surfaces[0].laminate = make_laminate(job.settings, job.settings.laminate_mould, "laminate.mould.plies");
}

TEST_CASE("work: ids are unique and plain, phases in order", "[stages]") {
    Job job;
    add_plies(job);
    for (const MouldUse use : {MouldUse::single, MouldUse::trim_and_bond, MouldUse::join_in_mould}) {
        job.settings.mould.use = use;
        const WorkPlan plan = job.plan();
        REQUIRE(plan.steps.size() > 20);
        std::set<std::string> ids;
        WorkPhase before = WorkPhase::cut;
        for (const WorkStep& step : plan.steps) {
            CAPTURE(step.id);
            CHECK(ids.insert(step.id).second);
            CHECK(step.id.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-") == std::string::npos);
            CHECK(step.phase >= before);
            CHECK_FALSE(step.title.empty());
            CHECK_FALSE(step.text.empty());
            before = step.phase;
        }
        std::set<std::string> rows;
        for (const DryFitRow& row : plan.dry_fit) CHECK(rows.insert(row.id).second);
    }
    CHECK(Job{}.plan().steps.size() > 10);
    job.parting.loops.clear();
    CHECK(job.plan().steps.empty());
}

TEST_CASE("work: plates behind the mould are set, tabbed and turned over with it", "[stages]") {
    Job job;
    add_plies(job);
    const WorkPlan bare = job.plan();
    CHECK(find(bare, "half-1-plates") == nullptr);
    CHECK(find(bare, "turn-over-place")->title.find("soft bed") != std::string::npos);

    BackHalf half;
    BackPlate plate;
    // 200 x 60 x 9 mm of birch plywood over the plug's middle, 100 mm up.
    plate.part = Job::plate("back-1-rib-1", PartKind::mould_rib, {{0, -100, 200}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}},
                            {200, 60}, 9, "birch-ply-9");
    plate.tab_mm = 400;
    half.plates = {plate};
    half.laminate_kg = 1, half.plates_kg = 0.075, half.tabs_kg = 0.025;
    job.back.halves = {half};
    job.back.strip_mm = 6, job.back.tab_cloth = "glass-300";
    const WorkPlan plan = job.plan();
    const WorkStep *set = find(plan, "half-1-plates"), *tab = find(plan, "half-1-tabs");
    REQUIRE(set != nullptr);
    REQUIRE(tab != nullptr);
    CHECK(set < tab);
    CHECK(find(plan, "half-1-cure") < set);
    CHECK(amount(*set, "plates") == 1);
    CHECK(amount(*tab, "tabbing strip, all plies") == Approx(2 * 400));
    CHECK(amount(*tab, "half 1 with its plates") == Approx(1.1));
    CHECK_FALSE(tab->cautions.empty());
    CHECK(find(plan, "turn-over-place")->text.find("stand on its plates") != std::string::npos);
    CHECK(plan.turn_over.held_by.find("plates behind half 1") != std::string::npos);
    CHECK(bare.turn_over.held_by.find("batten") != std::string::npos);
    // What is lifted off is the half with its plates.
    BackHalf other = half;
    other.half = 2, other.laminate_kg = 2;
    job.back.halves.push_back(other);
    const WorkPlan both = job.plan();
    CHECK(amount(*find(both, "opening-half-2"), "half 2 with its plates") == Approx(2.1));
    // Density of the catalog, whatever it is: volume times density, and the tabs.
    const double density = material(stock(job.settings, "birch-ply-9").material).density_kg_mm3.value;
    REQUIRE(find(plan, "cut-back-plates") != nullptr);
    CHECK(amount(*find(plan, "cut-back-plates"), "plates behind half 1") == 1);
    CHECK(find(bare, "cut-back-plates") == nullptr);
    CHECK(plan.turn_over.mass_kg - bare.turn_over.mass_kg == Approx(200 * 60 * 9 * density + 0.025));
    CHECK(plan.turn_over.centre.z > bare.turn_over.centre.z);
}

TEST_CASE("work: half 1 stays on the plug until half 2 has cured, but for a single mould", "[stages]") {
    Job job;
    add_plies(job);
    const WorkPlan two = job.plan();
    const auto at = [&](const std::string& id) {
        return std::ranges::find(two.steps, id, &WorkStep::id) - two.steps.begin();
    };
    REQUIRE(find(two, "half-2-cure") != nullptr);
    REQUIRE(find(two, "opening-plug") != nullptr);
    CHECK(find(two, "half-2-cure")->wait_s == job.settings.kit.open_wait_s);
    CHECK(find(two, "half-1-cure")->wait_s == job.settings.kit.cure_s);
    CHECK(at("half-1-cure") < at("turn-over-turn"));
    CHECK(at("turn-over-fixture-off") < at("half-2-cure"));
    CHECK(at("half-2-cure") < at("opening-half-2"));
    CHECK(at("opening-half-2") < at("opening-plug"));
    CHECK(find(two, "turn-over-clean")->text.find("not pulled before half 2 has cured") != std::string::npos);
    // Nothing before half 2's cure opens, and half 2 goes first.
    for (auto step = two.steps.begin(); step != two.steps.begin() + at("half-2-cure"); ++step)
        CHECK(step->phase != WorkPhase::opening);
    CHECK(find(two, "opening-half-2")->text.find("Half 1 stays where it is, with the plug in it") != std::string::npos);

    job.settings.mould.use = MouldUse::single;
    const WorkPlan single = job.plan();
    CHECK(find(single, "half-2-cure") == nullptr);
    CHECK(find(single, "opening-wedge") != nullptr);
    CHECK(find(single, "half-1-cure")->wait_s == job.settings.kit.open_wait_s);
}

TEST_CASE("work: half 2 is lifted along a pull of its own as on the plug", "[stages]") {
    Job job;
    add_plies(job);
    CHECK(find(job.plan(), "opening-half-2")->text.find("Along the pull, level") == 0);
    job.posed.pose.pull2_fixture = {0, std::sin(Angle::deg(8).rad()), -std::cos(Angle::deg(8).rad())};
    const std::string text = find(job.plan(), "opening-half-2")->text;
    CAPTURE(text);
    CHECK(text.find("toward the front, 8.0 deg") != std::string::npos);
    job.posed.pose.pull2_fixture = normalized(Vec3{-0.1, -0.1, -1});
    CHECK(find(job.plan(), "opening-half-2")->text.find("toward the back and end-a") != std::string::npos);
}

TEST_CASE("work: quantities are those of the kit", "[stages]") {
    Job job;
    add_plies(job);
    const WorkPlan plan = job.plan();
    const WorkStep* plies = find(plan, "half-1-plies");
    REQUIRE(plies != nullptr);
    CHECK(amount(*plies, "resin and hardener in all, with waste") == 1.3);
    CHECK(amount(*plies, "batches") == 4);
    // 100 : 30 by mass.
    CHECK(amount(*plies, "resin a batch") == Approx(0.4 * 100 / 130));
    CHECK(amount(*plies, "hardener a batch") == Approx(0.4 * 30 / 130));
    CHECK(amount(*find(plan, "half-1-gel-coat"), "gel coat, with waste") == 0.2);
    const WorkStep* wax = find(plan, "prepare-wax");
    REQUIRE(wax != nullptr);
    CHECK(amount(*wax, "coats of wax") == job.settings.kit.wax_coats);
    // Box of 600 x 200 x 40 and a panel of 100 x 60.
    CHECK(amount(*wax, "a coat") == Approx(2 * (600. * 200 + 600 * 40 + 200 * 40) + 6000));
    CHECK(wax->wait_s == job.settings.kit.wax_wait_s);
}

TEST_CASE("work: every setting of coats and waits changes the plan", "[stages]") {
    Job job;
    add_plies(job);
    const double before = job.plan().wait_s;
    KitOptions& kit = job.settings.kit;
    const KitOptions usual = kit;
    for (double KitOptions::*wait : {&KitOptions::seal_wait_s, &KitOptions::wax_wait_s, &KitOptions::film_wait_s,
                                     &KitOptions::gel_coat_wait_s, &KitOptions::cure_s, &KitOptions::open_wait_s,
                                     &KitOptions::seal_coats, &KitOptions::wax_coats, &KitOptions::film_coats}) {
        kit = usual;
        kit.*wait += 1;
        CHECK(job.plan().wait_s > before);
    }
    kit = usual;
    kit.seal_coats = 0;
    CHECK(find(job.plan(), "prepare-seal") == nullptr);
}

TEST_CASE("work: the dry-fit sheet measures what was designed", "[stages]") {
    const Job job;
    const WorkPlan plan = job.plan();
    const auto target = [&](const std::string& id) {
        CAPTURE(id);
        const DryFitRow* row = find_row(plan, id);
        REQUIRE(row != nullptr);
        return row->target_mm;
    };
    CHECK(target("base-diagonal-1") == Approx(std::hypot(base_x, base_y)));
    CHECK(target("base-level-along") == 0);
    CHECK(target("level-rib-1") == Approx(35));
    // A level seat once, a sloping one at both ends; from the base and from the rib's level line at 35.
    CHECK(target("seat-rib-1-1") == Approx(97));
    CHECK(find_row(plan, "seat-rib-1-1")->from_level_mm == Approx(62));
    CHECK(target("seat-rib-1-2-left") == Approx(97));
    CHECK(find_row(plan, "seat-rib-1-2-right")->from_level_mm == Approx(64));
    CHECK(std::isnan(find_row(plan, "plug-top")->from_level_mm));
    CHECK(target("plug-top") == Approx(120));
    CHECK(target("plug-rock") == 0);
    CHECK(target("gap-panel-front-1") == 0.75);
    CHECK(target("gap-panel-front-1") + find_row(plan, "gap-panel-front-1")->tolerance_mm ==
          Approx(job.settings.flange.gap_limit.mm()));
    for (const DryFitRow& row : plan.dry_fit) {
        CAPTURE(row.id);
        CHECK(row.tolerance_mm > 0);
        CHECK_FALSE(row.when_off.empty());
        // What is fed back is a setting that can be told.
        if (!row.setting.empty() && row.setting != "plug.known")
            CHECK(parse_length(get_setting(job.settings, row.setting), "test").mm() == Approx(row.target_mm));
    }
    CHECK(find_row(plan, "thickness-pvc-3")->setting == "stock.pvc-3.thickness");
    CHECK(find_row(plan, "thickness-pad")->setting == "cradle.pad");
    CHECK(find_row(plan, "thickness-glue")->setting == "flange.glue");
}

TEST_CASE("work: mass and centre of what is turned over", "[stages]") {
    Job job;
    const WorkPlan light = job.plan();
    const auto density = [&](const char* name) {
        return material(stock(job.settings, name).material).density_kg_mm3.value;
    };
    const double board = base_x * base_y * base_t * density("birch-ply-18");
    const double rib = 300. * 97 * 9 * density("birch-ply-9"), panel = 100. * 60 * 3 * density("pvc-3");
    CHECK(light.turn_over.masses[0].mass_kg == Approx(board + rib + panel));
    CHECK(light.turn_over.mass_kg == Approx(board + rib + panel + 2));
    const double moment = board * -base_t / 2 + rib * 97 / 2 + panel * 98.5 + 2 * 100;
    CHECK(light.turn_over.centre.z == Approx(moment / light.turn_over.mass_kg));
    CHECK(light.turn_over.centre.y == Approx(panel * 130 / light.turn_over.mass_kg).margin(1e-9));
    CHECK_FALSE(light.turn_over.unknown.empty());  // no laminate told

    add_plies(job);
    const WorkPlan whole = job.plan();
    CHECK(whole.turn_over.unknown.empty());
    CHECK(whole.turn_over.mass_kg > light.turn_over.mass_kg);
    // Level loads: moments about either end agree.
    REQUIRE(whole.turn_over.holds.size() >= 2);
    CHECK(whole.turn_over.holds[0].share + whole.turn_over.holds[1].share == Approx(1));
    CHECK(whole.turn_over.holds[0].share * whole.turn_over.holds[0].at.x +
              whole.turn_over.holds[1].share * whole.turn_over.holds[1].at.x ==
          Approx(whole.turn_over.centre.x).margin(1e-9));
}

TEST_CASE("work: heavier loads want more people, then a hoist; an unknown plug is said", "[stages]") {
    Job job;
    add_plies(job);
    const double one = job.plan().turn_over.one_person_kg;
    const double rest = job.plan().turn_over.mass_kg - 2;
    const auto people_at = [&](double total) {
        job.posed.plug.mass_kg = total - rest;
        return job.plan().turn_over.people;
    };
    CHECK(people_at(team_lift_kg(one, 2) - 0.01) == 2);
    CHECK(people_at(team_lift_kg(one, 2) + 0.01) == 3);
    CHECK(people_at(team_lift_kg(one, 3) + 0.01) == 0);
    // 23 kg x 25/40 x 1 x (0.82 + 4.5/25 as the base is 400 broad, 25 cm at least) x 1.
    CHECK(one == Approx(23 * 25. / 40));

    job.posed.plug.is_closed = false;
    job.posed.plug.mass_kg = std::numeric_limits<double>::quiet_NaN();
    const WorkPlan open = job.plan();
    CHECK(open.turn_over.unknown.find("plug.opening") != std::string::npos);
    CHECK(open.turn_over.mass_kg == Approx(rest));
}

TEST_CASE("work: peroxides are warned of where the resin cures by them", "[stages]") {
    Job job;
    add_plies(job);
    const auto warns = [&] {
        const WorkPlan plan = job.plan();
        return std::ranges::any_of(find(plan, "half-1-plies")->cautions,
                                   [](const std::string& c) { return c.find("eroxide") != std::string::npos; });
    };
    CHECK_FALSE(warns());
    job.settings.mould.resin = "polyester";
    CHECK(warns());
}

}  // namespace
}  // namespace cradlewright
