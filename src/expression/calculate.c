/*
 * calculate.c - an expression on its own, worked out and shown to a person.
 */
#include "language.h"

#include <math.h>

/* `171 psi in bar`: what stands before the last `in`, and the unit behind it. */
struct request {
    struct text expression;
    struct text unit; /* empty: as the expression has it */
};

static bool is_blank(char byte)
{
    return byte == ' ' || byte == '\t' || byte == '\n' || byte == '\r';
}

/* The last two words are `in` and a unit; anywhere else `in` is the inch. */
static struct request split(struct text written)
{
    struct request request = {.expression = written};
    size_t end = written.length;
    while (end > 0 && is_blank(written.bytes[end - 1]))
        end--;
    size_t unit = end;
    while (unit > 0 && !is_blank(written.bytes[unit - 1]))
        unit--;
    size_t word = unit;
    while (word > 0 && is_blank(written.bytes[word - 1]))
        word--;
    if (word < 4 || !is_blank(written.bytes[word - 3]) ||
        !text_equal(text_slice(written, word - 2, word), TEXT("in")) ||
        text_trim(text_slice(written, 0, word - 2)).length == 0)
        return request;
    size_t before = word - 2;
    while (is_blank(written.bytes[before - 1]))
        before--;
    request.expression = text_slice(written, 0, before);
    request.unit = text_slice(written, unit, end);
    return request;
}

/* --- in which unit, with how many digits ---------------------------------------------------- */

enum { DIGITS_LEAST = 3, DIGITS_MOST = 6 };

struct habits {
    struct kind kind;
    const struct unit *unit; /* the first unit of the kind that was written */
    unsigned digits;         /* most significant digits that were written */
};

static unsigned significant_digits(struct text written)
{
    unsigned count = 0;
    for (size_t i = 0; i < written.length; i++) {
        char byte = written.bytes[i];
        if (byte == '/')
            return DIGITS_MOST; /* a fraction is exact */
        bool is_digit = byte >= '0' && byte <= '9';
        if (is_digit && (count > 0 || byte != '0'))
            count++;
        /* 1 7/16; the text of a node does not end with a space */
        bool is_mixed =
            byte == ' ' && written.bytes[i + 1] >= '0' && written.bytes[i + 1] <= '9';
        if (!is_digit && byte != '.' && byte != '-' && !is_mixed)
            break;
    }
    return count;
}

static void note_habit(void *self, const struct node *node)
{
    struct habits *habits = self;
    if (node->kind != NODE_NUMBER)
        return;
    unsigned digits = significant_digits(node->text);
    if (digits > habits->digits)
        habits->digits = digits;
    if (habits->unit == NULL && !kind_is_plain(node->unit->kind) &&
        kind_equal(node->unit->kind, habits->kind))
        habits->unit = node->unit;
}

/* The usual unit of the kind, or the SI unit where a person would lose count of the digits.  A
 * temperature on a scale never comes here: its unit was written. */
static const struct unit *unit_for_size(struct kind kind, double si)
{
    const struct unit *usual = unit_for(kind), *other;
    const struct text *spellings;
    size_t count;
    if (usual == NULL || si == 0)
        return usual;
    double shown = fabs(unit_step_from_si(usual, si));
    for (size_t i = 0; (shown >= 1e5 || shown < 1e-3) && unit_at(i, &other, &spellings, &count);
         i++)
        if (kind_equal(other->kind, usual->kind) && unit_step_to_si(other, 1) == 1)
            return other;
    return usual;
}

static unsigned digits_wanted(const struct habits *habits, bool is_conversion)
{
    if (!is_conversion || habits->digits > DIGITS_MOST)
        return DIGITS_MOST;
    return habits->digits < DIGITS_LEAST ? DIGITS_LEAST : habits->digits;
}

/* --- in words ------------------------------------------------------------------------------------ */

enum { DECIMALS_MAX = 15, DIGITS_CERTAIN = 12 };

static int decimals_for(int digits, int exponent)
{
    return digits > exponent ? digits - exponent : 0;
}

/* As many decimals as make so many digits, but no zeros behind a number that ends before. */
static int decimals_of(double value, unsigned significant)
{
    char digits[DIGITS_CERTAIN];
    int exponent = 0, certain = DIGITS_CERTAIN;
    if (value == 0)
        return 0;
    text_digits(fabs(value), DIGITS_CERTAIN, digits, &exponent);
    while (certain > 1 && digits[certain - 1] == '0')
        certain--;
    if (certain <= (int)significant)
        return decimals_for(certain, exponent);
    text_digits(fabs(value), significant, digits, &exponent);
    return decimals_for((int)significant, exponent);
}

/* From here on value_text() writes a power of ten. */
static const double with_power_least = 1e15;

