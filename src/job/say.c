#include "job/say.h"

#include "base/calendar.h"
#include "job_state.h"

#include <assert.h>
#include <math.h>

struct text say_list(struct arena *arena, const struct text *items, size_t count)
{
    if (count == 0)
        return TEXT("nothing");
    if (count == 1)
        return items[0];
    return text_fill(arena, "{} and {}", text_join(arena, items, count - 1, TEXT(", ")),
                     items[count - 1]);
}

struct text say_count(struct arena *arena, size_t count, const char *noun)
{
    struct text name = text_from(noun);
    const char *sentence = count == 1 || text_ends(name, TEXT("s")) ? "{} {}" : "{} {}s";
    return text_fill(arena, sentence, text_number(arena, (long long)count), name);
}

struct text index_label(const struct job *job, int index, int position, struct arena *arena)
{
    assert(position >= 0 && (size_t)position < index_size(job, index));
    struct text label = job->fitted->indexes[index].texts[position];
    bool is_figure = label.length > 0 && label.bytes[0] >= '0' && label.bytes[0] <= '9';
    return is_figure ? text_fill(arena, "{} {}",
                                 say_name(arena, job->procedure->index_names[index]), label)
                     : label;
}

struct text say_position(struct arena *arena, const struct job *job, int index, int position)
{
    const struct fitted *fitted = job_fitted(job);
    if (index == INDEX_NONE || position == INDEX_NONE)
        return (struct text){0};
    return text_fill(arena, "{} {}", say_name(arena, fitted->procedure->index_names[index]),
                     fitted->indexes[index].texts[position]);
}

struct text job_spot_name(const struct job *job, const struct spot *spot, struct arena *arena)
{
    struct text parts[LOOP_DEPTH_MAX];
    size_t count = 0;
    for (const struct work *work = job->procedure->works[spot->work]; work != NULL;
         work = work->parent) {
        if (work->loop_depth == 0)
            continue;
        unsigned turn = spot->turns[work->loop_depth - 1];
        if (work->kind == WORK_REPEAT)
            parts[count++] = text_fill(arena, "round {}", text_number(arena, turn + 1));
        else if (work->loop.index != INDEX_NONE)
            parts[count++] = index_label(job, work->loop.index, (int)turn, arena);
    }
    for (size_t i = 0; i < count / 2; i++) {
        struct text other = parts[i];
        parts[i] = parts[count - 1 - i];
        parts[count - 1 - i] = other;
    }
    return text_join(arena, parts, count, TEXT(", "));
}

struct text say_capital(struct arena *arena, struct text words)
{
    if (words.length == 0 || words.bytes[0] < 'a' || words.bytes[0] > 'z')
        return words;
    char *bytes = arena_array(arena, char, words.length);
    memcpy(bytes, words.bytes, words.length);
    bytes[0] = (char)(words.bytes[0] - 'a' + 'A');
    return (struct text){bytes, words.length};
}

struct text say_short(struct arena *arena, struct text words, unsigned columns)
{
    struct text rest = text_trim(words);
    if (text_ends(rest, TEXT(".")))
        rest = text_slice(rest, 0, rest.length - 1);
    if (text_width(rest) <= columns)
        return rest;
    struct text line = text_wrap(&rest, columns - 2);
    return text_fill(arena, "{} \u2026", line);
}

static bool is_in_name(char byte)
{
    return (byte >= 'a' && byte <= 'z') || (byte >= 'A' && byte <= 'Z') ||
           (byte >= '0' && byte <= '9') || byte == '_' || byte == '.';
}

/* A unit has dots too, `N.m`, but no underscore. */
static bool is_name_of_file(struct text word)
{
    return text_find(word, TEXT("_")) < word.length || text_starts(word, TEXT("machine.")) ||
           text_starts(word, TEXT("earlier."));
}

/* `any(weak)` is "any weak"; more than one name between brackets stays as it is. */
static struct text without_brackets(struct arena *arena, struct text said, const char *function)
{
    struct text opening = text_fill(arena, "{}(", text_from(function));
    size_t at = text_find(said, opening);
    if (at == said.length)
        return said;
    struct text inner = text_slice(said, at + opening.length, said.length);
    size_t end = text_find(inner, TEXT(")")), next = text_find(inner, TEXT("("));
    if (end == inner.length || next < end)
        return said;
    return text_fill(arena, "{}{} {}{}", text_slice(said, 0, at), text_from(function),
                     text_slice(inner, 0, end), text_slice(inner, end + 1, inner.length));
}

struct text say_expression(struct arena *arena, struct text written)
{
    struct text said = {0};
    size_t at = 0;
    while (at < written.length) {
        size_t from = at;
        bool is_quoted = written.bytes[at++] == '"';
        bool is_name = !is_quoted && is_in_name(written.bytes[from]);
        if (is_quoted) {
            while (at < written.length && written.bytes[at] != '"')
                at++;
            at += at < written.length;
        }
        while (is_name && at < written.length && is_in_name(written.bytes[at]))
            at++;
        struct text piece = text_slice(written, from, at);
        said = text_fill(arena, "{}{}", said,
                         is_name && is_name_of_file(piece) ? say_name(arena, piece) : piece);
    }
    return without_brackets(arena, without_brackets(arena, said, "any"), "all");
}

