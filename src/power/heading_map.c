/* Method: the currents of a circuit do not depend on where one looks from. Each circuit is traced
 * once and kept as what it sends through segments; then every place of the grid is one sum over
 * segments and one short sum for each circuit. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "power/heading_inner.h"

/* What a circuit sends through one way: a segment, or a straight piece of metal. */
typedef struct MapTerm {
    uint32_t way;   /* SegmentId, or segment count + piece */
    double amps_a;  /* along it */
    double aside_a; /* amperes x share of a pair's spacing to the side of it */
} MapTerm;

typedef struct MapCircuit {
    uint32_t error; /* into Heading.errors */
    uint32_t term_first;
    uint32_t metal_first; /* terms of the structure, taken straight */
    uint32_t term_end;
} MapCircuit;

typedef struct Mapper {
    Arena scratch;
    HeadingScene scene;
    HeadingSight sight;
    HeadingSystem system;
    uint32_t segments;
    MapTerm *terms;
    size_t term_count;
    size_t term_capacity;
    MapCircuit *circuits;
    uint32_t circuit_count;
    double *way_a; /* by way: sums of one circuit */
    double *way_aside_a;
    double *element_a;
    uint32_t *touched; /* ways with a sum */
    uint32_t touched_count;
    bool *is_touched;
} Mapper;

/* --- circuits -----------------------------------------------------------------------------------
 */

static void touch(Mapper *mapper, uint32_t way, double amps_a, double aside_a) {
    mapper->way_a[way] += amps_a;
    mapper->way_aside_a[way] += aside_a;
    if (!mapper->is_touched[way]) {
        mapper->is_touched[way] = true;
        mapper->touched[mapper->touched_count++] = way;
    }
}

static void touch_core(Mapper *mapper, ConductorId conductor, double amps_a) {
    const HeadingInput *input = mapper->scene.input;
    const Conductor *row = &input->wiring->conductors[conductor];
    double middle = (double)(input->wiring->cables[row->cable].conductor_count - 1) / 2.0;
    double aside = (double)row->core - middle;
    for (uint32_t i = input->routing->cable_first[row->cable];
         i < input->routing->cable_first[row->cable + 1]; i++) {
        double sign = input->routing->hops[i].backward ? -1.0 : 1.0;
        touch(mapper, input->routing->hops[i].segment, sign * amps_a, sign * amps_a * aside);
    }
}

static void touch_load(Mapper *mapper, const HeadingError *error) {
    const HeadingScene *scene = &mapper->scene;
    const HeadingInput *input = scene->input;
    heading_trace(&mapper->system, error->index, mapper->element_a);
    for (ConductorId i = 0; i < input->wiring->conductor_count; i++) {
        uint32_t resistor = input->built->conductor_resistor[i];
        double amps_a = resistor == NETWORK_NONE
                            ? 0.0
                            : mapper->element_a[heading_element(scene, NETWORK_RESISTOR, resistor)];
        if (amps_a != 0.0) {
            touch_core(mapper, i, amps_a * error->amps_a);
        }
    }
    for (uint32_t i = 0; i < scene->piece_count; i++) {
        double amps_a = mapper->element_a[scene->pieces[i].element];
        if (amps_a != 0.0) {
            touch(mapper, mapper->segments + i, amps_a * error->amps_a, 0.0);
        }
    }
}

static void touch_driven(Mapper *mapper, const HeadingError *error) {
    const HeadingScene *scene = &mapper->scene;
    const Wiring *wiring = scene->input->wiring;
    for (size_t i = 0; i < scene->driven_count; i++) {
        const Net *net = &wiring->nets[scene->driven[i].net];
        for (uint32_t c = 0; scene->driven[i].port == error->index && c < net->cable_count; c++) {
            const Cable *cable = &wiring->cables[net->cable_first + c];
            for (uint32_t core = 0; core < cable->conductor_count && core < 2; core++) {
                touch_core(mapper, cable->conductor_first + core,
                           core == 0 ? error->amps_a : -error->amps_a);
            }
        }
    }
}

static int compare_ways(const void *left, const void *right) {
    uint32_t a = *(const uint32_t *)left;
    uint32_t b = *(const uint32_t *)right;
    return a < b ? -1 : a > b;
}

