/* Result rows of heading, and the lines that say where an error comes from. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "power/heading_inner.h"

#define ALL "all" /* circuit of what is summed over a phase */
#define ANY "any" /* phase of what hangs on none */

const char *heading_circuit(const HeadingInput *input, const HeadingError *error) {
    switch (error->kind) {
    case HEADING_LOAD:
        return input->model->terminals[input->supply->loads[error->index].port].end;
    case HEADING_DRIVEN:
        return input->model->terminals[error->index].end;
    case HEADING_PHASE:
    case HEADING_KIND_COUNT:
    default:
        return ALL;
    }
}

const char *heading_verdict_name(HeadingVerdict verdict) {
    static const char *const NAMES[] = {
        [HEADING_WITHIN] = "within",
        [HEADING_NOT_JUDGED] = "not judged",
        [HEADING_NOT_PROVED] = "not proved",
        [HEADING_OVER] = "over",
    };
    return NAMES[verdict];
}

static const char *phase_name(const HeadingInput *input, const HeadingError *error) {
    return error->phase == ID_NONE ? ANY : input->model->set->phase.rows[error->phase].phase;
}

/* --- rows ---------------------------------------------------------------------------------------
 */

/* Sensors in order; the largest error first, for that is what is looked for; phases above circuits.
 */
typedef struct Sorted {
    const HeadingError *error;
    uint32_t place; /* order of coming, for ties */
} Sorted;

static int compare_errors(const void *left, const void *right) {
    const Sorted *a = left;
    const Sorted *b = right;
    bool a_phase = a->error->kind == HEADING_PHASE;
    bool b_phase = b->error->kind == HEADING_PHASE;
    if (a_phase != b_phase) {
        return a_phase ? -1 : 1;
    }
    double a_deg = a->error->worst_deg;
    double b_deg = b->error->worst_deg;
    if (!a_phase && a_deg != b_deg) {
        return a_deg > b_deg ? -1 : 1;
    }
    return a->place < b->place ? -1 : 1;
}

static Sorted *sort_errors(Arena *arena, const Heading *heading, uint32_t sensor, uint32_t *count) {
    uint32_t first = heading->sensor_first[sensor];
    *count = heading->sensor_first[sensor + 1] - first;
    Sorted *sorted = ARENA_ARRAY(arena, Sorted, *count);
    for (uint32_t i = 0; i < *count; i++) {
        sorted[i] = (Sorted){&heading->errors[first + i], i};
    }
    qsort(sorted, *count, sizeof *sorted, compare_errors);
    return sorted;
}

void heading_rows(Arena *arena, const HeadingInput *input, const Heading *heading, TableSet *out) {
    Arena scratch = {0};
    for (uint32_t sensor = 0; sensor < input->model->set->sensor.count; sensor++) {
        uint32_t count = 0;
        const Sorted *sorted = sort_errors(&scratch, heading, sensor, &count);
        for (uint32_t i = 0; i < count; i++) {
            const HeadingError *error = sorted[i].error;
            HeadingRow *row = table_append(out, arena, TABLE_heading);
            row->sensor = input->model->set->sensor.rows[sensor].sensor;
            row->circuit = heading_circuit(input, error);
            row->phase = phase_name(input, error);
            row->amps_a = error->amps_a;
            row->level_deg = error->level_deg;
            row->worst_deg = error->worst_deg;
            row->bundle_deg = error->bundle_deg;
            row->alone_deg = error->alone_deg;
            row->limit_deg = error->limit_deg;
            row->verdict = heading_verdict_name(error->verdict);
            row->back = error->straight ? "structure" : "";
            row->wire = error->wire == ID_NONE ? "" : input->wiring->conductors[error->wire].key;
            row->away_mm = error->away_mm;
        }
    }
    arena_free(&scratch);
}

/* --- why ----------------------------------------------------------------------------------------
 */

