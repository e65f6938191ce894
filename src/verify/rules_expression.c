#include "verify/rules_looking.h"

#include <math.h>
#include <stdlib.h>

/* Expressions: brackets, one question in two wordings, limits, timers that may run late. */

/* A comparison that decides the way, or a definition, in a form in which equal ones are equal. */
struct asked {
    struct text form, written, name; /* name: of a definition, or empty */
    struct place place;
    bool is_turned; /* its sides were swapped */
};

struct look {
    struct rules *rules;
    struct asked *asked;
    size_t asked_count, asked_room;
    bool *timer_is_said; /* by timer */
};

/* --- brackets ----------------------------------------------------------------------------------- */

static bool is_name_character(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_';
}

static bool is_operator_at(struct text written, size_t at, struct text operator)
{
    size_t end = at + operator.length;
    return written.bytes[at] == operator.bytes[0] && end<written.length &&
                                text_starts(text_slice(written, at, end), operator) &&
           (at == 0 || !is_name_character(written.bytes[at - 1])) &&
           !is_name_character(written.bytes[end]);
}

enum joined { JOINED_AND = 1, JOINED_OR = 2 };

static unsigned char operator_at(struct text written, size_t at)
{
    if (written.bytes[at] != 'a' && written.bytes[at] != 'o')
        return 0;
    if (is_operator_at(written, at, TEXT("and")))
        return JOINED_AND;
    return is_operator_at(written, at, TEXT("or")) ? JOINED_OR : 0;
}

static size_t quote_end(struct text written, size_t at)
{
    const char *end =
        memchr(written.bytes + at + 1, written.bytes[at], written.length - at - 1);
    return end == NULL ? written.length : (size_t)(end - written.bytes);
}

/* Do `and` and `or` stand at one level of brackets? */
static bool mixes_and_with_or(struct text written)
{
    enum { LEVELS = 64 };
    unsigned char seen[LEVELS] = {0};
    size_t level = 0;
    for (size_t i = 0; i < written.length; i++) {
        char c = written.bytes[i];
        bool opens = c == '(' || c == '[', closes = c == ')' || c == ']';
        if (c == '"' || c == '\'')
            i = quote_end(written, i);
        else if (opens && level + 1 < LEVELS)
            seen[++level] = 0;
        else if (closes && level > 0)
            level--;
        else if (c == ',')
            seen[level] = 0;
        else
            seen[level] |= operator_at(written, i);
        if (seen[level] == (JOINED_AND | JOINED_OR))
            return true;
    }
    return false;
}

/* --- one form for what is equal ------------------------------------------------------------------ */

static struct text spaces_out(struct text written, struct arena *arena)
{
    char *bytes = arena_array(arena, char, written.length);
    size_t length = 0;
    bool is_quoted = false;
    for (size_t i = 0; i < written.length; i++) {
        char c = written.bytes[i];
        is_quoted = c == '"' || c == '\'' ? !is_quoted : is_quoted;
        if (c == ' ' && !is_quoted) {
            bool joins = length > 0 && i + 1 < written.length &&
                         is_name_character(bytes[length - 1]) &&
                         is_name_character(written.bytes[i + 1]);
            if (!joins) /* "not x" and "2 bar" keep theirs */
                continue;
        }
        bytes[length++] = c;
    }
    return (struct text){bytes, length};
}

static bool is_comparison(enum node_kind kind)
{
    return kind == NODE_LESS || kind == NODE_LESS_EQUAL || kind == NODE_GREATER ||
           kind == NODE_GREATER_EQUAL || kind == NODE_EQUAL || kind == NODE_NOT_EQUAL;
}

/* What stands between the operands, if the text is this comparison and nothing round it. */
static bool split_comparison(const struct node *node, struct text written, struct text *left,
                             struct text *sign, struct text *right)
{
    static const char *const signs[] = {"==", "!=", "<=", ">=", "<", ">"};
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        *sign = text_from(signs[i]);
        size_t at = text_find(written, *sign);
        if (at == written.length)
            continue;
        *left = text_trim(text_slice(written, 0, at));
        *right = text_trim(text_slice(written, at + sign->length, written.length));
        return is_comparison(node->kind);
    }
    return false;
}

static struct text turned_sign(struct text sign)
{
    if (sign.bytes[0] == '<')
        return sign.length == 2 ? TEXT(">=") : TEXT(">");
    if (sign.bytes[0] == '>')
        return sign.length == 2 ? TEXT("<=") : TEXT("<");
    return sign;
}

