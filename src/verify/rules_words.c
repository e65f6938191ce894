#include "verify/rules_words.h"

#include "verify/rules_vocabulary.h"

/* --- what is known --------------------------------------------------------------------------- */

static const struct hazard hazards[] = {
#define HAZARD(verb, objects, unless, activities)                                              \
    {TEXT_CONSTANT(verb), TEXT_CONSTANT(objects), TEXT_CONSTANT(unless),                       \
     TEXT_CONSTANT(activities)},
#include "verify/rules_hazard_list.h"
#undef HAZARD
};
enum { HAZARDS = sizeof hazards / sizeof *hazards };

struct text word_lower(const struct word *word)
{
    return (struct text){word->lower, word->length};
}

static struct text without_plural(struct text word)
{
    if (word.length > 3 && word.bytes[word.length - 1] == 's')
        word.length--;
    return word;
}

bool word_same(const struct word *a, const struct word *b)
{
    return a->length > 0 && b->length > 0 &&
           text_equal(without_plural(word_lower(a)), without_plural(word_lower(b)));
}

/* Are they, in this order, the name of something: "drain plug"? */
static bool is_name_of_two(const struct word *first, const struct word *second)
{
    return first->length > 0 && second->length > 0 &&
           words_are_name(word_lower(first), without_plural(word_lower(second)));
}

/* --- cutting ----------------------------------------------------------------------------------- */

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* A point or comma between digits belongs to the number. */
static bool is_inside_number(struct text text, size_t at)
{
    return at > 0 && at + 1 < text.length && (text.bytes[at] == '.' || text.bytes[at] == ',') &&
           is_digit(text.bytes[at - 1]) && is_digit(text.bytes[at + 1]);
}

static size_t blank_end(struct text text, size_t at)
{
    const char *end = memchr(text.bytes + at, '}', text.length - at);
    return end == NULL ? text.length : (size_t)(end - text.bytes) + 1;
}

/* As a word has it in small letters; 0: it is none of a word's letters. */
static char small_letter(char c)
{
    if ((c >= 'a' && c <= 'z') || is_digit(c) || (unsigned char)c >= 0x80)
        return c;
    return (char)(c >= 'A' && c <= 'Z' ? c + ('a' - 'A') : '\0');
}

/* The byte length of what stands there in a word and is no letter: - ' and the typographer's
 * apostrophe. */
static size_t joint_at(struct text text, size_t at)
{
    static const struct text apostrophe = TEXT_CONSTANT("\u2019");
    char c = text.bytes[at];
    if (c == '-' || c == '\'')
        return 1;
    bool is_far = (unsigned char)c >= 0x80;
    return is_far && text_starts(text_slice(text, at, text.length), apostrophe)
               ? apostrophe.length
               : 0;
}

static bool begins_word(char c)
{
    return small_letter(c) != '\0' || c == '-' || c == '\'';
}

/* Where the word that begins at `from` ends.  Its small letters come into `room`, which holds as
 * many bytes as the word; one that is too long has none. */
static size_t cut_word(struct text text, size_t from, char *room, size_t *length)
{
    size_t at = from, letters = 0;
    while (at < text.length) {
        char letter = small_letter(text.bytes[at]);
        bool is_plain = letter != '\0' && (unsigned char)letter < 0x80;
        size_t joint = is_plain ? 0 : joint_at(text, at);
        at += joint;
        if (joint > 0)
            continue;
        if (letter == '\0' && !is_inside_number(text, at))
            break;
        room[letters++] = letter == '\0' ? text.bytes[at] : letter;
        at++;
    }
    *length = letters <= WORD_LOWER_MAX ? letters : 0;
    return at;
}

static size_t take_word(struct words *words, struct text text, size_t from, char *room)
{
    struct word *word = &words->items[words->count++];
    bool is_blank = text.bytes[from] == '{';
    size_t length = 0;
    size_t end = is_blank ? blank_end(text, from) : cut_word(text, from, room, &length);
    word->text = text_slice(text, from, end);
    word->is_value = is_blank || is_digit(text.bytes[from]);
    if (!word->is_value) {
        word->lower = room;
        word->length = (unsigned char)length;
        word->is = word_known(word_lower(word));
    }
    return end;
}

