/* The wire pass: nets from rows, cables and conductors from nets, shields, keys, then what classes
 * and boxes demand. Every step goes once over its things; sorting is the costliest part. */
#include "wiring/wiring.h"

#include "wiring/derive.h"

static const char *const JOINS[] = {"point to point", "chain", "hub at first"};
static const char *const LANES[] = {"", "A", "B", "cross-link"};

const char *wiring_join_name(Join join) {
    return JOINS[join];
}

const char *wiring_lane_name(Lane lane) {
    return LANES[lane];
}

bool wiring_derive(Arena *out, const Model *model, Wiring *wiring, Findings *findings) {
    *wiring = (Wiring){0};
    Deriver deriver = {.out = out, .model = model, .wiring = wiring, .findings = findings};
    derive_nets(&deriver);
    derive_cables(&deriver);
    derive_shields(&deriver);
    derive_keys(&deriver);
    derive_check_nets(&deriver);
    derive_check_units(&deriver);
    arena_free(&deriver.scratch);
    return wiring->cable_count > 0;
}

void wiring_net_rows(Arena *arena, const Model *model, const Wiring *wiring, TableSet *out) {
    for (NetId i = 0; i < wiring->net_count; i++) {
        const Net *net = &wiring->nets[i];
        Buffer ends = {.arena = arena};
        for (uint32_t k = 0; k < net->end_count; k++) {
            buffer_format(&ends, k == 0 ? "%s" : " > %s",
                          model->terminals[wiring->ends[net->end_first + k]].end);
        }
        NetRow *row = table_append(out, arena, TABLE_net);
        row->net = net->name;
        row->class = wiring_class(model, net->class_id)->class;
        row->conductors = net->core_count;
        row->joining = wiring_join_name(net->join);
        row->ends_in_order = net->end_count > 0 ? ends.bytes : "";
        row->lane = wiring_lane_name(net->lane);
        row->spare = net->spare ? 1 : 0;
    }
}
