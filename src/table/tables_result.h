/* Tables that the passes give. Never read from a job; shown, written and compared like the rest. */
#ifndef TABLE_TABLES_RESULT_H
#define TABLE_TABLES_RESULT_H

#define RESULT_TABLES(T)                                                                           \
    T(RESULT, net, NetRow, "circuits: which ends are joined, in wiring order")                     \
    T(RESULT, cable_run, CableRunRow, "laid pieces: one cable or wire from end to end")            \
    T(RESULT, conductor, ConductorRow, "every conductor, pin to pin")                              \
    T(RESULT, cavity_use, CavityUseRow, "what sits in each cavity of each disconnect")             \
    T(RESULT, shell_use, ShellUseRow, "ways used and free at each disconnect shell")               \
    T(RESULT, pin_out, PinOutRow, "every pin of every box and device, wired or free")              \
    T(RESULT, label, LabelRow, "what is printed on wires, cables and connectors, and slid on")     \
    T(RESULT, bundle, BundleRow, "what runs in each segment")                                      \
    T(RESULT, feeder, FeederRow, "supply of each port: plain figures and what sized it")           \
    T(RESULT, gauge, GaugeRow, "every supply wire: gauge, governing limit, runner-up")             \
    T(RESULT, load_total, LoadTotalRow, "amps by phase and bus")                                   \
    T(RESULT, supply_margin, SupplyMarginRow, "load of each phase against its alternator")         \
    T(RESULT, endurance, EnduranceRow, "minutes of each separately fed battery")                   \
    T(RESULT, endurance_step, EnduranceStepRow, "charge, volts and amps of a battery over time")   \
    T(RESULT, port_voltage, PortVoltageRow, "solved voltage at every supply port, by phase")       \
    T(RESULT, device_current, DeviceCurrentRow, "solved current of every device, by phase")        \
    T(RESULT, coax_run, CoaxRunRow, "coax lengths and losses")                                     \
    T(RESULT, chain_run, ChainRunRow, "data chains: order, length, terminators")                   \
    T(RESULT, mass, MassRow, "mass and moment about the datum")                                    \
    T(RESULT, equipment, EquipmentRow, "every box with its mass, arm and moment")                  \
    T(RESULT, device_list, DeviceListRow,                                                          \
      "protection and switchgear with rating and worst current")                                   \
    T(RESULT, option_gate, OptionGateRow, "options with the last gate they can be chosen at")      \
    T(RESULT, open_question, OpenQuestionRow, "questions without an answer, by gate")              \
    T(RESULT, finding, FindingRow, "what is wrong, why, and what would cure it")                   \
    T(RESULT, source_used, SourceUsedRow, "limits in force and the sources they rest on")          \
    T(RESULT, return_path, ReturnPathRow,                                                          \
      "where the current goes when a ground is lifted: every other way with its amps")             \
    T(RESULT, common, CommonRow, "places that take two ways of one clause of a need together")     \
    T(RESULT, fault, FaultRow, "what every failure of every component does")                       \
    T(RESULT, crank_step, CrankStepRow,                                                            \
      "volts and amps while the engine is started, second by second")                              \
    T(RESULT, restart, RestartRow, "boxes that start again while the engine is started")           \
    T(RESULT, inrush, InrushRow,                                                                   \
      "switching on: does the device hold, is the contact large enough")                           \
    T(RESULT, card_line, CardLineRow, "the emergency card, line by line")                          \
    T(RESULT, heading, HeadingRow, "heading error of each sensor, by circuit and by phase")        \
    T(RESULT, fault_effect, FaultEffectRow,                                                        \
      "failures that lose something, by what they lose at worst, the worst first")                 \
    T(RESULT, cut_set, CutSetRow, "failures, and pairs of them, that lose a need")                 \
    T(RESULT, cut_count, CutCountRow, "how many failures and pairs lose each need")                \
    T(RESULT, cut_work, CutWorkRow, "what the search for them tried and left out")                 \
    T(RESULT, guard, GuardTableRow, "what a short does to every supply wire before it is cleared") \
    T(RESULT, selectivity, SelectivityRow, "which of two devices in series opens first")           \
    T(RESULT, sneak, SneakRow, "current into a bus or port that should be dead")                   \
    T(RESULT, sneak_count, SneakCountRow, "combinations looked at for that, and left out")         \
    T(RESULT, shared_line, SharedLineRow, "data lines shared by boxes on different buses")         \
    T(RESULT, ringout, RingoutRow, "ring-out script: every reading, in bench order")               \
    T(RESULT, ringout_tie, RingoutTieRow, "side that each net is tied to in isolation readings")   \
    T(RESULT, ringout_count, RingoutCountRow, "readings and replugs of the ring-out, by tester")   \
    T(RESULT, cause, CauseRow, "what may be wrong with a harness, by what readings tell")          \
    T(RESULT, bench_finding, BenchFindingRow, "what is wrong with how the harness is to be built") \
    T(RESULT, harness, HarnessRow, "modules as they are built: one harness each")                  \
    T(RESULT, piece, PieceRow, "every piece of wire: how long it is cut, and why")                 \
    T(RESULT, opening, OpeningRow, "every hole of the panel: where, what, finished and cut size")  \
    T(RESULT, web, WebRow, "metal left between openings: nearest neighbour and edge of each")      \
    T(RESULT, depth, DepthRow, "room behind the panel, by item")                                   \
    T(RESULT, letter, LetterRow, "lettering as seen from the eye")                                 \
    T(RESULT, reach, ReachRow, "reach and view, by item")                                          \
    T(RESULT, panel_mass, PanelMassRow, "mass and moment of the panel, piece by piece")            \
    T(RESULT, bundle_fit, BundleFitRow, "room that the bundle of each segment needs")              \
    T(RESULT, cut, CutRow, "every cut from every reel, in order")                                  \
    T(RESULT, reel_plan, ReelPlanRow, "what each reel gives and what is left of it")               \
    T(RESULT, cut_plan, CutPlanRow, "wire by wire: needed, on hand, to buy, and what is proved")   \
    T(RESULT, offcut, OffcutRow, "remnants there will be once all is cut")                         \
    T(RESULT, end_prep, EndPrepRow, "what is done to each end of each piece before its contact")   \
    T(RESULT, bench_code, BenchCodeRow, "letters and tool numbers of the lists for the bench")     \
    T(RESULT, pull_test, PullTestRow, "crimps that are pulled to breaking, with the least force")  \
    T(RESULT, work, WorkRow, "work list of the bench, in the order of building")                   \
    T(RESULT, work_total, WorkTotalRow, "minutes of each module, and its longest chain of work")   \
    T(RESULT, board, BoardRow, "harnesses laid flat: boards, folds, what was traded")              \
    T(RESULT, board_branch, BoardBranchRow, "what is laid on a board, from node to node")          \
    T(RESULT, board_node, BoardNodeRow, "nodes of the boards: where they lie")                     \
    T(RESULT, suggestion, SuggestionRow,                                                           \
      "layouts that `marling suggest` proposes, the best first")                                   \
    T(RESULT, suggestion_wish, SuggestionWishRow,                                                  \
      "what each of those layouts makes of the wishes")                                            \
    T(RESULT, suggestion_legend, SuggestionLegendRow, "where legends go with their items in them") \
    T(RESULT, bench_record, BenchRecordRow,                                                        \
      "ticks that count: who did what with which tool and lot")                                    \
    T(RESULT, suggestion_layout, SuggestionLayoutRow,                                              \
      "each of those layouts in figures, to choose between them")                                  \
    T(RESULT, suggestion_bar, SuggestionBarRow,                                                    \
      "what stands against a layout of the panel that keeps every rule")

#define COLUMNS_net(C)                                                                             \
    C(TEXT, net, KEY, "", "name of the circuit")                                                   \
    C(TEXT, class, NEED, "", "class")                                                              \
    C(INT, conductors, NEED, "", "cores of one laid piece")                                        \
    C(TEXT, joining, NEED, "", "how the ends are joined")                                          \
    C(TEXT, ends_in_order, NEED, "", "ends separated by >")                                        \
    C(TEXT, lane, OPEN, "", "engine circuit")                                                      \
    C(FLAG, spare, OPEN, "", "declared spare")

#define COLUMNS_cable_run(C)                                                                       \
    C(TEXT, cable, KEY, "", "key: that of its first conductor")                                    \
    C(TEXT, net, NEED, "", "circuit")                                                              \
    C(TEXT, from_end, NEED, "", "one end")                                                         \
    C(TEXT, to_end, NEED, "", "other end")                                                         \
    C(TEXT, class, NEED, "", "class")                                                              \
    C(TEXT, part, NEED, "", "cable or wire of the library")                                        \
    C(INT, conductors, NEED, "", "cores")                                                          \
    C(REAL, length_mm, NEED, "", "cut length")                                                     \
    C(REAL, mass_kg, NEED, "", "mass")                                                             \
    C(TEXT, shield, OPEN, "", "ends at which the shield is grounded")                              \
    C(TEXT, route, NEED, "", "nodes passed, separated by >")                                       \
    C(TEXT, shells, OPEN, "", "disconnect shells passed")

