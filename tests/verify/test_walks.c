/* The engine itself, walked: on a proven procedure no gate is ever shut for a condition and nothing is
 * left at the end; on an unproven one the path that was printed leads to the fault that was printed.
 *
 *     test_walks [WALKS [SEED]]
 */
#include "verify/oracle.h"
#include "verify/walker.h"

/* As many cylinders as the proof has positions, and one more. */
static const char three_pot[] = "machine: three_pot\n"
                                "title: Three pot\n"
                                "positions:\n"
                                "  cylinder: [1, 2, 3]\n"
                                "firing_order: [1, 3, 2]\n";

#ifdef __SANITIZE_ADDRESS__
enum { REPLAYED = 20, OF_THREE = 5 };
static unsigned walks_wanted = 60;
#else
enum { REPLAYED = 150, OF_THREE = 15 };
static unsigned walks_wanted = 400;
#endif
static unsigned long long first_seed = 500000;

enum { WALKS_EACH = 4, STOP_PERCENT = 4, TRIES_MAX = 40000, LOOKED_AT_MAX = 20000 };
/* Where the third was seen to meet another fault first, it does so whatever is answered, as a rule. */
enum { TRIES_WAYLAID = 1000 };

static const struct machine *load_machine(const char *name, const char *bytes,
                                          struct arena *arena)
{
    struct diagnostics found;
    diagnostics_begin(&found, arena);
    const struct machine *machine =
        machine_load(walked_source(arena, name, bytes), &found, arena);
    assert_int_equal(found.count_by_severity[SEVERITY_ERROR], 0);
    return machine;
}

static void walk_once(const struct procedure *procedure, const struct machine *machine,
                      unsigned long long seed, unsigned *ends)
{
    struct wanderer walker;
    walker_open(&walker, procedure, machine, seed);
    walker.stop_percent = STOP_PERCENT;
    enum walk_end end = walker_walk(&walker);
    ends[end]++;
    bool is_kept = end == WALK_COMPLETED || end == WALK_ELSEWHERE;
    if (!is_kept)
        print_error("%.*s, walk %llu: %.*s\n", (int)procedure->name.length,
                    procedure->name.bytes, seed, (int)walker.said.length, walker.said.bytes);
    assert_true(is_kept);
    walker_close(&walker);
}

static bool is_sound(const struct procedure *procedure, struct arena *arena)
{
    struct arena scratch = arena_open(PROOF_ROOM, oracle_out_of_memory);
    struct proof proof = oracle_prove(procedure, arena, &scratch);
    arena_close(&scratch);
    return proof.verdict == PROOF_SOUND;
}

static void on_proven_procedures_no_gate_is_shut(void **state)
{
    (void)state;
    unsigned ends[WALK_ELSEWHERE + 1] = {0};
    unsigned walks = 0;
    for (unsigned long long seed = first_seed; walks < walks_wanted; seed++) {
        struct arena arena = arena_open(ORACLE_ROOM, oracle_out_of_memory);
        const struct procedure *procedure = oracle_load(seed, false, &arena);
        if (procedure != NULL && is_sound(procedure, &arena)) {
            const struct machine *machine = load_machine("pot.yaml", three_pot, &arena);
            for (unsigned i = 0; i < WALKS_EACH && walks < walks_wanted; i++, walks++)
                walk_once(procedure, machine, seed * WALKS_EACH + i, ends);
        }
        arena_close(&arena);
    }
    print_message("%u walks: %u to the end, %u to a bound or a value that is missing\n", walks,
                  ends[WALK_COMPLETED], ends[WALK_ELSEWHERE]);
    assert_true(ends[WALK_COMPLETED] * 2 > walks);
}

/* --- what ships --------------------------------------------------------------------------------- */

