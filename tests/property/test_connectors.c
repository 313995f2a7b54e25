/* Connector sheets and labels of whole jobs: every cavity and pin stands there exactly once, every
 * view shows every cavity, nothing overlaps, on every paper; the same for a box of 300 pins with
 * tags of 200 letters and in other scripts. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "app/draw.h"
#include "app/prove.h"
#include "draw/face.h"
#include "draw/measure.h"

typedef struct Case {
    Proof proof;
    Arena arena;
    DrawFonts *fonts;
    DrawView view;
    SheetPlan plan;
    Findings findings;
} Case;

static void read_case(Case *c, const char *job, void (*change)(Case *)) {
    *c = (Case){0};
    c->proof.findings.arena = &c->proof.arena;
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library"};
    Status status = table_read_folder(&c->proof.arena, options.library, GROUP_LIBRARY,
                                      &c->proof.set, &c->proof.findings);
    assert_false(status.failed);
    status = table_read_folder(&c->proof.arena, job, GROUP_JOB, &c->proof.set, &c->proof.findings);
    assert_false(status.failed);
    if (change != NULL) {
        change(c);
    }
    proof_run_set(&options, &c->proof);
    assert_true(c->proof.complete);
    c->fonts = fonts_open();
}

static void plan_case(Case *c, const char *paper) {
    const char *problem = NULL;
    arena_free(&c->arena);
    c->arena = (Arena){0};
    c->findings = (Findings){.arena = &c->arena};
    DrawChoice choice = {.paper = paper};
    assert_true(draw_view_build(&c->arena, &c->proof, &choice, &c->view, &problem));
    sheets_plan(&c->arena, c->fonts, &c->view, &c->plan, &c->findings);
}

static void free_case(Case *c) {
    arena_free(&c->arena);
    fonts_close(c->fonts);
    proof_free(&c->proof);
}

/* --- counting -----------------------------------------------------------------------------------
 */

typedef struct Count {
    Arena arena;
    NameMap tables; /* key -> index: cells with a cavity's or pin's own name in tables */
    NameMap faces;
    uint32_t in_table[20000];
    uint32_t on_face[20000];
    uint32_t next;
} Count;

static uint32_t *slot(Count *count, NameMap *map, uint32_t *slots, const char *key) {
    uint32_t at = name_map_find(map, key);
    if (at == NAME_NONE) {
        assert_true(count->next < 20000);
        at = count->next++;
        name_map_add(map, &count->arena, arena_text(&count->arena, key, strlen(key)), at);
    }
    return &slots[at];
}

/* Names of cavities and pins are the bold cells of a table. */
static void count_list(Count *count, const DrawList *list) {
    for (size_t i = 0; i < list->count; i++) {
        const DrawItem *item = &list->items[i];
        bool table = item->table == TABLE_cavity_use || item->table == TABLE_pin_out;
        if (item->kind == DRAW_TEXT && item->layer == LAYER_WIRE_TEXT && table) {
            if (item->bold) {
                ++*slot(count, &count->tables, count->in_table,
                        arena_format(&count->arena, "%d %s", (int)item->table, item->key));
            }
        }
        if (item->kind == DRAW_ARC && item->layer == LAYER_PIN && table && item->weight_mm > 0.0 &&
            item->radius_mm > 0.0) {
            ++*slot(count, &count->faces, count->on_face,
                    arena_format(&count->arena, "%d %s", (int)item->table, item->key));
        }
    }
}

static uint32_t find_count(const NameMap *map, const uint32_t *slots, TableId table,
                           const char *key) {
    char text[512];
    snprintf(text, sizeof text, "%d %s", (int)table, key);
    uint32_t at = name_map_find(map, text);
    return at == NAME_NONE ? 0 : slots[at];
}

/* Draws every connector sheet, marks what a checker would, counts. Returns the number of sheets. */
static size_t draw_all(Case *c, Count *count) {
    size_t sheets = 0;
    for (uint32_t i = 0; i < c->plan.count; i++) {
        if (c->plan.sheets[i].kind != SHEET_FACE) {
            continue;
        }
        Arena arena = {0};
        DrawList list;
        Measure measure;
        sheet_draw(&c->plan, i, &arena, false, &list);
        draw_measure(&arena, &list, sheet_field(c->view.paper), &measure);
        for (size_t k = 0; k < measure.mark_count && k < 5; k++) {
            fprintf(stderr, "%s %s: %s\n", paper_name(c->view.paper), c->plan.sheets[i].name,
                    draw_mark_text(&arena, &list, &measure.marks[k]));
        }
        assert_int_equal(measure.mark_count, 0);
        if (count != NULL) {
            count_list(count, &list);
        }
        arena_free(&arena);
        sheets++;
    }
    return sheets;
}

