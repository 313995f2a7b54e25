/* Every rule that can make a finding: one line each, in the order of the passes. The name is what
 * people see, write in `accept` rows and find in docs/rules.md; it never changes meaning. The
 * severity is the one a finding starts with (an accepted one is lowered when it is shown).
 *
 * R(identifier, name, severity, what is wrong, source) */
#ifndef BASE_RULES_H
#define BASE_RULES_H

/* read: what a file says that can't be taken */
#define READ_RULES(R)                                                                              \
    R(READ_FILE, "read.file", UNREADABLE, "a file or folder can't be read", "shop rule")           \
    R(READ_TEXT, "read.text", UNREADABLE, "a file is not a table of text", "RFC 4180; UTF-8")      \
    R(READ_TABLE, "read.table", UNREADABLE, "no such table", "docs/tables.md")                     \
    R(READ_COLUMN, "read.column", UNREADABLE, "no such column", "docs/tables.md")                  \
    R(READ_VALUE, "read.value", UNREADABLE, "a value can't be understood", "docs/tables.md")       \
    R(READ_DATE, "read.date", UNREADABLE, "a spreadsheet turned this value into a date",           \
      "docs/tables.md")                                                                            \
    R(READ_MISSING, "read.missing", UNREADABLE, "a needed value is blank", "docs/tables.md")       \
    R(READ_DUPLICATE, "read.duplicate", UNREADABLE, "two rows with one key", "docs/tables.md")     \
    R(READ_REFERENCE, "read.reference", UNREADABLE, "no such row in the table referred to",        \
      "docs/tables.md")                                                                            \
    R(READ_RANGE, "read.range", UNREADABLE, "a number outside what is possible", "docs/tables.md") \
    R(READ_MANY, "read.many", UNREADABLE, "more errors than are listed", "shop rule")

/* model: rows that are each right and do not fit together */
#define MODEL_RULES(R)                                                                             \
    R(MODEL_JOB, "model.job", UNREADABLE, "there is no job to work with", "docs/tables.md")        \
    R(MODEL_TAG, "model.tag", ERROR, "one tag for two things",                                     \
      "shop rule: tags keep their meaning")                                                        \
    R(MODEL_END, "model.end", ERROR, "a row names an end that is not there", "docs/tables.md")     \
    R(MODEL_STEP, "model.step", ERROR, "a feed passes what is not there", "docs/tables.md")        \
    R(MODEL_BOLT, "model.bolt", ERROR, "a device is bolted on what is not there",                  \
      "docs/tables.md")                                                                            \
    R(MODEL_PIN, "model.pin", ERROR, "the pin table of a box contradicts itself",                  \
      "docs/tables.md")                                                                            \
    R(MODEL_SEGMENT, "model.segment", ERROR, "a segment leads nowhere", "docs/tables.md")          \
    R(MODEL_SHORT, "model.short", WARNING, "a segment shorter than its nodes are apart", "geometry")

