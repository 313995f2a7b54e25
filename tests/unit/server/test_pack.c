/* The file that is sent to a customer, and the code it answers with: which codes are taken, which
 * are not, and what a seal covers. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "app/source.h"
#include "base/file.h"
#include "server/pack_take.h"

#define NOW_S INT64_C(1790000000)

static const char SECRET[PACK_SECRET_BYTES] = "thirty-two bytes nobody can know";

static StorePack a_pack(const char *choices) {
    StorePack pack = {.pack = 7,
                      .job = 1,
                      .seen = "5e",
                      .content = "c0",
                      .choices = choices,
                      .person = "Ada",
                      .at = "",
                      .what = "C-0583",
                      .ends_s = NOW_S + 1};
    memcpy(pack.secret, SECRET, sizeof pack.secret);
    return pack;
}

/* Any number of options, any answers: what is written is read. */
static void codes_say_what_was_answered(void **state) {
    (void)state;
    uint32_t seed = 12345;
    print_message("seed %u\n", seed);
    for (int round = 0; round < 2000; round++) {
        Arena arena = {0};
        char digits[PACK_OPTIONS_MOST + 2] = {0};
        Buffer choices = {.arena = &arena};
        buffer_text(&choices, "");
        seed = seed * 1664525U + 1013904223U;
        unsigned options = (seed >> 16) % (PACK_OPTIONS_MOST + 1);
        digits[0] = (char)('0' + (seed >> 8 & 1U));
        for (unsigned i = 0; i < options; i++) {
            seed = seed * 1664525U + 1013904223U;
            digits[i + 1] = (char)('0' + (seed >> 16) % 3);
            buffer_format(&choices, "%sO%u", i > 0 ? " " : "", i);
        }
        StorePack packs[2] = {a_pack("X Y"), a_pack(choices.bytes)};
        packs[0].content = "another";
        const char *code = pack_code(&arena, &packs[1], "Brigid O", digits);
        PackAnswer answer;
        assert_null(pack_read(&arena, packs, 2, code, "  brigid   O ", &answer));
        assert_int_equal(answer.count, options);
        assert_true(answer.approves == (digits[0] == '1'));
        for (unsigned i = 0; i < options; i++) {
            static const char *const WORDS[] = {"", "no", "yes"};
            assert_string_equal(answer.chosen[i], WORDS[digits[i + 1] - '0']);
        }
        arena_free(&arena);
    }
}

/* Each letter of a code changed to each other one: never taken; nearly always known as a slip. */
static void no_slip_is_taken(void **state) {
    (void)state;
    static const char LETTERS[] = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
    Arena arena = {0};
    StorePack pack = a_pack("O1 O2 O3 O4 O5");
    const char *code = pack_code(&arena, &pack, "Brigid", "112201");
    size_t slips = 0;
    size_t known = 0;
    for (size_t i = 0; code[i] != '\0'; i++) {
        for (size_t k = 0; code[i] != '-' && LETTERS[k] != '\0'; k++) {
            char *other = arena_text(&arena, code, strlen(code));
            other[i] = LETTERS[k];
            PackAnswer answer;
            const char *problem = pack_read(&arena, &pack, 1, other, "Brigid", &answer);
            if (LETTERS[k] != code[i]) {
                assert_non_null(problem);
                slips++;
                known += strstr(problem, "a letter of the code is mistaken") != NULL;
            }
        }
    }
    print_message("%zu of %zu slips are known as such, the others refused\n", known, slips);
    assert_true(known * 100 >= slips * 95);
    arena_free(&arena);
}

