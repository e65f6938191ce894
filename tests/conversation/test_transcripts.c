/* Whole sessions from tests/sessions: what a person types, and what must appear before they do.
 *
 *     # a comment                          > typed line          (an empty > is Enter)
 *     < words that must be told            ! end, interrupt, stop, resume, fail APPEND
 *     - words that must not be told        = completed, paused, left open, failed
 *     + name                               the lines of tests/sessions/name.part
 *
 * `<` lines are looked for in order in what was told since the last `>`; `-` in all of it. */
#include "support/fake_ports.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

struct script {
    struct text rest;
    unsigned line;
    const char *path;
    size_t told_from; /* what was told since the last line typed */
    size_t cursor;
    bool has_failed;
};

static void complain(struct fake *fake, const char *what, struct text line)
{
    struct script *script = fake->own;
    struct text told = page_text(&fake->told);
    if (!script->has_failed)
        (void)fprintf(stderr, "%s:%u: %s: %.*s\n--- told since the last answer:\n%.*s---\n",
                      script->path, script->line, what, (int)line.length, line.bytes,
                      (int)(told.length - script->told_from), told.bytes + script->told_from);
    script->has_failed = true;
}

static bool next_line(struct script *script, struct text *line)
{
    if (!text_cut(&script->rest, '\n', line))
        return false;
    script->line++;
    return true;
}

static struct text told_after(const struct fake *fake, size_t from)
{
    struct text told = page_text(&fake->told);
    return text_slice(told, from, told.length);
}

static void expect_told(struct fake *fake, struct text words)
{
    struct script *script = fake->own;
    struct text rest = told_after(fake, script->cursor);
    size_t at = text_find(rest, words);
    if (at == rest.length)
        complain(fake, "was not told", words);
    else
        script->cursor += at + words.length;
}

static void expect_untold(struct fake *fake, struct text words)
{
    struct script *script = fake->own;
    struct text rest = told_after(fake, script->told_from);
    if (text_find(rest, words) < rest.length)
        complain(fake, "was told", words);
}

static void include(struct fake *fake, struct text name)
{
    struct script *script = fake->own;
    struct text path = text_fill(&fake->arena, "tests/sessions/{}.part", name);
    struct text part = fake_read_file(&fake->arena, text_terminated(&fake->arena, path));
    script->rest = text_fill(&fake->arena, "{}{}", part, script->rest);
}

/* Looks at what must have been told up to the next thing that happens; false at the end. */
static bool look(struct fake *fake, char *what, struct text *words)
{
    struct script *script = fake->own;
    struct text line;
    while (next_line(script, &line)) {
        if (line.length == 0 || line.bytes[0] == '#')
            continue;
        *what = line.bytes[0];
        *words = text_trim(text_slice(line, 1, line.length));
        if (*what == '+')
            include(fake, *words);
        else if (*what == '<')
            expect_told(fake, *words);
        else if (*what == '-')
            expect_untold(fake, *words);
        else
            return true;
    }
    return false;
}

static bool answer_from_script(struct fake *fake, const struct prompt *prompt,
                               struct answer *answer, struct arena *scratch)
{
    struct script *script = fake->own;
    struct text words;
    char what = '\0';
    if (prompt->kind == PROMPT_WAIT && prompt->wakes_at > fake->now.wall &&
        script->rest.length > 0 && script->rest.bytes[0] == '>') {
        fake->now.steady += prompt->wakes_at - fake->now.wall;
        fake->now.wall = prompt->wakes_at;
        answer->kind = ANSWER_WAKE;
        fake->woke = true;
        return true;
    }
    if (fake->woke) {
        fake->woke = false;
        answer->kind = ANSWER_TYPED;
        return true;
    }
    answer->kind = ANSWER_END;
    if (script->has_failed)
        return true;
    if (!look(fake, &what, &words) || (what != '>' && what != '!')) {
        complain(fake, "asked, and nothing is typed", prompt->question);
        return true;
    }
    script->told_from = script->cursor = fake->told.length;
    if (what == '>') {
        answer->kind = ANSWER_TYPED;
        answer->typed = text_copy(scratch, words);
    } else if (text_equal(words, TEXT("interrupt"))) {
        answer->kind = ANSWER_INTERRUPT;
    } else if (text_equal(words, TEXT("stop"))) {
        answer->kind = ANSWER_STOP;
    } else if (text_equal(words, TEXT("gone"))) {
        return false;
    } else if (text_equal(words, TEXT("wait"))) {
        answer->kind = ANSWER_WAKE;
        if (prompt->wakes_at > fake->now.wall) {
            fake->now.steady += prompt->wakes_at - fake->now.wall;
            fake->now.wall = prompt->wakes_at;
        }
    } else if (text_equal(words, TEXT("fail"))) {
        fake->fail_at = fake->appends + 1;
        return answer_from_script(fake, prompt, answer, scratch);
    } else if (!text_equal(words, TEXT("end"))) {
        complain(fake, "does not happen", words);
    }
    return true;
}

static struct text end_words(enum session_end end)
{
    switch (end) {
    case SESSION_COMPLETED:
        return TEXT("completed");
    case SESSION_LEFT_OPEN:
        return TEXT("left open");
    case SESSION_PAUSED:
        return TEXT("paused");
    case SESSION_WORLD_FAILED:
        break;
    }
    return TEXT("failed");
}

static void run_script(const char *path)
{
    struct fake *fake =
        fake_open("tests/sessions/pressure_check.yaml", "tests/sessions/machine.yaml");
    struct script script = {.rest = fake_read_file(&fake->arena, path), .path = path};
    struct text words;
    char what = '\0';
    fake->own = &script;
    fake->answer = answer_from_script;
    enum session_end end = fake_start(fake);
    while (!script.has_failed && look(fake, &what, &words)) {
        if (what == '=' && !text_equal(words, end_words(end)))
            complain(fake, "did not end so", words);
        if (what == '=')
            continue;
        if (what != '!' || !text_equal(words, TEXT("resume"))) {
            complain(fake, "the session is over, but there is", words);
            break;
        }
        script.told_from = script.cursor = fake->told.length;
        fake->fail_at = 0;
        fake->now.wall += 2 * 3600 * 1000;
        fake->now.steady += 2 * 3600 * 1000;
        end = fake_resume(fake);
    }
    assert_false(script.has_failed);
    fake_close(fake);
}

#define SESSION(name)                                                                          \
    static void name(void **state)                                                             \
    {                                                                                          \
        (void)state;                                                                           \
        run_script("tests/sessions/" #name ".txt");                                            \
    }

SESSION(a_plain_job)
SESSION(a_wrong_unit)
SESSION(an_answer_corrected)
SESSION(a_gate_is_shut)
SESSION(interrupted_and_resumed)
SESSION(a_denial_and_the_step_again)
SESSION(a_hold_point_and_the_end_of_input)
SESSION(the_words)
SESSION(a_full_disk)

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plain_job),
        cmocka_unit_test(a_wrong_unit),
        cmocka_unit_test(an_answer_corrected),
        cmocka_unit_test(a_gate_is_shut),
        cmocka_unit_test(interrupted_and_resumed),
        cmocka_unit_test(a_denial_and_the_step_again),
        cmocka_unit_test(a_hold_point_and_the_end_of_input),
        cmocka_unit_test(the_words),
        cmocka_unit_test(a_full_disk),
    };
    return cmocka_run_group_tests_name("conversation/transcripts", tests, NULL, NULL);
}
