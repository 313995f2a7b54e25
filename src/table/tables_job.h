/* Tables of one job: what the designer writes. An "end" is OWNER.NAME: a port of a unit (PD1.PWR),
 * a terminal of a protective device, switch, bus bar, ground point or antenna (GBC.t01). */
#ifndef TABLE_TABLES_JOB_H
#define TABLE_TABLES_JOB_H

#define JOB_TABLES(T)                                                                              \
    T(JOB, job, JobRow, "the job itself: one row")                                                 \
    T(JOB, brief, BriefRow, "the customer's answers")                                              \
    T(JOB, passed, PassedRow, "gates that this job has passed")                                    \
    T(JOB, option, OptionRow, "what the customer can still choose, and until which gate")          \
    T(JOB, touch, TouchRow, "what an option touches; the last gate follows from it")               \
    T(JOB, zone, ZoneRow, "parts of the airframe with one surrounding")                            \
    T(JOB, module, ModuleRow, "pieces the harness is built in")                                    \
    T(JOB, node, NodeRow, "points of the airframe skeleton where harness runs meet")               \
    T(JOB, segment, SegmentRow, "ways between two nodes that conductors may take")                 \
    T(JOB, apart, ApartRow, "classes that must not share a way, with the distance to keep")        \
    T(JOB, disconnect, DisconnectRow, "places where two modules part")                             \
    T(JOB, disconnect_shell, DisconnectShellRow, "one connector pair at a disconnect")             \
    T(JOB, unit, UnitRow, "boxes, sensors, motors, batteries, lights: anything with pins")         \
    T(JOB, keying, KeyingRow, "keying of a unit's connector where it differs from the part's")     \
    T(JOB, antenna, AntennaRow, "aerials, with place and allowed feeder loss")                     \
    T(JOB, ground_point, GroundPointRow, "ground blocks, studs and other returns")                 \
    T(JOB, lug, LugRow, "a terminal that sits at another node than its owner")                     \
    T(JOB, bond, BondRow, "metal connection to structure; without a row a thing is isolated")      \
    T(JOB, source, SourceRow, "batteries and alternators")                                         \
    T(JOB, bus, BusRow, "points that feed more than one thing")                                    \
    T(JOB, protection, ProtectionRow, "breakers, fuses, limiters, electronic channels")            \
    T(JOB, switchgear, SwitchgearRow, "switches, relays, contactors, diodes, shunts")              \
    T(JOB, feed, FeedRow, "what supplies a bus or port, through which devices")                    \
    T(JOB, ground, GroundRow, "what returns where")                                                \
    T(JOB, link, LinkRow, "which ports talk to which")                                             \
    T(JOB, terminator, TerminatorRow, "terminating resistors fitted on a chain")                   \
    T(JOB, shield, ShieldRow, "shield ground at one end, where it differs from the class's rule")  \
    T(JOB, pin_net, PinNetRow, "explicit end to end, for the few things no class describes")       \
    T(JOB, phase, PhaseRow, "phases of flight that loads are summed and solved in")                \
    T(JOB, setting, SettingRow, "position of a switch, contactor or source in a phase")            \
    T(JOB, mode, ModeRow, "what a port draws in a phase; no row means nothing")                    \
    T(JOB, situation, SituationRow, "cases whose endurance is asked for")                          \
    T(JOB, action, ActionRow, "what the pilot does in a situation, in order")                      \
    T(JOB, need, NeedRow, "functions that must survive: all clauses, any way of each")             \
    T(JOB, override, OverrideRow, "a derived value that a person set, with the reason")            \
    T(JOB, accept, AcceptRow, "a finding that a person accepts, with the reason")                  \
    T(JOB, rule_limit, RuleLimitRow, "a shop limit in place of the library's")                     \
    T(JOB, allot, AllotRow, "kept wire keys; written by `marling allot`")                          \
    T(JOB, allot_cavity, AllotCavityRow, "kept disconnect cavities; written by `marling allot`")   \
    T(JOB, exception, ExceptionRow, "failures that may lose a need, and why")                      \
    T(JOB, cue, CueRow, "by what the pilot notices a failure")                                     \
    T(JOB, card, CardRow, "what stands on the emergency card, as the shop chose")                  \
    T(JOB, card_action, CardActionRow, "what the pilot does, in words, for a row of the card")     \
    T(JOB, sensor, SensorRow, "magnetometers and compasses: where they are, what they may err")    \
    T(JOB, reading, ReadingRow, "readings taken at the bench, for `marling diagnose`")             \
    T(JOB, seat, SeatRow, "who sits where: eyes that read, shoulders that reach")                  \
    T(JOB, panel_face, PanelFaceRow,                                                               \
      "flat faces of the panel: main panel, sub-panels, pedestal sides")                           \
    T(JOB, outline, OutlineRow, "corners of the outlines of faces, in order around")               \
    T(JOB, panel_bend, PanelBendRow, "lines a face is bent along")                                 \
    T(JOB, panel_coat, PanelCoatRow, "coats and marks of a face, in order")                        \
    T(JOB, mount, MountRow, "what is mounted in the panel, and where")                             \
    T(JOB, align, AlignRow, "items that stand in a row, a column, or at equal gaps")               \
    T(JOB, legend, LegendRow, "what is engraved or marked on the front")                           \
    T(JOB, behind, BehindRow, "space behind a face: how deep it is free, what is there")           \
    T(JOB, reel, ReelRow, "wire and cable on hand, reel by reel and offcut by offcut")             \
    T(JOB, wish, WishRow, "what a panel should be like, for `marling suggest`")                    \
    T(JOB, bench_tick, BenchTickRow, "work ticked at the bench; rows are only ever added")         \
    T(JOB, bench_reading, BenchReadingRow, "readings of the ring-out; rows are only ever added")   \
    T(JOB, bench_note, BenchNoteRow, "problems noted at the bench; rows are only ever added")      \
    T(JOB, bench_photo, BenchPhotoRow, "photos taken at the bench; rows are only ever added")

