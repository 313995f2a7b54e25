/* Method: group codes and values, a line each. Links and anchors are left out. A filled polygon is
 * cut into triangles by its ears (they are few and small: stripes, arrow heads, squares of codes);
 * a disc is the usual closed polyline of two half circles as wide as its radius. */
#include "out/dxf.h"

#include <math.h>
#include <string.h>

#define APPLICATION "MARLING"
#define TEXT_STYLE "MARLING"

typedef struct DxfWriter {
    Buffer *out;
    const DrawList *list;
} DxfWriter;

/* --- groups -------------------------------------------------------------------------------------
 */

static void put_text_group(DxfWriter *writer, int code, const char *text) {
    buffer_format(writer->out, "%d\n%s\n", code, text);
}

static void put_int(DxfWriter *writer, int code, int value) {
    buffer_format(writer->out, "%d\n%d\n", code, value);
}

/* Ten thousandths; a point as decimal sign whatever the locale; no negative zero. */
static void put_real(DxfWriter *writer, int code, double value) {
    long long parts = llround(value * 10000.0);
    unsigned long long size = (unsigned long long)(parts < 0 ? -parts : parts);
    buffer_format(writer->out, "%d\n%s%llu.%04u\n", code, parts < 0 ? "-" : "", size / 10000,
                  (unsigned)(size % 10000));
}

static void put_point(DxfWriter *writer, int code, DrawPoint point) {
    put_real(writer, code, point.x_mm);
    put_real(writer, code + 10, writer->list->height_mm - point.y_mm);
}

/* A colour of the 255 that release 12 knows: the nearest of its first nine, by meaning. */
static int colour_index(uint32_t rgb) {
    static const struct {
        uint32_t rgb;
        int index;
    } COLOURS[] = {{0xFF0000u, 1},  {0xFFFF00u, 2},  {0x00C000u, 3},  {0x00C0C0u, 4},
                   {0x0000FFu, 5},  {0xC000C0u, 6},  {0x000000u, 7},  {0x808080u, 8},
                   {0xFF8000u, 30}, {0x804000u, 34}, {0xFFFFFFu, 255}};
    int best = 7;
    long best_distance = 0x7FFFFFFF;
    for (size_t i = 0; i < sizeof COLOURS / sizeof *COLOURS; i++) {
        long distance = 0;
        for (unsigned shift = 0; shift <= 16; shift += 8) {
            long apart = (long)(rgb >> shift & 0xFFu) - (long)(COLOURS[i].rgb >> shift & 0xFFu);
            distance += apart * apart;
        }
        if (distance < best_distance) {
            best_distance = distance;
            best = COLOURS[i].index;
        }
    }
    return best;
}

static void begin(DxfWriter *writer, const char *entity, const DrawItem *item, uint32_t rgb) {
    put_text_group(writer, 0, entity);
    put_text_group(writer, 8, draw_layer_name(item->layer));
    if (item->dash == DASH_HIDDEN) {
        put_text_group(writer, 6, "HIDDEN");
    } else if (item->dash == DASH_AXIS) {
        put_text_group(writer, 6, "AXIS");
    }
    put_int(writer, 62, colour_index(rgb));
}

/* Text as readers of release 12 know it: letters beyond ASCII, and a backslash, as \U+XXXX; what
 * they would take for a control code (two percent signs, a caret) as the code for itself. */
static const char *coded(Arena *arena, const char *text) {
    Buffer out = {.arena = arena};
    const unsigned char *at = (const unsigned char *)text;
    while (*at != '\0') {
        if (*at == '%' && (at[1] == '%' || (at > (const unsigned char *)text && at[-1] == '%'))) {
            buffer_text(&out, "%%%");
            at++;
            continue;
        }
        if (*at < 0x80 && *at != '\\') {
            buffer_add(&out, (const char *)at, 1);
            buffer_text(&out, *at == '^' ? " " : "");
            at++;
            continue;
        }
        unsigned extra = *at < 0x80 ? 0 : *at < 0xE0 ? 1 : *at < 0xF0 ? 2 : 3;
        uint32_t letter = extra == 0 ? *at : *at & (0x3Fu >> extra);
        at++;
        for (; extra > 0 && *at != '\0'; extra--) {
            letter = letter << 6 | (*at++ & 0x3Fu);
        }
        buffer_format(&out, letter > 0xFFFFu ? "\\U+FFFD" : "\\U+%04X", (unsigned)letter);
    }
    return out.bytes == NULL ? "" : out.bytes;
}

