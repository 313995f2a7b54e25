/* Method: see heading_system.c for one phase at one place. Here: every phase in turn, every sensor
 * in it, every load of it; of a load the worst phase is kept. */
#include "power/heading.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "model/report.h"
#include "power/heading_inner.h"

/* What one sensor is looked at with. */
typedef struct Watch {
    HeadingSight sight;
    double horizontal_ut;
    double limit_deg;
    bool compass;               /* judged in level flight */
    uint32_t swung_in;          /* row of `phase`; ID_NONE */
    bool *tried;                /* by load: in some phase */
    HeadingOwn *own;            /* by load */
    HeadingPotential *phase_ut; /* by row of `phase`: everything that is on */
    HeadingError *phases;       /* into Heading.errors */
    HeadingError *loads;
    HeadingError *driven;
} Watch;

typedef struct Runner {
    Arena scratch;
    HeadingScene scene;
    HeadingSystem system;
    HeadingPotential *potential[HEADING_SIDES];
    Watch *watches; /* by row of `sensor` */
    size_t sensors;
    Findings *findings;
} Runner;

/* --- degrees ------------------------------------------------------------------------------------
 */

double heading_turning_ut(bool compass, FieldVector field_ut) {
    return compass ? hypot(field_ut.x, field_ut.y) : field_size_ut(field_ut);
}

double heading_level_deg(FieldVector field_ut, double horizontal_ut) {
    return field_deviation_deg(hypot(field_ut.x, field_ut.y), horizontal_ut);
}

double heading_worst_deg(double whole_ut, double horizontal_ut) {
    return whole_ut < horizontal_ut ? units_deg_from_rad(asin(whole_ut / horizontal_ut)) : 180.0;
}

/* Fills field and degrees from the field of the wires and that of the straight way through the
 * structure; the worse of with and without counts. */
static void weigh(const Watch *watch, FieldVector wires_ut, FieldVector metal_ut,
                  HeadingError *error) {
    FieldVector straight_ut = heading_add(wires_ut, metal_ut, 1.0);
    error->straight = heading_turning_ut(watch->compass, straight_ut) >
                      heading_turning_ut(watch->compass, wires_ut);
    error->field_ut = error->straight ? straight_ut : wires_ut;
    /* What is left of fields that cancel is rounding. */
    const double NOTHING_UT = 1e-9;
    if (field_size_ut(error->field_ut) < NOTHING_UT) {
        error->field_ut = (FieldVector){0};
        error->straight = false;
    }
    error->level_deg = heading_level_deg(error->field_ut, watch->horizontal_ut);
    error->worst_deg = heading_worst_deg(heading_turning_ut(watch->compass, error->field_ut),
                                         watch->horizontal_ut);
}

static void judge(const Watch *watch, const HeadingOwn *own, HeadingError *error) {
    error->limit_deg = watch->limit_deg;
    error->wire = ID_NONE;
    error->bundle_deg = error->alone_deg = error->away_mm = (double)NAN;
    if (own != NULL && own->any) {
        double slack_ut = own->slack_ut * error->amps_a;
        error->bundle_deg =
            heading_worst_deg(heading_turning_ut(watch->compass, error->field_ut) + slack_ut,
                              watch->horizontal_ut) -
            error->worst_deg;
        error->wire = own->wire;
    }
    if (own != NULL && own->fed) {
        error->alone_deg = heading_level_deg(
            heading_add((FieldVector){0}, own->alone_ut, error->amps_a), watch->horizontal_ut);
    }
    double most_deg = error->worst_deg + (isnan(error->bundle_deg) ? 0.0 : error->bundle_deg);
    error->verdict = error->worst_deg > error->limit_deg ? HEADING_OVER
                     : most_deg > error->limit_deg       ? HEADING_NOT_PROVED
                                                         : HEADING_WITHIN;
}

/* --- one phase ----------------------------------------------------------------------------------
 */

