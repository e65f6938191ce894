/* The ranking shares one search among all steps and carries harm back along the ways.  Here each step
 * has a search of its own that stops at nothing, and the worst that it meets must be the same. */
#include "proven.h"
#include "safety/shipped.h"
#include "verify/search.h"

#include <string.h>

struct alone {
    bool has_met;
    enum signal worst;
};

static void meet(void *self, const struct fault *fault)
{
    struct alone *alone = self;
    enum signal signal = SIGNAL_NOTICE;
    bool is_gate = fault->kind == FAULT_NEED || fault->kind == FAULT_FORBIDDEN ||
                   fault->kind == FAULT_REQUIRES;
    if (is_gate && fault->work->step != NULL)
        for (size_t i = 0; i < fault->work->step->message_count; i++)
            if (fault->work->step->messages[i].signal > signal)
                signal = fault->work->step->messages[i].signal;
    if (!alone->has_met || signal > alone->worst)
        alone->worst = signal;
    alone->has_met = true;
}

static bool is_never_enough(void *self)
{
    (void)self;
    return false;
}

static void lead(void *self, int from, int to)
{
    (void)self;
    (void)from;
    assert_int_not_equal(to, STATE_NONE);
}

static struct alone leave_out(const struct procedure *procedure, const struct work *work,
                              struct arena *scratch)
{
    struct alone alone = {.has_met = false};
    const struct search_listener listener = {&alone, meet, is_never_enough, lead};
    struct program program = program_of(procedure, (struct omission){0}, scratch);
    struct search *search = arena_new(scratch, struct search);
    search_all(search, &program, false, RANKING_STATES_MAX);
    size_t sound = search->table.count;
    search->listener = &listener;
    for (int number = 0; (size_t)number < sound; number++) {
        struct state_record *record = state_at(&search->table, number);
        const struct place_in_work *place = &program.places[record->place];
        if (place->kind != PLACE_STEP || place->work != work)
            continue;
        for (size_t i = 0; i < program.layout.words; i++)
            search->after[i] = state_bits(record)[i] & ~place->forgets[i];
        if (place->once_bit != MASK_NO_BIT)
            masks_set_bit(search->after, place->once_bit);
        struct fault fault = {.state = number};
        bool is_new;
        (void)search_reach(search, place->next[WAY_YES], &fault, &is_new);
    }
    for (size_t number = sound; number < search->table.count; number++)
        search_on_from(search, (int)number);
    return alone;
}

static const struct critical_step *ranked(const struct ranking *ranking,
                                          const struct work *work)
{
    for (size_t i = 0; i < ranking->count; i++)
        if (ranking->steps[i].work == work)
            return &ranking->steps[i];
    return NULL;
}

static size_t compare(const struct procedure *procedure, const struct ranking *ranking,
                      struct arena *scratch)
{
    size_t compared = 0;
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct work *work = procedure->works[i];
        const struct step *step = work->step;
        if (step == NULL || step->sets_count + step->clears_count + step->refits_count == 0)
            continue;
        struct arena_mark mark = arena_mark(scratch);
        struct alone alone = leave_out(procedure, work, scratch);
        arena_rewind(scratch, mark);
        const struct critical_step *critical = ranked(ranking, work);
        if (alone.has_met != (critical != NULL) ||
            (critical != NULL && critical->harm != alone.worst))
            fail_msg("%.*s, %.*s: alone %d, ranked %d", (int)procedure->name.length,
                     procedure->name.bytes, (int)step->name.length, step->name.bytes,
                     alone.has_met ? (int)alone.worst : -1,
                     critical != NULL ? (int)critical->harm : -1);
        compared++;
    }
    return compared;
}

static void every_step_that_ships_hangs_as_much_in_a_search_of_its_own(void **state)
{
    (void)state;
    struct shipped shipped;
    shipped_open(&shipped);
    size_t compared = 0;
    for (size_t i = 0; i < shipped.count; i++) {
        struct ranking ranking = verify_critical_steps(shipped.procedures[i], NULL,
                                                       &shipped.arena, &shipped.scratch);
        assert_int_equal(ranking.unranked_count, 0);
        compared += compare(shipped.procedures[i], &ranking, &shipped.scratch);
    }
    shipped_close(&shipped);
    assert_true(compared > 100);
}

/* At a step that the machine never comes to nobody is hurt. */
static void what_is_ruled_out_hurts_nobody(void **state)
{
    (void)state;
    struct proven proven;
    proven_begin(&proven, "conditions: {a: {}}\n",
                 "  - {step: shut, do: Shut it off., sets: [a]}\n"
                 "  - {step: pinch, do: Turn it by hand., needs: [a], caution: It pinches.}\n"
                 "  - {step: crank, do: Crank it., needs: [a], danger: It can catch fire.}\n");
    bool *is_ruled_out = arena_array(&proven.arena, bool, proven.procedure->work_count);
    is_ruled_out[procedure_find_step(proven.procedure, TEXT("crank"))->id] = true;
    struct ranking ranking =
        verify_critical_steps(proven.procedure, is_ruled_out, &proven.arena, &proven.scratch);
    assert_int_equal(ranking.count, 1);
    assert_int_equal(ranking.steps[0].harm, SIGNAL_CAUTION);
    is_ruled_out[procedure_find_step(proven.procedure, TEXT("pinch"))->id] = true;
    ranking =
        verify_critical_steps(proven.procedure, is_ruled_out, &proven.arena, &proven.scratch);
    assert_int_equal(ranking.count, 0);
    proven_end(&proven);
}

/* In an arena too small to follow every way the rest is named, not passed over. */
static void without_room_what_is_not_known_is_said(void **state)
{
    (void)state;
    struct shipped shipped;
    shipped_open(&shipped);
    struct arena small = arena_open(MEBIBYTE + 128 * 1024, proven_full);
    size_t unranked = 0;
    for (size_t i = 0; i < shipped.count; i++) {
        struct arena_mark mark = arena_mark(&small);
        struct ranking whole = verify_critical_steps(shipped.procedures[i], NULL,
                                                     &shipped.arena, &shipped.scratch);
        struct ranking ranking =
            verify_critical_steps(shipped.procedures[i], NULL, &small, &shipped.scratch);
        assert_true(ranking.count + ranking.unranked_count >= whole.count);
        for (size_t k = 0; k < ranking.count; k++)
            assert_int_equal(ranking.steps[k].harm,
                             ranked(&whole, ranking.steps[k].work)->harm);
        unranked += ranking.unranked_count;
        arena_rewind(&small, mark);
    }
    assert_true(unranked > 0);
    arena_close(&small);
    shipped_close(&shipped);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_step_that_ships_hangs_as_much_in_a_search_of_its_own),
        cmocka_unit_test(what_is_ruled_out_hurts_nobody),
        cmocka_unit_test(without_room_what_is_not_known_is_said),
    };
    return cmocka_run_group_tests_name("verify/critical", tests, NULL, NULL);
}