#define COLUMNS_job(C)                                                                             \
    C(TEXT, job, KEY, "", "short name of the job")                                                 \
    C(TEXT, title, NEED, "", "what is built")                                                      \
    C(TEXT, customer, OPEN, "", "customer's number")                                               \
    C(TEXT, revision, OPEN, "", "what the shop calls this revision")                               \
    C(TEXT, date, OPEN, "", "date of this revision, year-month-day: stands on every sheet")        \
    C(REAL, nominal_v, NEED, "", "nominal system voltage: 14 or 28")                               \
    C(WORD, return_style, NEED, "structure|wired", "how currents return to the battery")           \
    C(REAL, handling_mm, OPEN, "", "handling allowance added to every cable")                      \
    C(TEXT, starter, OPEN, "", "supply port of the starter; blank: nothing is cranked")            \
    C(REAL, crank_a, OPEN, "", "current of the starter while cranking")                            \
    C(REAL, crank_mohm, OPEN, "", "starter contactor and joints in the cranking path")             \
    C(REAL, parked_day, OPEN, "", "days it may stand without a charger")                           \
    C(REAL, crank_degc, OPEN, "", "coldest batteries it is started with; blank: not derated")

#define COLUMNS_brief(C)                                                                           \
    C(REF, question, KEY, "brief_question", "which question")                                      \
    C(TEXT, answer, OPEN, "", "the customer's answer in a few words")

#define COLUMNS_passed(C)                                                                          \
    C(REF, gate, KEY, "gate", "which gate")                                                        \
    C(TEXT, date, NEED, "", "when, year-month-day")                                                \
    C(TEXT, evidence, NEED, "", "what proves it")

#define COLUMNS_option(C)                                                                          \
    C(TEXT, option, KEY, "", "short name")                                                         \
    C(TEXT, name, NEED, "", "what the customer chooses")                                           \
    C(FLAG, chosen, OPEN, "", "taken or not; blank while open")                                    \
    C(REF, gate, OPEN, "gate", "last gate as sold to the customer")                                \
    C(TEXT, why, OPEN, "", "what speaks for it, in words the customer reads")                      \
    C(TEXT, why_not, OPEN, "", "what speaks against it, likewise")

#define COLUMNS_touch(C)                                                                           \
    C(REF, option, KEY, "option", "which option")                                                  \
    C(REF, what, KEY, "touch_kind", "kind of thing it touches")                                    \
    C(TEXT, item, KEY, "", "which thing")

#define COLUMNS_zone(C)                                                                            \
    C(TEXT, zone, KEY, "", "short name")                                                           \
    C(TEXT, name, NEED, "", "where it is")                                                         \
    C(REAL, ambient_max_degc, NEED, "", "hottest surrounding")                                     \
    C(REAL, ambient_min_degc, NEED, "", "coldest surrounding")                                     \
    C(REAL, altitude_max_m, NEED, "", "highest pressure altitude")                                 \
    C(FLAG, pressurised, OPEN, "", "pressurised")                                                  \
    C(WORD, moisture, NEED, "dry|damp|wet", "moisture")                                            \
    C(FLAG, sealed_needed, OPEN, "", "sealed shells are demanded here")                            \
    C(TEXT, note, OPEN, "", "")

#define COLUMNS_module(C)                                                                          \
    C(TEXT, module, KEY, "", "short name")                                                         \
    C(TEXT, name, NEED, "", "which piece")

#define COLUMNS_node(C)                                                                            \
    C(TEXT, node, KEY, "", "short name")                                                           \
    C(REAL, x_mm, NEED, "", "aft of the datum")                                                    \
    C(REAL, y_mm, NEED, "", "to the right")                                                        \
    C(REAL, z_mm, NEED, "", "up")                                                                  \
    C(REF, zone, NEED, "zone", "surrounding")                                                      \
    C(REF, module, NEED, "module", "piece of the harness")                                         \
    C(TEXT, what, OPEN, "", "what is there")

#define COLUMNS_segment(C)                                                                         \
    C(TEXT, segment, KEY, "", "short name")                                                        \
    C(REF, node_a, NEED, "node", "one end")                                                        \
    C(REF, node_b, NEED, "node", "other end")                                                      \
    C(REF, zone, NEED, "zone", "surrounding")                                                      \
    C(REAL, length_mm, OPEN, "", "length; blank: straight between the nodes")                      \
    C(TEXT, way, OPEN, "", "how it is carried")                                                    \
    C(REAL, inner_mm, OPEN, "", "inner diameter of the conduit or hole, if any")                   \
    C(LIST, classes, OPEN, "", "classes allowed here; blank: all")

#define COLUMNS_apart(C)                                                                           \
    C(REF, class_a, KEY, "interface", "one class")                                                 \
    C(REF, class_b, KEY, "interface", "other class")                                               \
    C(REAL, distance_mm, NEED, "", "distance to keep")                                             \
    C(REAL, together_mm, OPEN, "", "length they may share a way all the same")                     \
    C(TEXT, why, OPEN, "", "reason and source")