/* Field of all currents as solved. */
static HeadingPotential sum_phase(const HeadingScene *scene, const HeadingSight *sight,
                                  const SolveResult *result) {
    const double *const currents_a[NETWORK_KIND_COUNT] = {
        [NETWORK_RESISTOR] = result->resistor_a, [NETWORK_CONTACT] = result->contact_a,
        [NETWORK_COIL] = result->coil_a,         [NETWORK_DIODE] = result->diode_a,
        [NETWORK_BATTERY] = result->battery_a,   [NETWORK_ALTERNATOR] = result->alternator_a,
        [NETWORK_LOAD] = result->load_a,
    };
    HeadingPotential sum = {0};
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        /* Sources: what they deliver leaves by plus; elements count from plus to minus. */
        double sign = kind == NETWORK_BATTERY || kind == NETWORK_ALTERNATOR ? -1.0 : 1.0;
        for (uint32_t i = scene->first[kind]; i < scene->first[kind + 1]; i++) {
            sum.wires_ut = heading_add(sum.wires_ut, sight->element_ut[i],
                                       sign * currents_a[kind][i - scene->first[kind]]);
        }
    }
    for (size_t i = 0; i < scene->piece_count; i++) {
        const HeadingPiece *piece = &scene->pieces[i];
        if (piece->metal) {
            NetworkKind kind = heading_kind(scene, piece->element);
            double sign = kind == NETWORK_BATTERY || kind == NETWORK_ALTERNATOR ? -1.0 : 1.0;
            double current_a = currents_a[kind][piece->element - scene->first[kind]];
            sum.metal_ut = heading_add(sum.metal_ut, sight->piece_ut[i], sign * current_a);
        }
    }
    return sum;
}

/* One ampere through a load. */
static HeadingPotential load_field(const Runner *runner, const Watch *watch, uint32_t load) {
    const HeadingScene *scene = &runner->scene;
    HeadingShares shares = heading_shares(scene, load);
    HeadingPotential sum = {0};
    for (uint32_t i = shares.first; i < shares.first + shares.count; i++) {
        const HeadingPotential *plus = &runner->potential[HEADING_HOT][scene->a[i]];
        const HeadingPotential *minus = &runner->potential[HEADING_GROUND][scene->b[i]];
        double share = 1.0 / shares.count;
        sum.wires_ut = heading_add(sum.wires_ut, minus->wires_ut, share);
        sum.wires_ut = heading_add(sum.wires_ut, plus->wires_ut, -share);
        sum.wires_ut = heading_add(sum.wires_ut, watch->sight.element_ut[i], share);
        sum.metal_ut = heading_add(sum.metal_ut, minus->metal_ut, share);
        sum.metal_ut = heading_add(sum.metal_ut, plus->metal_ut, -share);
    }
    return sum;
}

static void try_load(const Runner *runner, Watch *watch, uint32_t load, uint32_t phase) {
    const HeadingScene *scene = &runner->scene;
    HeadingPotential field = load_field(runner, watch, load);
    HeadingError error = {
        .sensor = watch->loads[load].sensor,
        .kind = HEADING_LOAD,
        .index = load,
        .phase = phase,
        .amps_a = heading_try_a(scene, load, runner->system.result),
    };
    const FieldVector none = {0};
    weigh(watch, heading_add(none, field.wires_ut, error.amps_a),
          heading_add(none, field.metal_ut, error.amps_a), &error);
    /* The worst phase; of phases that only rounding tells apart the first. */
    const HeadingError *before = &watch->loads[load];
    if (before->phase == ID_NONE ||
        heading_turning_ut(watch->compass, error.field_ut) >
            heading_turning_ut(watch->compass, before->field_ut) * (1.0 + 1e-6) + 1e-12) {
        watch->loads[load] = error;
    }
}

static void try_phase(Runner *runner, uint32_t phase) {
    const HeadingScene *scene = &runner->scene;
    heading_system_set(&runner->system, phase);
    for (size_t s = 0; s < runner->sensors; s++) {
        Watch *watch = &runner->watches[s];
        heading_potentials(&runner->system, &watch->sight, runner->potential);
        watch->phase_ut[phase] = sum_phase(scene, &watch->sight, runner->system.result);
        for (uint32_t load = 0; load < scene->input->supply->load_count; load++) {
            if (heading_can_try(&runner->system, load)) {
                watch->tried[load] = true;
                try_load(runner, watch, load, phase);
            }
        }
    }
}

/* --- sensors ------------------------------------------------------------------------------------
 */