/* A middle line carries the name of its arm as extended data, a node and a connector that of its
 * place, for whoever measures them. */
static void put_name(DxfWriter *writer, const DrawItem *item) {
    bool middle = item->table == TABLE_board_branch && item->layer == LAYER_MIDDLE;
    if ((middle || item->table == TABLE_board_node) && *item->key != '\0') {
        Arena scratch = {0};
        put_text_group(writer, 1001, APPLICATION);
        put_text_group(writer, 1000, coded(&scratch, item->key));
        arena_free(&scratch);
    }
}

/* --- polylines ----------------------------------------------------------------------------------
 */

static void put_vertex(DxfWriter *writer, const DrawItem *item, DrawPoint point, double bulge) {
    put_text_group(writer, 0, "VERTEX");
    put_text_group(writer, 8, draw_layer_name(item->layer));
    put_point(writer, 10, point);
    put_real(writer, 30, 0.0);
    if (bulge != 0.0) {
        put_real(writer, 42, bulge);
    }
}

static void begin_polyline(DxfWriter *writer, const DrawItem *item, uint32_t rgb, bool closed,
                           double width_mm) {
    begin(writer, "POLYLINE", item, rgb);
    put_int(writer, 66, 1);
    put_real(writer, 10, 0.0);
    put_real(writer, 20, 0.0);
    put_real(writer, 30, 0.0);
    put_int(writer, 70, closed ? 1 : 0);
    put_real(writer, 40, width_mm);
    put_real(writer, 41, width_mm);
    put_name(writer, item);
}

static void end_polyline(DxfWriter *writer, const DrawItem *item) {
    put_text_group(writer, 0, "SEQEND");
    put_text_group(writer, 8, draw_layer_name(item->layer));
}

/* --- fills --------------------------------------------------------------------------------------
 */

static double turn(DrawPoint a, DrawPoint b, DrawPoint c) {
    return (b.x_mm - a.x_mm) * (c.y_mm - a.y_mm) - (b.y_mm - a.y_mm) * (c.x_mm - a.x_mm);
}

static void put_triangle(DxfWriter *writer, const DrawItem *item, DrawPoint a, DrawPoint b,
                         DrawPoint c) {
    DrawPoint corners[] = {a, b, c, c};
    begin(writer, "SOLID", item, item->fill_rgb);
    for (int i = 0; i < 4; i++) {
        put_point(writer, 10 + i, corners[i]);
        put_real(writer, 30 + i, 0.0);
    }
}

static bool inside(DrawPoint a, DrawPoint b, DrawPoint c, DrawPoint point, double sign) {
    return sign * turn(a, b, point) > 0.0 && sign * turn(b, c, point) > 0.0 &&
           sign * turn(c, a, point) > 0.0;
}

/* Whether corner `i` of the rest can be cut off. */
static bool is_ear(const DrawPoint *points, const uint32_t *rest, size_t count, size_t i,
                   double sign) {
    DrawPoint a = points[rest[(i + count - 1) % count]];
    DrawPoint b = points[rest[i]];
    DrawPoint c = points[rest[(i + 1) % count]];
    if (sign * turn(a, b, c) < 0.0) {
        return false;
    }
    for (size_t j = 0; j < count; j++) {
        if (inside(a, b, c, points[rest[j]], sign)) {
            return false;
        }
    }
    return true;
}

