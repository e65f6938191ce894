/* Each construct of a file, and what it becomes in the model. */
#include "procedure/loaded.h"

static void the_head_is_kept_as_written(void **state)
{
    (void)state;
    struct loaded loaded;
    wants_sound(&loaded, "duration: 10 min\nsources: [one, two]\napplies_to: vans\n",
                "  - {step: a, do: Look.}\n");
    const struct procedure *p = loaded.procedure;
    assert_text(p->name, "test");
    assert_text(p->title, "Test");
    assert_text(p->about, "A test.");
    assert_text(p->duration, "10 min");
    assert_int_equal(p->revision, 3);
    assert_int_equal(p->source_note_count, 2);
    assert_text(p->source_notes[1], "two");
    assert_int_equal(p->step_count, 1);
    assert_int_equal(p->works[0]->kind, WORK_SECTION);
    loaded_close(&loaded);
}

static void a_heading_holds_what_follows_up_to_the_next(void **state)
{
    (void)state;
    struct loaded loaded;
    wants_sound(&loaded, "",
                "  - {step: a, do: Look.}\n  - section: One\n  - {step: b, do: Look.}\n"
                "  - {step: c, do: Look.}\n  - section: Two\n    steps:\n"
                "      - {step: d, do: Look.}\n");
    const struct work *root = loaded.procedure->works[0];
    assert_int_equal(root->child_count, 3);
    assert_text(root->children[1]->title, "One");
    assert_int_equal(root->children[1]->child_count, 2);
    assert_text(root->children[2]->children[0]->step->name, "d");
    for (unsigned i = 0; i < loaded.procedure->work_count; i++)
        assert_int_equal(loaded.procedure->works[i]->id, i);
    loaded_close(&loaded);
}

static void a_step_has_its_parts(void **state)
{
    (void)state;
    struct loaded loaded;
    wants_sound(&loaded,
                "machine: {size: mm}\ngauges: {jug: {unit: L, accuracy: 1.6 % of 5 L}}\n",
                "  - step: a\n    do: \"Take {machine.size} {{here}}.\"\n    tool: spanner\n"
                "    tools: [lamp, jug]\n    wear: gloves\n    once: yes\n    photo: required\n"
                "    parts: {washer: 1}\n    consumes: {oil: {is: 5 mL, at_most: 7 mL}}\n"
                "    warning: {hazard: Hot., harm: Burns.}\n    notice: Mind the paint.\n"
                "    record:\n      oil: {gauge: jug, readings: 2, use: lowest, again: adds}\n"
                "      look: {choices: [dry, wet], photo: optional}\n"
                "    hold: {ask: Firm?, expect: firm, otherwise: [loose, gone]}\n");
    const struct step *step = step_named(&loaded, "a");
    assert_int_equal(step->action.piece_count, 2);
    assert_text(step->action.pieces[0].literal, "Take ");
    assert_non_null(step->action.pieces[0].value);
    assert_text(step->action.pieces[1].literal, " {here}.");
    assert_int_equal(step->tool_count, 3);
    assert_text(step->tools[2].written, "jug");
    assert_int_equal(step->wear_count, 1);
    assert_true(step->is_once);
    assert_int_equal(step->photo, PHOTO_REQUIRED);
    assert_text(step->consumes[0].name, "oil");
    assert_non_null(step->consumes[0].at_most);
    assert_int_equal(step->message_count, 2);
    assert_int_equal(step->messages[0].signal, SIGNAL_WARNING);
    assert_text(step->messages[0].harm.written, "Burns.");
    assert_true(step->has_hold);
    assert_int_equal(step->hold.choices.count, 3);
    assert_int_equal(step->hold.expected_count, 1);
    const struct reading *oil = &loaded.procedure->readings[step->readings[0]];
    assert_text(oil->name, "oil");
    assert_int_equal(oil->field.readings, 2);
    assert_int_equal(oil->field.use, USE_LOWEST);
    assert_int_equal(oil->field.again, AGAIN_ADDS);
    assert_int_equal(oil->field.gauge, 0);
    assert_int_equal(oil->index, INDEX_NONE);
    const struct gauge *jug = &loaded.procedure->gauges[0];
    assert_int_equal(jug->accuracy[0].form, ACCURACY_OF_FULL_SCALE);
    assert_float_equal(jug->accuracy[0].amount, 0.016, 1e-12);
    assert_float_equal(jug->accuracy[0].full_scale, 0.005, 1e-12); /* 5 L in m3 */
    loaded_close(&loaded);
}