/* wire: circuits */
#define WIRE_RULES(R)                                                                              \
    R(WIRE_NAME, "wire.name", ERROR, "two circuits with one name", "shop rule")                    \
    R(WIRE_ONE_END, "wire.one_end", ERROR, "a circuit with one end", "shop rule")                  \
    R(WIRE_SPARE, "wire.spare", ERROR, "a declared spare that leads somewhere", "shop rule")       \
    R(WIRE_TWICE, "wire.twice", ERROR, "an end that stands twice in one circuit", "shop rule")     \
    R(WIRE_PIN, "wire.pin", ERROR, "a pin in two circuits", "shop rule")                           \
    R(WIRE_LUGS, "wire.lugs", ERROR, "too many lugs on one stud", "AC 43.13-1B par. 11-174b")      \
    R(WIRE_TABS, "wire.tabs", ERROR, "more ground tabs in use than there are", "shop rule")        \
    R(WIRE_JOIN, "wire.join", ERROR, "more than two ends and no way to join them", "shop rule")    \
    R(WIRE_CLASS, "wire.class", ERROR, "ports of different classes on one circuit",                \
      "the library's interface rows")                                                              \
    R(WIRE_NO_CLASS, "wire.no_class", ERROR, "a circuit without class", "shop rule")               \
    R(WIRE_CORES, "wire.cores", ERROR, "an end with another number of cores than its class",       \
      "the library's interface rows")                                                              \
    R(WIRE_TALKERS, "wire.talkers", ERROR, "too many talkers, or nobody talks",                    \
      "the library's interface rows")                                                              \
    R(WIRE_LISTENERS, "wire.listeners", ERROR, "more listeners than one talker can drive",         \
      "the library's interface rows")                                                              \
    R(WIRE_ENDS, "wire.ends", ERROR, "more ends than the class allows",                            \
      "the library's interface rows")                                                              \
    R(WIRE_LEVEL, "wire.level", ERROR, "a port without active level",                              \
      "the library's interface rows")                                                              \
    R(WIRE_LEVELS, "wire.levels", ERROR, "active levels that disagree",                            \
      "the library's interface rows")                                                              \
    R(WIRE_CROSS, "wire.cross", ERROR, "groups of ports that can't be crossed", "shop rule")       \
    R(WIRE_GROUND, "wire.ground", ERROR, "a box without ground", "shop rule")                      \
    R(WIRE_FEED, "wire.feed", ERROR, "a supply port without supply", "shop rule")                  \
    R(WIRE_DEVICE, "wire.device", ERROR, "a feed without protective device",                       \
      "AC 43.13-1B par. 11-48")                                                                    \
    R(WIRE_TERMINATOR, "wire.terminator", ERROR, "terminators not as the class wants them",        \
      "the library's interface rows")                                                              \
    R(WIRE_SHIELD, "wire.shield", ERROR, "a shield not grounded as the class wants it",            \
      "the library's interface rows")                                                              \
    R(WIRE_ALLOT, "wire.allot", ERROR, "kept wire keys that contradict each other", "shop rule")   \
    R(WIRE_UNIT, "wire.unit", WARNING, "a box that nothing is connected to", "shop rule")          \
    R(WIRE_PORT, "wire.port", NOTE, "ports that nothing is connected to", "shop rule")

/* route: ways and bundles */
#define ROUTE_RULES(R)                                                                             \
    R(ROUTE_NONE, "route.none", ERROR, "no way leads from one node to the other", "geometry")      \
    R(ROUTE_CLASS, "route.class", ERROR, "a segment is kept for a class that is not there",        \
      "the library's interface rows")                                                              \
    R(ROUTE_LOOSE, "route.loose", WARNING, "a node that no segment leads to", "geometry")          \
    R(ROUTE_DEAD_END, "route.dead_end", NOTE, "a segment that leads nowhere", "geometry")          \
    R(ROUTE_APART, "route.apart", WARNING, "classes to be kept apart share a way",                 \
      "the job's apart rows")                                                                      \
    R(ROUTE_BUNDLE, "route.bundle", ERROR, "too many cables in one bundle",                        \
      "FAA powerplant handbook, wire groups")                                                      \
    R(ROUTE_DIAMETER, "route.diameter", WARNING, "a bundle too thick",                             \
      "FAA powerplant handbook, wire groups")                                                      \
    R(ROUTE_FILL, "route.fill", ERROR, "a conduit or hole too full", "shop rule")                  \
    R(ROUTE_LENGTH, "route.length", ERROR, "a run longer than its class allows",                   \
      "the library's interface rows")                                                              \
    R(ROUTE_STUB, "route.stub", ERROR, "a branch longer than its class allows",                    \
      "the library's interface rows")                                                              \
    R(ROUTE_COAX, "route.coax_loss", ERROR, "a feeder loses more than its aerial allows",          \
      "the job's antenna rows")                                                                    \
    R(ROUTE_COAX_TABLE, "route.coax_table", WARNING, "no published loss for this coax there",      \
      "the library's coax_loss rows")                                                              \
    R(ROUTE_ANTENNA, "route.antenna", ERROR, "aerials too close to each other",                    \
      "the library's antenna_apart rows")

