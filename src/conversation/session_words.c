#include "job/look.h"
#include "job/say.h"
#include "sitting.h"

typedef void word_fn(struct sitting *sitting, const struct prompt *prompt,
                     struct text argument);

static word_fn do_why, do_where, do_kit, do_note, do_photo, do_amend, do_skip, do_pause,
    do_makesafe, do_help;

/* In the order help shows them. */
static const struct {
    struct session_word word;
    word_fn *act;
} words[] = {
    {{"why", "", "the reason for this step"}, do_why},
    {{"where", "", "how far, what is out of its normal state, what comes next"}, do_where},
    {{"kit", "", "tools, parts and materials to lay out"}, do_kit},
    {{"note", "TEXT", "write something down"}, do_note},
    {{"photo", "FILE", "keep a picture with this step"}, do_photo},
    {{"amend", "", "correct an earlier answer; the old one is kept"}, do_amend},
    {{"skip", "REASON", "leave an ordinary step out; it then counts for nothing"}, do_skip},
    {{"pause", "", "stop here and go on later"}, do_pause},
    {{"makesafe", "", "what is out, and the order to put it right"}, do_makesafe},
    {{"help", "", "this list"}, do_help},
};
enum { WORD_COUNT = sizeof words / sizeof *words };

bool session_word_at(size_t i, struct session_word *word)
{
    if (i >= WORD_COUNT)
        return false;
    *word = words[i].word;
    return true;
}

/* --- looking ------------------------------------------------------------------------------ */

/* What was told has moved up the screen; the step is told again before it is asked about, so that a
 * warning never scrolls away from its action. */
static void back_to_the_step(struct sitting *sitting)
{
    present_forget(&sitting->talk);
}

static void do_why(struct sitting *sitting, const struct prompt *prompt, struct text argument)
{
    (void)argument;
    present_why(&sitting->talk, prompt->work, &prompt->spot);
}

static void do_where(struct sitting *sitting, const struct prompt *prompt, struct text argument)
{
    (void)argument;
    present_where(&sitting->talk, prompt, sitting_now(sitting));
    back_to_the_step(sitting);
}

static void do_kit(struct sitting *sitting, const struct prompt *prompt, struct text argument)
{
    (void)argument;
    (void)prompt;
    present_kit(&sitting->talk);
    back_to_the_step(sitting);
}

static void do_help(struct sitting *sitting, const struct prompt *prompt, struct text argument)
{
    struct arena *arena = sitting->session->scratch;
    (void)argument;
    talk_tell(&sitting->talk, TONE_PLAIN,
              prompt->enter_passes ? TEXT("Enter alone means done or read.")
                                   : TEXT("Enter alone passes nothing here."));
    talk_tell(&sitting->talk, TONE_PLAIN,
              TEXT("A choice is given by its number or its words, a value with or without its "
                   "unit: 11.8 or 171 psi. unread REASON leaves a reading out."));
    for (size_t i = 0; i < WORD_COUNT; i++) {
        struct text word = text_from(words[i].word.word);
        if (words[i].word.argument[0] != '\0')
            word = text_fill(arena, "{} {}", word, text_from(words[i].word.argument));
        talk_tell(&sitting->talk, TONE_DETAIL,
                  text_fill(arena, "{}: {}", word, text_from(words[i].word.summary)));
    }
    talk_tell(&sitting->talk, TONE_PLAIN,
              TEXT("Where a text of your own is asked for, put a dot in front: .pause"));
    back_to_the_step(sitting);
}

/* --- writing down ------------------------------------------------------------------------- */

static void do_note(struct sitting *sitting, const struct prompt *prompt, struct text argument)
{
    (void)prompt;
    if (argument.length == 0) {
        talk_tell(&sitting->talk, TONE_REFUSAL,
                  TEXT("Write it behind the word: note the gasket was torn"));
        return;
    }
    struct decision decision = job_note(sitting->session->job, argument, sitting_now(sitting),
                                        sitting->session->scratch);
    if (sitting_take(sitting, &decision) && decision.echo.length == 0)
        talk_tell(&sitting->talk, TONE_ECHO, TEXT("Noted."));
}

