#include "store/revision.h"

#include <sodium.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "table/write.h"

const char *revision_program(void) {
    return MARLING_VERSION;
}

static void write_hex(const unsigned char digest[crypto_hash_sha256_BYTES],
                      char hex[REVISION_HEX]) {
    sodium_bin2hex(hex, REVISION_HEX, digest, crypto_hash_sha256_BYTES);
}

void revision_hash_bytes(const void *bytes, size_t length, char hex[REVISION_HEX]) {
    unsigned char digest[crypto_hash_sha256_BYTES];
    crypto_hash_sha256(digest, bytes, length);
    write_hex(digest, hex);
}

bool revision_holds(TableId table) {
    /* What lies on the shelf and what was done at the bench is no part of what is designed. */
    return table_schema(table)->group != GROUP_RESULT && table != TABLE_reel &&
           !revision_grows(table);
}

bool revision_grows(TableId table) {
    return table == TABLE_bench_tick || table == TABLE_bench_reading || table == TABLE_bench_note ||
           table == TABLE_bench_photo;
}

/* True for a table whose rows each belong to one part: `part` itself, its ports, loads ... */
static bool hangs_on_part(TableId table) {
    const TableSchema *schema = table_schema(table);
    const ColumnSchema *first = &schema->columns[0];
    return schema->group == GROUP_LIBRARY &&
           (table == TABLE_part ||
            (first->kind == COLUMN_REF && strcmp(first->extra, "part") == 0));
}

/* Appends those rows of the table whose first column is a part in use. */
static void add_rows_in_use(Arena *arena, const TableSet *set, TableId table, const NameMap *parts,
                            TableSet *used) {
    const TableSchema *schema = table_schema(table);
    for (size_t i = 0; i < set->any[table].count; i++) {
        const char *row = table_row(set, table, i);
        const char *part;
        memcpy(&part, row + schema->columns[0].offset, sizeof part);
        if (name_map_find(parts, part) != NAME_NONE) {
            memcpy(table_append(used, arena, table), row, schema->row_bytes);
        }
    }
}

void revision_reach(Arena *arena, const TableSet *set, TableSet *reached) {
    NameMap parts = {0};
    for (size_t i = 0; i < set->unit.count; i++) {
        name_map_add(&parts, arena, set->unit.rows[i].part, 0);
    }
    *reached = (TableSet){
        .files = set->files, .file_count = set->file_count, .file_capacity = set->file_capacity};
    for (int i = 0; i < TABLE_COUNT; i++) {
        TableId table = (TableId)i;
        if (hangs_on_part(table)) {
            add_rows_in_use(arena, set, table, &parts, reached);
        } else if (revision_holds(table)) {
            reached->any[table] = set->any[table];
        }
    }
}

void revision_hash(const TableSet *set, char hex[REVISION_HEX]) {
    Arena arena = {0};
    TableSet reached;
    revision_reach(&arena, set, &reached);
    crypto_hash_sha256_state state;
    crypto_hash_sha256_init(&state);
    for (int i = 0; i < TABLE_COUNT; i++) {
        TableId table = (TableId)i;
        if (!revision_holds(table)) {
            continue;
        }
        Buffer text = {.arena = &arena};
        buffer_format(&text, "%s\n", table_schema(table)->name);
        table_write_csv(&text, &reached, table);
        crypto_hash_sha256_update(&state, (const unsigned char *)text.bytes, text.length);
    }
    unsigned char digest[crypto_hash_sha256_BYTES];
    crypto_hash_sha256_final(&state, digest);
    write_hex(digest, hex);
    arena_free(&arena);
}