/* disconnect: cavities and shells */
#define DISCONNECT_RULES(R)                                                                        \
    R(DISCONNECT_SHELL, "disconnect.shell", ERROR, "no shell takes this wire", "shop rule")        \
    R(DISCONNECT_WAYS, "disconnect.ways", ERROR, "a shell without a free way", "shop rule")        \
    R(DISCONNECT_SPARE, "disconnect.spare", WARNING, "too few spare ways", "shop rule")            \
    R(DISCONNECT_GAUGE, "disconnect.gauge", ERROR, "a gauge that does not fit the contact",        \
      "the library's contact rows")                                                                \
    R(DISCONNECT_ALLOT, "disconnect.allot", WARNING, "a kept cavity that can't be kept",           \
      "shop rule")                                                                                 \
    R(DISCONNECT_BESIDE, "disconnect.beside", WARNING, "power beside signal in a wet shell",       \
      "common practice, no published source")                                                      \
    R(DISCONNECT_SEALED, "disconnect.sealed", ERROR, "an unsealed shell where sealed ones belong", \
      "the job's zone rows")                                                                       \
    R(DISCONNECT_ALLOY, "disconnect.alloy", ERROR, "a thermocouple through contacts of copper",    \
      "common practice, no published source")                                                      \
    R(DISCONNECT_KEYING, "disconnect.keying", ERROR,                                               \
      "two shells that mate with each other's half", "shop rule")

/* place: surroundings, distances, aerials */
#define PLACE_RULES(R)                                                                             \
    R(PLACE_SEALED, "place.sealed", ERROR, "an unsealed connector where sealed ones belong",       \
      "the job's zone rows")                                                                       \
    R(PLACE_MASS, "place.mass", WARNING, "a box whose part has no mass: the total is short of it", \
      "shop rule: the aircraft is weighed, but nothing is forgotten")

/* supply: what hangs where */
#define SUPPLY_RULES(R)                                                                            \
    R(SUPPLY_MODE, "supply.mode", ERROR, "a phase gives current to what draws none",               \
      "docs/theory/loads.md")                                                                      \
    R(SUPPLY_SETTING, "supply.setting", ERROR, "an unknown switch or position",                    \
      "docs/theory/loads.md")                                                                      \
    R(SUPPLY_CONTACTOR, "supply.contactor", ERROR, "a contactor is set against its coil circuit",  \
      "docs/theory/loads.md")

/* size: gauges and devices */
#define SIZE_RULES(R)                                                                              \
    R(SIZE_STARTER, "size.starter", ERROR, "the starter's cables can't be sized",                  \
      "docs/theory/size.md")                                                                       \
    R(SIZE_UNPROVED, "size.unproved", WARNING, "a published table is missing in the library",      \
      "docs/theory/size.md")                                                                       \
    R(SIZE_GAUGE, "size.gauge", ERROR, "a gauge is asked for that there is no wire of",            \
      "library table `wire`")                                                                      \
    R(SIZE_GIVEN, "size.given", ERROR, "the gauge that a circuit's row gives breaks a limit",      \
      "docs/theory/size.md")                                                                       \
    R(SIZE_OVERRIDE, "size.override", ERROR, "the gauge that an override sets breaks a limit",     \
      "docs/theory/size.md")                                                                       \
    R(SIZE_OVERRIDE_ROW, "size.override_row", ERROR, "an override that can't be applied",          \
      "docs/tables.md")                                                                            \
    R(SIZE_CABLE, "size.cable", ERROR, "the cores of a class's cable break a limit",               \
      "docs/theory/size.md")                                                                       \
    R(SIZE_CURRENT, "size.current", ERROR, "no gauge that the class allows keeps a limit",         \
      "AC 43.13-1B par. 11-66..11-69, Table 11-9")                                                 \
    R(SIZE_DROP, "size.drop", ERROR, "no gauge that the class allows keeps the drop",              \
      "AC 43.13-1B Table 11-6")                                                                    \
    R(SIZE_DEVICE_SMALL, "size.device_small", ERROR, "a device opens with what it feeds",          \
      "shop rule")                                                                                 \
    R(SIZE_DEVICE_LARGE, "size.device_large", ERROR, "a device does not protect its wire",         \
      "AC 43.13-1B Table 11-3")                                                                    \
    R(SIZE_DEVICE_NONE, "size.device_none", ERROR, "no device of that kind is large enough",       \
      "library table `device_rating`")                                                             \
    R(SIZE_DEVICE_RATING, "size.device_rating", WARNING, "a device is not made for its rating",    \
      "library table `device_rating`")                                                             \
    R(SIZE_CONTACT, "size.contact", ERROR, "a wire does not fit its contact",                      \
      "library table `contact`")                                                                   \
    R(SIZE_CONTACT_CURRENT, "size.contact_current", ERROR, "a contact carries too much",           \
      "library table `contact`")                                                                   \
    R(SIZE_SWITCH, "size.switch", ERROR, "a switch is too small for what it switches",             \
      "AC 43.13-1B Table 11-4")                                                                    \
    R(SIZE_SWITCH_DRY, "size.switch_dry", WARNING, "silver contacts in a dry circuit",             \
      "AC 43.13-1B 11-53g")                                                                        \
    R(SIZE_CRANK, "size.crank", NOTE, "cables that are exempt because they crank",                 \
      "14 CFR 23.1357(a): starter circuits")

