#include "out/png.h"

#include <math.h>

#include "base/file.h"
#include "base/text.h"
#include "out/paint.h"

static cairo_status_t keep(void *context, const unsigned char *bytes, unsigned length) {
    buffer_add(context, (const char *)bytes, length);
    return CAIRO_STATUS_SUCCESS;
}

Status png_write(const DrawList *list, const char *path, double pixels_per_mm) {
    cairo_surface_t *surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)ceil(list->width_mm * pixels_per_mm),
                                   (int)ceil(list->height_mm * pixels_per_mm));
    cairo_t *cairo = cairo_create(surface);
    cairo_scale(cairo, pixels_per_mm, pixels_per_mm);
    paint_list(cairo, list, false);
    Arena arena = {0};
    Buffer bytes = {.arena = &arena};
    cairo_status_t written = cairo_status(cairo);
    if (written == CAIRO_STATUS_SUCCESS) {
        written = cairo_surface_write_to_png_stream(surface, keep, &bytes);
    }
    Status status = written == CAIRO_STATUS_SUCCESS
                        ? file_write(path, bytes.bytes, bytes.length)
                        : status_failed(cairo_status_to_string(written), path, 0);
    arena_free(&arena);
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    return status;
}
