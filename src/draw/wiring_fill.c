/* Method. A circuit belongs to the first system that takes its function letter and class. The
 * circuits of a system are put on sheets one after the other: next is the one that shares most
 * boxes with what is on the sheet already, tried with the real layout, until nothing fits any more;
 * so few references are cut and no sheet is fuller than it can be drawn. Small sheets of a system,
 * and the last ones of several systems, are then put together as long as they fit: laid out as one,
 * or, where their columns are too different for that, in bands one below the other. */
#include "draw/wiring_fill.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "draw/wiring_memory.h"

#define MISSES_MAX 10u   /* circuits that did not fit before a sheet is closed */
#define CIRCUIT_MOST 4u  /* cables of a circuit that are kept together at any price */
#define MERGE_REACH 8u   /* sheets looked at further on for something to put beside a small one */
#define SYSTEMS_MOST 4u  /* on one sheet */
#define BAND_GAP_MM 5.0  /* between bands, at least */
#define BAND_SQUEEZE 0.9 /* part of its height that a band may have to do with */
#define POWER_LETTER 'P' /* circuits between buses, and those with no box at all */

/* Cables that go on a sheet together. */
typedef struct Circuit {
    uint32_t first; /* into Filler.cables */
    uint32_t count;
    uint32_t system;
    bool done;
    uint32_t listed; /* stamp of the sheet it is a candidate of */
    uint32_t missed; /* stamp of the sheet it did not fit */
} Circuit;

typedef struct Filler {
    Arena *arena;
    const SheetPlan *plan;
    const WiringKept *kept;
    WiringLookup lookup;
    DrawBox field;
    CableId *cables; /* in order of system, circuit, id */
    Circuit *circuits;
    size_t circuit_count;
    uint32_t *owner_circuit_first; /* by OwnerId, and one more */
    uint32_t *owner_circuits;
    uint32_t *on_sheet; /* by OwnerId: stamp */
    uint32_t stamp;
    uint32_t *candidates;
    size_t candidate_count;
    CableId *taken; /* cables on the sheet being filled */
    size_t taken_count;
    uint32_t *owner_mark; /* by OwnerId, and by BusId: the band it was last seen in */
    uint32_t *bus_mark;
    uint32_t mark;
    WiringDraft *drafts;
    size_t draft_count;
    size_t draft_capacity;
} Filler;

static int compare_ids(const void *left, const void *right) {
    uint32_t a = *(const uint32_t *)left;
    uint32_t b = *(const uint32_t *)right;
    return a < b ? -1 : a > b;
}

/* From the top of the uppermost box or shell to the foot of the lowest. */
static double extent_mm(const LayoutProblem *layout) {
    double top_mm = INFINITY;
    double bottom_mm = -INFINITY;
    for (size_t i = 0; i < layout->node_count; i++) {
        top_mm = fmin(top_mm, layout->nodes[i].box.top_mm);
        bottom_mm = fmax(bottom_mm, layout->nodes[i].box.bottom_mm);
    }
    for (size_t i = 0; i < layout->stand_count; i++) {
        top_mm = fmin(top_mm, layout->stands[i].box.top_mm);
        bottom_mm = fmax(bottom_mm, layout->stands[i].box.bottom_mm);
    }
    return bottom_mm - top_mm;
}

/* Whether cables can be laid out in a part of the field, with every box standing once. height_mm:
 * what they take then, if not quick; may be NULL. */
static bool fits_in(Filler *filler, DrawBox field, const CableId *cables, size_t count, bool quick,
                    double *height_mm) {
    Arena scratch = {0};
    WiringScene scene;
    CableId *sorted = ARENA_ARRAY(&scratch, CableId, count);
    memcpy(sorted, cables, count * sizeof *sorted);
    qsort(sorted, count, sizeof *sorted, compare_ids);
    wiring_scene_build(&scratch, filler->plan, filler->kept, &filler->lookup, sorted, count, field,
                       &scene);
    scene.layout.quick = quick;
    bool good = wiring_memory_layout(filler->plan->memory, &scratch, &scene.layout) &&
                scene.layout.copies == 0;
    if (height_mm != NULL && !quick) {
        *height_mm = extent_mm(&scene.layout);
    }
    arena_free(&scratch);
    return good;
}