static struct text file_name(struct text path)
{
    size_t from = 0;
    for (size_t i = 0; i < path.length; i++)
        if (path.bytes[i] == '/')
            from = i + 1;
    return text_slice(path, from, path.length);
}

/* A window that a file is dropped on types its path in quotes. */
static struct text without_quotes(struct text path)
{
    if (path.length < 2)
        return path;
    char first = path.bytes[0], last = path.bytes[path.length - 1];
    bool is_quoted = first == last && (first == '\'' || first == '"');
    return is_quoted ? text_slice(path, 1, path.length - 1) : path;
}

static void do_photo(struct sitting *sitting, const struct prompt *prompt, struct text argument)
{
    struct session *session = sitting->session;
    struct failure failure = {0};
    struct text bytes = {0};
    (void)prompt;
    argument = text_trim(without_quotes(argument));
    if (argument.length == 0 || session->journal.read_file == NULL) {
        talk_tell(&sitting->talk, TONE_REFUSAL,
                  argument.length == 0 ? TEXT("Name the file behind the word: photo plug3.jpg")
                                       : TEXT("No file can be read here."));
        return;
    }
    if (!session->journal.read_file(session->journal.self, argument, &bytes, session->scratch,
                                    &failure)) {
        talk_tell(&sitting->talk, TONE_REFUSAL,
                  text_fill(session->scratch, "Could not {} {}: {}.", failure.operation,
                            failure.object, failure.reason));
        return;
    }
    struct decision decision = job_attach(session->job, file_name(argument), bytes,
                                          sitting_now(sitting), session->scratch);
    if (sitting_take(sitting, &decision) && decision.echo.length == 0)
        talk_tell(&sitting->talk, TONE_ECHO,
                  text_fill(session->scratch, "Kept: {}, {} bytes.", file_name(argument),
                            text_number(session->scratch, (long long)bytes.length)));
}

static void do_skip(struct sitting *sitting, const struct prompt *prompt, struct text argument)
{
    (void)prompt;
    struct decision decision = job_skip(sitting->session->job, argument, sitting_now(sitting),
                                        sitting->session->scratch);
    if (sitting_take(sitting, &decision) && decision.echo.length == 0)
        talk_tell(
            &sitting->talk, TONE_WARNING,
            TEXT("Skipped. It counts for nothing, and what was proven no longer holds from "
                 "here on."));
}

/* --- correcting --------------------------------------------------------------------------- */

enum { AMENDABLE_SHOWN = 9 };

static void tell_what_is_not_amended(struct sitting *sitting)
{
    talk_tell(&sitting->talk, TONE_DETAIL,
              TEXT("Values are corrected here, and a precaution that is not as you answered: "
                   "then what "
                   "needs it stays shut. A hold point: note how it is, or makesafe."));
}

enum { CHOICE_OLDER = -2 };

/* One page; CHOICE_OLDER if the answer sought is not on it, CHOICE_NONE if there is none. */
static int choose_among(struct sitting *sitting, const unsigned *numbers, size_t count,
                        bool has_older)
{
    struct session *session = sitting->session;
    struct text texts[AMENDABLE_SHOWN + 2];
    for (size_t i = 0; i < count; i++)
        texts[i] = job_event_text(session->job, numbers[i], session->scratch);
    size_t shown = count;
    if (has_older)
        texts[shown++] = TEXT("an older one");
    texts[shown++] = TEXT("nothing, go on");
    int choice =
        sitting_choose(sitting, PROMPT_AMEND, TEXT("amend"),
                       TEXT("Which answer is to be corrected? The newest stands first."),
                       (struct choices){shown, texts});
    if (choice == CHOICE_NONE || (size_t)choice + 1 == shown)
        return CHOICE_NONE;
    return (size_t)choice == count ? CHOICE_OLDER : choice;
}

