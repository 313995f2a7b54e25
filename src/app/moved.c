/* Rows are matched by what they are: wires by their permanent key, findings by severity, rule and
 * row, each as often as it stands there. */
#include "app/moved.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"

/* --- names on one side only ------------------------------------------------------------------- */

static int compare_names(const void *left, const void *right) {
    return text_compare_keys(*(const char *const *)left, *(const char *const *)right);
}

/* The first column of rows of `here` that is no first column of `there`. */
static const char **only_here(Arena *arena, const TableSet *here, const TableSet *there,
                              TableId table, size_t *count) {
    size_t offset = table_schema(table)->columns[0].offset;
    NameMap known = {0};
    const char *name;
    for (size_t i = 0; i < there->any[table].count; i++) {
        memcpy(&name, (const char *)table_row(there, table, i) + offset, sizeof name);
        name_map_add(&known, arena, name, 0);
    }
    const char **names = ARENA_ARRAY(arena, const char *, here->any[table].count + 1);
    *count = 0;
    for (size_t i = 0; i < here->any[table].count; i++) {
        memcpy(&name, (const char *)table_row(here, table, i) + offset, sizeof name);
        if (name_map_find(&known, name) == NAME_NONE) {
            names[(*count)++] = name;
        }
    }
    if (*count > 1) {
        qsort(names, *count, sizeof *names, compare_names);
    }
    return names;
}

/* --- wires ----------------------------------------------------------------------------------- */

static bool differs(double left, double right) {
    return isnan(left) != isnan(right) || fabs(left - right) > 0.5;
}

static void compare_wires(Arena *arena, const TableSet *before, const TableSet *after,
                          Moved *moved) {
    NameMap known = {0};
    for (size_t i = 0; i < before->conductor.count; i++) {
        name_map_add(&known, arena, before->conductor.rows[i].wire, (uint32_t)i);
    }
    for (size_t i = 0; i < after->conductor.count; i++) {
        const ConductorRow *is = &after->conductor.rows[i];
        uint32_t at = name_map_find(&known, is->wire);
        if (at == NAME_NONE) {
            continue;
        }
        const ConductorRow *was = &before->conductor.rows[at];
        moved->wires_other +=
            was->awg != is->awg || strcmp(was->part, is->part) != 0 ||
            strcmp(was->from_pin, is->from_pin) != 0 || strcmp(was->to_pin, is->to_pin) != 0 ||
            strcmp(was->cavities, is->cavities) != 0 || differs(was->length_mm, is->length_mm);
        moved->labels_other += strcmp(was->number, is->number) != 0;
    }
}

/* --- figures --------------------------------------------------------------------------------- */

static MovedFigure *figure_of(Arena *arena, MovedFigure **figures, size_t *count, size_t *capacity,
                              const char *name) {
    for (size_t i = 0; i < *count; i++) {
        if (strcmp((*figures)[i].name, name) == 0) {
            return &(*figures)[i];
        }
    }
    MovedFigure *figure = ARENA_PUSH(arena, *figures, *count, *capacity);
    *figure = (MovedFigure){.name = name, .before = NAN, .after = NAN};
    return figure;
}

static void compare_figures(Arena *arena, const TableSet *before, const TableSet *after,
                            Moved *moved) {
    size_t masses = 0;
    size_t loads = 0;
    for (int side = 0; side < 2; side++) {
        const TableSet *set = side == 0 ? before : after;
        for (size_t i = 0; i < set->mass.count; i++) {
            MovedFigure *figure = figure_of(arena, &moved->masses, &moved->mass_count, &masses,
                                            set->mass.rows[i].item);
            *(side == 0 ? &figure->before : &figure->after) = set->mass.rows[i].mass_kg;
        }
        for (size_t i = 0; i < set->supply_margin.count; i++) {
            MovedFigure *figure = figure_of(arena, &moved->loads, &moved->load_count, &loads,
                                            set->supply_margin.rows[i].phase);
            *(side == 0 ? &figure->before : &figure->after) = set->supply_margin.rows[i].total_a;
        }
    }
}

/* --- findings -------------------------------------------------------------------------------- */

/* Severity is part of it: what became worse is told. */
static const char *finding_name(Arena *arena, const Finding *finding) {
    return arena_format(arena, "%d %s\t%s\t%s", (int)finding->severity, rule_name(finding->rule),
                        finding->table, finding->key);
}

static void one_sided(Arena *arena, const Proof *here, const Proof *there, bool came,
                      size_t *capacity, Moved *moved) {
    NameMap places = {0};
    uint32_t *counts = ARENA_ARRAY(arena, uint32_t, there->findings.count + 1);
    NameMap texts = {0};
    for (size_t i = 0; i < there->findings.count; i++) {
        const Finding *finding = &there->findings.rows[i];
        if (!finding->accepted) {
            uint32_t at = name_map_add(&places, arena, finding_name(arena, finding), (uint32_t)i);
            counts[at == NAME_NONE ? i : at]++;
            name_map_add(
                &texts, arena,
                arena_format(arena, "%s\t%s", finding_name(arena, finding), finding->message), 0);
        }
    }
    for (size_t i = 0; i < here->findings.count; i++) {
        const Finding *finding = &here->findings.rows[i];
        if (finding->accepted) {
            continue;
        }
        const char *name = finding_name(arena, finding);
        uint32_t at = name_map_find(&places, name);
        if (at == NAME_NONE || counts[at] == 0) {
            *ARENA_PUSH(arena, moved->findings, moved->finding_count, *capacity) =
                (MovedFinding){finding, came};
            continue;
        }
        counts[at]--;
        const char *text = arena_format(arena, "%s\t%s", name, finding->message);
        moved->findings_other += came && name_map_find(&texts, text) == NAME_NONE;
    }
}

static int compare_findings(const void *left, const void *right) {
    const MovedFinding *l = left;
    const MovedFinding *r = right;
    if (l->finding->severity != r->finding->severity) {
        return l->finding->severity > r->finding->severity ? -1 : 1;
    }
    if (l->came != r->came) {
        return l->came ? -1 : 1;
    }
    return text_compare_keys(l->finding->key, r->finding->key);
}

/* --- exported -------------------------------------------------------------------------------- */

Moved moved_between(Arena *arena, const Proof *before, const Proof *after) {
    Moved moved = {.complete = before->complete && after->complete};
    size_t capacity = 0;
    one_sided(arena, before, after, false, &capacity, &moved);
    one_sided(arena, after, before, true, &capacity, &moved);
    if (moved.finding_count > 1) {
        qsort(moved.findings, moved.finding_count, sizeof *moved.findings, compare_findings);
    }
    if (moved.complete) {
        const TableSet *was = &before->set;
        const TableSet *is = &after->set;
        moved.boxes_gone = only_here(arena, was, is, TABLE_unit, &moved.boxes_gone_count);
        moved.boxes_come = only_here(arena, is, was, TABLE_unit, &moved.boxes_come_count);
        moved.wires_gone = only_here(arena, was, is, TABLE_conductor, &moved.wires_gone_count);
        moved.wires_come = only_here(arena, is, was, TABLE_conductor, &moved.wires_come_count);
        compare_wires(arena, was, is, &moved);
        compare_figures(arena, was, is, &moved);
    }
    return moved;
}
