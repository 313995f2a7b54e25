/* Tables of the parts library: what the workshop keeps for all jobs. Every row of published data
 * carries its source and status; `memory` values may only make a result stricter. */
#ifndef TABLE_TABLES_LIBRARY_H
#define TABLE_TABLES_LIBRARY_H

#define LABOUR_PER_WORDS                                                                           \
    "module|piece|metre|metre of arm|end|insert|shielded end|coax end|connector|sample"

#define STATUS_WORDS "opened|opened_secondary|derived|memory|shop|invented"

#define COLUMNS_ORIGIN(C)                                                                          \
    C(TEXT, source, NEED, "", "document and paragraph")                                            \
    C(WORD, status, NEED, STATUS_WORDS, "how well the value is known")

#define LIBRARY_TABLES(T)                                                                          \
    T(LIBRARY, wire, WireRow, "single wires by gauge")                                             \
    T(LIBRARY, cable, CableRow, "pairs, shielded, coax and thermocouple cables")                   \
    T(LIBRARY, coax_loss, CoaxLossRow, "loss of coax against frequency")                           \
    T(LIBRARY, contact, ContactRow, "contacts, lugs and studs: gauges, current, resistance")       \
    T(LIBRARY, pull_force, PullForceRow, "smallest pull-out force of a crimp")                     \
    T(LIBRARY, shell, ShellRow, "connector shells")                                                \
    T(LIBRARY, cavity, CavityRow, "cavity positions on the mating face of the pin half")           \
    T(LIBRARY, sleeve, SleeveRow, "heat-shrink tubing for labels, solder sleeves for shields")     \
    T(LIBRARY, label_stock, LabelStockRow, "sheets and rolls that labels are printed on")          \
    T(LIBRARY, interface, InterfaceRow, "wiring rules of each class")                              \
    T(LIBRARY, interface_core, InterfaceCoreRow, "names of the cores of a class")                  \
    T(LIBRARY, part, PartRow, "kinds of boxes")                                                    \
    T(LIBRARY, part_connector, PartConnectorRow, "connectors of a part")                           \
    T(LIBRARY, port, PortRow, "ports of a part: what a manual calls a signal")                     \
    T(LIBRARY, port_pin, PortPinRow, "pins of a port, core by core")                               \
    T(LIBRARY, inside, InsideRow, "what joins two ports inside a part")                            \
    T(LIBRARY, load, LoadRow, "what a supply port draws")                                          \
    T(LIBRARY, device, DeviceRow, "kinds of protective devices")                                   \
    T(LIBRARY, device_rating, DeviceRatingRow, "ratings a device comes in, with resistance")       \
    T(LIBRARY, curve, CurveRow, "opening time of a device as a tolerance band")                    \
    T(LIBRARY, switch_part, SwitchPartRow, "kinds of switches, relays, contactors, diodes")        \
    T(LIBRARY, switch_pole, SwitchPoleRow, "what a switch joins in which position")                \
    T(LIBRARY, stud, StudRow, "terminals of devices, switches, bars and ground points")            \
    T(LIBRARY, battery, BatteryRow, "batteries")                                                   \
    T(LIBRARY, ocv, OcvRow, "open-circuit voltage against state of charge")                        \
    T(LIBRARY, alternator, AlternatorRow, "alternators")                                           \
    T(LIBRARY, alternator_output, AlternatorOutputRow, "output of an alternator by engine speed")  \
    T(LIBRARY, free_air, FreeAirRow, "single wire in free air: amps = b x rise^m")                 \
    T(LIBRARY, bundle_factor, BundleFactorRow, "bundle derating")                                  \
    T(LIBRARY, altitude_factor, AltitudeFactorRow, "altitude derating")                            \
    T(LIBRARY, wire_rating, WireRatingRow, "published current in the worst bundle")                \
    T(LIBRARY, protector, ProtectorRow, "largest protective device of a gauge")                    \
    T(LIBRARY, drop_limit, DropLimitRow, "allowed voltage drop")                                   \
    T(LIBRARY, switch_factor, SwitchFactorRow, "switch derating by kind of load")                  \
    T(LIBRARY, contact_current, ContactCurrentRow, "current of a contact by wire gauge")           \
    T(LIBRARY, antenna_apart, AntennaApartRow, "distance between aerials")                         \
    T(LIBRARY, limit, LimitRow, "limits that rules compare with")                                  \
    T(LIBRARY, load_condition, LoadConditionRow, "operating conditions of a load analysis")        \
    T(LIBRARY, circuit_letter, CircuitLetterRow, "function letters of wire numbers")               \
    T(LIBRARY, system, SystemRow, "systems: which circuits stand on one set of wiring diagrams")   \
    T(LIBRARY, gate, GateRow, "moments after which a choice costs money")                          \
    T(LIBRARY, touch_kind, TouchKindRow, "which gate closes what")                                 \
    T(LIBRARY, brief_question, BriefQuestionRow,                                                   \
      "what a customer is asked, and what waits for it")                                           \
    T(LIBRARY, required_item, RequiredItemRow, "equipment that a kind of flight requires")         \
    T(LIBRARY, depends, DependsRow, "what a function of a part rests on: any way, all its ports")  \
    T(LIBRARY, failure_mode, FailureModeRow, "how each kind of thing can fail")                    \
    T(LIBRARY, crank_profile, CrankProfileRow, "current of a starter while the engine is started") \
    T(LIBRARY, battery_cold, BatteryColdRow, "capacity and resistance of a battery when cold")     \
    T(LIBRARY, driven, DrivenRow, "what a box drives over a pair of its own: there and back")      \
    T(LIBRARY, tester, TesterRow, "meters and testers that harnesses are rung out with")           \
    T(LIBRARY, end_allowance, EndAllowanceRow, "length kept at the end of a harness for service")  \
    T(LIBRARY, twist, TwistRow, "turns of wires that are twisted in the shop")                     \
    T(LIBRARY, cutout, CutoutRow,                                                                  \
      "how a kind of thing sits in a panel: bezel in front, room behind")                          \
    T(LIBRARY, cutout_hole, CutoutHoleRow,                                                         \
      "the holes a cutout takes, as contours of lines and arcs")                                   \
    T(LIBRARY, cutout_front, CutoutFrontRow, "what stands out of the front or is seen there")      \
    T(LIBRARY, sheet, SheetRow, "what faces are cut from")                                         \
    T(LIBRARY, finish, FinishRow, "coats, marks and films")                                        \
    T(LIBRARY, screw, ScrewRow, "screws of the panel")                                             \
    T(LIBRARY, nutplate, NutplateRow, "nuts riveted behind the panel")                             \
    T(LIBRARY, grommet, GrommetRow, "grommets: what passes them and the hole they sit in")         \
    T(LIBRARY, contact_tool, ContactToolRow, "strip length and tools of a contact, by gauge")      \
    T(LIBRARY, coax_prep, CoaxPrepRow, "how far a coax is cut back for its plug")                  \
    T(LIBRARY, shield_prep, ShieldPrepRow, "how far a shielded cable is cut back")                 \
    T(LIBRARY, sampling, SamplingRow, "how many crimps are pulled to breaking")                    \
    T(LIBRARY, labour, LabourRow, "operations of the bench with standard minutes, and their order")

