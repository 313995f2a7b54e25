#include "route/cuts.h"

#include <stdlib.h>
#include <string.h>

/* --- reading ---------------------------------------------------------------------------------- */

typedef struct ShellOrder {
    SegmentId segment;
    uint32_t disconnect;
    uint32_t shell;
} ShellOrder;

static int compare_shells(const void *left, const void *right) {
    const ShellOrder *a = left;
    const ShellOrder *b = right;
    if (a->segment != b->segment) {
        return a->segment < b->segment ? -1 : 1;
    }
    if (a->disconnect != b->disconnect) {
        return a->disconnect < b->disconnect ? -1 : 1;
    }
    return a->shell < b->shell ? -1 : (a->shell > b->shell ? 1 : 0);
}

static ShellOrder *order_shells(Arena *out, const Model *model, size_t *count) {
    const TableSet *set = model->set;
    ShellOrder *order = ARENA_ARRAY(out, ShellOrder, set->disconnect_shell.count);
    *count = 0;
    for (uint32_t i = 0; i < set->disconnect_shell.count; i++) {
        const DisconnectShellRow *row = &set->disconnect_shell.rows[i];
        ShellOrder slot = {
            .segment = model_row(model, TABLE_segment, row->segment),
            .disconnect = model_row(model, TABLE_disconnect, row->disconnect),
            .shell = i,
        };
        if (slot.segment != ID_NONE && slot.disconnect != ID_NONE) {
            order[(*count)++] = slot;
        }
    }
    if (*count > 1) {
        qsort(order, *count, sizeof *order, compare_shells);
    }
    return order;
}

static void read_faces(Arena *out, const Model *model, Cuts *cuts) {
    const TableSet *set = model->set;
    size_t count = set->disconnect_shell.count;
    Face **by_kind = ARENA_ARRAY(out, Face *, set->shell.count);
    cuts->kind = ARENA_ARRAY(out, ShellId, count);
    cuts->contact = ARENA_ARRAY(out, ContactId, count);
    cuts->faces = ARENA_ARRAY(out, Face *, count);
    for (size_t i = 0; i < count; i++) {
        ShellId kind = model_row(model, TABLE_shell, set->disconnect_shell.rows[i].shell);
        cuts->kind[i] = kind;
        cuts->contact[i] = ID_NONE;
        if (kind == ID_NONE) {
            cuts->faces[i] = ARENA_NEW(out, Face);
            cuts->faces[i]->near_first = ARENA_NEW(out, uint32_t);
            continue;
        }
        cuts->contact[i] = model_row(model, TABLE_contact, set->shell.rows[kind].contact);
        if (by_kind[kind] == NULL) {
            by_kind[kind] = ARENA_NEW(out, Face);
            face_read(out, model, kind, by_kind[kind]);
        }
        cuts->faces[i] = by_kind[kind];
    }
}

void cuts_read(Arena *out, const Model *model, Cuts *cuts) {
    size_t segments = model->set->segment.count;
    size_t count = 0;
    ShellOrder *order = order_shells(out, model, &count);
    cuts->segment_first = ARENA_ARRAY(out, uint32_t, segments + 1);
    cuts->cuts = ARENA_ARRAY(out, Cut, count);
    cuts->shells = ARENA_ARRAY(out, uint32_t, count);
    uint32_t cut_count = 0;
    size_t next = 0;
    for (SegmentId segment = 0; segment < segments; segment++) {
        cuts->segment_first[segment] = cut_count;
        for (; next < count && order[next].segment == segment; next++) {
            cuts->shells[next] = order[next].shell;
            Cut *last =
                cut_count > cuts->segment_first[segment] ? &cuts->cuts[cut_count - 1] : NULL;
            if (last != NULL && last->disconnect == order[next].disconnect) {
                last->shell_count++;
                continue;
            }
            cuts->cuts[cut_count++] = (Cut){
                .disconnect = order[next].disconnect,
                .shell_first = (uint32_t)next,
                .shell_count = 1,
            };
        }
    }
    cuts->segment_first[segments] = cut_count;
    read_faces(out, model, cuts);
}

/* --- choosing --------------------------------------------------------------------------------- */

int32_t cuts_largest_awg(const Model *model, const Cuts *cuts, uint32_t shell) {
    int32_t given = model->set->disconnect_shell.rows[shell].largest_awg;
    ContactId contact = cuts->contact[shell];
    if (given != INT_BLANK || contact == ID_NONE) {
        return given;
    }
    return model->set->contact.rows[contact].largest_awg;
}

/* How well a shell suits: 0 not at all, higher is better. */
static int suits(const Model *model, const Cuts *cuts, uint32_t shell, int32_t awg, uint8_t group) {
    const char *takes = model->set->disconnect_shell.rows[shell].group;
    int32_t largest = cuts_largest_awg(model, cuts, shell);
    bool power = strcmp(takes, "power") == 0;
    if (largest != INT_BLANK && awg != INT_BLANK && awg < largest) {
        return power ? 1 : 0; /* too thick even there: taken all the same, and reported */
    }
    if (power) {
        return 2;
    }
    bool own = takes[0] == 'a' || takes[0] == (char)('0' + group);
    return own ? 4 : 3; /* the other group's shell, when there is no own one */
}

uint32_t cuts_shell(const Model *model, const Cuts *cuts, const Cut *cut, int32_t awg,
                    uint8_t group, uint32_t kept, const int32_t *free, int32_t count) {
    uint32_t best = ID_NONE;
    int best_score = 0;
    for (uint32_t i = 0; i < cut->shell_count; i++) {
        uint32_t shell = cuts->shells[cut->shell_first + i];
        int score = suits(model, cuts, shell, awg, group) * 4;
        if (score == 0) {
            continue;
        }
        score += shell == kept ? 2 : 0;
        score += free == NULL || free[shell] >= count ? 1 : 0;
        if (score > best_score) {
            best_score = score;
            best = shell;
        }
    }
    return best;
}