static void check_counts(const Case *c, Count *count) {
    const TableSet *set = &c->proof.set;
    for (size_t i = 0; i < set->cavity_use.count; i++) {
        const char *key = table_row_key(&count->arena, TABLE_cavity_use, &set->cavity_use.rows[i]);
        assert_int_equal(find_count(&count->tables, count->in_table, TABLE_cavity_use, key), 2);
    }
    size_t ways = 0;
    for (size_t i = 0; i < set->disconnect_shell.count; i++) {
        const DisconnectShellRow *row = &set->disconnect_shell.rows[i];
        ShellId kind = model_row(&c->proof.model, TABLE_shell, row->shell);
        uint32_t views = ends_shell_mates(&c->proof.model, kind) ? 4 : 2;
        bool sealed = set->shell.rows[kind].sealed == 1;
        for (uint32_t k = 0; k < (uint32_t)set->shell.rows[kind].ways; k++, ways++) {
            const char *key =
                arena_format(&count->arena, "%s %s", row->tag,
                             ends_cavity_name(&count->arena, &c->proof.model, kind, k));
            assert_int_equal(find_count(&count->tables, count->in_table, TABLE_cavity_use, key), 2);
            uint32_t rings = find_count(&count->faces, count->on_face, TABLE_cavity_use, key);
            assert_true(rings == views || (sealed && rings == 2 * views));
        }
    }
    assert_true(ways >= set->cavity_use.count);
    /* Pins: all of every connector that has a wire; all terminals. */
    NameMap wired = {0};
    for (size_t i = 0; i < set->pin_out.count; i++) {
        const PinOutRow *row = &set->pin_out.rows[i];
        if (*row->wire != '\0') {
            name_map_add(&wired, &count->arena,
                         arena_format(&count->arena, "%s.%s", row->owner, row->connector), 1);
        }
    }
    size_t seen = 0;
    for (size_t i = 0; i < set->pin_out.count; i++) {
        const PinOutRow *row = &set->pin_out.rows[i];
        const char *key = table_row_key(&count->arena, TABLE_pin_out, row);
        uint32_t times = find_count(&count->tables, count->in_table, TABLE_pin_out, key);
        const char *connector = arena_format(&count->arena, "%s.%s", row->owner, row->connector);
        if (*row->wire != '\0' || name_map_find(&wired, connector) != NAME_NONE) {
            assert_int_equal(times, 1);
            seen++;
        } else {
            assert_true(times <= 1);
        }
    }
    assert_true(seen > 20);
}

static void check_job(const char *job, void (*change)(Case *)) {
    static Case c;
    static Count count;
    read_case(&c, job, change);
    for (int paper = 0; paper < PAPER_COUNT; paper++) {
        memset(&count, 0, sizeof count);
        plan_case(&c, paper_name((PaperSize)paper));
        size_t sheets = draw_all(&c, &count);
        printf("%s on %s: %zu connector sheets\n", strrchr(job, '/'), paper_name((PaperSize)paper),
               sheets);
        check_counts(&c, &count);
        arena_free(&count.arena);
    }
    free_case(&c);
}

static void first_job(void **state) {
    (void)state;
    check_job(MARLING_SOURCE_DIR "/examples/first", NULL);
}

static void example(void **state) {
    (void)state;
    check_job(MARLING_SOURCE_DIR "/examples/osier_mended", NULL);
}

/* --- what is out of the ordinary ----------------------------------------------------------------
 */

static void add(Case *c, TableId table, const char *text) {
    table_read_text(&c->proof.arena, table_schema(table)->name, table, text, strlen(text),
                    &c->proof.set, &c->proof.findings);
}

