#include "language.h"

static bool is_letter(char byte)
{
    return (byte >= 'a' && byte <= 'z') || (byte >= 'A' && byte <= 'Z');
}

static bool is_digit(char byte)
{
    return byte >= '0' && byte <= '9';
}

static bool is_word(char byte)
{
    return is_letter(byte) || is_digit(byte) || byte == '_';
}

/* The byte `ahead` bytes on; 0, which no text contains, behind the end. */
static char byte_at(const struct scanner *scanner, size_t ahead)
{
    size_t at = scanner->at + ahead;
    if (at < scanner->whole.length)
        return scanner->whole.bytes[at];
    return '\0';
}

static size_t skip_digits(const struct scanner *scanner, size_t ahead)
{
    while (is_digit(byte_at(scanner, ahead)))
        ahead++;
    return ahead;
}

static struct text rest_of(const struct scanner *scanner)
{
    return text_slice(scanner->whole, scanner->at, scanner->whole.length);
}

/* Bytes that continue a character do not make a column. */
static void advance(struct scanner *scanner, size_t bytes)
{
    for (size_t i = 0; i < bytes; i++)
        if (((unsigned char)scanner->whole.bytes[scanner->at + i] & 0xC0) != 0x80)
            scanner->column++;
    scanner->at += bytes;
}

static size_t character_length(struct text rest)
{
    size_t length = 1;
    while (length < rest.length && ((unsigned char)rest.bytes[length] & 0xC0) == 0x80)
        length++;
    return length;
}

struct place token_place(const struct scanner *scanner, const struct token *token)
{
    struct place place = scanner->place;
    place.column = token->column;
    place.end_line = place.line;
    place.end_column = token->end_column;
    return place;
}

static struct text token_text(const struct scanner *scanner, const struct token *token)
{
    return text_slice(scanner->whole, token->from, token->to);
}

static void skip_blanks(struct scanner *scanner)
{
    for (;;) {
        char byte = byte_at(scanner, 0);
        if (byte == ' ' || byte == '\t' || byte == '\n' || byte == '\r')
            advance(scanner, 1);
        else if (text_starts(rest_of(scanner), TEXT("\u00a0")))
            advance(scanner, sizeof("\u00a0") - 1);
        else
            return;
    }
}

static bool finish(struct scanner *scanner, struct token *token, enum token_kind kind,
                   size_t length)
{
    advance(scanner, length);
    token->kind = kind;
    token->to = scanner->at;
    token->end_column = scanner->column;
    return true;
}

/* --- signs --------------------------------------------------------------------- */

struct sign {
    struct text spelling;
    enum token_kind kind;
};

/* A longer sign stands before one that it begins with. */
static const struct sign signs[] = {
    {{"<=", 2}, TOKEN_LESS_EQUAL},    {{"<", 1}, TOKEN_LESS},
    {{">=", 2}, TOKEN_GREATER_EQUAL}, {{">", 1}, TOKEN_GREATER},
    {{"==", 2}, TOKEN_EQUAL},         {{"!=", 2}, TOKEN_NOT_EQUAL},
    {{"+/-", 3}, TOKEN_PLUS_MINUS},   {{"±", sizeof("±") - 1}, TOKEN_PLUS_MINUS},
    {{"+", 1}, TOKEN_PLUS},           {{"-", 1}, TOKEN_MINUS},
    {{"*", 1}, TOKEN_TIMES},          {{"/", 1}, TOKEN_DIVIDE},
    {{"^", 1}, TOKEN_POWER},          {{"(", 1}, TOKEN_LEFT_ROUND},
    {{")", 1}, TOKEN_RIGHT_ROUND},    {{"[", 1}, TOKEN_LEFT_SQUARE},
    {{"]", 1}, TOKEN_RIGHT_SQUARE},   {{",", 1}, TOKEN_COMMA},
};

/* What people write who know another notation, and what it is here. */
struct habit {
    struct text spelling;
    const char *instead;
};

#define SPELLED(literal)                                                                       \
    {                                                                                          \
        (literal), sizeof(literal) - 1                                                         \
    }
