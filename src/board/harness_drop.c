/* Whether wires as they are cut still keep the drops that they were sized for. Sizing reckons with
 * the lengths that are cut, round by round; this tells when it had to stop before it had settled.
 */
#include <math.h>

#include "board/harness_inner.h"
#include "model/report.h"

/* By ConductorId: length as cut over length as sized; 1 where either is not known. */
static double *length_factors(Arena *scratch, const HarnessSet *set, const Sizing *sizing) {
    const Ends *ends = set->ends;
    uint32_t count = ends->wiring->conductor_count;
    double *factor = ARENA_ARRAY(scratch, double, count);
    for (uint32_t i = 0; i < ends->piece_count; i++) {
        if (ends->pieces[i].conductor != ID_NONE) {
            factor[ends->pieces[i].conductor] += set->pieces[i].length.cut_mm;
        }
    }
    for (ConductorId i = 0; i < count; i++) {
        double sized_mm = sizing->length_mm[ends->wiring->conductors[i].cable];
        bool known = isfinite(factor[i]) && factor[i] > 0.0 && sized_mm > 0.0;
        factor[i] = known ? factor[i] / sized_mm : 1.0;
    }
    return factor;
}

static void report(const Model *model, const Supply *supply, const Feeder *feeder, double cut_v,
                   double sized_v, Findings *findings) {
    const SupplyLoad *load = feeder->load == ID_NONE ? NULL : &supply->loads[feeder->load];
    const char *name =
        load == NULL ? model->set->feed.rows[feeder->feed].feed : model->terminals[load->port].end;
    const char *text = arena_format(findings->arena,
                                    "as they are cut the wires of %s would lose %.3f V; "
                                    "sized they lose %.3f V, %.3f V are allowed",
                                    name, cut_v, sized_v, feeder->limit_v);
    Finding *finding =
        load == NULL ? report_row(findings, model, RULE_HARNESS_DROP, TABLE_feed, feeder->feed, "",
                                  "%s", text)
                     : report_owner(findings, model, RULE_HARNESS_DROP, load->owner, "%s", text);
    report_values(finding, cut_v, feeder->limit_v, "V", NULL);
    finding->rows = name;
    finding->hint = "give the next thicker gauge, or measure the drop";
}

void harness_check_drops(const HarnessSet *set, const Supply *supply, const Sizing *sizing,
                         Findings *findings) {
    const double SAME_V = 1e-9; /* far below what a meter shows */
    Arena scratch = {0};
    const double *factor = length_factors(&scratch, set, sizing);
    for (uint32_t i = 0; i < sizing->feeder_count; i++) {
        const Feeder *feeder = &sizing->feeders[i];
        double sized_v = fmax(feeder->plain_drop_v, feeder->hot_drop_v);
        double cut_v = fmax(size_drop_of_lengths(sizing, i, factor, false),
                            size_drop_of_lengths(sizing, i, factor, true));
        if (sized_v > feeder->limit_v + SAME_V || !(cut_v > feeder->limit_v + SAME_V)) {
            continue;
        }
        report(set->ends->model, supply, feeder, cut_v, sized_v, findings);
    }
    arena_free(&scratch);
}
