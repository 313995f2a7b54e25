/* Tables on pages: every row once, every text whole, nothing on top of anything, whatever stands in
 * the cells and however many rows and columns there are. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/text.h"
#include "draw/listing.h"
#include "draw/measure.h"

typedef struct Desk {
    Arena arena;
    DrawFonts *fonts;
    TableSet set;
    DrawView view;
    SheetPlan plan;
    Findings findings;
} Desk;

static void open_desk(Desk *desk) {
    *desk = (Desk){.fonts = fonts_open()};
    JobRow *job = table_append(&desk->set, &desk->arena, TABLE_job);
    job->job = "tables";
    job->title = "tables of all kinds";
}

static void close_desk(Desk *desk) {
    fonts_close(desk->fonts);
    arena_free(&desk->arena);
}

static void plan_tables(Desk *desk, PaperSize paper) {
    desk->view = (DrawView){.set = &desk->set, .paper = paper, .hash = "", .version = ""};
    desk->findings = (Findings){.arena = &desk->arena};
    desk->plan = (SheetPlan){.arena = &desk->arena,
                             .fonts = desk->fonts,
                             .view = &desk->view,
                             .findings = &desk->findings};
    listing_plan(&desk->plan);
}

static void draw_page(Desk *desk, uint32_t page, Arena *arena, DrawList *list) {
    sheet_draw(&desk->plan, page, arena, false, list);
    Measure measure;
    draw_measure(arena, list, sheet_field(desk->view.paper), &measure);
    for (size_t i = 0; i < measure.mark_count; i++) {
        fail_msg("%s: %s", desk->plan.sheets[page].name,
                 draw_mark_text(arena, list, &measure.marks[i]));
    }
}

/* --- reading a page back ------------------------------------------------------------------------
 */

/* What the texts of a row say in their order on all pages, blanks left out: a word may be broken
 * inside, and then there is none where the line ends. */
typedef struct Read {
    NameMap rows; /* key -> index into said, plus one */
    Buffer *said;
    size_t *times; /* stretches of items in which the row stands */
    size_t count;
} Read;

static void add_letters(Buffer *out, const char *text) {
    for (const char *at = text; *at != '\0'; at++) {
        if (*at != ' ') {
            buffer_add(out, at, 1);
        }
    }
}

static Read read_pages(Desk *desk, TableId table) {
    Read read = {0};
    size_t most = desk->set.any[table].count + 1;
    read.said = ARENA_ARRAY(&desk->arena, Buffer, most);
    read.times = ARENA_ARRAY(&desk->arena, size_t, most);
    for (uint32_t page = 0; page < desk->plan.count; page++) {
        Arena arena = {0};
        DrawList list;
        draw_page(desk, page, &arena, &list);
        const char *before = "";
        for (size_t i = 0; i < list.count; i++) {
            const DrawItem *item = &list.items[i];
            if (item->table == table && item->kind == DRAW_TEXT) {
                uint32_t at = name_map_find(&read.rows, item->key);
                if (at == NAME_NONE) {
                    at = (uint32_t)read.count++;
                    assert_true(read.count < most + 1);
                    name_map_add(&read.rows, &desk->arena,
                                 arena_text(&desk->arena, item->key, strlen(item->key)), at);
                    read.said[at] = (Buffer){.arena = &desk->arena};
                }
                read.times[at] += strcmp(before, item->key) != 0;
                add_letters(&read.said[at], item->text);
            }
            before = item->kind == DRAW_TEXT || item->table == table ? item->key : "";
        }
        arena_free(&arena);
    }
    return read;
}

static const char *said_of(const Read *read, const char *key) {
    uint32_t at = name_map_find(&read->rows, key);
    if (at == NAME_NONE) {
        fail_msg("row %s stands nowhere", key);
        return "";
    }
    return read->said[at].bytes;
}

static const char *letters(Desk *desk, const char *text) {
    Buffer out = {.arena = &desk->arena};
    add_letters(&out, text);
    return out.bytes == NULL ? "" : out.bytes;
}