enum { DASH = 3 }; /* bytes */

static bool is_dash(struct text text, size_t at)
{
    if ((unsigned char)text.bytes[at] < 0x80)
        return false;
    struct text rest = text_slice(text, at, text.length);
    return text_starts(rest, TEXT("\u2013")) || text_starts(rest, TEXT("\u2014"));
}

/* How much a mark parts: 2 a sentence, 1 a clause, 0 nothing. */
static unsigned mark_of(char c)
{
    return c == '.' || c == ';' || c == '!' || c == '?' ? 2 : c == ',' || c == ':' ? 1 : 0;
}

static void look_at_neighbours(struct words *words)
{
    for (size_t i = 0; i + 1 < words->count; i++) {
        struct word *word = &words->items[i];
        bool is_manner = word->opens && text_ends(word_lower(word), TEXT("ly"));
        if ((word->is & IS_JOIN) != 0 || is_manner)
            words->items[i + 1].opens = true;
        if ((word->is & IS_NOUN) != 0 && is_name_of_two(word, word + 1))
            word->is &= ~(unsigned)(IS_VERB | IS_CHECK | IS_HAZARD);
    }
}

struct words words_of(struct text text, struct arena *scratch)
{
    struct words words = {.items = arena_array(scratch, struct word, text.length / 2 + 1)};
    char *room = arena_array(scratch, char, text.length);
    unsigned mark = 2;
    for (size_t at = 0; at < text.length;) {
        char c = text.bytes[at];
        bool is_blank = c == '{' && at + 1 < text.length && text.bytes[at + 1] != '{';
        if (!is_blank && !begins_word(c)) {
            mark = mark_of(c) > mark ? mark_of(c) : mark;
            at++;
            continue;
        }
        if (is_dash(text, at)) {
            mark = mark > 1 ? mark : 1;
            at += DASH;
            continue;
        }
        at = take_word(&words, text, at, room + at);
        words.items[words.count - 1].opens = mark > 0;
        words.items[words.count - 1].opens_sentence = mark > 1;
        mark = 0;
    }
    look_at_neighbours(&words);
    return words;
}

/* --- forms of a verb ---------------------------------------------------------------------------- */

static bool is_verb(const char *bytes, size_t length, struct text *verb)
{
    *verb = word_listed((struct text){bytes, length});
    return (word_known(*verb) & IS_VERB) != 0;
}

/* The stem as it is, with an e, with its doubled letter once, with y for i. */
static bool is_stem(struct text stem, struct text *verb)
{
    char other[WORD_LOWER_MAX + 1];
    if (stem.length < 2)
        return false;
    memcpy(other, stem.bytes, stem.length);
    other[stem.length] = 'e';
    if (is_verb(stem.bytes, stem.length, verb) || is_verb(other, stem.length + 1, verb))
        return true;
    char last = other[stem.length - 1];
    if (last == other[stem.length - 2] && is_verb(other, stem.length - 1, verb))
        return true;
    other[stem.length - 1] = 'y';
    return last == 'i' && is_verb(other, stem.length, verb);
}

struct text word_verb(const struct word *word)
{
    static const char *const endings[] = {"ing", "ed", "es", "s", "d"};
    struct text lower = word_lower(word), verb;
    if (word->length == 0)
        return (struct text){0};
    if (is_verb(lower.bytes, lower.length, &verb))
        return verb;
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        struct text ending = text_from(endings[i]);
        if (lower.length > ending.length + 1 && text_ends(lower, ending) &&
            is_stem(text_slice(lower, 0, lower.length - ending.length), &verb))
            return verb;
    }
    return (struct text){0};
}

bool word_is_order(const struct words *words, size_t at)
{
    const struct word *word = &words->items[at];
    if (!word->opens || (word->is & IS_VERB) == 0)
        return false;
    if ((word->is & IS_NOUN) == 0)
        return true;
    if (at + 1 == words->count)
        return false;
    const struct word *next = word + 1;
    return !next->opens && (next->is_value || (next->is & IS_DETERMINER) != 0);
}

/* --- hazards ------------------------------------------------------------------------------------- */