/* A box with a connector of 300 pins, 40 of them wired to a second such box. */
static void add_box_of_300(Case *c) {
    Arena *arena = &c->proof.arena;
    char tag[201];
    memset(tag, 'Q', 200);
    tag[200] = '\0';
    add(c, TABLE_shell,
        "shell,name,ways,contact,sealed,form,source,status\n"
        "block-300,\"block, 300 contacts\",300,22D,no,block,test,invented\n"
        "round-300,\"round, 300 contacts, sealed\",300,22D,yes,circle,test,invented\n");
    add(c, TABLE_part,
        "part,name,mass_kg,supply,source,status\n"
        "giant,box of 300 pins,1,passive,test,invented\n"
        "giant-round,\"\xD0\xBA\xD0\xBE\xD1\x80\xD0\xBE\xD0\xB1\xD0\xBA\xD0\xB0 \xCE\xB1\xCE\xB2\","
        "1,passive,test,invented\n");
    add(c, TABLE_part_connector,
        "part,connector,shell,unit_side\ngiant,J1,block-300,pins\ngiant-round,J1,round-300,"
        "sockets\n");
    Buffer ports = {.arena = arena};
    Buffer pins = {.arena = arena};
    Buffer links = {.arena = arena};
    buffer_text(&ports, "part,port,class,direction\n");
    buffer_text(&pins, "part,port,core,connector,cavity\n");
    buffer_text(&links, "link,ends\n");
    for (int i = 1; i <= 300; i++) {
        buffer_format(&ports, "giant,P%d,X,%s\ngiant-round,P%d,X,%s\n", i, "out", i, "in");
        buffer_format(&pins, "giant,P%d,1,J1,%d\ngiant-round,P%d,1,J1,%d\n", i, i, i, i);
        if (i <= 40) {
            buffer_format(&links, "LNK_%d,%s.P%d \xC3\x84\xC3\x96\xC3\x9C.P%d\n", i, tag, 7 * i,
                          301 - 7 * i);
        }
    }
    add(c, TABLE_port, ports.bytes);
    add(c, TABLE_port_pin, pins.bytes);
    add(c, TABLE_link, links.bytes);
    const UnitRow *like = &c->proof.set.unit.rows[0];
    add(c, TABLE_unit,
        arena_format(arena,
                     "tag,part,role,node,stub_mm,module\n%s,giant,very large box,%s,100,%s\n"
                     "\xC3\x84\xC3\x96\xC3\x9C,giant-round,,%s,100,%s\n",
                     tag, like->node, like->module, like->node, like->module));
}

static void box_of_300_pins(void **state) {
    (void)state;
    check_job(MARLING_SOURCE_DIR "/examples/first", add_box_of_300);
}

/* --- places -------------------------------------------------------------------------------------
 */

/* What a place function says is where the thing stands: its name is the text nearest to it. */
static void places_are_where_things_stand(void **state) {
    (void)state;
    static Case c;
    read_case(&c, MARLING_SOURCE_DIR "/examples/osier_mended", NULL);
    plan_case(&c, "A3");
    for (uint32_t i = 0; i < c.proof.set.disconnect_shell.count; i++) {
        SheetPlace place = face_shell_place(&c.plan, i);
        assert_true(place.sheet < c.plan.count);
        Arena arena = {0};
        DrawList list;
        sheet_draw(&c.plan, place.sheet, &arena, false, &list);
        bool found = false;
        for (size_t k = 0; k < list.count; k++) {
            const DrawItem *item = &list.items[k];
            found = found || (item->kind == DRAW_TEXT && item->layer == LAYER_TAG &&
                              fabs(item->box.left_mm - place.at.x_mm) < 3.0 &&
                              fabs(item->box.top_mm - place.at.y_mm) < 4.0 &&
                              strncmp(item->text, c.proof.set.disconnect_shell.rows[i].tag,
                                      strlen(c.proof.set.disconnect_shell.rows[i].tag)) == 0);
        }
        assert_true(found);
        arena_free(&arena);
    }
    size_t placed = 0;
    for (PinId i = 0; i < c.proof.model.pin_count; i++) {
        const ModelPin *pin = &c.proof.model.pins[i];
        OwnerId owner = c.proof.model.terminals[pin->terminal].owner;
        if (c.proof.wiring.pin_net[pin->terminal] == ID_NONE) {
            continue;
        }
        SheetPlace place = face_owner_place(&c.plan, owner, pin->connector);
        placed += place.sheet != ID_NONE;
        if (place.sheet != ID_NONE) {
            assert_true(c.plan.sheets[place.sheet].kind == SHEET_FACE);
        }
    }
    assert_true(placed > 300);
    assert_int_equal(face_owner_place(&c.plan, 0, "no such connector").sheet, ID_NONE);
    free_case(&c);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(first_job),
        cmocka_unit_test(example),
        cmocka_unit_test(box_of_300_pins),
        cmocka_unit_test(places_are_where_things_stand),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