static unsigned walk_on_machines(const struct procedure *procedure, unsigned each,
                                 unsigned *ends, struct arena *arena)
{
    struct text names[32];
    size_t count = oracle_names("procedures/machines", names, 32, arena);
    unsigned walks = 0;
    for (size_t i = 0; i < count; i++) {
        const struct machine *machine = load_machine(
            "machine.yaml", oracle_bytes("procedures/machines", names[i], arena), arena);
        struct diagnostics found;
        diagnostics_begin(&found, arena);
        if (procedure_fit(procedure, machine, NULL, &found, arena) == NULL)
            continue;
        for (unsigned k = 0; k < each; k++, walks++)
            walk_once(procedure, machine, first_seed + k, ends);
    }
    return walks;
}

static void on_what_ships_no_gate_is_shut(void **state)
{
    (void)state;
    struct arena arena = arena_open(ORACLE_ROOM, oracle_out_of_memory);
    struct text names[64];
    size_t count = oracle_names("procedures", names, 64, &arena);
    unsigned ends[WALK_ELSEWHERE + 1] = {0};
    unsigned walks = 0, proven = 0;
    for (size_t i = 0; i < count; i++) {
        struct arena own = arena_open(ORACLE_ROOM, oracle_out_of_memory);
        const struct procedure *procedure = oracle_load_shipped(names[i], &own);
        if (procedure != NULL) {
            assert_true(is_sound(procedure, &own));
            proven++;
            walks += walk_on_machines(procedure, walks_wanted / 40 + 1, ends, &own);
        }
        arena_close(&own);
    }
    print_message("%u procedures, %u walks: %u to the end, %u to a bound or a missing value\n",
                  proven, walks, ends[WALK_COMPLETED], ends[WALK_ELSEWHERE]);
    assert_true(proven > 0 && walks > 0 && ends[WALK_COMPLETED] > 0);
    arena_close(&arena);
}

/* --- printed paths ------------------------------------------------------------------------------------ */

struct replay {
    struct wanderer walker;
    const struct procedure *procedure;
    const struct proof *proof;
    const struct unsafe_path *path;
    size_t next;        /* event */
    size_t engine_seen; /* events of the job */
    unsigned asked[128];
};

/* What somebody does or is asked; decisions come out of the values. */
static bool is_deed(const struct path_event *event)
{
    return event->kind == PATH_DONE || event->kind == PATH_PASSED_OVER ||
           event->kind == PATH_STOPPED || event->kind == PATH_BEGUN;
}

static const struct path_event *next_deed(struct replay *replay)
{
    while (replay->next < replay->path->event_count &&
           !is_deed(&replay->path->events[replay->next]))
        replay->next++;
    return replay->next < replay->path->event_count ? &replay->path->events[replay->next]
                                                    : NULL;
}

static bool is_at(const struct replay *replay, const struct work *work, const int *here,
                  const struct work *there, const struct spot *spot)
{
    if (work != there)
        return false;
    int position = walker_position(&replay->walker, there, spot);
    if (position == INDEX_NONE)
        return true;
    for (size_t i = 0; i < replay->procedure->index_count; i++)
        if (here[i] != INDEX_NONE && here[i] != position)
            return false;
    return true;
}

static const struct path_event *asked_at_start(const struct replay *replay, unsigned condition)
{
    for (size_t i = 0; i < replay->path->event_count; i++) {
        const struct path_event *event = &replay->path->events[i];
        if (event->kind == PATH_ASKED_AT_START && event->condition == condition)
            return event;
    }
    return NULL;
}

enum { THIRD_POSITION = 2 };

/* Of the third cylinder the path says nothing: it does what it does, in every loop. */
static bool is_of_third(const struct replay *replay, const struct work *work,
                        const struct spot *spot)
{
    return work != NULL && walker_position(&replay->walker, work, spot) == THIRD_POSITION;
}