#define COLUMNS_wire(C)                                                                            \
    C(TEXT, part, KEY, "", "short name")                                                           \
    C(AWG, awg, NEED, "", "gauge")                                                                 \
    C(TEXT, spec, OPEN, "", "specification")                                                       \
    C(TEXT, strands, OPEN, "", "number x gauge of strands")                                        \
    C(REAL, conductor_mm, OPEN, "", "diameter of the conductor")                                   \
    C(REAL, od_mm, NEED, "", "outer diameter")                                                     \
    C(REAL, cmil, OPEN, "", "conductor area, circular mils")                                       \
    C(REAL, r20_ohm_per_km, NEED, "", "largest resistance at 20 degC")                             \
    C(REAL, hand_ohm_per_km, OPEN, "",                                                             \
      "resistance of the handbook's table: plain figures use it; blank: r20_ohm_per_km")           \
    C(REAL, mass_kg_per_km, NEED, "", "mass")                                                      \
    C(REAL, rated_degc, NEED, "", "conductor temperature it stands for good")                      \
    C(WORD, use, NEED, "usual|other", "usual: the tool takes it when nothing else is asked")       \
    COLUMNS_ORIGIN(C)

#define COLUMNS_cable(C)                                                                           \
    C(TEXT, part, KEY, "", "short name")                                                           \
    C(TEXT, name, NEED, "", "what a buyer asks for")                                               \
    C(INT, cores, NEED, "", "cores")                                                               \
    C(AWG, awg, OPEN, "", "gauge of the cores; blank for coax")                                    \
    C(FLAG, twisted, NEED, "", "cores twisted")                                                    \
    C(FLAG, shielded, NEED, "", "has a shield")                                                    \
    C(REAL, r20_ohm_per_km, OPEN, "", "resistance of a core at 20 degC")                           \
    C(REAL, shield_ohm_per_km, OPEN, "", "resistance of the shield")                               \
    C(REAL, od_mm, NEED, "", "outer diameter")                                                     \
    C(REAL, mass_kg_per_km, NEED, "", "mass")                                                      \
    C(REAL, rated_degc, NEED, "", "temperature it stands for good")                                \
    C(REAL, impedance_ohm, OPEN, "", "wave impedance")                                             \
    C(TEXT, alloy, OPEN, "", "thermocouple type, when its cores are not copper")                   \
    COLUMNS_ORIGIN(C)

#define COLUMNS_coax_loss(C)                                                                       \
    C(REF, cable, KEY, "cable", "which coax")                                                      \
    C(REAL, frequency_mhz, KEY, "", "frequency")                                                   \
    C(REAL, loss_db_per_m, NEED, "", "loss")                                                       \
    COLUMNS_ORIGIN(C)

#define COLUMNS_contact(C)                                                                         \
    C(TEXT, contact, KEY, "", "short name")                                                        \
    C(WORD, kind, NEED, "crimp|ring|solder|coax|splice|tab|spade", "how the wire is held")         \
    C(AWG, smallest_awg, OPEN, "", "thinnest wire")                                                \
    C(AWG, largest_awg, OPEN, "", "thickest wire")                                                 \
    C(REAL, rated_a, OPEN, "", "current of one contact")                                           \
    C(REAL, r_mohm, NEED, "", "resistance of one mated contact or joint")                          \
    COLUMNS_ORIGIN(C)

#define COLUMNS_pull_force(C)                                                                      \
    C(WORD, class, KEY, "commercial|military|contact", "which table")                              \
    C(AWG, awg, KEY, "", "gauge")                                                                  \
    C(REAL, force_n, NEED, "", "smallest force")                                                   \
    COLUMNS_ORIGIN(C)

#define COLUMNS_shell(C)                                                                           \
    C(TEXT, shell, KEY, "", "short name")                                                          \
    C(TEXT, name, NEED, "", "what it is called")                                                   \
    C(INT, ways, NEED, "", "cavities")                                                             \
    C(TEXT, rows, OPEN, "", "cavities in each row, wide side first")                               \
    C(REF, contact, NEED, "contact", "contact it takes")                                           \
    C(FLAG, sealed, NEED, "", "keeps water out")                                                   \
    C(FLAG, coax, OPEN, "", "coaxial")                                                             \
    C(WORD, form, OPEN, "D|circle|block|coax|studs|leads",                                         \
      "outline of its face; studs and leads have no mating face; blank: by its rows, else block")  \
    COLUMNS_ORIGIN(C)

#define COLUMNS_cavity(C)                                                                          \
    C(REF, shell, KEY, "shell", "which shell")                                                     \
    C(TEXT, cavity, KEY, "", "number")                                                             \
    C(REAL, x_mm, NEED, "", "to the right, pin half seen from its mating face")                    \
    C(REAL, y_mm, NEED, "", "up")