static unsigned choose_what_to_amend(struct sitting *sitting)
{
    struct session *session = sitting->session;
    const unsigned *numbers = NULL;
    size_t count = job_amendable(session->job, &numbers, session->scratch);
    if (count == 0) {
        talk_tell(&sitting->talk, TONE_REFUSAL, TEXT("There is no value to correct yet."));
        tell_what_is_not_amended(sitting);
        return 0;
    }
    tell_what_is_not_amended(sitting);
    for (size_t from = 0; from < count; from += AMENDABLE_SHOWN) {
        size_t shown = count - from < AMENDABLE_SHOWN ? count - from : AMENDABLE_SHOWN;
        int choice = choose_among(sitting, numbers + from, shown, from + shown < count);
        if (choice != CHOICE_OLDER)
            return choice == CHOICE_NONE ? 0 : numbers[from + (size_t)choice];
    }
    return 0;
}

/* False if the value is not taken, or is to be typed again. */
static bool value_is_meant(struct sitting *sitting, unsigned number, struct text value)
{
    static const struct text texts[] = {{"leave it as it was", 18}, {"keep it", 7}};
    struct session *session = sitting->session;
    bool is_unlikely = false;
    struct decision looked =
        job_amend_look(session->job, number, value, &is_unlikely, session->scratch);
    talk_tell(&sitting->talk, TONE_REFUSAL, looked.refusal);
    if (looked.refusal.length > 0 || !is_unlikely)
        return looked.refusal.length == 0;
    return sitting_choose(sitting, PROMPT_INSIST, TEXT("amended"),
                          text_fill(session->scratch, "{} What now?", looked.echo),
                          (struct choices){2, texts}) == 1;
}

static void nothing_corrected(struct sitting *sitting)
{
    if (!sitting->has_pending)
        talk_tell(&sitting->talk, TONE_PLAIN, TEXT("Nothing was corrected."));
}

static void do_amend(struct sitting *sitting, const struct prompt *prompt, struct text argument)
{
    struct session *session = sitting->session;
    struct text value, reason;
    (void)argument;
    (void)prompt;
    unsigned number = choose_what_to_amend(sitting);
    if (number == 0)
        return;
    back_to_the_step(sitting);
    struct text symbol = job_amend_unit(session->job, number);
    struct text unit =
        symbol.length == 0 ? symbol : text_fill(session->scratch, ", in {}", symbol);
    struct text question = text_fill(
        session->scratch, "{}. What should it be{}? Enter alone leaves it.",
        say_capital(session->scratch, job_event_text(session->job, number, session->scratch)),
        unit);
    if (!sitting_ask_text(sitting, PROMPT_AMEND, TEXT("amended"), question, &value) ||
        !value_is_meant(sitting, number, value)) {
        nothing_corrected(sitting);
        return;
    }
    if (!sitting_ask_text(sitting, PROMPT_REASON, TEXT("reason"),
                          TEXT("Why is it corrected? Enter alone leaves the answer as it was."),
                          &reason)) {
        nothing_corrected(sitting);
        return;
    }
    struct decision decision =
        job_amend(session->job, number, value, reason, sitting_now(sitting), session->scratch);
    if (sitting_take(sitting, &decision) && decision.echo.length == 0)
        talk_tell(&sitting->talk, TONE_ECHO,
                  text_fill(session->scratch, "Corrected: {}. The old answer is kept.",
                            job_event_text(session->job, number, session->scratch)));
}

/* --- stopping ----------------------------------------------------------------------------- */

void words_pause(struct sitting *sitting)
{
    struct decision decision = job_pause(sitting->session->job, PAUSED_ASKED,
                                         sitting_now(sitting), sitting->session->scratch);
    (void)sitting_take(sitting, &decision);
    present_forget(&sitting->talk);
}

