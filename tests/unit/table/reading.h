/* Reads tables out of texts in a test and finds a finding. Include after cmocka.h. */
#ifndef TESTS_TABLE_READING_H
#define TESTS_TABLE_READING_H

#include <string.h>

#include "base/findings.h"
#include "base/text.h"
#include "table/rows.h"

typedef struct Desk {
    Arena arena;
    TableSet set;
    Findings findings;
} Desk;

static inline Desk *desk_open(void) {
    Desk *desk = calloc(1, sizeof *desk);
    assert_non_null(desk);
    desk->findings.arena = &desk->arena;
    return desk;
}

static inline void desk_close(Desk *desk) {
    arena_free(&desk->arena);
    free(desk);
}

static inline void desk_read_bytes(Desk *desk, TableId table, const char *text, size_t length) {
    const char *path = arena_format(&desk->arena, "job/%s.csv", table_schema(table)->name);
    table_read_text(&desk->arena, path, table, text, length, &desk->set, &desk->findings);
}

static inline void desk_read(Desk *desk, TableId table, const char *text) {
    desk_read_bytes(desk, table, text, strlen(text));
}

static inline void desk_show(const Desk *desk) {
    for (size_t i = 0; i < desk->findings.count; i++) {
        const Finding *finding = &desk->findings.rows[i];
        print_message("%s [%s] %s:%u %s: %s (%s)\n", rule_name(finding->rule), finding->key,
                      finding->file, finding->line, finding->column, finding->message,
                      finding->hint);
    }
}

/* The only finding there is; fails when it is not of that rule, line and column. */
static inline const Finding *desk_only(const Desk *desk, RuleId rule, uint32_t line,
                                       const char *column) {
    if (desk->findings.count != 1) {
        desk_show(desk);
    }
    assert_int_equal(desk->findings.count, 1);
    const Finding *finding = &desk->findings.rows[0];
    assert_string_equal(rule_name(finding->rule), rule_name(rule));
    assert_int_equal(finding->line, line);
    assert_string_equal(finding->column, column);
    return finding;
}

static inline void desk_clean(const Desk *desk) {
    if (desk->findings.count != 0) {
        desk_show(desk);
    }
    assert_int_equal(desk->findings.count, 0);
}

#define assert_says(text, part)                                                                    \
    do {                                                                                           \
        if (strstr((text), (part)) == NULL) {                                                      \
            print_error("\"%s\" does not say \"%s\"\n", (text), (part));                           \
            _fail(__FILE__, __LINE__);                                                             \
        }                                                                                          \
    } while (0)

#endif
