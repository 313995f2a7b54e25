/* The result tables of the ring-out. */
#include <math.h>
#include <sodium.h>
#include <stdlib.h>
#include <string.h>

#include "shop/ringout.h"

/* BLAKE2b, short: against mistaking one reading for another, not against a forger. */
enum { RINGOUT_HASH_BYTES = 16 };

static int compare_names(const void *left, const void *right) {
    return text_compare_keys(*(const char *const *)left, *(const char *const *)right);
}

/* Names in their order, each once, separated by blanks. */
static const char *names_text(Arena *arena, const char **names, size_t count) {
    Buffer text = {.arena = arena};
    if (count > 1) {
        qsort(names, count, sizeof *names, compare_names);
    }
    buffer_text(&text, "");
    for (size_t i = 0; i < count; i++) {
        if (*names[i] != '\0' && (i == 0 || strcmp(names[i], names[i - 1]) != 0)) {
            buffer_format(&text, "%s%s", text.length > 0 ? " " : "", names[i]);
        }
    }
    return text.bytes;
}

static const char *edges_text(Arena *arena, const Rig *rig, const uint32_t *edges, uint32_t count) {
    const char **names = ARENA_ARRAY(arena, const char *, count);
    for (uint32_t i = 0; i < count; i++) {
        names[i] = rig->edges[edges[i]].key;
    }
    return names_text(arena, names, count);
}

const char *ringout_net_wires(Arena *arena, const Rig *rig, uint32_t net) {
    const char **names = NULL;
    size_t count = 0;
    size_t capacity = 0;
    for (uint32_t i = rig->net_point_first[net]; i < rig->net_point_first[net + 1]; i++) {
        RigPointId point = rig->net_points[i];
        for (uint32_t e = rig->point_edge_first[point]; e < rig->point_edge_first[point + 1]; e++) {
            const RigEdge *edge = &rig->edges[rig->point_edges[e]];
            if (edge->kind == RIG_WIRE || edge->kind == RIG_SCREEN) {
                *ARENA_PUSH(arena, names, count, capacity) = edge->key;
            }
        }
    }
    return names_text(arena, names, count);
}

static const char *mode_text(Arena *arena, const Model *model, const RingStep *step) {
    if (step->kind == RING_ISOLATION || step->kind == RING_COAX) {
        return arena_format(arena, "%.4g V", model_limit(model, RINGOUT_LIMIT_ISOLATION_V));
    }
    return step->four_wire ? "4-wire" : "2-wire";
}

/* What hangs on a tied point, by place in nets.tied: the point and all wires of its net. */
static const char **metal_texts(Arena *arena, const Ringout *ringout) {
    const RingNets *nets = &ringout->nets;
    uint32_t count = nets->count == 0 ? 0 : nets->tied_first[nets->count];
    const char **texts = ARENA_ARRAY(arena, const char *, count);
    for (uint32_t t = 0; t < count; t++) {
        const RigPoint *point = &ringout->rig->points[nets->tied[t]];
        texts[t] = arena_format(arena, "%s(%s)", point->name,
                                ringout_net_wires(arena, ringout->rig, point->net));
    }
    return texts;
}

/* What is tied to a side of an isolation reading. */
static const char *side_text(Arena *arena, const Ringout *ringout, const RingStep *step,
                             const char *const *metal, bool side_b) {
    const RingNets *nets = &ringout->nets;
    const IsolationSession *session = &ringout->plan.sessions[step->session];
    const char **names = NULL;
    size_t count = 0;
    size_t capacity = 0;
    for (uint32_t m = session->first; m < session->first + session->count; m++) {
        const IsolationMember *member = &ringout->plan.members[m];
        bool tied = ((side_b ? member->side_b : member->side_a) >> step->reading & 1) != 0;
        for (uint32_t t = nets->tied_first[member->net];
             tied && t < nets->tied_first[member->net + 1]; t++) {
            *ARENA_PUSH(arena, names, count, capacity) = metal[t];
        }
    }
    return names_text(arena, names, count);
}

/* A reading proves this and nothing else. Which probe is on which side says nothing. */
static const char *measured_hash(Arena *arena, const Ringout *ringout, const RingStep *step,
                                 const char *const *metal, const RingoutRow *row) {
    Arena scratch = {0};
    bool tied = step->kind == RING_ISOLATION;
    const char *a = tied ? side_text(&scratch, ringout, step, metal, false) : row->point_a;
    const char *b = tied ? side_text(&scratch, ringout, step, metal, true) : row->point_b;
    bool turned = strcmp(a, b) > 0;
    const char *text =
        arena_format(&scratch, "%s\n%s\n%s\n%s\n%s\n%.6g %.6g\n", row->kind, turned ? b : a,
                     turned ? a : b, row->wires, row->mode, row->low_ohm, row->high_ohm);
    unsigned char digest[RINGOUT_HASH_BYTES];
    char *hex = ARENA_ARRAY(arena, char, 2 * sizeof digest + 1);
    crypto_generichash(digest, sizeof digest, (const unsigned char *)text, strlen(text), NULL, 0);
    sodium_bin2hex(hex, 2 * sizeof digest + 1, digest, sizeof digest);
    arena_free(&scratch);
    return hex;
}

