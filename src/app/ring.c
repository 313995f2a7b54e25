#include "app/ring.h"

#include <math.h>
#include <string.h>

#include "base/file.h"
#include "shop/diagnose.h"

RigInput ring_input(Arena *arena, Proof *proof) {
    bench_step(proof, BENCH_HARNESS);
    const HarnessSet *set = &proof->bench->harness;
    const Ends *ends = &proof->bench->ends;
    ModuleId *module = ARENA_ARRAY(arena, ModuleId, ends->piece_count);
    double *length_mm = ARENA_ARRAY(arena, double, ends->piece_count);
    for (uint32_t i = 0; i < ends->piece_count; i++) {
        module[i] = set->runs[set->pieces[i].run].harness;
        length_mm[i] = set->pieces[i].length.cut_mm;
    }
    return (RigInput){.ends = ends, .piece_module = module, .piece_mm = length_mm};
}

/* --- readings -----------------------------------------------------------------------------------
 */

typedef struct Asking {
    Arena *arena;
    Proof *proof;
    const TableSet *readings;
    const char *path;
    Findings *findings;
    Buffer *out;
    TableSet *causes;
    Arena *causes_arena;
    Rig rig;
    Ringout ringout;
    BenchReading *taken;
    int32_t *number; /* of the reading, by place in `taken` */
    uint32_t count;
    Buffer steps; /* out of their limits and outside the rig: bonds, boxes */
} Asking;

static Finding *complain(const Asking *asking, const ReadingRow *row, RuleId rule,
                         const char *column, const char *message, const char *hint) {
    const char *key = arena_format(asking->arena, "%d", row->reading);
    Finding *finding =
        finding_report(asking->findings, rule, "reading", key, column, "%s", message);
    finding->file = asking->path;
    finding->line = row->row_at.line;
    finding->hint = hint;
    return finding;
}

/* "did you mean X", "" when nothing is near. */
static const char *meant(const Asking *asking, const char *name) {
    const Rig *rig = &asking->rig;
    const char **names = ARENA_ARRAY(asking->arena, const char *, rig->point_count);
    for (uint32_t i = 0; i < rig->point_count; i++) {
        names[i] = rig->points[i].name;
    }
    const char *nearest = text_nearest(name, names, rig->point_count);
    return nearest == NULL ? "`marling show ringout JOB` names the points"
                           : arena_format(asking->arena, "did you mean %s", nearest);
}

/* Points of one side; false after saying what is wrong. */
static bool take_side(const Asking *asking, const ReadingRow *row, const char *column,
                      const char *text, RigPointId **points, uint32_t *count) {
    char **words;
    size_t word_count = text_split(asking->arena, text, &words);
    *points = ARENA_ARRAY(asking->arena, RigPointId, word_count);
    *count = 0;
    bool good = word_count > 0;
    if (!good) {
        complain(asking, row, RULE_READ_MISSING, column,
                 "a reading wants points on both sides, or the step of the script",
                 "name a point such as BK1C1.P-14");
    }
    for (size_t i = 0; i < word_count; i++) {
        RigPointId point = name_map_find(&asking->rig.point_by_name, words[i]);
        if (point == NAME_NONE) {
            complain(asking, row, RULE_READ_REFERENCE, column,
                     arena_format(asking->arena, "no point of %s is called %s", asking->rig.name,
                                  words[i]),
                     meant(asking, words[i]));
            good = false;
        } else if (!asking->rig.points[point].reachable) {
            complain(asking, row, RULE_READ_REFERENCE, column,
                     arena_format(asking->arena, "no probe reaches %s when it is %s", words[i],
                                  asking->rig.module == ID_NONE ? "mated" : "on the bench"),
                     "measure at the ends of the wire");
            good = false;
        } else {
            (*points)[(*count)++] = point;
        }
    }
    return good;
}