#define COLUMNS_disconnect(C)                                                                      \
    C(TEXT, disconnect, KEY, "", "short name")                                                     \
    C(TEXT, name, NEED, "", "where")                                                               \
    C(REF, module, NEED, "module", "the module on its far side")                                   \
    C(REF, coax, OPEN, "contact", "plug of coax that passes it by a bulkhead of its own")          \
    C(REF, stud, OPEN, "contact", "lug of wires that pass it by a stud of their own")

#define COLUMNS_disconnect_shell(C)                                                                \
    C(TEXT, tag, KEY, "", "the connector pair")                                                    \
    C(REF, disconnect, NEED, "disconnect", "which disconnect")                                     \
    C(REF, segment, NEED, "segment", "the segment it cuts")                                        \
    C(WORD, group, NEED, "all|1|2|power",                                                          \
      "conductors it takes: all, group 1 or 2, or those too thick for the others")                 \
    C(REF, shell, NEED, "shell", "kind of shell")                                                  \
    C(AWG, largest_awg, OPEN, "", "thickest wire it is used for; blank: the contact's")            \
    C(TEXT, alloy, OPEN, "", "thermocouple type that it has alloy contacts for")                   \
    C(TEXT, keying, OPEN, "", "keying")                                                            \
    C(REF, node, OPEN, "node",                                                                     \
      "end of that segment where it sits; blank: the end away from the disconnect's module")

#define COLUMNS_unit(C)                                                                            \
    C(TEXT, tag, KEY, "", "permanent name")                                                        \
    C(REF, part, NEED, "part", "kind of box")                                                      \
    C(TEXT, role, OPEN, "", "what it does here")                                                   \
    C(REF, node, NEED, "node", "where its conductors leave the harness")                           \
    C(REAL, stub_mm, NEED, "", "from the node to its connector")                                   \
    C(REF, module, NEED, "module", "piece of the harness")                                         \
    C(TEXT, mount, OPEN, "", "how it is mounted")                                                  \
    C(REF, option, OPEN, "option", "only with this option")

#define COLUMNS_keying(C)                                                                          \
    C(REF, unit, KEY, "unit", "which unit")                                                        \
    C(TEXT, connector, KEY, "", "which connector")                                                 \
    C(TEXT, keying, NEED, "", "keying")

#define COLUMNS_antenna(C)                                                                         \
    C(TEXT, tag, KEY, "", "permanent name; its end is TAG.RF")                                     \
    C(WORD, kind, NEED, "COM|NAV|GNSS|XPD|ELB|other", "what it is for")                            \
    C(REF, node, NEED, "node", "where the coax leaves the harness")                                \
    C(REAL, stub_mm, NEED, "", "from the node to the aerial")                                      \
    C(REAL, x_mm, NEED, "", "aft of the datum")                                                    \
    C(REAL, y_mm, NEED, "", "to the right")                                                        \
    C(REAL, z_mm, NEED, "", "up")                                                                  \
    C(REAL, frequency_mhz, NEED, "", "frequency the loss is taken at")                             \
    C(REAL, loss_limit_db, NEED, "", "largest feeder loss with connectors")                        \
    C(TEXT, place, OPEN, "", "where on the airframe")                                              \
    C(REF, plug, OPEN, "contact", "coax plug that its feeder ends in")

#define COLUMNS_ground_point(C)                                                                    \
    C(TEXT, point, KEY, "", "permanent name; its ends are POINT.TAB")                              \
    C(REF, node, NEED, "node", "where")                                                            \
    C(REAL, stub_mm, NEED, "", "from the node")                                                    \
    C(INT, tabs, NEED, "", "tabs or studs it has")                                                 \
    C(WORD, kind, NEED, "block|stud|engine", "tab block, single stud, engine block")               \
    C(TEXT, what, OPEN, "", "what it is and who uses it")

#define COLUMNS_lug(C)                                                                             \
    C(TEXT, owner, KEY, "", "the unit, device or ground point")                                    \
    C(TEXT, terminal, KEY, "", "its terminal")                                                     \
    C(REF, node, NEED, "node", "where")                                                            \
    C(REAL, stub_mm, NEED, "", "from the node")

#define COLUMNS_bond(C)                                                                            \
    C(TEXT, item, KEY, "", "ground point, or unit whose case is meant")                            \
    C(TEXT, onto, KEY, "", "`structure`, or a ground point")                                       \
    C(REAL, mohm, NEED, "", "resistance of the connection")                                        \
    C(TEXT, note, OPEN, "", "how it is made")

#define COLUMNS_source(C)                                                                          \
    C(REF, unit, KEY, "unit", "the battery or alternator")                                         \
    C(TEXT, plus, NEED, "", "its output port")                                                     \
    C(TEXT, minus, OPEN, "", "its return port; blank: its case")                                   \
    C(TEXT, field, OPEN, "", "port that must be supplied for it to give anything")                 \
    C(REAL, charge_pct, OPEN, "", "state of charge of a battery; blank: full")

#define COLUMNS_bus(C)                                                                             \
    C(TEXT, bus, KEY, "", "short name")                                                            \
    C(TEXT, stud, NEED, "", "the end wires go to: BAR.TERMINAL, or a terminal of switchgear")      \
    C(REF, node, NEED, "node", "where")                                                            \
    C(REAL, stub_mm, NEED, "", "from the node")                                                    \
    C(REF, counts_in, OPEN, "bus", "bus its loads are reported under")                             \
    C(TEXT, what, OPEN, "", "what hangs on it, when it is dead")

