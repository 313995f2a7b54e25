/* What the lifts say: rows, findings, lines. */
#include <math.h>
#include <string.h>

#include "power/lift.h"
#include "model/report.h"

const char *lift_verdict_name(LiftVerdict verdict) {
    static const char *const NAMES[] = {"no current", "none",      "carries",   "not decided",
                                        "not proved", "overloads", "not solved"};
    return NAMES[verdict];
}

/* "W0123" or "GBC structure". */
static const char *lifted_key(Arena *arena, const Paths *paths, BuildSource lifted) {
    if (lifted.kind == BUILD_CONDUCTOR) {
        return paths->wiring->conductors[lifted.index].key;
    }
    const BondRow *row = &paths->model->set->bond.rows[lifted.index];
    return arena_format(arena, "%s %s", row->item, row->onto);
}

static const char *lifted_circuit(const Paths *paths, BuildSource lifted) {
    if (lifted.kind != BUILD_CONDUCTOR) {
        return "bond";
    }
    const Wiring *wiring = paths->wiring;
    return wiring->nets[wiring->cables[wiring->conductors[lifted.index].cable].net].name;
}

static const char *path_text(Arena *arena, const Paths *paths, const Lifts *lifts,
                             const LiftPath *path) {
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; i < path->hop_count; i++) {
        buffer_format(&text, "%s%s", i == 0 ? "" : " > ",
                      paths_name(arena, paths, lifts->hops[path->hop_first + i].source));
    }
    return text.bytes;
}

static const char *lost_text(Arena *arena, const Paths *paths, const Lifts *lifts,
                             const Lift *lift) {
    enum { NAMED = 6 };
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; i < lift->lost_count && i < NAMED; i++) {
        const SupplyLoad *load = &paths->supply.loads[lifts->lost[lift->lost_first + i]];
        buffer_format(&text, "%s%s", i == 0 ? "" : " ", paths->model->terminals[load->port].end);
    }
    if (lift->lost_count > NAMED) {
        buffer_format(&text, " and %u more", lift->lost_count - NAMED);
    }
    return lift->lost_count == 0 ? "" : text.bytes;
}

/* --- findings -----------------------------------------------------------------------------------
 */

static void report_overload(const Paths *paths, const Lifts *lifts, const Lift *lift,
                            Findings *findings) {
    const LiftPath *worst = NULL;
    double worst_share = 0.0;
    for (uint32_t i = 0; i < lift->path_count; i++) {
        const LiftPath *path = &lifts->paths[lift->path_first + i];
        if (path->verdict == LIFT_OVERLOADS) {
            const LiftHop *hop = &lifts->hops[path->weakest];
            if (worst == NULL || hop->amps_a / hop->rating_a > worst_share) {
                worst = path;
                worst_share = hop->amps_a / hop->rating_a;
            }
        }
    }
    if (worst == NULL) {
        return;
    }
    Arena *arena = findings->arena;
    const LiftHop *hop = &lifts->hops[worst->weakest];
    const char *weakest = paths_name(arena, paths, hop->source);
    const char *box = paths->model->owners[lift->box].tag;
    bool wire = lift->lifted.kind == BUILD_CONDUCTOR;
    const char *key = lifted_key(arena, paths, lift->lifted);
    Finding *finding = finding_report(
        findings, RULE_GROUND_LIFTED, wire ? "conductor" : "bond", key, "",
        "with %s%s lifted %s returns another way (%s): %s then carries %.2f A and stands %.2f A",
        wire ? "" : "bond ", wire ? lifted_circuit(paths, lift->lifted) : key, box,
        path_text(arena, paths, lifts, worst), weakest, hop->amps_a, hop->rating_a);
    report_values(finding, hop->amps_a, hop->rating_a, "A",
                  paths_rating_source(paths, hop->source));
    report_hint(findings, finding,
                "give %s a second ground of its own, or ground that shield or return at one end",
                box);
    finding->rows = arena_format(arena, "%s %s", box, lifted_circuit(paths, lift->lifted));
}

static void report_loop(const Paths *paths, const LiftHop *hop, Findings *findings) {
    Arena *arena = findings->arena;
    const char *name = paths_name(arena, paths, hop->source);
    bool box = hop->source.kind == BUILD_GATE;
    const Wiring *wiring = paths->wiring;
    const char *key =
        box ? paths->model->owners[paths->supply.gates.rows[hop->source.index].owner].tag
        : hop->source.kind == BUILD_SHIELD
            ? wiring->conductors[wiring->cables[hop->source.index].conductor_first].key
            : wiring->conductors[hop->source.index].key;
    Finding *finding = finding_report(
        findings, RULE_GROUND_LOOP, box ? "unit" : "conductor", key, "",
        "%s carries %.2f A of return current with every ground in place and stands %.2f A", name,
        hop->amps_a, hop->rating_a);
    report_values(finding, hop->amps_a, hop->rating_a, "A",
                  paths_rating_source(paths, hop->source));
    finding->hint = "ground the shield at one end, keep the case off the supply ground, or give "
                    "the box a thicker ground";
}