/* loads: sums and margins */
#define LOADS_RULES(R)                                                                             \
    R(LOADS_RATING, "loads.rating", ERROR, "more load than the share of an alternator's rating",   \
      "AC 43.13-1B 11-35a")                                                                        \
    R(LOADS_AVAILABLE, "loads.available", ERROR,                                                   \
      "more load than an alternator gives at that engine speed", "docs/theory/loads.md")           \
    R(LOADS_CARRIED, "loads.carried", ERROR, "no alternator carries a phase",                      \
      "docs/theory/loads.md")                                                                      \
    R(LOADS_ENDURANCE, "loads.endurance", ERROR, "a battery lasts shorter than asked",             \
      "docs/theory/loads.md")                                                                      \
    R(LOADS_PARKED, "loads.parked", ERROR, "flat before the days asked for are over",              \
      "docs/theory/loads.md")

/* solve: the network */
#define SOLVE_RULES(R)                                                                             \
    R(SOLVE_SOURCE, "solve.source", ERROR, "a source that can't be placed",                        \
      "docs/theory/network.md")                                                                    \
    R(SOLVE_BOND, "solve.bond", ERROR, "a bond to what is not there", "docs/tables.md")            \
    R(SOLVE_CASE, "solve.case", ERROR, "a return through a case that is joined to nothing",        \
      "docs/theory/network.md")                                                                    \
    R(SOLVE_CONVERGE, "solve.converge", ERROR, "no operating point was found",                     \
      "docs/theory/solve.md")                                                                      \
    R(SOLVE_OSCILLATES, "solve.oscillates", ERROR, "something switches without end",               \
      "docs/theory/solve.md")                                                                      \
    R(SOLVE_DEAD, "solve.dead", ERROR, "no supply where a phase needs it",                         \
      "docs/theory/network.md")                                                                    \
    R(SOLVE_MINIMUM, "solve.minimum", ERROR, "less voltage than a box needs",                      \
      "docs/theory/network.md")                                                                    \
    R(SOLVE_DROP, "solve.drop", WARNING, "more voltage drop than allowed",                         \
      "AC 43.13-1B Table 11-6")                                                                    \
    R(SOLVE_OVERLOAD, "solve.overload", ERROR, "more current than a device is rated for",          \
      "docs/theory/network.md")                                                                    \
    R(SOLVE_HELD, "solve.held", ERROR, "a contactor that its coil does not hold",                  \
      "docs/theory/network.md")                                                                    \
    R(SOLVE_FIELD, "solve.field", ERROR, "an alternator without field current",                    \
      "docs/theory/network.md")                                                                    \
    R(SOLVE_DISCHARGE, "solve.discharge", WARNING, "a battery runs down with the engine running",  \
      "docs/theory/network.md")                                                                    \
    R(SOLVE_GROUND_RETURN, "solve.ground_return", WARNING,                                         \
      "more resistance back to the source than allowed", "FAA powerplant handbook: 5 milliohm")    \
    R(SOLVE_CRANK, "solve.crank", NOTE, "boxes that start again while cranking",                   \
      "docs/theory/loads.md")

