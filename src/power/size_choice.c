/* Method: each limit is asked gauge by gauge, from the cable's own gauge on, with all other wires
 * as they are; the thinnest gauge that keeps it is what that limit allows. The one that asks for
 * the thickest governs. */
#include <math.h>
#include <string.h>

#include "base/check.h"
#include "base/units.h"
#include "power/sizing.h"

/* --- words --------------------------------------------------------------------------------------
 */

const char *size_limit_name(SizeLimit limit) {
    static const char *const NAMES[SIZE_LIMIT_COUNT] = {
        [SIZE_GIVEN] = "given",
        [SIZE_CLASS] = "class",
        [SIZE_MECHANICAL] = "mechanical",
        [SIZE_PLAIN_DROP] = "plain drop",
        [SIZE_HOT_DROP] = "hot drop",
        [SIZE_FREE_AIR] = "bundle current",
        [SIZE_TABLE] = "published current",
        [SIZE_PROTECTION] = "protection",
        [SIZE_CONTACT] = "contact",
        [SIZE_PAIRED] = "pair",
    };
    return limit < SIZE_LIMIT_COUNT ? NAMES[limit] : "";
}

const char *sizing_unit(SizeLimit which) {
    switch (which) {
    case SIZE_PLAIN_DROP:
    case SIZE_HOT_DROP:
        return "V";
    case SIZE_FREE_AIR:
    case SIZE_TABLE:
    case SIZE_PROTECTION:
        return "A";
    case SIZE_GIVEN:
    case SIZE_CLASS:
    case SIZE_MECHANICAL:
    case SIZE_CONTACT:
    case SIZE_PAIRED:
    case SIZE_LIMIT_COUNT:
        break;
    }
    return "AWG";
}

const char *sizing_awg_text(Arena *arena, int32_t awg) {
    char text[UNITS_AWG_TEXT];
    return awg == INT_BLANK ? "" : arena_format(arena, "AWG %s", units_awg_format(awg, text));
}

const char *sizing_source(const SizeDetail *detail, CableId cable, SizeLimit which) {
    const TableSet *set = detail->model->set;
    const Net *net = &detail->wiring->nets[detail->wiring->cables[cable].net];
    switch (which) {
    case SIZE_GIVEN:
        return "the job's own row";
    case SIZE_CLASS:
        return set->interface.rows[net->class_id].source;
    case SIZE_MECHANICAL:
        return model_limit_row(detail->model, "smallest_awg")->source;
    case SIZE_PLAIN_DROP:
    case SIZE_HOT_DROP: {
        uint32_t feeder =
            sizing_worst_feeder(detail, cable, which == SIZE_PLAIN_DROP ? DROP_PLAIN : DROP_HOT);
        if (feeder != ID_NONE && detail->feeders.rows[feeder].load == ID_NONE) {
            return model_limit_row(detail->model, "feeder_drop")->source;
        }
        return which == SIZE_PLAIN_DROP
                   ? "AC 43.13-1B Table 11-6, resistance Table 11-9"
                   : "AC 43.13-1B Table 11-6, conductor temperature par. 11-66d(6)";
    }
    case SIZE_FREE_AIR:
        return "AC 43.13-1B par. 11-66..11-69: free air x bundle x altitude";
    case SIZE_TABLE:
        return "AC 43.13-1B Table 11-9";
    case SIZE_PROTECTION:
        return "AC 43.13-1B Table 11-3";
    case SIZE_CONTACT:
        return "library table `contact`";
    case SIZE_PAIRED:
        return "shop rule: a return is no thinner than its feed";
    case SIZE_LIMIT_COUNT:
        break;
    }
    return "";
}

/* --- limits -------------------------------------------------------------------------------------
 */

/* Thickest gauge that something at the cable's ends or on its way demands: a contact takes no
 * thinner wire. INT_BLANK when nothing does. */