static void put_fill(DxfWriter *writer, const DrawItem *item) {
    const DrawPoint *points = draw_points(writer->list, item);
    size_t count = item->point_count;
    double area = 0.0;
    for (size_t i = 0; i < count; i++) {
        DrawPoint next = points[(i + 1) % count];
        area += points[i].x_mm * next.y_mm - next.x_mm * points[i].y_mm;
    }
    double sign = area < 0.0 ? -1.0 : 1.0;
    Arena scratch = {0};
    uint32_t *rest = ARENA_ARRAY(&scratch, uint32_t, count);
    for (size_t i = 0; i < count; i++) {
        rest[i] = (uint32_t)i;
    }
    while (count > 2) {
        size_t ear = 0;
        while (ear < count && !is_ear(points, rest, count, ear, sign)) {
            ear++;
        }
        if (ear == count) {
            break; /* crosses itself: what is left has no inside to speak of */
        }
        put_triangle(writer, item, points[rest[(ear + count - 1) % count]], points[rest[ear]],
                     points[rest[(ear + 1) % count]]);
        memmove(&rest[ear], &rest[ear + 1], (count - ear - 1) * sizeof *rest);
        count--;
    }
    arena_free(&scratch);
}

/* --- items --------------------------------------------------------------------------------------
 */

static void put_path(DxfWriter *writer, const DrawItem *item) {
    const DrawPoint *points = draw_points(writer->list, item);
    if (item->filled && item->point_count > 2) {
        put_fill(writer, item);
    }
    if (item->weight_mm <= 0.0) {
        return;
    }
    if (item->point_count == 2) {
        begin(writer, "LINE", item, item->rgb);
        for (int i = 0; i < 2; i++) {
            put_point(writer, 10 + i, points[i]);
            put_real(writer, 30 + i, 0.0);
        }
        put_name(writer, item);
        return;
    }
    begin_polyline(writer, item, item->rgb, item->closed, 0.0);
    for (uint32_t i = 0; i < item->point_count; i++) {
        put_vertex(writer, item, points[i], 0.0);
    }
    end_polyline(writer, item);
}

static void put_arc(DxfWriter *writer, const DrawItem *item) {
    DrawPoint centre = *draw_points(writer->list, item);
    if (item->filled && item->closed) {
        double half_mm = item->radius_mm / 2.0;
        begin_polyline(writer, item, item->fill_rgb, true, item->radius_mm);
        put_vertex(writer, item, (DrawPoint){centre.x_mm - half_mm, centre.y_mm}, 1.0);
        put_vertex(writer, item, (DrawPoint){centre.x_mm + half_mm, centre.y_mm}, 1.0);
        end_polyline(writer, item);
    }
    if (item->weight_mm <= 0.0) {
        return;
    }
    begin(writer, item->closed ? "CIRCLE" : "ARC", item, item->rgb);
    put_point(writer, 10, centre);
    put_real(writer, 30, 0.0);
    put_real(writer, 40, item->radius_mm);
    if (!item->closed) {
        put_real(writer, 50, item->from_deg);
        put_real(writer, 51, item->to_deg);
    }
    put_name(writer, item);
}

static void put_text(DxfWriter *writer, const DrawItem *item) {
    Arena scratch = {0};
    double length_mm =
        item->shaped->advance_em * fonts_size_mm(writer->list->fonts, item->height_mm);
    DrawPoint end = item->origin;
    if (item->turned) {
        end.y_mm -= length_mm;
    } else {
        end.x_mm += length_mm;
    }
    begin(writer, "TEXT", item, item->rgb);
    put_point(writer, 10, item->origin);
    put_real(writer, 30, 0.0);
    put_real(writer, 40, item->height_mm);
    put_text_group(writer, 1, coded(&scratch, item->text));
    put_real(writer, 50, item->turned ? 90.0 : 0.0);
    put_text_group(writer, 7, TEXT_STYLE);
    put_int(writer, 72, 5); /* fitted between both points */
    put_point(writer, 11, end);
    put_real(writer, 31, 0.0);
    arena_free(&scratch);
}

/* --- document -----------------------------------------------------------------------------------
 */