/* time: starting the engine, switching on, lasting */
#define TIME_RULES(R)                                                                              \
    R(TIME_CHATTER, "time.chatter", ERROR, "a contactor lets go while the engine is started",      \
      "docs/theory/time.md")                                                                       \
    R(TIME_RESTART, "time.restart", WARNING,                                                       \
      "boxes that needs rest on start again while the engine is started", "docs/theory/time.md")   \
    R(TIME_INRUSH, "time.inrush", WARNING,                                                         \
      "switching on may open a device, or is more than a contact is rated for",                    \
      "docs/theory/time.md")                                                                       \
    R(TIME_UNKNOWN, "time.unknown", NOTE, "what switching on does is not decided",                 \
      "docs/theory/time.md")                                                                       \
    R(CARD_ROW, "card.row", ERROR, "the emergency card names what is not there",                   \
      "docs/theory/time.md")

/* field: what currents do to a compass */
#define FIELD_RULES(R)                                                                             \
    R(FIELD_HEADING, "field.heading", ERROR, "more heading error than the sensor may have",        \
      "docs/theory/heading.md")                                                                    \
    R(FIELD_BUNDLE, "field.bundle", WARNING,                                                       \
      "a heading error that depends on how wires lie in their bundle", "docs/theory/heading.md")   \
    R(FIELD_PLACE, "field.place", WARNING, "a sensor further from its node than its wires reach",  \
      "geometry")                                                                                  \
    R(FIELD_UNTRIED, "field.untried", NOTE, "circuits whose field no phase can show",              \
      "docs/theory/heading.md")

/* brief: what the customer asked for */
#define BRIEF_RULES(R)                                                                             \
    R(BRIEF_OPEN, "brief.open", WARNING, "a question is open before its gate", "shop rule")        \
    R(BRIEF_PASSED, "brief.passed", ERROR, "a gate was passed with a question open", "shop rule")  \
    R(BRIEF_EQUIPMENT, "brief.equipment", ERROR, "equipment that the flight requires is missing",  \
      "14 CFR 91.205")                                                                             \
    R(BRIEF_OTHER, "brief.other", NOTE, "required equipment outside the electrical system",        \
      "14 CFR 91.205")                                                                             \
    R(BRIEF_LATE, "brief.late", WARNING, "an option is sold later than it can be chosen",          \
      "shop rule")                                                                                 \
    R(BRIEF_GONE, "brief.gone", ERROR, "an option is open after its last gate", "shop rule")

/* draw: what cannot be drawn as it should */
#define DRAW_RULES(R)                                                                              \
    R(DRAW_GLYPH, "draw.glyph", WARNING, "letters that no typeface here has", "docs/style.md")

/* app: what a person decided over the tool */
#define APP_RULES(R)                                                                               \
    R(APP_OVERRIDE, "app.override", ERROR, "a value set by hand that fits nothing", "shop rule")   \
    R(APP_OVERRIDDEN, "app.overridden", NOTE, "a derived value was set by hand", "shop rule")      \
    R(APP_VOID, "app.void", ERROR, "an acceptance is void: it got worse", "shop rule")             \
    R(APP_IDLE, "app.idle", WARNING, "an acceptance covers nothing", "shop rule")

/* need: functions that must survive */
#define NEED_RULES(R)                                                                              \
    R(NEED_ROW, "need.row", ERROR, "a need names what is not there", "docs/theory/needs.md")       \
    R(NEED_DEPENDS, "need.depends", ERROR, "a part's function rests on what is not there",         \
      "docs/theory/needs.md")                                                                      \
    R(NEED_MISSING, "need.missing", ERROR, "a need that is not met with nothing failed",           \
      "docs/theory/needs.md")                                                                      \
    R(NEED_UNDECIDED, "need.undecided", NOTE, "what a needed box rests on is not decided",         \
      "docs/theory/needs.md")                                                                      \
    R(NEED_COMMON, "need.common", WARNING, "ways that stand in for each other share a place",      \
      "docs/theory/needs.md")                                                                      \
    R(NEED_LANES, "need.lanes", WARNING, "engine circuits A and B run together",                   \
      "docs/theory/needs.md")                                                                      \
    R(NEED_LOST, "need.lost", ERROR, "a need is lost by one failure within its scope",             \
      "docs/theory/needs.md")                                                                      \
    R(NEED_EXCEPTION, "need.exception", WARNING, "a declared exception that covers nothing",       \
      "docs/theory/needs.md")                                                                      \
    R(NEED_PAIR, "need.pair", NOTE, "pairs of failures that lose a need", "docs/theory/needs.md")

