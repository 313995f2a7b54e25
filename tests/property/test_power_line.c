/* The power diagram of two aircraft on every paper and of a grown job: every load, device and
 * source stands on it exactly once, counted by the rows of the display list; no row passes a bar
 * that is not its own; figures are those of the phase asked for. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "app/draw.h"
#include "base/text.h"
#include "draw/measure.h"
#include "draw/power_line.h"
#include "support/job_grow.h"

#define LIBRARY MARLING_SOURCE_DIR "/library"

static const char *const JOBS[] = {MARLING_SOURCE_DIR "/examples/first",
                                   MARLING_SOURCE_DIR "/examples/osier_mended"};
static const char *const PAPERS[] = {"A3", "A4", "Letter", "Tabloid"};

typedef struct Shop {
    Proof proofs[2];
    Proof grown;
    DrawFonts *fonts;
} Shop;

static int set_up(void **state) {
    static Shop shop;
    ProofOptions options = {.library = LIBRARY};
    for (size_t i = 0; i < 2; i++) {
        proof_run(JOBS[i], &options, &shop.proofs[i]);
        if (!shop.proofs[i].complete) {
            return -1;
        }
    }
    Proof *grown = &shop.grown;
    job_grow(&grown->arena, &shop.proofs[1].set, 3000, 7, &grown->set);
    grown->findings.arena = &grown->arena;
    proof_run_set(&options, grown);
    if (!grown->complete) {
        return -1;
    }
    shop.fonts = fonts_open();
    *state = &shop;
    return 0;
}

static int tear_down(void **state) {
    Shop *shop = *state;
    proof_free(&shop->proofs[0]);
    proof_free(&shop->proofs[1]);
    proof_free(&shop->grown);
    fonts_close(shop->fonts);
    return 0;
}

/* All sheets of the power diagram, drawn. */
typedef struct Drawn {
    Arena arena;
    DrawView view;
    SheetPlan plan;
    Findings findings;
    DrawList *lists;
    size_t count;
} Drawn;

static void draw_all(Shop *shop, Proof *proof, const DrawChoice *choice, Drawn *drawn) {
    *drawn = (Drawn){0};
    const char *problem;
    assert_true(draw_view_build(&drawn->arena, proof, choice, &drawn->view, &problem));
    drawn->findings = (Findings){.arena = &drawn->arena};
    drawn->plan = (SheetPlan){.arena = &drawn->arena,
                              .fonts = shop->fonts,
                              .view = &drawn->view,
                              .findings = &drawn->findings};
    power_plan(&drawn->plan); /* the other kinds have tests of their own */
    drawn->lists = ARENA_ARRAY(&drawn->arena, DrawList, drawn->plan.count);
    for (uint32_t i = 0; i < drawn->plan.count; i++) {
        if (drawn->plan.sheets[i].kind == SHEET_POWER) {
            sheet_draw(&drawn->plan, i, &drawn->arena, false, &drawn->lists[drawn->count++]);
        }
    }
    assert_true(drawn->count > 0);
}

/* Counts by "table key text" of everything on layer tag. */
static void count_tags(Drawn *drawn, NameMap *counts) {
    for (size_t i = 0; i < drawn->count; i++) {
        for (size_t j = 0; j < drawn->lists[i].count; j++) {
            const DrawItem *item = &drawn->lists[i].items[j];
            if (item->kind != DRAW_TEXT || item->layer != LAYER_TAG || item->table == TABLE_COUNT ||
                item->table == TABLE_bus) { /* a bus may have a bar on several sheets */
                continue;
            }
            const char *name =
                arena_format(&drawn->arena, "%d %s %s", item->table, item->key, item->text);
            if (name_map_add(counts, &drawn->arena, name, 1) != NAME_NONE) {
                fail_msg("%s stands twice on layer tag", name);
            }
        }
    }
}

static void expect(Drawn *drawn, const NameMap *counts, TableId table, const char *key,
                   const char *text) {
    const char *name = arena_format(&drawn->arena, "%d %s %s", table, key, text);
    if (name_map_find(counts, name) == NAME_NONE) {
        fail_msg("%s (%s) is not on the power diagram, %s", text, key,
                 paper_name(drawn->view.paper));
    }
}

