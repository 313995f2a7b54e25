/* Rows and edits as JSON. Values are texts as a person writes them ("2 ft" in a column of mm) on
 * the way in, and numbers, texts, booleans on the way out. */
#ifndef SERVER_ROWS_JSON_H
#define SERVER_ROWS_JSON_H

#include <jansson.h>

#include "base/text.h"
#include "store/store.h"

/* Tables with their columns: name, kind, unit, words, meaning, key and needed. */
json_t *rows_json_schema(void);

/* {"act": 12, "rows": [...], "acts": [...]}: rows as table_write_json; acts only when not NULL. */
void rows_json_write(Buffer *out, const TableSet *set, TableId table, const StoreAct *acts,
                     StoreAct act);

/* Reads [{"table", "before": {key columns}, "after": {all columns}, "seen"}, ...]. Returns what is
 * wrong with its form (in the arena), NULL when nothing is. Values that can't be taken go to
 * *faults, a list of {"edit", "column", "value", "expected"}, which the caller gives back. */
const char *rows_json_edits(Arena *arena, const json_t *list, TableGroup group, StoreEdit **edits,
                            size_t *count, json_t **faults);

/* One row from an object of columns; NULL when it is no object. *faults as above. */
void *rows_json_row(Arena *arena, TableId table, const json_t *object, json_t **faults);

#endif
