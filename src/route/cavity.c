#include "route/cavity.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Two cavities are neighbours when they are no further apart than this times the smallest distance
 * on the shell: it takes in the diagonal of staggered rows (1.14 on a D-subminiature) and leaves
 * out the second next (1.7 and more). */
#define NEAR_FACTOR 1.3

/* No shell has more; a slip of the pen in the library must not take all memory. */
#define WAYS_MAX 10000u

typedef struct Position {
    double x_mm;
    double y_mm;
    uint32_t cavity;
} Position;

static int compare_positions(const void *left, const void *right) {
    const Position *a = left;
    const Position *b = right;
    if (a->x_mm != b->x_mm) {
        return a->x_mm < b->x_mm ? -1 : 1;
    }
    if (a->y_mm != b->y_mm) {
        return a->y_mm > b->y_mm ? -1 : 1;
    }
    return a->cavity < b->cavity ? -1 : (a->cavity > b->cavity ? 1 : 0);
}

static double distance_mm(const Position *a, const Position *b) {
    return hypot(a->x_mm - b->x_mm, a->y_mm - b->y_mm);
}

/* Neighbours by distance. Positions are sorted from left to right, so the inner loop stops soon. */
static void list_neighbours(Arena *out, Face *face, const Position *positions) {
    double smallest_mm = (double)INFINITY;
    for (uint32_t i = 0; i < face->ways; i++) {
        for (uint32_t k = i + 1;
             k < face->ways && positions[k].x_mm - positions[i].x_mm <= smallest_mm; k++) {
            double apart_mm = distance_mm(&positions[i], &positions[k]);
            smallest_mm = apart_mm < smallest_mm ? apart_mm : smallest_mm;
        }
    }
    double near_mm = smallest_mm * NEAR_FACTOR;
    uint32_t *counts = ARENA_ARRAY(out, uint32_t, face->ways);
    for (int sweep = 0; sweep < 2; sweep++) {
        for (uint32_t i = 0; i < face->ways; i++) {
            for (uint32_t k = i + 1;
                 k < face->ways && positions[k].x_mm - positions[i].x_mm <= near_mm; k++) {
                if (distance_mm(&positions[i], &positions[k]) > near_mm) {
                    continue;
                }
                uint32_t pair[2] = {positions[i].cavity, positions[k].cavity};
                for (int side = 0; side < 2; side++) {
                    if (sweep == 1) {
                        face->near[face->near_first[pair[side]] + counts[pair[side]]] =
                            pair[1 - side];
                    }
                    counts[pair[side]]++;
                }
            }
        }
        if (sweep == 0) {
            for (uint32_t i = 0; i < face->ways; i++) {
                face->near_first[i + 1] = face->near_first[i] + counts[i];
                counts[i] = 0;
            }
            face->near = ARENA_ARRAY(out, uint32_t, face->near_first[face->ways]);
        }
    }
}

void face_read(Arena *out, const Model *model, ShellId shell, Face *face) {
    const ShellRow *row = &model->set->shell.rows[shell];
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_cavity, row->shell, &count);
    face->ways = row->ways > 0 ? (uint32_t)row->ways : 0;
    face->ways = face->ways < WAYS_MAX ? face->ways : WAYS_MAX;
    face->names = ARENA_ARRAY(out, const char *, face->ways);
    face->order = ARENA_ARRAY(out, uint32_t, face->ways);
    face->place = ARENA_ARRAY(out, uint32_t, face->ways);
    face->near_first = ARENA_ARRAY(out, uint32_t, (size_t)face->ways + 1);
    Position *positions = ARENA_ARRAY(out, Position, face->ways);
    bool placed = count == face->ways && count > 0;
    for (uint32_t i = 0; i < face->ways; i++) {
        const CavityRow *cavity = placed ? &model->set->cavity.rows[first + i] : NULL;
        face->names[i] = placed ? cavity->cavity : arena_format(out, "%u", i + 1);
        positions[i] = (Position){
            .x_mm = placed ? cavity->x_mm : i, /* numbers taken as places in one row */
            .y_mm = placed ? cavity->y_mm : 0.0,
            .cavity = i,
        };
    }
    if (face->ways > 1) {
        qsort(positions, face->ways, sizeof *positions, compare_positions);
    }
    for (uint32_t i = 0; i < face->ways; i++) {
        face->order[i] = positions[i].cavity;
        face->place[positions[i].cavity] = i;
    }
    list_neighbours(out, face, positions);
}

uint32_t face_find(const Face *face, const char *name) {
    for (uint32_t i = 0; i < face->ways; i++) {
        if (strcmp(face->names[i], name) == 0) {
            return i;
        }
    }
    return ID_NONE;
}

/* --- placing ---------------------------------------------------------------------------------- */