void lift_report(const Paths *paths, const Lifts *lifts, Findings *findings) {
    for (uint32_t i = 0; i < lifts->loop_count; i++) {
        report_loop(paths, &lifts->loops[i], findings);
    }
    uint32_t undecided = 0;
    uint32_t unrated = 0;
    uint32_t unsolved = 0;
    Buffer boxes = {.arena = findings->arena};
    for (uint32_t i = 0; i < lifts->count; i++) {
        const Lift *lift = &lifts->rows[i];
        report_overload(paths, lifts, lift, findings);
        if (lift->verdict == LIFT_NOT_DECIDED) {
            buffer_format(&boxes, "%s%s", undecided++ == 0 ? "" : " ",
                          lifted_circuit(paths, lift->lifted));
        }
        unrated += lift->verdict == LIFT_NOT_PROVED ? 1U : 0U;
        unsolved += lift->verdict == LIFT_NOT_SOLVED ? 1U : 0U;
    }
    if (undecided + unrated + unsolved == 0) {
        return;
    }
    Finding *finding = finding_report(
        findings, RULE_GROUND_UNKNOWN, "return_path", "", "",
        "of %u grounds lifted in turn %u are not decided (no inside row speaks of a point that may "
        "be joined to the box's ground), %u not proved (a piece of the way has no known rating), "
        "%u "
        "not solved (no operating point, or beyond the bound on work)",
        lifts->count, undecided, unrated, unsolved);
    finding->value = undecided + unrated + unsolved;
    finding->unit = "grounds";
    finding->rows = undecided == 0 ? "" : boxes.bytes;
    report_hint(findings, finding,
                "`marling show return_path` names the points; add `inside` rows to the library, as "
                "the boxes' manuals or a meter say");
}

/* --- rows ---------------------------------------------------------------------------------------
 */

static void append_row(Arena *arena, const Paths *paths, const Lifts *lifts, const Lift *lift,
                       const LiftPath *path, int32_t number, TableSet *results) {
    ReturnPathRow *row = table_append(results, arena, TABLE_return_path);
    row->lifted = lifted_key(arena, paths, lift->lifted);
    row->path = number;
    row->circuit = lifted_circuit(paths, lift->lifted);
    row->box = paths->model->owners[lift->box].tag;
    row->before_a = lift->before_a;
    row->path_a = path == NULL ? (double)NAN : path->amps_a;
    row->through = path == NULL ? "none" : path_text(arena, paths, lifts, path);
    row->weakest = "";
    row->weakest_a = row->rating_a = (double)NAN;
    if (path != NULL && path->weakest != ID_NONE) {
        const LiftHop *hop = &lifts->hops[path->weakest];
        row->weakest = paths_name(arena, paths, hop->source);
        row->weakest_a = hop->amps_a;
        row->rating_a = hop->rating_a;
    }
    bool open =
        lift->verdict == LIFT_NOT_DECIDED && (path == NULL || path->verdict == LIFT_CARRIES);
    row->verdict = lift_verdict_name(path == NULL || open ? lift->verdict : path->verdict);
    row->loses = number <= 1 ? lost_text(arena, paths, lifts, lift) : "";
    row->unknown = number <= 1 ? lift->unknown : "";
}

void lift_rows(Arena *arena, const Paths *paths, const Lifts *lifts, TableSet *results) {
    for (uint32_t i = 0; i < lifts->count; i++) {
        const Lift *lift = &lifts->rows[i];
        if (lift->path_count == 0) {
            append_row(arena, paths, lifts, lift, NULL, 0, results);
        }
        for (uint32_t k = 0; k < lift->path_count; k++) {
            append_row(arena, paths, lifts, lift, &lifts->paths[lift->path_first + k],
                       (int32_t)k + 1, results);
        }
    }
}

/* --- why ----------------------------------------------------------------------------------------
 */

static void why_path(Buffer *out, const Paths *paths, const Lifts *lifts, const LiftPath *path) {
    buffer_format(out, "    %.3f A by %s\n", path->amps_a,
                  path_text(out->arena, paths, lifts, path));
    for (uint32_t i = 0; i < path->hop_count; i++) {
        const LiftHop *hop = &lifts->hops[path->hop_first + i];
        buffer_format(out, "        %-40s %8.3f A", paths_name(out->arena, paths, hop->source),
                      hop->amps_a);
        if (isnan(hop->rating_a)) {
            buffer_text(out, ", no rating known");
        } else if (!isinf(hop->rating_a)) {
            buffer_format(out, ", stands %.2f A (%s)", hop->rating_a,
                          paths_rating_source(paths, hop->source));
        }
        buffer_text(out, "\n");
    }
}

void lift_why(Buffer *out, const Paths *paths, const Lifts *lifts, const char *key) {
    for (uint32_t i = 0; i < lifts->count; i++) {
        const Lift *lift = &lifts->rows[i];
        const char *name = lift->lifted.kind == BUILD_CONDUCTOR
                               ? paths->wiring->conductors[lift->lifted.index].key
                               : paths->model->set->bond.rows[lift->lifted.index].item;
        if (strcmp(name, key) != 0 && strcmp(lifted_circuit(paths, lift->lifted), key) != 0) {
            continue;
        }
        buffer_format(out, "lifted (%s, in phase %s): %.3f A of %s returned here; %s\n",
                      paths_name(out->arena, paths, lift->lifted),
                      paths->model->set->phase.rows[lifts->phase].phase, lift->before_a,
                      paths->model->owners[lift->box].tag, lift_verdict_name(lift->verdict));
        for (uint32_t k = 0; k < lift->path_count; k++) {
            why_path(out, paths, lifts, &lifts->paths[lift->path_first + k]);
        }
        if (*lift->unknown != '\0') {
            buffer_format(out, "    not decided until an inside row speaks of %s\n", lift->unknown);
        }
        if (lift->lost_count > 0) {
            buffer_format(out, "    stops: %s\n", lost_text(out->arena, paths, lifts, lift));
        }
    }
}
