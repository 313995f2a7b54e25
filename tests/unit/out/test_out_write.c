/* The writers: the same bytes twice, texts that a format could take for its own signs, rows and
 * layers in SVG, links to nowhere, and what is left when a file can't be written. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/file.h"
#include "base/text.h"
#include "out/dxf.h"
#include "out/pdf.h"
#include "out/svg.h"
#include "out/write.h"
#include "support/drawing.h"

static const char *const ENDINGS[] = {"svg", "pdf", "png", "dxf"};
#define ENDING_COUNT (sizeof ENDINGS / sizeof *ENDINGS)

typedef struct Desk {
    Arena arena;
    DrawFonts *fonts;
    DrawList list;
    char folder[32];
} Desk;

static int set_up(void **state) {
    static Desk desk;
    desk = (Desk){.fonts = fonts_open(), .folder = "/tmp/marling_out_XXXXXX"};
    drawing_make(&desk.list, &desk.arena, desk.fonts);
    *state = &desk;
    return mkdtemp(desk.folder) == NULL ? -1 : 0;
}

static int tear_down(void **state) {
    Desk *desk = *state;
    file_remove_folder(desk->folder);
    fonts_close(desk->fonts);
    arena_free(&desk->arena);
    return 0;
}

static const char *path_of(Desk *desk, const char *name) {
    return arena_format(&desk->arena, "%s/%s", desk->folder, name);
}

static const char *drawing_file(Desk *desk, const char *name, const char *ending) {
    return path_of(desk, arena_format(&desk->arena, "%s.%s", name, ending));
}

static Buffer read_all(Desk *desk, const char *path) {
    Buffer bytes = {.arena = &desk->arena};
    Status status = file_read(&desk->arena, path, &bytes.bytes, &bytes.length);
    if (status.failed) {
        fail_msg("%s", status.text);
    }
    return bytes;
}

static void assert_same_bytes(Buffer left, Buffer right) {
    assert_int_equal(left.length, right.length);
    assert_memory_equal(left.bytes, right.bytes, left.length);
}

static void write_well(const DrawList *list, const char *title, const char *path) {
    Status status = out_write(list, title, path);
    if (status.failed) {
        fail_msg("%s", status.text);
    }
}

static size_t files_in(Desk *desk) {
    char **names;
    size_t count;
    assert_false(file_list(&desk->arena, desk->folder, "", &names, &count).failed);
    return count;
}

static const char *svg_of(Desk *desk, const DrawList *list, const char *title) {
    Buffer out = {.arena = &desk->arena};
    svg_write(&out, list, title);
    return out.bytes;
}

static const char *dxf_of(Desk *desk, const DrawList *list) {
    Buffer out = {.arena = &desk->arena};
    dxf_write(&out, list);
    return out.bytes;
}

static void draw_start_small(Desk *desk, DrawList *list) {
    draw_start(list, &desk->arena, desk->fonts, 210.0, 297.0);
}

static size_t times(const char *text, const char *part) {
    size_t count = 0;
    for (const char *at = strstr(text, part); at != NULL; at = strstr(at + 1, part)) {
        count++;
    }
    return count;
}

/* --- determinism --------------------------------------------------------------------------------
 */

/* The second time with faces opened anew, something else shaped first, and in another zone of time
 * and language. */
static void same_drawing_same_bytes(void **state) {
    Desk *desk = *state;
    for (size_t i = 0; i < ENDING_COUNT; i++) {
        write_well(&desk->list, DRAWING_TITLE, drawing_file(desk, "one", ENDINGS[i]));
    }
    DrawFonts *other = fonts_open();
    fonts_shape(other, "something else first", true);
    DrawList list;
    drawing_make(&list, &desk->arena, other);
    setenv("TZ", "Pacific/Auckland", 1);
    setenv("LC_ALL", "de_DE.UTF-8", 1);
    for (size_t i = 0; i < ENDING_COUNT; i++) {
        write_well(&list, DRAWING_TITLE, drawing_file(desk, "two", ENDINGS[i]));
    }
    unsetenv("TZ");
    unsetenv("LC_ALL");
    fonts_close(other);
    for (size_t i = 0; i < ENDING_COUNT; i++) {
        assert_same_bytes(read_all(desk, drawing_file(desk, "one", ENDINGS[i])),
                          read_all(desk, drawing_file(desk, "two", ENDINGS[i])));
    }
}