/* paths: what current finds when a return is lifted or a bus is dead */
#define PATHS_RULES(R)                                                                             \
    R(GROUND_LIFTED, "ground.lifted", WARNING,                                                     \
      "without its ground a box returns through something too weak", "docs/theory/paths.md")       \
    R(GROUND_LOOP, "ground.loop", WARNING,                                                         \
      "a shield or signal return carries more than it stands with every ground in place",          \
      "docs/theory/paths.md")                                                                      \
    R(GROUND_UNKNOWN, "ground.unknown", NOTE,                                                      \
      "what a lifted ground does is not decided: the inside of a box is unknown",                  \
      "docs/theory/paths.md")                                                                      \
    R(SNEAK_PATH, "sneak.path", ERROR, "current comes to a bus that should be dead",               \
      "docs/theory/paths.md")                                                                      \
    R(SNEAK_BOUND, "sneak.bound", WARNING, "not every combination of switches was looked at",      \
      "docs/theory/paths.md")                                                                      \
    R(SNEAK_SHARED_LINE, "sneak.shared_line", NOTE,                                                \
      "a live box drives a line into boxes without supply", "docs/theory/paths.md")

/* fault: what happens when something fails */
#define FAULT_RULES(R)                                                                             \
    R(FAULT_MODE, "fault.mode", ERROR, "a failure mode that can't be tried on that kind of thing", \
      "docs/theory/faults.md")                                                                     \
    R(FAULT_CUE, "fault.cue", ERROR, "a cue for what can't fail", "docs/theory/faults.md")         \
    R(FAULT_OSCILLATES, "fault.oscillates", WARNING,                                               \
      "a failure after which something switches without end", "docs/theory/faults.md")             \
    R(FAULT_CONVERGE, "fault.converge", WARNING, "a failure without an operating point",           \
      "docs/theory/faults.md")                                                                     \
    R(FAULT_LEFT_OUT, "fault.left_out", NOTE, "a job so large that its failures were not tried",   \
      "docs/theory/faults.md")

/* guard: protection against wire */
#define GUARD_RULES(R)                                                                             \
    R(GUARD_FAILS, "guard.fails", ERROR, "a device lets its wire get too hot in a short",          \
      "docs/theory/guard.md")                                                                      \
    R(GUARD_BARE, "guard.bare", WARNING, "a long lead without a protective device",                \
      "common practice, no published source")                                                      \
    R(GUARD_ORDER, "guard.order", WARNING,                                                         \
      "a short may open the device upstream of the one it is behind", "docs/theory/guard.md")      \
    R(GUARD_NOT_PROVED, "guard.not_proved", NOTE, "what a device does in a short is not proved",   \
      "docs/theory/guard.md")                                                                      \
    R(GUARD_LEFT_OUT, "guard.left_out", NOTE, "a job so large that its shorts were not tried",     \
      "docs/theory/guard.md")

/* harness: modules as they are built on the board */
#define HARNESS_RULES(R)                                                                           \
    R(HARNESS_NODE, "harness.node", ERROR,                                                         \
      "a disconnect that does not sit at an end of its segment", "docs/theory/harness.md")         \
    R(HARNESS_MODULE, "harness.module", WARNING,                                                   \
      "circuits lead from one module into another and nothing parts them", "shop rule")            \
    R(HARNESS_UNIT, "harness.unit", WARNING, "a unit of another module than its node",             \
      "shop rule")                                                                                 \
    R(HARNESS_ALLOWANCE, "harness.allowance", WARNING,                                             \
      "no row says what length is kept for service at an end", "docs/theory/harness.md")           \
    R(HARNESS_DROP, "harness.drop", WARNING,                                                       \
      "wires that as they are cut lose more than is allowed", "docs/theory/harness.md")            \
    R(HARNESS_LOOP, "harness.loop", NOTE,                                                          \
      "a loop that is laid open on the board and closed on the aircraft",                          \
      "docs/theory/harness.md")                                                                    \
    R(HARNESS_EMPTY, "harness.empty", NOTE, "a module without any conductor", "shop rule")