static void step_rows(Arena *arena, const Ringout *ringout, TableSet *set) {
    Arena scratch = {0};
    const char **metal = metal_texts(&scratch, ringout);
    for (uint32_t i = 0; i < ringout->step_count; i++) {
        const RingStep *step = &ringout->steps[i];
        RingoutRow *row = table_append(set, arena, TABLE_ringout);
        row->module = ringout->rig->name;
        row->step = (int32_t)i + 1;
        row->kind = ringout_kind_name(step->kind);
        row->point_a = step->a_name;
        row->point_b = step->b_name;
        row->wires = edges_text(arena, ringout->rig, step->edges, step->edge_count);
        row->expected_ohm = step->expected_ohm;
        row->low_ohm = step->low_ohm;
        row->high_ohm = step->high_ohm;
        row->mode = mode_text(arena, ringout->rig->model, step);
        row->note = step->note;
        row->measured = measured_hash(arena, ringout, step, metal, row);
    }
    arena_free(&scratch);
}

static void tie_rows(Arena *arena, const Ringout *ringout, TableSet *set) {
    const RingNets *nets = &ringout->nets;
    for (uint32_t s = 0; s < ringout->plan.session_count; s++) {
        const IsolationSession *session = &ringout->plan.sessions[s];
        for (uint32_t m = session->first; m < session->first + session->count; m++) {
            const IsolationMember *member = &ringout->plan.members[m];
            char sides[ISOLATION_READINGS_MAX + 1] = {0};
            for (uint32_t k = 0; k < session->readings; k++) {
                sides[k] = member->side_a >> k & 1 ? 'A' : member->side_b >> k & 1 ? 'B' : '-';
            }
            for (uint32_t t = nets->tied_first[member->net]; t < nets->tied_first[member->net + 1];
                 t++) {
                RigPointId at = nets->tied[t];
                RingoutTieRow *row = table_append(set, arena, TABLE_ringout_tie);
                row->module = ringout->rig->name;
                row->session = (int32_t)s + 1;
                row->point = ringout->rig->points[at].name;
                row->wires = ringout_net_wires(arena, ringout->rig, ringout->rig->points[at].net);
                row->sides = arena_text(arena, sides, strlen(sides));
            }
        }
    }
}

/* As many as the column holds, or more. */
static int32_t whole(double count) {
    return count < (double)INT32_MAX ? (int32_t)count : INT32_MAX;
}

static uint32_t points_in_reach(const Rig *rig) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < rig->point_count; i++) {
        count += rig->points[i].reachable && rig->points[i].net != ID_NONE;
    }
    return count;
}

static void count_rows(Arena *arena, const Ringout *ringout, TableSet *set) {
    const TableSet *library = ringout->rig->model->set;
    double nets = ringout->nets.count;
    for (uint32_t i = 0; i < library->tester.count; i++) {
        const TesterRow *tester = &library->tester.rows[i];
        IsolationCount count =
            isolation_count(&ringout->nets.input, tester->points < 2 ? 2 : (uint32_t)tester->points,
                            tester->leads < 2 ? 2 : (uint32_t)tester->leads);
        RingoutCountRow *row = table_append(set, arena, TABLE_ringout_count);
        row->module = ringout->rig->name;
        row->tester = tester->tester;
        row->points = (int32_t)points_in_reach(ringout->rig);
        row->nets = (int32_t)ringout->nets.count;
        row->continuity = (int32_t)ringout->continuity;
        row->isolation = whole(count.readings);
        row->least = whole(count.least);
        row->all_pairs = whole(nets * (nets - 1.0) / 2.0);
        row->sessions = whole(count.sessions);
        row->replugs = whole(count.replugs);
        row->moves = (int32_t)ringout->moves;
        row->moves_by_wire = (int32_t)ringout->moves_by_wire;
        if (i == ringout->tester) {
            row->adjacent_after = (int32_t)ringout->plan.adjacent_after;
            row->note = ringout->listed ? "the script is written for it"
                                        : "too many sessions for a script: counted only";
        }
    }
}

void ringout_rows(Arena *arena, const Ringout *ringout, TableSet *set) {
    step_rows(arena, ringout, set);
    tie_rows(arena, ringout, set);
    count_rows(arena, ringout, set);
}

void ringout_run(Arena *arena, const RigInput *input, TableSet *set) {
    const TableSet *job = input->ends->model->set;
    for (uint32_t i = 0; i <= job->module.count; i++) {
        Rig rig;
        Ringout ringout;
        rig_build(arena, input, i < job->module.count ? i : ID_NONE, &rig);
        if (rig.edge_count > 0) {
            ringout_build(arena, &rig, &ringout);
            ringout_rows(arena, &ringout, set);
        }
    }
}
