/* Sizing: what the files of the size pass share. Not for other passes. */
#ifndef POWER_SIZING_H
#define POWER_SIZING_H

#include "power/feeders.h"
#include "power/limits.h"
#include "power/size.h"

/* Two drops are equal, and a drop is within its limit, when they differ by less than this: far
 * below what a meter shows, far above rounding. */
#define SIZE_SAME_V 1e-9

/* Why a cable's gauge is not the tool's to choose. */
typedef enum SizeFixed {
    SIZE_FREE,
    SIZE_BY_CABLE,    /* its cores have one gauge */
    SIZE_BY_ROW,      /* the circuit's row gives it */
    SIZE_BY_OVERRIDE, /* an override row gives it */
    SIZE_COAX         /* has no gauge */
} SizeFixed;

typedef enum SizeDrop { DROP_PLAIN, DROP_HOT, DROP_KIND_COUNT } SizeDrop;

/* One conductor of a cable on the way of one feeder. */
typedef struct SizeUse {
    uint32_t feeder;
    ConductorId wire;
} SizeUse;

struct SizeDetail {
    const Model *model;
    const Wiring *wiring;
    const Routing *routing;
    const Supply *supply;
    const double *network_v; /* by load, may be NULL: see size_run */
    Sizing *sizing;
    Feeders feeders;
    Limits limits;
    uint32_t *place;        /* by CableId: gauge; GAUGE_NONE for coax and unknown gauges */
    uint32_t *thickest;     /* by CableId: thickest gauge its class allows */
    uint32_t *fitting;      /* by CableId: thickest gauge that its contacts take */
    uint32_t *low;          /* by CableId: thinnest by the limits that other wires don't move */
    uint8_t *fixed;         /* by CableId: SizeFixed */
    uint32_t *override_row; /* by CableId: row of `override`, ID_NONE */
    int32_t mechanical_awg; /* thinnest single wire the shop lays */
    double heater_contact;  /* rating of a contact over the current of a heater or motor */
    double *cable_a;        /* by CableId: largest design current of its conductors */
    uint32_t *use_first;    /* by CableId, and one more */
    SizeUse *uses;
    double *volts[DROP_KIND_COUNT];  /* by ConductorId, at its gauge */
    double *fixed_v;                 /* by feeder: devices and switches on its way */
    double *drop_v[DROP_KIND_COUNT]; /* by feeder */
    bool *given_up[DROP_KIND_COUNT]; /* by feeder: no gauge can keep this drop */
};

/* Volts over one conductor at a gauge. */
double sizing_volts(const SizeDetail *detail, SizeDrop kind, ConductorId wire, uint32_t place);

/* Whether a cable at `place` keeps a limit, all other wires as they are; *value is what it comes to
 * and *limit what is allowed. False in *says when the limit has no say. With `all` drops count that
 * no gauge can keep. */
bool sizing_holds(const SizeDetail *detail, CableId cable, SizeLimit which, uint32_t place,
                  bool all, bool *says, double *value, double *limit);

/* Thickest gauge that the contacts at both ends and in the disconnects take. */
uint32_t sizing_fitting(const SizeDetail *detail, CableId cable);

/* The feeder through a cable that comes nearest to (or furthest over) its limit, ID_NONE. */
uint32_t sizing_worst_feeder(const SizeDetail *detail, CableId cable, SizeDrop kind);

/* Fills the choices of all conductors of a cable. */
void sizing_choose(SizeDetail *detail, CableId cable);

/* Ratings of protective devices, given or chosen. Findings on those. */
void sizing_rate_devices(SizeDetail *detail, Findings *findings);

/* Gauges that persons gave: fills fixed, place, override_row. Findings on what can't be used. */
void sizing_read_given(SizeDetail *detail, Findings *findings);

/* Findings on the finished sizing: given gauges, contacts, switches, drops, the starter's cables.
 */
void sizing_check(const SizeDetail *detail, Findings *findings);

/* "AWG 16". */
const char *sizing_awg_text(Arena *arena, int32_t awg);

/* Source of a limit, as printed beside it. */
const char *sizing_source(const SizeDetail *detail, CableId cable, SizeLimit which);
const char *sizing_unit(SizeLimit which);

#endif
