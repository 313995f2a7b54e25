/* The model: a job and the library it reaches as one constant thing. Rows stay in the table set
 * they were read into; the model adds what names refer to (as indices), the ends of every circuit
 * (terminals and their pins), and what is bolted together without a wire. Built once, then only
 * read: passes take `const Model *`.
 *
 * Ids are indices. Where an entity is a row of one table its id is the row's index in the sorted
 * set (node, segment, zone, module, interface class, bus, unit, wire, cable, shell, contact ...),
 * so `model->set->node.rows[id]` is its row. */
#ifndef MODEL_MODEL_H
#define MODEL_MODEL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/findings.h"
#include "base/text.h"
#include "table/rows.h"

/* Plain integers and not one struct type each: kernels index arrays with them all the time. */
typedef uint32_t NodeId;     /* row of `node` */
typedef uint32_t SegmentId;  /* row of `segment` */
typedef uint32_t ZoneId;     /* row of `zone` */
typedef uint32_t ModuleId;   /* row of `module` */
typedef uint32_t ClassId;    /* row of `interface` */
typedef uint32_t BusId;      /* row of `bus` */
typedef uint32_t PartId;     /* row of `part` */
typedef uint32_t ContactId;  /* row of `contact` */
typedef uint32_t ShellId;    /* row of `shell` (a kind of shell) */
typedef uint32_t OwnerId;    /* index into Model.owners */
typedef uint32_t TerminalId; /* index into Model.terminals */
typedef uint32_t PinId;      /* index into Model.pins */
#define ID_NONE UINT32_MAX

typedef enum OwnerKind {
    OWNER_UNIT,       /* row of `unit` */
    OWNER_PROTECTION, /* row of `protection` */
    OWNER_SWITCHGEAR, /* row of `switchgear` */
    OWNER_BAR,        /* row of `bus`: a bus bar or stud of its own */
    OWNER_GROUND,     /* row of `ground_point` */
    OWNER_ANTENNA     /* row of `antenna` */
} OwnerKind;

/* Anything that has terminals. Sorted by tag. */
typedef struct ModelOwner {
    OwnerKind kind;
    uint32_t row; /* in the table of its kind */
    const char *tag;
    NodeId node;
    double stub_mm;
    ModuleId module; /* of the unit; for the others that of the node */
    PartId part;     /* row of `part` for units; `device` for protection; `switch_part` for
                        switchgear; ID_NONE else */
    TerminalId terminal_first; /* its terminals are together */
    uint32_t terminal_count;
} ModelOwner;

typedef enum Direction {
    DIRECTION_NONE,
    DIRECTION_IN,
    DIRECTION_OUT,
    DIRECTION_BI,
    DIRECTION_RET
} Direction;
typedef enum Level { LEVEL_NONE, LEVEL_LOW, LEVEL_HIGH, LEVEL_ANALOGUE } Level;

/* One end of circuits: a port of a unit (all its cores), a terminal of a device, a ground tab.
 * Sorted by owner, then name. */
typedef struct ModelTerminal {
    const char *end;  /* "PD1.PWR": what people write */
    const char *name; /* "PWR" */
    OwnerId owner;
    uint32_t port;    /* row of `port`, ID_NONE when the owner is no unit */
    ClassId class_id; /* of the port; ID_NONE for terminals of devices, bars, grounds */
    Direction direction;
    Level level;
    NodeId node; /* the owner's, or a lug's */
    double stub_mm;
    PinId pin_first; /* its pins are together, in core order */
    uint16_t pin_count;
} ModelTerminal;

/* One core of a terminal: where one conductor lands. */
typedef struct ModelPin {
    TerminalId terminal;
    uint16_t core;         /* from 0 */
    const char *connector; /* "J1"; "" for studs */
    const char *cavity;    /* "14"; "" for studs */
    ShellId shell;         /* ID_NONE for studs */
    ContactId contact;     /* how the wire is held; ID_NONE when the library does not say */
} ModelPin;

/* Two terminals that are one piece of metal without any wire: a breaker on its bar, the second
 * stud of a contactor, the tabs of a ground block. Joins core 0 of both (and core k to core k). */
typedef struct ModelJoint {
    TerminalId a;
    TerminalId b;
} ModelJoint;

typedef enum FeedStepKind { STEP_PROTECTION, STEP_SWITCHGEAR, STEP_UNIT } FeedStepKind;

/* One device that a feed passes, with the terminals it enters and leaves by. */
typedef struct FeedStep {
    FeedStepKind kind;
    OwnerId owner;
    TerminalId in;
    TerminalId out;
    bool in_bolted;  /* no wire before it: bolted on a bus or on the step before */
    bool out_bolted; /* no wire after it */
} FeedStep;

