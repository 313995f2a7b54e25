/* Method: names of what goes are gathered first (units, then what the declined panel places hold),
 * then tables are gone through in an order in which each is judged by what is already gone. Columns
 * that refer to a table are found by the schema; columns that hold ends ("SCM.PWR", "CB_SCM",
 * "PDM.IN>PDM.OUT") are listed below. */
#include "model/decline.h"

#include <string.h>

#include "base/text.h"

enum { GONE = 1, KEPT = 2 };

typedef struct Leaving {
    Arena *arena;
    TableSet *set;
    NameMap options; /* declined */
    NameMap owners;  /* units, devices, switches, aerials that go */
} Leaving;

static bool is_in(const NameMap *map, const char *name) {
    return *name != '\0' && name_map_find(map, name) != NAME_NONE;
}

/* --- ends ------------------------------------------------------------------------------------ */

/* The end belongs to something that goes: the name before its first point. */
static bool end_goes(const Leaving *leaving, const char *end, size_t length) {
    const char *point = memchr(end, '.', length);
    size_t name = point == NULL ? length : (size_t)(point - end);
    return is_in(&leaving->owners, arena_text(leaving->arena, end, name));
}

static bool text_goes(const Leaving *leaving, const char *end) {
    return end_goes(leaving, end, strlen(end));
}

/* The ends of a list that stay; *count of them. The list itself when all do. */
static const char *ends_that_stay(const Leaving *leaving, const char *list, size_t *count) {
    Buffer out = {.arena = leaving->arena};
    const char *place = list;
    const char *word;
    size_t length;
    bool all = true;
    *count = 0;
    buffer_text(&out, "");
    while (text_next_word(&place, &word, &length)) {
        if (end_goes(leaving, word, length)) {
            all = false;
            continue;
        }
        buffer_text(&out, *count > 0 ? " " : "");
        buffer_add(&out, word, length);
        ++*count;
    }
    return all ? list : out.bytes;
}

/* --- rows ------------------------------------------------------------------------------------ */

/* Asked of each row of a copy of the table; the row may be changed. */
typedef bool (*RowStays)(Leaving *leaving, void *row);

static void keep_rows(Leaving *leaving, TableId table, RowStays stays) {
    AnyTable *rows = &leaving->set->any[table];
    size_t bytes = table_schema(table)->row_bytes;
    if (rows->count == 0) {
        return;
    }
    char *kept = arena_take(leaving->arena, rows->count, bytes);
    size_t count = 0;
    for (size_t i = 0; i < rows->count; i++) {
        char *place = kept + count * bytes;
        memcpy(place, table_row(leaving->set, table, i), bytes);
        count += stays(leaving, place) ? 1U : 0U;
    }
    *rows = (AnyTable){.rows = kept, .count = count, .capacity = rows->count};
}

static bool unit_stays(Leaving *leaving, void *row) {
    return !is_in(&leaving->owners, ((UnitRow *)row)->tag);
}

static bool switch_stays(Leaving *leaving, void *row) {
    return !is_in(&leaving->owners, ((SwitchgearRow *)row)->tag);
}

static bool device_stays(Leaving *leaving, void *row) {
    return !is_in(&leaving->owners, ((ProtectionRow *)row)->tag);
}

static bool aerial_stays(Leaving *leaving, void *row) {
    return !is_in(&leaving->owners, ((AntennaRow *)row)->tag);
}

static bool feed_stays(Leaving *leaving, void *row) {
    FeedRow *feed = row;
    size_t count;
    feed->onto = ends_that_stay(leaving, feed->onto, &count);
    return count > 0;
}

static bool ground_stays(Leaving *leaving, void *row) {
    GroundRow *ground = row;
    size_t count;
    ground->out_of = ends_that_stay(leaving, ground->out_of, &count);
    return count > 0;
}

/* A declared spare has one end. */
static bool link_stays(Leaving *leaving, void *row) {
    LinkRow *link = row;
    size_t count;
    const char *ends = ends_that_stay(leaving, link->ends, &count);
    bool stays = ends == link->ends || count >= 2;
    link->ends = ends;
    return stays;
}

static bool net_stays(Leaving *leaving, void *row) {
    PinNetRow *net = row;
    size_t count;
    const char *ends = ends_that_stay(leaving, net->ends, &count);
    bool stays = ends == net->ends || count >= 2;
    net->ends = ends;
    return stays;
}

/* A place of its own that nothing is left for stays cut, and is plugged. */
static bool place_stays(Leaving *leaving, void *row) {
    MountRow *mount = row;
    size_t count;
    const char *serves = ends_that_stay(leaving, mount->serves, &count);
    if (!is_in(&leaving->options, mount->option) && serves != mount->serves) {
        mount->serves = count == 0 ? "spare" : serves;
    }
    return true;
}

static bool terminator_stays(Leaving *leaving, void *row) {
    return !text_goes(leaving, ((TerminatorRow *)row)->port);
}

