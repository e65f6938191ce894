/* What the parser made of a text, written out again with every bracket it needs, is made the same of. */
#include "world.h"

/* --- writing a tree ---------------------------------------------------------------------------- */

static const char *sign_of(enum node_kind kind)
{
    static const struct {
        enum node_kind kind;
        const char *sign;
    } signs[] = {{NODE_AND, "and"},          {NODE_OR, "or"},         {NODE_ADD, "+"},
                 {NODE_SUBTRACT, "-"},       {NODE_MULTIPLY, "*"},    {NODE_DIVIDE, "/"},
                 {NODE_LESS, "<"},           {NODE_LESS_EQUAL, "<="}, {NODE_GREATER, ">"},
                 {NODE_GREATER_EQUAL, ">="}, {NODE_EQUAL, "=="},      {NODE_NOT_EQUAL, "!="},
                 {NODE_PLUS_MINUS, "±"}};
    for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++)
        if (signs[i].kind == kind)
            return signs[i].sign;
    fail_msg("no sign for node %d", (int)kind);
    return "";
}

/* (7 ± 2) % is (7 ± 2) times a number that was written as % alone. */
static bool is_bare_unit(const struct node *node)
{
    return node->kind == NODE_NUMBER &&
           text_find(TEXT("0123456789-"), text_slice(node->text, 0, 1)) == 11;
}

static struct text written_out(struct arena *arena, const struct node *node)
{
    if (node->kind == NODE_TEXT)
        return text_fill(arena, "\"{}\"", node->text);
    if (node->kind == NODE_LABEL)
        return text_fill(arena, "{}[\"{}\"]", node->first->text, node->text);
    if (node->kind == NODE_PICK)
        return text_fill(arena, "{}[{}]", node->first->text, written_out(arena, node->second));
    if (node->kind == NODE_NEGATE)
        return text_fill(arena, "(-({}))", written_out(arena, node->first));
    if (node->kind == NODE_NOT)
        return text_fill(arena, "(not {})", written_out(arena, node->first));
    if (node->kind == NODE_POWER)
        return text_fill(arena, "(({})^{})", written_out(arena, node->first),
                         text_number(arena, node->exponent));
    if (node->kind == NODE_CALL && node->argument_count > 0) {
        struct text arguments[9];
        for (size_t i = 0; i < node->argument_count; i++)
            arguments[i] = written_out(arena, node->arguments[i]);
        return text_fill(arena, "{}({})", text_from(function_name(node->function)),
                         text_join(arena, arguments, node->argument_count, TEXT(", ")));
    }
    if (node->kind == NODE_NUMBER)
        return text_fill(arena, "({})", node->text);
    if (node->first == NULL || node->kind == NODE_HERE)
        return node->text;
    if (is_bare_unit(node->second))
        return text_fill(arena, "({} {})", written_out(arena, node->first), node->second->text);
    return text_fill(arena, "({} {} {})", written_out(arena, node->first),
                     text_from(sign_of(node->kind)), written_out(arena, node->second));
}

/* --- comparing two ------------------------------------------------------------------------------ */

static bool is_same_gradient(const struct gradient *a, const struct gradient *b)
{
    if (a == NULL || b == NULL)
        return a == b;
    return a->count == 1 && b->count == 1 && a->terms[0].source == b->terms[0].source &&
           a->terms[0].slope == b->terms[0].slope;
}

static bool is_same(const struct node *a, const struct node *b)
{
    if (a == NULL || b == NULL)
        return a == b;
    bool is_named = a->kind == NODE_TEXT || a->kind == NODE_LABEL || a->kind == NODE_SYMBOL;
    bool is_alike =
        a->kind == b->kind && a->type.base == b->type.base && a->type.index == b->type.index &&
        kind_equal(a->type.kind, b->type.kind) && a->symbol == b->symbol &&
        a->index == b->index && a->exponent == b->exponent && a->function == b->function &&
        a->unit == b->unit && a->number.value == b->number.value &&
        is_same_gradient(a->number.gradient, b->number.gradient) &&
        a->argument_count == b->argument_count && (!is_named || text_equal(a->text, b->text)) &&
        is_same(a->first, b->first) && is_same(a->second, b->second);
    for (size_t i = 0; is_alike && i < a->argument_count; i++)
        is_alike = is_same(a->arguments[i], b->arguments[i]);
    return is_alike;
}

/* Is it sound?  Then it must come back. */
static bool comes_back(struct world *world, const char *written)
{
    diagnostics_begin(&world->found, &world->arena);
    const struct expression *once = world_compile(world, written);
    if (once == NULL)
        return false;
    struct text out = written_out(&world->arena, once->root);
    const struct expression *again = world_compile(world, text_terminated(&world->arena, out));
    if (again == NULL || !is_same(once->root, again->root))
        fail_msg("%s became %.*s", written, (int)out.length, out.bytes);
    struct text twice = written_out(&world->arena, again->root);
    if (!text_equal(twice, out))
        fail_msg("%.*s became %.*s", (int)out.length, out.bytes, (int)twice.length,
                 twice.bytes);
    return true;
}