#define COLUMNS_conductor(C)                                                                       \
    C(TEXT, wire, KEY, "", "permanent key")                                                        \
    C(TEXT, number, NEED, "", "significant wire number printed on the label")                      \
    C(TEXT, net, NEED, "", "circuit")                                                              \
    C(TEXT, core, NEED, "", "what the core carries")                                               \
    C(TEXT, from_pin, NEED, "", "unit, connector and pin, or terminal")                            \
    C(TEXT, to_pin, NEED, "", "unit, connector and pin, or terminal")                              \
    C(AWG, awg, OPEN, "", "gauge; blank for coax")                                                 \
    C(TEXT, part, NEED, "", "wire or cable")                                                       \
    C(TEXT, colour, OPEN, "", "insulation")                                                        \
    C(REAL, length_mm, NEED, "", "cut length")                                                     \
    C(TEXT, cavities, OPEN, "", "disconnect cavities passed, in order")                            \
    C(TEXT, device, OPEN, "", "protective device upstream")

#define COLUMNS_cavity_use(C)                                                                      \
    C(TEXT, shell, KEY, "", "disconnect shell")                                                    \
    C(TEXT, cavity, KEY, "", "cavity")                                                             \
    C(TEXT, wire, NEED, "", "conductor, or cable shield")                                          \
    C(TEXT, net, NEED, "", "circuit")                                                              \
    C(WORD, kind, NEED, "power|signal|shield", "what it carries")                                  \
    C(FLAG, kept, OPEN, "", "by an allot row")

#define COLUMNS_shell_use(C)                                                                       \
    C(TEXT, shell, KEY, "", "disconnect shell")                                                    \
    C(TEXT, disconnect, NEED, "", "disconnect")                                                    \
    C(TEXT, segment, NEED, "", "segment it cuts")                                                  \
    C(TEXT, kind, NEED, "", "kind of shell")                                                       \
    C(INT, ways, NEED, "", "cavities")                                                             \
    C(INT, used, NEED, "", "used, shields counted")                                                \
    C(INT, free, NEED, "", "free")                                                                 \
    C(REAL, spare_pct, OPEN, "", "free in percent of used")

#define COLUMNS_pin_out(C)                                                                         \
    C(TEXT, pin, KEY, "", "unit, connector and pin, or terminal")                                  \
    C(INT, place, KEY, "", "1 for the first wire on it, 2 for the next")                           \
    C(TEXT, owner, NEED, "", "unit, device, bar, ground point or aerial")                          \
    C(TEXT, connector, OPEN, "", "its connector")                                                  \
    C(TEXT, cavity, OPEN, "", "the pin in it")                                                     \
    C(TEXT, port, NEED, "", "port, or terminal")                                                   \
    C(TEXT, core, OPEN, "", "what the core carries")                                               \
    C(TEXT, direction, OPEN, "", "in, out, bi or ret")                                             \
    C(TEXT, wire, OPEN, "", "conductor; blank: no wire")                                           \
    C(TEXT, number, OPEN, "", "wire number of the piece that lands here")                          \
    C(AWG, awg, OPEN, "", "gauge; blank for coax")                                                 \
    C(TEXT, colour, OPEN, "", "insulation")                                                        \
    C(TEXT, far_end, OPEN, "", "other end of that piece: pin, or cavity of a disconnect half")     \
    C(TEXT, class, OPEN, "", "class of the port or of the circuit")                                \
    C(TEXT, contact, OPEN, "", "contact of the library")

#define COLUMNS_label(C)                                                                           \
    C(TEXT, item, KEY, "", "wire (W0412), jacket of a cable (W0412.J) or connector")               \
    C(INT, place, KEY, "",                                                                         \
      "end along the wire: 1 and 2 of the first piece, 3 and 4 of the next; 1 for a connector")    \
    C(WORD, kind, NEED, "wire|jacket|connector", "what it is put on")                              \
    C(TEXT, at, NEED, "", "end it is put on; BK1.P is the pin half of BK1, BK1.S its socket half") \
    C(TEXT, line_1, NEED, "", "first line: wire number, wires of the cable, or connector")         \
    C(TEXT, line_2, OPEN, "", "second line: where this end goes")                                  \
    C(TEXT, line_3, OPEN, "", "third line: the far end, or what the connector mates with")         \
    C(TEXT, far_end, OPEN, "", "far end of the piece")                                             \
    C(TEXT, code, NEED, "", "what the square code says: job, revision, item, end")                 \
    C(REAL, diameter_mm, OPEN, "", "of the wire or jacket")                                        \
    C(TEXT, sleeve, OPEN, "", "heat-shrink tubing that slides on and grips")                       \
    C(TEXT, contact, OPEN, "", "contact of the library")                                           \
    C(TEXT, slide_on, OPEN, "", "what is slid on before the contact, the first first")             \
    C(TEXT, note, OPEN, "", "what is not as usual")

#define COLUMNS_bundle(C)                                                                          \
    C(TEXT, segment, KEY, "", "segment")                                                           \
    C(TEXT, zone, NEED, "", "surrounding")                                                         \
    C(REAL, length_mm, NEED, "", "length")                                                         \
    C(INT, cables, NEED, "", "laid pieces, heavy cables left out")                                 \
    C(INT, conductors, NEED, "", "their conductors")                                               \
    C(INT, heavy, NEED, "", "heavy cables beside them")                                            \
    C(REAL, diameter_mm, NEED, "", "outer diameter by the shop's rule")                            \
    C(REAL, inner_mm, OPEN, "", "of the conduit or hole")                                          \
    C(REAL, mass_kg, NEED, "", "mass in this segment")                                             \
    C(REAL, bend_mm, NEED, "", "smallest bend radius")                                             \
    C(INT, clamps, NEED, "", "clamps at the largest distance allowed")

#define COLUMNS_feeder(C)                                                                          \
    C(TEXT, port, KEY, "", "supply port or coil")                                                  \
    C(TEXT, device, KEY, "", "nearest device upstream")                                            \
    C(TEXT, bus, NEED, "", "bus")                                                                  \
    C(REAL, rating_a, OPEN, "", "rating of the device")                                            \
    C(TEXT, duty, NEED, "", "continuous or intermittent")                                          \
    C(REAL, design_a, NEED, "", "current that sizes it")                                           \
    C(REAL, feed_mm, NEED, "", "length of the first net")                                          \
    C(REAL, loop_mm, NEED, "", "feed and return")                                                  \
    C(TEXT, awg, NEED, "", "gauges on the way")                                                    \
    C(REAL, plain_drop_v, NEED, "", "copper at 20 degC, design current, no contacts")              \
    C(REAL, solved_drop_v, OPEN, "", "hot copper and contacts, worst phase or design current")     \
    C(REAL, limit_v, NEED, "", "allowed")

#define COLUMNS_gauge(C)                                                                           \
    C(TEXT, wire, KEY, "", "conductor")                                                            \
    C(TEXT, net, NEED, "", "circuit")                                                              \
    C(AWG, awg, NEED, "", "gauge")                                                                 \
    C(TEXT, governing, NEED, "", "limit that one gauge thinner would break")                       \
    C(AWG, limit_awg, NEED, "", "thinnest gauge that limit allows")                                \
    C(REAL, value, OPEN, "", "what it comes to with one gauge thinner")                            \
    C(REAL, limit, OPEN, "", "what is allowed")                                                    \
    C(TEXT, unit, OPEN, "", "of both")                                                             \
    C(TEXT, runner_up, OPEN, "", "limit that comes next")                                          \
    C(AWG, runner_up_awg, OPEN, "", "thinnest gauge that one allows")                              \
    C(TEXT, source, NEED, "", "of the governing limit")

#define COLUMNS_load_total(C)                                                                      \
    C(TEXT, phase, KEY, "", "phase")                                                               \
    C(TEXT, bus, KEY, "", "bus; `total` for all")                                                  \
    C(REAL, amps_a, NEED, "", "sum at nominal voltage")

