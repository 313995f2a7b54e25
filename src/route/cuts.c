#include "route/cuts.h"

#include <stdlib.h>
#include <string.h>

#include "model/report.h"

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

/* --- at which end ------------------------------------------------------------------------------
 */

static void report_elsewhere(const Model *model, uint32_t row, Findings *findings) {
    const DisconnectShellRow *shell = &model->set->disconnect_shell.rows[row];
    report_row(findings, model, RULE_HARNESS_NODE, TABLE_disconnect_shell, row, "node",
               "%s is said to sit at node %s, which is no end of segment %s", shell->tag,
               shell->node, shell->segment)
        ->hint = "name one of the segment's two nodes";
}

static void report_two_ends(const Model *model, uint32_t row, uint32_t other, Findings *findings) {
    const DisconnectShellRow *shell = &model->set->disconnect_shell.rows[row];
    const char *tag = model->set->disconnect_shell.rows[other].tag;
    Finding *finding =
        report_row(findings, model, RULE_HARNESS_NODE, TABLE_disconnect_shell, row, "node",
                   "%s and %s cut segment %s at one disconnect but at different ends", shell->tag,
                   tag, shell->segment);
    finding->rows = tag;
    finding->hint = "all shells of a disconnect on one segment sit at one node";
}

/* The end of the segment where a cut sits (0: node_a), by the rows of its shells; without any, the
 * end that lies on the side away from the disconnect's module. `findings` may be NULL. */
static uint32_t cut_end(const Model *model, const Cuts *cuts, const Cut *cut, SegmentId segment,
                        Findings *findings) {
    const TableSet *set = model->set;
    uint32_t end = cuts->far_is_a[segment] ? 1 : 0;
    uint32_t said_by = ID_NONE;
    for (uint32_t i = 0; i < cut->shell_count; i++) {
        uint32_t row = cuts->shells[cut->shell_first + i];
        const char *name = set->disconnect_shell.rows[row].node;
        NodeId node = *name == '\0' ? ID_NONE : model_row(model, TABLE_node, name);
        if (node == ID_NONE) {
            continue; /* blank, or reported when it was read */
        }
        bool at_a = node == model->segment_a[segment];
        bool elsewhere = !at_a && node != model->segment_b[segment];
        bool second = !elsewhere && said_by != ID_NONE && end != (at_a ? 0u : 1u);
        if (elsewhere && findings != NULL) {
            report_elsewhere(model, row, findings);
        } else if (second && findings != NULL) {
            report_two_ends(model, row, said_by, findings);
        }
        if (!elsewhere && !second) {
            said_by = row;
            end = at_a ? 0 : 1;
        }
    }
    return end;
}

/* The length lies behind all cuts that sit at node_a. */
static void find_ends(Arena *out, const Model *model, Cuts *cuts) {
    const TableSet *set = model->set;
    cuts->long_gap = ARENA_ARRAY(out, uint32_t, set->segment.count);
    cuts->far_is_a = ARENA_ARRAY(out, bool, set->segment.count);
    for (SegmentId i = 0; i < set->segment.count; i++) {
        uint32_t first = cuts->segment_first[i];
        uint32_t count = cuts->segment_first[i + 1] - first;
        if (count == 0 || model->segment_a[i] == ID_NONE) {
            continue;
        }
        const char *module = set->disconnect.rows[cuts->cuts[first].disconnect].module;
        cuts->far_is_a[i] =
            model->node_module[model->segment_a[i]] == model_row(model, TABLE_module, module);
        for (uint32_t k = 0; k < count; k++) {
            if (cut_end(model, cuts, &cuts->cuts[first + k], i, NULL) == 0) {
                cuts->long_gap[i] = k + 1;
            }
        }
    }
}

void cuts_check(const Model *model, const Cuts *cuts, Findings *findings) {
    for (SegmentId i = 0; i < model->set->segment.count; i++) {
        for (uint32_t k = cuts->segment_first[i];
             k < cuts->segment_first[i + 1] && model->segment_a[i] != ID_NONE; k++) {
            cut_end(model, cuts, &cuts->cuts[k], i, findings);
        }
    }
}

NodeId cuts_node(const Model *model, const Cuts *cuts, SegmentId segment, uint32_t k) {
    return k < cuts->long_gap[segment] ? model->segment_a[segment] : model->segment_b[segment];
}

void cuts_find(Arena *out, const Model *model, Cuts *cuts) {
    size_t segments = model->set->segment.count;
    *cuts = (Cuts){0};
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
    find_ends(out, model, cuts);
}

void cuts_read(Arena *out, const Model *model, Cuts *cuts) {
    cuts_find(out, model, cuts);
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