static void everything_once(Shop *shop, Proof *proof, const char *paper) {
    Drawn drawn;
    draw_all(shop, proof, &(DrawChoice){.paper = paper}, &drawn);
    NameMap counts = {0};
    count_tags(&drawn, &counts);
    const Model *model = &proof->model;
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        const ModelOwner *who = &model->owners[owner];
        if (who->kind == OWNER_PROTECTION || who->kind == OWNER_SWITCHGEAR) {
            TableId table = who->kind == OWNER_PROTECTION ? TABLE_protection : TABLE_switchgear;
            expect(&drawn, &counts, table, who->tag, who->tag);
        }
    }
    for (size_t i = 0; i < proof->set.source.count; i++) {
        const char *unit = proof->set.source.rows[i].unit;
        expect(&drawn, &counts, TABLE_source, unit, unit);
    }
    for (uint32_t i = 0; i < proof->supply.load_count; i++) {
        const ModelTerminal *port = &model->terminals[proof->supply.loads[i].port];
        const ModelOwner *who = &model->owners[port->owner];
        expect(&drawn, &counts, who->kind == OWNER_UNIT ? TABLE_unit : TABLE_switchgear, who->tag,
               port->end);
    }
    arena_free(&drawn.arena);
}

static void everything_stands_there_once(void **state) {
    Shop *shop = *state;
    for (size_t job = 0; job < 2; job++) {
        for (size_t paper = 0; paper < 4; paper++) {
            everything_once(shop, &shop->proofs[job], PAPERS[paper]);
        }
    }
    everything_once(shop, &shop->grown, "A3");
}

/* Bars are the filled rectangles of rows of `bus`; a wire may end at one or begin at one. */
static void no_wire_of(const Drawn *drawn) {
    size_t bars = 0;
    size_t wires = 0;
    for (size_t i = 0; i < drawn->count; i++) {
        const DrawList *list = &drawn->lists[i];
        for (size_t j = 0; j < list->count; j++) {
            const DrawItem *bar = &list->items[j];
            if (bar->layer != LAYER_BOX || !bar->filled || bar->table != TABLE_bus) {
                continue;
            }
            bars++;
            for (size_t k = 0; k < list->count; k++) {
                const DrawItem *wire = &list->items[k];
                if (wire->layer != LAYER_WIRE || wire->kind != DRAW_PATH) {
                    continue;
                }
                wires++;
                bool level =
                    wire->box.top_mm < bar->box.bottom_mm && wire->box.bottom_mm > bar->box.top_mm;
                if (level && wire->box.left_mm < bar->box.left_mm - 0.1 &&
                    wire->box.right_mm > bar->box.right_mm + 0.1) {
                    fail_msg("%s passes the bar of %s", wire->key, bar->key);
                }
            }
        }
    }
    assert_true(bars > 0 && wires > bars);
}

static void no_row_passes_a_bar_that_is_not_its_own(void **state) {
    Shop *shop = *state;
    Proof *proofs[] = {&shop->proofs[0], &shop->proofs[1], &shop->grown};
    for (size_t job = 0; job < 3; job++) {
        for (size_t paper = 0; paper < 4; paper++) {
            Drawn drawn;
            draw_all(shop, proofs[job], &(DrawChoice){.paper = PAPERS[paper]}, &drawn);
            no_wire_of(&drawn);
            arena_free(&drawn.arena);
        }
    }
}

static size_t marks_of(const Drawn *drawn, const char *of) {
    size_t marks = 0;
    Arena arena = {0};
    for (size_t i = 0; i < drawn->count; i++) {
        Measure measure;
        draw_measure(&arena, &drawn->lists[i], sheet_field(drawn->view.paper), &measure);
        for (size_t j = 0; j < measure.mark_count && marks + j < 5; j++) {
            print_message("%s sheet %zu: %s\n", of, i + 1,
                          draw_mark_text(&arena, &drawn->lists[i], &measure.marks[j]));
        }
        marks += measure.mark_count;
    }
    arena_free(&arena);
    return marks;
}