#define COLUMNS_supply_margin(C)                                                                   \
    C(TEXT, phase, KEY, "", "phase")                                                               \
    C(REAL, total_a, NEED, "", "load")                                                             \
    C(TEXT, alternator, OPEN, "", "must carry it")                                                 \
    C(REAL, rated_a, OPEN, "", "its rating")                                                       \
    C(REAL, available_a, OPEN, "", "its output at this engine speed")                              \
    C(REAL, rating_pct, OPEN, "", "load in percent of rating")                                     \
    C(REAL, available_pct, OPEN, "", "load in percent of available output")                        \
    C(REAL, limit_pct, OPEN, "", "allowed share of the rating")                                    \
    C(REAL, solved_a, OPEN, "", "solved output of all sources")                                    \
    C(REAL, lowest_v, OPEN, "", "lowest solved voltage at a box")                                  \
    C(TEXT, lowest_at, OPEN, "", "where")

#define COLUMNS_endurance(C)                                                                       \
    C(TEXT, situation, KEY, "", "situation")                                                       \
    C(TEXT, state, KEY, "", "new or aged")                                                         \
    C(TEXT, battery, NEED, "", "battery")                                                          \
    C(REAL, load_a, NEED, "", "load at nominal voltage")                                           \
    C(REAL, plain_min, NEED, "", "capacity x usable share / amps")                                 \
    C(REAL, solved_min, OPEN, "", "stepped through the solved network")                            \
    C(TEXT, ends_with, OPEN, "", "what ends it")                                                   \
    C(REAL, asked_min, OPEN, "", "asked for")                                                      \
    C(REAL, battery_degc, OPEN, "", "temperature it is reckoned at; blank: not derated")

#define COLUMNS_endurance_step(C)                                                                  \
    C(TEXT, situation, KEY, "", "situation")                                                       \
    C(TEXT, state, KEY, "", "new or aged")                                                         \
    C(INT, step, KEY, "", "order in time")                                                         \
    C(TEXT, battery, NEED, "", "battery")                                                          \
    C(REAL, minute_min, NEED, "", "since the situation began")                                     \
    C(REAL, charge_pct, NEED, "", "of what it holds in this state")                                \
    C(REAL, volts_v, NEED, "", "at its terminals")                                                 \
    C(REAL, amps_a, NEED, "", "it gives")                                                          \
    C(REAL, lowest_v, OPEN, "", "at the worst box on it that works")                               \
    C(TEXT, event, OPEN, "", "what happens there")

#define COLUMNS_crank_step(C)                                                                      \
    C(TEXT, at, KEY, "", "bus, the starter, or a contactor's coil")                                \
    C(INT, step, KEY, "", "order in time")                                                         \
    C(REAL, second_s, NEED, "", "since the starter's contactor closed")                            \
    C(REAL, volts_v, NEED, "", "there")                                                            \
    C(REAL, amps_a, OPEN, "", "of the starter")                                                    \
    C(TEXT, event, OPEN, "", "what happens there")

#define COLUMNS_restart(C)                                                                         \
    C(TEXT, port, KEY, "", "supply port")                                                          \
    C(REAL, lowest_v, NEED, "", "lowest voltage while it was still on, or after it went out")      \
    C(REAL, minimum_v, OPEN, "", "needed")                                                         \
    C(INT, times, NEED, "", "how often it goes out")                                               \
    C(REAL, first_s, NEED, "", "goes out first, after the starter's contactor closed")             \
    C(REAL, back_s, OPEN, "", "has its supply back for good; blank: not while this was looked at") \
    C(REAL, out_s, NEED, "", "without supply, all times together")                                 \
    C(REAL, restart_s, OPEN, "", "needs to start; blank: not known")                               \
    C(REAL, ready_s, OPEN, "", "works again; blank: not known")                                    \
    C(TEXT, needs, OPEN, "", "needs that rest on it")

#define COLUMNS_inrush(C)                                                                          \
    C(TEXT, item, KEY, "", "device the current passes, or contact that closes")                    \
    C(TEXT, ports, NEED, "", "what is switched on behind it")                                      \
    C(TEXT, phase, OPEN, "", "phase with the most of them on; blank: all of them")                 \
    C(REAL, usual_a, NEED, "", "current afterwards")                                               \
    C(REAL, inrush_a, OPEN, "", "largest current, all at once; blank: not known")                  \
    C(REAL, inrush_s, OPEN, "", "how long; blank: not known")                                      \
    C(REAL, rating_a, OPEN, "", "of the device or contact")                                        \
    C(TEXT, verdict, NEED, "",                                                                     \
      "device: holds, may open, opens; contact: enough, too small; or not decided")                \
    C(TEXT, why, NEED, "", "what decides, and where the figures come from")

#define COLUMNS_card_line(C)                                                                       \
    C(TEXT, card, KEY, "", "row of the card")                                                      \
    C(INT, line, KEY, "", "order")                                                                 \
    C(TEXT, kind, NEED, "",                                                                        \
      "title, cue, action, minutes, lost at once, without, with, lost, shed, left or note")        \
    C(TEXT, text, NEED, "", "what is printed")                                                     \
    C(TEXT, from, OPEN, "", "row it comes from")

#define COLUMNS_port_voltage(C)                                                                    \
    C(TEXT, port, KEY, "", "supply port")                                                          \
    C(TEXT, phase, KEY, "", "phase")                                                               \
    C(REAL, volts_v, NEED, "", "between supply and return pin")                                    \
    C(REAL, amps_a, NEED, "", "current")                                                           \
    C(REAL, minimum_v, OPEN, "", "needed")                                                         \
    C(TEXT, state, NEED, "", "on, cut out, off or dead")

#define COLUMNS_device_current(C)                                                                  \
    C(TEXT, device, KEY, "", "device, switch or diode")                                            \
    C(TEXT, phase, KEY, "", "phase")                                                               \
    C(REAL, amps_a, NEED, "", "current")                                                           \
    C(TEXT, state, NEED, "", "closed or open")

#define COLUMNS_coax_run(C)                                                                        \
    C(TEXT, net, KEY, "", "circuit")                                                               \
    C(TEXT, antenna, NEED, "", "aerial")                                                           \
    C(REAL, length_mm, NEED, "", "cut length")                                                     \
    C(REAL, frequency_mhz, NEED, "", "frequency")                                                  \
    C(INT, joints, NEED, "", "coax connectors")                                                    \
    C(REAL, loss_db, NEED, "", "loss with connectors")                                             \
    C(REAL, limit_db, NEED, "", "allowed")                                                         \
    C(TEXT, route, NEED, "", "nodes passed")

#define COLUMNS_chain_run(C)                                                                       \
    C(TEXT, net, KEY, "", "chain")                                                                 \
    C(TEXT, order, NEED, "", "units in order")                                                     \
    C(REAL, length_mm, NEED, "", "from first to last")                                             \
    C(TEXT, terminated_at, OPEN, "", "fitted terminators")                                         \
    C(REAL, unpowered_ohm, OPEN, "", "what a meter reads across the pair")

#define COLUMNS_mass(C)                                                                            \
    C(TEXT, item, KEY, "", "harness, heavy cables, units, total")                                  \
    C(REAL, mass_kg, NEED, "", "mass")                                                             \
    C(REAL, arm_mm, NEED, "", "centre of mass aft of the datum")                                   \
    C(REAL, moment_kgm, NEED, "", "moment about the datum")

#define COLUMNS_equipment(C)                                                                       \
    C(TEXT, unit, KEY, "", "box")                                                                  \
    C(TEXT, part, NEED, "", "kind of box")                                                         \
    C(TEXT, name, NEED, "", "what it is")                                                          \
    C(TEXT, role, OPEN, "", "what it does here")                                                   \
    C(TEXT, module, NEED, "", "piece of the harness")                                              \
    C(TEXT, mount, OPEN, "", "how it is mounted")                                                  \
    C(TEXT, node, NEED, "", "where")                                                               \
    C(REAL, mass_kg, OPEN, "", "mass; blank: not known")                                           \
    C(REAL, arm_mm, NEED, "", "aft of the datum")                                                  \
    C(REAL, moment_kgm, OPEN, "", "mass x arm")

#define COLUMNS_device_list(C)                                                                     \
    C(TEXT, device, KEY, "", "device or switch")                                                   \
    C(TEXT, part, NEED, "", "kind")                                                                \
    C(TEXT, name, OPEN, "", "what a buyer asks for")                                               \
    C(REAL, rating_a, OPEN, "", "rated current")                                                   \
    C(TEXT, rated_by, OPEN, "", "given by a person, or chosen by the tool")                        \
    C(TEXT, place, OPEN, "", "hole, channel or stud; what a switch is for")                        \
    C(TEXT, node, NEED, "", "where")                                                               \
    C(TEXT, feeds, OPEN, "", "circuits it stands in")                                              \
    C(REAL, worst_a, OPEN, "", "largest solved current")                                           \
    C(TEXT, worst_in, OPEN, "", "phase of that current")