static void put_header(DxfWriter *writer) {
    put_text_group(writer, 999, "units mm");
    put_text_group(writer, 0, "SECTION");
    put_text_group(writer, 2, "HEADER");
    put_text_group(writer, 9, "$ACADVER");
    put_text_group(writer, 1, "AC1009");
    put_text_group(writer, 9, "$EXTMIN");
    put_point(writer, 10, (DrawPoint){0.0, writer->list->height_mm});
    put_text_group(writer, 9, "$EXTMAX");
    put_point(writer, 10, (DrawPoint){writer->list->width_mm, 0.0});
    put_text_group(writer, 0, "ENDSEC");
}

static void put_line_type(DxfWriter *writer, const char *name, const double *dashes, int count) {
    double length_mm = 0.0;
    for (int i = 0; i < count; i++) {
        length_mm += fabs(dashes[i]);
    }
    put_text_group(writer, 0, "LTYPE");
    put_text_group(writer, 2, name);
    put_int(writer, 70, 0);
    put_text_group(writer, 3, name);
    put_int(writer, 72, 65);
    put_int(writer, 73, count);
    put_real(writer, 40, length_mm);
    for (int i = 0; i < count; i++) {
        put_real(writer, 49, dashes[i]);
    }
}

static void begin_table(DxfWriter *writer, const char *name, int count) {
    put_text_group(writer, 0, "TABLE");
    put_text_group(writer, 2, name);
    put_int(writer, 70, count);
}

static void put_tables(DxfWriter *writer) {
    put_text_group(writer, 0, "SECTION");
    put_text_group(writer, 2, "TABLES");
    begin_table(writer, "LTYPE", 3);
    put_line_type(writer, "CONTINUOUS", NULL, 0);
    put_line_type(writer, "HIDDEN", (double[]){STYLE_DASH_ON_MM, -STYLE_DASH_OFF_MM}, 2);
    put_line_type(writer, "AXIS",
                  (double[]){3.0 * STYLE_DASH_ON_MM, -STYLE_DASH_OFF_MM, STYLE_DASH_OFF_MM / 3.0,
                             -STYLE_DASH_OFF_MM},
                  4);
    put_text_group(writer, 0, "ENDTAB");
    begin_table(writer, "LAYER", LAYER_COUNT);
    for (int i = 0; i < LAYER_COUNT; i++) {
        put_text_group(writer, 0, "LAYER");
        put_text_group(writer, 2, draw_layer_name((DrawLayer)i));
        put_int(writer, 70, 0);
        put_int(writer, 62, 7);
        put_text_group(writer, 6, "CONTINUOUS");
    }
    put_text_group(writer, 0, "ENDTAB");
    begin_table(writer, "APPID", 1);
    put_text_group(writer, 0, "APPID");
    put_text_group(writer, 2, APPLICATION);
    put_int(writer, 70, 0);
    put_text_group(writer, 0, "ENDTAB");
    begin_table(writer, "STYLE", 1);
    put_text_group(writer, 0, "STYLE");
    put_text_group(writer, 2, TEXT_STYLE);
    put_int(writer, 70, 0);
    put_real(writer, 40, 0.0);
    put_real(writer, 41, 1.0);
    put_real(writer, 50, 0.0);
    put_int(writer, 71, 0);
    put_real(writer, 42, STYLE_VALUE_MM);
    put_text_group(writer, 3, "B612-Regular.otf");
    put_text_group(writer, 4, "");
    put_text_group(writer, 0, "ENDTAB");
    put_text_group(writer, 0, "ENDSEC");
}

void dxf_write(Buffer *out, const DrawList *list) {
    DxfWriter writer = {out, list};
    put_header(&writer);
    put_tables(&writer);
    put_text_group(&writer, 0, "SECTION");
    put_text_group(&writer, 2, "ENTITIES");
    for (size_t i = 0; i < list->count; i++) {
        const DrawItem *item = &list->items[i];
        switch (item->kind) {
        case DRAW_PATH:
            put_path(&writer, item);
            break;
        case DRAW_ARC:
            put_arc(&writer, item);
            break;
        case DRAW_TEXT:
            put_text(&writer, item);
            break;
        case DRAW_LINK:
        case DRAW_ANCHOR:
            break;
        }
    }
    put_text_group(&writer, 0, "ENDSEC");
    put_text_group(&writer, 0, "EOF");
}