static bool value_is_good(const Asking *asking, const ReadingRow *row) {
    bool open = row->open == 1;
    if (open == !isnan(row->ohm)) {
        complain(asking, row, open ? RULE_READ_RANGE : RULE_READ_MISSING, "ohm",
                 open ? "a reading is either open or has ohms, not both"
                      : "a reading has neither ohms nor `open`",
                 "write ohms, or `yes` in the column open");
        return false;
    }
    return true;
}

/* A step outside the rig: told when it is out of its limits. */
static void note_step(Asking *asking, const ReadingRow *row, const RingStep *step) {
    double ohm = row->open == 1 ? (double)INFINITY : row->ohm;
    if ((!isnan(step->low_ohm) && ohm < step->low_ohm) ||
        (!isnan(step->high_ohm) && ohm > step->high_ohm)) {
        buffer_format(&asking->steps, "  step %d, %s to %s: out of its limits%s%s\n", row->step,
                      step->a_name, step->b_name, *step->note == '\0' ? "" : "; ", step->note);
    }
}

static bool take_reading(Asking *asking, const ReadingRow *row) {
    if (!value_is_good(asking, row)) {
        return false;
    }
    BenchReading reading = {0};
    if (row->step != INT_BLANK) {
        if (row->step < 1 || (uint32_t)row->step > asking->ringout.step_count) {
            complain(asking, row, RULE_READ_REFERENCE, "step",
                     arena_format(asking->arena, "the script of %s has %u steps, none is %d",
                                  asking->rig.name, asking->ringout.step_count, row->step),
                     "`marling show ringout JOB` numbers them");
            return false;
        }
        if (!diagnose_step_points(asking->arena, &asking->ringout, (uint32_t)row->step - 1,
                                  &reading)) {
            note_step(asking, row, &asking->ringout.steps[row->step - 1]);
            return true;
        }
    } else {
        RigPointId *a = NULL;
        RigPointId *b = NULL;
        bool good_a = take_side(asking, row, "point_a", row->point_a, &a, &reading.a_count);
        bool good_b = take_side(asking, row, "point_b", row->point_b, &b, &reading.b_count);
        if (!good_a || !good_b) {
            return false;
        }
        if (reading.a_count == 1 && reading.b_count == 1 && a[0] == b[0]) {
            complain(asking, row, RULE_READ_RANGE, "point_b", "both probes are on one point",
                     "name the other point");
            return false;
        }
        reading.a = a;
        reading.b = b;
    }
    reading.open = row->open == 1;
    reading.ohm = row->ohm;
    asking->number[asking->count] = row->reading;
    asking->taken[asking->count++] = reading;
    return true;
}

/* --- words --------------------------------------------------------------------------------------
 */

/* `between`: what stands between the errors of a set. */
static const char *cause_text(Arena *arena, const Rig *rig, const DiagnosisMember *member,
                              uint32_t errors, bool look, const char *between) {
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; i < errors; i++) {
        buffer_format(&text, "%s%s", i > 0 ? between : "",
                      look ? wrong_look(arena, rig, member->wrongs[i])
                           : wrong_text(arena, rig, member->wrongs[i]));
    }
    return text.bytes;
}

static const char *side_text(Arena *arena, const Rig *rig, const RigPointId *points,
                             uint32_t count) {
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; i < count; i++) {
        buffer_format(&text, "%s%s", i > 0 ? " " : "", rig->points[points[i]].name);
    }
    return text.bytes;
}

static const char *next_text(Arena *arena, const Rig *rig, const Diagnosis *diagnosis) {
    if (diagnosis->next_count[0] == 0) {
        return "";
    }
    bool tied = diagnosis->next_count[0] > 1 || diagnosis->next_count[1] > 1;
    return arena_format(arena, "%s%s against %s", tied ? "points of a side tied together: " : "",
                        side_text(arena, rig, diagnosis->next_a, diagnosis->next_count[0]),
                        side_text(arena, rig, diagnosis->next_b, diagnosis->next_count[1]));
}

enum { CLASSES_TOLD = 6, MEMBERS_TOLD = 6, LOOKS_TOLD = 2 };