static void codes_fit_nothing_else(void **state) {
    (void)state;
    Arena arena = {0};
    StorePack pack = a_pack("O1 O2");
    const char *code = pack_code(&arena, &pack, "Brigid", "102");
    PackAnswer answer;
    assert_null(pack_read(&arena, &pack, 1, code, "BRIGID", &answer));
    assert_non_null(pack_read(&arena, &pack, 1, code, "Bridget", &answer));
    assert_non_null(pack_read(&arena, &pack, 1, code, "  ", &answer));
    assert_non_null(pack_read(&arena, &pack, 1, "", "Brigid", &answer));
    assert_non_null(pack_read(&arena, &pack, 1, "AAAA-AAAA-UUUU-UUUU", "Brigid", &answer));
    assert_non_null(pack_read(&arena, NULL, 0, code, "Brigid", &answer));
    StorePack other = pack;
    other.content = "c1"; /* a file of other content */
    assert_non_null(pack_read(&arena, &other, 1, code, "Brigid", &answer));
    other = pack;
    other.secret[31] ^= 1;
    assert_non_null(pack_read(&arena, &other, 1, code, "Brigid", &answer));
    arena_free(&arena);
}

/* --- a whole file ---------------------------------------------------------------------------- */

typedef struct Bench {
    char folder[64];
    char path[128];
    Store *store;
    StoreJob job;
    Proof proof;
} Bench;

#define GOOD(call)                                                                                 \
    do {                                                                                           \
        Status good = (call);                                                                      \
        if (good.failed) {                                                                         \
            fail_msg("%s", good.text);                                                             \
        }                                                                                          \
    } while (0)

static void prove_again(Bench *bench) {
    proof_free(&bench->proof);
    bench->proof.findings.arena = &bench->proof.arena;
    GOOD(store_load(bench->store, &bench->proof.arena, bench->job, &bench->proof.set,
                    &bench->proof.findings));
    ProofOptions options = {.no_faults = true};
    proof_run_set(&options, &bench->proof);
}

static int set_up(void **state) {
    Bench *bench = calloc(1, sizeof *bench);
    Arena arena = {0};
    Findings findings = {.arena = &arena};
    *state = bench;
    snprintf(bench->folder, sizeof bench->folder, "/tmp/marling-pack-XXXXXX");
    assert_non_null(mkdtemp(bench->folder));
    snprintf(bench->path, sizeof bench->path, "%s/shop.db", bench->folder);
    StoreBy by = {.person = "Ada", .at = "2026-05-11T08:30:00Z", .what = "test"};
    SourceName name = {.shop = bench->path, .job = "osier", .revision = ""};
    size_t changed = 0;
    GOOD(source_import(&arena, MARLING_SOURCE_DIR "/examples/osier_mended",
                       MARLING_SOURCE_DIR "/library", &name, &by, &changed, &findings));
    GOOD(store_open(bench->path, STORE_WRITE, &bench->store));
    GOOD(store_find_job(bench->store, &arena, "osier", &bench->job, NULL));
    prove_again(bench);
    arena_free(&arena);
    return 0;
}

static int tear_down(void **state) {
    Bench *bench = *state;
    proof_free(&bench->proof);
    store_close(bench->store);
    file_remove_folder(bench->folder);
    free(bench);
    return 0;
}

static const StoreBy ADA = {.person = "Ada", .at = "2026-05-12T08:30:00Z", .what = "C-0583"};

/* Every byte is under the seal: any one that is changed, added or gone is told. */
static void a_seal_covers_every_byte(void **state) {
    Bench *bench = *state;
    Arena arena = {0};
    Buffer file = {.arena = &arena};
    const char *problem = NULL;
    StoreSigner signer;
    StoreSigner again;
    GOOD(pack_write(&file, bench->store, bench->job, &bench->proof, &ADA, NOW_S + 10, &problem));
    assert_null(problem);
    GOOD(store_signer(bench->store, &signer));
    GOOD(store_signer(bench->store, &again)); /* made once */
    assert_memory_equal(&signer, &again, sizeof signer);
    assert_null(pack_fault(signer.public_key, file.bytes, file.length));
    print_message("a file of %zu bytes\n", file.length);
    for (size_t i = 0; i < file.length; i += i + 400 < file.length ? 9973 : 7) {
        file.bytes[i] ^= 1;
        assert_non_null(pack_fault(signer.public_key, file.bytes, file.length));
        file.bytes[i] ^= 1;
    }
    for (size_t less = 1; less < 300; less++) {
        assert_non_null(pack_fault(signer.public_key, file.bytes, file.length - less));
    }
    assert_non_null(pack_fault(signer.public_key, "", 0));
    signer.public_key[0] ^= 1;
    assert_non_null(pack_fault(signer.public_key, file.bytes, file.length));
    /* Nothing of the shop's own secret is in it, nor anything that leads to a network. */
    assert_null(strstr(file.bytes, "fetch("));
    assert_null(strstr(file.bytes, "src=\"/"));
    assert_non_null(strstr(file.bytes, "default-src 'none'"));
    assert_null(strstr(file.bytes, "unsafe-inline"));
    arena_free(&arena);
}

