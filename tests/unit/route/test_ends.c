/* Pieces between disconnects and their ends: they hang together, each cavity and pin knows them,
 * sockets are on the side of the sources, and what is slid on follows from cable, contact and
 * shell. */
#include "route/ends.h"
#include "support/wired.h"

static Wired wired;
static Ends ends;

static int set_up(void **state) {
    (void)state;
    wired = (Wired){0};
    job_read_example(&wired.job);
    wired_run(&wired, NULL);
    ends_build(&wired.job.arena, &wired.job.model, &wired.wiring, &wired.routing,
               &wired.disconnects, wired.awg, &ends);
    return 0;
}

static int tear_down(void **state) {
    (void)state;
    arena_free(&wired.job.arena);
    return 0;
}

/* First and last end are the conductor's pins; between, one piece ends where the next begins, on
 * the other half of the same cavity. */
static void pieces_hang_together(void **state) {
    (void)state;
    size_t conductors = 0;
    for (uint32_t i = 0; i < ends.piece_count; i++) {
        const Piece *piece = &ends.pieces[i];
        const Cable *cable = &wired.wiring.cables[piece->cable];
        bool last = i + 1 == ends.piece_count || ends.pieces[i + 1].index == 0;
        if (piece->conductor != ID_NONE) {
            const Conductor *conductor = &wired.wiring.conductors[piece->conductor];
            conductors += piece->index == 0;
            assert_int_equal(piece->ends[0].kind == PIECE_PIN, piece->index == 0);
            assert_int_equal(piece->ends[1].kind == PIECE_PIN, last);
            if (piece->index == 0) {
                assert_int_equal(piece->ends[0].pin, conductor->from);
            }
            if (last) {
                assert_int_equal(piece->ends[1].pin, conductor->to);
            }
        } else {
            assert_true(cable->shielded);
            assert_int_equal(piece->ends[0].kind == PIECE_SHIELD, piece->index == 0);
        }
        if (last) {
            assert_int_equal(piece->index, wired.disconnects.crossings[piece->cable]);
            continue;
        }
        const PieceEnd *here = &piece->ends[1];
        const PieceEnd *next = &ends.pieces[i + 1].ends[0];
        assert_int_equal(here->kind, next->kind);
        assert_int_equal(here->use, next->use);
        assert_int_equal(here->disconnect, next->disconnect);
        assert_int_not_equal(here->far, next->far);
    }
    assert_int_equal(conductors, wired.wiring.conductor_count);
}

/* Far means: in the module that the disconnect names. Tried where a wire passes that disconnect
 * alone, so that its pin lies in that module or outside it. */
static void the_far_half_is_in_the_module_of_the_disconnect(void **state) {
    (void)state;
    const Model *model = &wired.job.model;
    size_t tried = 0;
    for (uint32_t i = 0; i + 1 < ends.piece_count; i++) {
        const Piece *piece = &ends.pieces[i];
        if (piece->index != 0 || piece->ends[0].kind != PIECE_PIN ||
            piece->ends[1].kind == PIECE_PIN) {
            continue;
        }
        uint32_t disconnect = piece->ends[1].disconnect;
        ModuleId far =
            model_row(model, TABLE_module, wired.job.set.disconnect.rows[disconnect].module);
        const ModelTerminal *terminal = &model->terminals[piece->ends[0].terminal];
        ModuleId own = model->node_module[terminal->node];
        if (wired.disconnects.crossings[piece->cable] == 1) {
            assert_int_equal(piece->ends[1].far, own == far);
            tried++;
        }
    }
    assert_true(tried > 50);
}

static void every_use_has_two_ends_in_its_cavity(void **state) {
    (void)state;
    size_t uses = 0;
    for (uint32_t i = 0; i < wired.disconnects.use_count; i++) {
        const CavityUse *use = &wired.disconnects.uses[i];
        if (use->shell == ID_NONE || use->cavity == ID_NONE) {
            continue;
        }
        for (int side = 0; side < 2; side++) {
            EndId end =
                ends.cavity_ends[2 * (ends.shell_first[use->shell] + use->cavity) + (uint32_t)side];
            assert_int_not_equal(end, ID_NONE);
            const PieceEnd *found = &ends.pieces[end / 2].ends[end % 2];
            assert_int_equal(found->use, i);
            assert_int_equal(found->far, side == SHELL_FAR);
        }
        uses++;
    }
    assert_true(uses > 200);
    size_t on_pins = 0;
    for (PinId i = 0; i < wired.job.model.pin_count; i++) {
        for (uint32_t k = ends.pin_first[i]; k < ends.pin_first[i + 1]; k++, on_pins++) {
            EndId end = ends.pin_ends[k];
            assert_int_equal(ends.pieces[end / 2].ends[end % 2].pin, i);
        }
    }
    assert_int_equal(on_pins, 2 * wired.wiring.conductor_count);
}