#define COLUMNS_sleeve(C)                                                                          \
    C(TEXT, sleeve, KEY, "", "short name")                                                         \
    C(WORD, kind, NEED, "tube|shield|braid",                                                       \
      "tube: shrinks on a wire or bundle; shield: solders a wire to it; braid: opens over a "      \
      "bundle")                                                                                    \
    C(REAL, supplied_mm, NEED, "",                                                                 \
      "smallest inside diameter before shrinking; of a braid the largest")                         \
    C(REAL, recovered_mm, NEED, "", "largest inside diameter after; of a braid at rest")           \
    COLUMNS_ORIGIN(C)

#define COLUMNS_label_stock(C)                                                                     \
    C(TEXT, stock, KEY, "", "short name")                                                          \
    C(TEXT, name, NEED, "", "what a buyer asks for")                                               \
    C(WORD, kind, NEED, "sheet|roll",                                                              \
      "sheet: labels in rows and columns; roll: one after another")                                \
    C(REAL, page_width_mm, OPEN, "", "of a sheet, as it is fed")                                   \
    C(REAL, page_height_mm, OPEN, "", "of a sheet")                                                \
    C(REAL, label_width_mm, NEED, "", "along the text")                                            \
    C(REAL, label_height_mm, NEED, "", "across the text; of a roll: its printed width")            \
    C(INT, columns, OPEN, "", "labels across a sheet")                                             \
    C(INT, rows, OPEN, "", "labels down a sheet")                                                  \
    C(REAL, left_mm, OPEN, "", "from the edge of a sheet to its first label")                      \
    C(REAL, top_mm, OPEN, "", "from the upper edge to its first label")                            \
    C(REAL, gap_x_mm, OPEN, "", "between labels; of a roll: between one label and the next")       \
    C(REAL, gap_y_mm, OPEN, "", "between rows of labels")                                          \
    C(REF, sleeve, OPEN, "sleeve", "printed on this tubing: only labels of that size are printed") \
    COLUMNS_ORIGIN(C)

#define COLUMNS_interface(C)                                                                       \
    C(TEXT, class, KEY, "", "code")                                                                \
    C(TEXT, meaning, NEED, "", "what it is")                                                       \
    C(INT, cores, NEED, "", "conductors of one laid piece")                                        \
    C(REF, cable, OPEN, "cable", "cable it is laid in; blank: single wires")                       \
    C(AWG, smallest_awg, OPEN, "", "thinnest wire that may be chosen")                             \
    C(AWG, largest_awg, OPEN, "", "thickest wire that may be chosen")                              \
    C(WORD, join, NEED, "point to point|chain|hub at first", "how more than two ends are joined")  \
    C(WORD, kind, NEED, "power|return|signal|coax|heavy",                                          \
      "what it carries: power is kept apart from signal in disconnects")                           \
    C(FLAG, cross, OPEN, "", "groups of ports are joined out to in")                               \
    C(INT, talkers_max, OPEN, "", "most ports that give; blank: any number")                       \
    C(INT, listeners_max, OPEN, "", "most ports that take; blank: any number")                     \
    C(INT, ends_max, OPEN, "", "most ends; blank: any number")                                     \
    C(FLAG, level_needed, OPEN, "", "every port must state its active level")                      \
    C(WORD, shield_ground, OPEN, "both|one end|each shell",                                        \
      "where the shield is grounded; blank: no shield")                                            \
    C(FLAG, shield_through, OPEN, "", "the shield takes a cavity at disconnects")                  \
    C(FLAG, bulkhead, OPEN, "", "passes disconnects by its own bulkhead or stud, not by a shell")  \
    C(INT, terminators, OPEN, "", "terminating resistors wanted, at the ends")                     \
    C(REAL, terminator_ohm, OPEN, "", "their resistance")                                          \
    C(REAL, stub_max_mm, OPEN, "", "longest branch off a chain")                                   \
    C(REAL, length_max_mm, OPEN, "", "longest run from first to last end")                         \
    C(FLAG, splice, OPEN, "", "may be spliced")                                                    \
    C(FLAG, own_return, OPEN, "", "every port of it needs a return")                               \
    C(FLAG, device_needed, OPEN, "", "every port of it needs a protective device")                 \
    C(FLAG, gold_needed, OPEN, "", "carries too little for silver contacts")                       \
    C(TEXT, alloy, OPEN, "", "thermocouple type that contacts must have too")                      \
    C(FLAG, twisted, OPEN, "", "single wires of this class are twisted in the shop")               \
    COLUMNS_ORIGIN(C)

#define COLUMNS_interface_core(C)                                                                  \
    C(REF, class, KEY, "interface", "class")                                                       \
    C(INT, core, KEY, "", "from 1")                                                                \
    C(TEXT, name, NEED, "", "what the core carries")                                               \
    C(TEXT, colour, OPEN, "", "insulation colour")                                                 \
    C(FLAG, returns, OPEN, "",                                                                     \
      "return of its circuit: a box joins it to its ground, or an inside row says isolated")

#define COLUMNS_part(C)                                                                            \
    C(TEXT, part, KEY, "", "short name")                                                           \
    C(TEXT, name, NEED, "", "what it is")                                                          \
    C(REAL, mass_kg, OPEN, "", "mass")                                                             \
    C(WORD, supply, NEED,                                                                          \
      "powered|powered, own battery|own battery|passive|switched motor|source",                    \
      "how it lives; decides whether it needs a device and a ground")                              \
    C(FLAG, case_ground, OPEN, "", "returns through its case")                                     \
    C(LIST, shield_host, OPEN, "", "classes whose shields are grounded at this box")               \
    C(TEXT, letter, OPEN, "", "function letter of its circuits in wire numbers")                   \
    C(LIST, equips, OPEN, "", "required items it covers")                                          \
    COLUMNS_ORIGIN(C)

#define COLUMNS_part_connector(C)                                                                  \
    C(REF, part, KEY, "part", "which part")                                                        \
    C(TEXT, connector, KEY, "", "its connector")                                                   \
    C(REF, shell, NEED, "shell", "kind of shell")                                                  \
    C(WORD, unit_side, OPEN, "pins|sockets", "contacts on the box; the harness has the others")    \
    C(TEXT, keying, OPEN, "", "keying")

