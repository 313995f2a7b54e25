/* Fail: what a person wants to try by hand. In: a proved job and the keys of what fails, together:
 * "W0412:open", or "W0412" for each of its modes in turn. Out: phase by phase, in plain words,
 * which devices open and when, what goes dark, which voltages are left, which needs are lost. */
#ifndef APP_FAIL_H
#define APP_FAIL_H

#include "app/prove.h"

/* At most this many things fail at once, and this many combinations of modes are tried. */
enum { FAIL_KEYS_MAX = 8, FAIL_TRIES_MAX = 64 };

/* Writes the answer. `phase` NULL: the phases that failures are tried in, else only that one. False
 * with *problem (in `arena`) when a key or the phase is unknown, with the nearest that is known.
 * The proof must be complete; the numbers of its network are those of another phase afterwards. */
bool fail_write(Buffer *out, Arena *arena, Proof *proof, const char *const *keys, size_t count,
                const char *phase, const char **problem);

/* --- the same as data ---------------------------------------------------------------------------
 */

/* One thing that fails, and the ways in which it can. */
typedef struct FailItem {
    const char *item;
    const char *mode; /* chosen: as named in the key, else the first */
    const char *meaning;
    const char **modes; /* all it has, in the order of keys */
    uint32_t mode_count;
} FailItem;

/* A supply port that has no supply, loses it for a while, or gets it. */
typedef struct FailPort {
    const char *end;
    const char *unit;
    bool in_use; /* it draws current in the phase before anything has failed */
} FailPort;

typedef struct FailOpened {
    const char *device;
    double seconds; /* at the latest: slow edge of its curve */
    double percent; /* of its rating */
} FailOpened;

typedef struct FailNeed {
    const char *need;
    const char *title;
    const char *severity; /* "" when it has none */
} FailNeed;

/* A battery and how long it lasts at the current it gives just after the failure, plainly: capacity
 * x usable share x 60 / amps, as endurance is reckoned by hand. Nothing is shed and volts do not
 * fall, so situations with their actions (table endurance) say more where there is one. */
typedef struct FailBattery {
    const char *unit;
    double capacity_ah;
    double usable_new; /* share of it */
    double usable_aged;
    double amps_a;   /* out of it; negative while it is charged */
    double before_a; /* before anything has failed */
    double new_min;  /* INFINITY when it gives nothing */
    double aged_min;
    const char *source; /* of its capacity and shares */
} FailBattery;

/* What happens in one phase. */
typedef struct FailPhase {
    const char *phase;
    const char *status; /* faults_status_name() */
    FailPort *dark;
    uint32_t dark_count;
    FailPort *restarted;
    uint32_t restarted_count;
    FailPort *gained;
    uint32_t gained_count;
    const char **wires; /* keys of those that led something before and lead nothing now */
    uint32_t wire_count;
    const char **buses; /* that had voltage and have none */
    uint32_t bus_count;
    const char **units; /* boxes of which no port that was in use is left */
    uint32_t unit_count;
    FailOpened *opened; /* in the order of time */
    uint32_t opened_count;
    FailNeed *needs;
    uint32_t need_count;
    FailBattery *batteries;
    uint32_t battery_count;
    const char *functions; /* words of faults_functions_text() */
    const char *lowest;
    const char *noticed;
    const char *note;
} FailPhase;

typedef struct FailTrial {
    FailItem *items;
    uint32_t item_count;
    FailPhase *phases;
    uint32_t phase_count;
} FailTrial;

/* A wire is dark below both, at either end; a bus below the first. */
#define FAIL_DARK_V 1.0
#define FAIL_DARK_A 0.001

/* Tries the keys at once, each in the mode it names or its first. No key: nothing fails, and what
 * is dark is nothing. Everything lives in `arena`, names as long as the proof. Refuses as
 * fail_write() does. */
bool fail_try(Arena *arena, Proof *proof, const char *const *keys, size_t count, const char *phase,
              FailTrial *trial, const char **problem);

#endif