static void answer_as_on_the_path(struct replay *replay, const struct path_event *deed)
{
    struct walked *walked = &replay->walker.walked;
    if (walked->prompt.kind == PROMPT_OPTIONAL &&
        !is_of_third(replay, walked->prompt.work, &walked->prompt.spot)) {
        bool passes =
            deed != NULL && deed->kind == PATH_PASSED_OVER &&
            is_at(replay, deed->work, deed->here, walked->prompt.work, &walked->prompt.spot);
        if (passes)
            replay->next++;
        walked_answer(walked, (struct answer){ANSWER_TYPED,
                                              walked->prompt.choices.texts[passes ? 1 : 0]});
        return;
    }
    if (walked->prompt.kind == PROMPT_CONDITION && walked->prompt.work == NULL) {
        int id = procedure_find_condition(replay->procedure, walked->prompt.name);
        const struct path_event *asked = asked_at_start(replay, (unsigned)id);
        const struct choices *choices = &replay->procedure->conditions[id]->question.choices;
        bool is_so = asked == NULL || asked->truth;
        walked_answer(walked, (struct answer){ANSWER_TYPED,
                                              choices->texts[is_so ? 0 : choices->count - 1]});
        return;
    }
    walker_answer(&replay->walker);
}

/* Steps done since the last look must be those of the path, in its order. */
static bool follows(struct replay *replay)
{
    size_t count;
    const struct event *events = job_events(replay->walker.walked.job, &count);
    for (; replay->engine_seen < count; replay->engine_seen++) {
        const struct event *event = &events[replay->engine_seen];
        if (event->kind != EVENT_DONE)
            continue;
        const struct work *work = replay->procedure->works[event->spot.work];
        if (is_of_third(replay, work, &event->spot))
            continue;
        const struct path_event *deed = next_deed(replay);
        if (deed == NULL || deed->kind != PATH_DONE ||
            !is_at(replay, deed->work, deed->here, work, &event->spot))
            return false;
        replay->next++;
    }
    return true;
}

/* Nothing puts it right from here: that is what the engine finds after the stop, too. */
static bool has_no_order(struct replay *replay)
{
    struct walked *walked = &replay->walker.walked;
    walked_stop_and_resume(walked); /* it is on coming back that what lapses has lapsed */
    struct makesafe makesafe = job_makesafe(walked->job, walked->now, &walked->arena);
    return !makesafe.is_found;
}

static bool is_the_fault(const struct replay *replay)
{
    const struct walked *walked = &replay->walker.walked;
    const struct unsafe_path *path = replay->path;
    if (walked->prompt.kind != PROMPT_SHUT)
        return false;
    char wanted[100];
    struct text name = path->fault == FAULT_PART_LEFT
                           ? replay->procedure->parts[path->part].name
                           : replay->procedure->conditions[path->condition]->name;
    snprintf(wanted, sizeof wanted, "%.*s", (int)name.length, name.bytes);
    /* without its first letter: a name that begins a sentence has a capital */
    bool is_named = walked_says(walked->prompt.question, wanted + 1);
    if (path->fault == FAULT_LEFT || path->fault == FAULT_PART_LEFT)
        return is_named && walked_says(walked->prompt.question, "The work is through");
    return is_named &&
           is_at(replay, path->work, path->here, walked->prompt.work, &walked->prompt.spot) &&
           walked_says(walked->prompt.question, "cannot be begun");
}

/* The engine does not refuse it: it would ask somebody to take out what is out. */
static bool would_take_out_again(const struct replay *replay)
{
    const struct walked *walked = &replay->walker.walked;
    const struct unsafe_path *path = replay->path;
    if (!is_at(replay, path->work, path->here, walked->prompt.work, &walked->prompt.spot))
        return false;
    struct arena arena = arena_open(MEBIBYTE, oracle_out_of_memory);
    struct part_out *out;
    size_t count = job_parts_out(walked->job, &out, &arena), at = 0;
    while (at < count && !(out[at].part == path->part && (path->position == INDEX_NONE ||
                                                          out[at].position == path->position)))
        at++;
    arena_close(&arena);
    return at < count;
}

/* The third, which goes through every loop, meets another fault on the way: one that is told, too, of the
 * two, since the third can do nothing that one of them could not. */