static bool fits(Filler *filler, const CableId *cables, size_t count, bool quick) {
    return fits_in(filler, filler->field, cables, count, quick, NULL);
}

/* --- systems ------------------------------------------------------------------------------------
 */

static bool has_unit(const Model *model, const Wiring *wiring, const Net *net) {
    for (uint32_t i = 0; i < net->end_count; i++) {
        TerminalId end = wiring->ends[net->end_first + i];
        if (model->owners[model->terminals[end].owner].kind == OWNER_UNIT) {
            return true;
        }
    }
    return false;
}

/* Place in the order of systems of a net; the last of all when none takes it. */
static uint32_t net_system(const DrawView *view, const WiringKept *kept, const uint32_t *order,
                           NetId id) {
    const Net *net = &view->wiring->nets[id];
    const TableSet *set = view->set;
    char letter = kept->numbers.letter[id];
    bool between_buses =
        net->from_table == TABLE_feed && view->model->feeds[net->from_row].to_bus != ID_NONE;
    bool of_a_feed = net->from_table == TABLE_feed && !between_buses;
    if (between_buses || (!of_a_feed && !has_unit(view->model, view->wiring, net))) {
        letter = POWER_LETTER;
    }
    char word[2] = {letter, '\0'};
    const char *class = wiring_class(view->model, net->class_id)->class;
    for (uint32_t i = 0; i < set->system.count; i++) {
        const SystemRow *row = &set->system.rows[order[i]];
        if (text_has_word(row->letters, word) &&
            (*row->classes == '\0' || text_has_word(row->classes, class))) {
            return i;
        }
    }
    return (uint32_t)set->system.count;
}

/* --- circuits -----------------------------------------------------------------------------------
 */

typedef struct CableSort {
    uint32_t system;
    TableId table;
    uint32_t row;
    uint32_t part; /* of a circuit too large for one sheet: every cable its own */
    CableId cable;
} CableSort;

static int compare_sort(const void *left, const void *right) {
    const CableSort *a = left;
    const CableSort *b = right;
    if (a->system != b->system) {
        return a->system < b->system ? -1 : 1;
    }
    if (a->table != b->table) {
        return a->table < b->table ? -1 : 1;
    }
    if (a->row != b->row) {
        return a->row < b->row ? -1 : 1;
    }
    return a->cable < b->cable ? -1 : a->cable > b->cable;
}

/* Whether a circuit can stand on a sheet of its own: else its cables are taken one by one. */
static void split_wide_circuits(Filler *filler) {
    Circuit *whole = filler->circuits;
    size_t count = filler->circuit_count;
    filler->circuits = ARENA_ARRAY(filler->arena, Circuit, filler->plan->view->wiring->cable_count);
    filler->circuit_count = 0;
    for (size_t i = 0; i < count; i++) {
        bool good = whole[i].count == 1 ||
                    fits(filler, &filler->cables[whole[i].first], whole[i].count, false);
        for (uint32_t k = 0; k < (good ? 1 : whole[i].count); k++) {
            filler->circuits[filler->circuit_count++] =
                (Circuit){.first = whole[i].first + k,
                          .count = good ? whole[i].count : 1,
                          .system = whole[i].system};
        }
    }
}

