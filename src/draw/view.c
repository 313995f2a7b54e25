#include "draw/view.h"

#include <string.h>

#include "base/units.h"

static const struct {
    const char *name;
    const char *words;
} UNITS[] = {
#define UNIT_ROW(id, name, words) {name, words},
    LENGTH_UNITS(UNIT_ROW)
#undef UNIT_ROW
};

const char *draw_units_name(LengthUnit units) {
    return UNITS[units].words;
}

LengthUnit draw_units_find(const char *name) {
    int units = 0;
    while (units < LENGTH_COUNT && strcmp(UNITS[units].name, name) != 0) {
        units++;
    }
    return (LengthUnit)units;
}

const char *draw_length_text(Arena *arena, LengthUnit units, double length_mm) {
    double length_in = units_in_from_mm(length_mm);
    switch (units) {
    case LENGTH_IN:
        return arena_format(arena, "%.1f in", length_in);
    case LENGTH_BOTH:
        return arena_format(arena, "%.0f mm (%.1f in)", length_mm, length_in);
    case LENGTH_MM:
    case LENGTH_COUNT:
        break;
    }
    return arena_format(arena, "%.0f mm", length_mm);
}