#define COLUMNS_option_gate(C)                                                                     \
    C(TEXT, option, KEY, "", "option")                                                             \
    C(TEXT, name, NEED, "", "what is chosen")                                                      \
    C(TEXT, gate, NEED, "", "last gate that follows from what it touches")                         \
    C(TEXT, step, NEED, "", "the step that can't be undone")                                       \
    C(TEXT, because, NEED, "", "the thing touched that decides")                                   \
    C(TEXT, touches, NEED, "", "all things touched")

#define COLUMNS_open_question(C)                                                                   \
    C(TEXT, gate, KEY, "", "gate that waits")                                                      \
    C(TEXT, question, KEY, "", "question")                                                         \
    C(TEXT, asks, NEED, "", "as the customer hears it")

#define COLUMNS_finding(C)                                                                         \
    C(INT, number, KEY, "", "order, worst first")                                                  \
    C(TEXT, severity, NEED, "", "note, warning, error, unreadable")                                \
    C(TEXT, rule, NEED, "", "rule")                                                                \
    C(TEXT, table, OPEN, "", "table")                                                              \
    C(TEXT, row, OPEN, "", "key of the row")                                                       \
    C(TEXT, column, OPEN, "", "column")                                                            \
    C(TEXT, file, OPEN, "", "file")                                                                \
    C(INT, line, OPEN, "", "line")                                                                 \
    C(TEXT, message, NEED, "", "what is wrong")                                                    \
    C(REAL, value, OPEN, "", "found")                                                              \
    C(REAL, limit, OPEN, "", "allowed")                                                            \
    C(TEXT, unit, OPEN, "", "of both")                                                             \
    C(TEXT, source, OPEN, "", "of the limit")                                                      \
    C(TEXT, hint, OPEN, "", "what would cure it")                                                  \
    C(TEXT, rows, OPEN, "", "other rows concerned")                                                \
    C(FLAG, accepted, OPEN, "", "a person accepted it")                                            \
    C(TEXT, reason, OPEN, "", "why")

#define COLUMNS_source_used(C)                                                                     \
    C(TEXT, limit, KEY, "", "limit, or table of the library")                                      \
    C(REAL, value, OPEN, "", "value in force")                                                     \
    C(TEXT, unit, OPEN, "", "its unit")                                                            \
    C(TEXT, meaning, NEED, "", "what it limits")                                                   \
    C(TEXT, source, NEED, "", "document and paragraph; the shop's own where a job sets it")        \
    C(TEXT, status, NEED, "", "how well the value is known")

#define COLUMNS_sneak(C)                                                                           \
    C(TEXT, dead, KEY, "", "bus or port that should be dead")                                      \
    C(TEXT, out_of, KEY, "", "bus or source that the current comes from")                          \
    C(INT, combinations, NEED, "", "of switches and sources in which it does")                     \
    C(INT, live, NEED, "", "of those: with more than a limit")                                     \
    C(TEXT, positions, NEED, "", "switches and sources in the worst of them")                      \
    C(REAL, volts_v, NEED, "", "there, in the worst of them")                                      \
    C(REAL, amps_a, NEED, "", "by that way")                                                       \
    C(REAL, bound_a, OPEN, "", "no combination gives more, by resistance alone")                   \
    C(TEXT, through, NEED, "", "pieces that most of it comes by, separated by >")                  \
    C(TEXT, verdict, NEED, "", "live, leaks (less than the limits), not proved")

#define COLUMNS_sneak_count(C)                                                                     \
    C(TEXT, what, KEY, "", "which combinations of switches and sources")                           \
    C(TEXT, combinations, NEED, "", "how many")                                                    \
    C(TEXT, note, OPEN, "", "why, or which switches")

#define COLUMNS_shared_line(C)                                                                     \
    C(TEXT, line, KEY, "", "circuit that joins boxes on different buses")                          \
    C(TEXT, bus_off, KEY, "", "with this bus off")                                                 \
    C(INT, outputs, NEED, "", "ends that give")                                                    \
    C(INT, inputs, NEED, "", "ends that take")                                                     \
    C(TEXT, dead_ends, NEED, "", "boxes without supply then")                                      \
    C(FLAG, driven, OPEN, "", "a box that still has supply gives on it")                           \
    C(INT, known, NEED, "", "dead ends whose inside a row speaks of")

#define COLUMNS_return_path(C)                                                                     \
    C(TEXT, lifted, KEY, "", "the wire, or bond, that is lifted")                                  \
    C(INT, path, KEY, "", "other way, the largest first; 0: there is none")                        \
    C(TEXT, circuit, NEED, "", "circuit of the wire")                                              \
    C(TEXT, box, NEED, "", "what returns by it")                                                   \
    C(REAL, before_a, NEED, "", "current through it while it is whole, the box on")                \
    C(REAL, path_a, OPEN, "", "what its tightest piece carries more than before")                  \
    C(TEXT, through, NEED, "", "pieces passed in order, separated by >; `none`")                   \
    C(TEXT, weakest, OPEN, "", "piece that gets most of what it stands")                           \
    C(REAL, weakest_a, OPEN, "", "all that flows in that piece then")                              \
    C(REAL, rating_a, OPEN, "", "what it stands; blank: not known")                                \
    C(TEXT, verdict, NEED, "",                                                                     \
      "none, carries, overloads, not proved (no rating known), not decided (see `unknown`), no "   \
      "current, not solved")                                                                       \
    C(TEXT, loses, OPEN, "", "ports that stop working")                                            \
    C(TEXT, unknown, OPEN, "", "points of boxes that no inside row speaks of")

#define COLUMNS_common(C)                                                                          \
    C(TEXT, need, KEY, "", "need; `A and B`: engine circuits")                                     \
    C(TEXT, clause, KEY, "", "its clause")                                                         \
    C(TEXT, kind, KEY, "", "kind of place, in the words of need.scope")                            \
    C(TEXT, place, KEY, "", "which place")                                                         \
    C(TEXT, ways, OPEN, "", "ways lost with it")                                                   \
    C(INT, left, OPEN, "", "ways of the clause that are left")                                     \
    C(FLAG, loses, OPEN, "", "the place alone loses the need")                                     \
    C(FLAG, in_scope, OPEN, "", "the need is to survive the loss of such a place")                 \
    C(TEXT, conductors, OPEN, "", "conductors there that the ways rest on")                        \
    C(TEXT, proposal, OPEN, "", "what would part the ways")

#define COLUMNS_fault(C)                                                                           \
    C(TEXT, failure, KEY, "", "what fails and how: ITEM:mode")                                     \
    C(INT, effect, KEY, "", "1, 2 ... where it does not do the same in all phases")                \
    C(TEXT, phases, NEED, "", "phases in which it does this")                                      \
    C(TEXT, scope, NEED, "", "word that covers it in the scope of a need")                         \
    C(TEXT, severity, OPEN, "", "class of the worst need lost; blank: none is")                    \
    C(TEXT, needs, OPEN, "", "needs lost")                                                         \
    C(TEXT, dark, OPEN, "", "supply ports that lose their supply")                                 \
    C(TEXT, restarts, OPEN, "", "that lose it until a device has opened")                          \
    C(TEXT, functions, OPEN, "", "functions of boxes, and data, that are lost")                    \
    C(TEXT, opens, OPEN, "", "devices that open, with seconds by the slow edge of their curve")    \
    C(TEXT, noticed, NEED, "", "evident or latent")                                                \
    C(TEXT, cue, OPEN, "", "by what the pilot notices it")                                         \
    C(TEXT, status, NEED, "", "solved, not proved, oscillates or not converged")                   \
    C(TEXT, note, OPEN, "", "what is not proved, and why")

#define COLUMNS_cut_set(C)                                                                         \
    C(TEXT, need, KEY, "", "which need")                                                           \
    C(INT, order, KEY, "", "1: one failure; 2: two that don't lose it alone")                      \
    C(TEXT, failures, KEY, "", "ITEM:mode, two joined by +")                                       \
    C(TEXT, phases, NEED, "", "phases in which it is lost; `all` that were tried")                 \
    C(TEXT, severity, OPEN, "", "class of the need, chosen by who wrote its row")                  \
    C(FLAG, in_scope, OPEN, "", "the need is to survive that kind of single failure")              \
    C(TEXT, shows, NEED, "", "evident, or latent: nothing shows that it is there")                 \
    C(TEXT, exception, OPEN, "", "reason of the declared exception")                               \
    C(INT, sets, NEED, "", "sets that this row stands for")                                        \
    C(TEXT, for_first, OPEN, "", "failures that may stand in place of the first")                  \
    C(TEXT, for_second, OPEN, "", "failures that may stand in place of the second")                \
    C(TEXT, note, OPEN, "", "")