static void list_circuits(Filler *filler, const uint32_t *order) {
    const DrawView *view = filler->plan->view;
    const Wiring *wiring = view->wiring;
    Arena scratch = {0};
    CableSort *sort = ARENA_ARRAY(&scratch, CableSort, wiring->cable_count);
    for (NetId i = 0; i < wiring->net_count; i++) {
        const Net *net = &wiring->nets[i];
        uint32_t system = net_system(view, filler->kept, order, i);
        for (uint32_t k = 0; k < net->cable_count; k++) {
            CableId cable = net->cable_first + k;
            sort[cable] = (CableSort){system, net->from_table, net->from_row,
                                      net->cable_count > CIRCUIT_MOST ? k : 0, cable};
        }
    }
    qsort(sort, wiring->cable_count, sizeof *sort, compare_sort);
    filler->cables = ARENA_ARRAY(filler->arena, CableId, wiring->cable_count);
    filler->circuits = ARENA_ARRAY(filler->arena, Circuit, wiring->cable_count);
    for (uint32_t i = 0; i < wiring->cable_count; i++) {
        filler->cables[i] = sort[i].cable;
        bool same = i > 0 && sort[i].system == sort[i - 1].system &&
                    sort[i].table == sort[i - 1].table && sort[i].row == sort[i - 1].row &&
                    sort[i].part == sort[i - 1].part;
        if (!same) {
            filler->circuits[filler->circuit_count++] =
                (Circuit){.first = i, .system = sort[i].system};
        }
        filler->circuits[filler->circuit_count - 1].count++;
    }
    arena_free(&scratch);
}

static void list_owner_circuits(Filler *filler) {
    const Wiring *wiring = filler->plan->view->wiring;
    const Model *model = filler->plan->view->model;
    uint32_t owners = model->owner_count;
    uint32_t *first = ARENA_ARRAY(filler->arena, uint32_t, owners + 2);
    filler->owner_circuits = ARENA_ARRAY(filler->arena, uint32_t, 2 * (size_t)wiring->cable_count);
    for (int pass = 0; pass < 2; pass++) {
        for (uint32_t i = 0; i < filler->circuit_count; i++) {
            for (uint32_t k = 0; k < filler->circuits[i].count; k++) {
                const Cable *cable = &wiring->cables[filler->cables[filler->circuits[i].first + k]];
                TerminalId ends[2] = {cable->from, cable->to};
                for (int end = 0; end < 2; end++) {
                    OwnerId owner = model->terminals[ends[end]].owner;
                    if (pass == 0) {
                        first[owner + 2]++;
                    } else {
                        filler->owner_circuits[first[owner + 1]++] = i;
                    }
                }
            }
        }
        for (uint32_t i = 2; pass == 0 && i < owners + 2; i++) {
            first[i] += first[i - 1];
        }
    }
    filler->owner_circuit_first = first;
}

/* --- filling sheets -----------------------------------------------------------------------------
 */

/* Boxes and devices tie circuits together; buses, grounds and antennas are drawn where needed. */
static bool ties(const Filler *filler, OwnerId owner) {
    SpotKind kind = filler->kept->roles[owner].kind;
    return kind == SPOT_BOX || kind == SPOT_THROUGH;
}

static void enter_owner(Filler *filler, OwnerId owner) {
    if (filler->on_sheet[owner] == filler->stamp) {
        return;
    }
    filler->on_sheet[owner] = filler->stamp;
    for (uint32_t i = filler->owner_circuit_first[owner];
         i < filler->owner_circuit_first[owner + 1]; i++) {
        Circuit *circuit = &filler->circuits[filler->owner_circuits[i]];
        if (!circuit->done && circuit->listed != filler->stamp) {
            circuit->listed = filler->stamp;
            filler->candidates[filler->candidate_count++] = filler->owner_circuits[i];
        }
    }
}

static void enter_circuit(Filler *filler, uint32_t id) {
    const Wiring *wiring = filler->plan->view->wiring;
    const Model *model = filler->plan->view->model;
    Circuit *circuit = &filler->circuits[id];
    circuit->done = true;
    for (uint32_t i = 0; i < circuit->count; i++) {
        CableId cable = filler->cables[circuit->first + i];
        filler->taken[filler->taken_count++] = cable;
        TerminalId ends[2] = {wiring->cables[cable].from, wiring->cables[cable].to};
        for (int end = 0; end < 2; end++) {
            OwnerId owner = model->terminals[ends[end]].owner;
            if (ties(filler, owner)) {
                enter_owner(filler, owner);
            }
        }
    }
}