static void tell_class(Asking *asking, const DiagnosisClass *class, uint32_t rank) {
    Buffer *out = asking->out;
    Arena *arena = asking->arena;
    const Rig *rig = &asking->rig;
    bool alone = class->member_count == 1;
    buffer_format(out, "\n  %u.%s", rank, alone ? "" : " one of these, which no reading parts:\n");
    for (uint32_t i = 0; i < class->member_count && i < MEMBERS_TOLD; i++) {
        const DiagnosisMember *member = &class->members[i];
        buffer_format(out, "%s%s\n", alone ? " " : "     - ",
                      cause_text(arena, rig, member, class->errors, false, "\n       and "));
        if (rank <= LOOKS_TOLD) {
            buffer_format(out, "         %s\n",
                          cause_text(arena, rig, member, class->errors, true, "\n         "));
        }
    }
    if (class->member_count > MEMBERS_TOLD || class->more > 0) {
        buffer_format(out, "     and %u more%s\n",
                      class->member_count + class->more -
                          (class->member_count < MEMBERS_TOLD ? class->member_count : MEMBERS_TOLD),
                      class->more > 0 ? " at least" : "");
    }
}

static void tell(Asking *asking, const Diagnosis *diagnosis) {
    Buffer *out = asking->out;
    const char *name = asking->rig.name;
    if (diagnosis->good) {
        buffer_format(out, "%s: %u readings, all as planned\n", name, asking->count);
    } else {
        buffer_format(out, "%s: %u readings, not as planned:", name, asking->count);
        for (uint32_t i = 0; i < diagnosis->wrong_count; i++) {
            buffer_format(out, " %d", asking->number[diagnosis->wrong_rows[i]]);
        }
        buffer_text(out, "\n");
    }
    if (!diagnosis->good && diagnosis->class_count == 0) {
        buffer_format(out,
                      "  %s. Take those that are not as planned again;\n  mend what is seen, then "
                      "run the script again.\n",
                      diagnosis->cut_off
                          ? "The search was broken off before one or two errors were found"
                          : "No one or two errors explain these readings together");
    }
    uint32_t told = 0;
    for (; told < diagnosis->class_count && told < CLASSES_TOLD; told++) {
        tell_class(asking, &diagnosis->classes[told], told + 1);
    }
    if (diagnosis->class_count > told) {
        buffer_format(out, "\n  %u less likely causes are in the table `cause`%s\n",
                      diagnosis->class_count - told,
                      diagnosis->cut_off ? " (not all: there are too many)" : "");
    }
    const char *next = next_text(asking->arena, &asking->rig, diagnosis);
    if (*next != '\0') {
        buffer_format(out, "\n  Next reading: %s\n", next);
    } else if (diagnosis->class_count > 0) {
        buffer_text(out, "\n  No further reading is worth while: look, mend, then run the script "
                         "again.\n");
    }
    if (asking->steps.length > 0) {
        buffer_add(out, asking->steps.bytes, asking->steps.length);
    }
}