static void do_pause(struct sitting *sitting, const struct prompt *prompt, struct text argument)
{
    (void)prompt;
    (void)argument;
    words_pause(sitting);
}

void words_makesafe(struct sitting *sitting)
{
    struct session *session = sitting->session;
    struct text texts[3] = {TEXT("go on with the work")};
    size_t count = 1;
    const struct text *open = NULL;
    bool can_begin =
        !job_is_making_safe(session->job) &&
        job_open_items(session->job, sitting_now(sitting), &open, session->scratch) > 0;
    present_makesafe(&sitting->talk, sitting_now(sitting));
    /* with nothing out there is nothing to make safe */
    if (can_begin)
        texts[count++] = TEXT("make it safe now");
    texts[count++] = TEXT("end the job here, left open");
    struct choices choices = {count, texts};
    int choice =
        sitting_choose(sitting, PROMPT_SHUT, TEXT("makesafe"), TEXT("What now?"), choices);
    present_forget(&sitting->talk);
    if (choice <= 0)
        return;
    struct decision decision =
        choice == 1 && can_begin
            ? job_begin_makesafe(session->job, sitting_now(sitting), session->scratch)
            : job_end(session->job, sitting_now(sitting), session->scratch);
    (void)sitting_take(sitting, &decision);
}

static void do_makesafe(struct sitting *sitting, const struct prompt *prompt,
                        struct text argument)
{
    (void)prompt;
    (void)argument;
    words_makesafe(sitting);
}

/* --- which word --------------------------------------------------------------------------- */

static bool is_a_choice(const struct choices *choices, struct text typed)
{
    for (size_t i = 0; i < choices->count; i++)
        if (text_equal_folded(choices->texts[i], text_trim(typed)))
            return true;
    return false;
}

/* A word and what stands behind it; the dot in front is taken off. */
static struct text first_word(struct text typed, struct text *argument, bool *has_dot)
{
    struct text rest = text_trim(typed);
    size_t end = 0;
    *has_dot = rest.length > 0 && rest.bytes[0] == '.';
    if (*has_dot)
        rest = text_slice(rest, 1, rest.length);
    while (end < rest.length && rest.bytes[end] != ' ' && rest.bytes[end] != '\t')
        end++;
    *argument = text_trim(text_slice(rest, end, rest.length));
    return text_slice(rest, 0, end);
}

bool words_take(struct sitting *sitting, const struct prompt *prompt, struct text typed)
{
    struct text argument;
    bool has_dot = false;
    struct text word = first_word(typed, &argument, &has_dot);
    if (!has_dot && (prompt->is_free_text || is_a_choice(&prompt->choices, typed)))
        return false;
    for (size_t i = 0; i < WORD_COUNT; i++) {
        if (!text_equal_folded(text_from(words[i].word.word), word))
            continue;
        /* `where was it` is no command: words without an argument stand alone. */
        if (words[i].word.argument[0] == '\0' && argument.length > 0)
            return false;
        words[i].act(sitting, prompt, argument);
        return true;
    }
    return false;
}

/* What people type who do not know the words yet. */
static const struct {
    const char *typed, *hint;
} guesses[] = {
    {"done", "Enter alone says that."},
    {"ok", "Enter alone says that."},
    {"yes", "Enter alone says that."},
    {"next", "Enter alone says that."},
    {"quit", "pause stops here; nothing is lost."},
    {"exit", "pause stops here; nothing is lost."},
    {"stop", "pause stops here; nothing is lost."},
    {"end", "pause stops here; makesafe puts things right first."},
    {"abort", "pause stops here; makesafe puts things right first."},
    {"back", "amend corrects an earlier answer."},
    {"undo", "amend corrects an earlier answer."},
    {"card", "The card is for later: pause, then banksman card."},
    {"jobs", "The list is for later: pause, then banksman jobs."},
    {"resume", "The work is going on already."},
    {"start", "The work is going on already."},
};
enum { GUESS_COUNT = sizeof guesses / sizeof *guesses };