/* How well a circuit goes with what is on the sheet: boxes shared, less boxes that are new. */
static int gain(const Filler *filler, const Circuit *circuit) {
    const Wiring *wiring = filler->plan->view->wiring;
    const Model *model = filler->plan->view->model;
    int sum = 0;
    for (uint32_t i = 0; i < circuit->count; i++) {
        const Cable *cable = &wiring->cables[filler->cables[circuit->first + i]];
        TerminalId ends[2] = {cable->from, cable->to};
        for (int end = 0; end < 2; end++) {
            OwnerId owner = model->terminals[ends[end]].owner;
            if (ties(filler, owner)) {
                sum += filler->on_sheet[owner] == filler->stamp ? 4 : -3;
            }
        }
    }
    return sum;
}

/* The candidate that goes best; else, where the sheet has nothing left that is linked to it, the
 * next of the system. ID_NONE: no more. */
static uint32_t best_circuit(Filler *filler, uint32_t system, size_t *next) {
    uint32_t best = ID_NONE;
    int best_gain = 0;
    size_t kept = 0;
    for (size_t i = 0; i < filler->candidate_count; i++) {
        uint32_t id = filler->candidates[i];
        const Circuit *circuit = &filler->circuits[id];
        if (circuit->done) {
            continue;
        }
        filler->candidates[kept++] = id;
        if (circuit->system != system || circuit->missed == filler->stamp) {
            continue;
        }
        int now = gain(filler, circuit);
        if (best == ID_NONE || now > best_gain || (now == best_gain && id < best)) {
            best = id;
            best_gain = now;
        }
    }
    filler->candidate_count = kept;
    for (size_t i = *next;
         best == ID_NONE && i < filler->circuit_count && filler->circuits[i].system == system;
         i++) {
        if (filler->circuits[i].done) {
            *next = i == *next ? i + 1 : *next;
        } else if (filler->circuits[i].missed != filler->stamp) {
            best = (uint32_t)i;
        }
    }
    return best;
}

static void start_sheet(Filler *filler) {
    filler->stamp++;
    filler->candidate_count = 0;
    filler->taken_count = 0;
}

/* Takes back the circuits entered last, from `from` on. */
static void take_back(Filler *filler, const uint32_t *entered, size_t from, size_t count) {
    for (size_t i = from; i < count; i++) {
        Circuit *circuit = &filler->circuits[entered[i]];
        circuit->done = false;
        filler->taken_count -= circuit->count;
    }
    /* Boxes that came with them stay marked only if others brought them too. */
    filler->stamp++;
    filler->candidate_count = 0;
    size_t taken = filler->taken_count;
    filler->taken_count = 0;
    for (size_t i = 0; i < from; i++) {
        enter_circuit(filler, entered[i]);
    }
    CHECK(filler->taken_count == taken);
}

static void keep_sheet(Filler *filler, uint32_t system, uint32_t number) {
    WiringDraft *draft =
        ARENA_PUSH(filler->arena, filler->drafts, filler->draft_count, filler->draft_capacity);
    *draft = (WiringDraft){.number = number, .system_count = 1};
    draft->systems =
        ARENA_ARRAY(filler->arena, uint32_t, filler->plan->view->set->system.count + 1);
    draft->systems[0] = system;
    draft->sheet.band_count = 1;
    WiringBand *band = &draft->sheet.bands[0];
    *band = (WiringBand){.cable_count = filler->taken_count, .field = filler->field};
    band->cables = ARENA_ARRAY(filler->arena, CableId, filler->taken_count);
    memcpy(band->cables, filler->taken, filler->taken_count * sizeof *filler->taken);
    qsort(band->cables, filler->taken_count, sizeof *filler->taken, compare_ids);
}

/* Fills one sheet. Doubles the number of circuits tried at once while they fit, then goes one by
 * one; at the end the sheet is laid out in earnest, and gives back what does not fit then. */
