/* Significant wire numbers (form and letters: rating/marking.h). The order of nets gives the
 * numbers, so equal jobs print equal labels. */
#include <string.h>

#include "rating/marking.h"
#include "wiring/wiring.h"

/* Two letters without I and O make 24 + 24 x 24; then the next wire number is taken. */
#define SEGMENTS_MAX 600u

/* Where a circuit stands: its number and the next free segment letter. */
typedef struct CircuitState {
    uint32_t number; /* 0: none yet */
    uint32_t cores;
    uint32_t segment;
} CircuitState;

/* Function letter of the first box among the ends; for a feed the box it supplies comes first. */
static char circuit_letter(const Model *model, const Wiring *wiring, const Net *net) {
    bool feed = net->from_table == TABLE_feed;
    const TerminalId *ends = &wiring->ends[net->end_first];
    uint32_t count = net->end_count;
    if (feed) {
        const ModelFeed *row = &model->feeds[net->from_row];
        ends = &model->targets[row->target_first];
        count = row->target_count;
    }
    for (uint32_t i = 0; i < count; i++) {
        const ModelOwner *owner = &model->owners[model->terminals[ends[i]].owner];
        if (owner->kind != OWNER_UNIT || owner->part == ID_NONE) {
            continue;
        }
        const char *letter = model->set->part.rows[owner->part].letter;
        if (letter[0] >= 'A' && letter[0] <= 'Z') {
            return letter[0];
        }
    }
    return feed || net->from_table == TABLE_ground ? 'P' : 'M';
}

static void number_net(const Wiring *wiring, const Net *net, const uint8_t *pieces,
                       CircuitState *state, uint32_t *next, WireNumbers *numbers) {
    for (uint32_t k = 0; k < net->cable_count; k++) {
        CableId cable = net->cable_first + k;
        uint32_t count = pieces == NULL ? 1 : pieces[cable];
        if (state->number == 0 || state->segment + count > SEGMENTS_MAX) {
            state->number = *next;
            state->segment = 0;
            *next += state->cores > 0 ? state->cores
                                      : wiring->nets[wiring->cables[cable].net].core_count;
        }
        numbers->number[cable] = state->number;
        numbers->segment[cable] = (uint16_t)state->segment;
        state->segment += count;
    }
}

void wiring_numbers(Arena *out, const Model *model, const Wiring *wiring, const uint8_t *pieces,
                    WireNumbers *numbers) {
    numbers->letter = ARENA_ARRAY(out, char, wiring->net_count);
    numbers->number = ARENA_ARRAY(out, uint32_t, wiring->cable_count);
    numbers->segment = ARENA_ARRAY(out, uint16_t, wiring->cable_count);
    Arena scratch = {0};
    CircuitState *feeds = ARENA_ARRAY(&scratch, CircuitState, model->set->feed.count);
    for (NetId i = 0; i < wiring->net_count; i++) {
        const Net *net = &wiring->nets[i];
        if (net->from_table == TABLE_feed && feeds[net->from_row].cores < net->core_count) {
            feeds[net->from_row].cores = net->core_count;
        }
    }
    uint32_t next['Z' - 'A' + 1];
    for (size_t i = 0; i < sizeof next / sizeof *next; i++) {
        next[i] = 1;
    }
    for (NetId i = 0; i < wiring->net_count; i++) {
        const Net *net = &wiring->nets[i];
        numbers->letter[i] = circuit_letter(model, wiring, net);
        CircuitState own = {.cores = net->core_count};
        number_net(wiring, net, pieces,
                   net->from_table == TABLE_feed ? &feeds[net->from_row] : &own,
                   &next[numbers->letter[i] - 'A'], numbers);
    }
    arena_free(&scratch);
}

const char *wiring_number(Arena *arena, const Model *model, const Wiring *wiring,
                          const WireNumbers *numbers, ConductorId id, unsigned piece, int32_t awg) {
    const Conductor *conductor = &wiring->conductors[id];
    NetId net_id = wiring->cables[conductor->cable].net;
    const Net *net = &wiring->nets[net_id];
    const InterfaceRow *class = wiring_class(model, net->class_id);
    bool to_ground = net->from_table == TABLE_ground || strcmp(class->kind, "return") == 0;
    MarkingNumber number = {
        .circuit = numbers->letter[net_id],
        .wire = numbers->number[conductor->cable] + conductor->core,
        .awg = awg,
        .suffix = to_ground ? 'N' : 0,
    };
    marking_segment(numbers->segment[conductor->cable] + piece, number.segment);
    if (awg == INT_BLANK) {
        return arena_format(arena, "%c%u%s", number.circuit, number.wire, number.segment);
    }
    char text[MARKING_TEXT];
    marking_number_format(&number, text);
    return arena_text(arena, text, strlen(text));
}
