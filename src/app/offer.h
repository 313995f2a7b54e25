/* What a customer sees of a job and approves: the panel's picture, and the options with what speaks
 * for and against them, mass, amps and the last gate. All of it is one text, a line a thing, whose
 * SHA-256 an approval is bound to; what differs later is told line by line. */
#ifndef APP_OFFER_H
#define APP_OFFER_H

#include "app/prove.h"
#include "base/text.h"
#include "draw/panel_look.h"

typedef struct OfferOption {
    const OptionRow *option;
    const GateRow *gate;     /* last one at which it can be chosen; NULL: it touches nothing */
    const PassedRow *passed; /* when that gate was passed; NULL: not yet */
    const char *because;     /* what decides the gate: "route CAM_TRIG" */
    const char *why_gate;    /* in words: "board and wire list" */
    const char *touches;     /* everything it touches */
    const char *adds;        /* its boxes in words: "survey camera, belly; ..."; "" */
    size_t boxes;
    size_t unknown; /* boxes whose mass the library does not know */
    double mass_kg; /* of the others */
    double steady_a;
    double brief_a; /* for a short time */
} OfferOption;

/* Options by key. `proof` has a model. */
OfferOption *offer_options(Arena *arena, const Proof *proof, size_t *count);

/* "2 boxes: 1.90 kg, 3.2 A steady; wiring and structure are not counted", or that it has none. */
const char *offer_cost(Arena *arena, const OfferOption *option);

/* The text, and its hash. False when the job has no model or no panel that can be drawn: then there
 * is nothing to approve. */
bool offer_seen(Arena *arena, const Proof *proof, const char **text, char hash[65]);

/* What differs between two such texts, in words. */
SeenChange *offer_compare(Arena *arena, const char *before, const char *after, size_t *count);

/* The picture of all faces as PNG, `width_px` wide, into `out`. False without a panel. */
bool offer_picture(Arena *arena, const Proof *proof, int width_px, Buffer *out, Status *status);

#endif