static void fill_sheet(Filler *filler, uint32_t system, size_t first, uint32_t *entered) {
    size_t place = first;
    size_t *next = &place;
    start_sheet(filler);
    size_t count = 0;
    size_t step = 1;
    uint32_t misses = 0;
    uint32_t missed[MISSES_MAX + 1];
    while (misses < MISSES_MAX) {
        size_t before = count;
        while (count < before + step) {
            uint32_t id = best_circuit(filler, system, next);
            if (id == ID_NONE) {
                break;
            }
            entered[count++] = id;
            enter_circuit(filler, id);
        }
        if (count == before) {
            break;
        }
        if (before == 0 || fits(filler, filler->taken, filler->taken_count, true)) {
            step = misses == 0 && step < 16 ? step * 2 : step;
            continue;
        }
        if (count - before == 1) {
            missed[misses++] = entered[before];
        }
        step = step > 2 ? step / 4 : 1;
        take_back(filler, entered, before, count);
        count = before;
        place = first;
        for (uint32_t i = 0; i < misses; i++) {
            filler->circuits[missed[i]].missed = filler->stamp;
        }
    }
    while (count > 1 && !fits(filler, filler->taken, filler->taken_count, false)) {
        take_back(filler, entered, count - 1, count);
        count--;
    }
}

static void fill_system(Filler *filler, uint32_t system, size_t first, uint32_t *entered) {
    size_t end = first;
    while (end < filler->circuit_count && filler->circuits[end].system == system) {
        end++;
    }
    for (uint32_t number = 1; first < end; number++) {
        fill_sheet(filler, system, first, entered);
        CHECK(filler->taken_count > 0);
        keep_sheet(filler, system, number);
        while (first < end && filler->circuits[first].done) {
            first++;
        }
    }
}

/* --- putting small sheets together --------------------------------------------------------------
 */

/* Whether two sheets may become one: parts of one system, or (`across`) the last sheets of systems
 * that are not too many. */
static bool may_merge(const WiringDraft *one, const WiringDraft *other, bool across) {
    if (one->gone || other->gone) {
        return false;
    }
    if (!across) {
        return one->systems[0] == other->systems[0];
    }
    return one->last && other->last && one->system_count + other->system_count <= SYSTEMS_MOST;
}

/* Two sets of cables as one, in order. */
static WiringBand join_bands(Arena *arena, const WiringBand *one, const WiringBand *other) {
    WiringBand both = {.cable_count = one->cable_count + other->cable_count, .field = one->field};
    both.cables = ARENA_ARRAY(arena, CableId, both.cable_count);
    memcpy(both.cables, one->cables, one->cable_count * sizeof(CableId));
    memcpy(both.cables + one->cable_count, other->cables, other->cable_count * sizeof(CableId));
    qsort(both.cables, both.cable_count, sizeof *both.cables, compare_ids);
    return both;
}

/* Marks the boxes, devices and buses of a band; true when one of them had this mark before. */
static bool mark_band(Filler *filler, const WiringBand *band, uint32_t mark, uint32_t before) {
    const Wiring *wiring = filler->plan->view->wiring;
    const Model *model = filler->plan->view->model;
    bool met = false;
    for (size_t i = 0; i < band->cable_count; i++) {
        const Cable *cable = &wiring->cables[band->cables[i]];
        TerminalId ends[2] = {cable->from, cable->to};
        for (int end = 0; end < 2; end++) {
            OwnerId owner = model->terminals[ends[end]].owner;
            const OwnerRole *role = &filler->kept->roles[owner];
            if (role->kind == SPOT_GROUND || role->kind == SPOT_ANTENNA) {
                continue;
            }
            uint32_t *stamp = role->kind == SPOT_BANK && role->bus != ID_NONE
                                  ? &filler->bus_mark[role->bus]
                                  : &filler->owner_mark[owner];
            met = met || (*stamp >= before && *stamp < mark);
            *stamp = mark;
        }
    }
    return met;
}

/* Heights of the bands of a draft. */
static void measure_bands(Filler *filler, WiringDraft *draft) {
    for (uint32_t i = 0; i < draft->sheet.band_count; i++) {
        const WiringBand *band = &draft->sheet.bands[i];
        if (draft->height_mm[i] <= 0.0) {
            fits_in(filler, filler->field, band->cables, band->cable_count, false,
                    &draft->height_mm[i]);
        }
    }
}

/* Gives every band its part of the height; false when they do not fit below each other, each at
 * least as high as it was by `least`, or when a box would stand in two of them. */