static void a_drawing_of_nothing_is_a_file(void **state) {
    Desk *desk = *state;
    DrawList empty;
    draw_start_small(desk, &empty);
    for (size_t i = 0; i < ENDING_COUNT; i++) {
        write_well(&empty, "", drawing_file(desk, "empty", ENDINGS[i]));
        assert_true(read_all(desk, drawing_file(desk, "empty", ENDINGS[i])).length > 100);
    }
    const char *svg = svg_of(desk, &empty, "");
    assert_int_equal(times(svg, "<g"), 0);
    assert_int_equal(times(svg, "@font-face"), 0);
    assert_non_null(strstr(svg, "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"210mm\" "
                                "height=\"297mm\" viewBox=\"0 0 210 297\""));
}

/* --- SVG ----------------------------------------------------------------------------------------
 */

static void signs_of_xml_are_escaped(void **state) {
    Desk *desk = *state;
    const char *svg = svg_of(desk, &desk->list, DRAWING_TITLE);
    assert_non_null(
        strstr(svg, "<title>Everything &lt;at&gt; &quot;once&quot; &amp; 'more'</title>"));
    assert_non_null(strstr(svg, ">less &lt; more &gt; and &amp; &quot;double&quot; 'single'<"));
    assert_non_null(strstr(svg, ">]]&gt; &amp;amp; &amp;#38; &lt;!-- no comment --&gt;<"));
    assert_non_null(strstr(svg, ">bell tab newline escape end \xEF\xBF\xBD byte<"));
    assert_non_null(strstr(svg, ">no \xEF\xBF\xBD letter \xEF\xBF\xBD here<"));
    for (const char *at = svg; *at != '\0'; at++) {
        assert_true((unsigned char)*at >= 0x20 || *at == '\n');
    }
}

/* Titles and keys are not shaped, so nobody has cleaned them before. */
static void titles_and_keys_are_cleaned(void **state) {
    Desk *desk = *state;
    DrawList list;
    draw_start_small(desk, &list);
    draw_row(&list, TABLE_unit, "k\xFF\xEF\xBF\xBE\x01z");
    draw_line(&list, 10.0, 10.0, 20.0, 10.0, STYLE_THIN_MM);
    const char *svg = svg_of(desk, &list, "t\xC3(\xED\xA0\x80\x1Bz");
    assert_non_null(strstr(svg, "data-key=\"k\xEF\xBF\xBD\xEF\xBF\xBD z\""));
    assert_non_null(
        strstr(svg, "<title>t\xEF\xBF\xBD(\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD z</title>"));
}

static void rows_and_layers_are_groups(void **state) {
    Desk *desk = *state;
    const char *svg = svg_of(desk, &desk->list, "x");
    assert_int_equal(times(svg, "<g class=\"wire\" data-table=\"conductor\" data-key=\"W0001\">"),
                     1);
    assert_int_equal(
        times(svg,
              "<g class=\"wire\" data-table=\"conductor\" data-key=\"W&lt;2&gt;&amp;&quot;'\">"),
        1);
    assert_int_equal(times(svg, "<g class=\"box\" data-table=\"unit\" data-key=\"NAV1\">"), 1);
    assert_int_equal(times(svg, "<g class=\"tag\">"), 1);
    assert_int_equal(times(svg, "<g "), times(svg, "</g>"));
    /* Links and anchors draw nothing. */
    assert_int_equal(times(svg, "<g class=\"reference\">"), 1);
}

/* Places are thousandths of a millimetre, without a minus in front of nothing. */
static void numbers_are_short(void **state) {
    Desk *desk = *state;
    DrawList list;
    draw_start_small(desk, &list);
    draw_line(&list, -0.0001, 10.0004, 20.5, -1.25, STYLE_THIN_MM);
    const char *svg = svg_of(desk, &list, "x");
    assert_non_null(strstr(svg, "<path d=\"M0 10L20.5 -1.25\" stroke=\"#1A1A1A\" "
                                "stroke-width=\"0.25\"/>"));
}

/* An arc whose ends round to one point must not vanish. */
static void an_arc_nearly_all_round_is_drawn(void **state) {
    Desk *desk = *state;
    DrawList list;
    draw_start_small(desk, &list);
    draw_arc(&list, 50.0, 50.0, 1.0, 0.0, 359.9999, STYLE_THIN_MM);
    const char *svg = svg_of(desk, &list, "x");
    assert_non_null(strstr(svg, "d=\"M51 50A1 1 0 0 0 49 50A1 1 0 0 0 51 50\""));
}

