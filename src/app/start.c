#include "app/start.h"

#include <errno.h>
#include <string.h>

#include "base/file.h"
#include "table/write.h"

static Status write_table(Arena *arena, const char *folder, const TableSet *set, TableId table) {
    Buffer text = {.arena = arena};
    table_write_csv(&text, set, table);
    const char *path = arena_format(arena, "%s/%s.csv", folder, table_schema(table)->name);
    return file_write(path, text.bytes, text.length);
}

/* --- new ----------------------------------------------------------------------------------------
 */

static void add_first_rows(Arena *arena, TableSet *set) {
    JobRow *job = table_append(set, arena, TABLE_job);
    job->job = "NEW";
    job->title = "what is built, for whom";
    job->nominal_v = 14.0;
    job->return_style = "structure";
    ZoneRow *zone = table_append(set, arena, TABLE_zone);
    zone->zone = "CAB";
    zone->name = "cabin";
    zone->ambient_max_degc = 55.0;
    zone->ambient_min_degc = -20.0;
    zone->altitude_max_m = 3660.0;
    zone->moisture = "dry";
    ModuleRow *module = table_append(set, arena, TABLE_module);
    module->module = "PNL";
    module->name = "instrument panel";
    NodeRow *node = table_append(set, arena, TABLE_node);
    node->node = "P01";
    node->x_mm = 600.0;
    node->y_mm = 0.0;
    node->z_mm = 500.0;
    node->zone = "CAB";
    node->module = "PNL";
    node->what = "panel centre";
}

Status start_new(const char *job) {
    Arena arena = {0};
    TableSet set = {0};
    char **names = NULL;
    size_t count = 0;
    Status status = file_make_folder(job);
    if (!status.failed) {
        status = file_list(&arena, job, ".csv", &names, &count);
    }
    if (!status.failed && count > 0) {
        status = status_failed("there are tables already, nothing written:", job, 0);
    }
    add_first_rows(&arena, &set);
    for (int table = 0; !status.failed && table < TABLE_COUNT; table++) {
        if (table_schema((TableId)table)->group == GROUP_JOB) {
            status = write_table(&arena, job, &set, (TableId)table);
        }
    }
    arena_free(&arena);
    return status;
}

/* --- allot --------------------------------------------------------------------------------------
 */

Status start_allot(const char *job, const StoreBy *by, const Proof *proof) {
    static const TableId TABLES[] = {TABLE_allot, TABLE_allot_cavity};
    enum { TABLES_COUNT = sizeof TABLES / sizeof *TABLES };
    Arena arena = {0};
    TableSet set = {0};
    wiring_allot_rows(&arena, &proof->model, &proof->wiring, &set);
    disconnects_allot_rows(&arena, &proof->model, &proof->wiring, &proof->routing,
                           &proof->disconnects, &set);
    table_set_sort(&set);
    Status status = status_ok();
    SourceName name;
    if (source_parse(&arena, job, &name)) {
        Source source;
        size_t changed;
        status = source_open(&arena, &name, STORE_WRITE, &source);
        if (!status.failed) {
            status =
                store_replace(source.store, source.job, by, TABLES, TABLES_COUNT, &set, &changed);
            source_close(&source);
        }
    } else {
        for (size_t i = 0; i < TABLES_COUNT && !status.failed; i++) {
            status = write_table(&arena, job, &set, TABLES[i]);
        }
    }
    arena_free(&arena);
    return status;
}
