/* Wiring depends on what a job says, not on how it is written down: shuffled rows, renamed tags
 * that keep their order and a second run give the same nets, keys, ways and cavities; with
 * allotments kept, taking a circuit out and putting it back leaves everything else where it was. */
#include <stdlib.h>

#include "support/wired.h"

#define SEED 71423u

static uint32_t next_random(uint32_t *state) {
    *state = *state * 1664525u + 1013904223u;
    return *state >> 8;
}

static void shuffle(TableSet *set, uint32_t *state) {
    for (int table = 0; table < TABLE_COUNT; table++) {
        size_t bytes = table_schema((TableId)table)->row_bytes;
        char *rows = set->any[table].rows;
        char keep[4096];
        assert_true(bytes <= sizeof keep);
        for (size_t i = set->any[table].count; i > 1; i--) {
            size_t k = next_random(state) % i;
            memcpy(keep, rows + (i - 1) * bytes, bytes);
            memcpy(rows + (i - 1) * bytes, rows + k * bytes, bytes);
            memcpy(rows + k * bytes, keep, bytes);
        }
    }
}

static void shuffled_rows_give_the_same(void **state) {
    (void)state;
    Wired plain = {0};
    job_read_example(&plain.job);
    wired_run(&plain, NULL);
    const char *expected = wired_text(&plain, NULL);
    uint32_t random = SEED;
    printf("seed %u\n", SEED);
    for (int round = 0; round < 5; round++) {
        Wired mixed = {0};
        job_read_example(&mixed.job);
        shuffle(&mixed.job.set, &random);
        wired_run(&mixed, NULL);
        assert_string_equal(wired_text(&mixed, NULL), expected);
        arena_free(&mixed.job.arena);
    }
    arena_free(&plain.job.arena);
}

static void a_second_run_gives_the_same(void **state) {
    (void)state;
    Wired wired = {0};
    job_read_example(&wired.job);
    wired_run(&wired, NULL);
    const char *expected = wired_text(&wired, NULL);
    size_t findings = wired.job.findings.count;
    wired_run(&wired, NULL);
    assert_string_equal(wired_text(&wired, NULL), expected);
    assert_int_equal(wired.job.findings.count, findings);
    arena_free(&wired.job.arena);
}

/* Puts a Q before every tag among the words of a cell ("PD1.PWR", "HYP.PS1>HYP.PS2"). */
static const char *rename_words(Arena *arena, const NameMap *tags, const char *text) {
    Buffer out = {.arena = arena};
    const char *word = text;
    while (*word != '\0') {
        size_t length = strcspn(word, " >");
        size_t tag = 0;
        while (tag < length && word[tag] != '.') {
            tag++;
        }
        const char *name = arena_text(arena, word, tag);
        if (name_map_find(tags, name) != NAME_NONE) {
            buffer_text(&out, "Q");
        }
        buffer_add(&out, word, length);
        word += length;
        if (*word != '\0') {
            buffer_add(&out, word++, 1);
        }
    }
    return out.bytes == NULL ? "" : out.bytes;
}

static void rename_cells(Job *job, const NameMap *tags, TableId table, const char *column) {
    const TableSchema *schema = table_schema(table);
    for (size_t c = 0; c < schema->column_count; c++) {
        if (strcmp(schema->columns[c].name, column) != 0) {
            continue;
        }
        for (size_t i = 0; i < job->set.any[table].count; i++) {
            char *row = table_row(&job->set, table, i);
            const char **cell = (const char **)(void *)(row + schema->columns[c].offset);
            *cell = rename_words(&job->arena, tags, *cell);
        }
        return;
    }
    fail_msg("no column %s in %s", column, schema->name);
}

static const struct {
    TableId table;
    const char *column;
} TAGGED[] = {
    {TABLE_unit, "tag"},
    {TABLE_protection, "tag"},
    {TABLE_protection, "bolted_on"},
    {TABLE_protection, "bolts_to"},
    {TABLE_switchgear, "tag"},
    {TABLE_switchgear, "bolted_on"},
    {TABLE_switchgear, "bolts_to"},
    {TABLE_antenna, "tag"},
    {TABLE_ground_point, "point"},
    {TABLE_bus, "stud"},
    {TABLE_feed, "onto"},
    {TABLE_feed, "out_of"},
    {TABLE_feed, "through"},
    {TABLE_feed, "start"},
    {TABLE_feed, "finish"},
    {TABLE_ground, "out_of"},
    {TABLE_ground, "onto"},
    {TABLE_link, "ends"},
    {TABLE_pin_net, "ends"},
    {TABLE_terminator, "port"},
    {TABLE_shield, "port"},
    {TABLE_lug, "owner"},
    {TABLE_bond, "item"},
    {TABLE_bond, "onto"},
    {TABLE_source, "unit"},
    {TABLE_keying, "unit"},
};

/* The text with the Q taken off again: every tag in it follows a blank. */
static const char *without_q(Arena *arena, const char *text) {
    Buffer out = {.arena = arena};
    for (const char *c = text; *c != '\0'; c++) {
        bool start = c > text && c[-1] == ' ';
        if (!(start && *c == 'Q')) {
            buffer_add(&out, c, 1);
        }
    }
    return out.bytes;
}

