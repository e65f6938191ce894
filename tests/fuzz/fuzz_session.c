/* Bytes are lines typed into a session over a fixed small procedure.  Whatever is typed, the session
 * must end, and what it recorded must make the same job again. */
#include "support/fake_ports.h"

struct typing {
    const uint8_t *data;
    size_t size, at;
    size_t asked;
};

enum { ASKED_MAX = 3000 };

/* Some bytes stand for what no keyboard types. */
static bool answer_from_bytes(struct fake *fake, const struct prompt *prompt,
                              struct answer *answer, struct arena *scratch)
{
    struct typing *typing = fake->own;
    answer->kind = ANSWER_END;
    if (typing->asked++ > ASKED_MAX || typing->at >= typing->size)
        return true;
    uint8_t first = typing->data[typing->at];
    if (first == 0x01 || first == 0x02 || first == 0x03) {
        typing->at++;
        answer->kind = first == 0x01 ? ANSWER_INTERRUPT : ANSWER_WAKE;
        if (first == 0x03 && prompt->wakes_at > fake->now.wall) {
            fake->now.steady += prompt->wakes_at - fake->now.wall;
            fake->now.wall = prompt->wakes_at;
        }
        return true;
    }
    size_t end = typing->at;
    while (end < typing->size && typing->data[end] != '\n')
        end++;
    struct text line = {(const char *)typing->data + typing->at, end - typing->at};
    typing->at = end + 1;
    answer->kind = ANSWER_TYPED;
    /* The console checks at the door: what is no sound text never comes in. */
    answer->typed = text_check(line, NULL) == TEXT_SOUND ? text_copy(scratch, line) : TEXT("?");
    return true;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* The files are read once; whatever a session leaves is taken back before the next. */
static struct fake *opened_anew(void)
{
    static struct fake *fake;
    static struct arena_mark mark;
    if (fake == NULL) {
        fake = fake_open("tests/sessions/pressure_check.yaml", "tests/sessions/machine.yaml");
        mark = arena_mark(&fake->arena);
    }
    arena_rewind(&fake->arena, mark);
    fake->event_count = 0;
    fake->appends = 0;
    fake->ranked = 0; /* what was ranked lay in the arena */
    fake->now = (struct instant){1774944000000, 1000, TEXT("boot")};
    page_begin(&fake->told, &fake->arena);
    fake_begin_job(fake);
    return fake;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct typing typing = {.data = data, .size = size};
    struct fake *fake = opened_anew();
    fake->own = &typing;
    fake->answer = answer_from_bytes;
    if (fake_start(fake) == SESSION_PAUSED) {
        typing.at = 0;
        (void)fake_resume(fake);
    }
    size_t count = 0;
    (void)job_events(fake->session.job, &count);
    if (count != fake->event_count)
        abort();
    fake_begin_job(fake);
    for (size_t i = 0; i < fake->event_count; i++)
        job_apply(fake->session.job, &fake->events[i]);
    return 0;
}