#define COLUMNS_cut_count(C)                                                                       \
    C(TEXT, need, KEY, "", "which need")                                                           \
    C(TEXT, name, NEED, "", "the function")                                                        \
    C(TEXT, severity, OPEN, "", "class, chosen by who wrote its row")                              \
    C(INT, order_1, NEED, "", "failures that lose it alone")                                       \
    C(INT, in_scope, NEED, "", "of these: within its scope, no exception")                         \
    C(INT, excepted, NEED, "", "of these: declared exceptions")                                    \
    C(INT, order_2, OPEN, "", "pairs that lose it, neither alone; blank: not searched")            \
    C(INT, one_latent, OPEN, "", "of these: one of the two shows nothing by itself")               \
    C(INT, both_latent, OPEN, "", "of these: both")

#define COLUMNS_cut_work(C)                                                                        \
    C(INT, rank, KEY, "", "order")                                                                 \
    C(TEXT, what, NEED, "", "what is counted")                                                     \
    C(TEXT, count, NEED, "", "how many")                                                           \
    C(TEXT, meaning, NEED, "", "")

#define COLUMNS_guard(C)                                                                           \
    C(TEXT, conductor, KEY, "", "wire")                                                            \
    C(TEXT, circuit, NEED, "", "circuit")                                                          \
    C(TEXT, role, NEED, "", "feed, return, trunk (straps and leads of sources), control")          \
    C(AWG, awg, OPEN, "", "gauge")                                                                 \
    C(REAL, length_mm, OPEN, "", "length")                                                         \
    C(TEXT, fault_at, OPEN, "", "where the short is that decides")                                 \
    C(TEXT, between, OPEN, "",                                                                     \
      "return: short to the return of the box; switched on: no phase feeds it, tried with "        \
      "its switches closed; blank: to the structure")                                              \
    C(LIST, device, OPEN, "", "devices that clear it, in the order they open")                     \
    C(REAL, rating_a, OPEN, "", "rating of the first")                                             \
    C(TEXT, high_in, OPEN, "", "phase in which the sources give most")                             \
    C(REAL, high_a, OPEN, "", "current in the wire there, bolted short")                           \
    C(TEXT, low_in, OPEN, "", "phase in which they give least")                                    \
    C(REAL, low_a, OPEN, "", "current in the wire there, through the limit fault_contact")         \
    C(REAL, at_a, OPEN, "", "current of the two, or between, that decides")                        \
    C(REAL, carries_a, OPEN, "", "what the wire carries for good")                                 \
    C(REAL, fast_s, OPEN, "", "the last device may open after, fast edge")                         \
    C(REAL, slow_s, OPEN, "", "and is open after, slow edge; blank: no published gate says")       \
    C(REAL, damage_s, OPEN, "", "the wire reaches its limit after; blank: never")                  \
    C(REAL, start_degc, OPEN, "", "temperature of the conductor before")                           \
    C(REAL, reaches_degc, OPEN, "", "when the last device is open")                                \
    C(REAL, limit_degc, OPEN, "", "what its insulation stands for good")                           \
    C(REAL, margin, OPEN, "",                                                                      \
      "damage_s over slow_s; over several devices: 1 over the sum of shares")                      \
    C(TEXT, edge, OPEN, "", "edge of the tolerance band that the verdict rests on")                \
    C(TEXT, verdict, NEED, "", "proved, not proved, fails, no device, no current")                 \
    C(INT, worst, OPEN, "",                                                                        \
      "place in the order of verdict and margin, 1 the worst; blank: no current")                  \
    C(REAL, chart_a, OPEN, "", "largest such device by the wire protector chart")                  \
    C(TEXT, memory, OPEN, "", "values from memory that make it stricter")                          \
    C(TEXT, because, NEED, "", "in words")

#define COLUMNS_selectivity(C)                                                                     \
    C(TEXT, device, KEY, "", "device")                                                             \
    C(TEXT, upstream, KEY, "", "next one towards the source")                                      \
    C(REAL, rating_a, OPEN, "", "rating of the device")                                            \
    C(REAL, upstream_rating_a, OPEN, "", "rating of the one upstream")                             \
    C(TEXT, near_at, OPEN, "", "where the largest fault behind the device is")                     \
    C(REAL, near_a, OPEN, "", "its current in the device")                                         \
    C(REAL, near_upstream_a, OPEN, "", "and in the one upstream")                                  \
    C(TEXT, near_verdict, OPEN, "",                                                                \
      "selective, not proved, either may open, upstream opens first")                              \
    C(TEXT, far_at, OPEN, "", "where the smallest fault is that the wires don't carry for good")   \
    C(REAL, far_a, OPEN, "", "its current in the device")                                          \
    C(REAL, far_upstream_a, OPEN, "", "and in the one upstream")                                   \
    C(TEXT, far_verdict, OPEN, "", "as near_verdict")                                              \
    C(REAL, slow_s, OPEN, "", "the device is open after, at the worse of the two")                 \
    C(REAL, upstream_fast_s, OPEN, "", "the one upstream may open after; blank: at once")          \
    C(TEXT, verdict, NEED, "",                                                                     \
      "the worse of the two; one circuit: both stand in one feed, the order is of no "             \
      "consequence")                                                                               \
    C(INT, worst, OPEN, "", "place in the order of verdicts, 1 the worst; blank: one circuit")     \
    C(TEXT, memory, OPEN, "", "values from memory that make it stricter")

#define COLUMNS_heading(C)                                                                         \
    C(TEXT, sensor, KEY, "", "magnetometer or compass")                                            \
    C(TEXT, circuit, KEY, "", "port or coil that is switched on; `all`: everything of a phase")    \
    C(TEXT, phase, KEY, "", "phase; of a circuit the one with its largest error; `any`")           \
    C(REAL, amps_a, OPEN, "", "current it is tried at")                                            \
    C(REAL, level_deg, NEED, "", "on minus off in level flight, field across north: atan(B/H)")    \
    C(REAL, worst_deg, NEED, "", "the same on any heading, of a magnetometer in any attitude")     \
    C(REAL, bundle_deg, OPEN, "", "what the place of its wires in their bundles can add")          \
    C(REAL, alone_deg, OPEN, "", "level, if its feed ran there alone: what the return saves")      \
    C(REAL, limit_deg, NEED, "", "allowed")                                                        \
    C(TEXT, verdict, NEED, "", "within, over, not proved, not judged (the engine stands)")         \
    C(TEXT, back, OPEN, "", "structure: its return through metal is taken straight")               \
    C(TEXT, wire, OPEN, "", "its wire with the largest field there")                               \
    C(REAL, away_mm, OPEN, "", "from that wire's way to the sensor")

#define COLUMNS_fault_effect(C)                                                                    \
    C(INT, number, KEY, "", "order, worst first")                                                  \
    C(TEXT, severity, OPEN, "", "class of the worst need lost; blank: none is")                    \
    C(TEXT, needs, OPEN, "", "needs lost")                                                         \
    C(TEXT, failures, NEED, "", "what fails and how; any one of them does this")                   \
    C(INT, count, NEED, "", "how many failures that is")                                           \
    C(TEXT, scopes, NEED, "", "words that cover them in the scope of a need")                      \
    C(TEXT, phases, NEED, "", "phases in which they do this, which is the worst they do")          \
    C(TEXT, dark, OPEN, "", "supply ports that lose their supply; all of them stand in `fault`")   \
    C(TEXT, restarts, OPEN, "", "that lose it until a device has opened")                          \
    C(TEXT, functions, OPEN, "", "functions of boxes, and data, that are lost")                    \
    C(TEXT, opens, OPEN, "", "devices that open, with seconds by the slow edge of their curve")    \
    C(TEXT, noticed, NEED, "", "evident: a box in use goes dark; latent; cues stand in `fault`")   \
    C(TEXT, status, NEED, "", "solved, not proved, oscillates or not converged")                   \
    C(TEXT, note, OPEN, "", "what is not proved, and why")

#define COLUMNS_ringout(C)                                                                         \
    C(TEXT, module, KEY, "", "module on the bench; `installed`: all mated in the aircraft")        \
    C(INT, step, KEY, "", "order")                                                                 \
    C(WORD, kind, NEED, "continuity|parallel|isolation|coax|chain|bond", "what is shown")          \
    C(TEXT, point_a, NEED, "", "one probe; group A: nets tied together as ringout_tie says")       \
    C(TEXT, point_b, NEED, "", "other probe")                                                      \
    C(TEXT, wires, OPEN, "", "conductors and shields that the current passes")                     \
    C(REAL, expected_ohm, OPEN, "", "wire at 20 degC and contacts; blank: not known")              \
    C(REAL, low_ohm, OPEN, "", "less is wrong")                                                    \
    C(REAL, high_ohm, OPEN, "", "more is wrong")                                                   \
    C(TEXT, mode, NEED, "", "2-wire, 4-wire, or test voltage")                                     \
    C(TEXT, note, OPEN, "", "")                                                                    \
    C(TEXT, measured, NEED, "",                                                                    \
      "hash of both sides, wires, limits and voltage: a reading has it too")

