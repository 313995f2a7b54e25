/* Align rows work one after the other in the order of their names, each on the places that the ones
 * before left. */
#include "panel/place.h"

#include <math.h>
#include <string.h>

#include "model/report.h"

/* A pinned item that an align row would move by less than this stays without a word: half of what
 * a person writes with one digit behind the point. */
static const double SNAP_MM = 0.05;

typedef struct Aligning {
    const Model *model;
    const PanelPoint *half;
    PanelPoint *at;
    Findings *findings;
    uint32_t row; /* of `align` */
    const AlignRow *align;
    uint32_t *members; /* rows of `mount` */
    uint32_t count;
    bool along_u; /* the coordinate that it sets is u */
} Aligning;

static double *coordinate(PanelPoint *point, bool along_u) {
    return along_u ? &point->u_mm : &point->v_mm;
}

static double half_of(const Aligning *aligning, uint32_t member) {
    const PanelPoint *half = &aligning->half[aligning->members[member]];
    return aligning->along_u ? half->u_mm : half->v_mm;
}

static double place_of(const Aligning *aligning, uint32_t member) {
    return *coordinate(&aligning->at[aligning->members[member]], aligning->along_u);
}

static void put(Aligning *aligning, uint32_t member, double value_mm) {
    uint32_t row = aligning->members[member];
    const MountRow *mount = &aligning->model->set->mount.rows[row];
    double *at = coordinate(&aligning->at[row], aligning->along_u);
    if (mount->pinned != 1 || isnan(*at)) {
        *at = value_mm;
    } else if (fabs(*at - value_mm) > SNAP_MM) {
        Finding *finding = report_row(
            aligning->findings, aligning->model, RULE_PANEL_ALIGN, TABLE_align, aligning->row,
            "members", "%s is pinned at %s = %.2f mm, the row would put it at %.2f mm", mount->item,
            aligning->along_u ? "u" : "v", *at, value_mm);
        report_values(finding, fabs(*at - value_mm), SNAP_MM, "mm", NULL);
        finding->rows = mount->item;
        report_hint(aligning->findings, finding,
                    "take %s out of the row, unpin it, or change the row's value", mount->item);
    }
}

/* Members as rows of `mount`; false when one is not there or they stand on several faces. */
static bool find_members(Arena *scratch, Aligning *aligning) {
    const Model *model = aligning->model;
    char **words;
    size_t count = text_split(scratch, aligning->align->members, &words);
    aligning->members = ARENA_ARRAY(scratch, uint32_t, count);
    for (size_t i = 0; i < count; i++) {
        uint32_t row = model_row(model, TABLE_mount, words[i]);
        if (row == ID_NONE) {
            report_row(aligning->findings, model, RULE_PANEL_ALIGN, TABLE_align, aligning->row,
                       "members", "there is no item %s", words[i]);
            return false;
        }
        aligning->members[aligning->count++] = row;
        const MountRow *first = &model->set->mount.rows[aligning->members[0]];
        if (strcmp(model->set->mount.rows[row].face, first->face) != 0) {
            report_row(aligning->findings, model, RULE_PANEL_ALIGN, TABLE_align, aligning->row,
                       "members", "%s and %s are on two faces", first->item, words[i]);
            return false;
        }
    }
    return true;
}

static void missing(const Aligning *aligning, const char *what) {
    report_row(aligning->findings, aligning->model, RULE_PANEL_ALIGN, TABLE_align, aligning->row,
               "value_mm", "no value, and %s has no place of its own", what);
}

static void one_line(Aligning *aligning) {
    double value_mm = aligning->align->value_mm;
    if (isnan(value_mm)) {
        value_mm = place_of(aligning, 0);
    }
    if (isnan(value_mm)) {
        missing(aligning, "the first member");
        return;
    }
    for (uint32_t i = 0; i < aligning->count; i++) {
        put(aligning, i, value_mm);
    }
}

/* Middles, or gaps between bezels, equally far: from the first on, or evenly up to the last. */
static void spread(Aligning *aligning, bool gaps) {
    uint32_t last = aligning->count - 1;
    double first_mm = place_of(aligning, 0);
    double step_mm = aligning->align->value_mm;
    double taken_mm = 0.0;
    for (uint32_t i = 1; gaps && i <= last; i++) {
        taken_mm += half_of(aligning, i - 1) + half_of(aligning, i);
    }
    if (isnan(first_mm) || (isnan(step_mm) && isnan(place_of(aligning, last)))) {
        missing(aligning, isnan(first_mm) ? "the first member" : "the last member");
        return;
    }
    if (isnan(step_mm) && last > 0) {
        step_mm = (place_of(aligning, last) - first_mm - taken_mm) / last;
    }
    double at_mm = first_mm;
    for (uint32_t i = 1; i <= last; i++) {
        at_mm += step_mm + (gaps ? half_of(aligning, i - 1) + half_of(aligning, i) : 0.0);
        put(aligning, i, at_mm);
    }
}

void panel_place(Arena *out, const Model *model, const PanelPoint *half, PanelPoint *at,
                 Findings *findings) {
    for (size_t i = 0; i < model->set->mount.count; i++) {
        const MountRow *mount = &model->set->mount.rows[i];
        at[i] = (PanelPoint){mount->u_mm, mount->v_mm};
    }
    for (size_t i = 0; i < model->set->align.count; i++) {
        Aligning aligning = {
            .model = model,
            .half = half,
            .at = at,
            .findings = findings,
            .row = (uint32_t)i,
            .align = &model->set->align.rows[i],
        };
        const char *how = aligning.align->how;
        if (!find_members(out, &aligning) || aligning.count == 0) {
            continue;
        }
        bool line = strcmp(how, "row") == 0 || strcmp(how, "column") == 0;
        aligning.along_u = strcmp(how, "column") == 0 || how[strlen(how) - 1] == 'u';
        if (line) {
            one_line(&aligning);
        } else {
            spread(&aligning, strncmp(how, "gap", 3) == 0);
        }
    }
}