static const struct habit habits[] = {
    {SPELLED("<>"), "!="},  {SPELLED("=<"), "<="}, {SPELLED("=>"), ">="},
    {SPELLED("==="), "=="}, {SPELLED("="), "=="},  {SPELLED("&&"), "and"},
    {SPELLED("&"), "and"},  {SPELLED("||"), "or"}, {SPELLED("|"), "or"},
    {SPELLED("!"), "not"},  {SPELLED("**"), "^"},  {SPELLED("×"), "*"},
    {SPELLED("·"), "*"},    {SPELLED("÷"), "/"},   {SPELLED("−"), "-"},
    {SPELLED("–"), "-"},    {SPELLED("≤"), "<="},  {SPELLED("≥"), ">="},
    {SPELLED("≠"), "!="},   {SPELLED("“"), "\""},  {SPELLED("”"), "\""},
    {SPELLED("‘"), "'"},    {SPELLED("’"), "'"},   {SPELLED("{"), "("},
    {SPELLED("}"), ")"},
};

enum { HABIT_COUNT = sizeof habits / sizeof habits[0] };

static const struct habit *find_habit(struct text rest)
{
    for (size_t i = 0; i < HABIT_COUNT; i++)
        if (text_starts(rest, habits[i].spelling))
            return &habits[i];
    return NULL;
}

static bool refuse_sign(struct scanner *scanner, struct token *token)
{
    struct text rest = rest_of(scanner), advice = TEXT("");
    const struct habit *habit = find_habit(rest);
    if (habit != NULL)
        advice = text_fill(scanner->arena, "; write {}", text_from(habit->instead));
    else if (text_starts(rest, TEXT(".")) && is_digit(byte_at(scanner, 1)))
        advice = TEXT("; write 0 before the point");
    (void)finish(scanner, token, TOKEN_END,
                 habit != NULL ? habit->spelling.length : character_length(rest));
    report(scanner->found, FINDING_EXPRESSION_SIGN, token_place(scanner, token),
           token_text(scanner, token), advice);
    return false;
}

/* `°` and `%` begin a unit, as do letters from outside ASCII: `µm`, `Ω`. */
static bool begins_unit(struct text rest)
{
    if (rest.bytes[0] == '%')
        return true;
    return (unsigned char)rest.bytes[0] >= 0x80 && find_habit(rest) == NULL &&
           !text_starts(rest, TEXT("±"));
}

/* --- tokens --------------------------------------------------------------------- */

/* 1,5 would be two values, and 84,210 might be a thousand: neither is guessed. */
static bool refuse_comma(struct scanner *scanner, struct token *token)
{
    size_t digits = skip_digits(scanner, 1);
    struct text before = text_slice(scanner->whole, token->from, scanner->at);
    struct text after = text_slice(scanner->whole, scanner->at + 1, scanner->at + digits);
    (void)finish(scanner, token, TOKEN_NUMBER, digits);
    report(scanner->found, FINDING_EXPRESSION_COMMA, token_place(scanner, token),
           token_text(scanner, token), text_fill(scanner->arena, "{}.{}", before, after));
    return false;
}

static struct text number_advice(enum quantity_flaw flaw)
{
    if (flaw == QUANTITY_TOO_LARGE)
        return TEXT("it is too large");
    if (flaw == QUANTITY_TOO_SMALL)
        return TEXT("it is too small; write 0");
    return TEXT("a fraction is over more than 0, and less than 1 behind a whole number");
}

/* 7/16 without spaces is one number, as on a spanner; 7/1.6 is a division. */
static bool is_fraction(const struct scanner *scanner, size_t ahead)
{
    size_t slash = skip_digits(scanner, ahead);
    if (slash == ahead || byte_at(scanner, slash) != '/')
        return false;
    size_t end = skip_digits(scanner, slash + 1);
    return end > slash + 1 && byte_at(scanner, end) != ',' &&
           !(byte_at(scanner, end) == '.' && is_digit(byte_at(scanner, end + 1)));
}

/* 7/16, or 1 7/16 */
static bool begins_fraction(const struct scanner *scanner)
{
    size_t ahead = skip_digits(scanner, 0);
    while (byte_at(scanner, ahead) == ' ')
        ahead++;
    return is_fraction(scanner, 0) ||
           (byte_at(scanner, ahead - 1) == ' ' && is_fraction(scanner, ahead));
}