static void an_activity_gives_its_words_and_conditions(void **state)
{
    (void)state;
    struct loaded loaded;
    wants_sound(&loaded, "",
                "  - step: a\n    each: cylinder\n    do: Crank.\n    activity: crank\n"
                "    caution: Loud.\n    forbids: [\"wet[cylinder]\"]\n");
    const struct step *step = step_named(&loaded, "a");
    assert_int_equal(step->activity_count, 1);
    assert_int_equal(step->messages[0].signal, SIGNAL_DANGER);
    assert_text(step->messages[0].hazard.pieces[0].literal, "Moving belts.");
    assert_ptr_equal(step->messages[0].activity, step->activities[0]);
    assert_int_equal(step->needs_count, 1);
    assert_int_equal(step->forbids_count, 2);
    assert_true(step->forbids[0].is_here);
    assert_false(step->forbids[1].is_here);
    assert_int_equal(step->clears_count, 2);
    assert_false(step->clears[0].is_here); /* cool is one fact about the machine */
    assert_true(step->clears[1].is_here);
    loaded_close(&loaded);
}

static void under_its_each_a_reading_is_a_vector(void **state)
{
    (void)state;
    struct loaded loaded;
    wants_sound(&loaded, "",
                "  - section: Test\n    each: cylinder\n    order: firing\n    steps:\n"
                "      - {step: a, do: Read., record: {dry: {unit: bar}}}\n"
                "  - step: b\n    each: cylinder\n    in: dry < 5 bar\n"
                "    when: dry[cylinder] < 3 bar\n    do: Oil.\n    sets: wet\n"
                "  - {step: c, do: Turn., clears: wet}\n"
                "  - {step: d, each: cylinder, in: [1, 3], do: Look.}\n");
    const struct procedure *p = loaded.procedure;
    assert_true(p->index_count == 1);
    assert_text(p->index_names[0], "cylinder");
    assert_int_equal(p->readings[0].index, 0);
    assert_int_equal(p->symbols[p->readings[0].symbol].type.index, 0);
    const struct work *b = procedure_find_step(p, TEXT("b"));
    assert_int_equal(b->loop.subset, LOOP_WHERE);
    assert_true(b->when_each_round);
    assert_true(b->step->sets[0].is_here);
    assert_false(step_named(&loaded, "c")->clears[0].is_here);
    const struct work *section = procedure_find_step(p, TEXT("a"))->parent;
    assert_true(section->loop.in_firing_order);
    assert_int_equal(section->loop_depth, 1);
    const struct work *d = procedure_find_step(p, TEXT("d"));
    assert_int_equal(d->loop.subset, LOOP_LABELS);
    assert_text(d->loop.labels[1], "3");
    assert_int_equal(p->label_use_count, 2);
    loaded_close(&loaded);
}

static void a_torque_is_asked_for_in_the_unit_it_is_written_in(void **state)
{
    (void)state;
    struct loaded loaded;
    wants_sound(&loaded, "machine: {bolt: kgf.m}\n",
                "  - {step: a, do: Tighten., torque: 30 lbf.ft, turn: 90 deg}\n"
                "  - {step: b, do: Tighten., torque: machine.bolt}\n"
                "  - step: c\n    do: Tighten.\n"
                "    torque: {is: 40 N.m, extension: 100 mm, wrench_length: 400 mm}\n");
    const struct procedure *p = loaded.procedure;
    assert_int_equal(p->reading_count, 3);
    assert_text(p->readings[0].name, "a.torque");
    assert_true(p->readings[0].is_torque);
    assert_ptr_equal(p->readings[0].field.unit, unit_find(TEXT("lbf.ft")));
    assert_ptr_equal(p->readings[1].field.unit, unit_find(TEXT("kgf.m")));
    assert_non_null(step_named(&loaded, "a")->turn);
    assert_non_null(step_named(&loaded, "c")->extension);
    loaded_close(&loaded);
}

