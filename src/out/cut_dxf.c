/* Method: group codes and values, a line each. Everything but the entities is the least that the
 * release asks for: tables (empty where nothing is named), the two blocks that stand for model and
 * paper, the root dictionary. Handles count up in the order of writing. */
#include "out/cut_dxf.h"

#include <math.h>
#include <string.h>

typedef struct CutWriter {
    Buffer *out;
    unsigned handle; /* the last one given */
    unsigned model;  /* handle of the record of the model's block */
} CutWriter;

/* --- groups -------------------------------------------------------------------------------------
 */

static void put_text(CutWriter *writer, int code, const char *text) {
    buffer_format(writer->out, "%d\n%s\n", code, text);
}

static void put_int(CutWriter *writer, int code, int value) {
    buffer_format(writer->out, "%d\n%d\n", code, value);
}

static void put_handle(CutWriter *writer, int code, unsigned handle) {
    buffer_format(writer->out, "%d\n%X\n", code, handle);
}

/* Millionths; a point as decimal sign whatever the locale; no negative zero. Bulges carry nine
 * digits: their error grows with the radius. */
static void put_real(CutWriter *writer, int code, double value, int digits) {
    double scale = digits == 9 ? 1e9 : 1e6;
    long long parts = llround(value * scale);
    unsigned long long size = (unsigned long long)(parts < 0 ? -parts : parts);
    unsigned long long whole = (unsigned long long)scale;
    buffer_format(writer->out, "%d\n%s%llu.%0*llu\n", code, parts < 0 ? "-" : "", size / whole,
                  digits, size % whole);
}

static void put_point(CutWriter *writer, int code, double x_mm, double y_mm, bool flat) {
    put_real(writer, code, x_mm, 6);
    put_real(writer, code + 10, y_mm, 6);
    if (!flat) {
        put_real(writer, code + 20, 0.0, 6);
    }
}

static unsigned begin(CutWriter *writer, const char *type) {
    put_text(writer, 0, type);
    put_handle(writer, 5, ++writer->handle);
    return writer->handle;
}

/* --- tables -------------------------------------------------------------------------------------
 */

static unsigned begin_table(CutWriter *writer, const char *name, int count) {
    put_text(writer, 0, "TABLE");
    put_text(writer, 2, name);
    put_handle(writer, 5, ++writer->handle);
    put_handle(writer, 330, 0);
    put_text(writer, 100, "AcDbSymbolTable");
    put_int(writer, 70, count);
    if (strcmp(name, "DIMSTYLE") == 0) {
        put_text(writer, 100, "AcDbDimStyleTable");
    }
    return writer->handle;
}

static unsigned begin_record(CutWriter *writer, const char *type, unsigned table,
                             const char *subclass, const char *name) {
    unsigned handle = begin(writer, type);
    put_handle(writer, 330, table);
    put_text(writer, 100, "AcDbSymbolTableRecord");
    put_text(writer, 100, subclass);
    put_text(writer, 2, name);
    return handle;
}

static void end_table(CutWriter *writer) {
    put_text(writer, 0, "ENDTAB");
}

static void put_line_types(CutWriter *writer) {
    static const char *const NAMES[] = {"ByBlock", "ByLayer", "Continuous"};
    unsigned table = begin_table(writer, "LTYPE", 3);
    for (int i = 0; i < 3; i++) {
        begin_record(writer, "LTYPE", table, "AcDbLinetypeTableRecord", NAMES[i]);
        put_int(writer, 70, 0);
        put_text(writer, 3, "");
        put_int(writer, 72, 65);
        put_int(writer, 73, 0);
        put_real(writer, 40, 0.0, 6);
    }
    end_table(writer);
}

static void put_layer(CutWriter *writer, unsigned table, const char *name, int colour) {
    begin_record(writer, "LAYER", table, "AcDbLayerTableRecord", name);
    put_int(writer, 70, 0);
    put_int(writer, 62, colour);
    put_text(writer, 6, "Continuous");
}

static void put_tables(CutWriter *writer) {
    put_text(writer, 0, "SECTION");
    put_text(writer, 2, "TABLES");
    begin_table(writer, "VPORT", 0);
    end_table(writer);
    put_line_types(writer);
    unsigned layers = begin_table(writer, "LAYER", CUT_LAYER_COUNT + 1);
    put_layer(writer, layers, "0", 7);
    for (int i = 0; i < CUT_LAYER_COUNT; i++) {
        put_layer(writer, layers, cut_layer_name((CutLayer)i), cut_layer_colour((CutLayer)i));
    }
    end_table(writer);
    begin_table(writer, "STYLE", 0);
    end_table(writer);
    begin_table(writer, "VIEW", 0);
    end_table(writer);
    begin_table(writer, "UCS", 0);
    end_table(writer);
    unsigned applications = begin_table(writer, "APPID", 1);
    begin_record(writer, "APPID", applications, "AcDbRegAppTableRecord", "ACAD");
    put_int(writer, 70, 0);
    end_table(writer);
    begin_table(writer, "DIMSTYLE", 0);
    end_table(writer);
    unsigned blocks = begin_table(writer, "BLOCK_RECORD", 2);
    writer->model =
        begin_record(writer, "BLOCK_RECORD", blocks, "AcDbBlockTableRecord", "*Model_Space");
    unsigned paper =
        begin_record(writer, "BLOCK_RECORD", blocks, "AcDbBlockTableRecord", "*Paper_Space");
    end_table(writer);
    put_text(writer, 0, "ENDSEC");

    put_text(writer, 0, "SECTION");
    put_text(writer, 2, "BLOCKS");
    for (int i = 0; i < 2; i++) {
        const char *name = i == 0 ? "*Model_Space" : "*Paper_Space";
        unsigned record = i == 0 ? writer->model : paper;
        begin(writer, "BLOCK");
        put_handle(writer, 330, record);
        put_text(writer, 100, "AcDbEntity");
        put_text(writer, 8, "0");
        put_text(writer, 100, "AcDbBlockBegin");
        put_text(writer, 2, name);
        put_int(writer, 70, 0);
        put_point(writer, 10, 0.0, 0.0, false);
        put_text(writer, 3, name);
        put_text(writer, 1, "");
        begin(writer, "ENDBLK");
        put_handle(writer, 330, record);
        put_text(writer, 100, "AcDbEntity");
        put_text(writer, 8, "0");
        put_text(writer, 100, "AcDbBlockEnd");
    }
    put_text(writer, 0, "ENDSEC");
}