#define COLUMNS_protection(C)                                                                      \
    C(TEXT, tag, KEY, "", "permanent name")                                                        \
    C(REF, part, NEED, "device", "kind of device")                                                 \
    C(REAL, rating_a, OPEN, "", "rated current; blank: chosen")                                    \
    C(REF, node, NEED, "node", "where")                                                            \
    C(REAL, stub_mm, NEED, "", "from the node")                                                    \
    C(TEXT, bolted_on, OPEN, "", "bus or owner its input is bolted on; blank: wired")              \
    C(TEXT, bolts_to, OPEN, "", "bus or owner its output is bolted on; blank: wired")              \
    C(TEXT, place, OPEN, "", "hole, channel or stud")

#define COLUMNS_switchgear(C)                                                                      \
    C(TEXT, tag, KEY, "", "permanent name")                                                        \
    C(REF, part, NEED, "switch_part", "kind of switch")                                            \
    C(REF, node, NEED, "node", "where")                                                            \
    C(REAL, stub_mm, NEED, "", "from the node")                                                    \
    C(TEXT, rest, NEED, "", "position without coil current or hand")                               \
    C(TEXT, bolted_on, OPEN, "", "bus or owner its input is bolted on; blank: wired")              \
    C(TEXT, bolts_to, OPEN, "", "bus or owner its output is bolted on; blank: wired")              \
    C(TEXT, coil_plus_on, OPEN, "", "bus its coil is fed from inside; blank: wired to C+")         \
    C(TEXT, coil_minus_on, OPEN, "", "`case` when the coil returns there; blank: wired from C-")   \
    C(TEXT, what, OPEN, "", "what it is for")                                                      \
    C(TEXT, legend, OPEN, "", "what its label on the panel says")

#define COLUMNS_feed(C)                                                                            \
    C(TEXT, feed, KEY, "", "name of the circuit")                                                  \
    C(LIST, onto, NEED, "", "bus or ports supplied; several ports are chained in order")           \
    C(TEXT, out_of, NEED, "", "bus, or port of a box that gives it")                               \
    C(LIST, through, OPEN, "", "devices in order; a box's own switch as PORT_IN>PORT_OUT")         \
    C(TEXT, start, OPEN, "", "end it leaves from, where not the bus's usual stud")                 \
    C(TEXT, finish, OPEN, "", "end it arrives at, where not the bus's usual stud")                 \
    C(REF, class, OPEN, "interface", "class of its wires; blank: as the port arrived at")          \
    C(WORD, lane, OPEN, "A|B|cross-link", "engine circuit it belongs to")                          \
    C(WORD, group, OPEN, "1|2", "shell group at disconnects; blank: 1")                            \
    C(AWG, awg, OPEN, "", "gauge asked for; blank: the tool's")

#define COLUMNS_ground(C)                                                                          \
    C(TEXT, ground, KEY, "", "name of the circuit")                                                \
    C(LIST, out_of, NEED, "", "ports that return; several are chained in order")                   \
    C(TEXT, onto, NEED, "", "POINT.TAB")                                                           \
    C(REF, class, OPEN, "interface", "class of its wires; blank: ground return")                   \
    C(WORD, lane, OPEN, "A|B|cross-link", "engine circuit it belongs to")                          \
    C(WORD, group, OPEN, "1|2", "shell group at disconnects; blank: 1")                            \
    C(AWG, awg, OPEN, "", "gauge asked for; blank: as its feed")

#define COLUMNS_link(C)                                                                            \
    C(TEXT, link, KEY, "", "name of the circuit")                                                  \
    C(LIST, ends, NEED, "", "ports, or groups of ports that are crossed, in wiring order")         \
    C(REF, class, OPEN, "interface", "class; blank: as its ports")                                 \
    C(WORD, join, OPEN, "point to point|chain|hub at first", "blank: as the class")                \
    C(FLAG, spare, OPEN, "", "declared spare: one end only")                                       \
    C(WORD, lane, OPEN, "A|B|cross-link", "engine circuit it belongs to")                          \
    C(WORD, group, OPEN, "1|2", "shell group at disconnects; blank: 1")                            \
    C(AWG, awg, OPEN, "", "gauge asked for; blank: the class's")

#define COLUMNS_terminator(C)                                                                      \
    C(REF, link, KEY, "link", "which chain")                                                       \
    C(TEXT, port, KEY, "", "at which port")                                                        \
    C(REAL, ohm, NEED, "", "resistance")                                                           \
    C(FLAG, fitted, OPEN, "", "no: provided but not fitted")                                       \
    C(WORD, place, OPEN, "connector|box", "where it sits; blank: in the box, behind its pins")

#define COLUMNS_shield(C)                                                                          \
    C(TEXT, circuit, KEY, "", "which circuit")                                                     \
    C(TEXT, port, KEY, "", "at which end")                                                         \
    C(FLAG, grounded, NEED, "", "grounded there")                                                  \
    C(TEXT, why, NEED, "", "whose manual asks for it")

#define COLUMNS_pin_net(C)                                                                         \
    C(TEXT, net, KEY, "", "name of the circuit")                                                   \
    C(REF, class, NEED, "interface", "class")                                                      \
    C(WORD, join, NEED, "point to point|chain|hub at first", "how the ends are joined")            \
    C(LIST, ends, NEED, "", "ends in wiring order")                                                \
    C(WORD, lane, OPEN, "A|B|cross-link", "engine circuit it belongs to")                          \
    C(WORD, group, OPEN, "1|2", "shell group at disconnects; blank: 1")                            \
    C(AWG, awg, OPEN, "", "gauge asked for")                                                       \
    C(TEXT, why, NEED, "", "why no class describes it")

