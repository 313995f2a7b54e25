/* Method: faces in the order of their first use are named m0, m1 ...; each carries, as a data URI,
 * the subset of its glyphs that the sheet uses. A text is as long as it was measured (textLength),
 * whatever a reader does with the face. */
#include "out/svg.h"

#include <hb-subset.h>
#include <math.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>

#include "base/units.h"

#define FACES_MAX 64

typedef struct SvgFace {
    hb_face_t *outlines;
    hb_set_t *letters;
} SvgFace;

typedef struct SvgWriter {
    Buffer *out;
    const DrawList *list;
    SvgFace faces[FACES_MAX];
    size_t face_count;
} SvgWriter;

/* --- numbers and text ---------------------------------------------------------------------------
 */

/* Thousandths of a millimetre, no needless zeros; a point as decimal sign whatever the locale. */
static void put_number(Buffer *out, double value) {
    long long thousandths = llround(value * 1000.0);
    const char *sign = thousandths < 0 ? "-" : "";
    unsigned long long size = (unsigned long long)(thousandths < 0 ? -thousandths : thousandths);
    unsigned rest = (unsigned)(size % 1000);
    if (rest == 0) {
        buffer_format(out, "%s%llu", sign, size / 1000);
    } else if (rest % 100 == 0) {
        buffer_format(out, "%s%llu.%u", sign, size / 1000, rest / 100);
    } else if (rest % 10 == 0) {
        buffer_format(out, "%s%llu.%02u", sign, size / 1000, rest / 10);
    } else {
        buffer_format(out, "%s%llu.%03u", sign, size / 1000, rest);
    }
}

static void put_attribute(Buffer *out, const char *name, double value) {
    buffer_format(out, " %s=\"", name);
    put_number(out, value);
    buffer_text(out, "\"");
}

/* Clean text as XML. */
static void put_escaped(Buffer *out, const char *text) {
    for (const char *at = text; *at != '\0'; at++) {
        switch (*at) {
        case '&':
            buffer_text(out, "&amp;");
            break;
        case '<':
            buffer_text(out, "&lt;");
            break;
        case '>':
            buffer_text(out, "&gt;");
            break;
        case '"':
            buffer_text(out, "&quot;");
            break;
        default:
            buffer_add(out, at, 1);
        }
    }
}

/* --- faces --------------------------------------------------------------------------------------
 */

static size_t face_index(SvgWriter *writer, const FontRun *run) {
    for (size_t i = 0; i < writer->face_count; i++) {
        if (writer->faces[i].outlines == run->outlines) {
            return i;
        }
    }
    if (writer->face_count == FACES_MAX) {
        return FACES_MAX - 1; /* more faces than any text has scripts: it falls back on the last */
    }
    writer->faces[writer->face_count] = (SvgFace){run->outlines, hb_set_create()};
    return writer->face_count++;
}

/* Unicode letters of a stretch of valid UTF-8. */
static void take_letters(hb_set_t *letters, const char *text, size_t length) {
    const unsigned char *at = (const unsigned char *)text;
    const unsigned char *end = at + length;
    while (at < end) {
        unsigned extra = *at < 0x80 ? 0 : *at < 0xE0 ? 1 : *at < 0xF0 ? 2 : 3;
        uint32_t letter = extra == 0 ? *at : *at & (0x3Fu >> extra);
        at++;
        for (; extra > 0 && at < end; extra--) {
            letter = letter << 6 | (*at++ & 0x3Fu);
        }
        hb_set_add(letters, letter);
    }
}

static void collect_faces(SvgWriter *writer) {
    for (size_t i = 0; i < writer->list->count; i++) {
        const DrawItem *item = &writer->list->items[i];
        for (size_t j = 0; item->kind == DRAW_TEXT && j < item->shaped->run_count; j++) {
            const FontRun *run = &item->shaped->runs[j];
            take_letters(writer->faces[face_index(writer, run)].letters, run->text, run->length);
        }
    }
}

static void put_base64(Buffer *out, const void *bytes, size_t length) {
    Arena scratch = {0};
    size_t size = sodium_base64_encoded_len(length, sodium_base64_VARIANT_ORIGINAL);
    char *text = ARENA_ARRAY(&scratch, char, size);
    buffer_text(out, sodium_bin2base64(text, size, bytes, length, sodium_base64_VARIANT_ORIGINAL));
    arena_free(&scratch);
}