static void add_asked(struct look *look, const struct expression *expression, struct text name)
{
    struct arena *scratch = look->rules->scratch;
    struct asked *asked = &look->asked[look->asked_count];
    struct text left, sign, right;
    if (look->asked_count == look->asked_room)
        return;
    look->asked_count++;
    *asked = (struct asked){spaces_out(expression->written, scratch), expression->written, name,
                            expression->place, false};
    if (!split_comparison(expression->root, expression->written, &left, &sign, &right))
        return;
    left = spaces_out(left, scratch);
    right = spaces_out(right, scratch);
    asked->is_turned = text_compare(left, right) > 0;
    asked->form = asked->is_turned
                      ? text_fill(scratch, "{}{}{}", right, turned_sign(sign), left)
                      : text_fill(scratch, "{}{}{}", left, sign, right);
}

static int compare_asked(const void *left, const void *right)
{
    const struct asked *a = left;
    const struct asked *b = right;
    int order = text_compare(a->form, b->form);
    if (order != 0)
        return order;
    order = (int)(a->place.line > b->place.line) - (int)(a->place.line < b->place.line);
    return order != 0 ? order : (int)a->place.column - (int)b->place.column;
}

/* Names first: two of them for one question; then the same comparison written both ways. */
static void tell_repeated(struct look *look)
{
    qsort(look->asked, look->asked_count, sizeof *look->asked, compare_asked);
    for (size_t i = 0, first = 0; i < look->asked_count; i++) {
        const struct asked *asked = &look->asked[i], *earlier = &look->asked[first];
        if (!text_equal(asked->form, earlier->form) || i == 0) {
            first = i;
            continue;
        }
        if (asked->name.length > 0 && earlier->name.length > 0)
            SAY(look->rules, NULL, FINDING_ASKED_TWICE, asked->place, asked->name,
                earlier->name);
        else if (asked->is_turned != earlier->is_turned)
            SAY(look->rules, NULL, FINDING_COMPARED_BOTH_WAYS, asked->place, asked->written,
                earlier->written);
    }
}

/* --- what a gauge can show ------------------------------------------------------------------------ */

/* The reading that decides: x, x[cylinder], min(x), max(x). */
static const struct node *reading_of(const struct node *node)
{
    for (;;) {
        if (node->kind == NODE_HERE || node->kind == NODE_LABEL || node->kind == NODE_PICK)
            node = node->first;
        else if (node->kind == NODE_CALL && node->argument_count == 1 &&
                 (node->function == FUNCTION_min || node->function == FUNCTION_max))
            node = node->arguments[0];
        else
            return node;
    }
}

static const struct gauge *gauge_of(const struct rules *rules, const struct node *node)
{
    const struct procedure *procedure = rules->procedure;
    node = reading_of(node);
    if (node->kind != NODE_SYMBOL)
        return NULL;
    const struct symbol *symbol = &procedure->symbols[node->symbol];
    if (symbol->kind != SYMBOL_READING)
        return NULL;
    int gauge = procedure->readings[symbol->item].field.gauge;
    return gauge == GAUGE_NONE ? NULL : &procedure->gauges[gauge];
}

/* Only steps: a difference of temperature and a zero elsewhere are left alone. */
static void look_at_fineness(struct rules *rules, const struct node *value,
                             const struct node *limit, struct text written, struct place place)
{
    const struct gauge *gauge = gauge_of(rules, value);
    if (gauge == NULL || gauge->resolution <= 0 || gauge->unit == NULL ||
        limit->kind != NODE_NUMBER || limit->unit == NULL)
        return;
    const struct unit *unit = gauge->unit;
    double zero = unit_to_si(unit, 0);
    double steps = (limit->number.value - zero) / gauge->resolution;
    if (fabs(steps - round(steps)) <= 1e-6 * fmax(1, fabs(steps)))
        return;
    enum { DIGITS = 3 };
    struct text step = value_text(rules->scratch, zero + gauge->resolution, unit, DIGITS);
    SAY(rules, NULL, FINDING_LIMIT_TOO_FINE, place, gauge->name, step, written);
}

static void visit_node(void *self, const struct node *node)
{
    struct look *look = self;
    if (node->kind == NODE_CALL &&
        (node->function == FUNCTION_late || node->function == FUNCTION_elapsed)) {
        const struct symbol *symbol = &look->rules->procedure->symbols[node->symbol];
        if (symbol->kind == SYMBOL_TIMER)
            look->timer_is_said[symbol->item] = true;
    }
    if (!is_comparison(node->kind))
        return;
    look_at_fineness(look->rules, node->first, node->second, node->second->text, node->place);
    look_at_fineness(look->rules, node->second, node->first, node->first->text, node->place);
}