static bool stack_bands(Filler *filler, WiringDraft *draft, double least) {
    WiringBand *bands = draft->sheet.bands;
    uint32_t count = draft->sheet.band_count;
    double sum_mm = 0.0;
    for (uint32_t i = 0; i < count; i++) {
        sum_mm += draft->height_mm[i];
    }
    double room_mm =
        filler->field.bottom_mm - filler->field.top_mm - BAND_GAP_MM * (double)(count - 1);
    if (sum_mm * least > room_mm) {
        return false;
    }
    uint32_t before = filler->mark + 1;
    for (uint32_t i = 0; i < count; i++) {
        if (mark_band(filler, &bands[i], ++filler->mark, before)) {
            return false;
        }
    }
    double top_mm = filler->field.top_mm;
    for (uint32_t i = 0; i < count; i++) {
        double part_mm = sum_mm > room_mm
                             ? room_mm * draft->height_mm[i] / sum_mm
                             : draft->height_mm[i] + (room_mm - sum_mm) / (double)count;
        bands[i].field = filler->field;
        bands[i].field.top_mm = top_mm;
        bands[i].field.bottom_mm = top_mm + part_mm;
        top_mm = bands[i].field.bottom_mm + BAND_GAP_MM;
        if (!fits_in(filler, bands[i].field, bands[i].cables, bands[i].cable_count, false, NULL)) {
            return false;
        }
    }
    return true;
}

/* What two sheets are as one: bands that can be laid out together are one band (only with `join`),
 * the rest stand below each other. False: they do not fit. */
static bool merge_bands(Filler *filler, Arena *scratch, const WiringDraft *one,
                        const WiringDraft *other, bool join, double least, WiringDraft *merged) {
    uint32_t count = one->sheet.band_count;
    *merged = *one;
    for (uint32_t i = 0; i < other->sheet.band_count; i++) {
        bool joined = false;
        for (uint32_t k = 0; k < one->sheet.band_count && join && !joined; k++) {
            WiringBand *band = &merged->sheet.bands[k];
            WiringBand both = join_bands(scratch, band, &other->sheet.bands[i]);
            joined = fits(filler, both.cables, both.cable_count, true);
            if (joined) {
                *band = both;
                merged->height_mm[k] = 0.0;
            }
        }
        if (!joined && count == WIRING_BANDS_MOST) {
            return false;
        }
        if (!joined) {
            merged->sheet.bands[count] = other->sheet.bands[i];
            merged->height_mm[count++] = other->height_mm[i];
        }
    }
    merged->sheet.band_count = count;
    if (count > 1) {
        measure_bands(filler, merged);
        return stack_bands(filler, merged, least);
    }
    WiringBand *only = &merged->sheet.bands[0];
    only->field = filler->field;
    return fits(filler, only->cables, only->cable_count, false);
}

static void merge_into(Filler *filler, WiringDraft *draft, WiringDraft *other,
                       const WiringDraft *merged) {
    draft->sheet.band_count = merged->sheet.band_count;
    for (uint32_t i = 0; i < merged->sheet.band_count; i++) {
        const WiringBand *band = &merged->sheet.bands[i];
        draft->sheet.bands[i] = *band;
        draft->height_mm[i] = merged->height_mm[i];
        draft->sheet.bands[i].cables = ARENA_ARRAY(filler->arena, CableId, band->cable_count);
        memcpy(draft->sheet.bands[i].cables, band->cables, band->cable_count * sizeof(CableId));
    }
    for (size_t s = 0; s < other->system_count && draft->systems[0] != other->systems[0]; s++) {
        draft->systems[draft->system_count++] = other->systems[s];
    }
    other->gone = true;
}