/* bundle: what bundles need room for */
#define BUNDLE_RULES(R)                                                                            \
    R(BUNDLE_HOLE, "bundle.hole", ERROR,                                                           \
      "no way was found to get all that runs there through a hole or conduit",                     \
      "docs/theory/bundle.md")

/* cut: whether there is wire enough on the reels */
#define CUT_RULES(R)                                                                               \
    R(CUT_REEL, "cut.reel", ERROR, "a reel that can't be what its row says", "shop rule")          \
    R(CUT_SHORT, "cut.short", WARNING, "not enough wire on hand: some must be bought",             \
      "docs/theory/cutplan.md")                                                                    \
    R(CUT_WHOLE, "cut.whole", WARNING, "metres enough, but not in reels long enough",              \
      "docs/theory/cutplan.md")

/* prep: what the bench is told to do, and in which order */
#define BENCH_WORK_RULES(R)                                                                        \
    R(PREP_CONTACT, "prep.contact", WARNING, "ends whose contact the library does not say",        \
      "docs/theory/workbench.md")                                                                  \
    R(PREP_TOOL, "prep.tool", WARNING, "a contact without strip length and tool for its wire",     \
      "docs/theory/workbench.md")                                                                  \
    R(PREP_PULL, "prep.pull", NOTE, "a crimp without a published least force",                     \
      "docs/theory/workbench.md")                                                                  \
    R(WORK_AFTER, "work.after", ERROR, "an operation that waits for one that is not there",        \
      "docs/tables.md")                                                                            \
    R(WORK_CIRCLE, "work.circle", ERROR, "operations that wait for each other", "docs/tables.md")

/* board: harnesses laid flat at full scale */
#define BOARD_RULES(R)                                                                             \
    R(BOARD_FIT, "board.fit", ERROR, "a harness that finds no flat layout without fault",          \
      "docs/theory/board.md")                                                                      \
    R(BOARD_BOARDS, "board.boards", WARNING, "a harness that needs more boards than there are",    \
      "shop rule")                                                                                 \
    R(BOARD_TURNED, "board.turned", NOTE,                                                          \
      "a branch that leaves to the other side on the board than in the aircraft",                  \
      "docs/theory/board.md")                                                                      \
    R(BOARD_BEND, "board.bend", WARNING, "an arm shorter than the bend of what lies in it",        \
      "AC 43.13-1B par. 11-96, from memory")

/* Rules of the passes beside the live chain (app/bench.h): what they find stands in the table
 * bench_finding. */
#define BENCH_RULES(R)                                                                             \
    HARNESS_RULES(R) BUNDLE_RULES(R) CUT_RULES(R) BENCH_WORK_RULES(R) BOARD_RULES(R)