static int32_t contact_smallest(const SizeDetail *detail, CableId c, uint32_t place) {
    const Model *model = detail->model;
    const Cable *cable = &detail->wiring->cables[c];
    int32_t smallest = INT_BLANK;
    ContactId contacts[3];
    for (uint16_t core = 0; core < cable->conductor_count; core++) {
        const Conductor *wire = &detail->wiring->conductors[cable->conductor_first + core];
        contacts[0] = model->pins[wire->from].contact;
        contacts[1] = model->pins[wire->to].contact;
        for (int i = 0; i < 2; i++) {
            int32_t awg = contacts[i] == ID_NONE
                              ? INT_BLANK
                              : model->set->contact.rows[contacts[i]].smallest_awg;
            if (awg != INT_BLANK && (smallest == INT_BLANK || awg < smallest)) {
                smallest = awg;
            }
        }
    }
    for (uint32_t i = detail->limits.crossing_first[c]; i < detail->limits.crossing_first[c + 1];
         i++) {
        uint32_t shell = limits_shell(&detail->limits, detail->limits.crossings[i], c, place);
        ContactId contact = shell == ID_NONE ? ID_NONE : detail->limits.shell_contact[shell];
        int32_t awg =
            contact == ID_NONE ? INT_BLANK : model->set->contact.rows[contact].smallest_awg;
        if (awg != INT_BLANK && (smallest == INT_BLANK || awg < smallest)) {
            smallest = awg;
        }
    }
    return smallest;
}

static bool contact_takes(const SizeDetail *detail, ContactId contact, int32_t awg) {
    int32_t largest =
        contact == ID_NONE ? INT_BLANK : detail->model->set->contact.rows[contact].largest_awg;
    return largest == INT_BLANK || awg >= largest;
}

uint32_t sizing_fitting(const SizeDetail *detail, CableId c) {
    const Cable *cable = &detail->wiring->cables[c];
    const Limits *limits = &detail->limits;
    uint32_t fitting = 0;
    for (uint32_t place = 0; place < limits->gauge_count; place++) {
        int32_t awg = limits->gauges[place].awg;
        bool fits = true;
        for (uint16_t core = 0; core < cable->conductor_count && fits; core++) {
            const Conductor *wire = &detail->wiring->conductors[cable->conductor_first + core];
            fits = contact_takes(detail, detail->model->pins[wire->from].contact, awg) &&
                   contact_takes(detail, detail->model->pins[wire->to].contact, awg);
        }
        for (uint32_t i = limits->crossing_first[c]; i < limits->crossing_first[c + 1] && fits;
             i++) {
            uint32_t shell = limits_shell(limits, limits->crossings[i], c, place);
            fits = shell == ID_NONE || contact_takes(detail, limits->shell_contact[shell], awg);
        }
        fitting = fits ? place : fitting;
    }
    return fitting;
}

/* A gauge against the thinnest allowed, both as gauge numbers, which fall as the wire grows. */
static bool gauge_holds(int32_t awg, int32_t smallest, bool *says, double *value, double *limit) {
    *says = smallest != INT_BLANK;
    *value = awg;
    *limit = smallest;
    return !*says || awg <= smallest;
}

static bool current_holds(double current_a, double allowed_a, bool *says, double *value,
                          double *limit) {
    *says = current_a > 0.0;
    *value = current_a;
    *limit = isnan(allowed_a) ? 0.0 : allowed_a; /* no figure: not proved */
    return !*says || current_a <= *limit;
}

/* The device of the cable's wires, where it must protect them: on the way from the source. */
static OwnerId protecting(const SizeDetail *detail, CableId c) {
    ConductorId wire = detail->wiring->cables[c].conductor_first;
    bool feed = detail->feeders.role[wire] == WIRE_FEED;
    return feed && !detail->feeders.crank[wire] ? detail->feeders.device[wire] : ID_NONE;
}

static bool protection_holds(const SizeDetail *detail, CableId c, uint32_t place, bool *says,
                             double *value, double *limit) {
    OwnerId device = protecting(detail, c);
    *says = false;
    if (device == ID_NONE) {
        return true;
    }
    const ModelOwner *owner = &detail->model->owners[device];
    double rating_a = detail->sizing->rating_a[owner->row];
    if (isnan(rating_a) || owner->part == ID_NONE) {
        return true;
    }
    bool fuse = strcmp(detail->model->set->device.rows[owner->part].family, "fuse") == 0;
    double most_a =
        detail->limits.gauges[place].protector_a[fuse ? PROTECTOR_FUSE : PROTECTOR_BREAKER];
    *says = true;
    *value = rating_a;
    *limit = isnan(most_a) ? 0.0 : most_a; /* no entry: not proved */
    return rating_a <= *limit;
}