static void renamed_tags_give_the_same(void **state) {
    (void)state;
    Wired plain = {0};
    job_read_example(&plain.job);
    wired_run(&plain, NULL);
    Wired named = {0};
    job_read_example(&named.job);
    NameMap tags = {0};
    for (uint32_t i = 0; i < plain.job.model.owner_count; i++) {
        name_map_add(&tags, &named.job.arena, plain.job.model.owners[i].tag, i);
    }
    for (size_t i = 0; i < sizeof TAGGED / sizeof *TAGGED; i++) {
        rename_cells(&named.job, &tags, TAGGED[i].table, TAGGED[i].column);
    }
    wired_run(&named, NULL);
    assert_non_null(strstr(wired_text(&named, NULL), "QPD1"));
    assert_string_equal(without_q(&named.job.arena, wired_text(&named, NULL)),
                        wired_text(&plain, NULL));
    arena_free(&named.job.arena);
    arena_free(&plain.job.arena);
}

static const char *const TAKEN_OUT[] = {"NVC_MIC", "PTT_L", "CAN_AV", "W1_LND"};

static void a_link_taken_out_and_put_back_moves_nothing(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof TAKEN_OUT / sizeof *TAKEN_OUT; i++) {
        Wired wired = {0};
        job_read_example(&wired.job);
        wired_run(&wired, NULL);
        const char *all = wired_text(&wired, NULL);
        const char *others = wired_text(&wired, TAKEN_OUT[i]);
        wired_allot(&wired);
        LinkRow kept = wired.job.set.link.rows[job_find(&wired.job, TABLE_link, TAKEN_OUT[i])];
        job_drop(&wired.job, TABLE_link, TAKEN_OUT[i]);
        wired_run(&wired, NULL);
        assert_string_equal(wired_text(&wired, NULL), others);
        *(LinkRow *)table_append(&wired.job.set, &wired.job.arena, TABLE_link) = kept;
        wired_run(&wired, NULL);
        assert_string_equal(wired_text(&wired, NULL), all);
        arena_free(&wired.job.arena);
    }
}

/* Allotments written while the link was out retire its keys: put back, it gets new ones, and all
 * else stays. */
static void a_retired_key_is_not_used_again(void **state) {
    (void)state;
    Wired wired = {0};
    job_read_example(&wired.job);
    wired_run(&wired, NULL);
    const char *others = wired_text(&wired, "PTT_L");
    wired_allot(&wired);
    LinkRow kept = wired.job.set.link.rows[job_find(&wired.job, TABLE_link, "PTT_L")];
    const Net *net = &wired.wiring.nets[name_map_find(&wired.wiring.net_by_name, "PTT_L")];
    const char *old =
        wired.wiring.conductors[wired.wiring.cables[net->cable_first].conductor_first].key;
    job_drop(&wired.job, TABLE_link, "PTT_L");
    wired_run(&wired, NULL);
    wired_allot(&wired);
    *(LinkRow *)table_append(&wired.job.set, &wired.job.arena, TABLE_link) = kept;
    wired_run(&wired, NULL);
    assert_string_equal(wired_text(&wired, "PTT_L"), others);
    assert_int_equal(name_map_find(&wired.wiring.conductor_by_key, old), NAME_NONE);
    wired_allot(&wired);
    wired_run(&wired, NULL);
    assert_string_equal(wired_text(&wired, "PTT_L"), others);
    assert_int_equal(job_count(&wired.job, RULE_WIRE_ALLOT), 0);
    arena_free(&wired.job.arena);
}

/* With keys and cavities kept, a run changes nothing and finds nothing new. */
static void kept_allotments_are_a_fixed_point(void **state) {
    (void)state;
    Wired wired = {0};
    job_read_example(&wired.job);
    wired_run(&wired, NULL);
    const char *expected = wired_text(&wired, NULL);
    wired_allot(&wired);
    wired_run(&wired, NULL);
    assert_string_equal(wired_text(&wired, NULL), expected);
    assert_int_equal(job_count(&wired.job, RULE_DISCONNECT_ALLOT), 0);
    for (uint32_t i = 0; i < wired.disconnects.use_count; i++) {
        assert_true(wired.disconnects.uses[i].kept);
    }
    for (uint32_t i = 0; i < wired.wiring.conductor_count; i++) {
        assert_true(wired.wiring.conductors[i].kept);
    }
    arena_free(&wired.job.arena);
}

/* A gauge that no longer fits its shell moves that wire alone. */
static void a_thicker_wire_moves_alone(void **state) {
    (void)state;
    Wired wired = {0};
    job_read_example(&wired.job);
    wired_run(&wired, NULL);
    const char *others = wired_text(&wired, "LDGL_PWR");
    wired_allot(&wired);
    wired_run(&wired, "LDGL_PWR");
    assert_string_equal(wired_text(&wired, "LDGL_PWR"), others);
    assert_int_equal(job_count(&wired.job, RULE_DISCONNECT_ALLOT), 1);
    arena_free(&wired.job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(shuffled_rows_give_the_same),
        cmocka_unit_test(a_second_run_gives_the_same),
        cmocka_unit_test(renamed_tags_give_the_same),
        cmocka_unit_test(a_link_taken_out_and_put_back_moves_nothing),
        cmocka_unit_test(a_retired_key_is_not_used_again),
        cmocka_unit_test(kept_allotments_are_a_fixed_point),
        cmocka_unit_test(a_thicker_wire_moves_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
