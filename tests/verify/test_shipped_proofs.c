/* Every procedure that ships is proven; and with any one step that sets something or puts it right taken
 * away, none is. */
#include "proven.h"
#include "safety/shipped.h"
#include "verify/prove.h"

static void every_procedure_that_ships_is_proven(void **state)
{
    (void)state;
    struct shipped shipped;
    shipped_open(&shipped);
    for (size_t i = 0; i < shipped.count; i++) {
        struct proven proven = {.procedure = shipped.procedures[i]};
        diagnostics_begin(&proven.found, &shipped.arena);
        proven.arena = arena_open(16 * MEBIBYTE, proven_full);
        proven.proof =
            verify_procedure(proven.procedure, &proven.found, &proven.arena, &shipped.scratch);
        if (proven.proof.verdict != PROOF_SOUND) {
            print_error("%.*s:\n", (int)proven.procedure->name.length,
                        proven.procedure->name.bytes);
            proven_show(&proven);
        }
        assert_int_equal(proven.proof.verdict, PROOF_SOUND);
        assert_true(proven.proof.states > proven.procedure->step_count);
        assert_true(proven.proof.safe_orders > 0);
        arena_close(&proven.arena);
    }
    shipped_close(&shipped);
}

#define ACCIDENTS "tests/procedures/accidents/"

/* What happened stands in each file, with its source. */
static void what_led_to_accidents_is_refused_and_mended_it_is_proven(void **state)
{
    (void)state;
    struct shipped shipped;
    shipped_open(&shipped);
    struct shelf shelf = {&shipped.arena, shipped_fetch, shipped_nearest};
    DIR *folder = opendir(ACCIDENTS);
    assert_non_null(folder);
    size_t refused = 0, proven = 0;
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        struct arena_mark mark = arena_mark(&shipped.arena);
        struct text name = text_copy(&shipped.arena, text_from(entry->d_name));
        if (!text_ends(name, TEXT(".yaml")))
            continue;
        const struct source *source =
            shipped_file(&shipped.arena, text_fill(&shipped.arena, ACCIDENTS "{}", name));
        struct diagnostics found;
        diagnostics_begin(&found, &shipped.arena);
        const struct procedure *procedure =
            procedure_load(source, shipped.safety, shelf, &found, &shipped.arena);
        struct proof proof =
            verify_procedure(procedure, &found, &shipped.arena, &shipped.scratch);
        bool is_mended = text_ends(name, TEXT("_mended.yaml"));
        if ((proof.verdict == PROOF_SOUND) != is_mended)
            print_error("%s\n", entry->d_name);
        assert_int_equal(proof.verdict == PROOF_SOUND, is_mended);
        assert_int_equal(found.count_by_severity[SEVERITY_ERROR] == 0, is_mended);
        proven += is_mended;
        refused += !is_mended;
        arena_rewind(&shipped.arena, mark);
    }
    (void)closedir(folder);
    shipped_close(&shipped);
    assert_true(refused > 5);
    assert_true(proven > 5);
}

/* No exceptions: what nothing later on its way needs, forbids or puts right is not set. */
static bool sets_or_restores(const struct procedure *procedure, const struct step *step)
{
    if (step == NULL)
        return false;
    for (size_t i = 0; i < step->clears_count; i++)
        if (procedure->conditions[step->clears[i].condition]->restore.length > 0)
            return true;
    return step->sets_count > 0 || step->refits_count > 0;
}

struct tally {
    size_t tried, caught;
};

static void delete_one(const struct procedure *procedure, const struct work *work,
                       struct shipped *shipped, struct tally *tally)
{
    struct arena_mark mark = arena_mark(&shipped->arena);
    struct proving proving = {
        .omission = {.deleted = work}, .with_orders = true, .states_max = PROOF_STATES_MAX};
    struct proof proof = prove(procedure, proving, &shipped->arena, &shipped->scratch);
    bool is_caught = proof.verdict == PROOF_UNSAFE;
    tally->tried++;
    tally->caught += is_caught;
    if (!is_caught)
        print_error("%.*s: without %.*s it is proven as well\n", (int)procedure->name.length,
                    procedure->name.bytes, (int)work->step->name.length,
                    work->step->name.bytes);
    arena_rewind(&shipped->arena, mark);
}

static void without_any_one_step_that_sets_or_restores_none_is(void **state)
{
    (void)state;
    struct shipped shipped;
    shipped_open(&shipped);
    struct tally tally = {0};
    for (size_t i = 0; i < shipped.count; i++) {
        const struct procedure *procedure = shipped.procedures[i];
        for (size_t k = 0; k < procedure->work_count; k++)
            if (sets_or_restores(procedure, procedure->works[k]->step))
                delete_one(procedure, procedure->works[k], &shipped, &tally);
    }
    shipped_close(&shipped);
    print_message("%zu steps taken away, %zu caught\n", tally.tried, tally.caught);
    assert_true(tally.tried > 100);
    assert_int_equal(tally.caught, tally.tried);
}

static void the_critical_steps_of_what_ships_are_found(void **state)
{
    (void)state;
    struct shipped shipped;
    shipped_open(&shipped);
    for (size_t i = 0; i < shipped.count; i++) {
        struct ranking ranking = verify_critical_steps(shipped.procedures[i], NULL,
                                                       &shipped.arena, &shipped.scratch);
        const struct critical_step *steps = ranking.steps;
        size_t count = ranking.count;
        assert_int_equal(ranking.unranked_count, 0);
        assert_true(count > 0);
        for (size_t k = 1; k < count; k++) {
            assert_true(steps[k - 1].harm >= steps[k].harm);
            if (steps[k - 1].harm == steps[k].harm)
                assert_true(steps[k - 1].work->id < steps[k].work->id);
        }
    }
    shipped_close(&shipped);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_procedure_that_ships_is_proven),
        cmocka_unit_test(what_led_to_accidents_is_refused_and_mended_it_is_proven),
        cmocka_unit_test(without_any_one_step_that_sets_or_restores_none_is),
        cmocka_unit_test(the_critical_steps_of_what_ships_are_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
