/* A direct-current network as plain arrays: what a solver is given, free of tables and jobs. Nodes
 * are 0..node_count-1; node 0 is the reference (the structure, 0 V). Every element has two ends and
 * its id is its place in the array of its kind. Each kind's law is said above its struct; the load
 * law is network_load_a(). The equations and their sources are in docs/theory/solve.md. */
#ifndef POWER_NETWORK_H
#define POWER_NETWORK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"

#define NETWORK_NONE UINT32_MAX

/* The kinds of element, in the order in which ties between them are settled. */
typedef enum NetworkKind {
    NETWORK_RESISTOR,
    NETWORK_CONTACT,
    NETWORK_COIL,
    NETWORK_DIODE,
    NETWORK_BATTERY,
    NETWORK_ALTERNATOR,
    NETWORK_LOAD,
    NETWORK_KIND_COUNT
} NetworkKind;

/* Every `ohm` below is > 0. INFINITY means broken open: the element keeps its place in the network
 * and carries nothing. "Bolted" is a small number of the caller's choice, not 0. */

/* A conductor, a crimp, a closed device: v(a) - v(b) = ohm * current. */
typedef struct NetworkResistor {
    uint32_t a, b;
    double ohm;
} NetworkResistor;

/* A switch or relay contact: a resistor when closed, nothing when open. With coil == NETWORK_NONE a
 * person (or a failure: stuck, welded) has set it and the state says how; otherwise it follows the
 * coil: normally open contacts have closed_when_energised, normally closed ones not. */
typedef struct NetworkContact {
    uint32_t a, b;
    double ohm;
    uint32_t coil;
    bool closed_when_energised;
} NetworkContact;

/* The coil of a relay or contactor: a resistor. Picks up at |v| >= pickup_v, lets go at
 * |v| < dropout_v, keeps its state between (0 <= dropout_v <= pickup_v). */
typedef struct NetworkCoil {
    uint32_t plus, minus;
    double ohm;
    double pickup_v;
    double dropout_v;
} NetworkCoil;

/* On: v(anode) - v(cathode) = drop_v + ohm * current, current >= 0. Off: no current and
 * v(anode) - v(cathode) <= drop_v. */
typedef struct NetworkDiode {
    uint32_t anode, cathode;
    double drop_v; /* >= 0 */
    double ohm;
} NetworkDiode;

/* v(plus) - v(minus) = open_v - ohm * current delivered; the current may be negative (charged). */
typedef struct NetworkBattery {
    uint32_t plus, minus;
    double open_v;
    double ohm;
} NetworkBattery;

/* With u = v(plus) - v(minus), current delivered i:
 *   regulating  u = set_v - slope_ohm * i,  0 <= i <= limit_a
 *   limiting    i = limit_a,                u <= set_v - slope_ohm * limit_a
 *   blocked     i = 0,                      u >= set_v   (its rectifier takes no reverse current)
 * Not running, or with limit_a 0, it carries nothing and is no source. What excites the field and
 * how far limit_a falls with engine speed is the caller's business. */
typedef struct NetworkAlternator {
    uint32_t plus, minus;
    double set_v;     /* at no load, > 0 */
    double slope_ohm; /* > 0, finite */
    double limit_a;   /* >= 0 */
    bool running;
} NetworkAlternator;

typedef enum NetworkLoadKind {
    NETWORK_LOAD_RESISTANCE,
    NETWORK_LOAD_CURRENT,
    NETWORK_LOAD_POWER
} NetworkLoadKind;

/* A box's supply port: draws nominal_a at nominal_v and otherwise follows its kind; cuts out below
 * minimum_v (0: never) and comes back at minimum_v + hysteresis_v. While cut it draws nothing. */
typedef struct NetworkLoad {
    uint32_t plus, minus;
    NetworkLoadKind kind;
    double nominal_a;    /* >= 0 */
    double nominal_v;    /* > 0 */
    double minimum_v;    /* >= 0 */
    double hysteresis_v; /* >= 0 */
} NetworkLoad;

/* The network. The arrays belong to the caller. Between runs of one plan the caller may change
 * every number and flag in them, but no node, no count and no load kind. */
typedef struct Network {
    uint32_t node_count; /* at least 1; node 0 is the reference */
    NetworkResistor *resistors;
    uint32_t resistor_count;
    NetworkContact *contacts;
    uint32_t contact_count;
    NetworkCoil *coils;
    uint32_t coil_count;
    NetworkDiode *diodes;
    uint32_t diode_count;
    NetworkBattery *batteries;
    uint32_t battery_count;
    NetworkAlternator *alternators;
    uint32_t alternator_count;
    NetworkLoad *loads;
    uint32_t load_count;
} Network;

typedef enum NetworkAlternatorMode {
    NETWORK_ALTERNATOR_REGULATING,
    NETWORK_ALTERNATOR_LIMITING,
    NETWORK_ALTERNATOR_BLOCKED
} NetworkAlternatorMode;

/* What the elements remember: one entry an element of the kind, arrays as long as the network's.
 * Contacts, cut-outs and coils have a memory (their state depends on what was before); diodes and
 * alternators have none, their entry is a first guess that saves work. */
typedef struct NetworkState {
    bool *contact_closed; /* of a contact with a coil: an output, follows the coil */
    bool *coil_energised;
    bool *load_on; /* false: has cut out */
    bool *diode_on;
    NetworkAlternatorMode *alternator_mode;
} NetworkState;

/* A state for `network` with nothing energised: contacts without a coil open, the others at rest,
 * loads on, diodes on, alternators regulating. */
NetworkState network_state_rest(Arena *arena, const Network *network);

/* The same into the arrays of a state that exists. */
void network_state_rest_set(NetworkState *state, const Network *network);

/* A copy of `state` in `arena`. */
NetworkState network_state_copy(Arena *arena, const Network *network, const NetworkState *state);

/* Copies `from` into the arrays of `to` (both for `network`). */
void network_state_set(NetworkState *to, const Network *network, const NetworkState *from);

/* The two ends of element `index` of `kind`: a and b, plus and minus, anode and cathode. */
void network_element_ends(const Network *network, NetworkKind kind, uint32_t index,
                          uint32_t ends[2]);

/* The count of elements of `kind`. */
uint32_t network_kind_count(const Network *network, NetworkKind kind);

/* The sum of all source voltages (batteries' open_v, running alternators' set_v): no two nodes can
 * ever be further apart, so the load law above it changes no solution. */
double network_ceiling_v(const Network *network);

/* A load with less than this share of its nominal voltage has none. */
#define NETWORK_LOAD_NOTHING 1e-6

/* The fraction of its nominal voltage below which a current or power load behaves as a resistance
 * (a converter's input below its start-up voltage; common practice, no source). */
#define NETWORK_LOAD_KNEE 0.5

/* The current in A that `load`, on, draws at u_v = v(plus) - v(minus), and its derivative in S.
 * With k = NETWORK_LOAD_KNEE * nominal_v, c = ceiling_v, P = nominal_a * nominal_v:
 *   RESISTANCE  i = nominal_a * u / nominal_v                     everywhere
 *   CURRENT     i = nominal_a          for k <= u <= c;   nominal_a * u / k  below, u / c above
 *   POWER       i = P / u              for k <= u <= c;   P * u / k^2        below, P u / c^2 above
 * Continuous everywhere, and odd voltages (reversed, above every source) are resistances. If c < k
 * the middle part is empty and the law below it holds everywhere. */
double network_load_a(const NetworkLoad *load, double u_v, double ceiling_v, double *slope_s);

#endif