#define COLUMNS_phase(C)                                                                           \
    C(TEXT, phase, KEY, "", "short name")                                                          \
    C(INT, rank, NEED, "", "order in time")                                                        \
    C(TEXT, name, NEED, "", "what happens")                                                        \
    C(REF, condition, OPEN, "load_condition", "operating condition of the load analysis")          \
    C(WORD, engine, NEED, "off|cranking|idle|taxi|climb|cruise|approach", "engine speed")          \
    C(REAL, minutes_min, OPEN, "", "how long it lasts")                                            \
    C(REF, carried_by, OPEN, "unit", "alternator that must carry the whole load")                  \
    C(FLAG, failures, OPEN, "",                                                                    \
      "failures are tried in this phase; no row says yes: in each from taxi to approach")

#define COLUMNS_setting(C)                                                                         \
    C(REF, phase, KEY, "phase", "in which phase")                                                  \
    C(TEXT, item, KEY, "", "switch, contactor, device or source")                                  \
    C(TEXT, position, NEED, "", "position; `off` for a source that gives nothing")

#define COLUMNS_mode(C)                                                                            \
    C(REF, phase, KEY, "phase", "in which phase")                                                  \
    C(TEXT, port, KEY, "", "supply port")                                                          \
    C(REAL, amps_a, OPEN, "",                                                                      \
      "current at nominal voltage; blank: the part's usual current; above its design current it "  \
      "sizes the wire")

#define COLUMNS_situation(C)                                                                       \
    C(TEXT, situation, KEY, "", "short name")                                                      \
    C(TEXT, name, NEED, "", "what has happened")                                                   \
    C(REF, phase, NEED, "phase", "loads as in this phase")                                         \
    C(LIST, lost, OPEN, "", "sources that give nothing")                                           \
    C(REF, battery, NEED, "unit", "the battery whose time is asked")                               \
    C(REAL, asked_new_min, OPEN, "", "shortest useful time, new battery")                          \
    C(REAL, asked_aged_min, OPEN, "", "shortest useful time, aged battery")                        \
    C(REAL, battery_degc, OPEN, "", "temperature of the cells; blank: not derated")

#define COLUMNS_action(C)                                                                          \
    C(REF, situation, KEY, "situation", "in which situation")                                      \
    C(INT, rank, KEY, "", "order")                                                                 \
    C(TEXT, item, NEED, "", "switch, contactor, device or port")                                   \
    C(TEXT, position, NEED, "", "position it is put to; `off` for a port")                         \
    C(REAL, delay_s, OPEN, "", "after the one before; blank: at once")

#define COLUMNS_card(C)                                                                            \
    C(TEXT, card, KEY, "", "short name")                                                           \
    C(INT, rank, NEED, "", "order on the card")                                                    \
    C(TEXT, title, NEED, "", "what has happened, as a pilot says it")                              \
    C(TEXT, cue, OPEN, "", "how the pilot sees it")                                                \
    C(LIST, failures, OPEN, "", "what has failed: ITEM:MODE as `show fault` names it")             \
    C(REF, phase, OPEN, "phase",                                                                   \
      "what is lost is counted from what is on in it; blank: the worst that failures are tried "   \
      "in")                                                                                        \
    C(LIST, situations, OPEN, "", "situations whose minutes are printed; of the first the actions")

#define COLUMNS_card_action(C)                                                                     \
    C(REF, card, KEY, "card", "which row of the card")                                             \
    C(INT, rank, KEY, "", "order")                                                                 \
    C(TEXT, does, NEED, "", "what the pilot does, with names as on the panel")                     \
    C(TEXT, item, OPEN, "", "switch, device or port it is about: must be there")

#define COLUMNS_need(C)                                                                            \
    C(TEXT, need, KEY, "", "short name")                                                           \
    C(TEXT, clause, KEY, "", "every clause is needed")                                             \
    C(TEXT, way, KEY, "", "any way will do; a way needs all its ports")                            \
    C(TEXT, port, KEY, "", "supply port, unit, or UNIT.FUNCTION of the library's `depends` rows")  \
    C(TEXT, name, NEED, "", "the function")                                                        \
    C(WORD, severity, OPEN, "catastrophic|hazardous|major|minor|no safety effect",                 \
      "class of its loss, in the words of AC 23.1309-1E; who writes the row chooses it")           \
    C(TEXT, scope, NEED, "", "kinds of single failure it must survive, separated by commas")

#define COLUMNS_exception(C)                                                                       \
    C(TEXT, need, KEY, "", "which need")                                                           \
    C(TEXT, item, KEY, "", "what may fail; `any` with a mode named: everything that fails so")     \
    C(TEXT, mode, KEY, "", "how it fails, as `show fault` names it; `any`")                        \
    C(TEXT, reason, NEED, "", "why it can't be had otherwise, and what follows")                   \
    C(TEXT, who, NEED, "", "who answers for it")

#define COLUMNS_override(C)                                                                        \
    C(TEXT, table, KEY, "", "result table")                                                        \
    C(TEXT, row, KEY, "", "its row")                                                               \
    C(TEXT, column, KEY, "", "its column")                                                         \
    C(TEXT, value, NEED, "", "value set")                                                          \
    C(TEXT, reason, NEED, "", "why")                                                               \
    C(TEXT, who, NEED, "", "who answers for it")

#define COLUMNS_accept(C)                                                                          \
    C(TEXT, rule, KEY, "", "rule of the finding")                                                  \
    C(TEXT, row, KEY, "", "key of the finding's row")                                              \
    C(REAL, value, OPEN, "", "value accepted; the acceptance is void once it gets worse")          \
    C(TEXT, reason, NEED, "", "why")                                                               \
    C(TEXT, who, NEED, "", "who answers for it")

