/* The face of a shell: its cavities in numbering order and as they lie, who lies beside whom, and
 * how new contacts are placed on it. Inside the route layer. */
#ifndef ROUTE_CAVITY_H
#define ROUTE_CAVITY_H

#include "model/model.h"

typedef enum CavityKind { CAVITY_FREE, CAVITY_SIGNAL, CAVITY_RETURN, CAVITY_POWER } CavityKind;

typedef struct Face {
    uint32_t ways;
    const char **names;   /* by cavity: its number on the shell */
    uint32_t *order;      /* cavities from left to right as they lie; by number when the library
                             has no positions */
    uint32_t *place;      /* by cavity: where it stands in order[] */
    uint32_t *near_first; /* by cavity, and one more: its neighbours */
    uint32_t *near;
} Face;

void face_read(Arena *out, const Model *model, ShellId shell, Face *face);

/* The cavity of that number, ID_NONE. */
uint32_t face_find(const Face *face, const char *name);

/* True when power would lie beside a signal, or a signal beside power. */
bool face_clashes(const Face *face, const CavityKind *taken, uint32_t cavity, CavityKind kind);

/* Places `count` contacts that belong together and marks them in taken[]: signals from the first
 * cavities on, others from the last ones back; side by side and away from what they must not lie
 * beside, as far as there is room (`wet`: being apart comes before being together). Returns how
 * many were placed; cavities[] gets them, the lowest number first. */
uint32_t face_place(const Face *face, CavityKind *taken, CavityKind kind, uint32_t count, bool wet,
                    uint32_t *cavities);

#endif