static bool drop_holds(const SizeDetail *detail, CableId c, SizeDrop kind, uint32_t place, bool all,
                       bool *says, double *value, double *limit) {
    double worst = -(double)INFINITY;
    *says = false;
    for (uint32_t u = detail->use_first[c]; u < detail->use_first[c + 1];) {
        uint32_t f = detail->uses[u].feeder;
        double limit_v = detail->feeders.rows[f].limit_v;
        double drop_v = detail->drop_v[kind][f];
        for (; u < detail->use_first[c + 1] && detail->uses[u].feeder == f; u++) {
            ConductorId wire = detail->uses[u].wire;
            drop_v += sizing_volts(detail, kind, wire, place) - detail->volts[kind][wire];
        }
        if (isnan(limit_v) || (!all && detail->given_up[kind][f])) {
            continue;
        }
        if (drop_v - limit_v > worst) {
            worst = drop_v - limit_v;
            *says = true;
            *value = drop_v;
            *limit = limit_v;
        }
    }
    return worst <= SIZE_SAME_V;
}

/* The thinnest gauge among the feeds this cable returns; a return may be no thinner. */
static bool pair_holds(const SizeDetail *detail, CableId c, uint32_t place, bool *says,
                       double *value, double *limit) {
    uint32_t needed = 0;
    *says = false;
    const Feeders *feeders = &detail->feeders;
    for (uint32_t i = feeders->pair_first[c]; i < feeders->pair_first[c + 1]; i++) {
        uint32_t feed = detail->place[feeders->pairs[i]];
        if (feed != GAUGE_NONE && (!*says || feed > needed)) {
            needed = feed;
            *says = true;
        }
    }
    if (!*says) {
        return true;
    }
    *value = detail->limits.gauges[place].awg;
    *limit = detail->limits.gauges[needed].awg;
    return place >= needed;
}

bool sizing_holds(const SizeDetail *detail, CableId c, SizeLimit which, uint32_t place, bool all,
                  bool *says, double *value, double *limit) {
    const Cable *cable = &detail->wiring->cables[c];
    const Net *net = &detail->wiring->nets[cable->net];
    const Gauge *gauge = &detail->limits.gauges[place];
    bool crank = detail->feeders.crank[cable->conductor_first];
    double current_a = crank ? 0.0 : detail->cable_a[c];
    *says = false;
    switch (which) {
    case SIZE_CLASS:
        return gauge_holds(gauge->awg,
                           detail->model->set->interface.rows[net->class_id].smallest_awg, says,
                           value, limit);
    case SIZE_MECHANICAL:
        return cable->part != ID_NONE ||
               gauge_holds(gauge->awg, detail->mechanical_awg, says, value, limit);
    case SIZE_PLAIN_DROP:
        return drop_holds(detail, c, DROP_PLAIN, place, all, says, value, limit);
    case SIZE_HOT_DROP:
        return drop_holds(detail, c, DROP_HOT, place, all, says, value, limit);
    case SIZE_FREE_AIR:
        if (current_a <= 0.0) {
            return true;
        }
        return current_holds(current_a, limits_allowed_a(&detail->limits, c, place), says, value,
                             limit);
    case SIZE_TABLE:
        return current_holds(current_a, gauge->worst_bundle_a, says, value, limit);
    case SIZE_PROTECTION:
        return protection_holds(detail, c, place, says, value, limit);
    case SIZE_CONTACT:
        return gauge_holds(gauge->awg, contact_smallest(detail, c, place), says, value, limit);
    case SIZE_PAIRED:
        return pair_holds(detail, c, place, says, value, limit);
    case SIZE_GIVEN:
    case SIZE_LIMIT_COUNT:
        break;
    }
    return true;
}

uint32_t sizing_worst_feeder(const SizeDetail *detail, CableId c, SizeDrop kind) {
    uint32_t worst = ID_NONE;
    double most = -(double)INFINITY;
    for (uint32_t u = detail->use_first[c]; u < detail->use_first[c + 1]; u++) {
        uint32_t f = detail->uses[u].feeder;
        double over = detail->drop_v[kind][f] - detail->feeders.rows[f].limit_v;
        if (over > most) {
            most = over;
            worst = f;
        }
    }
    return worst;
}

/* --- choices ------------------------------------------------------------------------------------
 */

/* The thinnest usual gauge that keeps a limit: from the cable's own gauge down while it holds, or
 * up while it does not. False when the limit has no say; *smallest is GAUGE_NONE when no gauge
 * does. */