/* Moves the sums of one circuit into its terms, the structure last, and clears them. */
static void keep_terms(Mapper *mapper, double amps_a, MapCircuit *circuit) {
    const double WORTH = 1e-9; /* of the circuit's current: rounding of the solution */
    qsort(mapper->touched, mapper->touched_count, sizeof *mapper->touched, compare_ways);
    circuit->term_first = (uint32_t)mapper->term_count;
    for (int metal = 0; metal < 2; metal++) {
        circuit->metal_first = (uint32_t)mapper->term_count;
        for (uint32_t i = 0; i < mapper->touched_count; i++) {
            uint32_t way = mapper->touched[i];
            bool is_metal =
                way >= mapper->segments && mapper->scene.pieces[way - mapper->segments].metal;
            double size_a = fabs(mapper->way_a[way]) + fabs(mapper->way_aside_a[way]);
            if (is_metal == (metal == 1) && size_a > WORTH * amps_a) {
                *ARENA_PUSH(&mapper->scratch, mapper->terms, mapper->term_count,
                            mapper->term_capacity) =
                    (MapTerm){way, mapper->way_a[way], mapper->way_aside_a[way]};
            }
        }
    }
    circuit->term_end = (uint32_t)mapper->term_count;
    for (uint32_t i = 0; i < mapper->touched_count; i++) {
        uint32_t way = mapper->touched[i];
        mapper->way_a[way] = mapper->way_aside_a[way] = 0.0;
        mapper->is_touched[way] = false;
    }
    mapper->touched_count = 0;
}

/* --- which circuits -----------------------------------------------------------------------------
 */

typedef struct Wish {
    const HeadingError *error;
    uint32_t index;
} Wish;

static int compare_amps(const void *left, const void *right) {
    const Wish *a = left;
    const Wish *b = right;
    if (a->error->amps_a != b->error->amps_a) {
        return a->error->amps_a > b->error->amps_a ? -1 : 1;
    }
    return a->index < b->index ? -1 : a->index > b->index;
}

/* By phase, so that each is set once. */
static int compare_phases(const void *left, const void *right) {
    const Wish *a = left;
    const Wish *b = right;
    if (a->error->phase != b->error->phase) {
        return a->error->phase < b->error->phase ? -1 : 1;
    }
    return a->index < b->index ? -1 : a->index > b->index;
}

static void trace_circuits(Mapper *mapper, const Heading *heading, uint32_t sensor,
                           HeadingMap *map) {
    uint32_t first = heading->sensor_first[sensor];
    uint32_t end = heading->sensor_first[sensor + 1];
    Wish *wishes = ARENA_ARRAY(&mapper->scratch, Wish, end - first);
    uint32_t count = 0;
    for (uint32_t i = first; i < end; i++) {
        if (heading->errors[i].kind != HEADING_PHASE && heading->errors[i].amps_a > 0.0) {
            wishes[count++] = (Wish){&heading->errors[i], i};
        }
    }
    qsort(wishes, count, sizeof *wishes, compare_amps);
    map->circuit_count = count < HEADING_MAP_CIRCUITS ? count : HEADING_MAP_CIRCUITS;
    map->circuits_left = count - map->circuit_count;
    qsort(wishes, map->circuit_count, sizeof *wishes, compare_phases);
    mapper->circuits = ARENA_ARRAY(&mapper->scratch, MapCircuit, map->circuit_count);
    uint32_t phase = ID_NONE;
    for (uint32_t i = 0; i < map->circuit_count; i++) {
        const HeadingError *error = wishes[i].error;
        if (error->kind == HEADING_DRIVEN) {
            touch_driven(mapper, error);
        } else {
            if (error->phase != phase) {
                phase = error->phase;
                heading_system_set(&mapper->system, phase);
            }
            touch_load(mapper, error);
        }
        mapper->circuits[i].error = wishes[i].index;
        keep_terms(mapper, error->amps_a, &mapper->circuits[i]);
    }
}

/* --- places -------------------------------------------------------------------------------------
 */

static FieldVector sum_terms(const Mapper *mapper, uint32_t first, uint32_t end) {
    FieldVector sum = {0};
    for (uint32_t i = first; i < end; i++) {
        const MapTerm *term = &mapper->terms[i];
        if (term->way < mapper->segments) {
            sum = heading_add(sum, mapper->sight.segment_ut[term->way], term->amps_a);
            sum = heading_add(sum, mapper->sight.across[term->way],
                              term->aside_a * mapper->sight.pair_m);
        } else {
            sum = heading_add(sum, mapper->sight.piece_ut[term->way - mapper->segments],
                              term->amps_a);
        }
    }
    return sum;
}

