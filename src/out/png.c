/* Method: cairo draws; then the colours are counted. A sheet has a dozen, and the greys of their
 * edges: the 256 most frequent become the palette, and every other one takes the nearest of them.
 * So a file has a byte for a pixel and not three, and every colour of docs/style.md stays as it is.
 */
#include "out/png.h"

#include <math.h>
#include <png.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "out/paint.h"

#define PALETTE_MOST 256

typedef struct Shade {
    uint32_t rgb;
    uint32_t pixels;
    uint32_t entry; /* of the palette */
} Shade;

/* Shades by hash, open addressing; `count` of `capacity`, a power of two, are in use (pixels > 0).
 */
typedef struct Shades {
    Shade *slots;
    size_t capacity;
    size_t count;
} Shades;

typedef struct Image {
    const unsigned char *bytes; /* of cairo: 0xXXRRGGBB in the order of the machine */
    size_t stride;
    size_t width;
    size_t height;
} Image;

/* --- colours ------------------------------------------------------------------------------------
 */

static uint32_t pixel(const Image *image, size_t x, size_t y) {
    uint32_t value;
    memcpy(&value, image->bytes + y * image->stride + 4 * x, sizeof value);
    return value & 0xFFFFFFu;
}

static Shade *slot_of(const Shades *shades, uint32_t rgb) {
    size_t at = (rgb * 2654435761u) >> 8 & (shades->capacity - 1);
    while (shades->slots[at].pixels > 0 && shades->slots[at].rgb != rgb) {
        at = (at + 1) & (shades->capacity - 1);
    }
    return &shades->slots[at];
}

static void grow(Arena *arena, Shades *shades) {
    Shades larger = {.capacity = shades->capacity == 0 ? 1024 : 2 * shades->capacity,
                     .count = shades->count};
    larger.slots = ARENA_ARRAY(arena, Shade, larger.capacity);
    for (size_t i = 0; i < shades->capacity; i++) {
        if (shades->slots[i].pixels > 0) {
            *slot_of(&larger, shades->slots[i].rgb) = shades->slots[i];
        }
    }
    *shades = larger;
}

static void count_shades(Arena *arena, const Image *image, Shades *shades) {
    grow(arena, shades);
    Shade *last = &shades->slots[0];
    for (size_t y = 0; y < image->height; y++) {
        for (size_t x = 0; x < image->width; x++) {
            uint32_t rgb = pixel(image, x, y);
            if (last->pixels == 0 || last->rgb != rgb) {
                if (2 * shades->count >= shades->capacity) {
                    grow(arena, shades);
                }
                last = slot_of(shades, rgb);
                shades->count += last->pixels == 0;
                last->rgb = rgb;
            }
            last->pixels++;
        }
    }
}

static int more_pixels_first(const void *left, const void *right) {
    const Shade *const *a = left;
    const Shade *const *b = right;
    if ((*a)->pixels != (*b)->pixels) {
        return (*a)->pixels > (*b)->pixels ? -1 : 1;
    }
    return (*a)->rgb < (*b)->rgb ? -1 : 1;
}

static uint32_t nearest(Shade *const *palette, uint32_t rgb) {
    uint32_t best = 0;
    long best_apart = 0x7FFFFFFF;
    for (uint32_t i = 0; i < PALETTE_MOST; i++) {
        long apart = 0;
        for (unsigned shift = 0; shift <= 16; shift += 8) {
            long step = (long)(rgb >> shift & 0xFFu) - (long)(palette[i]->rgb >> shift & 0xFFu);
            apart += step * step;
        }
        if (apart < best_apart) {
            best_apart = apart;
            best = i;
        }
    }
    return best;
}

/* Fills `palette` (red, green, blue) and the entry of every shade; returns how many entries. */
static uint32_t choose_palette(Arena *arena, Shades *shades,
                               unsigned char palette[3 * PALETTE_MOST]) {
    Shade **sorted = ARENA_ARRAY(arena, Shade *, shades->count);
    size_t count = 0;
    for (size_t i = 0; i < shades->capacity; i++) {
        if (shades->slots[i].pixels > 0) {
            sorted[count++] = &shades->slots[i];
        }
    }
    qsort(sorted, count, sizeof(Shade *), more_pixels_first);
    uint32_t entries = count < PALETTE_MOST ? (uint32_t)count : PALETTE_MOST;
    for (size_t i = 0; i < count; i++) {
        sorted[i]->entry = i < entries ? (uint32_t)i : nearest(sorted, sorted[i]->rgb);
    }
    for (uint32_t i = 0; i < entries; i++) {
        palette[3 * i] = (unsigned char)(sorted[i]->rgb >> 16);
        palette[3 * i + 1] = (unsigned char)(sorted[i]->rgb >> 8 & 0xFFu);
        palette[3 * i + 2] = (unsigned char)(sorted[i]->rgb & 0xFFu);
    }
    return entries;
}

/* --- the file -----------------------------------------------------------------------------------
 */

static Status write_image(Arena *arena, const Image *image, const char *path) {
    Shades shades = {0};
    unsigned char palette[3 * PALETTE_MOST];
    count_shades(arena, image, &shades);
    uint32_t entries = choose_palette(arena, &shades, palette);
    unsigned char *indices = ARENA_ARRAY(arena, unsigned char, image->width * image->height);
    for (size_t y = 0; y < image->height; y++) {
        for (size_t x = 0; x < image->width; x++) {
            indices[y * image->width + x] =
                (unsigned char)slot_of(&shades, pixel(image, x, y))->entry;
        }
    }
    png_image png = {
        .version = PNG_IMAGE_VERSION,
        .width = (png_uint_32)image->width,
        .height = (png_uint_32)image->height,
        .format = PNG_FORMAT_RGB_COLORMAP,
        .colormap_entries = entries,
    };
    png_alloc_size_t size = PNG_IMAGE_PNG_SIZE_MAX(png);
    char *bytes = ARENA_ARRAY(arena, char, size);
    if (png_image_write_to_memory(&png, bytes, &size, 0, indices, 0, palette) == 0) {
        return status_failed(png.message, path, 0);
    }
    return file_write(path, bytes, size);
}

Status png_write(const DrawList *list, const char *path, double pixels_per_mm) {
    cairo_surface_t *surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)ceil(list->width_mm * pixels_per_mm),
                                   (int)ceil(list->height_mm * pixels_per_mm));
    cairo_t *cairo = cairo_create(surface);
    cairo_scale(cairo, pixels_per_mm, pixels_per_mm);
    paint_list(cairo, list, false);
    cairo_status_t painted = cairo_status(cairo);
    cairo_destroy(cairo);
    cairo_surface_flush(surface);
    Status status;
    if (painted == CAIRO_STATUS_SUCCESS) {
        Arena arena = {0};
        Image image = {
            .bytes = cairo_image_surface_get_data(surface),
            .stride = (size_t)cairo_image_surface_get_stride(surface),
            .width = (size_t)cairo_image_surface_get_width(surface),
            .height = (size_t)cairo_image_surface_get_height(surface),
        };
        status = write_image(&arena, &image, path);
        arena_free(&arena);
    } else {
        status = status_failed(cairo_status_to_string(painted), path, 0);
    }
    cairo_surface_destroy(surface);
    return status;
}
