/* Any bytes that the door lets in, as an expression on its own and in a small engine. */
#include "expression/expression.h"

#include <stdint.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void stop(size_t bytes_wanted)
{
    (void)bytes_wanted;
    abort();
}

static bool find(void *self, struct text name, struct meaning *meaning)
{
    (void)self;
    if (name.length != 1 || name.bytes[0] < 'a' || name.bytes[0] > 'h')
        return false;
    unsigned which = (unsigned)(name.bytes[0] - 'a');
    *meaning = (struct meaning){.kind = MEANING_VALUE, .symbol = which};
    meaning->type = (struct type){.base = which % 3 == 1   ? TYPE_TRUTH
                                          : which % 3 == 2 ? TYPE_TEXT
                                                           : TYPE_NUMBER,
                                  .index = which < 3 ? 0 : INDEX_NONE};
    if (which == 6)
        meaning->kind = MEANING_INDEX;
    if (which == 7)
        meaning->kind = MEANING_TIMER;
    meaning->index = which == 6 ? 0 : INDEX_NONE;
    return true;
}

static struct value value_of(void *self, unsigned symbol, struct arena *arena)
{
    struct meaning meaning;
    char letter = (char)('a' + symbol);
    (void)find(self, (struct text){&letter, 1}, &meaning);
    struct value value = value_missing(arena, meaning.type, 3, TEXT("x"));
    for (size_t i = 0; i < 2; i++) {
        value.items[i] = (struct scalar){0};
        if (meaning.type.base == TYPE_NUMBER)
            value.items[i].number.value = (double)i - 1;
        else if (meaning.type.base == TYPE_TEXT)
            value.items[i].text = TEXT("y");
    }
    return value;
}

static struct value repeats_of(void *self, unsigned symbol, unsigned position,
                               struct arena *arena)
{
    (void)position;
    return value_of(self, symbol, arena);
}

static double seconds(void *self, unsigned timer, int position)
{
    (void)self, (void)timer, (void)position;
    return 30;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct text written = {(const char *)data, size};
    size_t offset;
    if (text_check(written, &offset) != TEXT_SOUND)
        return 0;
    static struct arena arena; /* opened once: opening costs more than any expression */
    if (arena.base == NULL)
        arena = arena_open(32 * MEBIBYTE, stop);
    struct arena_mark mark = arena_mark(&arena);
    struct diagnostics found;
    diagnostics_begin(&found, &arena);
    struct source source = {TEXT("fuzz"), written};
    struct calculation shown = expression_calculate(written, &source, &found, &arena);
    if ((shown.shown.length > 0 || shown.is_unanswerable) && found.first != NULL)
        abort();

    diagnostics_begin(&found, &arena);
    static const struct text texts[] = {{"1", 1}, {"2", 1}, {"3", 1}};
    static const unsigned firing[] = {0, 2, 1};
    const struct labels labels = {3, texts, firing};
    const int here = 1;
    struct scope scope = {.find = find, .loops = 1};
    struct surroundings around = {.value_of = value_of,
                                  .repeats_of = repeats_of,
                                  .elapsed = seconds,
                                  .late = seconds,
                                  .indexes = &labels,
                                  .index_count = 1,
                                  .here = &here};
    const struct expression *expression = expression_compile(
        written, (struct place){&source, 1, 1, 1, 1}, &scope, &found, &arena);
    if ((expression == NULL) != (found.first != NULL))
        abort();
    if (expression != NULL)
        (void)expression_evaluate(expression, &around, &arena);
    arena_rewind(&arena, mark);
    return 0;
}