#define COLUMNS_port(C)                                                                            \
    C(REF, part, KEY, "part", "which part")                                                        \
    C(TEXT, port, KEY, "", "name")                                                                 \
    C(TEXT, group, OPEN, "", "ports that form one two-way connection")                             \
    C(REF, class, NEED, "interface", "class")                                                      \
    C(WORD, direction, NEED, "in|out|bi|ret", "takes, gives, both, returns")                       \
    C(WORD, level, OPEN, "low|high|analogue", "active level")

#define COLUMNS_port_pin(C)                                                                        \
    C(REF, part, KEY, "part", "which part")                                                        \
    C(TEXT, port, KEY, "", "its port")                                                             \
    C(INT, core, KEY, "", "from 1, in the order of the class")                                     \
    C(TEXT, connector, NEED, "", "its connector")                                                  \
    C(TEXT, cavity, NEED, "", "the pin")

#define COLUMNS_inside(C)                                                                          \
    C(REF, part, KEY, "part", "which part")                                                        \
    C(TEXT, from_port, KEY, "", "one port; /2 for its second core; `case`")                        \
    C(TEXT, to_port, KEY, "", "other port")                                                        \
    C(WORD, kind, NEED, "resistor|diode|switch|isolated",                                          \
      "what is between; a switch closes by hand or pressure; isolated: known not to be joined")    \
    C(REAL, ohm, OPEN, "", "resistance")                                                           \
    C(REAL, forward_v, OPEN, "", "drop of a diode")                                                \
    C(REAL, rated_a, OPEN, "", "current it stands for good; blank: not known")                     \
    C(TEXT, note, OPEN, "", "what it is, and how well it is known")

#define COLUMNS_load(C)                                                                            \
    C(REF, part, KEY, "part", "which part")                                                        \
    C(TEXT, port, KEY, "", "its supply port")                                                      \
    C(TEXT, return_port, NEED, "", "its return; the same port for a motor pair; `case`")           \
    C(WORD, duty, NEED, "continuous|intermittent", "decides the drop limit")                       \
    C(REAL, usual_a, OPEN, "", "current at nominal voltage when on")                               \
    C(REAL, design_a, NEED, "", "current that sizes the wire")                                     \
    C(REAL, peak_a, OPEN, "", "largest short current")                                             \
    C(WORD, law, NEED, "constant power|constant current|constant resistance",                      \
      "how it follows voltage")                                                                    \
    C(REAL, volts_min_v, OPEN, "", "works down to this voltage")                                   \
    C(REAL, volts_max_v, OPEN, "", "stands up to this voltage; blank: not known")                  \
    C(WORD, kind, OPEN, "lamp|inductive|resistive|motor|electronic", "kind of load, for switches") \
    C(REAL, restart_s, OPEN, "", "from its supply's return until it works again; blank: unknown")  \
    C(REAL, inrush_a, OPEN, "", "largest current when it is switched on; blank: peak_a is taken")  \
    C(REAL, inrush_s, OPEN, "", "how long that lasts; blank: unknown")                             \
    C(REAL, input_uf, OPEN, "", "capacitors that its supply charges when it is switched on")       \
    COLUMNS_ORIGIN(C)

#define COLUMNS_device(C)                                                                          \
    C(TEXT, part, KEY, "", "short name")                                                           \
    C(WORD, kind, NEED, "breaker|switch-breaker|fuse|limiter|channel", "what it is")               \
    C(TEXT, in_terminal, NEED, "", "name of its input")                                            \
    C(TEXT, out_terminal, NEED, "", "name of its output")                                          \
    C(WORD, family, NEED, "breaker|fuse", "column of the wire protector table it is read by")      \
    C(TEXT, name, OPEN, "", "what a buyer asks for")                                               \
    COLUMNS_ORIGIN(C)

#define COLUMNS_device_rating(C)                                                                   \
    C(REF, part, KEY, "device", "which device")                                                    \
    C(REAL, rating_a, KEY, "", "rated current")                                                    \
    C(REAL, r_mohm, NEED, "", "resistance")                                                        \
    COLUMNS_ORIGIN(C)

#define COLUMNS_curve(C)                                                                           \
    C(REF, part, KEY, "device", "which device")                                                    \
    C(REAL, from_a, KEY, "", "smallest rating it holds for")                                       \
    C(REAL, to_a, KEY, "", "largest rating it holds for")                                          \
    C(REAL, load_pct, KEY, "", "current in percent of rating")                                     \
    C(REAL, t_min_s, OPEN, "", "must not open before")                                             \
    C(REAL, t_max_s, OPEN, "", "must be open after")                                               \
    COLUMNS_ORIGIN(C)

#define COLUMNS_switch_part(C)                                                                     \
    C(TEXT, part, KEY, "", "short name")                                                           \
    C(WORD, kind, NEED, "switch|relay|contactor|diode|shunt", "what it is")                        \
    C(TEXT, in_terminal, OPEN, "", "terminal a feed enters by")                                    \
    C(TEXT, out_terminal, OPEN, "", "terminal a feed leaves by")                                   \
    C(REAL, rated_a, NEED, "", "contact rating")                                                   \
    C(REAL, makes_a, OPEN, "", "largest current it may switch on; blank: unknown")                 \
    C(REAL, coil_a, OPEN, "", "coil current at nominal voltage")                                   \
    C(REAL, pick_up_v, OPEN, "", "coil closes at")                                                 \
    C(REAL, drop_out_v, OPEN, "", "coil lets go at")                                               \
    C(REAL, forward_v, OPEN, "", "drop of a diode at no current; r_mohm adds to it")               \
    C(REAL, r_mohm, NEED, "", "resistance of a closed contact")                                    \
    C(TEXT, name, OPEN, "", "what a buyer asks for")                                               \
    COLUMNS_ORIGIN(C)

#define COLUMNS_switch_pole(C)                                                                     \
    C(REF, part, KEY, "switch_part", "which switch")                                               \
    C(TEXT, from_terminal, KEY, "", "one terminal; /2 for its second core")                        \
    C(TEXT, to_terminal, KEY, "", "other terminal")                                                \
    C(LIST, closed_in, NEED, "", "positions in which they are joined")