static void try_place(Mapper *mapper, const SensorRow *row, FieldVector at_m, double pair_m,
                      double *worst_deg, uint32_t *error) {
    bool compass = strcmp(row->kind, "compass") == 0;
    double largest_ut = 0.0;
    *error = ID_NONE;
    heading_sight_ways(&mapper->scene, at_m, pair_m, &mapper->sight);
    for (uint32_t i = 0; i < mapper->circuit_count; i++) {
        const MapCircuit *circuit = &mapper->circuits[i];
        FieldVector wires = sum_terms(mapper, circuit->term_first, circuit->metal_first);
        FieldVector metal = sum_terms(mapper, circuit->metal_first, circuit->term_end);
        double ut = fmax(heading_turning_ut(compass, wires),
                         heading_turning_ut(compass, heading_add(wires, metal, 1.0)));
        if (ut > largest_ut) {
            largest_ut = ut;
            *error = circuit->error;
        }
    }
    *worst_deg = heading_worst_deg(largest_ut, row->horizontal_ut);
}

/* The sensor's own place is one of the places. */
static void lay_grid(const SensorRow *row, const HeadingArea *area, HeadingMap *map) {
    map->step_mm = area->step_mm;
    map->own_column = (uint32_t)fmax(0.0, floor((row->x_mm - area->x_from_mm) / area->step_mm));
    map->own_row = (uint32_t)fmax(0.0, floor((row->y_mm - area->y_from_mm) / area->step_mm));
    map->x_mm = row->x_mm - map->own_column * area->step_mm;
    map->y_mm = row->y_mm - map->own_row * area->step_mm;
    map->columns = 1 + (uint32_t)fmax(0.0, floor((area->x_to_mm - map->x_mm) / area->step_mm));
    map->rows = 1 + (uint32_t)fmax(0.0, floor((area->y_to_mm - map->y_mm) / area->step_mm));
}

void heading_area(const HeadingInput *input, uint32_t sensor, double margin_mm, HeadingArea *area) {
    const TableSet *set = input->model->set;
    const SensorRow *row = &set->sensor.rows[sensor];
    *area = (HeadingArea){row->x_mm, row->x_mm, row->y_mm, row->y_mm, 0.0};
    for (size_t i = 0; i < set->node.count; i++) {
        area->x_from_mm = fmin(area->x_from_mm, set->node.rows[i].x_mm);
        area->x_to_mm = fmax(area->x_to_mm, set->node.rows[i].x_mm);
        area->y_from_mm = fmin(area->y_from_mm, set->node.rows[i].y_mm);
        area->y_to_mm = fmax(area->y_to_mm, set->node.rows[i].y_mm);
    }
    area->x_from_mm -= margin_mm;
    area->x_to_mm += margin_mm;
    area->y_from_mm -= margin_mm;
    area->y_to_mm += margin_mm;
}

void heading_map(Arena *out, const HeadingInput *input, const Heading *heading, uint32_t sensor,
                 const HeadingArea *area, HeadingMap *map) {
    const SensorRow *row = &input->model->set->sensor.rows[sensor];
    *map = (HeadingMap){.sensor = sensor};
    Mapper mapper = {0};
    Arena *scratch = &mapper.scratch;
    heading_scene_build(scratch, input, &mapper.scene);
    heading_sight_new(scratch, &mapper.scene, &mapper.sight);
    heading_system_new(scratch, &mapper.scene, &mapper.system);
    mapper.segments = (uint32_t)input->model->set->segment.count;
    size_t ways = mapper.segments + mapper.scene.piece_count;
    mapper.way_a = ARENA_ARRAY(scratch, double, ways);
    mapper.way_aside_a = ARENA_ARRAY(scratch, double, ways);
    mapper.touched = ARENA_ARRAY(scratch, uint32_t, ways);
    mapper.is_touched = ARENA_ARRAY(scratch, bool, ways);
    mapper.element_a = ARENA_ARRAY(scratch, double, mapper.scene.first[NETWORK_KIND_COUNT]);
    trace_circuits(&mapper, heading, sensor, map);
    mapper.circuit_count = map->circuit_count;
    factor_release(mapper.system.factor);
    lay_grid(row, area, map);
    size_t places = (size_t)map->columns * map->rows;
    map->worst_deg = ARENA_ARRAY(out, double, places);
    map->error = ARENA_ARRAY(out, uint32_t, places);
    double pair_m = heading_pair_m(input->model, row);
    for (size_t i = 0; i < places; i++) {
        size_t column = i % map->columns;
        size_t line = i / map->columns;
        FieldVector at_m = {
            (map->x_mm + (double)column * map->step_mm) / 1000.0,
            (map->y_mm + (double)line * map->step_mm) / 1000.0,
            row->z_mm / 1000.0,
        };
        try_place(&mapper, row, at_m, pair_m, &map->worst_deg[i], &map->error[i]);
    }
    arena_free(scratch);
}