static bool is_fault_of_third(const struct replay *replay)
{
    const struct walked *walked = &replay->walker.walked;
    if (walked->prompt.kind != PROMPT_SHUT ||
        !is_of_third(replay, walked->prompt.work, &walked->prompt.spot))
        return false;
    for (size_t i = 0; i < replay->proof->path_count; i++)
        if (replay->proof->paths[i].work == walked->prompt.work)
            return true;
    return false;
}

enum leading { LEADS_THERE, LEADS_ELSEWHERE, LEADS_TO_ANOTHER_FAULT };

/* One try, with other values each time. */
static bool leads_there(struct replay *replay)
{
    struct walked *walked = &replay->walker.walked;
    for (unsigned answers = 0; answers < 400; answers++) {
        if (!follows(replay))
            return false;
        const struct path_event *deed = next_deed(replay);
        bool is_opening = walked->prompt.work == NULL;
        if (deed != NULL && deed->kind == PATH_STOPPED && !is_opening)
            return has_no_order(replay);
        bool is_on_show =
            deed != NULL && deed->kind == PATH_BEGUN &&
            walked->prompt.kind != PROMPT_OPTIONAL && walked->prompt.kind != PROMPT_SHUT &&
            walked_newest(walked, EVENT_ENTERED) != NULL &&
            is_at(replay, deed->work, deed->here,
                  replay->procedure->works[walked_newest(walked, EVENT_ENTERED)->spot.work],
                  &walked_newest(walked, EVENT_ENTERED)->spot) &&
            walked_newest(walked, EVENT_ENTERED)->number >
                (walked_newest(walked, EVENT_DONE) != NULL
                     ? walked_newest(walked, EVENT_DONE)->number
                     : 0);
        if (is_on_show)
            return has_no_order(replay);
        if (deed == NULL && replay->path->fault == FAULT_ONCE &&
            walked->prompt.work == replay->path->work)
            return true;
        if (deed == NULL && replay->path->fault == FAULT_PART_OUT &&
            walked->prompt.kind != PROMPT_SHUT && would_take_out_again(replay))
            return true;
        if (walked->prompt.kind == PROMPT_SHUT)
            return deed == NULL && is_the_fault(replay);
        if (walked->prompt.kind == PROMPT_BOUND || walked->prompt.kind == PROMPT_ENDED)
            return false;
        answer_as_on_the_path(replay, deed);
    }
    return false;
}

static enum leading can_be_walked(const struct procedure *procedure, const struct proof *proof,
                                  const struct unsafe_path *path, const struct machine *machine)
{
    enum leading leading = LEADS_ELSEWHERE;
    for (unsigned i = 0; i < TRIES_MAX; i++) {
        struct replay replay = {.procedure = procedure, .proof = proof, .path = path};
        walker_open(&replay.walker, procedure, machine, i);
        bool is_there = leads_there(&replay);
        if (!is_there && is_fault_of_third(&replay))
            leading = LEADS_TO_ANOTHER_FAULT;
        walker_close(&replay.walker);
        if (is_there)
            return LEADS_THERE;
        if (leading == LEADS_TO_ANOTHER_FAULT && i >= TRIES_WAYLAID)
            break;
    }
    return leading;
}

static void tell_path(const struct procedure *procedure, const struct unsafe_path *path,
                      unsigned long long seed, struct arena *arena)
{
    print_error("seed %llu: this path could not be walked:\n", seed);
    for (size_t i = 0; i < path->event_count; i++) {
        struct text words = path_event_words(procedure, &path->events[i], arena);
        print_error("  %.*s\n", (int)words.length, words.bytes);
    }
    struct text words = path_fault_words(procedure, path, arena);
    print_error("  %.*s\n", (int)words.length, words.bytes);
}

/* It rests on a third position that is so while neither of the two is (or the other way round): two
 * cylinders cannot show it, three can. */
static bool wants_a_third(const struct unsafe_path *path)
{
    for (size_t i = 0; i < path->event_count; i++) {
        const struct path_event *event = &path->events[i];
        const struct node *root = event->kind == PATH_DECIDED && event->expression != NULL
                                      ? event->expression->root
                                      : NULL;
        if (root == NULL || root->kind != NODE_CALL)
            continue;
        if ((root->function == FUNCTION_any && event->truth) ||
            ((root->function == FUNCTION_all || root->function == FUNCTION_none) &&
             !event->truth))
            return true;
    }
    return false;
}