#define COLUMNS_stud(C)                                                                            \
    C(TEXT, part, KEY, "", "device, switch, or `bar`, `block`, `stud`, `engine`")                  \
    C(TEXT, terminal, KEY, "", "its terminal; `*` for all others")                                 \
    C(INT, cores, NEED, "", "conductors that land on it as one port")                              \
    C(REF, contact, NEED, "contact", "how a wire is held there")

#define COLUMNS_battery(C)                                                                         \
    C(REF, part, KEY, "part", "which part")                                                        \
    C(REAL, capacity_ah, NEED, "", "rated capacity")                                               \
    C(REAL, rated_h, OPEN, "", "hours of the rating")                                              \
    C(REAL, r_mohm, NEED, "", "internal resistance")                                               \
    C(REAL, open_circuit_v, NEED, "", "resting voltage, charged")                                  \
    C(REAL, peukert, OPEN, "", "exponent of the capacity law; blank: 1")                           \
    C(REAL, usable_new_pct, NEED, "", "share of capacity counted when new")                        \
    C(REAL, usable_aged_pct, NEED, "", "share counted at the end of its life")                     \
    COLUMNS_ORIGIN(C)

#define COLUMNS_ocv(C)                                                                             \
    C(REF, part, KEY, "part", "which battery")                                                     \
    C(REAL, charge_pct, KEY, "", "state of charge")                                                \
    C(REAL, volts_v, NEED, "", "resting voltage")                                                  \
    COLUMNS_ORIGIN(C)

#define COLUMNS_crank_profile(C)                                                                   \
    C(REF, part, KEY, "part", "which starter")                                                     \
    C(REAL, second_s, KEY, "", "since its contactor closed; held until the next row")              \
    C(REAL, current_pct, NEED, "", "of job.crank_a")                                               \
    C(TEXT, what, OPEN, "", "what happens there")                                                  \
    COLUMNS_ORIGIN(C)

#define COLUMNS_battery_cold(C)                                                                    \
    C(REF, part, KEY, "part", "which battery")                                                     \
    C(REAL, cells_degc, KEY, "", "temperature of its cells; straight lines between")               \
    C(REAL, capacity_pct, NEED, "", "of the rated capacity that it gives")                         \
    C(REAL, resistance_pct, NEED, "", "internal resistance, of the library's figure")              \
    COLUMNS_ORIGIN(C)

#define COLUMNS_alternator(C)                                                                      \
    C(REF, part, KEY, "part", "which part")                                                        \
    C(REAL, rated_a, NEED, "", "rated output")                                                     \
    C(REAL, regulated_v, NEED, "", "regulated voltage")                                            \
    C(REAL, slope_mohm, NEED, "", "fall of voltage with current while regulating")                 \
    C(REAL, load_limit_pct, NEED, "", "share of the rating that may be used")                      \
    COLUMNS_ORIGIN(C)

#define COLUMNS_alternator_output(C)                                                               \
    C(REF, part, KEY, "part", "which alternator")                                                  \
    C(WORD, engine, KEY, "off|cranking|idle|taxi|climb|cruise|approach", "engine speed")           \
    C(REAL, output_a, NEED, "", "largest output")                                                  \
    COLUMNS_ORIGIN(C)

#define COLUMNS_free_air(C)                                                                        \
    C(AWG, awg, KEY, "", "gauge")                                                                  \
    C(REAL, b, NEED, "", "amps at 1 degC rise")                                                    \
    C(REAL, m, NEED, "", "exponent")                                                               \
    COLUMNS_ORIGIN(C)

#define COLUMNS_bundle_factor(C)                                                                   \
    C(INT, wires, KEY, "", "wires in the bundle")                                                  \
    C(REAL, load_pct, KEY, "", "share of the bundle's capacity in use")                            \
    C(REAL, factor, NEED, "", "factor on the free-air current")                                    \
    COLUMNS_ORIGIN(C)

#define COLUMNS_altitude_factor(C)                                                                 \
    C(REAL, altitude_ft, KEY, "", "pressure altitude")                                             \
    C(REAL, factor, NEED, "", "factor on the current")                                             \
    COLUMNS_ORIGIN(C)

#define COLUMNS_wire_rating(C)                                                                     \
    C(AWG, awg, KEY, "", "gauge")                                                                  \
    C(REAL, at105_a, NEED, "", "105 degC conductor")                                               \
    C(REAL, at150_a, NEED, "", "150 degC conductor")                                               \
    C(REAL, at200_a, NEED, "", "200 degC conductor")                                               \
    COLUMNS_ORIGIN(C)

#define COLUMNS_protector(C)                                                                       \
    C(AWG, awg, KEY, "", "gauge")                                                                  \
    C(REAL, breaker_a, OPEN, "", "largest breaker")                                                \
    C(REAL, fuse_a, OPEN, "", "largest fuse")                                                      \
    COLUMNS_ORIGIN(C)

#define COLUMNS_drop_limit(C)                                                                      \
    C(REAL, nominal_v, KEY, "", "system voltage")                                                  \
    C(REAL, continuous_v, NEED, "", "continuous load")                                             \
    C(REAL, intermittent_v, NEED, "", "intermittent load")                                         \
    COLUMNS_ORIGIN(C)

#define COLUMNS_switch_factor(C)                                                                   \
    C(REAL, nominal_v, KEY, "", "system voltage of the table")                                     \
    C(WORD, load, KEY, "lamp|inductive|resistive|motor", "kind of load")                           \
    C(REAL, factor, NEED, "", "needed rating over continuous current")                             \
    COLUMNS_ORIGIN(C)

#define COLUMNS_contact_current(C)                                                                 \
    C(AWG, awg, KEY, "", "gauge of the wire in the contact")                                       \
    C(REAL, max_a, NEED, "", "largest")                                                            \
    C(REAL, operating_a, NEED, "", "operating")                                                    \
    C(REAL, recommended_a, NEED, "", "recommended")                                                \
    COLUMNS_ORIGIN(C)

#define COLUMNS_antenna_apart(C)                                                                   \
    C(TEXT, kind_a, KEY, "", "one kind")                                                           \
    C(TEXT, kind_b, KEY, "", "other kind")                                                         \
    C(REAL, distance_mm, NEED, "", "smallest distance")                                            \
    COLUMNS_ORIGIN(C)

