#include "app/offer.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "draw/paper.h"
#include "out/portrait.h"
#include "store/revision.h"

/* --- options --------------------------------------------------------------------------------- */

static const GateRow *gate_of(const Model *model, const char *gate) {
    uint32_t row = model_row(model, TABLE_gate, gate);
    return row == ID_NONE ? NULL : &model->set->gate.rows[row];
}

/* The earliest gate among what the option touches, and what decides it. */
static void find_gate(Arena *arena, const Model *model, OfferOption *offer) {
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_touch, offer->option->option, &count);
    Buffer list = {.arena = arena};
    buffer_text(&list, "");
    for (uint32_t i = first; i < first + count; i++) {
        const TouchRow *touch = &model->set->touch.rows[i];
        uint32_t kind = model_row(model, TABLE_touch_kind, touch->what);
        buffer_format(&list, "%s%s %s", i > first ? ", " : "", touch->what, touch->item);
        const GateRow *gate =
            kind == ID_NONE ? NULL : gate_of(model, model->set->touch_kind.rows[kind].gate);
        if (gate != NULL && (offer->gate == NULL || gate->rank < offer->gate->rank)) {
            offer->gate = gate;
            offer->because = arena_format(arena, "%s %s", touch->what, touch->item);
            offer->why_gate = model->set->touch_kind.rows[kind].why;
        }
    }
    offer->touches = list.bytes;
    uint32_t passed =
        offer->gate == NULL ? ID_NONE : model_row(model, TABLE_passed, offer->gate->gate);
    offer->passed = passed == ID_NONE ? NULL : &model->set->passed.rows[passed];
}

static void add_loads(const Model *model, const char *part, OfferOption *offer) {
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_load, part, &count);
    for (uint32_t i = first; i < first + count; i++) {
        const LoadRow *load = &model->set->load.rows[i];
        double a = isnan(load->usual_a) ? load->design_a : load->usual_a;
        if (strcmp(load->duty, "continuous") == 0) {
            offer->steady_a += isnan(a) ? 0.0 : a;
        } else {
            offer->brief_a += isnan(a) ? 0.0 : a;
        }
    }
}

/* Boxes of the option, those that were declined too. */
static void add_boxes(Arena *arena, const Proof *proof, OfferOption *offer) {
    const Model *model = &proof->model;
    Buffer adds = {.arena = arena};
    buffer_text(&adds, "");
    for (size_t i = 0; i < proof->whole.unit.count; i++) {
        const UnitRow *unit = &proof->whole.unit.rows[i];
        if (strcmp(unit->option, offer->option->option) != 0) {
            continue;
        }
        uint32_t part = model_row(model, TABLE_part, unit->part);
        bool known = part != ID_NONE && !isnan(model->set->part.rows[part].mass_kg);
        buffer_format(&adds, "%s%s", offer->boxes > 0 ? "; " : "",
                      *unit->role == '\0' ? unit->tag : unit->role);
        offer->boxes++;
        offer->unknown += known ? 0U : 1U;
        offer->mass_kg += known ? model->set->part.rows[part].mass_kg : 0.0;
        add_loads(model, unit->part, offer);
    }
    offer->adds = adds.bytes;
}

OfferOption *offer_options(Arena *arena, const Proof *proof, size_t *count) {
    const TableSet *set = &proof->set;
    OfferOption *offers = ARENA_ARRAY(arena, OfferOption, set->option.count + 1);
    for (size_t i = 0; i < set->option.count; i++) {
        offers[i] = (OfferOption){
            .option = &set->option.rows[i], .because = "", .why_gate = "", .adds = ""};
        find_gate(arena, &proof->model, &offers[i]);
        add_boxes(arena, proof, &offers[i]);
    }
    *count = set->option.count;
    return offers;
}

const char *offer_cost(Arena *arena, const OfferOption *option) {
    Buffer out = {.arena = arena};
    if (option->boxes == 0) {
        return "No box of its own: mass and current are those of the job";
    }
    buffer_format(&out, "%zu box%s: %.2f kg", option->boxes, option->boxes == 1 ? "" : "es",
                  option->mass_kg);
    if (option->unknown > 0) {
        buffer_format(&out, " (mass of %zu not known)", option->unknown);
    }
    if (option->steady_a > 0.0 || !(option->brief_a > 0.0)) {
        buffer_format(&out, ", %.1f A steady", option->steady_a);
    }
    if (option->brief_a > 0.0) {
        buffer_format(&out, ", %.1f A for a short time", option->brief_a);
    }
    buffer_text(&out, "; wiring, breakers and structure are not counted");
    return out.bytes;
}

/* --- text ------------------------------------------------------------------------------------ */

static void put_field(Buffer *out, const char *text) {
    buffer_text(out, "\t");
    for (const char *at = text; *at != '\0'; at++) {
        char c = *at == '\t' || *at == '\n' || *at == '\r' ? ' ' : *at;
        buffer_add(out, &c, 1);
    }
}

