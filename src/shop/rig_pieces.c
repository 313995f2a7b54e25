/* Where pieces lie and how long they are, from the way of their cable. */
#include <math.h>

#include "route/cuts.h"
#include "shop/rig.h"

typedef struct Walk {
    const Ends *ends;
    const Model *model;
    Cuts cuts;
    ModuleId *module; /* of the pieces of one cable, by place along it */
    double *length_mm;
    uint32_t count;
} Walk;

/* The module on one side of a cut segment. */
static ModuleId side_module(const Walk *walk, const Hop *hop, bool behind) {
    NodeId node = hop->backward == behind ? walk->model->segment_a[hop->segment]
                                          : walk->model->segment_b[hop->segment];
    return walk->model->node_module[node];
}

/* Lengths and modules of the pieces of a cable. */
static void walk_cable(Walk *walk, CableId id) {
    const Model *model = walk->model;
    const Routing *routing = walk->ends->routing;
    const Cable *cable = &walk->ends->wiring->cables[id];
    const ModelTerminal *from = &model->terminals[cable->from];
    const ModelTerminal *to = &model->terminals[cable->to];
    walk->count = 0;
    double way_mm = from->stub_mm;
    double sum_mm = from->stub_mm + to->stub_mm;
    walk->module[0] = model->node_module[from->node];
    for (uint32_t i = routing->cable_first[id]; i < routing->cable_first[id + 1]; i++) {
        const Hop *hop = &routing->hops[i];
        uint32_t cut_count =
            walk->cuts.segment_first[hop->segment + 1] - walk->cuts.segment_first[hop->segment];
        double length_mm = model->segment_length_mm[hop->segment];
        sum_mm += length_mm;
        for (uint32_t k = 0; k < cut_count; k++) {
            walk->length_mm[walk->count++] = way_mm + length_mm / (cut_count + 1);
            walk->module[walk->count] = side_module(walk, hop, true);
            way_mm = 0.0;
        }
        way_mm += length_mm / (cut_count + 1);
    }
    walk->length_mm[walk->count++] = way_mm + to->stub_mm;
    /* What the cut length has beyond the way: allowances, or a length that a person set. */
    double more_mm = (routing->length_mm[id] - sum_mm) / walk->count;
    for (uint32_t i = 0; i < walk->count; i++) {
        walk->length_mm[i] += more_mm;
    }
}

void rig_pieces(Arena *scratch, const Ends *ends, ModuleId *piece_module, double *piece_mm) {
    Walk walk = {.ends = ends, .model = ends->model};
    cuts_read(scratch, ends->model, &walk.cuts);
    uint32_t most = 2;
    for (uint32_t i = 0; i < ends->piece_count; i++) {
        most = ends->pieces[i].index + 2u > most ? ends->pieces[i].index + 2u : most;
    }
    walk.module = ARENA_ARRAY(scratch, ModuleId, most);
    walk.length_mm = ARENA_ARRAY(scratch, double, most);
    CableId at = ID_NONE;
    for (uint32_t i = 0; i < ends->piece_count; i++) {
        const Piece *piece = &ends->pieces[i];
        if (piece->cable != at) {
            at = piece->cable;
            walk_cable(&walk, at);
        }
        piece_module[i] = walk.module[piece->index];
        piece_mm[i] = walk.length_mm[piece->index];
    }
}
