#include "app/ring.h"

#include "shop/ringout.h"

bool ring_table(TableId table) {
    return table == TABLE_ringout || table == TABLE_ringout_tie || table == TABLE_ringout_count;
}

RigInput ring_input(Arena *arena, const Proof *proof, Ends *ends) {
    ends_build(arena, &proof->model, &proof->wiring, &proof->routing, &proof->disconnects,
               proof->sizing.awg, ends);
    ModuleId *module = ARENA_ARRAY(arena, ModuleId, ends->piece_count);
    double *length_mm = ARENA_ARRAY(arena, double, ends->piece_count);
    rig_pieces(arena, ends, module, length_mm);
    return (RigInput){.ends = ends, .piece_module = module, .piece_mm = length_mm};
}

void ring_rows(Proof *proof) {
    if (!proof->complete || proof->set.ringout_count.count > 0) {
        return;
    }
    Ends ends;
    RigInput input = ring_input(&proof->arena, proof, &ends);
    ringout_run(&proof->arena, &input, &proof->set);
    table_set_sort(&proof->set);
}