/* An exact value with as many digits as are wanted, any other with those it has. */
static struct text shown_text(struct arena *arena, struct measured number,
                              const struct unit *unit, unsigned significant)
{
    double expanded = gradient_expanded(number.gradient);
    if (expanded > 0)
        return measured_text(arena, number.value, expanded, unit);
    double shown = unit_from_si(unit, number.value);
    int decimals = decimals_of(shown, significant);
    if (decimals > DECIMALS_MAX || fabs(shown) >= with_power_least)
        return value_text(arena, number.value, unit, significant);
    return value_text_decimals(arena, number.value, unit, (unsigned)decimals);
}

/* A kind that no unit has is shown in SI. */
static struct text bare_text(struct arena *arena, struct measured number, struct kind kind,
                             unsigned significant)
{
    struct unit si = unit_one;
    si.symbol = kind_name(arena, kind);
    si.kind = kind;
    return shown_text(arena, number, &si, significant);
}

/* --- all of it ------------------------------------------------------------------------------------ */

static bool is_reciprocal(struct kind a, struct kind b)
{
    return !kind_is_plain(a) && !kind_is_point(a) && !kind_is_point(b) &&
           kind_is_plain(kind_product(a, b));
}

/* 30 mpg in L/100km: distance per volume is one over volume per distance. */
static struct scalar turned_over(struct arena *arena, struct scalar x)
{
    double value = x.number.value;
    if (value == 0)
        return scalar_missing(TEXT("division by zero"));
    const struct gradient *gradient =
        gradient_combine(arena, x.number.gradient, -1 / value / value, NULL, 0);
    struct scalar over = scalar_number(1 / value, gradient);
    return scalar_fits(over) ? over : scalar_missing(TEXT("too large a number"));
}

static struct text number_text(struct arena *arena, const struct expression *expression,
                               struct scalar x, const struct unit *wanted)
{
    struct habits habits = {.kind = expression->type.kind};
    expression_walk(expression->root, note_habit, &habits);
    const struct unit *unit = wanted != NULL ? wanted : habits.unit;
    if (unit == NULL)
        unit = unit_for_size(expression->type.kind, x.number.value);
    unsigned digits = digits_wanted(&habits, wanted != NULL);
    if (unit == NULL)
        return bare_text(arena, x.number, expression->type.kind, digits);
    return shown_text(arena, x.number, unit, digits);
}

static struct text truth_text(struct arena *arena, struct scalar x)
{
    struct text truth = x.truth ? TEXT("true") : TEXT("false");
    return x.is_unsure ? text_fill(arena, "{}, but too close to call", truth) : truth;
}

static struct calculation scalar_shown(struct arena *arena, const struct expression *expression,
                                       struct scalar x, const struct unit *wanted)
{
    struct calculation calculation = {0};
    if (!x.is_missing && wanted != NULL && is_reciprocal(expression->type.kind, wanted->kind))
        x = turned_over(arena, x);
    if (x.is_missing) {
        calculation.is_unanswerable = true;
        calculation.shown = text_fill(arena, "cannot be worked out: {}", x.missing_name);
        return calculation;
    }
    switch (expression->type.base) {
    case TYPE_TRUTH:
        calculation.shown = truth_text(arena, x);
        return calculation;
    case TYPE_TEXT:
        calculation.shown = x.text;
        return calculation;
    case TYPE_NUMBER:
        break;
    }
    calculation.shown = number_text(arena, expression, x, wanted);
    return calculation;
}

static bool unit_serves(const struct expression *expression, const struct unit *unit,
                        struct diagnostics *found)
{
    struct type type = expression->type;
    if (type.base == TYPE_NUMBER &&
        (kind_fits(type.kind, unit->kind) || is_reciprocal(type.kind, unit->kind)))
        return true;
    struct type wanted = {.base = TYPE_NUMBER, .kind = unit->kind, .index = INDEX_NONE};
    return expression_expect(expression, wanted, unit->symbol, found);
}

static struct place whole_place(const struct source *source, struct text written, size_t from,
                                size_t to)
{
    struct place place = {.source = source, .line = 1, .end_line = 1};
    place.column = 1 + text_width(text_slice(written, 0, from));
    place.end_column = 1 + text_width(text_slice(written, 0, to));
    return place;
}

struct calculation expression_calculate(struct text written, const struct source *source,
                                        struct diagnostics *found, struct arena *arena)
{
    const struct calculation refused = {0};
    struct request request = split(written);
    const struct unit *unit = NULL;
    struct place place = whole_place(source, written, 0, request.expression.length);
    const struct expression *expression =
        expression_compile(request.expression, place, NULL, found, arena);
    if (expression == NULL)
        return refused;
    if (request.unit.length > 0) {
        unit = unit_find(request.unit);
        size_t from = (size_t)(request.unit.bytes - written.bytes);
        if (unit == NULL) {
            report(found, FINDING_EXPRESSION_UNIT,
                   whole_place(source, written, from, from + request.unit.length), request.unit,
                   suggestion(arena, unit_nearest(request.unit)));
            return refused;
        }
        if (!unit_serves(expression, unit, found))
            return refused;
    }
    struct surroundings nothing = {0};
    struct value value = expression_evaluate(expression, &nothing, arena);
    return scalar_shown(arena, expression, value_item(&value, 0), unit);
}