/* panel: what does not fit in the sheet, in front of it, behind it, or the person before it */
#define PANEL_RULES(R)                                                                             \
    R(PANEL_ROW, "panel.row", ERROR, "a row of the panel that can't be built",                     \
      "docs/theory/panel.md")                                                                      \
    R(PANEL_ALIGN, "panel.align", ERROR, "a row or column that can't be kept",                     \
      "docs/theory/panel.md")                                                                      \
    R(PANEL_MOUNT, "panel.mount", ERROR, "a place in the panel that serves nothing",               \
      "shop rule: one model")                                                                      \
    R(PANEL_DEVICE, "panel.device", ERROR, "a device or switch of the panel without its hole",     \
      "shop rule: one model")                                                                      \
    R(PANEL_WEB, "panel.web", ERROR, "too little metal between two openings",                      \
      "common practice, no source")                                                                \
    R(PANEL_EDGE, "panel.edge", ERROR, "an opening too near the edge of the sheet",                \
      "common practice, no source")                                                                \
    R(PANEL_BEND, "panel.bend", ERROR, "an opening too near a bend", "common practice, no source") \
    R(PANEL_FRONT, "panel.front", ERROR, "two things that overlap in front", "geometry")           \
    R(PANEL_DEPTH, "panel.depth", ERROR, "too little room behind the panel", "geometry")           \
    R(PANEL_BODIES, "panel.bodies", ERROR, "two things that overlap behind the panel", "geometry") \
    R(PANEL_PULL, "panel.pull", ERROR, "a tray that can't be pulled out", "geometry")              \
    R(PANEL_SINK, "panel.sink", ERROR, "a countersink too deep for the sheet",                     \
      "common practice, no source: no knife edge")                                                 \
    R(PANEL_SMALL, "panel.small", WARNING, "a hole too small to be cut by laser",                  \
      "common practice, no source")                                                                \
    R(PANEL_CORNER, "panel.corner", WARNING, "an inside corner that is too sharp",                 \
      "common practice, no source")                                                                \
    R(PANEL_KERF, "panel.kerf", ERROR, "the width of the cut has not one owner", "shop rule")      \
    R(PANEL_COAT, "panel.coat", ERROR, "the thickness of the coating has not one owner",           \
      "shop rule")                                                                                 \
    R(PANEL_LETTER, "panel.letter", ERROR, "letters too small for the eye",                        \
      "MIL-STD-1472: minutes of arc, from memory")                                                 \
    R(PANEL_LEGEND, "panel.legend", WARNING, "a legend that says something else than its switch",  \
      "shop rule: one model")                                                                      \
    R(PANEL_REACH, "panel.reach", ERROR, "out of reach", "docs/theory/panel.md")                   \
    R(PANEL_VIEW, "panel.view", WARNING, "a display seen too far aside", "docs/theory/panel.md")   \
    R(PANEL_GUARD, "panel.guard", ERROR, "an emergency switch without guard",                      \
      "docs/theory/panel.md")                                                                      \
    R(PANEL_APART, "panel.apart", ERROR, "an emergency switch too near a lighting switch",         \
      "common practice, no source")                                                                \
    R(PANEL_GROUP, "panel.group", WARNING, "emergency switches that stand scattered",              \
      "common practice, no source")                                                                \
    R(PANEL_HEAT, "panel.heat", WARNING, "more heat behind the panel than its air carries away",   \
      "docs/theory/panel.md")                                                                      \
    R(PANEL_UNKNOWN, "panel.unknown", NOTE, "what is not proved of the panel",                     \
      "docs/theory/panel.md")                                                                      \
    R(PANEL_MARK, "panel.mark", ERROR, "a legend that something covers, cuts or crosses",          \
      "common practice, no source")

#define RULE_LIST(R)                                                                               \
    READ_RULES(R)                                                                                  \
    MODEL_RULES(R)                                                                                 \
    WIRE_RULES(R)                                                                                  \
    ROUTE_RULES(R)                                                                                 \
    DISCONNECT_RULES(R)                                                                            \
    PLACE_RULES(R)                                                                                 \
    SUPPLY_RULES(R)                                                                                \
    SIZE_RULES(R)                                                                                  \
    LOADS_RULES(R)                                                                                 \
    SOLVE_RULES(R)                                                                                 \
    NEED_RULES(R)                                                                                  \
    FAULT_RULES(R)                                                                                 \
    GUARD_RULES(R)                                                                                 \
    FIELD_RULES(R)                                                                                 \
    BRIEF_RULES(R)                                                                                 \
    DRAW_RULES(R)                                                                                  \
    APP_RULES(R)                                                                                   \
    PATHS_RULES(R)                                                                                 \
    TIME_RULES(R)                                                                                  \
    BENCH_RULES(R)                                                                                 \
    PANEL_RULES(R)

typedef enum RuleId {
#define RULE_ID(id, name, severity, title, source) RULE_##id,
    RULE_LIST(RULE_ID)
#undef RULE_ID
        RULE_COUNT
} RuleId;

#endif