static bool shield_stays(Leaving *leaving, void *row) {
    return !text_goes(leaving, ((ShieldRow *)row)->port);
}

static bool mode_stays(Leaving *leaving, void *row) {
    return !text_goes(leaving, ((ModeRow *)row)->port);
}

static bool setting_stays(Leaving *leaving, void *row) {
    return !text_goes(leaving, ((SettingRow *)row)->item);
}

static bool action_stays(Leaving *leaving, void *row) {
    return !text_goes(leaving, ((ActionRow *)row)->item);
}

static bool cue_stays(Leaving *leaving, void *row) {
    return !text_goes(leaving, ((CueRow *)row)->item);
}

static bool exception_stays(Leaving *leaving, void *row) {
    return !text_goes(leaving, ((ExceptionRow *)row)->item);
}

static bool lug_stays(Leaving *leaving, void *row) {
    return !text_goes(leaving, ((LugRow *)row)->owner);
}

static bool bond_stays(Leaving *leaving, void *row) {
    return !text_goes(leaving, ((BondRow *)row)->item);
}

/* --- who goes -------------------------------------------------------------------------------- */

static void add_gone(Leaving *leaving, const char *name) {
    name_map_add(&leaving->owners, leaving->arena, name, GONE);
}

/* Units of the option, and what its places on the panel hold. */
static void gather_owners(Leaving *leaving) {
    const TableSet *set = leaving->set;
    for (size_t i = 0; i < set->unit.count; i++) {
        if (is_in(&leaving->options, set->unit.rows[i].option)) {
            add_gone(leaving, set->unit.rows[i].tag);
        }
    }
    for (size_t i = 0; i < set->mount.count; i++) {
        if (!is_in(&leaving->options, set->mount.rows[i].option)) {
            continue;
        }
        char **tags;
        size_t count = text_split(leaving->arena, set->mount.rows[i].serves, &tags);
        for (size_t k = 0; k < count; k++) {
            if (strcmp(tags[k], "spare") != 0) {
                add_gone(leaving, tags[k]);
            }
        }
    }
}

static void note_words(const Leaving *leaving, NameMap *names, const char *list) {
    char **words;
    size_t count = text_split(leaving->arena, list, &words);
    for (size_t i = 0; i < count; i++) {
        name_map_add(names, leaving->arena, words[i], KEPT);
    }
}

/* Devices that had a feed before and have none now. */
static void gather_devices(Leaving *leaving, const TableSet *whole) {
    NameMap had = {0};
    NameMap have = {0};
    for (size_t i = 0; i < whole->feed.count; i++) {
        note_words(leaving, &had, whole->feed.rows[i].through);
    }
    for (size_t i = 0; i < leaving->set->feed.count; i++) {
        note_words(leaving, &have, leaving->set->feed.rows[i].through);
    }
    for (size_t i = 0; i < whole->protection.count; i++) {
        const char *tag = whole->protection.rows[i].tag;
        if (is_in(&had, tag) && !is_in(&have, tag)) {
            add_gone(leaving, tag);
        }
    }
}

static void note_owners(const Leaving *leaving, NameMap *names, const char *list) {
    char **words;
    size_t count = text_split(leaving->arena, list, &words);
    for (size_t i = 0; i < count; i++) {
        words[i][strcspn(words[i], ".")] = '\0';
        name_map_add(names, leaving->arena, words[i], KEPT);
    }
}

/* Aerials that had a link before and have none now. */
static void gather_aerials(Leaving *leaving, const TableSet *whole) {
    NameMap had = {0};
    NameMap have = {0};
    for (size_t i = 0; i < whole->link.count; i++) {
        note_owners(leaving, &had, whole->link.rows[i].ends);
    }
    for (size_t i = 0; i < leaving->set->link.count; i++) {
        note_owners(leaving, &have, leaving->set->link.rows[i].ends);
    }
    for (size_t i = 0; i < whole->antenna.count; i++) {
        const char *tag = whole->antenna.rows[i].tag;
        if (is_in(&had, tag) && !is_in(&have, tag)) {
            add_gone(leaving, tag);
        }
    }
}

/* --- needs ----------------------------------------------------------------------------------- */

static const char *clause_of(const Leaving *leaving, const NeedRow *need) {
    return arena_format(leaving->arena, "%s\t%s", need->need, need->clause);
}

static const char *way_of(const Leaving *leaving, const NeedRow *need) {
    return arena_format(leaving->arena, "%s\t%s\t%s", need->need, need->clause, need->way);
}

/* Ways with a port of what goes are left out where their clause keeps another, or where the whole
 * need rests on nothing else. */
