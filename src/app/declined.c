#include "app/declined.h"

#include "model/decline.h"

/* The keys that the wires of the whole job have, as if they had been kept. Nothing where the whole
 * job can't be wired: what is wrong with it is told of what is left of it. */
static void keep_keys(Proof *proof) {
    Arena *arena = &proof->arena;
    TableSet set = proof->whole; /* a check takes rows out of its own copy */
    Findings findings = {.arena = arena};
    Model model;
    Wiring wiring;
    table_check(arena, &set, &findings);
    if (findings_open(&findings, SEVERITY_UNREADABLE) == 0 &&
        model_build(arena, &set, &model, &findings) &&
        wiring_derive(arena, &model, &wiring, &findings)) {
        proof->set.any[TABLE_allot] = (AnyTable){.rows = NULL};
        wiring_allot_rows(arena, &model, &wiring, &proof->set);
    }
}

void declined_leave_out(Proof *proof) {
    if (decline_leave_out(&proof->arena, &proof->set, &proof->whole)) {
        keep_keys(proof);
    }
}