/* --- random ones ---------------------------------------------------------------------------------- */

/* The generator of Marsaglia (2003), xorshift; a fixed seed makes every run the same. */
static unsigned random_below(unsigned long long *seed, unsigned limit)
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 7;
    *seed ^= *seed << 17;
    return (unsigned)(*seed >> 33) % limit;
}

/* n: a plain number, p: a pressure for each cylinder or one, t: a truth.  Few brackets, so that the
 * precedence of the operators decides. */
static const struct {
    char made;
    const char *pattern;
} patterns[] = {
    {'n', "3"},
    {'n', "-2"},
    {'n', "1 1/2"},
    {'n', "0.75"},
    {'n', "ratio"},
    {'n', "5 ± 1"},
    {'n', "(7 ± 2) %"},
    {'n', "size(cylinder)"},
    {'n', "n + n"},
    {'n', "n - n"},
    {'n', "n * n"},
    {'n', "n / (n)"},
    {'n', "-(n)"},
    {'n', "- n"},
    {'n', "(n)^2"},
    {'n', "ratio^3"},
    {'n', "abs(n)"},
    {'n', "max(n, n, n)"},
    {'n', "sqrt(n * n)"},
    {'n', "p / (p)"},
    {'n', "count(t)"},
    {'n', "((2 + 1) ± 1)"},
    {'n', "elapsed(soak) / 1 s"},
    {'n', "round(n)"},
    {'p', "dry"},
    {'p', "wet"},
    {'p', "8 bar"},
    {'p', "100 psi ± 2 %"},
    {'p', "dry[3]"},
    {'p', "dry[\"2\"]"},
    {'p', "dry[cylinder]"},
    {'p', "wet[t]"},
    {'p', "p + p"},
    {'p', "p - p"},
    {'p', "(p) * n"},
    {'p', "n * (p)"},
    {'p', "min(p, p)"},
    {'p', "mean(dry)"},
    {'p', "previous(dry)"},
    {'p', "round(p, 0.5 bar)"},
    {'t', "weak"},
    {'t', "is_cold"},
    {'t', "given(wet)"},
    {'t', "stands_out(dry)"},
    {'t', "t and t"},
    {'t', "t or t"},
    {'t', "not t"},
    {'t', "(t) == (t)"},
    {'t', "n < n"},
    {'t', "n >= n"},
    {'t', "n != n"},
    {'t', "p <= p"},
    {'t', "p > p"},
    {'t', "any(weak)"},
    {'t', "cylinder == '2'"},
    {'t', "(t)"},
    {'t', "level == 'between the marks'"},
};
enum { PATTERNS = sizeof patterns / sizeof patterns[0], LONGEST = 140 };

/* Puts what a pattern makes behind `written`; past `depth`, or where it grows long, the shortest. */
static void make(char *written, char wanted, int depth, unsigned long long *seed)
{
    const char *leaf = wanted == 'n' ? "3" : wanted == 'p' ? "dry" : "weak";
    const char *pattern = leaf;
    while (depth > 0 && strlen(written) < LONGEST) {
        unsigned i = random_below(seed, PATTERNS);
        if (patterns[i].made != wanted)
            continue;
        pattern = patterns[i].pattern;
        break;
    }
    for (const char *at = pattern; *at != '\0'; at++) {
        bool is_word = (at > pattern && (at[-1] >= 'a' && at[-1] <= 'z')) ||
                       (at[1] >= 'a' && at[1] <= 'z');
        if (!is_word && strchr("npt", *at) != NULL) {
            make(written, *at, depth - 1, seed);
        } else {
            size_t length = strlen(written);
            written[length] = *at;
            written[length + 1] = '\0';
        }
    }
}

static void what_is_written_out_is_read_the_same(void **state)
{
    (void)state;
    struct world *world = world_open();
    world_enter(world, 1);
    struct arena_mark mark = arena_mark(&world->arena);
    unsigned long long seed = 7;
    unsigned sound = 0, tried = 0;
    for (; tried < 20000; tried++) {
        char written[40 * LONGEST] = "";
        make(written, "npt"[tried % 3], 6, &seed);
        sound += comes_back(world, written);
        arena_rewind(&world->arena, mark);
    }
    if (sound < tried / 2)
        fail_msg("only %u of %u were sound", sound, tried);
    world_close(world);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_written_out_is_read_the_same),
    };
    return cmocka_run_group_tests_name("expression/round_trip", tests, NULL, NULL);
}