double heading_pair_m(const Model *model, const SensorRow *row) {
    const double LEAST_MM = 0.01;
    double pair_mm = isnan(row->pair_mm) ? model_limit(model, HEADING_LIMIT_PAIR) : row->pair_mm;
    return fmax(pair_mm, LEAST_MM) / 1000.0;
}

FieldVector heading_place_m(const SensorRow *row) {
    return (FieldVector){row->x_mm / 1000.0, row->y_mm / 1000.0, row->z_mm / 1000.0};
}

static double usual(const Model *model, double given, const char *limit) {
    return isnan(given) ? model_limit(model, limit) : given;
}

static void start_watch(Runner *runner, uint32_t sensor, HeadingError *errors) {
    const HeadingInput *input = runner->scene.input;
    const SensorRow *row = &input->model->set->sensor.rows[sensor];
    Watch *watch = &runner->watches[sensor];
    bool compass = strcmp(row->kind, "compass") == 0;
    *watch = (Watch){
        .horizontal_ut = row->horizontal_ut,
        .limit_deg = usual(input->model, row->limit_deg,
                           compass ? HEADING_LIMIT_COMPASS : HEADING_LIMIT_MAGNETOMETER),
        .compass = compass,
        .swung_in = *row->swung_in == '\0'
                        ? ID_NONE
                        : name_map_find(&input->model->phase_by_name, row->swung_in),
        .tried = ARENA_ARRAY(&runner->scratch, bool, input->supply->load_count),
        .own = ARENA_ARRAY(&runner->scratch, HeadingOwn, input->supply->load_count),
        .phase_ut = ARENA_ARRAY(&runner->scratch, HeadingPotential, input->model->set->phase.count),
        .phases = errors,
    };
    watch->loads = watch->phases + input->model->set->phase.count;
    watch->driven = watch->loads + input->supply->load_count;
    heading_sight_new(&runner->scratch, &runner->scene, &watch->sight);
    heading_sight_set(&runner->scene, heading_place_m(row), heading_pair_m(input->model, row),
                      &watch->sight);
    for (uint32_t load = 0; load < input->supply->load_count; load++) {
        watch->own[load] = heading_own(&runner->scene, &watch->sight, load);
        watch->loads[load] =
            (HeadingError){.sensor = sensor, .kind = HEADING_LOAD, .index = load, .phase = ID_NONE};
    }
}

static void try_driven(const HeadingScene *scene, Watch *watch, uint32_t sensor) {
    for (size_t i = 0; i < scene->driven_count; i++) {
        const HeadingDriven *driven = &scene->driven[i];
        FieldVector pair_ut;
        HeadingOwn own = heading_own_driven(scene, &watch->sight, driven, &pair_ut);
        HeadingError *error = &watch->driven[i];
        *error = (HeadingError){
            .sensor = sensor,
            .kind = HEADING_DRIVEN,
            .index = driven->port,
            .phase = ID_NONE,
            .amps_a = driven->amps_a,
        };
        weigh(watch, heading_add((FieldVector){0}, pair_ut, driven->amps_a), (FieldVector){0},
              error);
        judge(watch, &own, error);
        error->away_mm = own.any ? heading_away_mm(scene, &watch->sight, own.wire) : (double)NAN;
    }
}

/* Judges all errors of a sensor and closes the gaps of loads that no phase could try; returns how
 * many errors there are. */
static uint32_t finish_watch(Runner *runner, uint32_t sensor) {
    const HeadingScene *scene = &runner->scene;
    const HeadingInput *input = scene->input;
    Watch *watch = &runner->watches[sensor];
    HeadingError *next = watch->phases;
    HeadingPotential swung = {0};
    if (watch->swung_in != ID_NONE && input->phases->solved[watch->swung_in]) {
        swung = watch->phase_ut[watch->swung_in];
    }
    for (size_t i = 0; i < input->model->set->phase.count; i++) {
        uint32_t phase = input->phases->order[i];
        if (input->phases->solved[phase]) {
            HeadingError error = {
                .sensor = sensor, .kind = HEADING_PHASE, .phase = phase, .amps_a = (double)NAN};
            const HeadingPotential *field = &watch->phase_ut[phase];
            weigh(watch, heading_add(field->wires_ut, swung.wires_ut, -1.0),
                  heading_add(field->metal_ut, swung.metal_ut, -1.0), &error);
            judge(watch, NULL, &error);
            const char *engine = input->model->set->phase.rows[phase].engine;
            if (strcmp(engine, "off") == 0 || strcmp(engine, "cranking") == 0) {
                error.verdict = HEADING_NOT_JUDGED;
            }
            *next++ = error;
        }
    }
    for (uint32_t load = 0; load < input->supply->load_count; load++) {
        HeadingError error = watch->loads[load];
        if (error.phase != ID_NONE) {
            judge(watch, &watch->own[load], &error);
            if (error.wire != ID_NONE) {
                error.away_mm = heading_away_mm(scene, &watch->sight, error.wire);
            }
            *next++ = error;
        }
    }
    for (size_t i = 0; i < scene->driven_count; i++) {
        *next++ = watch->driven[i];
    }
    return (uint32_t)(next - watch->phases);
}