/* A row of `feed`, resolved. Row index = feed index. */
typedef struct ModelFeed {
    BusId from_bus;      /* ID_NONE when it leaves from a port */
    TerminalId start;    /* the end the first wire leaves from: the bus's stud, or a port */
    uint32_t step_first; /* into Model.steps */
    uint32_t step_count;
    BusId to_bus;          /* ID_NONE when it supplies ports */
    uint32_t target_first; /* into Model.targets: ports in chain order; the bus's stud alone */
    uint32_t target_count;
    bool usable; /* false: a name in it is unknown (already reported) */
} ModelFeed;

/* A row of `ground`, `link` or `pin_net`, resolved to terminals in the order written. */
typedef struct ModelEnds {
    uint32_t first; /* into Model.targets */
    uint32_t count;
    bool usable;
} ModelEnds;

/* A row of `bus`, resolved. */
typedef struct ModelBus {
    TerminalId stud;
    BusId counts_in; /* itself when the row says nothing */
} ModelBus;

typedef struct Model {
    const TableSet *set;

    ModelOwner *owners;
    uint32_t owner_count;
    ModelTerminal *terminals;
    uint32_t terminal_count;
    ModelPin *pins;
    uint32_t pin_count;
    ModelJoint *joints;
    uint32_t joint_count;

    NameMap owner_by_tag;    /* tag -> OwnerId */
    NameMap terminal_by_end; /* "PD1.PWR" -> TerminalId */
    NameMap node_by_name;    /* -> NodeId */
    NameMap bus_by_name;     /* -> BusId */
    NameMap class_by_name;   /* -> ClassId */
    NameMap phase_by_name;   /* -> row of `phase` */

    ModelBus *buses;     /* by BusId */
    ModelFeed *feeds;    /* by row of `feed` */
    ModelEnds *grounds;  /* by row of `ground` */
    ModelEnds *links;    /* by row of `link`; a group stands for its ports, see link_group */
    ModelEnds *pin_nets; /* by row of `pin_net` */
    bool *link_grouped;  /* by row of `link`: its ends are groups of ports: targets hold, for each
                            end, any one port of the group; the wire pass crosses them */
    FeedStep *steps;
    uint32_t step_count;
    TerminalId *targets;
    uint32_t target_count;

    ZoneId *node_zone;     /* by NodeId */
    ModuleId *node_module; /* by NodeId */
    NodeId *segment_a;     /* by SegmentId */
    NodeId *segment_b;
    ZoneId *segment_zone;
    double *segment_length_mm; /* given, or straight between the nodes (unrounded) */

    uint32_t *part_port_first; /* by PartId: its rows of `port` are together */
    uint32_t *part_port_count;
    uint32_t *class_cable; /* by ClassId: row of `cable`, ID_NONE when laid as single wires */
} Model;

/* Builds the model of a checked, sorted set (table_check). What does not fit together becomes
 * findings; the model holds all that does, so that later passes report too. Returns false when
 * there is nothing to work with (no job row, or no node). Everything lives in `arena`, which must
 * also hold the set. */
bool model_build(Arena *arena, const TableSet *set, Model *model, Findings *findings);

/* The row of `limit` with that name; `value` is the job's rule_limit when there is one. The library
 * test proves that every name used in the source exists; a missing one is our error. */
double model_limit(const Model *model, const char *name);
const LimitRow *model_limit_row(const Model *model, const char *name);

/* The terminal of that end, ID_NONE when there is none. */
TerminalId model_terminal(const Model *model, const char *end);

/* The owner of that tag, ID_NONE when there is none. */
OwnerId model_owner(const Model *model, const char *tag);

/* The name map's value of `name` in a sorted table is its row: row index of a unit, device, switch
 * part ... by key, ID_NONE when there is none. Binary search in the sorted table; one-column keys.
 */
uint32_t model_row(const Model *model, TableId table, const char *key);

/* First row and number of rows of a table sorted by its key whose first key column is `key`. */
uint32_t model_rows_of(const Model *model, TableId table, const char *key, uint32_t *count);

/* "PD1.J1-14" for a pin of a connector, "KM.B" for a stud, "SW_FLAP.M/2" for a second core. */
const char *model_pin_text(const Model *model, Arena *arena, PinId pin);

/* "in", "out", "bi", "ret", as the library writes it; "" for none. */
const char *model_direction_name(Direction direction);

/* True when the unit is one that needs neither device nor ground by its kind of supply: passive,
 * own battery, case-grounded or a source. */
bool model_owner_is_exempt(const Model *model, OwnerId owner);

#endif