#define COLUMNS_limit(C)                                                                           \
    C(TEXT, limit, KEY, "", "short name")                                                          \
    C(REAL, value, NEED, "", "value")                                                              \
    C(TEXT, unit, NEED, "", "its unit")                                                            \
    C(TEXT, meaning, NEED, "", "what it limits")                                                   \
    COLUMNS_ORIGIN(C)

#define COLUMNS_load_condition(C)                                                                  \
    C(TEXT, condition, KEY, "", "code")                                                            \
    C(TEXT, name, NEED, "", "operating condition or interval")                                     \
    COLUMNS_ORIGIN(C)

#define COLUMNS_circuit_letter(C)                                                                  \
    C(TEXT, letter, KEY, "", "function letter")                                                    \
    C(TEXT, function, NEED, "", "what it stands for")                                              \
    COLUMNS_ORIGIN(C)

#define COLUMNS_system(C)                                                                          \
    C(TEXT, system, KEY, "", "short name: that of its sheets")                                     \
    C(INT, rank, NEED, "", "order in the book; of two that fit a circuit the first takes it")      \
    C(TEXT, name, NEED, "", "in words")                                                            \
    C(LIST, letters, NEED, "", "function letters of its circuits")                                 \
    C(LIST, classes, OPEN, "", "only circuits of these classes; blank: all")

#define COLUMNS_gate(C)                                                                            \
    C(TEXT, gate, KEY, "", "short name")                                                           \
    C(INT, rank, NEED, "", "order in time")                                                        \
    C(TEXT, step, NEED, "", "what can't be undone")

#define COLUMNS_touch_kind(C)                                                                      \
    C(TEXT, what, KEY, "", "kind of thing an option touches")                                      \
    C(REF, gate, NEED, "gate", "after this gate it costs money")                                   \
    C(TEXT, why, NEED, "", "what would be made again")

#define COLUMNS_brief_question(C)                                                                  \
    C(TEXT, question, KEY, "", "short name")                                                       \
    C(INT, rank, NEED, "", "order of asking")                                                      \
    C(TEXT, asks, NEED, "", "the question as the customer hears it")                               \
    C(REF, gate, NEED, "gate", "gate that waits for the answer")                                   \
    C(WORD, flight, OPEN, "day|night|instrument|altitude|airspace",                                \
      "kind of flight that an answer beginning with yes (for altitude: a height) asks for")

#define COLUMNS_required_item(C)                                                                   \
    C(TEXT, item, KEY, "", "short name; parts say which they cover")                               \
    C(TEXT, name, NEED, "", "the equipment as the rule names it")                                  \
    C(WORD, flight, NEED, "day|night|instrument|altitude|airspace",                                \
      "kind of flight that needs it")                                                              \
    C(WORD, checked, NEED, "electrical|other",                                                     \
      "electrical: a unit of the job must cover it; other: listed for the builder")                \
    C(REAL, above_ft, OPEN, "", "needed only above this height")                                   \
    COLUMNS_ORIGIN(C)

#define COLUMNS_depends(C)                                                                         \
    C(REF, part, KEY, "part", "which part")                                                        \
    C(TEXT, function, KEY, "",                                                                     \
      "`works`: the whole box; a port's name: when that port serves; "                             \
      "else a function of its own")                                                                \
    C(TEXT, way, KEY, "", "any way will do; a way needs all its ports")                            \
    C(TEXT, port, KEY, "", "supply port, data port, another function of the part, or `nothing`")   \
    C(TEXT, partner, OPEN, "",                                                                     \
      "function that the box at the other end must have; blank: what serves its port")             \
    C(FLAG, at_rest, OPEN, "", "this way also holds while the box is dead (a relay at rest)")      \
    COLUMNS_ORIGIN(C)

/* Kinds of things that fail, and what failing does to them: power/faults_list.c knows the words. */
#define FAILURE_KIND_WORDS                                                                         \
    "conductor|return|contact|cavities|device|contactor|changeover|switch|diode|shunt|unit|port|"  \
    "talker|battery|alternator|bus|ground|bond|shell|disconnect|segment|zone|connectors"
#define FAILURE_EFFECT_WORDS                                                                       \
    "open|closed|at rest|picked up|short|join|add ohm|volts|dead|jam|burn|swap"

#define COLUMNS_failure_mode(C)                                                                    \
    C(WORD, kind, KEY, FAILURE_KIND_WORDS, "kind of thing")                                        \
    C(TEXT, mode, KEY, "", "how it fails: what stands behind the colon of a failure's key")        \
    C(WORD, effect, NEED, FAILURE_EFFECT_WORDS, "what that does to it")                            \
    C(REAL, ohm, OPEN, "", "of a short or join; what `add ohm` adds")                              \
    C(REAL, volts_pct, OPEN, "", "of `volts`, in percent of the job's nominal voltage")            \
    C(TEXT, scope, NEED, "", "the word that covers it in the scope of a need")                     \
    C(TEXT, meaning, NEED, "", "what has happened, in words")                                      \
    C(FLAG, alone, OPEN, "", "yes: tried alone, not together with a second failure")               \
    COLUMNS_ORIGIN(C)

#define COLUMNS_driven(C)                                                                          \
    C(REF, part, KEY, "part", "kind of box that is driven")                                        \
    C(TEXT, port, KEY, "", "its port; the current comes by core 1 and goes by core 2")             \
    C(REAL, amps_a, NEED, "", "current while it runs")                                             \
    C(TEXT, what, OPEN, "", "when it runs")                                                        \
    COLUMNS_ORIGIN(C)

#define COLUMNS_tester(C)                                                                          \
    C(TEXT, tester, KEY, "", "short name")                                                         \
    C(TEXT, name, NEED, "", "what it is")                                                          \
    C(INT, points, NEED, "", "points it holds at once, each switched to either side")              \
    C(INT, leads, NEED, "", "adapter leads at once: one for each plug, or each clip")              \
    C(FLAG, usual, OPEN, "", "the script is written for it")                                       \
    COLUMNS_ORIGIN(C)

/* The row with the longest `where` that is found in what the job says of the place governs; "any"
 * is the row for all others. */
