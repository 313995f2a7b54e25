/* Square codes on labels, read back by another program (zbarimg) from the picture of a label at the
 * resolution of a 300 dpi printer: they say what the table says. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "app/draw.h"
#include "app/prove.h"
#include "draw/label.h"
#include "out/png.h"

#define DOTS_PER_MM (300.0 / 25.4)

/* What the other program reads in a picture, lines parted by line breaks. */
static void read_picture(const char *path, char *text, size_t room) {
    char command[512];
    snprintf(command, sizeof command, "zbarimg --nodbus --quiet --raw '%s'", path);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    size_t length = fread(text, 1, room - 1, pipe);
    text[length] = '\0';
    assert_int_equal(pclose(pipe), 0);
}

static void codes_say_what_the_table_says(void **state) {
    (void)state;
    static Proof proof;
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library"};
    proof_run(MARLING_SOURCE_DIR "/examples/osier_mended", &options, &proof);
    assert_true(proof.complete);
    Arena arena = {0};
    DrawView view;
    const char *problem;
    assert_true(draw_view_build(&arena, &proof, &(DrawChoice){0}, &view, &problem));
    DrawFonts *fonts = fonts_open();
    LabelPlan plan;
    assert_true(label_plan(&arena, fonts, &view, "roll-12", &plan, &problem));
    char path[] = "/tmp/marling-label-XXXXXX";
    int file = mkstemp(path);
    assert_true(file >= 0);
    close(file);
    size_t read = 0;
    for (uint32_t page = 0; page < plan.page_count; page += plan.page_count / 25 + 1, read++) {
        Arena scratch = {0};
        DrawList list;
        label_draw(&plan, page, &scratch, &list);
        Status status = png_write(&list, path, DOTS_PER_MM);
        assert_false(status.failed);
        char text[1024];
        read_picture(path, text, sizeof text);
        text[strcspn(text, "\n")] = '\0';
        assert_string_equal(text, plan.labels[page]->code);
        arena_free(&scratch);
    }
    assert_true(read >= 20);
    unlink(path);
    fonts_close(fonts);
    arena_free(&arena);
    proof_free(&proof);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(codes_say_what_the_table_says),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