#define COLUMNS_ringout_tie(C)                                                                     \
    C(TEXT, module, KEY, "", "module on the bench, or `installed`")                                \
    C(INT, session, KEY, "", "what the tester holds at once")                                      \
    C(TEXT, point, KEY, "", "where the net is taken")                                              \
    C(TEXT, wires, OPEN, "", "conductors of the net")                                              \
    C(TEXT, sides, NEED, "", "side it is switched to, reading by reading: A, B, - left open")

#define COLUMNS_ringout_count(C)                                                                   \
    C(TEXT, module, KEY, "", "module on the bench, or `installed`")                                \
    C(TEXT, tester, KEY, "", "with which tester")                                                  \
    C(INT, points, NEED, "", "points in reach")                                                    \
    C(INT, nets, NEED, "", "pieces of metal that must not touch")                                  \
    C(INT, continuity, NEED, "", "continuity readings")                                            \
    C(INT, isolation, NEED, "", "isolation readings by groups")                                    \
    C(INT, least, NEED, "", "no scheme for this tester does with fewer")                           \
    C(INT, adjacent_after, OPEN, "", "readings until all neighbouring cavities are covered")       \
    C(INT, all_pairs, NEED, "", "readings if every pair of nets is measured alone")                \
    C(INT, sessions, NEED, "", "times that other nets are connected")                              \
    C(INT, replugs, NEED, "", "leads plugged or clipped for isolation")                            \
    C(INT, moves, NEED, "", "probe moves from plug to plug in the continuity readings")            \
    C(INT, moves_by_wire, NEED, "", "the same if they were taken in the order of wire keys")       \
    C(TEXT, note, OPEN, "", "")

#define COLUMNS_cause(C)                                                                           \
    C(TEXT, module, KEY, "", "module on the bench, or `installed`")                                \
    C(INT, rank, KEY, "", "likelier first; no reading parts the causes of one rank")               \
    C(INT, member, KEY, "", "1, 2 ... of that rank")                                               \
    C(INT, errors, NEED, "", "errors it takes")                                                    \
    C(TEXT, cause, NEED, "", "what is wrong")                                                      \
    C(TEXT, look, NEED, "", "where looking decides between members")                               \
    C(TEXT, next, OPEN, "", "with rank 1: the reading that parts the ranks best")

#define COLUMNS_bench_finding(C) COLUMNS_finding(C)

#define COLUMNS_harness(C)                                                                         \
    C(TEXT, module, KEY, "", "module")                                                             \
    C(TEXT, name, NEED, "", "which piece of the harness")                                          \
    C(INT, pieces, NEED, "", "pieces of conductors")                                               \
    C(INT, runs, NEED, "", "laid lengths: cables and groups of single wires")                      \
    C(INT, leaves, NEED, "", "connectors, halves of disconnects, places with lugs")                \
    C(INT, arms, NEED, "", "segments it lies in")                                                  \
    C(REAL, arms_mm, NEED, "", "their length together")                                            \
    C(INT, trees, NEED, "", "parts that hang together")                                            \
    C(REAL, wire_mm, NEED, "", "wire and cable that is cut for it")                                \
    C(REAL, mass_kg, NEED, "", "of that")                                                          \
    C(INT, opened, NEED, "", "loops that are laid open and closed on the aircraft")                \
    C(TEXT, opened_at, OPEN, "", "where: segment at node")

#define COLUMNS_piece(C)                                                                           \
    C(TEXT, module, KEY, "", "harness it is built into; none: its cable has no way")               \
    C(TEXT, piece, KEY, "", "wire (W0412.S: shield) and place along it, from 1")                   \
    C(TEXT, wire, NEED, "", "conductor, or cable shield")                                          \
    C(TEXT, number, OPEN, "", "wire number on its labels")                                         \
    C(TEXT, net, NEED, "", "circuit")                                                              \
    C(TEXT, part, NEED, "", "cable or wire of the library")                                        \
    C(TEXT, cut_as, OPEN, "", "cut as one cable with this piece; blank: by itself")                \
    C(TEXT, from_end, NEED, "", "one end")                                                         \
    C(TEXT, to_end, NEED, "", "other end")                                                         \
    C(REAL, path_mm, OPEN, "", "along the arms of its harness")                                    \
    C(REAL, stub_from_mm, OPEN, "", "from its first node to the connector")                        \
    C(REAL, stub_to_mm, OPEN, "", "from its last node to the connector")                           \
    C(REAL, loop_from_mm, OPEN, "", "kept for service at one end")                                 \
    C(REAL, loop_to_mm, OPEN, "", "kept for service at the other end")                             \
    C(REAL, handling_mm, OPEN, "", "the job's allowance; what a person set the length longer by")  \
    C(REAL, slack_mm, OPEN, "", "sag between supports")                                            \
    C(REAL, twist_mm, OPEN, "", "longer way of a wire twisted with others")                        \
    C(REAL, bend_mm, OPEN, "", "longer way on the outside of bends")                               \
    C(REAL, round_mm, OPEN, "", "up to the next whole step")                                       \
    C(REAL, cut_mm, OPEN, "", "length to cut: sum of all of these")                                \
    C(REAL, minus_mm, OPEN, "", "may be shorter by")                                               \
    C(REAL, plus_mm, OPEN, "", "may be longer by")                                                 \
    C(TEXT, why, OPEN, "", "what decides the lengths kept, and what is opened on the way")

#define COLUMNS_opening(C)                                                                         \
    C(TEXT, item, KEY, "", "what it belongs to; the face's name for free openings")                \
    C(INT, hole, KEY, "", "number")                                                                \
    C(TEXT, face, NEED, "", "in which face")                                                       \
    C(TEXT, what, NEED, "", "opening, screw, rivet")                                               \
    C(TEXT, shape, NEED, "", "shape")                                                              \
    C(REAL, u_mm, NEED, "", "middle")                                                              \
    C(REAL, v_mm, NEED, "", "")                                                                    \
    C(REAL, width_mm, NEED, "", "finished, coated: left to right")                                 \
    C(REAL, height_mm, NEED, "", "below to above")                                                 \
    C(REAL, cut_width_mm, NEED, "", "in the cut file, before coating")                             \
    C(REAL, cut_height_mm, NEED, "", "")                                                           \
    C(REAL, area, NEED, "", "finished area, square millimetres")                                   \
    C(REAL, sink_mm, OPEN, "", "depth of the countersink")                                         \
    C(REAL, head_mm, OPEN, "", "its diameter at the face")                                         \
    C(TEXT, screw, OPEN, "", "screw")

#define COLUMNS_web(C)                                                                             \
    C(TEXT, item, KEY, "", "opening")                                                              \
    C(INT, hole, KEY, "", "")                                                                      \
    C(TEXT, to, KEY, "", "what it was measured to: opening, screw or edge")                        \
    C(TEXT, other, NEED, "", "nearest of those")                                                   \
    C(REAL, distance_mm, NEED, "", "metal between")                                                \
    C(REAL, limit_mm, NEED, "", "least")                                                           \
    C(REAL, margin_mm, NEED, "", "more than that")                                                 \
    C(REAL, u_mm, NEED, "", "where it is thinnest, on the opening")                                \
    C(REAL, v_mm, NEED, "", "")

#define COLUMNS_depth(C)                                                                           \
    C(TEXT, item, KEY, "", "what")                                                                 \
    C(TEXT, behind, KEY, "", "space it stands in")                                                 \
    C(TEXT, what, NEED, "", "what begins there")                                                   \
    C(REAL, body_mm, NEED, "", "body")                                                             \
    C(REAL, connector_mm, NEED, "", "connector and bend")                                          \
    C(REAL, tool_mm, NEED, "", "tool")                                                             \
    C(REAL, needed_mm, NEED, "", "altogether")                                                     \
    C(REAL, free_mm, NEED, "", "free depth")                                                       \
    C(REAL, margin_mm, NEED, "", "more than needed")

#define COLUMNS_letter(C)                                                                          \
    C(TEXT, legend, KEY, "", "which")                                                              \
    C(TEXT, text, NEED, "", "")                                                                    \
    C(TEXT, seat, NEED, "", "read from")                                                           \
    C(REAL, away_mm, NEED, "", "from the eye")                                                     \
    C(REAL, letter_mm, NEED, "", "height")                                                         \
    C(REAL, needed_mm, NEED, "", "least height")                                                   \
    C(REAL, arc, NEED, "", "minutes of arc it is seen under")                                      \
    C(REAL, arc_least, NEED, "", "least")