#define COLUMNS_end_allowance(C)                                                                   \
    C(WORD, at, KEY, "unit|device|switch|bar|ground|antenna|near half|far half",                   \
      "what the end goes to; half: of a disconnect, seen from the module it is named for")         \
    C(TEXT, where, KEY, "",                                                                        \
      "words of a unit's mount, a device's place or a disconnect's name; any: all others")         \
    C(REAL, loop_mm, NEED, "", "service loop or disconnect allowance beyond the stub")             \
    C(TEXT, meaning, OPEN, "", "what it is kept for")                                              \
    COLUMNS_ORIGIN(C)

#define COLUMNS_twist(C)                                                                           \
    C(AWG, awg, KEY, "", "gauge")                                                                  \
    C(INT, wires, KEY, "", "wires twisted together")                                               \
    C(REAL, lay_mm, NEED, "", "length of one turn")                                                \
    COLUMNS_ORIGIN(C)

#define COLUMNS_cutout(C)                                                                          \
    C(TEXT, cutout, KEY, "", "short name")                                                         \
    C(TEXT, name, NEED, "", "what sits there")                                                     \
    C(WORD, kind, NEED,                                                                            \
      "display|instrument|tray|switch|breaker|lever|lamp|jack|connector|knob|plate|other",         \
      "what it looks like in front")                                                               \
    C(REAL, bezel_width_mm, OPEN, "", "what it covers in front; blank: its largest opening")       \
    C(REAL, bezel_height_mm, OPEN, "", "")                                                         \
    C(REAL, bezel_radius_mm, OPEN, "", "corners of the bezel; half its width: round")              \
    C(REAL, bezel_high_mm, OPEN, "", "how far it stands out of the face")                          \
    C(REAL, body_width_mm, OPEN, "", "body behind; blank: its largest opening")                    \
    C(REAL, body_height_mm, OPEN, "", "")                                                          \
    C(REAL, depth_mm, OPEN, "", "from the front of the face to the back of the body")              \
    C(REAL, connector_mm, OPEN, "", "connector and first bend of its wires, behind the body")      \
    C(REAL, tool_mm, OPEN, "", "hand or tool behind that while it is fitted")                      \
    C(REAL, pull_mm, OPEN, "", "how far it is pulled to the front to take it out")                 \
    C(FLAG, guarded, OPEN, "",                                                                     \
      "can't be moved by a brush of the sleeve: guard, locking lever, pull to move")               \
    C(REAL, view_deg, OPEN, "", "display: largest angle off its normal at which it is read")       \
    C(REAL, mass_kg, OPEN, "", "mass with screws, where no unit's part says it")                   \
    COLUMNS_ORIGIN(C)

#define COLUMNS_cutout_hole(C)                                                                     \
    C(REF, cutout, KEY, "cutout", "which")                                                         \
    C(INT, hole, KEY, "", "number")                                                                \
    C(WORD, kind, NEED, "round|rectangle|slot|dee|double_dee|keyed|notched|trapezoid", "shape")    \
    C(REAL, u_mm, OPEN, "", "its middle from the item's; blank: nought")                           \
    C(REAL, v_mm, OPEN, "", "")                                                                    \
    C(REAL, rotation_deg, OPEN, "", "turned to the left by")                                       \
    C(REAL, width_mm, OPEN, "", "width; diameter of round shapes; blank: the screw's hole")        \
    C(REAL, height_mm, OPEN, "", "rectangle, slot, trapezoid: height")                             \
    C(REAL, radius_mm, OPEN, "", "rectangle, trapezoid: corner radius")                            \
    C(REAL, flat_mm, OPEN, "",                                                                     \
      "dee: flat to far side, flat above; double dee: across flats; trapezoid: width below")       \
    C(REAL, notch_width_mm, OPEN, "", "keyed: width of the notch; notched: its diameter")          \
    C(REAL, notch_mm, OPEN, "",                                                                    \
      "keyed: the notch's end above the middle; notched: middle to middle")                        \
    C(LIST, corners, OPEN, "", "notched: where, of right-up left-up left-down right-down")         \
    C(REF, screw, OPEN, "screw", "a screw sits in it")                                             \
    C(FLAG, countersunk, OPEN, "", "for that screw")                                               \
    C(REF, nutplate, OPEN, "nutplate", "riveted behind it")                                        \
    C(REAL, nutplate_deg, OPEN, "", "its rivets lie along this direction")                         \
    COLUMNS_ORIGIN(C)

#define COLUMNS_cutout_front(C)                                                                    \
    C(REF, cutout, KEY, "cutout", "which")                                                         \
    C(INT, front, KEY, "", "number, from the face outwards")                                       \
    C(WORD, kind, NEED, "screen|knob|lever|button|guard|window|cap|socket|wheel", "what it is")    \
    C(REAL, u_mm, OPEN, "", "its middle from the item's; blank: nought")                           \
    C(REAL, v_mm, OPEN, "", "")                                                                    \
    C(REAL, width_mm, NEED, "", "width with its travel; diameter")                                 \
    C(REAL, height_mm, OPEN, "", "height; blank: round")                                           \
    C(REAL, radius_mm, OPEN, "", "corners")                                                        \
    C(REAL, high_mm, OPEN, "",                                                                     \
      "how far it stands out of the face; blank or nought: flush, kept free of nothing")           \
    C(REAL, room_mm, OPEN, "", "kept free around it for fingers")                                  \
    COLUMNS_ORIGIN(C)

#define COLUMNS_sheet(C)                                                                           \
    C(TEXT, sheet, KEY, "", "short name")                                                          \
    C(TEXT, name, NEED, "", "material and temper")                                                 \
    C(REAL, thickness_mm, NEED, "", "thickness")                                                   \
    C(REAL, density, NEED, "", "kg by cubic metre")                                                \
    C(REAL, width_mm, OPEN, "", "stock sheet: width")                                              \
    C(REAL, length_mm, OPEN, "", "stock sheet: length")                                            \
    C(TEXT, srgb, OPEN, "", "colour of the bare sheet, #rrggbb")                                   \
    COLUMNS_ORIGIN(C)