/* From the last sheets to the first: those are the small ones. */
static void merge_small(Filler *filler, bool across, bool join, double least) {
    for (size_t i = filler->draft_count; i-- > 0;) {
        WiringDraft *draft = &filler->drafts[i];
        uint32_t looked = 0;
        for (size_t k = i + 1; k < filler->draft_count && looked < MERGE_REACH; k++) {
            WiringDraft *other = &filler->drafts[k];
            if (!may_merge(draft, other, across)) {
                continue;
            }
            looked++;
            measure_bands(filler, draft);
            measure_bands(filler, other);
            Arena scratch = {0};
            WiringDraft merged;
            if (merge_bands(filler, &scratch, draft, other, join, least, &merged)) {
                merge_into(filler, draft, other, &merged);
            }
            arena_free(&scratch);
        }
    }
}

/* The emptiest sheet of every system becomes its last one. */
static void put_smallest_last(Filler *filler) {
    for (size_t i = 0; i < filler->draft_count;) {
        size_t next = i;
        size_t smallest = i;
        double smallest_mm = INFINITY;
        for (; next < filler->draft_count &&
               filler->drafts[next].systems[0] == filler->drafts[i].systems[0];
             next++) {
            WiringDraft *draft = &filler->drafts[next];
            if (draft->gone) {
                continue;
            }
            measure_bands(filler, draft);
            double sum_mm = 0.0;
            for (uint32_t b = 0; b < draft->sheet.band_count; b++) {
                sum_mm += draft->height_mm[b];
            }
            if (sum_mm <= smallest_mm) {
                smallest = next;
                smallest_mm = sum_mm;
            }
        }
        WiringDraft last = filler->drafts[smallest];
        memmove(&filler->drafts[smallest], &filler->drafts[smallest + 1],
                (next - 1 - smallest) * sizeof last);
        filler->drafts[next - 1] = last;
        filler->drafts[next - 1].last = true;
        i = next;
    }
}

/* Numbers the sheets of every system anew. */
static void number_sheets(Filler *filler) {
    for (size_t i = 0; i < filler->draft_count; i++) {
        WiringDraft *draft = &filler->drafts[i];
        if (draft->gone) {
            continue;
        }
        uint32_t before = 0;
        uint32_t of = 0;
        size_t first = i;
        while (first > 0 && filler->drafts[first - 1].systems[0] == draft->systems[0]) {
            first--;
        }
        for (size_t k = first;
             k < filler->draft_count && filler->drafts[k].systems[0] == draft->systems[0]; k++) {
            of += filler->drafts[k].gone ? 0 : 1;
            before += k < i && !filler->drafts[k].gone ? 1 : 0;
        }
        draft->number = before + 1;
        draft->of = of;
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

WiringDraft *wiring_fill(Arena *arena, const SheetPlan *plan, const WiringKept *kept,
                         const uint32_t *order, size_t *count) {
    const DrawView *view = plan->view;
    Filler filler = {.arena = arena, .plan = plan, .kept = kept};
    filler.field = wiring_field(sheet_field(view->paper));
    wiring_lookup_start(arena, plan, &filler.lookup);
    list_circuits(&filler, order);
    split_wide_circuits(&filler);
    list_owner_circuits(&filler);
    filler.on_sheet = ARENA_ARRAY(arena, uint32_t, view->model->owner_count);
    filler.owner_mark = ARENA_ARRAY(arena, uint32_t, view->model->owner_count);
    filler.bus_mark = ARENA_ARRAY(arena, uint32_t, view->set->bus.count);
    filler.candidates = ARENA_ARRAY(arena, uint32_t, filler.circuit_count);
    filler.taken = ARENA_ARRAY(arena, CableId, view->wiring->cable_count);
    uint32_t *entered = ARENA_ARRAY(arena, uint32_t, filler.circuit_count);
    for (size_t i = 0; i < filler.circuit_count; i++) {
        if (i == 0 || filler.circuits[i].system != filler.circuits[i - 1].system) {
            fill_system(&filler, filler.circuits[i].system, i, entered);
        }
    }
    merge_small(&filler, false, true, 1.0);
    merge_small(&filler, false, false, BAND_SQUEEZE);
    put_smallest_last(&filler);
    merge_small(&filler, true, true, 1.0);
    merge_small(&filler, true, false, BAND_SQUEEZE);
    number_sheets(&filler);
    *count = filler.draft_count;
    return filler.drafts;
}
