#include "route/checks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/report.h"

typedef struct Checker {
    const Model *model;
    const Wiring *wiring;
    const Disconnects *disconnects;
    const Cuts *cuts;
    CavityKind *const *taken;
    Findings *findings;
} Checker;

static bool needs_sealed(const Model *model, ZoneId zone) {
    return zone != ID_NONE && model->set->zone.rows[zone].sealed_needed == 1;
}

static Finding *report_shell(const Checker *checker, RuleId rule, uint32_t shell,
                             const char *column, const char *text) {
    return report_row(checker->findings, checker->model, rule, TABLE_disconnect_shell, shell,
                      column, "%s", text);
}

/* --- ways ------------------------------------------------------------------------------------- */

static void check_ways(const Checker *checker, uint32_t shell) {
    const DisconnectShellRow *row = &checker->model->set->disconnect_shell.rows[shell];
    Arena *arena = checker->findings->arena;
    uint32_t ways = checker->cuts->faces[shell]->ways;
    uint32_t used = checker->disconnects->shell_used[shell];
    if (used > ways) {
        Finding *finding =
            report_shell(checker, RULE_DISCONNECT_WAYS, shell, "shell",
                         arena_format(arena, "%s has %u ways, %u contacts pass: %u too few",
                                      row->tag, ways, used, used - ways));
        report_values(finding, used, ways, "ways", NULL);
        finding->hint = "take a larger shell, add one, or give some circuits the other group";
        return;
    }
    double least_pct = model_limit(checker->model, DISCONNECT_LIMIT_SPARE);
    double spare_pct = used > 0 ? 100.0 * (ways - used) / used : least_pct;
    if (spare_pct < least_pct) {
        Finding *finding = report_shell(
            checker, RULE_DISCONNECT_SPARE, shell, "shell",
            arena_format(arena, "%s has %u of %u ways free, %.1f %% of those used; %.0f %% wanted",
                         row->tag, ways - used, ways, spare_pct, least_pct));
        report_values(finding, spare_pct, least_pct, "%",
                      model_limit_row(checker->model, DISCONNECT_LIMIT_SPARE)->source);
        finding->hint = "take a larger shell, or accept that nothing can be added here";
    }
}

/* --- water ------------------------------------------------------------------------------------ */

static void check_sealed(const Checker *checker, uint32_t shell) {
    const Model *model = checker->model;
    const DisconnectShellRow *row = &model->set->disconnect_shell.rows[shell];
    SegmentId segment = model_row(model, TABLE_segment, row->segment);
    ShellId kind = checker->cuts->kind[shell];
    if (segment == ID_NONE || kind == ID_NONE ||
        !needs_sealed(model, model->segment_zone[segment])) {
        return;
    }
    if (model->set->shell.rows[kind].sealed != 1) {
        Finding *finding = report_shell(
            checker, RULE_DISCONNECT_SEALED, shell, "shell",
            arena_format(checker->findings->arena, "%s is a %s, which is not sealed, in zone %s",
                         row->tag, model->set->shell.rows[kind].name,
                         model->set->zone.rows[model->segment_zone[segment]].zone));
        finding->hint = "take a sealed shell with wire seals and cavity plugs";
    }
}

/* Power and a signal in neighbouring cavities, where a flooded shell would join them. */
static void check_beside(const Checker *checker, uint32_t shell) {
    const Model *model = checker->model;
    const DisconnectShellRow *row = &model->set->disconnect_shell.rows[shell];
    SegmentId segment = model_row(model, TABLE_segment, row->segment);
    if (segment == ID_NONE) {
        return;
    }
    ZoneId zone = model->segment_zone[segment];
    if (zone == ID_NONE ||
        !(needs_sealed(model, zone) || strcmp(model->set->zone.rows[zone].moisture, "wet") == 0)) {
        return;
    }
    const Face *face = checker->cuts->faces[shell];
    for (uint32_t i = 0; i < face->ways; i++) {
        if (checker->taken[shell][i] != CAVITY_POWER ||
            !face_clashes(face, checker->taken[shell], i, CAVITY_POWER)) {
            continue;
        }
        Finding *finding =
            report_shell(checker, RULE_DISCONNECT_BESIDE, shell, "",
                         arena_format(checker->findings->arena,
                                      "in %s the power in cavity %s lies beside a signal", row->tag,
                                      face->names[i]));
        finding->hint =
            "leave an empty, plugged cavity between them: a larger shell, or a shell of "
            "its own for power";
        return;
    }
}