static void leave_out_ways(Leaving *leaving) {
    const TableSet *set = leaving->set;
    NameMap broken = {0};  /* ways */
    NameMap clauses = {0}; /* that keep a way */
    NameMap needs = {0};   /* that keep a way */
    for (size_t i = 0; i < set->need.count; i++) {
        const NeedRow *need = &set->need.rows[i];
        if (text_goes(leaving, need->port)) {
            name_map_add(&broken, leaving->arena, way_of(leaving, need), GONE);
        }
    }
    if (broken.count == 0) {
        return;
    }
    for (size_t i = 0; i < set->need.count; i++) {
        const NeedRow *need = &set->need.rows[i];
        if (!is_in(&broken, way_of(leaving, need))) {
            name_map_add(&clauses, leaving->arena, clause_of(leaving, need), KEPT);
            name_map_add(&needs, leaving->arena, need->need, KEPT);
        }
    }
    NeedRow *kept = ARENA_ARRAY(leaving->arena, NeedRow, set->need.count);
    size_t count = 0;
    for (size_t i = 0; i < set->need.count; i++) {
        const NeedRow *need = &set->need.rows[i];
        bool goes = is_in(&broken, way_of(leaving, need)) &&
                    (is_in(&clauses, clause_of(leaving, need)) || !is_in(&needs, need->need));
        if (!goes) {
            kept[count++] = *need;
        }
    }
    leaving->set->any[TABLE_need] =
        (AnyTable){.rows = kept, .count = count, .capacity = set->need.count};
}

/* --- references ------------------------------------------------------------------------------ */

static const char **text_at(void *row, const ColumnSchema *column) {
    return (const char **)(void *)((char *)row + column->offset);
}

/* Rows whose key or needed value refers to a unit that goes go too; others lose that value. */
static bool row_refers(const Leaving *leaving, const TableSchema *schema, void *row) {
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        if (column->kind != COLUMN_REF || strcmp(column->extra, "unit") != 0) {
            continue;
        }
        const char **value = text_at(row, column);
        if (is_in(&leaving->owners, *value)) {
            if (column->flag != FLAG_OPEN) {
                return true;
            }
            *value = "";
        }
    }
    return false;
}

static void leave_out_references(Leaving *leaving, TableId table) {
    const TableSchema *schema = table_schema(table);
    AnyTable *rows = &leaving->set->any[table];
    bool refers = false;
    for (size_t c = 0; c < schema->column_count; c++) {
        refers |=
            schema->columns[c].kind == COLUMN_REF && strcmp(schema->columns[c].extra, "unit") == 0;
    }
    if (!refers || rows->count == 0) {
        return;
    }
    char *kept = arena_take(leaving->arena, rows->count, schema->row_bytes);
    size_t count = 0;
    for (size_t i = 0; i < rows->count; i++) {
        char *place = kept + count * schema->row_bytes;
        memcpy(place, table_row(leaving->set, table, i), schema->row_bytes);
        count += row_refers(leaving, schema, place) ? 0U : 1U;
    }
    *rows = (AnyTable){.rows = kept, .count = count, .capacity = rows->count};
}

/* --- exported -------------------------------------------------------------------------------- */

bool decline_leave_out(Arena *arena, TableSet *set, TableSet *whole) {
    Leaving leaving = {.arena = arena, .set = set};
    *whole = *set;
    for (size_t i = 0; i < set->option.count; i++) {
        if (set->option.rows[i].chosen == 0) {
            name_map_add(&leaving.options, arena, set->option.rows[i].option, GONE);
        }
    }
    if (leaving.options.count == 0) {
        return false;
    }
    gather_owners(&leaving);
    if (leaving.owners.count == 0) {
        return false;
    }
    keep_rows(&leaving, TABLE_unit, unit_stays);
    keep_rows(&leaving, TABLE_switchgear, switch_stays);
    keep_rows(&leaving, TABLE_feed, feed_stays);
    gather_devices(&leaving, whole);
    keep_rows(&leaving, TABLE_protection, device_stays);
    keep_rows(&leaving, TABLE_ground, ground_stays);
    keep_rows(&leaving, TABLE_link, link_stays);
    keep_rows(&leaving, TABLE_pin_net, net_stays);
    gather_aerials(&leaving, whole);
    keep_rows(&leaving, TABLE_antenna, aerial_stays);
    keep_rows(&leaving, TABLE_mount, place_stays);
    keep_rows(&leaving, TABLE_terminator, terminator_stays);
    keep_rows(&leaving, TABLE_shield, shield_stays);
    keep_rows(&leaving, TABLE_mode, mode_stays);
    keep_rows(&leaving, TABLE_setting, setting_stays);
    keep_rows(&leaving, TABLE_action, action_stays);
    keep_rows(&leaving, TABLE_cue, cue_stays);
    keep_rows(&leaving, TABLE_exception, exception_stays);
    keep_rows(&leaving, TABLE_lug, lug_stays);
    keep_rows(&leaving, TABLE_bond, bond_stays);
    leave_out_ways(&leaving);
    for (int i = 0; i < TABLE_COUNT; i++) {
        if (table_schema((TableId)i)->group == GROUP_JOB) {
            leave_out_references(&leaving, (TableId)i);
        }
    }
    return true;
}
