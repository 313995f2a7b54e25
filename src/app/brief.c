#include "app/brief.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "model/report.h"

/* --- answers and gates
 */

static const BriefRow *find_answer(const Model *model, const char *question) {
    uint32_t row = model_row(model, TABLE_brief, question);
    return row == ID_NONE ? NULL : &model->set->brief.rows[row];
}

static bool gate_passed(const Model *model, const char *gate) {
    return model_row(model, TABLE_passed, gate) != ID_NONE;
}

/* --- questions ----------------------------------------------------------------------------------
 */

static void check_questions(Arena *out, const Model *model, TableSet *result, Findings *findings) {
    for (size_t i = 0; i < model->set->brief_question.count; i++) {
        const BriefQuestionRow *question = &model->set->brief_question.rows[i];
        const BriefRow *answer = find_answer(model, question->question);
        if (answer != NULL && *answer->answer != '\0') {
            continue;
        }
        OpenQuestionRow *row = table_append(result, out, TABLE_open_question);
        row->gate = question->gate;
        row->question = question->question;
        row->asks = question->asks;
        bool passed = gate_passed(model, question->gate);
        RuleId rule = passed ? RULE_BRIEF_PASSED : RULE_BRIEF_OPEN;
        const char *text = arena_format(findings->arena,
                                        passed ? "gate %s was passed without an answer to: %s"
                                               : "gate %s waits for an answer to: %s",
                                        question->gate, question->asks);
        uint32_t asked = model_row(model, TABLE_brief, question->question);
        Finding *finding =
            asked == ID_NONE
                ? finding_report(findings, rule, "brief", question->question, "answer", "%s", text)
                : report_row(findings, model, rule, TABLE_brief, asked, "answer", "%s", text);
        finding->hint = "ask the customer and write the answer into `brief`";
    }
}

/* --- equipment ----------------------------------------------------------------------------------
 */

double brief_height_ft(const char *answer) {
    char digits[32];
    size_t length = 0;
    const char *at = answer;
    while (*at != '\0' && !isdigit((unsigned char)*at)) {
        at++;
    }
    bool level = at - answer >= 2 && strncmp(answer, "FL", 2) == 0;
    while ((isdigit((unsigned char)*at) || *at == ',' || *at == '.') &&
           length < sizeof digits - 1) {
        /* A separator with three digits behind it groups thousands. */
        bool group = !isdigit((unsigned char)*at) && isdigit((unsigned char)at[1]) &&
                     isdigit((unsigned char)at[2]) && isdigit((unsigned char)at[3]);
        if (isdigit((unsigned char)*at)) {
            digits[length++] = *at;
        } else if (!group) {
            break;
        }
        at++;
    }
    digits[length] = '\0';
    if (length == 0) {
        return NAN;
    }
    while (*at == ' ') {
        at++;
    }
    double number = strtod(digits, NULL);
    bool metres = *at == 'm' && !isalpha((unsigned char)at[1]);
    return level ? number * 100.0 : (metres ? units_ft_from_m(number) : number);
}

static bool says_yes(const char *answer) {
    return (answer[0] == 'y' || answer[0] == 'Y') && (answer[1] == 'e' || answer[1] == 'E') &&
           (answer[2] == 's' || answer[2] == 'S');
}

/* The question whose answer asks for that kind of flight; NULL when none does. `height_ft` gets the
 * height it states. */
static const BriefQuestionRow *asked_for(const Model *model, const char *flight,
                                         double *height_ft) {
    for (size_t i = 0; i < model->set->brief_question.count; i++) {
        const BriefQuestionRow *question = &model->set->brief_question.rows[i];
        const BriefRow *answer = find_answer(model, question->question);
        if (strcmp(question->flight, flight) != 0 || answer == NULL) {
            continue;
        }
        *height_ft = brief_height_ft(answer->answer);
        if (strcmp(flight, "altitude") == 0 ? !isnan(*height_ft) : says_yes(answer->answer)) {
            return question;
        }
    }
    return NULL;
}

static bool is_covered(const Model *model, const char *item) {
    for (OwnerId i = 0; i < model->owner_count; i++) {
        const ModelOwner *owner = &model->owners[i];
        if (owner->kind == OWNER_UNIT && owner->part != ID_NONE &&
            text_has_word(model->set->part.rows[owner->part].equips, item)) {
            return true;
        }
    }
    return false;
}

static bool is_required(const Model *model, const RequiredItemRow *item, const char **why) {
    double height_ft = NAN;
    if (strcmp(item->flight, "day") == 0) {
        *why = "every flight";
        return true;
    }
    if (strcmp(item->flight, "airspace") == 0 || strcmp(item->flight, "altitude") == 0) {
        const BriefQuestionRow *question = asked_for(model, "altitude", &height_ft);
        bool high = question != NULL && (isnan(item->above_ft) || height_ft > item->above_ft);
        *why = "the height asked for";
        if (high || strcmp(item->flight, "altitude") == 0) {
            return high;
        }
    }
    const BriefQuestionRow *question = asked_for(model, item->flight, &height_ft);
    *why = question == NULL ? "" : question->question;
    return question != NULL;
}

