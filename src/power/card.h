/* Card: the emergency card, as text. In: the rows of `card` that the shop chose, the failures tried
 * on the solved network, the minutes of the batteries. Out: for each row what is lost, what is
 * left, how long, what the pilot does, in the order of the card. Everything is derived from a
 * model; what could not be is said. docs/theory/time.md. */
#ifndef POWER_CARD_H
#define POWER_CARD_H

#include "power/endurance.h"
#include "power/faults.h"

/* One battery. */
typedef struct CardMinutes {
    uint32_t situation;  /* row of `situation` */
    const char *battery; /* "main battery" */
    double new_min;      /* the shorter of plain and solved; INFINITY: it gives nothing; NAN */
    double aged_min;
    double cold_min; /* NAN: not known */
    double cold_degc;
} CardMinutes;

typedef struct CardEntry {
    uint32_t row;      /* of `card` */
    const char *phase; /* what is lost is counted from what is on in it; "" */
    const char *needs; /* functions lost at once, "" for none */
    const char *gone;  /* functions lost once the actions are done, "" for none */
    const char *kept;  /* the others */
    const char *lost;  /* boxes without supply; "" for none */
    const char *shed;  /* boxes with supply that the actions switch off; "" */
    const char *left;  /* boxes that work */
    const char **actions;
    uint32_t action_count;
    CardMinutes *minutes;
    uint32_t minutes_count;
    const char *note; /* what is not proved; "" */
} CardEntry;

typedef struct Card {
    CardEntry *entries; /* in the order of card.rank */
    uint32_t count;
} Card;

typedef struct CardInput {
    const Model *model;
    const Supply *supply;
    const Faults *faults; /* NULL: no failure can be tried, and entries say so */
    const Loads *loads;
    const Endurance *endurance;
} CardInput;

/* Findings: card.row. */
void card_run(Arena *out, const CardInput *input, Card *card, Findings *findings);

/* "18" for the minutes printed large: the shortest of new, aged, aged and cold, never rounded up;
 * "no limit" where the battery gives nothing, "?" where they are not known. */
const char *card_minutes_text(Arena *arena, const CardMinutes *minutes);

/* Appends rows of `card_line`. */
void card_rows(Arena *arena, const Model *model, const Card *card, TableSet *results);

#endif