/* A guess that Enter would answer is one only where Enter passes. */
static struct text guess_hint(const struct prompt *prompt, struct text word)
{
    const struct text enter = TEXT("Enter alone");
    for (size_t i = 0; i < GUESS_COUNT; i++) {
        struct text hint = text_from(guesses[i].hint);
        if (text_equal_folded(text_from(guesses[i].typed), word) &&
            (prompt->enter_passes || !text_starts(hint, enter)))
            return hint;
    }
    return (struct text){0};
}

/* Which word was meant, or what to do instead; empty if nobody knows. */
static struct text hint_for(struct sitting *sitting, const struct prompt *prompt,
                            struct text typed)
{
    struct text argument;
    bool has_dot = false;
    struct text candidates[WORD_COUNT];
    struct text word = first_word(typed, &argument, &has_dot);
    struct text hint = guess_hint(prompt, word);
    if (hint.length > 0)
        return hint;
    for (size_t i = 0; i < WORD_COUNT; i++)
        candidates[i] = text_from(words[i].word.word);
    struct text nearest = text_nearest(word, candidates, WORD_COUNT);
    if (nearest.length == 0)
        return (struct text){0};
    return text_fill(sitting->session->scratch, "Did you mean {}{}?",
                     has_dot ? TEXT(".") : TEXT(""), nearest);
}

/* What Enter alone says here, where it says something. */
static struct text enter_words(const struct prompt *prompt)
{
    if (prompt->kind == PROMPT_WARNING)
        return TEXT("Enter alone means it is read.");
    return prompt->kind == PROMPT_WAIT ? TEXT("Enter alone looks at the clock again.")
                                       : TEXT("Enter alone means it is done.");
}

void words_refuse(struct sitting *sitting, const struct prompt *prompt, struct text typed)
{
    struct arena *arena = sitting->session->scratch;
    struct text hint = hint_for(sitting, prompt, typed);
    struct text said = text_fill(arena, "'{}' is no word that is known here.", typed);
    if (text_starts(hint, TEXT("Enter alone")))
        hint = (struct text){0}; /* as is said anyway */
    if (hint.length > 0)
        said = text_fill(arena, "{} {}", said, hint);
    talk_tell(&sitting->talk, TONE_REFUSAL,
              text_fill(arena, "{} {} help lists the words.", said, enter_words(prompt)));
}

void words_hint(struct sitting *sitting, const struct prompt *prompt, struct text typed)
{
    struct text hint = hint_for(sitting, prompt, typed);
    if (hint.length > 0)
        talk_tell(&sitting->talk, TONE_ECHO,
                  text_fill(sitting->session->scratch, "{} help lists the words.", hint));
}

static bool has_only_letters(struct text word)
{
    for (size_t i = 0; i < word.length; i++)
        if ((word.bytes[i] < 'a' || word.bytes[i] > 'z') &&
            (word.bytes[i] < 'A' || word.bytes[i] > 'Z'))
            return false;
    return word.length > 0;
}

/* `.paus` where a text is asked for is a word misspelt, not a text. */
bool words_refuse_dotted(struct sitting *sitting, const struct prompt *prompt,
                         struct text typed)
{
    struct arena *arena = sitting->session->scratch;
    struct text argument;
    bool has_dot = false;
    struct text word = first_word(typed, &argument, &has_dot);
    if (!prompt->is_free_text || !has_dot || !has_only_letters(word) ||
        text_equal_folded(word, TEXT("unread")))
        return false;
    struct text said = text_fill(arena, "'.{}' is no word that is known here.", word);
    struct text hint = hint_for(sitting, prompt, typed);
    if (hint.length > 0)
        said = text_fill(arena, "{} {}", said, hint);
    talk_tell(
        &sitting->talk, TONE_REFUSAL,
        text_fill(arena, "{} .help lists the words; without the dot it is a text.", said));
    return true;
}