static void check_equipment(const Model *model, Findings *findings) {
    Buffer others = {.arena = findings->arena};
    size_t other_count = 0;
    for (size_t i = 0; i < model->set->required_item.count; i++) {
        const RequiredItemRow *item = &model->set->required_item.rows[i];
        const char *why = "";
        if (!is_required(model, item, &why)) {
            continue;
        }
        if (strcmp(item->checked, "other") == 0) {
            buffer_format(&others, "%s%s", other_count++ > 0 ? "; " : "", item->name);
            continue;
        }
        if (is_covered(model, item->item)) {
            continue;
        }
        Finding *finding = report_row(
            findings, model, RULE_BRIEF_EQUIPMENT, TABLE_required_item, (uint32_t)i, "",
            "%s flight (%s) requires: %s; no unit covers it", item->flight, why, item->name);
        finding->source = item->source;
        finding->hint = "add the unit, or name the item in `equips` of the part that covers it";
    }
    if (other_count > 0) {
        Finding *finding = finding_add(findings, RULE_BRIEF_OTHER);
        finding->table = "required_item";
        finding->message = arena_format(findings->arena, "the builder sees to: %s", others.bytes);
    }
}

/* --- options ------------------------------------------------------------------------------------
 */

static const GateRow *find_gate(const Model *model, const char *gate) {
    uint32_t row = model_row(model, TABLE_gate, gate);
    return row == ID_NONE ? NULL : &model->set->gate.rows[row];
}

/* The earliest gate among the things an option touches. */
static const GateRow *option_gate(Arena *out, const Model *model, const OptionRow *option,
                                  const TouchRow **decides, const char **touches) {
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_touch, option->option, &count);
    const GateRow *earliest = NULL;
    Buffer list = {.arena = out};
    buffer_text(&list, "");
    for (uint32_t i = first; i < first + count; i++) {
        const TouchRow *touch = &model->set->touch.rows[i];
        uint32_t kind = model_row(model, TABLE_touch_kind, touch->what);
        buffer_format(&list, "%s%s %s", i > first ? ", " : "", touch->what, touch->item);
        if (kind == ID_NONE) {
            continue;
        }
        const GateRow *gate = find_gate(model, model->set->touch_kind.rows[kind].gate);
        if (gate != NULL && (earliest == NULL || gate->rank < earliest->rank)) {
            earliest = gate;
            *decides = touch;
        }
    }
    *touches = list.bytes;
    return earliest;
}

static void check_option(const Model *model, uint32_t row, const GateRow *gate,
                         const TouchRow *decides, Findings *findings) {
    const OptionRow *option = &model->set->option.rows[row];
    const GateRow *sold = find_gate(model, option->gate);
    if (sold != NULL && sold->rank > gate->rank) {
        Finding *finding = report_row(
            findings, model, RULE_BRIEF_LATE, TABLE_option, row, "gate",
            "%s is sold until gate %s, but it touches %s %s: last gate %s (%s)", option->name,
            sold->gate, decides->what, decides->item, gate->gate, gate->step);
        report_values(finding, sold->rank, gate->rank, "", NULL);
        finding->hint = "tell the customer the earlier gate";
    }
    if (option->chosen == INT_BLANK && gate_passed(model, gate->gate)) {
        report_row(findings, model, RULE_BRIEF_GONE, TABLE_option, row, "chosen",
                   "%s is still open, gate %s (%s) is passed", option->name, gate->gate, gate->step)
            ->hint = "write yes or no; a late yes is a change order";
    }
}

static void check_options(Arena *out, const Model *model, TableSet *result, Findings *findings) {
    for (size_t i = 0; i < model->set->option.count; i++) {
        const OptionRow *option = &model->set->option.rows[i];
        const TouchRow *decides = NULL;
        const char *touches = "";
        const GateRow *gate = option_gate(out, model, option, &decides, &touches);
        if (gate == NULL) {
            continue;
        }
        OptionGateRow *row = table_append(result, out, TABLE_option_gate);
        row->option = option->option;
        row->name = option->name;
        row->gate = gate->gate;
        row->step = gate->step;
        row->because = arena_format(out, "%s %s", decides->what, decides->item);
        row->touches = touches;
        check_option(model, (uint32_t)i, gate, decides, findings);
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

void brief_check(Arena *out, const Model *model, TableSet *result, Findings *findings) {
    check_questions(out, model, result, findings);
    check_equipment(model, findings);
    check_options(out, model, result, findings);
}