/* A part of the field of one circuit. */
typedef struct Share {
    const char *name;
    const char *from;
    const char *to;
    double amps_a;
    FieldVector field_ut;
    double along_ut; /* its part along the whole field */
} Share;

static int compare_shares(const void *left, const void *right) {
    const Share *a = left;
    const Share *b = right;
    double a_ut = fabs(a->along_ut);
    double b_ut = fabs(b->along_ut);
    if (a_ut != b_ut) {
        return a_ut > b_ut ? -1 : 1;
    }
    return strcmp(a->name, b->name);
}

typedef struct Explainer {
    Arena *arena;
    const HeadingInput *input;
    HeadingScene scene;
    HeadingSight sight;
    Share *shares;
    size_t count;
    size_t capacity;
} Explainer;

static void add_share(Explainer *explainer, const char *name, const char *from, const char *to,
                      double amps_a, FieldVector field_ut) {
    if (amps_a != 0.0 && field_size_ut(field_ut) > 0.0) {
        const FieldVector none = {0};
        *ARENA_PUSH(explainer->arena, explainer->shares, explainer->count, explainer->capacity) =
            (Share){name, from, to, amps_a, heading_add(none, field_ut, amps_a), 0.0};
    }
}

static void add_wire(Explainer *explainer, ConductorId wire, double amps_a) {
    const HeadingInput *input = explainer->input;
    const Conductor *row = &input->wiring->conductors[wire];
    add_share(explainer, row->key, model_pin_text(input->model, explainer->arena, row->from),
              model_pin_text(input->model, explainer->arena, row->to), amps_a,
              heading_core_ut(&explainer->scene, &explainer->sight, wire));
}

/* Currents by element, as what they do here. */
static void add_elements(Explainer *explainer, const double *element_a, bool straight) {
    const HeadingInput *input = explainer->input;
    const HeadingScene *scene = &explainer->scene;
    for (ConductorId i = 0; i < input->wiring->conductor_count; i++) {
        uint32_t resistor = input->built->conductor_resistor[i];
        if (resistor != NETWORK_NONE) {
            add_wire(explainer, i, element_a[heading_element(scene, NETWORK_RESISTOR, resistor)]);
        }
    }
    for (size_t i = 0; i < scene->piece_count; i++) {
        const HeadingPiece *piece = &scene->pieces[i];
        if (!piece->metal || straight) {
            const NodeRow *nodes = input->model->set->node.rows;
            add_share(explainer, piece->metal ? "structure" : "metal", nodes[piece->from].node,
                      nodes[piece->to].node, element_a[piece->element],
                      explainer->sight.piece_ut[i]);
        }
    }
}

static void add_driven(Explainer *explainer, const HeadingError *error) {
    const HeadingScene *scene = &explainer->scene;
    const Wiring *wiring = explainer->input->wiring;
    for (size_t i = 0; i < scene->driven_count; i++) {
        const Net *net = &wiring->nets[scene->driven[i].net];
        for (uint32_t c = 0; scene->driven[i].port == error->index && c < net->cable_count; c++) {
            const Cable *cable = &wiring->cables[net->cable_first + c];
            for (uint32_t core = 0; core < cable->conductor_count && core < 2; core++) {
                add_wire(explainer, cable->conductor_first + core,
                         core == 0 ? error->amps_a : -error->amps_a);
            }
        }
    }
}

static void write_shares(Buffer *out, Explainer *explainer, const HeadingError *error) {
    enum { SHARES_MAX = 10 };
    double size_ut = field_size_ut(error->field_ut);
    for (size_t i = 0; i < explainer->count; i++) {
        Share *share = &explainer->shares[i];
        share->along_ut =
            (share->field_ut.x * error->field_ut.x + share->field_ut.y * error->field_ut.y +
             share->field_ut.z * error->field_ut.z) /
            size_ut;
    }
    if (explainer->count > 0) {
        qsort(explainer->shares, explainer->count, sizeof *explainer->shares, compare_shares);
    }
    double rest_ut = size_ut;
    for (size_t i = 0; i < explainer->count && i < SHARES_MAX; i++) {
        const Share *share = &explainer->shares[i];
        rest_ut -= share->along_ut;
        buffer_format(out, "      %-10s %-12s > %-12s %8.3f A  %+9.4f uT\n", share->name,
                      share->from, share->to, share->amps_a, share->along_ut);
    }
    if (explainer->count > SHARES_MAX) {
        buffer_format(out, "      and %zu others %32s %+9.4f uT\n", explainer->count - SHARES_MAX,
                      "", rest_ut);
    }
}