#define COLUMNS_rule_limit(C)                                                                      \
    C(REF, limit, KEY, "limit", "which limit")                                                     \
    C(REAL, value, NEED, "", "value in the limit's unit")                                          \
    C(TEXT, reason, NEED, "", "why")                                                               \
    C(TEXT, who, NEED, "", "who answers for it")

#define COLUMNS_allot(C)                                                                           \
    C(TEXT, circuit, KEY, "", "net the wire belongs to")                                           \
    C(TEXT, from_end, KEY, "", "one end")                                                          \
    C(TEXT, to_end, KEY, "", "other end")                                                          \
    C(INT, core, KEY, "", "core of the cable, from 1")                                             \
    C(TEXT, wire, KEY, "", "permanent key")                                                        \
    C(FLAG, retired, OPEN, "", "no longer in the aircraft; its key is not used again")

#define COLUMNS_allot_cavity(C)                                                                    \
    C(TEXT, wire, KEY, "", "wire or cable shield")                                                 \
    C(REF, shell, KEY, "disconnect_shell", "connector pair")                                       \
    C(TEXT, side, KEY, "", "`in`, or `out` where a chain passes twice")                            \
    C(TEXT, cavity, NEED, "", "cavity it keeps")

#define COLUMNS_cue(C)                                                                             \
    C(TEXT, item, KEY, "", "what fails, as `show fault` names it")                                 \
    C(TEXT, mode, KEY, "", "how it fails; `any`")                                                  \
    C(TEXT, cue, NEED, "", "what the pilot sees, hears or feels")

#define COLUMNS_sensor(C)                                                                          \
    C(TEXT, sensor, KEY, "", "permanent name; the unit's tag where it is a unit")                  \
    C(WORD, kind, NEED, "magnetometer|compass", "decides the usual limit")                         \
    C(REF, unit, OPEN, "unit", "the unit it is; blank: nothing of the harness")                    \
    C(REAL, x_mm, NEED, "", "aft of the datum")                                                    \
    C(REAL, y_mm, NEED, "", "to the right")                                                        \
    C(REAL, z_mm, NEED, "", "up")                                                                  \
    C(REAL, horizontal_ut, NEED, "", "weakest horizontal field of the earth where it is flown")    \
    C(REAL, limit_deg, OPEN, "", "largest heading error; blank: the usual one of its kind")        \
    C(REAL, pair_mm, OPEN, "", "between the middles of two cores of one cable; blank: usual")      \
    C(REF, swung_in, OPEN, "phase", "phase it is compensated in; blank: with nothing on")          \
    C(TEXT, what, OPEN, "", "what it is")

#define COLUMNS_reading(C)                                                                         \
    C(INT, reading, KEY, "", "number, in the order in which they were taken")                      \
    C(TEXT, module, OPEN, "", "module that lies on the bench; blank: all mated in the aircraft")   \
    C(INT, step, OPEN, "", "step of the ring-out script that was measured; blank: the points say") \
    C(LIST, point_a, OPEN, "", "point at one probe; several: tied together")                       \
    C(LIST, point_b, OPEN, "", "point or points at the other")                                     \
    C(REAL, ohm, OPEN, "", "reading; blank when the meter shows open")                             \
    C(FLAG, open, OPEN, "", "yes: the meter shows no connection")

#define COLUMNS_seat(C)                                                                            \
    C(TEXT, seat, KEY, "", "short name")                                                           \
    C(REAL, eye_x_mm, NEED, "", "eye point: aft of the datum")                                     \
    C(REAL, eye_y_mm, NEED, "", "to the right")                                                    \
    C(REAL, eye_z_mm, NEED, "", "up")                                                              \
    C(REAL, shoulder_x_mm, OPEN, "",                                                               \
      "reaching shoulder of the smallest person, belted, seat forward; aft")                       \
    C(REAL, shoulder_y_mm, OPEN, "", "to the right")                                               \
    C(REAL, shoulder_z_mm, OPEN, "", "up")                                                         \
    C(REAL, shoulder_apart_mm, OPEN, "",                                                           \
      "between both shoulders, the place above in their middle; blank: that place reaches")        \
    C(REAL, reach_mm, OPEN, "", "from there to the thumb; blank: the usual limit")                 \
    C(TEXT, note, OPEN, "", "where the figures come from")

#define COLUMNS_panel_face(C)                                                                      \
    C(TEXT, face, KEY, "", "short name")                                                           \
    C(TEXT, name, NEED, "", "what it is")                                                          \
    C(REF, sheet, NEED, "sheet", "what it is cut from")                                            \
    C(REAL, x_mm, NEED, "", "where u = v = 0 lies on its front: aft of the datum")                 \
    C(REAL, y_mm, NEED, "", "to the right")                                                        \
    C(REAL, z_mm, NEED, "", "up")                                                                  \
    C(REAL, tilt_deg, OPEN, "", "upper edge leans away from the eye by this; blank: upright")      \
    C(REF, seat, OPEN, "seat", "who reads and reaches it; blank: nobody's")                        \
    C(REF, zone, OPEN, "zone", "air behind it; blank: not known")                                  \
    C(REAL, airflow, OPEN, "",                                                                     \
      "litres of air a second led past the boxes behind it; blank: none is led")                   \
    C(LIST, kerf_by, OPEN, "", "who allows for the width of the cut: shop or cutter")              \
    C(REAL, kerf_mm, OPEN, "", "width of the cut, where the shop allows for it")                   \
    C(LIST, coat_by, OPEN, "", "who opens the holes by the coating on their edges: shop or cutter")