static void a_grown_job_is_clean(void **state) {
    Shop *shop = *state;
    for (size_t paper = 0; paper < 2; paper++) {
        Drawn drawn;
        draw_all(shop, &shop->grown, &(DrawChoice){.paper = PAPERS[paper]}, &drawn);
        assert_true(drawn.count > 5);
        assert_int_equal(marks_of(&drawn, PAPERS[paper]), 0);
        arena_free(&drawn.arena);
    }
}

static uint64_t next(uint64_t *random) {
    uint64_t z = (*random += 0x9e3779b97f4a7c15u); /* splitmix64 */
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

/* More buses, and feeds between any two of them with up to three breakers in line: rings, ties,
 * buses that nothing feeds. */
static void tangle(Proof *proof, uint64_t random) {
    Arena *arena = &proof->arena;
    size_t buses = 3 + next(&random) % 22;
    for (size_t i = 0; i < buses; i++) {
        BusRow *bus = table_append(&proof->set, arena, TABLE_bus);
        bus->bus = arena_format(arena, "X%zu", i);
        bus->stud = arena_format(arena, "BBX%zu.T", i);
        bus->node = "P2";
        bus->stub_mm = 60.0;
    }
    size_t count = proof->set.bus.count;
    size_t feeds = buses + next(&random) % (2 * buses);
    for (size_t i = 0; i < feeds; i++) {
        size_t from = next(&random) % count;
        size_t to = (from + 1 + next(&random) % (count - 1)) % count;
        Buffer through = {.arena = arena};
        buffer_text(&through, "");
        size_t devices = next(&random) % 4;
        for (size_t j = 0; j < devices; j++) {
            ProtectionRow *device = table_append(&proof->set, arena, TABLE_protection);
            device->tag = arena_format(arena, "F_%zu_%zu", i, j);
            device->part = "breaker";
            device->rating_a = 5.0;
            device->node = "P2";
            device->stub_mm = 120.0;
            buffer_format(&through, "%s%s", j == 0 ? "" : " ", device->tag);
        }
        FeedRow *feed = table_append(&proof->set, arena, TABLE_feed);
        feed->feed = arena_format(arena, "G%zu", i);
        feed->onto = proof->set.bus.rows[to].bus;
        feed->out_of = proof->set.bus.rows[from].bus;
        feed->through = through.bytes == NULL ? "" : through.bytes;
    }
}

static void a_tangle_of_buses_is_drawn_clean(void **state) {
    Shop *shop = *state;
    ProofOptions options = {.library = LIBRARY};
    for (uint64_t seed = 1; seed <= 8; seed++) {
        print_message("seed %llu\n", (unsigned long long)seed);
        Proof proof = {0};
        proof.findings.arena = &proof.arena;
        Status library =
            table_read_folder(&proof.arena, LIBRARY, GROUP_LIBRARY, &proof.set, &proof.findings);
        Status job =
            table_read_folder(&proof.arena, JOBS[0], GROUP_JOB, &proof.set, &proof.findings);
        assert_false(library.failed || job.failed);
        tangle(&proof, seed);
        proof_run_set(&options, &proof);
        assert_true(proof.complete);
        for (size_t paper = 0; paper < 4; paper++) {
            Drawn drawn;
            draw_all(shop, &proof, &(DrawChoice){.paper = PAPERS[paper]}, &drawn);
            assert_int_equal(marks_of(&drawn, PAPERS[paper]), 0);
            no_wire_of(&drawn);
            arena_free(&drawn.arena);
            everything_once(shop, &proof, PAPERS[paper]);
        }
        proof_free(&proof);
    }
}

static bool says(const Drawn *drawn, TableId table, const char *key, const char *words) {
    for (size_t i = 0; i < drawn->count; i++) {
        for (size_t j = 0; j < drawn->lists[i].count; j++) {
            const DrawItem *item = &drawn->lists[i].items[j];
            if (item->kind == DRAW_TEXT && item->table == table && strcmp(item->key, key) == 0 &&
                strstr(item->text, words) != NULL) {
                return true;
            }
        }
    }
    return false;
}

/* The relay of the avionics bus is closed at rest and opened in an emergency; the pump draws only
 * when it turns. Figures are compared with the rows of results. */
static void figures_are_those_of_the_phase(void **state) {
    Shop *shop = *state;
    Proof *proof = &shop->proofs[1];
    const char *const phases[] = {"emergency", "cruise_night"};
    for (size_t i = 0; i < 2; i++) {
        Drawn drawn;
        draw_all(shop, proof, &(DrawChoice){.phase = phases[i]}, &drawn);
        assert_true(says(&drawn, TABLE_COUNT, "", phases[i]));
        assert_int_equal(says(&drawn, TABLE_switchgear, "KA", "30 A open"), i == 0);
        assert_int_equal(says(&drawn, TABLE_switchgear, "KA", "30 A closed"), i == 1);
        assert_int_equal(says(&drawn, TABLE_unit, "PD2", "off"), i == 0);
        size_t compared = 0;
        for (size_t row = 0; row < proof->set.port_voltage.count; row++) {
            const PortVoltageRow *port = &proof->set.port_voltage.rows[row];
            const char *dot = strchr(port->port, '.');
            if (strcmp(port->phase, phases[i]) != 0 || strcmp(port->state, "on") != 0) {
                continue;
            }
            const char *unit = arena_text(&drawn.arena, port->port, (size_t)(dot - port->port));
            assert_true(says(&drawn, TABLE_unit, unit,
                             arena_format(&drawn.arena, "%.2f V", port->volts_v)));
            compared++;
        }
        assert_true(compared > 10);
        arena_free(&drawn.arena);
    }
}

/* Every action of every situation is marked where its item stands. */
static void shed_items_are_marked(void **state) {
    Shop *shop = *state;
    Drawn drawn;
    draw_all(shop, &shop->proofs[1], &(DrawChoice){0}, &drawn);
    assert_true(says(&drawn, TABLE_switchgear, "KT", "ABCD"));
    assert_true(says(&drawn, TABLE_switchgear, "KM", "CD"));
    assert_true(says(&drawn, TABLE_switchgear, "SW_ESS", "CDEF on"));
    assert_true(says(&drawn, TABLE_bus, "MAIN", "CD"));
    assert_false(says(&drawn, TABLE_bus, "ENA", "CD"));
    arena_free(&drawn.arena);
    draw_all(shop, &shop->proofs[0], &(DrawChoice){0}, &drawn);
    assert_true(says(&drawn, TABLE_unit, "ALT", "A"));
    arena_free(&drawn.arena);
}

static void every_bus_has_a_place(void **state) {
    Shop *shop = *state;
    for (size_t job = 0; job < 2; job++) {
        Drawn drawn;
        draw_all(shop, &shop->proofs[job], &(DrawChoice){.paper = "A4"}, &drawn);
        DrawBox field = sheet_field(PAPER_A4);
        for (BusId bus = 0; bus < shop->proofs[job].set.bus.count; bus++) {
            SheetPlace place = power_bus_place(&drawn.plan, bus);
            assert_true(place.sheet < drawn.plan.count);
            assert_int_equal(drawn.plan.sheets[place.sheet].kind, SHEET_POWER);
            assert_true(place.at.x_mm >= field.left_mm && place.at.x_mm <= field.right_mm);
            assert_true(place.at.y_mm >= field.top_mm && place.at.y_mm <= field.bottom_mm);
        }
        arena_free(&drawn.arena);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(everything_stands_there_once),
        cmocka_unit_test(no_row_passes_a_bar_that_is_not_its_own),
        cmocka_unit_test(a_grown_job_is_clean),
        cmocka_unit_test(a_tangle_of_buses_is_drawn_clean),
        cmocka_unit_test(figures_are_those_of_the_phase),
        cmocka_unit_test(shed_items_are_marked),
        cmocka_unit_test(every_bus_has_a_place),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