/* What adds up to one error. */
static void write_error(Buffer *out, Explainer *explainer, const HeadingError *error) {
    const HeadingScene *scene = &explainer->scene;
    explainer->count = 0;
    if (error->kind == HEADING_DRIVEN) {
        add_driven(explainer, error);
    } else {
        HeadingSystem system;
        heading_system_new(explainer->arena, scene, &system);
        heading_system_set(&system, error->phase);
        double *element_a = ARENA_ARRAY(explainer->arena, double, scene->first[NETWORK_KIND_COUNT]);
        heading_trace(&system, error->index, element_a);
        factor_release(system.factor);
        for (uint32_t i = 0; i < scene->first[NETWORK_KIND_COUNT]; i++) {
            element_a[i] *= error->amps_a;
        }
        add_elements(explainer, element_a, error->straight);
    }
    buffer_format(out, "    %s, %.3g A, %s: %.4f uT (%.4f aft, %.4f right, %.4f up)\n",
                  heading_circuit(explainer->input, error), error->amps_a,
                  phase_name(explainer->input, error), field_size_ut(error->field_ut),
                  error->field_ut.x, error->field_ut.y, error->field_ut.z);
    write_shares(out, explainer, error);
}

void heading_why(Buffer *out, const HeadingInput *input, const Heading *heading, const char *key) {
    enum { CIRCUITS_MAX = 8, EXPLAINED_MAX = 2 };
    uint32_t sensor = model_row(input->model, TABLE_sensor, key);
    if (sensor == ID_NONE || heading->errors == NULL) {
        return;
    }
    const SensorRow *row = &input->model->set->sensor.rows[sensor];
    Arena scratch = {0};
    Explainer explainer = {.arena = &scratch, .input = input};
    heading_scene_build(&scratch, input, &explainer.scene);
    heading_sight_new(&scratch, &explainer.scene, &explainer.sight);
    heading_sight_set(&explainer.scene, heading_place_m(row), heading_pair_m(input->model, row),
                      &explainer.sight);
    uint32_t count = 0;
    const Sorted *sorted = sort_errors(&scratch, heading, sensor, &count);
    buffer_format(out,
                  "%s: heading error, on minus off; horizontal field %.3g uT\n"
                  "    level: atan(B/H), field across north; worst: asin(B/H), any heading, %s\n",
                  key, row->horizontal_ut,
                  strcmp(row->kind, "compass") == 0 ? "level flight" : "any attitude");
    uint32_t told = 0;
    for (uint32_t i = 0; i < count && told < CIRCUITS_MAX; i++) {
        const HeadingError *error = sorted[i].error;
        told += error->kind != HEADING_PHASE;
        buffer_format(out, "    %-14s %-14s %7.2f deg level %7.2f deg worst  %s\n",
                      heading_circuit(input, error), phase_name(input, error), error->level_deg,
                      error->worst_deg, heading_verdict_name(error->verdict));
    }
    uint32_t explained = 0;
    for (uint32_t i = 0; i < count && explained < EXPLAINED_MAX; i++) {
        if (sorted[i].error->kind != HEADING_PHASE &&
            field_size_ut(sorted[i].error->field_ut) > 0.0) {
            write_error(out, &explainer, sorted[i].error);
            explained++;
        }
    }
    arena_free(&scratch);
}