static void set_title(Bench *bench, const char *title) {
    Arena arena = {0};
    TableSet set = {0};
    StoreAct *acts;
    StoreAnswer answer;
    GOOD(store_read_table(bench->store, &arena, bench->job, TABLE_job, &set, &acts));
    JobRow after = set.job.rows[0];
    after.title = title;
    StoreEdit edit = {.table = TABLE_job, .before = &set.job.rows[0], .after = &after};
    GOOD(store_edit(bench->store, &arena, bench->job, &ADA, &edit, 1, &answer));
    assert_int_equal(answer.refusal, STORE_DONE);
    prove_again(bench);
    arena_free(&arena);
}

static void a_code_is_an_approval_of_what_was_sent(void **state) {
    Bench *bench = *state;
    Arena arena = {0};
    Buffer file = {.arena = &arena};
    const char *problem = NULL;
    StorePack *packs;
    size_t count;
    PackTaken taken;
    GOOD(pack_write(&file, bench->store, bench->job, &bench->proof, &ADA, NOW_S + 10, &problem));
    GOOD(store_packs(bench->store, &arena, bench->job, &packs, &count));
    assert_int_equal(count, 1);
    char **keys;
    size_t options = text_split(&arena, packs[0].choices, &keys);
    assert_int_equal(options, 12);
    const char *yes = pack_code(&arena, &packs[0], "Brigid", "1222222200011");
    GOOD(pack_take(&arena, bench->store, bench->job, &bench->proof, &ADA, yes, "Brigid", NOW_S + 11,
                   &taken));
    assert_string_equal(taken.problem, "the time of that file is over: send a new one");
    GOOD(pack_take(&arena, bench->store, bench->job, &bench->proof, &ADA, yes, "Brigid", NOW_S,
                   &taken));
    assert_null(taken.problem);
    assert_true(taken.approved && taken.holds && !taken.again);
    StoreApproval *approvals;
    GOOD(store_approvals(bench->store, &arena, bench->job, &approvals, &count));
    assert_int_equal(count, 1);
    assert_string_equal(approvals[0].person, "Brigid");
    assert_string_equal(approvals[0].hash, packs[0].seen);

    set_title(bench, "something else");
    GOOD(pack_take(&arena, bench->store, bench->job, &bench->proof, &ADA, yes, "Brigid", NOW_S,
                   &taken));
    assert_true(taken.again && !taken.holds);
    assert_int_equal(taken.change_count, 1);
    assert_string_equal(taken.changes[0].kind, "title");
    assert_string_equal(taken.changes[0].after, "something else");

    /* Answers alone: one option goes, in one act that can be undone. */
    const char *no = pack_code(&arena, &packs[0], "Brigid", "0122222200011");
    GOOD(pack_take(&arena, bench->store, bench->job, &bench->proof, &ADA, no, "Brigid", NOW_S,
                   &taken));
    assert_null(taken.problem);
    assert_false(taken.approved);
    assert_int_equal(taken.answers, 1);
    prove_again(bench);
    assert_true(bench->proof.set.unit.count < bench->proof.whole.unit.count);
    StoreAct undone;
    GOOD(store_undo(bench->store, bench->job, &ADA, &undone));
    assert_int_equal(undone, taken.act);
    arena_free(&arena);
}

int main(void) {
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(codes_say_what_was_answered), cmocka_unit_test(no_slip_is_taken),
        cmocka_unit_test(codes_fit_nothing_else),      TEST(a_seal_covers_every_byte),
        TEST(a_code_is_an_approval_of_what_was_sent),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
