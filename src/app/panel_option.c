#include "app/panel_option.h"

#include <math.h>
#include <string.h>

#include "base/text.h"

uint32_t panel_option_find(const Model *model, const char *option) {
    return model_row(model, TABLE_option, option);
}

bool panel_with_option(Arena *out, const Panel *from, uint32_t option, bool taken, Panel *panel) {
    Model *model = ARENA_NEW(out, Model);
    TableSet *set = ARENA_NEW(out, TableSet);
    *model = *from->model;
    *set = *from->model->set;
    model->set = set;
    set->option.rows = ARENA_ARRAY(out, OptionRow, set->option.count);
    for (size_t i = 0; i < set->option.count; i++) {
        set->option.rows[i] = from->model->set->option.rows[i];
    }
    set->option.rows[option].chosen = taken ? 1 : 0;
    Findings told = {.arena = out}; /* the live chain told of them */
    bool good = panel_read(out, model, panel, &told);
    panel->ink = from->ink;
    return good;
}

const char *panel_option_cost(Arena *out, const Model *model, const char *option) {
    const TableSet *set = model->set;
    double mass_kg = 0.0;
    double steady_a = 0.0;
    double brief_a = 0.0;
    size_t units = 0;
    size_t unknown = 0;
    for (size_t i = 0; i < set->unit.count; i++) {
        const UnitRow *unit = &set->unit.rows[i];
        if (strcmp(unit->option, option) != 0) {
            continue;
        }
        units++;
        uint32_t part = model_row(model, TABLE_part, unit->part);
        bool known = part != ID_NONE && !isnan(set->part.rows[part].mass_kg);
        unknown += known ? 0 : 1;
        mass_kg += known ? set->part.rows[part].mass_kg : 0.0;
        uint32_t count;
        uint32_t first = model_rows_of(model, TABLE_load, unit->part, &count);
        for (uint32_t j = 0; j < count; j++) {
            const LoadRow *load = &set->load.rows[first + j];
            double a = isnan(load->usual_a) ? load->design_a : load->usual_a;
            if (strcmp(load->duty, "continuous") == 0) {
                steady_a += a;
            } else {
                brief_a += a;
            }
        }
    }
    Buffer text = {.arena = out};
    buffer_format(&text, "%zu boxes: %.2f kg, %.1f A steady", units, mass_kg, steady_a);
    if (brief_a > 0.0) {
        buffer_format(&text, ", %.1f A for a short time", brief_a);
    }
    if (unknown > 0) {
        buffer_format(&text, "; mass of %zu not known", unknown);
    }
    buffer_text(&text, "; wiring, breakers and structure are not counted");
    return text.bytes;
}