/* Counted anew over the supply wires of each shell. */
static void sockets_are_on_the_side_of_the_sources(void **state) {
    (void)state;
    size_t supply = 0;
    for (uint32_t shell = 0; shell < wired.job.set.disconnect_shell.count; shell++) {
        uint32_t from[2] = {0, 0};
        for (uint32_t i = 0; i < ends.piece_count; i++) {
            const PieceEnd *end = &ends.pieces[i].ends[1];
            const Net *net = &wired.wiring.nets[wired.wiring.cables[ends.pieces[i].cable].net];
            if (end->kind == PIECE_CAVITY && net->from_table == TABLE_feed &&
                wired.disconnects.uses[end->use].shell == shell) {
                from[end->far]++;
                supply++;
            }
        }
        ShellSide side = from[SHELL_FAR] > from[SHELL_NEAR] ? SHELL_FAR : SHELL_NEAR;
        assert_int_equal(ends.socket_side[shell], side);
        assert_int_equal(ends.live_pins[shell], from[1 - (int)side]);
        const char *near = ends_half_name(&wired.job.arena, &ends, shell, SHELL_NEAR);
        const char *far = ends_half_name(&wired.job.arena, &ends, shell, SHELL_FAR);
        assert_string_not_equal(near, far);
        const char *mark = strrchr(side == SHELL_NEAR ? near : far, '.');
        assert_true(strcmp(mark, ".S") == 0 || strcmp(mark, ".N") == 0 || strcmp(mark, ".F") == 0);
    }
    assert_true(supply > 50);
}

static EndFacts facts_of(const char *net, const char *at) {
    for (EndId i = 0; i < 2 * ends.piece_count; i++) {
        EndFacts facts;
        ends_facts(&wired.job.arena, &ends, i, &facts);
        if (strcmp(facts.net, net) == 0 && strcmp(facts.at, at) == 0) {
            return facts;
        }
    }
    fail_msg("no end of %s at %s", net, at);
    return (EndFacts){0};
}

static const char *slides(const char *net, const char *at) {
    EndFacts facts = facts_of(net, at);
    return ends_slide_letters(&wired.job.arena, &ends, &facts);
}

static void what_is_slid_on_follows_from_the_end(void **state) {
    (void)state;
    /* A single 22 AWG wire, 1.27 mm: the printable tube, nothing else at a crimped contact. */
    assert_string_equal(slides("AD1_GND", "AD1.J1-2"), "L2.4");
    /* A tab wants a tube over its barrel; a sealed shell a seal. */
    assert_string_equal(slides("AD1_GND", "GBC.t10"), "L2.4 H1.6");
    assert_string_equal(slides("ALM_LAMP", "ALM.J1-2"), "L2.4 S");
    /* A shielded pair: jacket and shield before the first core, not again on the second. */
    EndFacts first = facts_of("CAN_AV", "AD1.J1-5");
    EndFacts second = facts_of("CAN_AV", "AD1.J1-6");
    assert_int_equal(first.slides[0].item, SLIDE_JACKET);
    assert_int_equal(first.slides[1].item, SLIDE_SHIELD);
    assert_int_equal(first.slides[2].item, SLIDE_LABEL);
    assert_int_equal(second.slides[0].item, SLIDE_LABEL);
    /* Where the shield is not grounded it is cut and covered. */
    EndFacts jack = facts_of("PHONE_1", "JK1.J1-1");
    assert_int_equal(jack.slides[1].item, SLIDE_CUT);
    /* Coax: label, then the plug's own. */
    EndFacts coax = facts_of("RF_COM2", "CM2.JC1-1");
    assert_int_equal(coax.slides[coax.slide_count - 1].item, SLIDE_COAX);
    for (size_t i = 1; i < first.slide_count; i++) {
        assert_true(first.slides[i].item > first.slides[i - 1].item);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pieces_hang_together),
        cmocka_unit_test(the_far_half_is_in_the_module_of_the_disconnect),
        cmocka_unit_test(every_use_has_two_ends_in_its_cavity),
        cmocka_unit_test(sockets_are_on_the_side_of_the_sources),
        cmocka_unit_test(what_is_slid_on_follows_from_the_end),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