#define COLUMNS_reach(C)                                                                           \
    C(TEXT, item, KEY, "", "what")                                                                 \
    C(TEXT, seat, NEED, "", "from where")                                                          \
    C(TEXT, use, OPEN, "", "what for")                                                             \
    C(REAL, reach_mm, OPEN, "", "from the shoulder")                                               \
    C(REAL, limit_mm, OPEN, "", "reach of the smallest person; blank: need not be reached")        \
    C(REAL, away_mm, NEED, "", "from the eye")                                                     \
    C(REAL, aside_deg, NEED, "", "to the side of straight ahead")                                  \
    C(REAL, oblique_deg, NEED, "", "line of sight off the face's normal")

#define COLUMNS_panel_mass(C)                                                                      \
    C(TEXT, face, KEY, "", "face")                                                                 \
    C(TEXT, item, KEY, "", "item; `sheet` for the metal; `all`")                                   \
    C(REAL, mass_kg, OPEN, "", "mass; blank: not known")                                           \
    C(REAL, x_mm, NEED, "", "aft of the datum")                                                    \
    C(REAL, y_mm, NEED, "", "to the right")                                                        \
    C(REAL, z_mm, NEED, "", "up")                                                                  \
    C(REAL, moment_kgm, OPEN, "", "about the datum")                                               \
    C(REAL, heat_w, OPEN, "", "heat, most of all phases")                                          \
    C(TEXT, note, OPEN, "", "")

#define COLUMNS_bundle_fit(C)                                                                      \
    C(TEXT, segment, KEY, "", "which segment")                                                     \
    C(INT, wires, NEED, "", "wires and cables in the bundle")                                      \
    C(INT, heavy, NEED, "", "heavy cables, clamped apart from it")                                 \
    C(REAL, packing_mm, OPEN, "", "diameter of the best packing found; blank: not packed")         \
    C(REAL, rule_mm, OPEN, "", "by the shop's rule, 1.2 times the root of the sum of squares")     \
    C(REAL, least_mm, OPEN, "", "no bundle of these wires can be thinner")                         \
    C(REAL, all_mm, OPEN, "", "packing with the heavy cables")                                     \
    C(REAL, bend_mm, NEED, "", "smallest bend radius")                                             \
    C(REAL, supported_mm, NEED, "", "the same where a breakout is supported")                      \
    C(TEXT, grommet, OPEN, "", "smallest that lets it through with room")                          \
    C(REAL, hole_mm, OPEN, "", "hole for that grommet")                                            \
    C(TEXT, shrink, OPEN, "", "heat-shrinkable tube over it; blank: none fits")                    \
    C(TEXT, braid, OPEN, "", "braided sleeve over it; blank: none fits")                           \
    C(REAL, mass_kg_per_km, NEED, "", "of all that runs there: as many grams a metre")             \
    C(REAL, inner_mm, OPEN, "", "hole or conduit given by the job")                                \
    C(TEXT, verdict, OPEN, "", "whether everything that runs there goes through that")

#define COLUMNS_cut(C)                                                                             \
    C(TEXT, reel, KEY, "", "reel it comes from; `to buy`: no reel has room for it")                \
    C(INT, place, KEY, "", "order on that reel, from 1: the longest first")                        \
    C(INT, rank, NEED, "", "order by gauge, colour, length and reel over all")                     \
    C(TEXT, piece, NEED, "", "piece; of a cable its first core, the others come with it")          \
    C(TEXT, number, OPEN, "", "wire number on its labels; of a cable all of them")                 \
    C(TEXT, module, OPEN, "", "harness it is built into")                                          \
    C(TEXT, part, NEED, "", "wire or cable")                                                       \
    C(TEXT, colour, OPEN, "", "insulation of a single wire")                                       \
    C(AWG, awg, OPEN, "", "gauge; blank for coax")                                                 \
    C(REAL, length_mm, NEED, "", "length to cut")                                                  \
    C(REAL, left_m, OPEN, "", "at least left on the reel after it")                                \
    C(TEXT, from_end, NEED, "", "one end")                                                         \
    C(TEXT, to_end, NEED, "", "other end")

#define COLUMNS_reel_plan(C)                                                                       \
    C(TEXT, reel, KEY, "", "which reel")                                                           \
    C(TEXT, part, NEED, "", "wire or cable")                                                       \
    C(TEXT, colour, OPEN, "", "insulation of a single wire")                                       \
    C(REAL, before_m, NEED, "", "on it and not reserved")                                          \
    C(INT, cuts, NEED, "", "pieces it gives")                                                      \
    C(REAL, used_m, NEED, "", "at most taken: lengths, tolerances, waste of cuts")                 \
    C(REAL, left_m, NEED, "", "at least left")                                                     \
    C(TEXT, becomes, NEED, "", "untouched, finished, useful remnant, short remnant, not used")     \
    C(FLAG, offcut, OPEN, "", "an offcut of an earlier job")

#define COLUMNS_cut_plan(C)                                                                        \
    C(TEXT, part, KEY, "", "wire or cable")                                                        \
    C(TEXT, colour, KEY, "", "insulation of a single wire")                                        \
    C(AWG, awg, OPEN, "", "gauge; blank for coax")                                                 \
    C(INT, pieces, NEED, "", "pieces to cut")                                                      \
    C(REAL, needed_m, NEED, "", "at most taken: lengths, tolerances, waste of cuts")               \
    C(REAL, longest_m, NEED, "", "longest piece, with tolerance and waste")                        \
    C(REAL, free_m, NEED, "", "on all reels and not reserved, without their unusable ends")        \
    C(INT, reels, NEED, "", "reels touched")                                                       \
    C(INT, reels_least, OPEN, "", "no plan for all pieces touches fewer; blank: not all fit")      \
    C(INT, short_remnants, NEED, "", "made by this plan")                                          \
    C(INT, pieces_missing, NEED, "", "pieces that no reel has room for")                           \
    C(REAL, missing_m, NEED, "", "their length")                                                   \
    C(REAL, missing_least_m, NEED, "", "no plan leaves less")                                      \
    C(REAL, buy_m, OPEN, "", "what must be bought for them, as one reel")                          \
    C(REAL, buy_each_m, OPEN, "", "no reel bought may be shorter than this")                       \
    C(TEXT, verdict, NEED, "", "what is proved about this plan")

#define COLUMNS_offcut(C)                                                                          \
    C(TEXT, reel, KEY, "", "reel or offcut it is what is left of")                                 \
    C(TEXT, part, NEED, "", "wire or cable")                                                       \
    C(TEXT, colour, OPEN, "", "insulation of a single wire")                                       \
    C(REAL, length_m, NEED, "", "at least")                                                        \
    C(FLAG, useful, NEED, "", "no: shorter than the shop keeps")                                   \
    C(FLAG, made, NEED, "", "by this plan; no: it was there and is not touched")

#define COLUMNS_end_prep(C)                                                                        \
    C(TEXT, module, KEY, "", "harness it is built into")                                           \
    C(TEXT, piece, KEY, "", "piece of wire, or of a shield")                                       \
    C(INT, end, KEY, "", "1: its from end; 2: its to end")                                         \
    C(TEXT, at, NEED, "", "pin, or cavity of a disconnect half")                                   \
    C(AWG, awg, OPEN, "", "gauge; blank for coax and shields")                                     \
    C(TEXT, slides, OPEN, "", "what is slid on, by letters of bench_code, with the size")          \
    C(TEXT, slide_on, OPEN, "", "what is slid on before the contact, the first first")             \
    C(TEXT, cut_back, OPEN, "",                                                                    \
      "mm; shield, once for each cable: jacket off / braid left / wire; "                          \
      "coax: jacket off / braid off / bare centre")                                                \
    C(REAL, strip_mm, OPEN, "", "insulation taken off")                                            \
    C(TEXT, contact, OPEN, "", "contact of the library")                                           \
    C(TEXT, tools, OPEN, "", "numbers of crimp and insertion tool in bench_code")                  \
    C(TEXT, crimp_tool, OPEN, "", "tool and setting")                                              \
    C(TEXT, gap, OPEN, "", "mm between insulation and barrel")                                     \
    C(TEXT, insert_tool, OPEN, "", "")                                                             \
    C(REAL, least_n, OPEN, "", "a sample of this crimp holds at least")                            \
    C(TEXT, note, OPEN, "", "what is not known")

#define COLUMNS_bench_code(C)                                                                      \
    C(TEXT, code, KEY, "", "letter or number")                                                     \
    C(WORD, kind, NEED, "slid on|tool|inserter|shield|coax", "what it stands for")                 \
    C(TEXT, meaning, NEED, "", "in words")                                                         \
    C(INT, ends, NEED, "", "ends that want it")