/* --- alloy ------------------------------------------------------------------------------------ */

/* Per shell, the first circuit of an alloy that its contacts do not have, and how many. */
static void check_alloy(const Checker *checker) {
    const Model *model = checker->model;
    const Disconnects *disconnects = checker->disconnects;
    size_t shells = model->set->disconnect_shell.count;
    Arena scratch = {0};
    NetId *first = ARENA_ARRAY(&scratch, NetId, shells);
    uint32_t *cables = ARENA_ARRAY(&scratch, uint32_t, shells);
    for (uint32_t i = 0; i < disconnects->use_count; i++) {
        const CavityUse *use = &disconnects->uses[i];
        const Cable *cable = &checker->wiring->cables[use->cable];
        const char *alloy = wiring_class(model, checker->wiring->nets[cable->net].class_id)->alloy;
        if (*alloy == '\0' || use->shell == ID_NONE || use->conductor != cable->conductor_first ||
            strcmp(model->set->disconnect_shell.rows[use->shell].alloy, alloy) == 0) {
            continue;
        }
        first[use->shell] = cables[use->shell] == 0 ? cable->net : first[use->shell];
        cables[use->shell]++;
    }
    for (uint32_t i = 0; i < shells; i++) {
        if (cables[i] == 0) {
            continue;
        }
        const Net *net = &checker->wiring->nets[first[i]];
        const InterfaceRow *class = wiring_class(model, net->class_id);
        Finding *finding = report_shell(
            checker, RULE_DISCONNECT_ALLOY, i, "alloy",
            arena_format(
                checker->findings->arena,
                "%u thermocouple line%s of type %s, %s first, pass%s copper contacts in %s",
                cables[i], cables[i] == 1 ? "" : "s", class->alloy, net->name,
                cables[i] == 1 ? "es" : "", model->set->disconnect_shell.rows[i].tag));
        report_values(finding, cables[i], 0, "lines", class->source);
        finding->rows = net->name;
        report_hint(
            checker->findings, finding,
            "buy contacts of type %s for these cavities and write it under `alloy`, or lead "
            "the lines past the disconnect",
            class->alloy);
    }
    arena_free(&scratch);
}

/* --- keying ----------------------------------------------------------------------------------- */

typedef struct KeyOrder {
    const char *disconnect;
    const char *kind;
    const char *keying;
    uint32_t shell;
} KeyOrder;

static int compare_keying(const void *left, const void *right) {
    const KeyOrder *a = left;
    const KeyOrder *b = right;
    int order = strcmp(a->disconnect, b->disconnect);
    order = order != 0 ? order : strcmp(a->kind, b->kind);
    order = order != 0 ? order : strcmp(a->keying, b->keying);
    return order != 0 ? order : (a->shell > b->shell) - (a->shell < b->shell);
}