static void the_ledger_and_timers_are_numbered(void **state)
{
    (void)state;
    struct loaded loaded;
    wants_sound(
        &loaded, "",
        "  - {step: a, each: cylinder, do: Out., removes: plug}\n"
        "  - {step: b, do: Off., removes: {nut: 5}, starts: {soak: {at_least: 10 min}}}\n"
        "  - step: c\n    do: In.\n    awaits: soak\n    parts: {plug: 4}\n"
        "    refits: {plug: {new: true}, nut: 5}\n");
    const struct procedure *p = loaded.procedure;
    assert_int_equal(p->part_count, 2);
    assert_text(p->parts[0].name, "plug");
    assert_int_equal(p->parts[0].index, 0);
    assert_int_equal(p->parts[1].index, INDEX_NONE);
    const struct step *c = step_named(&loaded, "c");
    assert_true(c->refits[0].is_new);
    assert_non_null(c->refits[1].count);
    assert_int_equal(c->awaits_count, 1);
    assert_int_equal(step_named(&loaded, "b")->starts[0].timer, c->awaits[0]);
    loaded_close(&loaded);
}

static void results_findings_and_follow_ups_are_read(void **state)
{
    (void)state;
    struct loaded loaded;
    wants_sound(
        &loaded, "inputs: {odometer: {unit: km}}\n",
        "  - {step: a, do: Read., record: {p: {unit: bar}}}\n"
        "results:\n  - {result: r, value: p / 2, unit: psi, limit: {between: [1 bar, 2 bar]}}\n"
        "findings:\n  - {when: r < 1 bar, say: \"Low: {r}\"}\n"
        "follow_up:\n  - {what: Again, at: odometer + 10 km, within: 2 years, after: 1 d}\n");
    const struct procedure *p = loaded.procedure;
    assert_true(p->results[0].has_limit);
    assert_non_null(p->results[0].limit.at_most);
    assert_ptr_equal(p->results[0].unit, unit_find(TEXT("psi")));
    assert_int_equal(p->findings[0].say.piece_count, 1);
    assert_int_equal(p->follow_ups[0].within.months, 24);
    assert_float_equal(p->follow_ups[0].after.seconds, 86400, 1e-9);
    assert_non_null(p->follow_ups[0].at);
    loaded_close(&loaded);
}

static void conditions_of_the_library_keep_their_numbers(void **state)
{
    (void)state;
    struct loaded loaded;
    wants_sound(
        &loaded,
        "conditions:\n  wedged: {restore: Wedge out., requires: [cool], voids: [chocked]}\n",
        "  - {step: a, do: Wedge., sets: [wedged, cool]}\n"
        "  - {step: b, do: Out., clears: wedged}\n");
    const struct procedure *p = loaded.procedure;
    assert_int_equal(p->condition_count, loaded.safety->condition_count + 1);
    assert_ptr_equal(p->conditions[0], loaded.safety->conditions[0]);
    const struct condition *wedged = p->conditions[4];
    assert_text(wedged->name, "wedged");
    assert_int_equal(wedged->requires[0], 2);
    assert_int_equal(wedged->voids[0], 0);
    assert_true(p->conditions[1]->lapses);
    assert_int_equal(procedure_find_condition(p, TEXT("cool")), 2);
    loaded_close(&loaded);
}

static void a_followed_part_stands_in_the_tree(void **state)
{
    (void)state;
    struct loaded loaded;
    wants_sound(&loaded, "machine: {size: mm}\n",
                "  - follow: measure_part\n  - {follow: measure_part, as: again}\n"
                "results:\n  - {result: r, value: again.depth - depth + twice - again.twice}\n"
                "  - {result: t, value: measure_part.take.torque}\n");
    const struct procedure *p = loaded.procedure;
    assert_int_equal(p->source_count, 3);
    assert_int_equal(p->want_count, 1);
    assert_text(p->readings[0].name, "depth");
    assert_text(p->readings[1].name, "measure_part.take.torque");
    assert_text(p->readings[2].name, "again.depth");
    const struct work *take = procedure_find_step(p, TEXT("again.take"));
    assert_non_null(take);
    assert_text(take->step->own_name, "take");
    assert_int_equal(take->parent->kind, WORK_FOLLOW);
    assert_text(take->parent->title, "Measure");
    assert_int_equal(take->place.source->path.length, 12);
    loaded_close(&loaded);
}

