/* Any bytes as a table. The first line is the table's name (so that the corpus outlives new tables;
 * any other first byte is a number of a table), the rest the file. Never a crash, and whatever was
 * taken can be written, read again without a finding, and written to the same bytes. */
#include <stdint.h>
#include <string.h>

#include "base/check.h"
#include "table/rows.h"
#include "table/write.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static TableId choose_table(Arena *arena, const char **text, size_t *length) {
    const char *end = memchr(*text, '\n', *length);
    size_t name_length = end == NULL ? 0 : (size_t)(end - *text);
    TableId table = table_find(arena_text(arena, *text, name_length));
    if (table == TABLE_COUNT) {
        table = (TableId)((unsigned char)**text % TABLE_COUNT);
        name_length = 0;
    }
    *text += name_length + 1;
    *length -= name_length + 1;
    return table;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    const char *text = (const char *)data;
    if (size == 0) {
        return 0;
    }
    Arena arena = {0};
    TableId table = choose_table(&arena, &text, &size);
    TableSet set = {0};
    TableSet again = {0};
    Findings findings = {.arena = &arena};
    Findings none = {.arena = &arena};
    table_read_text(&arena, "fuzz.csv", table, text, size, &set, &findings);
    table_check(&arena, &set, &findings);
    findings_sort(&findings);
    Buffer first = {.arena = &arena};
    Buffer second = {.arena = &arena};
    table_write_csv(&first, &set, table);
    table_read_text(&arena, "again.csv", table, first.bytes, first.length, &again, &none);
    CHECK(none.count == 0);
    table_write_csv(&second, &again, table);
    CHECK(first.length == second.length);
    CHECK(memcmp(first.bytes, second.bytes, first.length) == 0);
    size_t changes = 0;
    table_compare(&arena, &set, &again, table_schema(table)->group, &changes);
    CHECK(changes == 0);
    Buffer other = {.arena = &arena};
    table_write_json(&other, &set, table);
    table_write_text(&other, &set, table);
    arena_free(&arena);
    return 0;
}