/* --- entities -----------------------------------------------------------------------------------
 */

static void begin_entity(CutWriter *writer, const char *type, CutLayer layer,
                         const char *subclass) {
    begin(writer, type);
    put_handle(writer, 330, writer->model);
    put_text(writer, 100, "AcDbEntity");
    put_text(writer, 8, cut_layer_name(layer));
    put_text(writer, 100, subclass);
}

static void put_entity(CutWriter *writer, const CutEntity *entity) {
    const Contour *contour = &entity->contour;
    double x;
    double y;
    double r;
    if (entity->line) {
        begin_entity(writer, "LINE", entity->layer, "AcDbLine");
        put_point(writer, 10, contour->points[0].x_mm, contour->points[0].y_mm, false);
        put_point(writer, 11, contour->points[1].x_mm, contour->points[1].y_mm, false);
    } else if (contour_is_circle(contour, &x, &y, &r)) {
        begin_entity(writer, "CIRCLE", entity->layer, "AcDbCircle");
        put_point(writer, 10, x, y, false);
        put_real(writer, 40, r, 6);
    } else {
        begin_entity(writer, "LWPOLYLINE", entity->layer, "AcDbPolyline");
        put_int(writer, 90, (int)contour->count);
        put_int(writer, 70, 1);
        for (size_t i = 0; i < contour->count; i++) {
            put_point(writer, 10, contour->points[i].x_mm, contour->points[i].y_mm, true);
            if (contour->points[i].bulge != 0.0) {
                put_real(writer, 42, contour->points[i].bulge, 9);
            }
        }
    }
}

/* --- document -----------------------------------------------------------------------------------
 */

static void put_header(CutWriter *writer, const CutFile *file, const char *notes,
                       unsigned next_handle) {
    for (const char *at = notes; *at != '\0';) {
        size_t length = strcspn(at, "\n");
        buffer_format(writer->out, "999\n%.*s\n", (int)length, at);
        at += length + (at[length] == '\n');
    }
    ContourBox box = cut_box(file);
    put_text(writer, 0, "SECTION");
    put_text(writer, 2, "HEADER");
    put_text(writer, 9, "$ACADVER");
    put_text(writer, 1, "AC1015");
    put_text(writer, 9, "$HANDSEED");
    put_handle(writer, 5, next_handle);
    put_text(writer, 9, "$INSUNITS"); /* millimetres */
    put_int(writer, 70, 4);
    put_text(writer, 9, "$MEASUREMENT"); /* metric */
    put_int(writer, 70, 1);
    put_text(writer, 9, "$EXTMIN");
    put_point(writer, 10, box.left_mm, box.bottom_mm, false);
    put_text(writer, 9, "$EXTMAX");
    put_point(writer, 10, box.right_mm, box.top_mm, false);
    put_text(writer, 0, "ENDSEC");
}

static void put_objects(CutWriter *writer) {
    put_text(writer, 0, "SECTION");
    put_text(writer, 2, "OBJECTS");
    unsigned root = begin(writer, "DICTIONARY");
    put_handle(writer, 330, 0);
    put_text(writer, 100, "AcDbDictionary");
    put_int(writer, 281, 1);
    put_text(writer, 3, "ACAD_GROUP");
    put_handle(writer, 350, root + 1);
    begin(writer, "DICTIONARY");
    put_handle(writer, 330, root);
    put_text(writer, 100, "AcDbDictionary");
    put_int(writer, 281, 1);
    put_text(writer, 0, "ENDSEC");
}

void cut_dxf_write(Buffer *out, const CutFile *file, const char *notes) {
    Buffer body = {.arena = out->arena};
    CutWriter writer = {.out = &body, .handle = 0xF};
    put_tables(&writer);
    put_text(&writer, 0, "SECTION");
    put_text(&writer, 2, "ENTITIES");
    for (size_t i = 0; i < file->count; i++) {
        put_entity(&writer, &file->items[i]);
    }
    put_text(&writer, 0, "ENDSEC");
    put_objects(&writer);
    put_text(&writer, 0, "EOF");
    unsigned next = writer.handle + 1;
    writer.out = out;
    put_header(&writer, file, notes, next);
    buffer_add(out, body.bytes, body.length);
}