/* How many words from `at` on are the wanted ones, which `_` joins; 0: they are not. */
static size_t count_at(const struct words *words, size_t at, struct text wanted)
{
    struct text part;
    size_t count = 0;
    while (text_cut(&wanted, '_', &part)) {
        size_t next = at + count++;
        if (next >= words->count ||
            !text_equal(without_plural(word_lower(&words->items[next])), part))
            return 0;
    }
    size_t last = at + count - 1;
    bool is_alone = last + 1 == words->count || words->items[last + 1].opens ||
                    !is_name_of_two(&words->items[last], &words->items[last + 1]);
    return is_alone ? count : 0;
}

static size_t count_any_at(const struct words *words, size_t at, struct text list)
{
    struct text wanted;
    struct text lower = word_lower(&words->items[at]);
    while (text_cut(&list, ' ', &wanted)) {
        if (lower.length == 0 || lower.bytes[0] != wanted.bytes[0])
            continue; /* as nearly always: not even the first letter */
        size_t count = count_at(words, at, wanted);
        if (count > 0)
            return count;
    }
    return 0;
}

/* The last word of what the verb is done to; words->count if it is not named.  A preposition ends
 * the search: "run a cloth along the engine" does not run the engine. */
static size_t find_object(const struct words *words, size_t verb, const struct hazard *hazard)
{
    enum { REACH = 5 };
    if (hazard->objects.length == 0)
        return verb;
    bool is_adjacent = hazard->objects.bytes[0] == '~';
    struct text objects = text_slice(hazard->objects, is_adjacent, hazard->objects.length);
    for (size_t i = verb + 1; i < words->count && i <= verb + REACH; i++) {
        const struct word *word = &words->items[i];
        if (word->opens)
            break;
        size_t count = count_any_at(words, i, objects);
        if (count > 0)
            return i + count - 1;
        bool ends = is_adjacent ? (word->is & IS_SMALL) == 0 : (word->is & IS_PREPOSITION) != 0;
        if (ends)
            break;
    }
    return words->count;
}

static bool is_excused(const struct words *words, size_t verb, struct text unless)
{
    if (unless.length == 0)
        return false;
    for (size_t i = verb + 1; i < words->count && !words->items[i].opens_sentence; i++)
        if (count_any_at(words, i, unless) > 0)
            return true;
    return false;
}

/* Is the word there told as something done? */
static bool is_done_at(const struct words *words, size_t at)
{
    const struct word *word = &words->items[at];
    if (word->opens_sentence || word_is_order(words, at))
        return true;
    if (word->opens)
        return at + 1 < words->count && (words->items[at + 1].is & IS_SMALL) != 0;
    return at > 0 && text_equal(word_lower(word - 1), TEXT("to"));
}

/* "while cranking", "by turning": done in the same breath. */
static bool is_meanwhile_at(const struct words *words, size_t at)
{
    static const char *const before[] = {"while", "by", "keep"};
    if (at == 0 || !text_ends(word_lower(&words->items[at]), TEXT("ing")))
        return false;
    for (size_t i = 0; i < sizeof before / sizeof *before; i++)
        if (text_equal(word_lower(&words->items[at - 1]), text_from(before[i])))
            return true;
    return false;
}

static struct text hazard_verb_at(const struct words *words, size_t at)
{
    if ((words->items[at].is & IS_HAZARD) != 0 && is_done_at(words, at))
        return word_lower(&words->items[at]);
    if (is_meanwhile_at(words, at))
        return word_verb(&words->items[at]);
    return (struct text){0};
}

void words_hazards(const struct words *words, struct text whole,
                   void (*visit)(void *self, const struct hazard *hazard, struct text phrase),
                   void *self)
{
    for (size_t i = 0; i < words->count; i++) {
        struct text verb = hazard_verb_at(words, i);
        for (size_t h = 0; verb.length > 0 && h < HAZARDS; h++) {
            const struct hazard *hazard = &hazards[h];
            if (!text_equal(hazard->verb, verb))
                continue;
            size_t object = find_object(words, i, hazard);
            if (object == words->count || is_excused(words, i, hazard->unless))
                continue;
            struct text last = words->items[object].text;
            size_t from = (size_t)(words->items[i].text.bytes - whole.bytes);
            size_t to = (size_t)(last.bytes - whole.bytes) + last.length;
            visit(self, hazard, text_slice(whole, from, to));
        }
    }
}
