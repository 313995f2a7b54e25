/* Where disconnects sit: at one end of the segment they cut. */
#include <math.h>
#include <string.h>

#include "board/harness_inner.h"
#include "model/report.h"

/* The end of the segment where a cut sits (0: node_a), by the rows of its shells; without any, the
 * end that lies on the side away from the disconnect's module. */
static uint32_t cut_end(const Model *model, const HarnessCuts *cuts, const Cut *cut,
                        SegmentId segment, Findings *findings) {
    const TableSet *set = model->set;
    uint32_t end = cuts->far_is_a[segment] ? 1 : 0;
    uint32_t said_by = ID_NONE;
    for (uint32_t i = 0; i < cut->shell_count; i++) {
        uint32_t row = cuts->cuts.shells[cut->shell_first + i];
        const DisconnectShellRow *shell = &set->disconnect_shell.rows[row];
        if (*shell->node == '\0') {
            continue;
        }
        NodeId node = model_row(model, TABLE_node, shell->node);
        bool at_a = node == model->segment_a[segment];
        if (node == ID_NONE) {
            continue; /* reported when it was read */
        }
        if (!at_a && node != model->segment_b[segment]) {
            report_row(findings, model, RULE_HARNESS_NODE, TABLE_disconnect_shell, row, "node",
                       "%s is said to sit at node %s, which is no end of segment %s", shell->tag,
                       shell->node, shell->segment)
                ->hint = "name one of the segment's two nodes";
            continue;
        }
        if (said_by != ID_NONE && end != (at_a ? 0u : 1u)) {
            Finding *finding =
                report_row(findings, model, RULE_HARNESS_NODE, TABLE_disconnect_shell, row, "node",
                           "%s and %s cut segment %s at one disconnect but at different ends",
                           shell->tag, set->disconnect_shell.rows[said_by].tag, shell->segment);
            finding->rows = set->disconnect_shell.rows[said_by].tag;
            finding->hint = "all shells of a disconnect on one segment sit at one node";
            continue;
        }
        said_by = row;
        end = at_a ? 0 : 1;
    }
    return end;
}

void harness_cuts_read(Arena *out, const Model *model, HarnessCuts *cuts, Findings *findings) {
    const TableSet *set = model->set;
    cuts_read(out, model, &cuts->cuts);
    cuts->long_gap = ARENA_ARRAY(out, uint32_t, set->segment.count);
    cuts->far_is_a = ARENA_ARRAY(out, bool, set->segment.count);
    for (SegmentId i = 0; i < set->segment.count; i++) {
        uint32_t first = cuts->cuts.segment_first[i];
        uint32_t count = cuts->cuts.segment_first[i + 1] - first;
        if (count == 0 || model->segment_a[i] == ID_NONE) {
            continue;
        }
        const char *module = set->disconnect.rows[cuts->cuts.cuts[first].disconnect].module;
        cuts->far_is_a[i] =
            model->node_module[model->segment_a[i]] == model_row(model, TABLE_module, module);
        /* The length lies behind all cuts that sit at node_a. */
        for (uint32_t k = 0; k < count; k++) {
            if (cut_end(model, cuts, &cuts->cuts.cuts[first + k], i, findings) == 0) {
                cuts->long_gap[i] = k + 1;
            }
        }
    }
}

HarnessPlace harness_gap_place(const Model *model, const HarnessCuts *cuts, SegmentId segment,
                               uint32_t gap, uint32_t end) {
    uint32_t last = cuts->cuts.segment_first[segment + 1] - cuts->cuts.segment_first[segment];
    uint32_t long_gap = cuts->long_gap[segment];
    NodeId a = model->segment_a[segment];
    NodeId b = model->segment_b[segment];
    bool at_a = gap < long_gap || (gap == long_gap && end == 0);
    bool whole = gap == long_gap;
    if (at_a && gap == 0) {
        return (HarnessPlace){.node = a, .segment = ID_NONE};
    }
    if (!at_a && gap == last) {
        return (HarnessPlace){.node = b, .segment = ID_NONE};
    }
    return (HarnessPlace){
        .node = at_a ? a : b, .segment = segment, .gap = gap, .end = whole ? end : 0};
}

bool harness_unit_vector(double vector[3]) {
    double length = sqrt(vector[0] * vector[0] + vector[1] * vector[1] + vector[2] * vector[2]);
    for (int i = 0; i < 3; i++) {
        vector[i] = length > 0.0 ? vector[i] / length : 0.0;
    }
    return length > 0.0;
}

bool harness_segment_direction(const Model *model, SegmentId segment, double direction[3]) {
    const NodeRow *a = &model->set->node.rows[model->segment_a[segment]];
    const NodeRow *b = &model->set->node.rows[model->segment_b[segment]];
    direction[0] = b->x_mm - a->x_mm;
    direction[1] = b->y_mm - a->y_mm;
    direction[2] = b->z_mm - a->z_mm;
    return harness_unit_vector(direction);
}