/* --- DXF ----------------------------------------------------------------------------------------
 */

static void control_codes_are_only_letters_in_dxf(void **state) {
    Desk *desk = *state;
    const char *dxf = dxf_of(desk, &desk->list);
    assert_non_null(strstr(dxf, "\npercent %%%%%%d %%%%%%c %%%%%%u %%%%%% 50% \\U+005CU+0041 "
                                "\\U+005CP caret ^ J ^  {braces} ;\n"));
    assert_non_null(strstr(dxf, "\n\\U+041D\\U+0410\\U+0412 "));
    for (const char *at = dxf; *at != '\0'; at++) {
        assert_true((*at >= 0x20 && *at < 0x7F) || *at == '\n');
    }
}

/* Every group is a line with its code and a line with its value. */
static void dxf_lines_come_in_pairs(void **state) {
    Desk *desk = *state;
    const char *at = dxf_of(desk, &desk->list);
    size_t groups = 0;
    while (*at != '\0') {
        char *end;
        long code = strtol(at, &end, 10);
        assert_true(end > at && *end == '\n' && code >= 0 && code < 1000);
        at = strchr(end + 1, '\n');
        assert_non_null(at);
        at++;
        groups++;
    }
    assert_true(groups > 500);
}

/* --- PDF ----------------------------------------------------------------------------------------
 */

static void put_link_page(Desk *desk, Pdf *pdf, const char *const *links, size_t count,
                          const char *anchor) {
    DrawList list;
    draw_start_small(desk, &list);
    for (size_t i = 0; i < count; i++) {
        draw_link(&list, (DrawBox){10.0, 10.0, 20.0, 20.0}, links[i]);
    }
    draw_anchor(&list, anchor, 0.0, 0.0);
    pdf_page(pdf, &list, "part", "page");
}

static const PdfMeta META = {"title", "subject", "2026-01-31", "test"};

static void links_to_nowhere_are_counted(void **state) {
    Desk *desk = *state;
    const char *path = path_of(desk, "x.pdf");
    Pdf *pdf = pdf_open(&desk->arena, path, &META);
    put_link_page(desk, pdf, (const char *const[]){"here", "gone", "later", "gone"}, 4, "here");
    put_link_page(desk, pdf, (const char *const[]){"gone too", DRAWING_URI}, 2, "later");
    size_t lost = 99;
    assert_false(pdf_close(pdf, &lost).failed);
    assert_int_equal(lost, 2);

    pdf = pdf_open(&desk->arena, path, &META);
    put_link_page(desk, pdf, (const char *const[]){"here", "later"}, 2, "here");
    put_link_page(desk, pdf, (const char *const[]){"here"}, 1, "later");
    put_link_page(desk, pdf, NULL, 0, "here"); /* the first of a name counts */
    assert_false(pdf_close(pdf, &lost).failed);
    assert_int_equal(lost, 0);
}

static size_t links_in(Buffer pdf) {
    static const char LINK[] = "/Subtype /Link";
    size_t links = 0;
    for (size_t i = 0; i + sizeof LINK <= pdf.length; i++) {
        links += memcmp(&pdf.bytes[i], LINK, sizeof LINK - 1) == 0;
    }
    return links;
}

/* A sheet on paper of its own has no links to other sheets. */
static void a_sheet_alone_links_to_itself_only(void **state) {
    Desk *desk = *state;
    DrawList list;
    draw_start_small(desk, &list);
    draw_anchor(&list, "self", 0.0, 0.0);
    draw_link(&list, (DrawBox){10.0, 10.0, 20.0, 20.0}, "self");
    draw_link(&list, (DrawBox){10.0, 30.0, 20.0, 40.0}, "other sheet");
    draw_link(&list, (DrawBox){10.0, 50.0, 20.0, 60.0}, DRAWING_URI);
    const char *path = path_of(desk, "x.pdf");
    write_well(&list, "x", path);
    assert_int_equal(links_in(read_all(desk, path)), 2);
}

/* Metadata and bookmarks are texts that nobody has cleaned. */
static void odd_titles_do_not_spoil_a_document(void **state) {
    Desk *desk = *state;
    PdfMeta meta = {"t\xFF\x01(", "s\\\xEF\xBF\xBE)", "no date!!!", "p\xC3"};
    Pdf *pdf = pdf_open(&desk->arena, path_of(desk, "x.pdf"), &meta);
    pdf_page(pdf, &desk->list, "part\xFF(", "title\xED\xA0\x80)");
    Status status = pdf_close(pdf, NULL);
    assert_string_equal(status.failed ? status.text : "", "");
}