static void a_later_library_tightens(void **state)
{
    (void)state;
    struct arena arena = arena_open(16 * MEBIBYTE, out_of_memory);
    struct diagnostics found;
    diagnostics_begin(&found, &arena);
    struct source first = {TEXT("safety.yaml"), text_from(loaded_library)};
    struct source own = {TEXT("own.yaml"),
                         TEXT("conditions:\n  tidy: {ask: Tidy?, expect: yes}\n"
                              "activities:\n  crank: {needs: [tidy], forbids: [cool]}\n")};
    const struct source *sources[] = {&first, &own};
    const struct safety_library *library = safety_load(sources, 2, &found, &arena);
    assert_int_equal(found.count_by_severity[SEVERITY_ERROR], 0);
    const struct activity *crank = library->activities[0];
    assert_int_equal(library->activity_count, 1);
    assert_int_equal(crank->needs_count, 2);
    assert_int_equal(crank->needs[1], 4);
    assert_int_equal(crank->forbids_count, 2);
    assert_text(crank->hazard, "Moving belts.");
    arena_close(&arena);
}

static void keys_are_sorted_and_none_is_there_twice(void **state)
{
    (void)state;
    struct key_row row, before = {"", "", false};
    size_t i = 0;
    for (; key_row_at(i, &row); i++) {
        if (strcmp(row.map, before.map) == 0)
            assert_true(strcmp(before.key, row.key) < 0);
        before = row;
    }
    assert_true(i > 100);
}

static void a_file_says_what_it_is(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, out_of_memory);
    static const struct {
        const char *bytes;
        enum file_form form;
    } files[] = {
        {"procedure: a\nmachine:\n  x: mm\nsteps: []\n", FORM_PROCEDURE},
        {"# a comment\nprocedure: a\nmachine: b\nanswers: {}\n", FORM_ANSWERS},
        {"machine: a\ntitle: A\n", FORM_MACHINE},
        {"gauges:\n  a: {unit: bar}\n", FORM_GAUGES},
        {"conditions:\n  a: {}\n", FORM_SAFETY},
        {"{procedure: a, steps: []}\n", FORM_PROCEDURE},
        {"nothing: known\n", FORM_UNKNOWN},
        {"", FORM_UNKNOWN},
    };
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        struct source source = {TEXT("f"), text_from(files[i].bytes)};
        assert_int_equal(file_form(&source, &arena), files[i].form);
    }
    arena_close(&arena);
}

static void answers_are_given_by_name(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, out_of_memory);
    struct diagnostics found;
    diagnostics_begin(&found, &arena);
    struct source source = {
        TEXT("answers.yaml"),
        TEXT("procedure: a\nmachine: van\nanswers:\n  odometer: 5 km\n"
             "  crank: {dry: {1: [11 bar, 12 bar]}}\nbegins: 2026-03-31T08:00\nseed: 7\n"
             "pause_before: {step: crank, for: 2 h}\nexpect: {r: {verdict: pass}}\n")};
    const struct answers *answers = answers_load(&source, &found, &arena);
    assert_int_equal(found.count_by_severity[SEVERITY_ERROR], 0);
    assert_text(answers->machine, "van");
    assert_text(given_find(&answers->answers, TEXT("odometer"))->text, "5 km");
    const struct given *dry =
        given_find(given_find(&answers->answers, TEXT("crank")), TEXT("dry"));
    const struct given *first = given_find(dry, TEXT("1"));
    assert_int_equal(first->form, GIVEN_LIST);
    assert_text(first->items[1].text, "12 bar");
    assert_true(answers->has_seed);
    assert_float_equal(answers->pause_before.seconds, 7200, 1e-9);
    assert_null(given_find(&answers->answers, TEXT("absent")));
    arena_close(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_head_is_kept_as_written),
        cmocka_unit_test(a_heading_holds_what_follows_up_to_the_next),
        cmocka_unit_test(a_step_has_its_parts),
        cmocka_unit_test(an_activity_gives_its_words_and_conditions),
        cmocka_unit_test(under_its_each_a_reading_is_a_vector),
        cmocka_unit_test(a_torque_is_asked_for_in_the_unit_it_is_written_in),
        cmocka_unit_test(the_ledger_and_timers_are_numbered),
        cmocka_unit_test(results_findings_and_follow_ups_are_read),
        cmocka_unit_test(conditions_of_the_library_keep_their_numbers),
        cmocka_unit_test(a_followed_part_stands_in_the_tree),
        cmocka_unit_test(a_later_library_tightens),
        cmocka_unit_test(keys_are_sorted_and_none_is_there_twice),
        cmocka_unit_test(a_file_says_what_it_is),
        cmocka_unit_test(answers_are_given_by_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
