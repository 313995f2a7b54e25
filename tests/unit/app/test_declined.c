/* What the customer declined is not built, and nothing else changes: each case answers one option
 * of the example aircraft with no and looks at what is left. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "app/prove.h"
#include "base/text.h"
#include "store/revision.h"

static void read_job(Proof *proof) {
    *proof = (Proof){0};
    proof->findings.arena = &proof->arena;
    Status status = table_read_folder(&proof->arena, MARLING_SOURCE_DIR "/library", GROUP_LIBRARY,
                                      &proof->set, &proof->findings);
    assert_false(status.failed);
    status = table_read_folder(&proof->arena, MARLING_SOURCE_DIR "/examples/osier_mended",
                               GROUP_JOB, &proof->set, &proof->findings);
    assert_false(status.failed);
}

/* The job with one option answered with no (NULL: as it is). */
static void prove_without(Proof *proof, const char *option) {
    read_job(proof);
    bool found = option == NULL;
    for (size_t i = 0; option != NULL && i < proof->set.option.count; i++) {
        if (strcmp(proof->set.option.rows[i].option, option) == 0) {
            proof->set.option.rows[i].chosen = 0;
            found = true;
        }
    }
    assert_true(found);
    ProofOptions options = {.no_faults = true};
    proof_run_set(&options, proof);
}

static bool has_unit(const Proof *proof, const char *tag) {
    for (size_t i = 0; i < proof->set.unit.count; i++) {
        if (strcmp(proof->set.unit.rows[i].tag, tag) == 0) {
            return true;
        }
    }
    return false;
}

static void boxes_and_their_wires_go(void **state) {
    (void)state;
    Proof proof;
    prove_without(&proof, "O1");
    assert_true(proof.complete);
    assert_int_equal(findings_open(&proof.findings, SEVERITY_ERROR), 0);
    assert_false(has_unit(&proof, "SCM"));
    assert_false(has_unit(&proof, "SGL"));
    assert_true(has_unit(&proof, "NVC"));
    for (size_t i = 0; i < proof.set.conductor.count; i++) {
        assert_null(strstr(proof.set.conductor.rows[i].from_pin, "SCM."));
        assert_null(strstr(proof.set.conductor.rows[i].to_pin, "SCM."));
    }
    for (size_t i = 0; i < proof.set.protection.count; i++) {
        assert_string_not_equal(proof.set.protection.rows[i].tag, "CH_SCM");
    }
    for (size_t i = 0; i < proof.set.antenna.count; i++) {
        assert_string_not_equal(proof.set.antenna.rows[i].tag, "ANT_GNSS2");
    }
    proof_free(&proof);
}

/* Key and ends of a conductor by its name in both. */
static void wires_that_stay_keep_their_keys(void **state) {
    (void)state;
    Proof whole;
    Proof less;
    prove_without(&whole, NULL);
    prove_without(&less, "O1");
    NameMap keys = {0};
    for (size_t i = 0; i < whole.set.conductor.count; i++) {
        const ConductorRow *row = &whole.set.conductor.rows[i];
        name_map_add(&keys, &whole.arena,
                     arena_format(&whole.arena, "%s %s %s %s", row->net, row->core, row->from_pin,
                                  row->to_pin),
                     (uint32_t)i);
    }
    size_t same = 0;
    for (size_t i = 0; i < less.set.conductor.count; i++) {
        const ConductorRow *row = &less.set.conductor.rows[i];
        uint32_t at = name_map_find(&keys, arena_format(&less.arena, "%s %s %s %s", row->net,
                                                        row->core, row->from_pin, row->to_pin));
        if (at != NAME_NONE) {
            assert_string_equal(row->wire, whole.set.conductor.rows[at].wire);
            same++;
        }
    }
    assert_true(same + 2 >= less.set.conductor.count); /* one chain is closed past a switch */
    assert_true(same > 300);
    proof_free(&whole);
    proof_free(&less);
}

/* A revision is what is written, whatever is chosen: the hash is that of the whole tables. */
static void hash_is_of_the_whole(void **state) {
    (void)state;
    Proof proof;
    Proof read;
    char hash[REVISION_HEX];
    char of_whole[REVISION_HEX];
    prove_without(&proof, "O4");
    read_job(&read);
    for (size_t i = 0; i < read.set.option.count; i++) {
        if (strcmp(read.set.option.rows[i].option, "O4") == 0) {
            read.set.option.rows[i].chosen = 0;
        }
    }
    table_set_sort(&read.set);
    revision_hash(&read.set, hash);
    revision_hash(&proof.whole, of_whole);
    assert_string_equal(hash, of_whole);
    proof_free(&proof);
    proof_free(&read);
}

/* Every option of the aircraft can be declined, and its devices leave plugged holes. */
static void each_option_can_go(void **state) {
    (void)state;
    static const char *const OPTIONS[] = {"O1", "O2", "O3", "O4", "O5", "O6", "O7"};
    for (size_t i = 0; i < sizeof OPTIONS / sizeof *OPTIONS; i++) {
        Proof proof;
        prove_without(&proof, OPTIONS[i]);
        assert_true(proof.complete);
        assert_true(proof.set.unit.count < proof.whole.unit.count);
        for (size_t k = 0; k < proof.findings.count; k++) {
            const Finding *finding = &proof.findings.rows[k];
            if (finding->severity >= SEVERITY_ERROR && !finding->accepted) {
                fail_msg("without %s: %s", OPTIONS[i], finding->message);
            }
        }
        proof_free(&proof);
    }
}

/* The last way of a clause is never taken out silently. */
static void a_need_gets_no_weaker(void **state) {
    (void)state;
    Proof proof;
    read_job(&proof);
    for (size_t i = 0; i < proof.set.unit.count; i++) {
        if (strcmp(proof.set.unit.rows[i].tag, "ECA") == 0 ||
            strcmp(proof.set.unit.rows[i].tag, "ECB") == 0) {
            proof.set.unit.rows[i].option = "O2";
        }
    }
    for (size_t i = 0; i < proof.set.option.count; i++) {
        if (strcmp(proof.set.option.rows[i].option, "O2") == 0) {
            proof.set.option.rows[i].chosen = 0;
        }
    }
    ProofOptions options = {.no_faults = true};
    proof_run_set(&options, &proof);
    size_t controller = 0;
    for (size_t i = 0; i < proof.set.need.count; i++) {
        controller += strcmp(proof.set.need.rows[i].need, "N1") == 0 &&
                      strcmp(proof.set.need.rows[i].clause, "controller") == 0;
    }
    assert_int_equal(controller, 2);
    size_t told = 0;
    for (size_t i = 0; i < proof.findings.count; i++) {
        told += strcmp(proof.findings.rows[i].table, "need") == 0;
    }
    assert_true(told > 0);
    proof_free(&proof);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(boxes_and_their_wires_go),
        cmocka_unit_test(wires_that_stay_keep_their_keys),
        cmocka_unit_test(hash_is_of_the_whole),
        cmocka_unit_test(each_option_can_go),
        cmocka_unit_test(a_need_gets_no_weaker),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