/* --- findings -----------------------------------------------------------------------------------
 */

/* "A, 12 mm from the sensor" for the strongest wire of a circuit. */
static const char *wire_words(const Runner *runner, const HeadingError *error) {
    const HeadingInput *input = runner->scene.input;
    if (error->wire == ID_NONE) {
        return "";
    }
    return arena_format(runner->findings->arena, "; its wire %s passes %.0f mm from it",
                        input->wiring->conductors[error->wire].key, error->away_mm);
}

static void report_error(const Runner *runner, const HeadingError *error) {
    const HeadingInput *input = runner->scene.input;
    Findings *findings = runner->findings;
    const SensorRow *sensor = &input->model->set->sensor.rows[error->sensor];
    const char *circuit = heading_circuit(input, error);
    bool over = error->verdict == HEADING_OVER;
    Finding *finding;
    if (error->kind == HEADING_PHASE) {
        const char *phase = input->model->set->phase.rows[error->phase].phase;
        finding = report_row(
            findings, input->model, RULE_FIELD_HEADING, TABLE_sensor, error->sensor, "limit_deg",
            "%s errs by up to %.2f deg in %s against %s", sensor->sensor, error->worst_deg, phase,
            *sensor->swung_in == '\0' ? "everything off" : sensor->swung_in);
        finding->rows = phase;
        finding->hint = "say in `swung_in` which phase it is compensated in, move the sensor, or "
                        "lay feeds and returns side by side past it";
        report_values(finding, error->worst_deg, error->limit_deg, "deg", NULL);
        return;
    }
    double value_deg = error->worst_deg + (over ? 0.0 : error->bundle_deg);
    finding = report_row(
        findings, input->model, over ? RULE_FIELD_HEADING : RULE_FIELD_BUNDLE, TABLE_sensor,
        error->sensor, "limit_deg",
        over ? "%s errs by up to %.2f deg when %s draws %.3g A%s%s"
             : "%s may err by up to %.2f deg when %s draws %.3g A, by where the wires lie in their "
               "bundles%s%s",
        sensor->sensor, value_deg, circuit, error->amps_a, wire_words(runner, error),
        error->straight ? " (return straight through the structure)" : "");
    finding->key = arena_format(findings->arena, "%s %s", sensor->sensor, circuit);
    finding->hint =
        over
            ? "bring its return back beside its feed, at best as a twisted pair, or move the sensor"
            : "twist its feed with its return where they pass the sensor";
    report_values(finding, value_deg, error->limit_deg, "deg", NULL);
}

/* One finding a sensor for its phases: the worst of them. */
static void report_sensor(const Runner *runner, const HeadingError *errors, uint32_t count) {
    const HeadingError *worst = NULL;
    for (uint32_t i = 0; i < count; i++) {
        if (errors[i].verdict == HEADING_WITHIN || errors[i].verdict == HEADING_NOT_JUDGED) {
            continue;
        }
        if (errors[i].kind != HEADING_PHASE) {
            report_error(runner, &errors[i]);
        } else if (worst == NULL || errors[i].worst_deg > worst->worst_deg) {
            worst = &errors[i];
        }
    }
    if (worst != NULL) {
        report_error(runner, worst);
    }
}