static const char *chosen_word(int32_t chosen) {
    return chosen == INT_BLANK ? "open" : chosen == 0 ? "no" : "yes";
}

bool offer_seen(Arena *arena, const Proof *proof, const char **text, char hash[65]) {
    if (proof->set.job.count == 0 || proof->panel.face_count == 0) {
        return false;
    }
    Buffer out = {.arena = arena};
    panel_seen_write(&out, &proof->panel);
    size_t count;
    const OfferOption *offers = offer_options(arena, proof, &count);
    for (size_t i = 0; i < count; i++) {
        const OptionRow *option = offers[i].option;
        buffer_format(&out, "option\t%s", option->option);
        put_field(&out, option->name);
        put_field(&out, chosen_word(option->chosen));
        put_field(&out, option->why);
        put_field(&out, option->why_not);
        put_field(&out, offers[i].adds);
        put_field(&out, offer_cost(arena, &offers[i]));
        put_field(&out, offers[i].gate == NULL ? "" : offers[i].gate->step);
        buffer_text(&out, "\n");
    }
    buffer_format(&out, "title\t%s", proof->set.job.rows[0].job);
    put_field(&out, proof->set.job.rows[0].title);
    buffer_text(&out, "\n");
    *text = out.bytes;
    revision_hash_bytes(out.bytes, out.length, hash);
    return true;
}

/* Field `index` of the line of that kind and key; "" when there is none. */
static const char *field_of(Arena *arena, const char *text, const char *kind, const char *key,
                            int index) {
    const char *head = arena_format(arena, "%s\t%s\t", kind, key);
    const char *at = text;
    while (*at != '\0' && strncmp(at, head, strlen(head)) != 0) {
        at += strcspn(at, "\n");
        at += *at == '\n' ? 1 : 0;
    }
    for (int i = 0; i < index && *at != '\0'; i++) {
        at += strcspn(at, "\t\n");
        at += *at == '\t' ? 1 : 0;
    }
    return arena_text(arena, at, strcspn(at, "\t\n"));
}

SeenChange *offer_compare(Arena *arena, const char *before, const char *after, size_t *count) {
    SeenChange *changes = panel_seen_compare(arena, before, after, count);
    for (size_t i = 0; i < *count; i++) {
        SeenChange *change = &changes[i];
        bool option = strcmp(change->kind, "option") == 0;
        if (option || strcmp(change->kind, "title") == 0) {
            for (int field = 2; field < 9; field++) {
                const char *was = field_of(arena, before, change->kind, change->key, field);
                const char *is = field_of(arena, after, change->kind, change->key, field);
                if (strcmp(was, is) != 0) {
                    change->before = was;
                    change->after = is;
                    break;
                }
            }
        }
    }
    return changes;
}

/* --- picture --------------------------------------------------------------------------------- */

/* Reads a file of its own making and takes it away. */
static Status take_file(Arena *arena, const char *path, Buffer *out) {
    char *bytes;
    size_t length;
    Status status = file_read(arena, path, &bytes, &length);
    if (!status.failed) {
        buffer_add(out, bytes, length);
    }
    return status;
}

bool offer_picture(Arena *arena, const Proof *proof, int width_px, Buffer *out, Status *status) {
    const Panel *panel = &proof->panel;
    *status = status_ok();
    if (panel->face_count == 0) {
        return false;
    }
    PortraitShot *shots = ARENA_ARRAY(arena, PortraitShot, panel->face_count);
    for (uint32_t i = 0; i < panel->face_count; i++) {
        shots[i] = (PortraitShot){.look = panel_look(panel, i),
                                  .face = i,
                                  .view = PORTRAIT_FRONT,
                                  .caption = panel->faces[i].key,
                                  .detail = ""};
    }
    char hash[65];
    const char *text;
    offer_seen(arena, proof, &text, hash);
    PortraitPage page = {.panel = panel,
                         .shots = shots,
                         .count = panel->face_count,
                         .title = "Panel, front",
                         .right = arena_format(arena, "seen %.8s", hash),
                         .foot = sheet_caution()};
    const char *temporary = getenv("TMPDIR");
    char *folder = arena_format(arena, "%s/marling-XXXXXX", temporary == NULL ? "/tmp" : temporary);
    if (mkdtemp(folder) == NULL) {
        *status = status_failed("cannot write", folder, errno);
        return true;
    }
    const char *path = arena_format(arena, "%s/panel.png", folder);
    DrawFonts *fonts = fonts_open();
    *status = portrait_write(&page, fonts, path, width_px);
    fonts_close(fonts);
    if (!status->failed) {
        *status = take_file(arena, path, out);
    }
    file_remove_folder(folder);
    return true;
}