/* Rings on studs have no halves to mate; all others of one kind at one disconnect must differ. */
static void check_keying(const Checker *checker) {
    const Model *model = checker->model;
    size_t count = 0;
    Arena scratch = {0};
    KeyOrder *order = ARENA_ARRAY(&scratch, KeyOrder, model->set->disconnect_shell.count);
    for (uint32_t i = 0; i < model->set->disconnect_shell.count; i++) {
        const DisconnectShellRow *row = &model->set->disconnect_shell.rows[i];
        ContactId contact = checker->cuts->contact[i];
        if (contact != ID_NONE && strcmp(model->set->contact.rows[contact].kind, "ring") != 0) {
            order[count++] = (KeyOrder){row->disconnect, row->shell, row->keying, i};
        }
    }
    if (count > 1) {
        qsort(order, count, sizeof *order, compare_keying);
    }
    for (size_t i = 1; i < count; i++) {
        const KeyOrder *a = &order[i - 1];
        const KeyOrder *b = &order[i];
        if (strcmp(a->disconnect, b->disconnect) != 0 || strcmp(a->kind, b->kind) != 0 ||
            strcmp(a->keying, b->keying) != 0) {
            continue;
        }
        const char *other = model->set->disconnect_shell.rows[a->shell].tag;
        Finding *finding = report_shell(
            checker, RULE_DISCONNECT_KEYING, b->shell, "keying",
            arena_format(checker->findings->arena,
                         "%s and %s are both %s%s%s at %s: each mates with the other's half", other,
                         model->set->disconnect_shell.rows[b->shell].tag, b->kind,
                         *b->keying == '\0' ? " without keying" : ", keying ", b->keying,
                         b->disconnect));
        finding->rows = other;
        finding->hint = "give one of them another keying";
    }
    arena_free(&scratch);
}

/* --- connectors of boxes ---------------------------------------------------------------------- */

static bool connector_in_use(const Checker *checker, const ModelOwner *owner,
                             const char *connector) {
    const Model *model = checker->model;
    for (uint32_t i = 0; i < owner->terminal_count; i++) {
        const ModelTerminal *terminal = &model->terminals[owner->terminal_first + i];
        for (uint32_t k = 0; k < terminal->pin_count; k++) {
            PinId pin = terminal->pin_first + k;
            if (checker->wiring->pin_net[pin] != ID_NONE &&
                strcmp(model->pins[pin].connector, connector) == 0) {
                return true;
            }
        }
    }
    return false;
}

static void check_unit(const Checker *checker, const ModelOwner *owner) {
    const Model *model = checker->model;
    ZoneId zone = owner->node == ID_NONE ? ID_NONE : model->node_zone[owner->node];
    if (!needs_sealed(model, zone) || owner->part == ID_NONE) {
        return;
    }
    uint32_t count = 0;
    uint32_t first =
        model_rows_of(model, TABLE_part_connector, model->set->part.rows[owner->part].part, &count);
    for (uint32_t i = first; i < first + count; i++) {
        const PartConnectorRow *row = &model->set->part_connector.rows[i];
        ShellId kind = model_row(model, TABLE_shell, row->shell);
        if (kind == ID_NONE || model->set->shell.rows[kind].sealed == 1) {
            continue;
        }
        ContactId contact = model_row(model, TABLE_contact, model->set->shell.rows[kind].contact);
        bool stud =
            contact != ID_NONE && strcmp(model->set->contact.rows[contact].kind, "ring") == 0;
        if (stud || !connector_in_use(checker, owner, row->connector)) {
            continue; /* lugs get a boot, not a seal */
        }
        Finding *finding =
            report_row(checker->findings, model, RULE_PLACE_SEALED, TABLE_unit, owner->row, "part",
                       "%s.%s is a %s, which is not sealed, in zone %s", owner->tag, row->connector,
                       model->set->shell.rows[kind].name, model->set->zone.rows[zone].zone);
        finding->rows = row->connector;
        finding->hint = "take a box with a sealed connector, or mount it where it is dry";
    }
}

void disconnect_check(const Model *model, const Wiring *wiring, const Disconnects *disconnects,
                      const Cuts *cuts, CavityKind *const *taken, Findings *findings) {
    Checker checker = {model, wiring, disconnects, cuts, taken, findings};
    for (uint32_t i = 0; i < model->set->disconnect_shell.count; i++) {
        check_ways(&checker, i);
        check_sealed(&checker, i);
        check_beside(&checker, i);
    }
    check_alloy(&checker);
    check_keying(&checker);
    for (OwnerId i = 0; i < model->owner_count; i++) {
        if (model->owners[i].kind == OWNER_UNIT) {
            check_unit(&checker, &model->owners[i]);
        }
    }
}