static void a_document_without_pages_is_refused(void **state) {
    Desk *desk = *state;
    Pdf *pdf = pdf_open(&desk->arena, path_of(desk, "x.pdf"), &META);
    assert_true(pdf_close(pdf, NULL).failed);
    assert_int_equal(files_in(desk), 0);
}

/* --- where it can't be written ------------------------------------------------------------------
 */

static void unknown_endings_are_refused(void **state) {
    Desk *desk = *state;
    static const char *const NAMES[] = {"x", "x.gif", "x.", "svg", "x.svg.bak", "a.svg/x"};
    for (size_t i = 0; i < sizeof NAMES / sizeof *NAMES; i++) {
        Status status = out_write(&desk->list, "x", path_of(desk, NAMES[i]));
        assert_true(status.failed);
        assert_non_null(strstr(status.text, ".svg, .pdf, .png or .dxf"));
    }
    assert_int_equal(files_in(desk), 0);
}

static void no_place_to_write_to(void **state) {
    Desk *desk = *state;
    assert_false(file_write(path_of(desk, "file"), "x", 1).failed);
    for (size_t i = 0; i < ENDING_COUNT; i++) {
        const char *folder = drawing_file(desk, "folder", ENDINGS[i]);
        assert_false(file_make_folder(folder).failed);
        assert_true(out_write(&desk->list, "x", folder).failed);
        assert_true(
            out_write(&desk->list, "x", drawing_file(desk, "missing/x", ENDINGS[i])).failed);
        Status status = out_write(&desk->list, "x", drawing_file(desk, "file/x", ENDINGS[i]));
        assert_true(status.failed);
        assert_non_null(strstr(status.text, "file/x"));
    }
    assert_int_equal(files_in(desk), 1 + ENDING_COUNT);
}

/* A disk that fills up at every kind of place in the file: nothing new is left, and what was there
 * stays as it was. */
static void a_full_disk_leaves_what_was_there(void **state) {
    Desk *desk = *state;
    struct rlimit before;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    signal(SIGXFSZ, SIG_IGN);
    for (size_t i = 0; i < ENDING_COUNT; i++) {
        const char *path = drawing_file(desk, "kept", ENDINGS[i]);
        write_well(&desk->list, DRAWING_TITLE, path);
        Buffer kept = read_all(desk, path);
        size_t places[] = {0, 1, 100, 4096, 8191, kept.length / 2, kept.length - 1};
        for (size_t j = 0; j < sizeof places / sizeof *places; j++) {
            struct rlimit limit = {.rlim_cur = places[j], .rlim_max = before.rlim_max};
            assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
            Status status = out_write(&desk->list, DRAWING_TITLE, path);
            Status fresh =
                out_write(&desk->list, DRAWING_TITLE, drawing_file(desk, "new", ENDINGS[i]));
            assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
            assert_true(status.failed);
            assert_true(fresh.failed);
            assert_non_null(strstr(status.text, path));
            assert_same_bytes(kept, read_all(desk, path));
            assert_int_equal(files_in(desk), i + 1);
        }
    }
    signal(SIGXFSZ, SIG_DFL);
}

int main(void) {
#define DESK_TEST(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        DESK_TEST(same_drawing_same_bytes),
        DESK_TEST(a_drawing_of_nothing_is_a_file),
        DESK_TEST(signs_of_xml_are_escaped),
        DESK_TEST(titles_and_keys_are_cleaned),
        DESK_TEST(rows_and_layers_are_groups),
        DESK_TEST(numbers_are_short),
        DESK_TEST(an_arc_nearly_all_round_is_drawn),
        DESK_TEST(control_codes_are_only_letters_in_dxf),
        DESK_TEST(dxf_lines_come_in_pairs),
        DESK_TEST(links_to_nowhere_are_counted),
        DESK_TEST(a_sheet_alone_links_to_itself_only),
        DESK_TEST(odd_titles_do_not_spoil_a_document),
        DESK_TEST(a_document_without_pages_is_refused),
        DESK_TEST(unknown_endings_are_refused),
        DESK_TEST(no_place_to_write_to),
        DESK_TEST(a_full_disk_leaves_what_was_there),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