/* --- rows ---------------------------------------------------------------------------------------
 */

static void add_net(Desk *desk, const char *name, const char *class, const char *ends) {
    NetRow *net = table_append(&desk->set, &desk->arena, TABLE_net);
    net->net = name;
    net->class = class;
    net->conductors = 1;
    net->joining = "all";
    net->ends_in_order = ends;
}

/* Words and ends of many lengths, the same for the same number. */
static const char *some_text(Desk *desk, uint32_t seed, size_t words) {
    Buffer out = {.arena = &desk->arena};
    uint32_t random = seed * 2654435761u + 1u;
    for (size_t i = 0; i < words; i++) {
        random = random * 1664525u + 1013904223u;
        size_t length = 1 + (random >> 16) % 11;
        buffer_text(&out, i == 0 ? "" : " ");
        for (size_t k = 0; k < length; k++) {
            random = random * 1664525u + 1013904223u;
            buffer_format(&out, "%c", (int)('A' + (random >> 16) % 26));
        }
    }
    return out.bytes == NULL ? "" : out.bytes;
}

static void every_row_stands_once_and_whole(void **state) {
    (void)state;
    static const size_t COUNTS[] = {1, 2, 7, 60, 1000};
    for (size_t i = 0; i < sizeof COUNTS / sizeof *COUNTS; i++) {
        for (int paper = 0; paper < PAPER_COUNT; paper++) {
            Desk desk;
            open_desk(&desk);
            for (uint32_t row = 0; row < COUNTS[i]; row++) {
                add_net(&desk, arena_format(&desk.arena, "NET%04u", row), "signal",
                        some_text(&desk, row, 1 + row % 23));
            }
            plan_tables(&desk, (PaperSize)paper);
            Read read = read_pages(&desk, TABLE_net);
            assert_int_equal(read.count, COUNTS[i]);
            for (size_t row = 0; row < COUNTS[i]; row++) {
                const NetRow *net = &desk.set.net.rows[row];
                assert_int_equal(read.times[name_map_find(&read.rows, net->net)], 1);
                const char *all = arena_format(&desk.arena, "%s%s1%s%s", net->net, net->class,
                                               net->joining, letters(&desk, net->ends_in_order));
                assert_string_equal(said_of(&read, net->net), all);
            }
            close_desk(&desk);
        }
    }
}

static void no_rows_give_no_page(void **state) {
    (void)state;
    Desk desk;
    open_desk(&desk);
    plan_tables(&desk, PAPER_A3);
    assert_int_equal(desk.plan.count, 0);
    close_desk(&desk);
}

/* Narrow tables stand in strips beside each other: fewer pages than rows of one column need. */
static void narrow_tables_stand_in_strips(void **state) {
    (void)state;
    Desk desk;
    open_desk(&desk);
    for (uint32_t row = 0; row < 300; row++) {
        add_net(&desk, arena_format(&desk.arena, "N%u", 1000 + row), "p", "A > B");
    }
    plan_tables(&desk, PAPER_A3);
    assert_true(desk.plan.count >= 1 && desk.plan.count <= 3);
    Arena arena = {0};
    DrawList list;
    draw_page(&desk, 0, &arena, &list);
    double left_mm = INFINITY;
    double right_mm = 0.0;
    for (size_t i = 0; i < list.count; i++) {
        if (list.items[i].table == TABLE_net && list.items[i].kind == DRAW_TEXT) {
            left_mm = fmin(left_mm, list.items[i].box.left_mm);
            right_mm = fmax(right_mm, list.items[i].box.right_mm);
        }
    }
    assert_true(right_mm - left_mm > 250.0);
    arena_free(&arena);
    Read read = read_pages(&desk, TABLE_net);
    assert_int_equal(read.count, 300);
    close_desk(&desk);
}