const struct work *say_section(const struct work *work)
{
    while (work != NULL && ((work->kind != WORK_SECTION && work->kind != WORK_FOLLOW) ||
                            work->title.length == 0))
        work = work->parent;
    return work;
}

struct text say_step(struct arena *arena, const struct job *job, const struct work *step)
{
    struct text number = text_number(arena, (long long)job_step_number(job, step));
    const struct work *section = say_section(step);
    if (section == NULL)
        return text_fill(arena, "step {}", number);
    return text_fill(arena, "step {} ({})", number, section->title);
}

/* --- numbers --------------------------------------------------------------------------- */

enum { SIGNIFICANT_WITHOUT_UNCERTAINTY = 4, DECIMALS_MAX = 9 };

static int exponent_of(double amount)
{
    return (int)floor(log10(amount));
}

static unsigned decimals_for(double shown, double uncertainty)
{
    int wanted = 0;
    if (uncertainty > 0 && isfinite(uncertainty))
        wanted = 1 - exponent_of(uncertainty); /* two digits of it (JCGM 100, 7.2.6) */
    else if (shown != 0 && isfinite(shown))
        wanted = SIGNIFICANT_WITHOUT_UNCERTAINTY - 1 - exponent_of(fabs(shown));
    if (wanted < 0)
        return 0;
    return wanted > DECIMALS_MAX ? DECIMALS_MAX : (unsigned)wanted;
}

static bool is_digit(char byte)
{
    return byte >= '0' && byte <= '9';
}

/* Zeros after the point claim a precision that nobody knows of. */
static struct text without_idle_zeros(struct arena *arena, struct text shown)
{
    size_t end = 0;
    bool has_point = false;
    while (end < shown.length &&
           (is_digit(shown.bytes[end]) || shown.bytes[end] == '.' || shown.bytes[end] == '-')) {
        has_point = has_point || shown.bytes[end] == '.';
        end++;
    }
    size_t kept = end;
    while (has_point && shown.bytes[kept - 1] == '0')
        kept--;
    if (has_point && shown.bytes[kept - 1] == '.')
        kept--;
    return text_fill(arena, "{}{}", text_slice(shown, 0, kept),
                     text_slice(shown, end, shown.length));
}

struct text say_number(struct arena *arena, struct measured number, const struct unit *unit)
{
    const struct unit *in = unit == NULL ? &unit_one : unit;
    double uncertainty = number.gradient == NULL
                             ? 0
                             : fabs(unit_step_from_si(in, gradient_combined(number.gradient)));
    double size = fabs(unit_from_si(in, number.value));
    bool wants_power = size >= 1e15 || (size > 0 && size < 1e-9 && uncertainty < 1e-9);
    if (wants_power)
        return value_text(arena, number.value, in, SIGNIFICANT_WITHOUT_UNCERTAINTY);
    unsigned decimals = decimals_for(size, uncertainty);
    struct text shown = value_text_decimals(arena, number.value, in, decimals);
    return uncertainty > 0 ? shown : without_idle_zeros(arena, shown);
}

struct text say_scalar(struct arena *arena, const struct scalar *scalar, struct type type,
                       const struct unit *unit)
{
    if (scalar->is_missing)
        return TEXT("missing");
    switch (type.base) {
    case TYPE_NUMBER:
        return say_number(arena, scalar->number, unit == NULL ? unit_for(type.kind) : unit);
    case TYPE_TRUTH:
        return scalar->truth ? TEXT("yes") : TEXT("no");
    case TYPE_TEXT:
        break;
    }
    return scalar->text;
}

/* A jug and a syringe are marked in mL, a canister in L. */
static const struct unit *clearer_unit(const struct unit *unit, double si)
{
    const double least_litres = 0.1;
    const struct unit *litre = unit_find(TEXT("L"));
    bool is_small =
        unit == litre && si != 0 && fabs(unit_step_from_si(litre, si)) < least_litres;
    return is_small ? unit_find(TEXT("mL")) : unit;
}

struct text say_amount(struct arena *arena, const struct scalar *scalar, struct type type,
                       const struct unit *unit)
{
    if (unit == NULL && type.base == TYPE_NUMBER)
        unit = unit_for(type.kind);
    if (!scalar->is_missing && type.base == TYPE_NUMBER)
        unit = clearer_unit(unit, scalar->number.value);
    return say_scalar(arena, scalar, type, unit);
}

/* --- gauges and templates ---------------------------------------------------------------- */

struct text say_gauge(struct arena *arena, const struct gauge *gauge)
{
    return gauge->title.length > 0 ? gauge->title : say_name(arena, gauge->name);
}

struct text say_overdue(struct arena *arena, const struct gauge *gauge, long long wall,
                        struct text zone)
{
    return calendar_is_over(gauge->due, wall, zone)
               ? text_fill(arena, "calibration was due {}: past", gauge->due)
               : (struct text){0};
}

struct text say_template(struct arena *arena, const struct template *template)
{
    struct text said = {0};
    if (template->piece_count == 0)
        return template->written;
    for (size_t i = 0; i < template->piece_count; i++)
        said = text_fill(arena, template->pieces[i].value == NULL ? "{}{}" : "{}{}…", said,
                         template->pieces[i].literal);
    return said;
}
