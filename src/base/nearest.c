#include "base/text.h"

/* Longer words are not names anybody mistyped by a letter or two. */
enum { LONGEST_WORD = 48 };

struct word {
    unsigned character[LONGEST_WORD];
    unsigned length;
};

static bool word_from(struct text spelt, struct word *word)
{
    word->length = 0;
    for (size_t at = 0; at < spelt.length;) {
        if (word->length == LONGEST_WORD)
            return false;
        unsigned character;
        at += text_character(spelt, at, &character);
        bool is_capital = character >= 'A' && character <= 'Z';
        word->character[word->length++] = is_capital ? character - 'A' + 'a' : character;
    }
    return true;
}

static unsigned least(unsigned a, unsigned b)
{
    return a < b ? a : b;
}

/* How many letters must be put in, left out, changed, or swapped with a neighbour: the
 * restricted Damerau-Levenshtein distance, in three rows. */
static unsigned distance(const struct word *a, const struct word *b)
{
    unsigned rows[3][LONGEST_WORD + 1];
    for (unsigned j = 0; j <= b->length; j++)
        rows[0][j] = j;
    for (unsigned i = 1; i <= a->length; i++) {
        unsigned *row = rows[i % 3];
        const unsigned *above = rows[(i - 1) % 3];
        row[0] = i;
        for (unsigned j = 1; j <= b->length; j++) {
            bool is_same = a->character[i - 1] == b->character[j - 1];
            row[j] = least(above[j - 1] + !is_same, 1 + least(above[j], row[j - 1]));
            if (i > 1 && j > 1 && a->character[i - 1] == b->character[j - 2] &&
                a->character[i - 2] == b->character[j - 1])
                row[j] = least(row[j], rows[(i - 2) % 3][j - 2] + 1);
        }
    }
    return rows[a->length % 3][b->length];
}

/* A third of a word may be wrong; of a word of two letters, one. */
static unsigned distance_allowed(unsigned length)
{
    return length < 2 ? 0 : length <= 5 ? 1 : length <= 8 ? 2 : 3;
}

struct text text_nearest(struct text wanted, const struct text *candidates, size_t count)
{
    struct text nearest = {0};
    struct word word;
    if (!word_from(wanted, &word))
        return nearest;
    unsigned allowed = distance_allowed(word.length);
    for (size_t i = 0; i < count; i++) {
        struct word other;
        if (!word_from(candidates[i], &other))
            continue;
        unsigned difference = other.length > word.length ? other.length - word.length
                                                         : word.length - other.length;
        if (difference > allowed)
            continue;
        unsigned apart = distance(&word, &other);
        if (apart <= allowed) {
            nearest = candidates[i];
            if (apart == 0)
                break;
            allowed = apart - 1;
        }
    }
    return nearest;
}