/* A face that can't be cut down is left out: the reader then takes a sans serif of its own. */
static void put_face(Buffer *out, const SvgFace *face, size_t index) {
    hb_subset_input_t *input = hb_subset_input_create_or_fail();
    if (input == NULL) {
        return;
    }
    hb_set_union(hb_subset_input_unicode_set(input), face->letters);
    hb_face_t *subset = hb_subset_or_fail(face->outlines, input);
    if (subset != NULL) {
        hb_blob_t *blob = hb_face_reference_blob(subset);
        unsigned length;
        const char *bytes = hb_blob_get_data(blob, &length);
        buffer_format(out, "@font-face{font-family:m%zu;src:url(data:font/sfnt;base64,", index);
        put_base64(out, bytes, length);
        buffer_text(out, ")}\n");
        hb_blob_destroy(blob);
        hb_face_destroy(subset);
    }
    hb_subset_input_destroy(input);
}

/* --- items --------------------------------------------------------------------------------------
 */

static void put_colour(Buffer *out, const char *name, uint32_t rgb) {
    buffer_format(out, " %s=\"#%06X\"", name, (unsigned)rgb);
}

static void put_ink(Buffer *out, const DrawItem *item) {
    if (item->filled) {
        put_colour(out, "fill", item->fill_rgb);
    }
    if (item->weight_mm > 0.0) {
        put_colour(out, "stroke", item->rgb);
        put_attribute(out, "stroke-width", item->weight_mm);
        if (item->dash == DASH_HIDDEN) {
            buffer_format(out, " stroke-dasharray=\"%g %g\"", STYLE_DASH_ON_MM, STYLE_DASH_OFF_MM);
        } else if (item->dash == DASH_AXIS) {
            buffer_format(out, " stroke-dasharray=\"%g %g %g %g\"", 3.0 * STYLE_DASH_ON_MM,
                          STYLE_DASH_OFF_MM, STYLE_DASH_OFF_MM / 3.0, STYLE_DASH_OFF_MM);
        }
    }
}

static void put_pair(Buffer *out, DrawPoint point) {
    put_number(out, point.x_mm);
    buffer_text(out, " ");
    put_number(out, point.y_mm);
}

static void put_path(SvgWriter *writer, const DrawItem *item) {
    Buffer *out = writer->out;
    const DrawPoint *points = draw_points(writer->list, item);
    buffer_text(out, "<path d=\"");
    for (uint32_t i = 0; i < item->point_count; i++) {
        buffer_text(out, i == 0 ? "M" : "L");
        put_pair(out, points[i]);
    }
    buffer_text(out, item->closed ? "Z\"" : "\"");
    put_ink(out, item);
    buffer_text(out, "/>\n");
}

static DrawPoint on_arc(DrawPoint centre, double radius_mm, double deg) {
    return (DrawPoint){centre.x_mm + radius_mm * cos(units_rad_from_deg(deg)),
                       centre.y_mm - radius_mm * sin(units_rad_from_deg(deg))};
}

/* Half a circle or less of it, counter-clockwise as seen. */
static void put_arc_to(Buffer *out, double radius_mm, DrawPoint to) {
    buffer_text(out, "A");
    put_pair(out, (DrawPoint){radius_mm, radius_mm});
    buffer_text(out, " 0 0 0 ");
    put_pair(out, to);
}

static void put_arc(SvgWriter *writer, const DrawItem *item) {
    Buffer *out = writer->out;
    DrawPoint centre = *draw_points(writer->list, item);
    if (item->closed) {
        buffer_text(out, "<circle");
        put_attribute(out, "cx", centre.x_mm);
        put_attribute(out, "cy", centre.y_mm);
        put_attribute(out, "r", item->radius_mm);
    } else {
        DrawPoint from = on_arc(centre, item->radius_mm, item->from_deg);
        DrawPoint to = on_arc(centre, item->radius_mm, item->to_deg);
        buffer_text(out, "<path d=\"M");
        put_pair(out, from);
        if (item->to_deg - item->from_deg > 180.0) {
            /* In two halves: ends that round to one point would be no arc at all. */
            put_arc_to(out, item->radius_mm,
                       on_arc(centre, item->radius_mm, (item->from_deg + item->to_deg) / 2.0));
        }
        put_arc_to(out, item->radius_mm, to);
        buffer_text(out, "\"");
    }
    put_ink(out, item);
    buffer_text(out, "/>\n");
}