/* A word of 200 letters, letters of other scripts, and bytes that are no text. */
static void awkward_texts_stay_in_their_columns(void **state) {
    (void)state;
    for (int paper = 0; paper < PAPER_COUNT; paper++) {
        Desk desk;
        open_desk(&desk);
        char word[201];
        memset(word, 'W', 200);
        word[200] = '\0';
        add_net(&desk, arena_text(&desk.arena, word, 200), word, word);
        add_net(&desk, "\xD0\x9D\xD0\x90\xD0\x92", "\xD7\xA9\xD7\x9C\xD7\x95\xD7\x9D",
                "\xCE\xA9 e\xCC\x81 \xC2\xB5");
        add_net(&desk, "bytes", "\xFF\xFE", "a\nb\tc\x07");
        for (uint32_t row = 0; row < 40; row++) {
            add_net(&desk, arena_format(&desk.arena, "N%u", row), word + 200 - row * 5, "A > B");
        }
        plan_tables(&desk, (PaperSize)paper);
        Read read = read_pages(&desk, TABLE_net);
        assert_int_equal(read.count, 43);
        assert_non_null(strstr(said_of(&read, "bytes"), "abc"));
        const char *accent = strstr(said_of(&read, "\xD0\x9D\xD0\x90\xD0\x92"), "e\xCC\x81");
        assert_non_null(accent); /* a letter and its accent are not parted */
        close_desk(&desk);
    }
}

/* A text of a thousand words is ended with a hint to the tables, and its row stays on the paper. */
static void what_fills_a_page_is_ended_visibly(void **state) {
    (void)state;
    Desk desk;
    open_desk(&desk);
    add_net(&desk, "short", "signal", "A > B");
    add_net(&desk, "vast", "signal", some_text(&desk, 7, 3000));
    add_net(&desk, "words", "signal", "C > D");
    plan_tables(&desk, PAPER_A4);
    Read read = read_pages(&desk, TABLE_net);
    assert_int_equal(read.count, 3);
    assert_non_null(strstr(said_of(&read, "vast"), "...seetables"));
    close_desk(&desk);
}

/* --- matrix -------------------------------------------------------------------------------------
 */

static void add_total(Desk *desk, const char *phase, const char *bus, double amps_a) {
    LoadTotalRow *row = table_append(&desk->set, &desk->arena, TABLE_load_total);
    row->phase = phase;
    row->bus = bus;
    row->amps_a = amps_a;
}

/* Loads by phase and bus of any number of buses: every figure stands on a page, once. */
static void a_matrix_holds_every_figure(void **state) {
    (void)state;
    static const uint32_t BUSES[] = {1, 3, 12, 40, 150};
    for (size_t i = 0; i < sizeof BUSES / sizeof *BUSES; i++) {
        for (int paper = 0; paper < PAPER_COUNT; paper++) {
            Desk desk;
            open_desk(&desk);
            for (uint32_t phase = 0; phase < 8; phase++) {
                const char *name = arena_format(&desk.arena, "phase_%u", phase);
                for (uint32_t bus = 0; bus < BUSES[i]; bus++) {
                    add_total(&desk, name, arena_format(&desk.arena, "BUS%u", bus),
                              1000.0 + 200.0 * phase + bus);
                }
                add_total(&desk, name, "total", 3000.0 + phase);
            }
            plan_tables(&desk, (PaperSize)paper);
            size_t *seen = ARENA_ARRAY(&desk.arena, size_t, 4000);
            for (uint32_t page = 0; page < desk.plan.count; page++) {
                Arena arena = {0};
                DrawList list;
                draw_page(&desk, page, &arena, &list);
                for (size_t k = 0; k < list.count; k++) {
                    const DrawItem *item = &list.items[k];
                    if (item->table == TABLE_load_total && item->kind == DRAW_TEXT &&
                        item->text[0] >= '0' && item->text[0] <= '9') {
                        unsigned long value = strtoul(item->text, NULL, 10);
                        assert_true(value < 4000);
                        seen[value]++;
                    }
                }
                arena_free(&arena);
            }
            for (uint32_t phase = 0; phase < 8; phase++) {
                for (uint32_t bus = 0; bus < BUSES[i]; bus++) {
                    assert_int_equal(seen[1000 + 200 * phase + bus], 1);
                }
                assert_int_equal(seen[3000 + phase], 1);
            }
            close_desk(&desk);
        }
    }
}