static void look_at(struct look *look, const struct expression *expression)
{
    if (expression == NULL)
        return;
    if (rules_is_own(look->rules, expression->place) && mixes_and_with_or(expression->written))
        SAY(look->rules, NULL, FINDING_AND_OR_MIXED, expression->place);
    expression_walk(expression->root, visit_node, look);
}

static void look_at_deciding(struct look *look, const struct expression *expression)
{
    look_at(look, expression);
    if (expression != NULL && expression->root != NULL &&
        rules_is_own(look->rules, expression->place))
        add_asked(look, expression, (struct text){0});
}

/* --- results -------------------------------------------------------------------------------------- */

static void look_at_result(struct look *look, const struct result *result)
{
    struct rules *rules = look->rules;
    const struct expression *value = result->definition.value;
    const struct expression *limits[] = {result->limit.at_least, result->limit.at_most};
    look_at(look, value);
    if (result->has_limit && result->source.length == 0)
        SAY(rules, NULL, FINDING_LIMIT_UNSOURCED, result->definition.place,
            result->definition.name);
    for (size_t i = 0; i < 2; i++)
        if (limits[i] != NULL && value != NULL)
            look_at_fineness(rules, value->root, limits[i]->root, limits[i]->written,
                             limits[i]->place);
}

/* --- timers --------------------------------------------------------------------------------------- */

static bool tells_of_lateness(struct rules *rules, struct text text)
{
    struct words words = words_of(text, rules->scratch);
    for (size_t i = 0; i < words.count; i++)
        if ((words.items[i].is & IS_LATE) != 0)
            return true;
    return false;
}

static void look_at_template(struct look *look, const struct template *template)
{
    for (size_t i = 0; i < template->piece_count; i++)
        if (template->pieces[i].value != NULL)
            expression_walk(template->pieces[i].value->root, visit_node, look);
}

static void look_at_awaiting(struct look *look, const struct step *step)
{
    bool tells = tells_of_lateness(look->rules, step->look_for.written) ||
                 tells_of_lateness(look->rules, step->why.written) ||
                 tells_of_lateness(look->rules, step->action.written);
    for (size_t i = 0; tells && i < step->awaits_count; i++)
        look->timer_is_said[step->awaits[i]] = true;
}

static void tell_unsaid(struct look *look, const struct work *work)
{
    const struct step *step = work->step;
    for (size_t i = 0; i < step->starts_count; i++) {
        const struct timer_start *start = &step->starts[i];
        struct text name = look->rules->procedure->timers[start->timer].name;
        if (start->at_most != NULL && !look->timer_is_said[start->timer])
            SAY(look->rules, work, FINDING_LATE_UNSAID, start->place, name, name);
    }
}

/* --- all of them ---------------------------------------------------------------------------------- */

static void look_at_works(struct look *look)
{
    const struct procedure *procedure = look->rules->procedure;
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct work *work = procedure->works[i];
        look_at_deciding(look, work->when);
        look_at_deciding(look, work->until);
        look_at_deciding(look, work->loop.where);
        if (work->step == NULL)
            continue;
        look_at_template(look, &work->step->action);
        look_at_template(look, &work->step->look_for);
        if (work->step->awaits_count > 0)
            look_at_awaiting(look, work->step);
    }
}

void rules_expressions(struct rules *rules)
{
    const struct procedure *procedure = rules->procedure;
    size_t room = 3 * procedure->work_count + procedure->name_count;
    struct look look = {.rules = rules,
                        .asked = arena_array(rules->scratch, struct asked, room),
                        .asked_room = room,
                        .timer_is_said =
                            arena_array(rules->scratch, bool, procedure->timer_count)};
    look_at_works(&look);
    for (size_t i = 0; i < procedure->name_count; i++) {
        const struct definition *definition = &procedure->names[i];
        look_at(&look, definition->value);
        if (definition->value != NULL && rules_is_own(rules, definition->place))
            add_asked(&look, definition->value, definition->name);
    }
    for (size_t i = 0; i < procedure->result_count; i++)
        look_at_result(&look, &procedure->results[i]);
    for (size_t i = 0; i < procedure->finding_count; i++)
        look_at(&look, procedure->findings[i].when);
    tell_repeated(&look);
    for (size_t i = 0; i < procedure->work_count; i++)
        if (procedure->works[i]->step != NULL)
            tell_unsaid(&look, procedure->works[i]);
}