static void put_text(SvgWriter *writer, const DrawItem *item) {
    Buffer *out = writer->out;
    double size_mm = fonts_size_mm(writer->list->fonts, item->height_mm);
    buffer_text(out, "<text");
    put_attribute(out, "x", item->origin.x_mm);
    put_attribute(out, "y", item->origin.y_mm);
    if (item->turned) {
        buffer_text(out, " transform=\"rotate(-90 ");
        put_pair(out, item->origin);
        buffer_text(out, ")\"");
    }
    put_attribute(out, "font-size", size_mm);
    buffer_text(out, " font-family=\"");
    for (size_t i = 0; i < item->shaped->run_count; i++) {
        buffer_format(out, "m%zu,", face_index(writer, &item->shaped->runs[i]));
    }
    buffer_text(out, "sans-serif\"");
    put_attribute(out, "textLength", item->shaped->advance_em * size_mm);
    buffer_text(out, " lengthAdjust=\"spacingAndGlyphs\"");
    put_colour(out, "fill", item->rgb);
    buffer_text(out, ">");
    put_escaped(out, item->text);
    buffer_text(out, "</text>\n");
}

/* --- document -----------------------------------------------------------------------------------
 */

static void open_group(Buffer *out, const DrawItem *item) {
    buffer_format(out, "<g class=\"%s\"", draw_layer_name(item->layer));
    if (item->table != TABLE_COUNT) {
        buffer_format(out, " data-table=\"%s\" data-key=\"", table_schema(item->table)->name);
        put_escaped(out, fonts_clean(out->arena, item->key));
        buffer_text(out, "\"");
    }
    buffer_text(out, ">\n");
}

static bool same_group(const DrawItem *left, const DrawItem *right) {
    return left->layer == right->layer && left->table == right->table &&
           strcmp(left->key, right->key) == 0;
}

static void put_items(SvgWriter *writer) {
    const DrawItem *group = NULL;
    for (size_t i = 0; i < writer->list->count; i++) {
        const DrawItem *item = &writer->list->items[i];
        if (item->kind == DRAW_LINK || item->kind == DRAW_ANCHOR) {
            continue;
        }
        if (group == NULL || !same_group(group, item)) {
            buffer_text(writer->out, group == NULL ? "" : "</g>\n");
            open_group(writer->out, item);
            group = item;
        }
        if (item->kind == DRAW_PATH) {
            put_path(writer, item);
        } else if (item->kind == DRAW_ARC) {
            put_arc(writer, item);
        } else {
            put_text(writer, item);
        }
    }
    buffer_text(writer->out, group == NULL ? "" : "</g>\n");
}

void svg_write(Buffer *out, const DrawList *list, const char *title) {
    SvgWriter writer = {.out = out, .list = list};
    collect_faces(&writer);
    buffer_text(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                     "<svg xmlns=\"http://www.w3.org/2000/svg\"");
    const char *names[] = {"width", "height"};
    double sizes_mm[] = {list->width_mm, list->height_mm};
    for (size_t i = 0; i < 2; i++) {
        buffer_format(out, " %s=\"", names[i]);
        put_number(out, sizes_mm[i]);
        buffer_text(out, "mm\"");
    }
    buffer_text(out, " viewBox=\"0 0 ");
    put_number(out, list->width_mm);
    buffer_text(out, " ");
    put_number(out, list->height_mm);
    buffer_text(out, "\" fill=\"none\" stroke=\"none\">\n<title>");
    put_escaped(out, fonts_clean(out->arena, title));
    buffer_text(out, "</title>\n<style>\n");
    for (size_t i = 0; i < writer.face_count; i++) {
        put_face(out, &writer.faces[i], i);
    }
    buffer_text(out, "text{white-space:pre}\n</style>\n<rect width=\"100%\" height=\"100%\"");
    put_colour(out, "fill", STYLE_PAPER);
    buffer_text(out, "/>\n");
    put_items(&writer);
    buffer_text(out, "</svg>\n");
    for (size_t i = 0; i < writer.face_count; i++) {
        hb_set_destroy(writer.faces[i].letters);
    }
}
