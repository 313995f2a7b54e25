/* The emergency card of the example against the results it is made of: what stands as lost is what
 * the failure table calls dark, what an action brings back is no longer lost, nothing is both lost
 * and left, and no number is larger than the minutes of the battery it is printed for. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/prove.h"

static Proof proof;

static int start(void **state) {
    (void)state;
    proof_run(MARLING_SOURCE_DIR "/examples/osier_mended",
              &(ProofOptions){.library = MARLING_SOURCE_DIR "/library"}, &proof);
    return proof.complete ? 0 : -1;
}

static int stop(void **state) {
    (void)state;
    proof_free(&proof);
    return 0;
}

static const CardEntry *entry_of(const char *name) {
    for (uint32_t i = 0; i < proof.card.count; i++) {
        if (strcmp(proof.set.card.rows[proof.card.entries[i].row].card, name) == 0) {
            return &proof.card.entries[i];
        }
    }
    fail_msg("no card row %s", name);
    return NULL;
}

/* The role of a unit up to its first comma, as the card names it. */
static const char *name_of(const char *tag) {
    for (size_t i = 0; i < proof.set.unit.count; i++) {
        const UnitRow *row = &proof.set.unit.rows[i];
        if (strcmp(row->tag, tag) == 0) {
            return arena_text(&proof.arena, row->role, strcspn(row->role, ",;("));
        }
    }
    fail_msg("no unit %s", tag);
    return NULL;
}

static size_t names_in(const char *list) {
    size_t count = *list == '\0' ? 0 : 1;
    for (const char *c = strstr(list, ", "); c != NULL; c = strstr(c + 2, ", ")) {
        count++;
    }
    return count;
}

/* A dead avionics relay: every dark port of the failure table is a box on the card, and as many. */
static void lost_is_what_goes_dark(void **state) {
    (void)state;
    const CardEntry *entry = entry_of("avionics_relay");
    const char *dark = NULL;
    for (size_t i = 0; i < proof.set.fault.count; i++) {
        const FaultRow *row = &proof.set.fault.rows[i];
        if (strcmp(row->failure, "KA:stuck_open") == 0 &&
            strstr(row->phases, entry->phase) != NULL) {
            dark = row->dark;
        }
    }
    assert_non_null(dark);
    char **ports = NULL;
    size_t count = text_split(&proof.arena, dark, &ports);
    assert_true(count > 4);
    size_t boxes = 0;
    for (size_t i = 0; i < count; i++) {
        char *tag = arena_text(&proof.arena, ports[i], strcspn(ports[i], ".,"));
        uint32_t load = proof.supply.terminal_load[model_terminal(
            &proof.model, arena_text(&proof.arena, ports[i], strcspn(ports[i], ",")))];
        uint32_t phase = name_map_find(&proof.model.phase_by_name, entry->phase);
        if (proof.supply.loads[load].phase_a[phase] > 0.0) {
            assert_non_null(strstr(entry->lost, name_of(tag)));
            boxes++;
        }
    }
    assert_int_equal(boxes, names_in(entry->lost));
    assert_string_equal(entry->shed, "");
}

/* The main bus off: the failure takes the primary display, ESS ALT gives it back. */
static void actions_bring_back(void **state) {
    (void)state;
    const CardEntry *entry = entry_of("essential_moved");
    assert_non_null(strstr(entry->needs, "one radio"));
    assert_non_null(strstr(entry->left, name_of("PD1")));
    assert_null(strstr(entry->lost, name_of("PD1")));
    assert_non_null(strstr(entry->kept, "one radio"));
    /* It is the action that gives it back: without one the failure leaves it dark. */
    bool dark = false;
    for (size_t i = 0; i < proof.set.fault.count; i++) {
        const FaultRow *row = &proof.set.fault.rows[i];
        dark = dark ||
               (strcmp(row->failure, "MAIN:open") == 0 && strstr(row->dark, "PD1.PWR") != NULL);
    }
    assert_true(dark);
}

static void nothing_is_in_two_lists(void **state) {
    (void)state;
    assert_true(proof.card.count >= 5);
    for (uint32_t i = 0; i < proof.card.count; i++) {
        const CardEntry *entry = &proof.card.entries[i];
        assert_true(entry->action_count > 0);
        assert_true(*entry->left != '\0');
        assert_string_equal(entry->note, "");
        const char *lists[] = {entry->lost, entry->shed};
        for (int k = 0; k < 2; k++) {
            char *list = arena_text(&proof.arena, lists[k], strlen(lists[k]));
            for (char *at = list; *at != '\0';) {
                char *end = strstr(at, ", ");
                char *next = end == NULL ? at + strlen(at) : end + 2;
                if (end != NULL) {
                    *end = '\0';
                }
                if (strstr(at, " only)") == NULL) {
                    const char *found = strstr(entry->left, at);
                    size_t length = strlen(at);
                    bool whole = found != NULL && (found[length] == ',' || found[length] == '\0');
                    assert_false(whole);
                }
                at = next;
            }
        }
    }
}

static void minutes_are_never_too_long(void **state) {
    (void)state;
    size_t numbers = 0;
    size_t colds = 0;
    for (uint32_t i = 0; i < proof.card.count; i++) {
        for (uint32_t k = 0; k < proof.card.entries[i].minutes_count; k++) {
            const CardMinutes *minutes = &proof.card.entries[i].minutes[k];
            const char *situation = proof.set.situation.rows[minutes->situation].situation;
            const char *text = card_minutes_text(&proof.arena, minutes);
            for (size_t j = 0; j < proof.set.endurance.count; j++) {
                const EnduranceRow *row = &proof.set.endurance.rows[j];
                if (strcmp(row->situation, situation) != 0) {
                    continue;
                }
                if (isinf(row->solved_min)) {
                    assert_string_equal(text, "no limit");
                    continue;
                }
                assert_true(text[0] >= '0' && text[0] <= '9');
                double printed = strtod(text, NULL);
                assert_true(printed <= row->solved_min);
                assert_true(isnan(row->plain_min) || printed <= row->plain_min);
                colds += strcmp(row->state, "aged, cold") == 0 ? 1 : 0;
                numbers++;
            }
        }
    }
    assert_true(numbers >= 8 && colds >= 3);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lost_is_what_goes_dark),
        cmocka_unit_test(actions_bring_back),
        cmocka_unit_test(nothing_is_in_two_lists),
        cmocka_unit_test(minutes_are_never_too_long),
    };
    return cmocka_run_group_tests(tests, start, stop);
}