static bool smallest_for(const SizeDetail *detail, CableId c, SizeLimit which, bool all,
                         uint32_t *smallest) {
    bool says = false;
    double value = 0.0;
    double limit = 0.0;
    uint32_t place = detail->place[c];
    bool held = sizing_holds(detail, c, which, place, all, &says, &value, &limit);
    if (!says) {
        return false;
    }
    if (!held) {
        while (place != GAUGE_NONE &&
               !sizing_holds(detail, c, which, place, all, &says, &value, &limit)) {
            place = limits_thicker(&detail->limits, place);
        }
        *smallest = place;
        return true;
    }
    for (;;) {
        uint32_t next = limits_thinner(&detail->limits, place);
        if (next == GAUGE_NONE ||
            !sizing_holds(detail, c, which, next, all, &says, &value, &limit)) {
            break;
        }
        place = next;
    }
    *smallest = place;
    return true;
}

static void choose_limit(const SizeDetail *detail, CableId c, SizeLimit which, bool all,
                         GaugeChoice *choice) {
    uint32_t smallest = GAUGE_NONE;
    if (!smallest_for(detail, c, which, all, &smallest)) {
        return;
    }
    const Limits *limits = &detail->limits;
    bool says = false;
    uint32_t asked = smallest == GAUGE_NONE ? detail->place[c] : limits_thinner(limits, smallest);
    /* No gauge keeps it: told for the thickest there is; it then asks for more than that. */
    choice->smallest_awg[which] =
        smallest == GAUGE_NONE ? UNITS_AWG_THICKEST - 1 : limits->gauges[smallest].awg;
    if (asked != GAUGE_NONE) {
        sizing_holds(detail, c, which, asked, all, &says, &choice->value[which],
                     &choice->limit[which]);
    }
}

static void pick_governing(const SizeDetail *detail, CableId c, GaugeChoice *choice) {
    choice->governing = SIZE_LIMIT_COUNT;
    choice->runner_up = SIZE_LIMIT_COUNT;
    if (detail->fixed[c] == SIZE_BY_ROW || detail->fixed[c] == SIZE_BY_OVERRIDE) {
        choice->governing = SIZE_GIVEN;
    } else if (detail->fixed[c] == SIZE_BY_CABLE) {
        choice->governing = SIZE_CLASS;
    }
    for (int rank = 0; rank < 2; rank++) {
        SizeLimit *slot = rank == 0 ? &choice->governing : &choice->runner_up;
        if (*slot != SIZE_LIMIT_COUNT) {
            continue;
        }
        for (int i = 0; i < SIZE_LIMIT_COUNT; i++) {
            int32_t awg = choice->smallest_awg[i];
            bool taken = rank == 1 && i == (int)choice->governing;
            if (awg != INT_BLANK && !taken &&
                (*slot == SIZE_LIMIT_COUNT || awg < choice->smallest_awg[*slot])) {
                *slot = (SizeLimit)i;
            }
        }
    }
}

void sizing_choose(SizeDetail *detail, CableId c) {
    const Cable *cable = &detail->wiring->cables[c];
    if (cable->conductor_count == 0) {
        return; /* its ends have no pins: reported by the model */
    }
    GaugeChoice choice = {.awg = detail->sizing->awg[cable->conductor_first]};
    for (int i = 0; i < SIZE_LIMIT_COUNT; i++) {
        choice.smallest_awg[i] = INT_BLANK;
        choice.value[i] = (double)NAN;
        choice.limit[i] = (double)NAN;
    }
    if (detail->fixed[c] != SIZE_FREE && choice.awg != INT_BLANK) {
        choice.smallest_awg[detail->fixed[c] == SIZE_BY_CABLE ? SIZE_CLASS : SIZE_GIVEN] =
            choice.awg;
    }
    if (detail->place[c] != GAUGE_NONE) {
        bool all = detail->fixed[c] != SIZE_FREE;
        for (int i = 0; i < SIZE_LIMIT_COUNT; i++) {
            if (i != SIZE_GIVEN && (i != SIZE_CLASS || detail->fixed[c] != SIZE_BY_CABLE)) {
                choose_limit(detail, c, (SizeLimit)i, all, &choice);
            }
        }
    }
    pick_governing(detail, c, &choice);
    for (uint16_t core = 0; core < cable->conductor_count; core++) {
        detail->sizing->choices[cable->conductor_first + core] = choice;
    }
}
