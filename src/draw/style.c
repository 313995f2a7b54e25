#include "draw/style.h"

#include <stddef.h>
#include <string.h>

typedef struct Insulation {
    const char *name;
    const char *code;
    uint32_t rgb;
} Insulation;

static const Insulation INSULATIONS[] = {
#define INSULATION_ROW(name, code, rgb) {name, code, rgb},
    STYLE_INSULATIONS(INSULATION_ROW)
#undef INSULATION_ROW
};

static const Insulation *insulation_of(const char *word, size_t length) {
    for (size_t i = 0; i < sizeof INSULATIONS / sizeof *INSULATIONS; i++) {
        if (strlen(INSULATIONS[i].name) == length &&
            memcmp(INSULATIONS[i].name, word, length) == 0) {
            return &INSULATIONS[i];
        }
    }
    return NULL;
}

/* "white/blue" is a base and a tracer. */
static bool split(const char *name, const Insulation **base, const Insulation **tracer) {
    const char *slash = strchr(name, '/');
    size_t length = slash == NULL ? strlen(name) : (size_t)(slash - name);
    *base = insulation_of(name, length);
    *tracer = slash == NULL ? *base : insulation_of(slash + 1, strlen(slash + 1));
    return *base != NULL && *tracer != NULL;
}

const char *style_insulation_code(const char *name, char text[STYLE_CODE_TEXT]) {
    const Insulation *base;
    const Insulation *tracer;
    if (!split(name, &base, &tracer)) {
        size_t length = strlen(name);
        length = length < STYLE_CODE_TEXT - 1 ? length : STYLE_CODE_TEXT - 1;
        memcpy(text, name, length);
        text[length] = '\0';
        return text;
    }
    memcpy(text, base->code, 3);
    if (tracer != base) {
        memcpy(text + 2, tracer->code, 3);
    }
    return text;
}

bool style_insulation_rgb(const char *name, uint32_t *base_rgb, uint32_t *tracer_rgb) {
    const Insulation *base;
    const Insulation *tracer;
    if (!split(name, &base, &tracer)) {
        *base_rgb = STYLE_INK;
        *tracer_rgb = STYLE_INK;
        return false;
    }
    *base_rgb = base->rgb;
    *tracer_rgb = tracer->rgb;
    return true;
}