/* --- figures ------------------------------------------------------------------------------------
 */

static void add_coax(Desk *desk, const char *net, double length_mm, double frequency_mhz,
                     double loss_db) {
    CoaxRunRow *row = table_append(&desk->set, &desk->arena, TABLE_coax_run);
    row->net = net;
    row->antenna = "ANT";
    row->length_mm = length_mm;
    row->frequency_mhz = frequency_mhz;
    row->joints = 2;
    row->loss_db = loss_db;
    row->limit_db = 2.0;
    row->route = "A>B";
}

/* Computed lengths lose what nobody measures, given frequencies nothing, losses all have as many
 * places as the largest deserves. */
static void figures_of_a_column_have_the_same_places(void **state) {
    (void)state;
    Desk desk;
    open_desk(&desk);
    add_coax(&desk, "ONE", 3355.4321, 121.5, 0.90321);
    add_coax(&desk, "TWO", 882.617, 406.0, 0.0);
    add_coax(&desk, "WIDE", 14199.9, 1575.42, 2.92817);
    plan_tables(&desk, PAPER_A3);
    Read read = read_pages(&desk, TABLE_coax_run);
    assert_non_null(strstr(said_of(&read, "ONE"), "ANT3355121.5020.9032A>B"));
    assert_non_null(strstr(said_of(&read, "TWO"), "ANT883406.00202A>B"));
    assert_non_null(strstr(said_of(&read, "WIDE"), "ANT142001575.4222.9282A>B"));
    close_desk(&desk);
}

/* --- room ---------------------------------------------------------------------------------------
 */

/* A last table of two rows does not get a page of its own while there is room beside the one
 * before: up to as many rows of that as fill a page. */
static void a_small_table_stands_beside_another(void **state) {
    (void)state;
    for (uint32_t rows = 1;; rows++) {
        Desk desk;
        open_desk(&desk);
        for (uint32_t i = 0; i < rows; i++) {
            add_coax(&desk, arena_format(&desk.arena, "RF%02u", i), 100.0 + i, 121.5, 1.0);
            desk.set.coax_run.rows[i].route =
                "P03>S02>C01>C02>C03>C04>C05>A01>A02>A03>A04>A05>A06>A07>A08>A09>A10";
        }
        plan_tables(&desk, PAPER_A3);
        if (desk.plan.count > 1) {
            assert_true(rows > 30);
            close_desk(&desk);
            return;
        }
        for (uint32_t i = 0; i < 2; i++) {
            ChainRunRow *row = table_append(&desk.set, &desk.arena, TABLE_chain_run);
            row->net = i == 0 ? "CAN_A" : "CAN_B";
            row->order = "A B C";
            row->length_mm = 1000.0;
            row->terminated_at = "A C";
            row->unpowered_ohm = 60.0;
        }
        plan_tables(&desk, PAPER_A3);
        assert_int_equal(desk.plan.count, 1);
        Read read = read_pages(&desk, TABLE_chain_run);
        assert_int_equal(read.count, 2);
        close_desk(&desk);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_row_stands_once_and_whole),
        cmocka_unit_test(no_rows_give_no_page),
        cmocka_unit_test(narrow_tables_stand_in_strips),
        cmocka_unit_test(awkward_texts_stay_in_their_columns),
        cmocka_unit_test(what_fills_a_page_is_ended_visibly),
        cmocka_unit_test(a_matrix_holds_every_figure),
        cmocka_unit_test(figures_of_a_column_have_the_same_places),
        cmocka_unit_test(a_small_table_stands_beside_another),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