struct replays {
    unsigned walked, waylaid, lost, by_fault[FAULT_NO_ORDER + 1];
};

/* Those of one procedure that rest on a third position, or those that do not. */
static void replay_paths(struct replays *replays, unsigned long long seed, bool of_three)
{
    struct arena arena = arena_open(ORACLE_ROOM, oracle_out_of_memory);
    struct arena scratch = arena_open(PROOF_ROOM, oracle_out_of_memory);
    const struct procedure *procedure = oracle_load(seed, true, &arena);
    struct proof proof = {.path_count = 0};
    if (procedure != NULL)
        proof = oracle_prove(procedure, &arena, &scratch);
    const struct machine *machine =
        of_three ? load_machine("three_pot.yaml", three_pot, &arena)
                 : load_machine("two_pot.yaml", random_procedure_machine, &arena);
    for (size_t i = 0; i < proof.path_count; i++) {
        const struct unsafe_path *path = &proof.paths[i];
        /* no way leads to the one; the other is no refusal of the engine's */
        if (path->fault == FAULT_UNREACHED || path->fault == FAULT_ROUND ||
            wants_a_third(path) != of_three)
            continue;
        replays->walked++;
        replays->by_fault[path->fault]++;
        enum leading leading = can_be_walked(procedure, &proof, path, machine);
        replays->waylaid += leading == LEADS_TO_ANOTHER_FAULT;
        if (leading == LEADS_ELSEWHERE) {
            replays->lost++;
            tell_path(procedure, path, seed, &arena);
        }
    }
    arena_close(&scratch);
    arena_close(&arena);
}

static void tell_replays(const struct replays *replays)
{
    const unsigned *by = replays->by_fault;
    print_message("%u paths walked: need %u, forbidden %u, requires %u, left %u, part left %u, "
                  "part out %u, once %u, no order %u\n",
                  replays->walked, by[FAULT_NEED], by[FAULT_FORBIDDEN], by[FAULT_REQUIRES],
                  by[FAULT_LEFT], by[FAULT_PART_LEFT], by[FAULT_PART_OUT], by[FAULT_ONCE],
                  by[FAULT_NO_ORDER]);
}

static void printed_paths_lead_to_the_fault_they_name(void **state)
{
    (void)state;
    struct replays replays = {0};
    for (unsigned long long seed = first_seed; replays.walked < REPLAYED + walks_wanted / 500;
         seed++)
        replay_paths(&replays, seed, false);
    tell_replays(&replays);
    assert_int_equal(replays.lost, 0);
}

static void what_rests_on_a_third_position_is_walked_with_three(void **state)
{
    (void)state;
    struct replays replays = {0};
    unsigned looked_at = 0;
    for (unsigned long long seed = first_seed;
         replays.walked < OF_THREE && looked_at < LOOKED_AT_MAX; seed++, looked_at++)
        replay_paths(&replays, seed, true);
    tell_replays(&replays);
    print_message("%u procedures looked at; on %u paths the third met another fault before\n",
                  looked_at, replays.waylaid);
    assert_true(replays.walked >= OF_THREE);
    assert_true(replays.waylaid * 4 < replays.walked);
    assert_int_equal(replays.lost, 0);
}

int main(int argc, char **argv)
{
    if (argc > 1)
        walks_wanted = (unsigned)strtoul(argv[1], NULL, 10);
    if (argc > 2)
        first_seed = strtoull(argv[2], NULL, 10);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(on_proven_procedures_no_gate_is_shut),
        cmocka_unit_test(on_what_ships_no_gate_is_shut),
        cmocka_unit_test(printed_paths_lead_to_the_fault_they_name),
        cmocka_unit_test(what_rests_on_a_third_position_is_walked_with_three),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