static void check_place(const Runner *runner, uint32_t sensor) {
    const Model *model = runner->scene.input->model;
    const SensorRow *row = &model->set->sensor.rows[sensor];
    OwnerId owner = *row->unit == '\0' ? ID_NONE : model_owner(model, row->unit);
    if (owner == ID_NONE || model->owners[owner].node == ID_NONE) {
        return;
    }
    const ModelOwner *unit = &model->owners[owner];
    FieldVector gap_m =
        heading_add(runner->watches[sensor].sight.at_m, runner->scene.node_m[unit->node], -1.0);
    double away_mm = 1000.0 * field_size_ut(gap_m);
    const double ROUNDING_MM = 1e-6;
    if (away_mm > unit->stub_mm + ROUNDING_MM) {
        Finding *finding = report_row(
            runner->findings, model, RULE_FIELD_PLACE, TABLE_sensor, sensor, "unit",
            "%s is %.0f mm from node %s, and the wires of %s reach %.0f mm from it", row->sensor,
            away_mm, model->set->node.rows[unit->node].node, row->unit, unit->stub_mm);
        finding->hint = "mend the place, or the unit's node or stub";
        report_values(finding, away_mm, unit->stub_mm, "mm", NULL);
    }
}

/* Circuits whose bus is live in no solved phase: nothing is known of their field. */
static void report_untried(const Runner *runner, uint32_t sensor) {
    enum { NAMED_MAX = 6 };
    const HeadingInput *input = runner->scene.input;
    const Watch *watch = &runner->watches[sensor];
    const char *name = input->model->set->sensor.rows[sensor].sensor;
    Buffer names = {.arena = runner->findings->arena};
    uint32_t count = 0;
    for (uint32_t load = 0; load < input->supply->load_count; load++) {
        if (watch->tried[load] || heading_shares(&runner->scene, load).count == 0) {
            continue;
        }
        if (count++ < NAMED_MAX) {
            TerminalId port = input->supply->loads[load].port;
            buffer_format(&names, "%s%s", names.length == 0 ? "" : " ",
                          input->model->terminals[port].end);
        }
    }
    if (count > 0) {
        Finding *finding = report_row(
            runner->findings, input->model, RULE_FIELD_UNTRIED, TABLE_sensor, sensor, "",
            "what %u circuit%s would do to %s is not proved: no phase has its bus live (%s%s)",
            count, count == 1 ? "" : "s", name, names.bytes, count > NAMED_MAX ? " ..." : "");
        finding->hint = "write a phase in which they can be on";
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

bool heading_run(Arena *out, const HeadingInput *input, Heading *heading, Findings *findings) {
    const TableSet *set = input->model->set;
    size_t sensors = set->sensor.count;
    *heading = (Heading){.sensor_first = ARENA_ARRAY(out, uint32_t, sensors + 1)};
    if (sensors == 0) {
        return true;
    }
    Runner runner = {.sensors = sensors, .findings = findings};
    Arena *scratch = &runner.scratch;
    heading_scene_build(scratch, input, &runner.scene);
    heading_system_new(scratch, &runner.scene, &runner.system);
    for (int side = 0; side < HEADING_SIDES; side++) {
        runner.potential[side] =
            ARENA_ARRAY(scratch, HeadingPotential, input->built->network.node_count);
    }
    size_t each = set->phase.count + input->supply->load_count + runner.scene.driven_count;
    HeadingError *errors = ARENA_ARRAY(out, HeadingError, sensors * each);
    runner.watches = ARENA_ARRAY(scratch, Watch, sensors);
    for (uint32_t i = 0; i < sensors; i++) {
        start_watch(&runner, i, errors + i * each);
        try_driven(&runner.scene, &runner.watches[i], i);
        check_place(&runner, i);
    }
    for (size_t i = 0; i < set->phase.count; i++) {
        if (input->phases->solved[input->phases->order[i]]) {
            try_phase(&runner, input->phases->order[i]);
        }
    }
    factor_release(runner.system.factor);
    heading->errors = errors;
    for (uint32_t i = 0; i < sensors; i++) {
        uint32_t count = finish_watch(&runner, i);
        HeadingError *packed = errors + heading->sensor_first[i];
        memmove(packed, errors + i * each, count * sizeof *packed);
        heading->sensor_first[i + 1] = heading->sensor_first[i] + count;
        report_sensor(&runner, packed, count);
        report_untried(&runner, i);
    }
    arena_free(scratch);
    return true;
}