#define COLUMNS_outline(C)                                                                         \
    C(REF, face, KEY, "panel_face", "which face")                                                  \
    C(INT, contour, KEY, "", "1: its edge; 2, 3 ...: openings that belong to no item")             \
    C(INT, point, KEY, "", "order around")                                                         \
    C(REAL, u_mm, NEED, "", "right of the face's origin as the pilot sees it")                     \
    C(REAL, v_mm, NEED, "", "up")                                                                  \
    C(REAL, round_mm, OPEN, "", "radius the corner is rounded with")                               \
    C(REAL, mid_u_mm, OPEN, "", "a point on the arc to the next corner; blank: straight")          \
    C(REAL, mid_v_mm, OPEN, "", "up")

#define COLUMNS_panel_bend(C)                                                                      \
    C(TEXT, bend, KEY, "", "short name")                                                           \
    C(REF, face, NEED, "panel_face", "which face")                                                 \
    C(REAL, from_u_mm, NEED, "", "one end of the line")                                            \
    C(REAL, from_v_mm, NEED, "", "")                                                               \
    C(REAL, to_u_mm, NEED, "", "other end")                                                        \
    C(REAL, to_v_mm, NEED, "", "")                                                                 \
    C(REAL, angle_deg, NEED, "", "by how much")                                                    \
    C(REAL, radius_mm, NEED, "", "inside radius")                                                  \
    C(REF, to_face, OPEN, "panel_face", "the face beyond it")

#define COLUMNS_panel_coat(C)                                                                      \
    C(REF, face, KEY, "panel_face", "which face")                                                  \
    C(INT, step, KEY, "", "order")                                                                 \
    C(REF, finish, NEED, "finish", "what is put on")                                               \
    C(REF, item, OPEN, "mount", "only around this item")                                           \
    C(REAL, band_mm, OPEN, "", "that wide around its opening")                                     \
    C(LIST, free_edges, OPEN, "",                                                                  \
      "items, or kinds of cutouts, whose hole edges are kept free of it")                          \
    C(TEXT, mask, OPEN, "", "what else is kept free of it, in words")

#define COLUMNS_mount(C)                                                                           \
    C(TEXT, item, KEY, "", "short name of the place")                                              \
    C(REF, face, NEED, "panel_face", "in which face")                                              \
    C(REF, cutout, NEED, "cutout", "how it sits there: holes, bezel, room behind")                 \
    C(LIST, serves, OPEN, "", "tags of the units, devices or switches it holds; `spare`: plugged") \
    C(REAL, u_mm, OPEN, "", "middle; blank: an `align` row says")                                  \
    C(REAL, v_mm, OPEN, "", "")                                                                    \
    C(REAL, rotation_deg, OPEN, "", "turned to the left by")                                       \
    C(FLAG, pinned, OPEN, "", "a person put it there: nothing may move it")                        \
    C(WORD, use, OPEN, "primary|display|engine|emergency|lighting|circuit|flight|other",           \
      "what the pilot does with it; primary: the display flown by")                                \
    C(REF, option, OPEN, "option", "only with this option")

#define COLUMNS_align(C)                                                                           \
    C(TEXT, align, KEY, "", "short name; rows work in the order of these names")                   \
    C(WORD, how, NEED, "row|column|pitch_u|pitch_v|gap_u|gap_v",                                   \
      "row: one v; column: one u; pitch: middles equally far; gap: bezels equally far")            \
    C(LIST, members, NEED, "", "items, from left to right or from below")                          \
    C(REAL, value_mm, OPEN, "",                                                                    \
      "the v, u, pitch or gap; blank: as the first member, or even from first to last")

#define COLUMNS_legend(C)                                                                          \
    C(TEXT, legend, KEY, "", "short name")                                                         \
    C(REF, face, NEED, "panel_face", "on which face")                                              \
    C(REF, item, OPEN, "mount", "what it names")                                                   \
    C(TEXT, text, OPEN, "", "the words; a stroke `|` begins a new line")                           \
    C(REAL, u_mm, NEED, "", "middle")                                                              \
    C(REAL, v_mm, NEED, "", "")                                                                    \
    C(REAL, letter_mm, OPEN, "", "height of its capitals")                                         \
    C(WORD, kind, OPEN, "normal|emergency", "emergency: must be read at once")                     \
    C(REAL, rotation_deg, OPEN, "", "turned to the left by")                                       \
    C(WORD, symbol, OPEN, "line|frame|dot|arrow_up|arrow_down|arrow_left|arrow_right",             \
      "a mark instead of words")                                                                   \
    C(REAL, width_mm, OPEN, "", "of the symbol")                                                   \
    C(REAL, height_mm, OPEN, "", "of the symbol")

#define COLUMNS_behind(C)                                                                          \
    C(TEXT, behind, KEY, "", "short name")                                                         \
    C(REF, face, NEED, "panel_face", "behind which face")                                          \
    C(REAL, from_u_mm, NEED, "", "left end")                                                       \
    C(REAL, to_u_mm, NEED, "", "right end")                                                        \
    C(REAL, from_v_mm, NEED, "", "lower end")                                                      \
    C(REAL, to_v_mm, NEED, "", "upper end")                                                        \
    C(REAL, depth_mm, NEED, "", "free from the front of the face to this depth")                   \
    C(REAL, until_mm, OPEN, "", "the obstacle ends at this depth; blank: it goes on")              \
    C(TEXT, what, NEED, "", "what begins there, with all of its travel")