static void add_rows(Asking *asking, const Diagnosis *diagnosis) {
    for (uint32_t i = 0; i < diagnosis->class_count; i++) {
        const DiagnosisClass *class = &diagnosis->classes[i];
        for (uint32_t k = 0; k < class->member_count; k++) {
            Arena *arena = asking->causes_arena;
            CauseRow *row = table_append(asking->causes, arena, TABLE_cause);
            row->module = arena_text(arena, asking->rig.name, strlen(asking->rig.name));
            row->rank = (int32_t)i + 1;
            row->member = (int32_t)k + 1;
            row->errors = (int32_t) class->errors;
            row->cause =
                cause_text(arena, &asking->rig, &class->members[k], class->errors, false, "; and ");
            row->look =
                cause_text(arena, &asking->rig, &class->members[k], class->errors, true, "; ");
            row->next = i == 0 && k == 0 ? next_text(arena, &asking->rig, diagnosis) : "";
        }
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

/* Readings of one module, of ID_NONE: of all mated. */
static bool diagnose_module(Asking *asking, const RigInput *input, ModuleId module,
                            const bool *here) {
    const TableSet *readings = asking->readings;
    rig_build(asking->arena, input, module, &asking->rig);
    ringout_build(asking->arena, &asking->rig, &asking->ringout);
    asking->taken = ARENA_ARRAY(asking->arena, BenchReading, readings->reading.count);
    asking->number = ARENA_ARRAY(asking->arena, int32_t, readings->reading.count);
    asking->count = 0;
    asking->steps = (Buffer){.arena = asking->arena};
    bool good = true;
    for (size_t i = 0; i < readings->reading.count; i++) {
        if (here[i]) {
            good = take_reading(asking, &readings->reading.rows[i]) && good;
        }
    }
    if (good) {
        Diagnosis diagnosis;
        diagnose_run(asking->arena, &asking->rig, &asking->ringout, asking->taken, asking->count,
                     true, &diagnosis);
        buffer_text(asking->out, asking->out->length > 0 ? "\n" : "");
        tell(asking, &diagnosis);
        add_rows(asking, &diagnosis);
    }
    return good;
}

static ModuleId module_of(const Asking *asking, const ReadingRow *row, bool *known) {
    const TableSet *set = &asking->proof->set;
    *known = true;
    if (*row->module == '\0' || strcmp(row->module, RIG_INSTALLED) == 0) {
        return ID_NONE;
    }
    ModuleId module = model_row(&asking->proof->model, TABLE_module, row->module);
    if (module == ID_NONE) {
        const char **names = ARENA_ARRAY(asking->arena, const char *, set->module.count);
        for (size_t i = 0; i < set->module.count; i++) {
            names[i] = set->module.rows[i].module;
        }
        const char *nearest = text_nearest(row->module, names, set->module.count);
        complain(asking, row, RULE_READ_REFERENCE, "module",
                 arena_format(asking->arena, "no module is called %s", row->module),
                 nearest == NULL ? "leave it blank when all are mated"
                                 : arena_format(asking->arena, "did you mean %s", nearest));
        *known = false;
    }
    return module;
}

bool ring_diagnose_rows(Buffer *out, Arena *arena, Proof *proof, const TableSet *readings,
                        const char *path, TableSet *causes, Arena *causes_arena,
                        Findings *findings) {
    bool good = findings->count == 0;
    RigInput input = ring_input(arena, proof);
    Asking asking = {.arena = arena,
                     .proof = proof,
                     .readings = readings,
                     .path = path,
                     .findings = findings,
                     .out = out,
                     .causes = causes,
                     .causes_arena = causes_arena};
    size_t count = readings->reading.count;
    ModuleId *module = ARENA_ARRAY(arena, ModuleId, count);
    bool *known = ARENA_ARRAY(arena, bool, count);
    bool *here = ARENA_ARRAY(arena, bool, count);
    for (size_t i = 0; i < count; i++) {
        module[i] = module_of(&asking, &readings->reading.rows[i], &known[i]);
        good = good && known[i];
    }
    for (uint32_t m = 0; m <= proof->set.module.count; m++) {
        ModuleId wanted = m < proof->set.module.count ? m : ID_NONE;
        bool any = false;
        for (size_t i = 0; i < count; i++) {
            here[i] = known[i] && module[i] == wanted;
            any = any || here[i];
        }
        if (any) {
            good = diagnose_module(&asking, &input, wanted, here) && good;
        }
    }
    if (count == 0 && good) {
        buffer_text(out, "no readings\n");
    }
    table_set_sort(causes);
    findings_sort(findings);
    return good;
}

bool ring_diagnose(Buffer *out, Arena *arena, Proof *proof, const char *path, Findings *findings,
                   Status *status) {
    char *text = NULL;
    size_t length = 0;
    *status = file_read(arena, path, &text, &length);
    if (status->failed) {
        return false;
    }
    TableSet readings = {0};
    table_read_text(arena, path, TABLE_reading, text, length, &readings, findings);
    table_check(arena, &readings, findings);
    return ring_diagnose_rows(out, arena, proof, &readings, path, &proof->set, &proof->arena,
                              findings);
}
