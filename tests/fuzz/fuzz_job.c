/* A whole job folder from any bytes: "@table" lines part the input into tables, the library is the
 * project's own. Everything runs, results, summary and reasons included: no bytes may crash it. */
#include <string.h>

#include "app/prove.h"
#include "app/summary.h"
#include "app/why.h"
#include "base/check.h"
#include "table/write.h"

enum { LONGEST_BYTES = 1 << 16, KEYS_ASKED = 24 };

/* Read once; each run takes the rows as they are (checked and sorted, so a run changes nothing). */
static const TableSet *library_rows(void) {
    static Arena arena;
    static TableSet set;
    static bool ready;
    if (!ready) {
        Findings findings = {.arena = &arena};
        Status status = table_read_folder(&arena, MARLING_SOURCE_DIR "/library", GROUP_LIBRARY,
                                          &set, &findings);
        CHECK(!status.failed && findings.count == 0);
        table_check(&arena, &set, &findings);
        CHECK(findings.count == 0);
        ready = true;
    }
    return &set;
}

static void read_tables(Proof *proof, const char *text, size_t length) {
    TableId table = TABLE_COUNT;
    size_t start = 0;
    for (size_t i = 0; i <= length; i++) {
        bool mark = i == length || (text[i] == '@' && (i == 0 || text[i - 1] == '\n'));
        if (!mark) {
            continue;
        }
        if (table != TABLE_COUNT && table_schema(table)->group == GROUP_JOB) {
            table_read_text(&proof->arena, "fuzz", table, text + start, i - start, &proof->set,
                            &proof->findings);
        }
        char name[64] = "";
        size_t size = 0;
        for (i++; i < length && text[i] != '\n' && size < sizeof name - 1; i++) {
            name[size++] = text[i];
        }
        table = table_find(name);
        start = i < length ? i + 1 : length;
    }
}

static void ask_why(const Proof *proof) {
    Arena arena = {0};
    Buffer text = {.arena = &arena};
    for (uint32_t i = 0; i < proof->wiring.conductor_count && i < KEYS_ASKED; i++) {
        why_write(&text, proof, proof->wiring.conductors[i].key);
    }
    for (OwnerId i = 0; i < proof->model.owner_count && i < KEYS_ASKED; i++) {
        why_write(&text, proof, proof->model.owners[i].tag);
    }
    arena_free(&arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);
int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length) {
    if (length > LONGEST_BYTES) {
        return 0;
    }
    Proof proof = {.set = *library_rows()};
    proof.findings.arena = &proof.arena;
    char *text = arena_text(&proof.arena, (const char *)bytes, length);
    read_tables(&proof, text, length);
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library"};
    proof_run_set(&options, &proof);
    Arena arena = {0};
    Buffer page = {.arena = &arena};
    summary_write(&page, &proof, &SUMMARY_PLAIN);
    for (int table = 0; table < TABLE_COUNT; table++) {
        if (table_schema((TableId)table)->group == GROUP_RESULT) {
            table_write_csv(&page, &proof.set, (TableId)table);
        }
    }
    if (proof.complete) {
        ask_why(&proof);
    }
    arena_free(&arena);
    proof_free(&proof);
    return 0;
}