#define COLUMNS_reel(C)                                                                            \
    C(TEXT, reel, KEY, "", "what is written on it")                                                \
    C(TEXT, part, NEED, "", "wire or cable of the library")                                        \
    C(TEXT, colour, OPEN, "", "insulation of a single wire; of a cable nothing")                   \
    C(REAL, on_hand_m, NEED, "", "what is on it")                                                  \
    C(REAL, reserved_m, OPEN, "", "of that: kept for other jobs")                                  \
    C(FLAG, offcut, OPEN, "", "an offcut of an earlier job, not a reel")                           \
    C(TEXT, supplier, OPEN, "", "who sold it")                                                     \
    C(TEXT, note, OPEN, "", "")

#define COLUMNS_wish(C)                                                                            \
    C(TEXT, wish, KEY, "", "short name")                                                           \
    C(WORD, kind, NEED, "centred|stacked|together|apart|reach|view",                               \
      "centred: before the eye; stacked: one above the other; apart: from `others`; reach: of "    \
      "the hand; view: to the side")                                                               \
    C(LIST, items, NEED, "", "items it is for")                                                    \
    C(LIST, others, OPEN, "", "apart: from these")                                                 \
    C(REAL, value_mm, OPEN, "", "apart, reach: how far; blank: the usual limit")                   \
    C(REAL, weight, OPEN, "", "how much it counts; blank: 1")

#define COLUMNS_bench_tick(C)                                                                      \
    C(TEXT, tick, KEY, "", "made where it was ticked, once for ever: sent twice it counts once")   \
    C(TEXT, module, NEED, "", "harness")                                                           \
    C(TEXT, operation, NEED, "", "operation of `labour`")                                          \
    C(TEXT, item, OPEN, "", "piece, end of a piece, connector, segment; blank: the whole harness") \
    C(TEXT, built, OPEN, "", "as it was built; when the design differs since, it counts no more")  \
    C(TEXT, undoes, OPEN, "", "tick that this one takes back")                                     \
    C(TEXT, person, NEED, "", "who did it")                                                        \
    C(TEXT, time, NEED, "", "when, by the clock of where it was ticked (UTC)")                     \
    C(TEXT, kept, NEED, "", "when the shop file took it (UTC)")                                    \
    C(TEXT, tool, OPEN, "", "tool it was done with")                                               \
    C(TEXT, lot, OPEN, "", "lot of the contact or wire")                                           \
    C(REAL, pull_n, OPEN, "", "of pulled samples: least force at which one let go")

#define COLUMNS_bench_reading(C)                                                                   \
    C(TEXT, reading, KEY, "", "made where it was taken, once for ever")                            \
    C(TEXT, module, OPEN, "", "module that lies on the bench; blank: all mated in the aircraft")   \
    C(INT, step, OPEN, "", "step of the ring-out script when it was taken; blank: points alone")   \
    C(LIST, point_a, OPEN, "", "point at one probe; several: tied together")                       \
    C(LIST, point_b, OPEN, "", "point or points at the other")                                     \
    C(REAL, ohm, OPEN, "", "reading; blank when the meter shows open")                             \
    C(FLAG, open, OPEN, "", "yes: the meter shows no connection")                                  \
    C(TEXT, undoes, OPEN, "", "reading that this one takes back; then neither ohms nor open")      \
    C(TEXT, person, NEED, "", "who took it")                                                       \
    C(TEXT, time, NEED, "", "when, by the clock of where it was taken (UTC)")                      \
    C(TEXT, kept, NEED, "", "when the shop file took it (UTC)")                                    \
    C(TEXT, tool, OPEN, "", "meter")                                                               \
    C(TEXT, measured, OPEN, "", "hash of what was measured: of another design it counts no more")

#define COLUMNS_bench_note(C)                                                                      \
    C(TEXT, note, KEY, "", "made where it was written, once for ever")                             \
    C(TEXT, module, NEED, "", "harness")                                                           \
    C(TEXT, operation, OPEN, "", "operation of `labour`")                                          \
    C(TEXT, item, OPEN, "", "piece, end of a piece, connector, segment")                           \
    C(TEXT, words, NEED, "", "what is wrong; of a row that settles another: how it was mended")    \
    C(TEXT, settles, OPEN, "", "problem that this row settles")                                    \
    C(TEXT, person, NEED, "", "who says so")                                                       \
    C(TEXT, time, NEED, "", "when, by the clock of where it was written (UTC)")                    \
    C(TEXT, kept, NEED, "", "when the shop file took it (UTC)")

#define COLUMNS_bench_photo(C)                                                                     \
    C(TEXT, photo, KEY, "", "made where it was taken, once for ever")                              \
    C(TEXT, module, NEED, "", "harness")                                                           \
    C(TEXT, operation, OPEN, "", "operation of `labour`")                                          \
    C(TEXT, item, OPEN, "", "piece, end of a piece, connector, segment")                           \
    C(TEXT, hash, NEED, "", "SHA-256 of the picture, by which the shop file keeps it")             \
    C(WORD, type, NEED, "jpeg|png|webp", "form of the picture, by its first bytes")                \
    C(INT, bytes, NEED, "", "its length")                                                          \
    C(TEXT, person, NEED, "", "who took it")                                                       \
    C(TEXT, time, NEED, "", "when, by the clock of where it was taken (UTC)")                      \
    C(TEXT, kept, NEED, "", "when the shop file took it (UTC)")

#endif
