/* Rules (common practice, no source; docs/style.md): every wire gets a label tube; a jacketed cable
 * one on its jacket too, and a solder sleeve where its shield goes on or is grounded, or a tube
 * over the cut where it is not; a bare barrel (ring, tab, spade, solder, splice) a tube; a coax
 * plug its boot and ferrule; a sealed shell a seal on each wire. What belongs to the whole cable is
 * listed with its first core, since it goes on first. */
#include "route/slide.h"

#include <math.h>
#include <string.h>

static const struct {
    const char *letter;
    const char *words;
} ITEMS[] = {
#define SLIDE_ROW(id, letter, words) {letter, words},
    SLIDE_ITEMS(SLIDE_ROW)
#undef SLIDE_ROW
};

/* A tube must be this much wider than what it slides over (common practice, no source). */
#define PLAY_MM 0.2

const char *slide_letter(SlideItem item) {
    return ITEMS[item].letter;
}

const char *slide_words(SlideItem item) {
    return ITEMS[item].words;
}

/* Letters of 2.5 mm with half a millimetre above and below on a flat tube: half the circumference
 * of this inside diameter. */
#define PRINTABLE_MM 2.3

uint32_t ends_sleeve(const Model *model, const char *kind, double least_mm, double od_mm) {
    const TableSet *set = model->set;
    uint32_t best = ID_NONE;
    for (uint32_t i = 0; i < set->sleeve.count; i++) {
        const SleeveRow *row = &set->sleeve.rows[i];
        double play_mm = strcmp(kind, "tube") == 0 ? PLAY_MM : 0.0; /* jackets are a largest size */
        if (strcmp(row->kind, kind) == 0 && row->supplied_mm >= od_mm + play_mm &&
            row->supplied_mm >= least_mm && row->recovered_mm <= od_mm &&
            (best == ID_NONE || row->supplied_mm < set->sleeve.rows[best].supplied_mm)) {
            best = i;
        }
    }
    return best;
}

bool slide_printable(const Model *model, uint32_t sleeve) {
    return model->set->sleeve.rows[sleeve].supplied_mm >= PRINTABLE_MM;
}

bool slide_jacketed(const Ends *ends, const Cable *cable) {
    if (cable->part == ID_NONE || cable->coax) {
        return false;
    }
    const CableRow *part = &ends->model->set->cable.rows[cable->part];
    return part->cores > 1 && part->shielded == 1;
}

static void add(EndFacts *facts, SlideItem item) {
    facts->slides[facts->slide_count++] = (Slide){.item = item, .sleeve = ID_NONE};
}

static void add_sized(const Ends *ends, EndFacts *facts, SlideItem item, const char *kind,
                      double od_mm) {
    uint32_t sleeve = ID_NONE;
    if (isfinite(od_mm)) {
        bool printed = item == SLIDE_LABEL || item == SLIDE_JACKET;
        sleeve = ends_sleeve(ends->model, kind, printed ? PRINTABLE_MM : 0.0, od_mm);
        sleeve = sleeve == ID_NONE ? ends_sleeve(ends->model, kind, 0.0, od_mm) : sleeve;
    }
    facts->slides[facts->slide_count++] = (Slide){.item = item, .sleeve = sleeve, .sized = true};
}

/* What belongs to the cable as a whole. At a disconnect the shield goes on
 * when it has a cavity, or is grounded at both ends of each piece. */
static void list_jacket(const Ends *ends, EndId id, EndFacts *facts) {
    const Piece *piece = &ends->pieces[id / 2];
    const PieceEnd *end = &piece->ends[id % 2];
    const Cable *cable = &ends->wiring->cables[piece->cable];
    if (piece->conductor != cable->conductor_first || !slide_jacketed(ends, cable)) {
        return;
    }
    add_sized(ends, facts, SLIDE_JACKET, "tube", facts->jacket_mm);
    const InterfaceRow *class = wiring_class(ends->model, ends->wiring->nets[cable->net].class_id);
    bool every_piece = strcmp(class->shield_ground, "both") == 0 ||
                       strcmp(class->shield_ground, "each shell") == 0;
    bool goes_on = end->kind != PIECE_PIN ? class->shield_through == 1 || every_piece
                   : id % 2 == 0          ? cable->shield_from
                                          : cable->shield_to;
    add_sized(ends, facts, goes_on ? SLIDE_SHIELD : SLIDE_CUT, goes_on ? "shield" : "tube",
              facts->jacket_mm);
}

void slide_list(const Ends *ends, EndId id, EndFacts *facts) {
    const Piece *piece = &ends->pieces[id / 2];
    const PieceEnd *end = &piece->ends[id % 2];
    const TableSet *set = ends->model->set;
    ContactId contact = ends_contact(ends, id);
    const char *kind = contact == ID_NONE ? "" : set->contact.rows[contact].kind;
    ShellId shell = ends_shell_kind(ends, end);
    list_jacket(ends, id, facts);
    if (piece->conductor != ID_NONE) {
        add_sized(ends, facts, SLIDE_LABEL, "tube", facts->od_mm);
    }
    if (strcmp(kind, "coax") == 0) {
        add(facts, SLIDE_COAX);
    } else if (*kind != '\0' && strcmp(kind, "crimp") != 0 && piece->conductor != ID_NONE) {
        add_sized(ends, facts, SLIDE_BARREL, "tube", facts->od_mm);
    }
    if (shell != ID_NONE && set->shell.rows[shell].sealed == 1 && strcmp(kind, "crimp") == 0) {
        add(facts, SLIDE_SEAL);
    }
}

/* --- as text ------------------------------------------------------------------------------------
 */

static const char *size_text(Arena *arena, const Ends *ends, const Slide *slide) {
    if (!slide->sized) {
        return "";
    }
    return slide->sleeve == ID_NONE
               ? "?"
               : arena_format(arena, "%g",
                              ends->model->set->sleeve.rows[slide->sleeve].supplied_mm);
}

const char *ends_slide_letters(Arena *arena, const Ends *ends, const EndFacts *facts) {
    Buffer out = {.arena = arena};
    for (size_t i = 0; i < facts->slide_count; i++) {
        const Slide *slide = &facts->slides[i];
        buffer_format(&out, "%s%s%s", i == 0 ? "" : " ", ITEMS[slide->item].letter,
                      size_text(arena, ends, slide));
    }
    return out.length == 0 ? "" : out.bytes;
}

const char *ends_slide_words(Arena *arena, const Ends *ends, const EndFacts *facts) {
    Buffer out = {.arena = arena};
    for (size_t i = 0; i < facts->slide_count; i++) {
        const Slide *slide = &facts->slides[i];
        const char *size =
            !slide->sized ? ""
            : slide->sleeve == ID_NONE
                ? " (no size fits)"
                : arena_format(arena, " %s", ends->model->set->sleeve.rows[slide->sleeve].sleeve);
        buffer_format(&out, "%s%s%s", i == 0 ? "" : "; ", ITEMS[slide->item].words, size);
    }
    return out.length == 0 ? "" : out.bytes;
}