#define COLUMNS_pull_test(C)                                                                       \
    C(TEXT, module, KEY, "", "harness")                                                            \
    C(TEXT, contact, KEY, "", "contact")                                                           \
    C(AWG, awg, KEY, "", "gauge")                                                                  \
    C(TEXT, crimp_tool, NEED, "", "tool and setting")                                              \
    C(INT, crimps, NEED, "", "of this kind in the module")                                         \
    C(INT, shifts, NEED, "", "shifts they take one person")                                        \
    C(INT, samples, NEED, "", "to pull: at the start of each shift, and by number")                \
    C(REAL, wire_mm, NEED, "", "wire for them")                                                    \
    C(REAL, least_n, OPEN, "", "each holds at least; blank: not published")                        \
    C(TEXT, table, OPEN, "", "published table the force is from")                                  \
    C(TEXT, source, OPEN, "", "of the force")                                                      \
    C(TEXT, status, OPEN, "", "how well it is known")

#define COLUMNS_work(C)                                                                            \
    C(TEXT, module, KEY, "", "harness")                                                            \
    C(INT, step, KEY, "", "order of building")                                                     \
    C(TEXT, operation, NEED, "", "what is done")                                                   \
    C(TEXT, at, OPEN, "", "connector or segment; blank: the whole harness")                        \
    C(REAL, quantity, NEED, "", "how many")                                                        \
    C(TEXT, per, NEED, "", "of what")                                                              \
    C(REAL, minutes_min, NEED, "", "standard minutes")                                             \
    C(TEXT, who, NEED, "", "whose hands")                                                          \
    C(TEXT, after, OPEN, "", "steps that must be done before")                                     \
    C(REAL, early_min, NEED, "", "can begin so many minutes after the start, hands enough")        \
    C(REAL, float_min, NEED, "", "may begin that much later without delaying the module")

#define COLUMNS_work_total(C)                                                                      \
    C(TEXT, module, KEY, "", "harness")                                                            \
    C(INT, steps, NEED, "", "lines of the work list")                                              \
    C(REAL, minutes_min, NEED, "", "standard minutes together")                                    \
    C(REAL, builder_min, NEED, "", "of builders")                                                  \
    C(REAL, inspector_min, NEED, "", "of inspectors")                                              \
    C(REAL, longest_min, NEED, "", "longest chain of work: no number of hands is faster")          \
    C(TEXT, chain, NEED, "", "that chain")

#define COLUMNS_board(C)                                                                           \
    C(TEXT, module, KEY, "", "module")                                                             \
    C(TEXT, seen, NEED, "", "from where, so that left and right are those of the aircraft")        \
    C(INT, boards, NEED, "", "boards")                                                             \
    C(INT, along, NEED, "", "of them side by side along their length")                             \
    C(INT, across, NEED, "", "and along their width")                                              \
    C(INT, branches, NEED, "", "arms and stubs")                                                   \
    C(INT, folds, NEED, "", "half turns of trunk and branches")                                    \
    C(INT, bends, NEED, "", "arcs, those of the folds included")                                   \
    C(INT, turned, NEED, "", "branches that leave to the other side than in the aircraft")         \
    C(INT, opened, NEED, "", "loops laid open")                                                    \
    C(INT, faults, NEED, "",                                                                       \
      "crossings, places nearer than the spacing, over an edge, wrong in length: found by "        \
      "measuring")                                                                                 \
    C(REAL, path_mm, NEED, "", "all arms and stubs")                                               \
    C(REAL, travel_mm, NEED, "", "way of a pen that draws each once")                              \
    C(REAL, width_mm, NEED, "", "used along the boards")                                           \
    C(REAL, height_mm, NEED, "", "used across them")                                               \
    C(REAL, share_pct, NEED, "", "of the boards covered, with the spacing around it")              \
    C(REAL, closest_mm, OPEN, "",                                                                  \
      "smallest distance between the outsides of two branches; blank: none are near")              \
    C(REAL, hand_mm, OPEN, "", "smallest distance of a connector from another thing")

#define COLUMNS_board_branch(C)                                                                    \
    C(TEXT, branch, KEY, "", "module, and segment or leaf")                                        \
    C(TEXT, module, NEED, "", "module")                                                            \
    C(TEXT, name, NEED, "", "segment, or leaf at its end")                                         \
    C(TEXT, leaves, OPEN, "", "leaves at its end: several are laid as one, separated by blanks")   \
    C(TEXT, from_node, NEED, "", "where it begins")                                                \
    C(TEXT, to_node, NEED, "", "where it ends")                                                    \
    C(REAL, length_mm, NEED, "", "true length")                                                    \
    C(REAL, od_mm, NEED, "", "outer diameter")                                                     \
    C(REAL, bend_mm, NEED, "", "smallest bend radius")                                             \
    C(INT, bends, NEED, "", "arcs in it on the board")                                             \
    C(FLAG, trunk, NEED, "", "part of the trunk")                                                  \
    C(FLAG, turned, NEED, "", "leaves to the other side than in the aircraft")

#define COLUMNS_board_node(C)                                                                      \
    C(TEXT, place, KEY, "", "module and node or leaf")                                             \
    C(TEXT, module, NEED, "", "module")                                                            \
    C(TEXT, name, NEED, "", "node, or leaf")                                                       \
    C(REAL, x_mm, NEED, "",                                                                        \
      "from the datum, the lower left corner of the first board, to the right")                    \
    C(REAL, y_mm, NEED, "", "away from the edge")                                                  \
    C(REAL, zone_mm, NEED, "",                                                                     \
      "nearer than this along the harness its branches may be closer than the spacing")

#define COLUMNS_suggestion(C)                                                                      \
    C(INT, rank, KEY, "", "1 is the best")                                                         \
    C(TEXT, item, KEY, "", "what")                                                                 \
    C(REAL, u_mm, NEED, "", "where its middle would be")                                           \
    C(REAL, v_mm, NEED, "", "")                                                                    \
    C(REAL, moved_mm, OPEN, "", "from where it is")                                                \
    C(FLAG, pinned, OPEN, "", "stays where a person put it")

#define COLUMNS_suggestion_wish(C)                                                                 \
    C(INT, rank, KEY, "", "which layout")                                                          \
    C(TEXT, wish, KEY, "", "which wish; `rule ...`: one that follows from a rule")                 \
    C(FLAG, kept, NEED, "", "no: it gave way")                                                     \
    C(REAL, lacks_mm, NEED, "", "by how much; degrees count ten")

#define COLUMNS_suggestion_legend(C)                                                               \
    C(INT, rank, KEY, "", "which layout")                                                          \
    C(TEXT, legend, KEY, "", "what")                                                               \
    C(REAL, u_mm, NEED, "", "where its middle would be")                                           \
    C(REAL, v_mm, NEED, "", "")                                                                    \
    C(REAL, moved_mm, OPEN, "", "from where it is")

#define COLUMNS_bench_record(C)                                                                    \
    C(TEXT, module, KEY, "", "harness")                                                            \
    C(INT, place, KEY, "", "in the order of building")                                             \
    C(TEXT, operation, NEED, "", "operation of `labour`")                                          \
    C(TEXT, item, OPEN, "", "piece, end, contact pulled, connector, segment; blank: the whole")    \
    C(TEXT, built, OPEN, "", "as it was built")                                                    \
    C(TEXT, tool, OPEN, "", "tool it was done with")                                               \
    C(TEXT, lot, OPEN, "", "lot of the contact or wire")                                           \
    C(REAL, pull_n, OPEN, "", "of pulled samples: least force at which one let go")                \
    C(TEXT, person, NEED, "", "who did it")                                                        \
    C(TEXT, time, NEED, "", "when (UTC)")

#define COLUMNS_suggestion_layout(C)                                                               \
    C(INT, rank, KEY, "", "1 is the best")                                                         \
    C(REAL, score, NEED, "", "less is better: wishes by weight, a hundredth of all moves")         \
    C(INT, moved, NEED, "", "items that have a place and would stand elsewhere")                   \
    C(REAL, moved_mm, NEED, "", "all their ways together")                                         \
    C(REAL, differs, NEED, "", "share of what may move, by area, that stands elsewhere than in 1") \
    C(FLAG, keeps, OPEN, "", "moves as little as the rules allow, whatever is wished")             \
    C(INT, wrong, NEED, "", "findings about room that it has all the same")                        \
    C(TEXT, first_wrong, OPEN, "", "the first of them")

#define COLUMNS_suggestion_bar(C)                                                                  \
    C(INT, bar, KEY, "", "number")                                                                 \
    C(TEXT, items, NEED, "", "what finds no place")                                                \
    C(TEXT, rules, OPEN, "", "rules that keep it out")                                             \
    C(TEXT, against, OPEN, "", "what stands against it")                                           \
    C(FLAG, proved, NEED, "", "yes: there is no place; no: none was found")                        \
    C(TEXT, words, NEED, "", "in words")

#endif
