/* Pieces take the length of their run from the route layer, which is what the electrics reckon
 * with; wire and mass are what is cut. */
#include <math.h>

#include "base/units.h"
#include "board/harness_inner.h"

static const LengthParts *run_parts(const HarnessSet *set, const HarnessRun *run) {
    const Routing *routing = set->ends->routing;
    return &routing->runs[routing->run_first[run->cable] + run->index].parts;
}

/* Wire and mass that go into the harness. */
static void count_run(HarnessSet *set, const HarnessRun *run) {
    const Ends *ends = set->ends;
    Harness *harness = &set->harnesses[run->harness];
    const Cable *cable = &ends->wiring->cables[run->cable];
    double kg_per_m =
        gauges_kg_per_m(ends->model, ends->wiring, &ends->gauges, run->cable, ends->awg);
    double sum_mm = 0.0;
    uint32_t count = 0;
    for (uint32_t i = 0; i < run->piece_count; i++) {
        uint32_t piece = set->run_pieces[run->piece_first + i];
        if (ends->pieces[piece].conductor != ID_NONE && (!run->jacketed || count == 0)) {
            sum_mm += set->pieces[piece].length.cut_mm;
            count++;
        }
    }
    harness->wire_mm += sum_mm;
    double cut_as = run->jacketed ? 1.0 : (double)cable->conductor_count;
    harness->mass_kg += kg_per_m / cut_as * units_m_from_mm(sum_mm);
}

void harness_lengths(HarnessSet *set) {
    const double NONE = (double)NAN;
    const LengthParts lost = {.path_mm = NONE,
                              .stub_mm = {NONE, NONE},
                              .loop_mm = {NONE, NONE},
                              .handling_mm = NONE,
                              .slack_mm = NONE,
                              .twist_mm = NONE,
                              .bend_mm = NONE,
                              .round_mm = NONE,
                              .cut_mm = NONE};
    for (uint32_t i = 0; i < set->run_count; i++) {
        const HarnessRun *run = &set->runs[i];
        bool placed = run->harness != ID_NONE;
        for (uint32_t k = 0; k < run->piece_count; k++) {
            HarnessPiece *piece = &set->pieces[set->run_pieces[run->piece_first + k]];
            piece->length = placed ? *run_parts(set, run) : lost;
        }
        if (placed) {
            count_run(set, run);
        }
    }
}