bool face_clashes(const Face *face, const CavityKind *taken, uint32_t cavity, CavityKind kind) {
    CavityKind foe = kind == CAVITY_SIGNAL  ? CAVITY_POWER
                     : kind == CAVITY_POWER ? CAVITY_SIGNAL
                                            : CAVITY_FREE;
    if (foe == CAVITY_FREE) {
        return false; /* a return may lie beside either */
    }
    for (uint32_t i = face->near_first[cavity]; i < face->near_first[cavity + 1]; i++) {
        if (taken[face->near[i]] == foe) {
            return true;
        }
    }
    return false;
}

/* Signals start at one end of the face, all others at the other. */
static uint32_t at_place(const Face *face, CavityKind kind, uint32_t place) {
    return face->order[kind == CAVITY_SIGNAL ? place : face->ways - 1 - place];
}

static uint32_t place_of(const Face *face, CavityKind kind, uint32_t cavity) {
    uint32_t place = face->place[cavity];
    return kind == CAVITY_SIGNAL ? place : face->ways - 1 - place;
}

static bool is_good(const Face *face, const CavityKind *taken, uint32_t cavity, CavityKind kind,
                    bool apart) {
    return taken[cavity] == CAVITY_FREE && !(apart && face_clashes(face, taken, cavity, kind));
}

static void sort_cavities(uint32_t *cavities, uint32_t count) {
    for (uint32_t i = 1; i < count; i++) {
        uint32_t cavity = cavities[i];
        uint32_t k = i;
        for (; k > 0 && cavities[k - 1] > cavity; k--) {
            cavities[k] = cavities[k - 1];
        }
        cavities[k] = cavity;
    }
}

/* The good neighbour of those chosen so far that stands first, ID_NONE. */
static uint32_t next_beside(const Face *face, const CavityKind *taken, CavityKind kind, bool apart,
                            const uint32_t *chosen, uint32_t count) {
    uint32_t best = ID_NONE;
    for (uint32_t i = 0; i < count; i++) {
        for (uint32_t k = face->near_first[chosen[i]]; k < face->near_first[chosen[i] + 1]; k++) {
            uint32_t cavity = face->near[k];
            bool fresh = is_good(face, taken, cavity, kind, apart);
            for (uint32_t j = 0; j < count && fresh; j++) {
                fresh = chosen[j] != cavity;
            }
            if (fresh &&
                (best == ID_NONE || place_of(face, kind, cavity) < place_of(face, kind, best))) {
                best = cavity;
            }
        }
    }
    return best;
}

/* The first `count` free cavities that hang together, each beside another; `apart`: none clashes.
 */
static bool place_together(const Face *face, CavityKind *taken, CavityKind kind, uint32_t count,
                           bool apart, uint32_t *cavities) {
    for (uint32_t place = 0; place < face->ways; place++) {
        uint32_t found = 0;
        uint32_t cavity = at_place(face, kind, place);
        if (!is_good(face, taken, cavity, kind, apart)) {
            continue;
        }
        while (cavity != ID_NONE && found < count) {
            cavities[found++] = cavity;
            cavity = next_beside(face, taken, kind, apart, cavities, found);
        }
        if (found == count) {
            sort_cavities(cavities, count);
            for (uint32_t i = 0; i < count; i++) {
                taken[cavities[i]] = kind;
            }
            return true;
        }
    }
    return false;
}

/* Any free cavities, nothing marked unless there are `count`. */
static bool place_scattered(const Face *face, CavityKind *taken, CavityKind kind, uint32_t count,
                            bool apart, uint32_t *cavities) {
    uint32_t found = 0;
    for (uint32_t place = 0; place < face->ways && found < count; place++) {
        uint32_t cavity = at_place(face, kind, place);
        if (is_good(face, taken, cavity, kind, apart)) {
            cavities[found++] = cavity;
        }
    }
    sort_cavities(cavities, found);
    for (uint32_t i = 0; i < found && found == count; i++) {
        taken[cavities[i]] = kind;
    }
    return found == count;
}

uint32_t face_place(const Face *face, CavityKind *taken, CavityKind kind, uint32_t count, bool wet,
                    uint32_t *cavities) {
    if (place_together(face, taken, kind, count, true, cavities) ||
        (wet && place_scattered(face, taken, kind, count, true, cavities)) ||
        place_together(face, taken, kind, count, false, cavities) ||
        place_scattered(face, taken, kind, count, false, cavities)) {
        return count;
    }
    uint32_t found = 0;
    for (uint32_t i = 0; i < face->ways && found < count; i++) {
        uint32_t cavity = at_place(face, kind, i);
        if (taken[cavity] == CAVITY_FREE) {
            taken[cavity] = kind;
            cavities[found++] = cavity;
        }
    }
    return found;
}