static bool scan_number(struct scanner *scanner, struct token *token)
{
    struct text rest = rest_of(scanner);
    size_t length = rest.length;
    bool is_typed =
        begins_fraction(scanner); /* number_read knows fractions as typed ones only */
    enum quantity_flaw flaw = number_read(&rest, is_typed, scanner->arena, &token->number);
    size_t taken = length - rest.length;
    if (flaw != QUANTITY_READ) {
        size_t run = skip_digits(scanner, 0);
        if (is_typed)
            run = skip_digits(scanner, text_find(rest, TEXT("/")) + 1);
        else if (byte_at(scanner, run) == '.')
            run = skip_digits(scanner, run + 1);
        (void)finish(scanner, token, TOKEN_NUMBER, run);
        report(scanner->found, FINDING_EXPRESSION_NUMBER, token_place(scanner, token),
               token_text(scanner, token), number_advice(flaw));
        return false;
    }
    (void)finish(scanner, token, TOKEN_NUMBER, taken);
    if (byte_at(scanner, 0) == ',' && is_digit(byte_at(scanner, 1)))
        return refuse_comma(scanner, token);
    return true;
}

static bool scan_text(struct scanner *scanner, struct token *token)
{
    struct text rest = rest_of(scanner);
    for (size_t i = 1; i < rest.length; i++)
        if (rest.bytes[i] == rest.bytes[0])
            return finish(scanner, token, TOKEN_TEXT, i + 1);
    struct text quote = text_slice(rest, 0, 1);
    (void)finish(scanner, token, TOKEN_TEXT, rest.length);
    report(scanner->found, FINDING_EXPRESSION_QUOTE, token_place(scanner, token), quote);
    return false;
}

static enum token_kind word_kind(struct text word)
{
    if (text_equal(word, TEXT("and")))
        return TOKEN_AND;
    if (text_equal(word, TEXT("or")))
        return TOKEN_OR;
    if (text_equal(word, TEXT("not")))
        return TOKEN_NOT;
    return TOKEN_NAME;
}

/* A name with what follows its points, `machine.displacement`, is one token. */
static bool scan_word(struct scanner *scanner, struct token *token)
{
    size_t length = 1;
    while (is_word(byte_at(scanner, length)) ||
           (byte_at(scanner, length) == '.' && is_letter(byte_at(scanner, length + 1))))
        length++;
    struct text word = text_slice(scanner->whole, token->from, token->from + length);
    return finish(scanner, token, word_kind(word), length);
}

bool scan(struct scanner *scanner, struct token *token)
{
    skip_blanks(scanner);
    *token = (struct token){.from = scanner->at, .column = scanner->column};
    char byte = byte_at(scanner, 0);
    if (scanner->at == scanner->whole.length)
        return finish(scanner, token, TOKEN_END, 0);
    if (is_digit(byte))
        return scan_number(scanner, token);
    if (is_letter(byte))
        return scan_word(scanner, token);
    if (byte == '"' || byte == '\'')
        return scan_text(scanner, token);
    struct text rest = rest_of(scanner);
    if (!text_starts(rest, TEXT("===")) && !text_starts(rest, TEXT("**")) &&
        !text_starts(rest, TEXT("<>")))
        for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++)
            if (text_starts(rest, signs[i].spelling))
                return finish(scanner, token, signs[i].kind, signs[i].spelling.length);
    if (begins_unit(rest))
        return finish(scanner, token, TOKEN_UNIT_SIGN, character_length(rest));
    return refuse_sign(scanner, token);
}

static bool is_of_unit(struct text rest)
{
    char byte = rest.bytes[0];
    return is_word(byte) || byte == '.' || byte == '/' || text_starts(rest, TEXT("·")) ||
           (begins_unit(rest) && !text_starts(rest, TEXT("\u00a0")));
}

struct text scan_unit(struct scanner *scanner, const struct token *start, struct token *unit)
{
    scanner->at = start->from;
    scanner->column = start->column;
    *unit = *start;
    size_t length = 0;
    struct text rest = rest_of(scanner);
    while (length < rest.length && is_of_unit(text_slice(rest, length, rest.length)))
        length += character_length(text_slice(rest, length, rest.length));
    (void)finish(scanner, unit, TOKEN_NAME, length);
    return token_text(scanner, unit);
}
