#include "verify/rules_vocabulary.h"

#include "verify/rules_words.h"

#include <assert.h>
#include <stdint.h>

/* A list is searched by heads: the first eight bytes of a word as one number, the first byte the
 * highest, a shorter word filled up with zeros.  Heads stand in the order of the words, and are
 * compared in one go and without a branch that cannot be foretold. */
enum { HEAD_BYTES = 8 };

#define LETTER(word, i)                                                                        \
    ((uint64_t)(unsigned char)(word)[(i) < sizeof(word) ? (i) : sizeof(word) - 1]              \
     << (8 * (HEAD_BYTES - 1 - (i))))
#define HEAD(word)                                                                             \
    (LETTER(word, 0) | LETTER(word, 1) | LETTER(word, 2) | LETTER(word, 3) | LETTER(word, 4) | \
     LETTER(word, 5) | LETTER(word, 6) | LETTER(word, 7))

static const uint64_t word_heads[] = {
#define WORD(word, is) HEAD(word),
#include "verify/rules_word_list.h"
#undef WORD
};
static const struct text words[] = {
#define WORD(word, is) TEXT_CONSTANT(word),
#include "verify/rules_word_list.h"
#undef WORD
};
static const unsigned words_are[] = {
#define WORD(word, is) (is),
#include "verify/rules_word_list.h"
#undef WORD
};
enum { WORDS = sizeof words / sizeof *words };

static const uint64_t name_heads[] = {
#define NAME(name) HEAD(name),
#include "verify/rules_name_list.h"
#undef NAME
};
static const struct text names[] = {
#define NAME(name) TEXT_CONSTANT(name),
#include "verify/rules_name_list.h"
#undef NAME
};
enum { NAMES = sizeof names / sizeof *names };

static uint64_t head_of(struct text text)
{
    uint64_t head = 0;
    size_t length = text.length < HEAD_BYTES ? text.length : HEAD_BYTES;
    for (size_t i = 0; i < length; i++)
        head = head << 8 | (unsigned char)text.bytes[i];
    return length == 0 ? 0 : head << (8 * (HEAD_BYTES - length));
}

/* Where `text` stands in a list, or `count`. */
static size_t find(const uint64_t *heads, const struct text *list, size_t count,
                   struct text text)
{
    uint64_t head = head_of(text);
    size_t from = 0;
    for (size_t left = count; left > 1;) {
        size_t half = left / 2;
        from = heads[from + half - 1] < head ? from + half : from;
        left -= half;
    }
    for (; from < count && heads[from] <= head; from++)
        if (heads[from] == head && text_equal(list[from], text))
            return from;
    return count;
}

struct text word_listed(struct text lower)
{
    size_t at = find(word_heads, words, WORDS, lower);
    return at == WORDS ? (struct text){0} : words[at];
}

unsigned word_known(struct text lower)
{
    size_t at = find(word_heads, words, WORDS, lower);
    return at == WORDS ? 0 : words_are[at];
}

bool words_are_name(struct text first, struct text second)
{
    char name[2 * WORD_LOWER_MAX + 1];
    size_t length = first.length + 1 + second.length;
    assert(length <= sizeof name);
    memcpy(name, first.bytes, first.length);
    name[first.length] = ' ';
    memcpy(name + first.length + 1, second.bytes, second.length);
    return find(name_heads, names, NAMES, (struct text){name, length}) < NAMES;
}