#define COLUMNS_finish(C)                                                                          \
    C(TEXT, finish, KEY, "", "short name")                                                         \
    C(TEXT, name, NEED, "", "what it is")                                                          \
    C(WORD, process, NEED, "film|anodise|powder|paint|mark|engrave|sealant", "how it is put on")   \
    C(TEXT, srgb, OPEN, "", "colour, #rrggbb; blank: as what is below")                            \
    C(REAL, thickness_mm, OPEN, "", "on each side, as baked")                                      \
    C(REAL, gloss_pct, OPEN, "", "gloss")                                                          \
    C(TEXT, texture, OPEN, "", "surface")                                                          \
    C(REAL, bake_degc, OPEN, "", "heat of the process")                                            \
    C(REAL, bake_min, OPEN, "", "for how long")                                                    \
    COLUMNS_ORIGIN(C)

#define COLUMNS_screw(C)                                                                           \
    C(TEXT, screw, KEY, "", "short name")                                                          \
    C(TEXT, name, NEED, "", "thread and head")                                                     \
    C(REAL, body_mm, NEED, "", "diameter of the thread")                                           \
    C(REAL, head_mm, NEED, "", "diameter of the head")                                             \
    C(REAL, head_deg, OPEN, "", "angle of a countersunk head; blank: flat below")                  \
    C(REAL, head_high_mm, OPEN, "", "how far the head stands out; blank: flush")                   \
    C(REAL, hole_mm, NEED, "", "clearance hole")                                                   \
    COLUMNS_ORIGIN(C)

#define COLUMNS_nutplate(C)                                                                        \
    C(TEXT, nutplate, KEY, "", "short name")                                                       \
    C(TEXT, name, NEED, "", "what it is")                                                          \
    C(REAL, pitch_mm, NEED, "", "from rivet to rivet")                                             \
    C(REAL, rivet_mm, NEED, "", "rivet hole")                                                      \
    C(REAL, rivet_head_mm, NEED, "", "head of the rivet in front")                                 \
    C(FLAG, flush, OPEN, "", "the rivets are countersunk")                                         \
    C(REAL, length_mm, NEED, "", "plate behind, along its rivets")                                 \
    C(REAL, width_mm, NEED, "", "across")                                                          \
    C(REAL, height_mm, NEED, "", "how deep it stands behind the sheet")                            \
    COLUMNS_ORIGIN(C)

#define COLUMNS_grommet(C)                                                                         \
    C(TEXT, grommet, KEY, "", "short name")                                                        \
    C(REAL, inner_mm, NEED, "", "hole in it")                                                      \
    C(REAL, hole_mm, NEED, "", "hole in the sheet that it sits in")                                \
    C(REAL, sheet_mm, OPEN, "", "thickest sheet it takes")                                         \
    COLUMNS_ORIGIN(C)

/* A row holds for its gauge and thinner ones, down to the next row of its contact. */
#define COLUMNS_contact_tool(C)                                                                    \
    C(REF, contact, KEY, "contact", "which contact")                                               \
    C(AWG, awg, KEY, "", "thickest wire of this row")                                              \
    C(REAL, strip_mm, NEED, "", "insulation taken off")                                            \
    C(TEXT, crimp_tool, NEED, "", "crimp tool, or what the joint is made with")                    \
    C(TEXT, setting, OPEN, "", "positioner, die or selector")                                      \
    C(TEXT, insert_tool, OPEN, "", "blank: nothing is inserted")                                   \
    C(TEXT, remove_tool, OPEN, "", "")                                                             \
    C(WORD, pull, NEED, "commercial|military|contact|none", "rows of pull_force that hold for it") \
    COLUMNS_ORIGIN(C)

#define COLUMNS_coax_prep(C)                                                                       \
    C(REF, contact, KEY, "contact", "which plug")                                                  \
    C(REAL, jacket_mm, NEED, "", "jacket off, from the cut end")                                   \
    C(REAL, braid_mm, NEED, "", "braid off")                                                       \
    C(REAL, dielectric_mm, NEED, "", "dielectric off: bare centre")                                \
    C(TEXT, tool, NEED, "", "crimp tool")                                                          \
    C(TEXT, setting, OPEN, "", "dies")                                                             \
    COLUMNS_ORIGIN(C)

#define COLUMNS_shield_prep(C)                                                                     \
    C(WORD, kind, KEY, "on|cut", "on: the shield goes on by a wire; cut: it ends here")            \
    C(REAL, jacket_mm, NEED, "", "jacket off, from the ends of the cores")                         \
    C(REAL, braid_mm, NEED, "", "braid left beyond the jacket")                                    \
    C(REAL, lead_mm, OPEN, "", "wire of the solder sleeve")                                        \
    C(AWG, lead_awg, OPEN, "", "its gauge")                                                        \
    C(TEXT, how, NEED, "", "what is done")                                                         \
    COLUMNS_ORIGIN(C)

#define COLUMNS_sampling(C)                                                                        \
    C(WORD, when, KEY, "start of shift|number of crimps", "what asks for samples")                 \
    C(INT, samples, NEED, "", "how many each time")                                                \
    C(INT, every, OPEN, "", "number of crimps: after so many")                                     \
    C(TEXT, meaning, OPEN, "", "why")                                                              \
    COLUMNS_ORIGIN(C)

/* One operation is one line of the work list for each module, leaf (connector, half of a
 * disconnect, place with lugs) or arm that has any of what it counts. */
#define COLUMNS_labour(C)                                                                          \
    C(TEXT, operation, KEY, "", "short name, one word")                                            \
    C(TEXT, name, NEED, "", "what is done")                                                        \
    C(INT, rank, NEED, "", "of operations that could both be next the lower one comes first")      \
    C(WORD, scope, NEED, "module|leaf|arm", "what one line of the list is about")                  \
    C(WORD, per, NEED, LABOUR_PER_WORDS, "what is counted")                                        \
    C(REAL, minutes_min, NEED, "", "standard minutes for one of them")                             \
    C(WORD, who, NEED, "builder|inspector", "whose hands")                                         \
    C(LIST, after, OPEN, "", "operations that must be done before, where they are about the same") \
    C(WORD, only, OPEN, "sealed", "sealed: only for modules with a place that must be sealed")     \
    COLUMNS_ORIGIN(C)

#endif
