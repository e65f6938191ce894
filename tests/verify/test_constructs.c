/* Each construct of the format is taken for what docs/safety.md, section 6, says it is. */
#include "proven.h"

#define STEP(name, more)       "  - {step: " name ", do: Do it., " more "}\n"
#define IN_SECTION(name, more) "      - {step: " name ", do: Do it., " more "}\n"

static const char kinds[] = "inputs: {kind: {choices: [one, two, three]}, width: {unit: mm}}\n"
                            "conditions: {a: {}, open: {restore: Close it.}}\n";

static void an_optional_step_is_done_and_passed_over(void **state)
{
    (void)state;
    is_unsafe(kinds, STEP("set", "optional: true, sets: [a]") STEP("use", "needs: [a]"),
              FAULT_NEED, "use", 1);
    is_sound(kinds, STEP("set", "sets: [a]") STEP("use", "optional: true, needs: [a]"));
    is_unsafe(kinds,
              STEP("open", "sets: [open]") STEP("close", "optional: true, clears: [open]"),
              FAULT_LEFT, "", 2);
}

static void the_same_truth_is_taken_the_same_side(void **state)
{
    (void)state;
    is_sound(kinds, STEP("set", "when: kind == \"one\", sets: [a]")
                        STEP("use", "when: kind == \"one\", needs: [a]"));
    is_unsafe(kinds,
              STEP("set", "when: kind == \"one\", sets: [a]")
                  STEP("use", "when: kind == \"two\", needs: [a]"),
              FAULT_NEED, "use", 1);
    is_sound(kinds, STEP("set", "when: kind != \"one\", sets: [a]")
                        STEP("use", "when: kind == \"two\", needs: [a]"));
    is_sound(kinds, STEP("set", "when: width < 3 mm, sets: [a]") STEP(
                        "other", "when: width >= 3 mm, sets: [a]") STEP("use", "needs: [a]"));
    is_sound(kinds, STEP("set", "when: not (width < 3 mm), sets: [a]")
                        STEP("use", "when: width >= 3 mm, needs: [a]"));
    is_unsafe(kinds,
              STEP("set", "when: width < 3 mm, sets: [a]")
                  STEP("use", "when: width < 4 mm, needs: [a]"),
              FAULT_NEED, "use", 2);
}

static void and_and_or_are_taken_apart(void **state)
{
    (void)state;
    is_sound(kinds, STEP("set", "when: width < 3 mm or kind == \"one\", sets: [a]")
                        STEP("use", "when: kind == \"one\", needs: [a]"));
    is_unsafe(kinds,
              STEP("set", "when: width < 3 mm and kind == \"one\", sets: [a]")
                  STEP("use", "when: kind == \"one\", needs: [a]"),
              FAULT_NEED, "use", 2);
}

static void a_name_is_its_definition(void **state)
{
    (void)state;
    is_sound("inputs: {width: {unit: mm}}\nconditions: {a: {}}\nnames: {small: width < 3 mm}\n",
             STEP("set", "when: small, sets: [a]")
                 STEP("use", "when: width < 3 mm, needs: [a]"));
}

static void a_constant_is_no_question(void **state)
{
    (void)state;
    is_sound(kinds, STEP("set", "when: 1 mm < 2 mm, sets: [a]") STEP("use", "needs: [a]"));
    is_unsafe(kinds, STEP("set", "when: 1 mm > 2 mm") STEP("use", "needs: []"), FAULT_UNREACHED,
              "set", 0);
}

static void a_reading_taken_again_is_another_truth(void **state)
{
    (void)state;
    static const char head[] = "conditions: {a: {}}\n";
    is_sound(head,
             STEP("read", "record: {x: {unit: mm}}") STEP("set", "when: x < 3 mm, sets: [a]")
                 STEP("use", "when: x < 3 mm, needs: [a]"));
    is_unsafe(head,
              STEP("read", "record: {x: {unit: mm}}") STEP("set", "when: x < 3 mm, sets: [a]")
                  STEP("again", "record: {x: {unit: mm}}")
                      STEP("use", "when: x < 3 mm, needs: [a]"),
              FAULT_NEED, "use", 4);
}

static void a_reading_passed_over_leaves_what_was_decided(void **state)
{
    (void)state;
    static const char head[] = "conditions: {a: {}}\n";
    is_sound(head,
             STEP("read", "record: {x: {unit: mm}}") STEP("set", "when: x < 3 mm, sets: [a]")
                 STEP("again", "optional: true, sets: [a], record: {x: {unit: mm}}")
                     STEP("use", "when: x < 3 mm, needs: [a]"));
}

static void one_alternative_of_either_is_taken(void **state)
{
    (void)state;
    is_sound(kinds, "  - either:\n"
                    "      - when: kind == \"one\"\n        steps:\n"
                    "          - {step: x, do: Do it., sets: [a]}\n"
                    "      - otherwise: true\n        steps:\n"
                    "          - {step: y, do: Do it., sets: [a]}\n" STEP("use", "needs: [a]"));
    is_unsafe(kinds,
              "  - either:\n"
              "      - when: kind == \"one\"\n        steps:\n"
              "          - {step: x, do: Do it., sets: [a]}\n"
              "      - otherwise: true\n        steps:\n"
              "          - {step: y, do: Do it.}\n" STEP("use", "needs: [a]"),
              FAULT_NEED, "use", 2);
}

static void alternatives_that_name_every_choice_leave_none(void **state)
{
    (void)state;
    is_sound(kinds, "  - either:\n"
                    "      - when: kind == \"one\"\n        steps:\n"
                    "          - {step: x, do: Do it., sets: [a]}\n"
                    "      - when: kind == \"two\"\n        steps:\n"
                    "          - {step: y, do: Do it., sets: [a]}\n"
                    "      - when: kind == \"three\"\n        steps:\n"
                    "          - {step: z, do: Do it., sets: [a]}\n" STEP("use", "needs: [a]"));
}

static void a_repeat_is_done_once_or_more(void **state)
{
    (void)state;
    is_sound(kinds, "  - repeat: r\n    times: 3\n    steps:\n" IN_SECTION("set", "sets: [a]")
                        STEP("use", "needs: [a]"));
    is_unsafe(kinds,
              STEP("set", "sets: [a]") "  - repeat: r\n    times: 3\n    steps:\n" IN_SECTION(
                  "use", "needs: [a]") IN_SECTION("spoil", "clears: [a]"),
              FAULT_NEED, "use", 4); /* the second round */
}

static void a_long_repeat_leads_back_to_its_first_step(void **state)
{
    (void)state;
    struct arena arena = arena_open(16 * MEBIBYTE, proven_full);
    struct text steps = TEXT("  - {step: set, do: Do it., sets: [a]}\n"
                             "  - repeat: r\n    times: 3\n    steps:\n"
                             "      - {step: use, do: Do it., needs: [a]}\n");
    for (long long i = 0; i < 300; i++)
        steps = text_fill(&arena, "{}      - step: x{}\n        do: Do it.\n", steps,
                          text_number(&arena, i));
    steps = text_fill(&arena, "{}      - {step: spoil, do: Do it., clears: [a]\x7d\n", steps);
    is_unsafe(kinds, text_terminated(&arena, steps), FAULT_NEED, "use", 304);
    arena_close(&arena);
}

static void behind_a_repeat_its_until_is_true(void **state)
{
    (void)state;
    static const char head[] = "conditions: {a: {}}\n";
    static const char repeat[] =
        "  - repeat: r\n    until: x < 3 mm\n    at_most: 3\n    steps:\n" IN_SECTION(
            "read", "record: {x: {unit: mm}}");
    struct arena arena = arena_open(MEBIBYTE, proven_full);
    struct text sound = text_fill(
        &arena, "{}{}", text_from(repeat),
        text_from(STEP("set", "when: x < 3 mm, sets: [a]") STEP("use", "needs: [a]")));
    struct text unsafe = text_fill(&arena, "{}{}", text_from(repeat),
                                   text_from(STEP("set", "when: x >= 3 mm, sets: [a]")
                                                 STEP("use", "when: x > 2 mm, needs: [a]")));
    is_sound(head, text_terminated(&arena, sound));
    is_unsafe(head, text_terminated(&arena, unsafe), FAULT_NEED, "use", 3);
    arena_close(&arena);
}

static void once_is_once(void **state)
{
    (void)state;
    is_sound(kinds, STEP("pour", "once: true"));
    is_unsafe(kinds,
              "  - repeat: r\n    times: 2\n    steps:\n" IN_SECTION("pour", "once: true"),
              FAULT_ONCE, "pour", 2);
    is_sound(kinds, "  - section: S\n    each: cylinder\n    steps:\n" IN_SECTION(
                        "pour", "once: true"));
}

static void what_is_forbidden_may_not_be_owed_either(void **state)
{
    (void)state;
    static const char head[] =
        "conditions: {open: {restore: Close it.}, shut: {voids: [open]}}\n";
    is_unsafe(head,
              STEP("open", "sets: [open]") STEP("use", "forbids: [open]")
                  STEP("close", "clears: [open]"),
              FAULT_FORBIDDEN, "use", 1);
    is_unsafe(head, /* made untrue, and owed all the same */
              STEP("open", "sets: [open]") STEP("shut", "sets: [shut]")
                  STEP("use", "forbids: [open]") STEP("close", "clears: [open]"),
              FAULT_FORBIDDEN, "use", 2);
}

static void becoming_true_makes_others_untrue(void **state)
{
    (void)state;
    static const char head[] = "conditions: {a: {}, b: {voids: [a]}}\n";
    is_unsafe(head,
              STEP("set", "sets: [a]") STEP("spoil", "sets: [b]") STEP("use", "needs: [a]"),
              FAULT_NEED, "use", 2);
    /* what was so already does not become so */
    is_sound(head, STEP("spoil", "sets: [b]") STEP("set", "sets: [a]")
                       STEP("again", "sets: [b]") STEP("use", "needs: [a]"));
}

static void what_is_required_stays_as_long(void **state)
{
    (void)state;
    static const char head[] =
        "conditions: {base: {}, up: {requires: [base], restore: Lower it.}}\n";
    is_sound(head, STEP("base", "sets: [base]") STEP("raise", "sets: [up]")
                       STEP("lower", "clears: [up]") STEP("away", "clears: [base]"));
    is_unsafe(head,
              STEP("base", "sets: [base]") STEP("raise", "sets: [up]")
                  STEP("away", "clears: [base]") STEP("lower", "clears: [up]"),
              FAULT_REQUIRES, "away", 2);
    is_unsafe(head, STEP("raise", "sets: [up]") STEP("lower", "clears: [up]"), FAULT_REQUIRES,
              "raise", 0);
}

static void what_is_asked_at_the_start_is_both(void **state)
{
    (void)state;
    static const char head[] = "conditions: {warm: {at_start: ask, ask: Is it warm?, expect: "
                               "warm, otherwise: [cold]}}\n";
    is_unsafe(head, STEP("warm", "optional: true, sets: [warm]") STEP("use", "needs: [warm]"),
              FAULT_NEED, "use", 2);
    is_sound(head, STEP("warm", "sets: [warm]") STEP("use", "needs: [warm]"));
}

static void what_was_found_open_at_the_start_is_owed(void **state)
{
    (void)state;
    static const char head[] = "conditions: {open: {at_start: ask, ask: Is it open?, expect: "
                               "open, otherwise: [shut], restore: Close it.}}\n";
    is_unsafe(head,
              STEP("look", "optional: true") STEP("close", "optional: true, clears: [open]"),
              FAULT_LEFT, "", 3);
    is_sound(head, STEP("close", "clears: [open]"));
}

static void what_is_asked_at_the_gate_needs_no_step(void **state)
{
    (void)state;
    is_sound("conditions: {clear: {ask: Who is near?, expect: nobody, otherwise: [someone], "
             "lapses_after: 0 min}}\n",
             STEP("use", "needs: [clear]"));
}

/* --- positions --------------------------------------------------------------------------------- */

static const char per_cylinder[] =
    "conditions: {open: {each: cylinder, restore: Close it.}, seen: {each: cylinder}}\n";

static void every_position_has_its_own(void **state)
{
    (void)state;
    is_sound(per_cylinder, STEP("open", "each: cylinder, sets: [open]")
                               STEP("close", "each: cylinder, clears: [open]"));
    is_sound(per_cylinder,
             STEP("open", "each: cylinder, sets: [open]") STEP("close", "clears: [open]"));
    is_unsafe(
        per_cylinder, /* the other one is still open in the first round */
        STEP("open",
             "each: cylinder, sets: [open]") "  - section: S\n"
                                             "    each: cylinder\n    steps:\n" IN_SECTION(
                                                 "close", "clears: [open]")
                                                 IN_SECTION("use", "forbids: [open]"),
        FAULT_FORBIDDEN, "use", 3);
    is_sound(
        per_cylinder,
        STEP("open",
             "each: cylinder, sets: [open]") "  - section: S\n"
                                             "    each: cylinder\n    steps:\n" IN_SECTION(
                                                 "close", "clears: [open]")
                                                 IN_SECTION("use",
                                                            "forbids: [\"open[cylinder]\"]"));
    is_sound(per_cylinder,
             STEP("look", "each: cylinder, sets: [seen]") STEP("use", "needs: [seen]"));
}

static void the_same_subset_is_the_same(void **state)
{
    (void)state;
    is_sound(per_cylinder, STEP("open", "each: cylinder, in: [1, 2], sets: [open]")
                               STEP("close", "each: cylinder, in: [2, 1], clears: [open]"));
    is_sound(per_cylinder, STEP("open", "each: cylinder, in: [1, 2], sets: [open]")
                               STEP("close", "each: cylinder, clears: [open]"));
    is_unsafe(per_cylinder,
              STEP("open", "each: cylinder, in: [1, 2], sets: [open]")
                  STEP("close", "each: cylinder, in: [1], clears: [open]"),
              FAULT_LEFT, "", 5); /* two subsets of two, and one step */
    is_unsafe(per_cylinder,
              STEP("look", "each: cylinder, in: [1], sets: [seen]")
                  STEP("use", "needs: [seen]"),
              FAULT_NEED, "use", 2);
}

static void a_subset_by_truth_is_the_same_until_it_is_read_again(void **state)
{
    (void)state;
    static const char head[] = "conditions: {open: {each: cylinder, restore: Close it.}}\n"
                               "names: {low: x < 3 bar}\n";
    is_sound(head, STEP("read", "each: cylinder, record: {x: {unit: bar}}")
                       STEP("open", "each: cylinder, in: low, sets: [open]")
                           STEP("close", "each: cylinder, in: low, clears: [open]"));
    is_unsafe(head,
              STEP("read", "each: cylinder, record: {x: {unit: bar}}")
                  STEP("open", "each: cylinder, in: low, sets: [open]")
                      STEP("again", "each: cylinder, record: {x: {unit: bar}}")
                          STEP("close", "each: cylinder, in: low, clears: [open]"),
              FAULT_LEFT, "", 9);
}

static void reading_here_leaves_the_other_position_as_it_was(void **state)
{
    (void)state;
    static const char head[] = "conditions: {open: {each: cylinder, restore: Close it.}}\n";
    /* the subset is fixed when the loop begins, though its body reads again */
    is_sound(
        head,
        STEP("read",
             "each: cylinder, record: {x: {unit: bar}}") "  - section: S\n"
                                                         "    each: cylinder\n    in: x < 3 "
                                                         "bar\n    steps:\n" IN_SECTION(
                                                             "open", "sets: [open]")
                                                             IN_SECTION(
                                                                 "again",
                                                                 "record: {x: {unit: bar}}")
                                                                 IN_SECTION("close",
                                                                            "clears: [open]"));
    /* min(x) is of all */
    is_sound(head,
             STEP("read", "each: cylinder, record: {x: {unit: bar}}")
                 STEP("open", "when: min(x) < 3 bar, each: cylinder, sets: [open]")
                     STEP("close", "when: min(x) < 3 bar, each: cylinder, clears: [open]"));
}

static void a_when_that_names_the_position_is_looked_at_in_each_round(void **state)
{
    (void)state;
    static const char head[] = "conditions: {open: {each: cylinder, restore: Close it.}}\n"
                               "names: {low: x < 3 bar}\n";
    is_sound(head, STEP("read", "each: cylinder, record: {x: {unit: bar}}")
                       STEP("open", "each: cylinder, when: \"low[cylinder]\", sets: [open]")
                           STEP("close", "each: cylinder, in: low, clears: [open]"));
    is_unsafe(head,
              STEP("read", "each: cylinder, record: {x: {unit: bar}}")
                  STEP("open", "each: cylinder, when: \"low[cylinder]\", sets: [open]")
                      STEP("close", "each: cylinder, when: \"not low[cylinder]\", "
                                    "clears: [open]"),
              FAULT_LEFT, "", 5 + 1);
}

static void any_and_none_follow_from_the_subset(void **state)
{
    (void)state;
    static const char head[] =
        "conditions: {open: {each: cylinder, restore: Close it.}, a: {}}\n"
        "names: {low: x < 3 bar}\n";
    is_sound(head, STEP("read", "each: cylinder, record: {x: {unit: bar}}")
                       STEP("set", "when: any(low), sets: [a]")
                           STEP("use", "each: cylinder, in: low, needs: [a]"));
    is_unsafe(head,
              STEP("read", "each: cylinder, record: {x: {unit: bar}}")
                  STEP("set", "when: all(low), sets: [a]")
                      STEP("use", "each: cylinder, in: low, needs: [a]"),
              FAULT_NEED, "use", 4); /* read twice; the first is not, the second is */
    is_sound(head, STEP("read", "each: cylinder, record: {x: {unit: bar}}")
                       STEP("set", "when: not none(low), sets: [a]")
                           STEP("use", "each: cylinder, in: low, needs: [a]"));
}

/* On three cylinders two may be low though not all are: what two positions cannot show. */
static void not_all_may_be_two(void **state)
{
    (void)state;
    static const char head[] = "conditions: {open: {each: cylinder, restore: Close it.}}\n"
                               "names: {low: x < 3 bar, high: x >= 3 bar}\n";
    is_unsafe(
        head,
        STEP("read",
             "each: cylinder, record: {x: {unit: bar}}") "  - section: S\n    when: "
                                                         "not all(low)\n    "
                                                         "steps:\n" IN_SECTION(
                                                             "open", "each: cylinder, in: low, "
                                                                     "forbids: [open], sets: "
                                                                     "[open]")
                                                             STEP("close", "each: cylinder, "
                                                                           "clears: [open]"),
        FAULT_FORBIDDEN, "open", 6);
    is_unsafe(head,
              STEP("read", "each: cylinder, record: {x: {unit: bar}}")
                  STEP("close", "when: any(low), clears: [open], each: cylinder")
                      STEP("open", "when: any(low), each: cylinder, in: high, sets: [open]"),
              FAULT_LEFT, "", 7);
}

static void a_quantity_of_positions_is_one_truth_however_it_is_asked(void **state)
{
    (void)state;
    static const char head[] = "conditions: {open: {restore: Close it.}}\n"
                               "names: {low: x < 3 bar, high: x >= 3 bar}\n";
    is_sound(head, STEP("read", "each: cylinder, record: {x: {unit: bar}}")
                       STEP("open", "when: all(low), sets: [open]")
                           STEP("close", "when: none(high), clears: [open]"));
    is_sound(head, STEP("read", "each: cylinder, record: {x: {unit: bar}}")
                       STEP("open", "when: any(low), sets: [open]")
                           STEP("close", "when: not all(high), clears: [open]"));
    is_unsafe(head,
              STEP("read", "each: cylinder, record: {x: {unit: bar}}")
                  STEP("open", "when: any(low), sets: [open]")
                      STEP("close", "when: any(high), clears: [open]"),
              FAULT_LEFT, "", 6);
}

static void a_round_leaves_the_machine_as_it_found_it(void **state)
{
    (void)state;
    static const char head[] = "conditions: {open: {restore: Close it.}}\n";
    is_sound(head, "  - section: S\n    each: cylinder\n    steps:\n" IN_SECTION(
                       "open", "sets: [open]") IN_SECTION("close", "clears: [open]"));
    is_unsafe(head,
              "  - section: S\n    each: cylinder\n    steps:\n" IN_SECTION(
                  "open", "sets: [open]") STEP("close", "clears: [open]"),
              FAULT_ROUND, "S", 1);
}

#define IN_BOTH(name, more) "          - {step: " name ", do: Do it., " more "}\n"

/* What is done for one wheel is not done for all, neither to the machine nor to a cylinder. */
static void a_round_leaves_the_positions_of_another_index_as_it_found_them(void **state)
{
    (void)state;
    static const char head[] = "conditions: {open: {each: cylinder, restore: Close it.}}\n";
    is_sound(head, "  - section: S\n    each: wheel\n    steps:\n" IN_SECTION(
                       "open", "sets: [open]") IN_SECTION("close", "clears: [open]"));
    is_unsafe(head,
              "  - section: S\n    each: wheel\n    steps:\n" IN_SECTION("open", "sets: [open]")
                  STEP("close", "clears: [open]"),
              FAULT_ROUND, "S", 1);
    is_unsafe(head,
              "  - section: S\n    each: wheel\n    steps:\n" IN_SECTION(
                  "open", "each: cylinder, sets: [open]") STEP("close", "clears: [open]"),
              FAULT_ROUND, "S", 2);
    /* its own position it may leave otherwise */
    is_sound(head, "  - section: S\n    each: cylinder\n    steps:\n" IN_SECTION(
                       "open", "sets: [open]") STEP("close", "clears: [open]"));
    is_sound(head,
             "  - section: S\n    each: cylinder\n    steps:\n"
             "      - section: T\n        each: wheel\n        steps:\n" IN_BOTH("look", "")
                 IN_SECTION("open", "sets: [open]") STEP("close", "clears: [open]"));
    is_unsafe(head,
              "  - section: S\n    each: cylinder\n    steps:\n"
              "      - section: T\n        each: wheel\n        steps:\n" IN_BOTH(
                  "open", "sets: [open]") STEP("close", "clears: [open]"),
              FAULT_ROUND, "T", 1);
}

static void what_was_taken_out_is_put_back(void **state)
{
    (void)state;
    static const char none[] = "inputs: {kind: {choices: [one, two]}}\n";
    is_sound(none, STEP("out", "each: cylinder, removes: plug")
                       STEP("back", "each: cylinder, refits: plug"));
    is_sound(none, STEP("out", "each: cylinder, removes: plug") STEP("back", "refits: plug"));
    is_unsafe(none, STEP("out", "removes: lid") STEP("back", "optional: true, refits: lid"),
              FAULT_PART_LEFT, "", 2);
    is_unsafe(none,
              STEP("out", "each: cylinder, removes: plug")
                  STEP("back", "each: cylinder, in: [1], refits: plug"),
              FAULT_PART_LEFT, "", 4);
}

static void what_is_out_is_not_taken_out(void **state)
{
    (void)state;
    static const char none[] = "inputs: {kind: {choices: [one, two]}}\n";
    is_unsafe(none,
              STEP("out", "removes: lid") STEP("again", "removes: lid")
                  STEP("back", "refits: lid"),
              FAULT_PART_OUT, "again", 1);
    is_unsafe(none,
              STEP("out", "when: kind == \"one\", removes: lid") STEP("again", "removes: lid")
                  STEP("back", "refits: lid"),
              FAULT_PART_OUT, "again", 2);
    is_sound(none, STEP("out", "when: kind == \"one\", removes: lid")
                       STEP("other", "when: kind == \"two\", removes: lid")
                           STEP("back", "refits: lid"));
    is_unsafe(none,
              "  - repeat: r\n    times: 2\n    steps:\n" IN_SECTION("out", "removes: lid")
                  STEP("back", "refits: lid"),
              FAULT_PART_OUT, "out", 2);
    /* each its own; and where one is still in, the rest may be taken out */
    is_unsafe(none,
              STEP("out", "each: cylinder, removes: plug")
                  STEP("again", "each: cylinder, in: [1], removes: plug")
                      STEP("back", "refits: plug"),
              FAULT_PART_OUT, "again", 4);
    is_unsafe(none,
              STEP("out", "each: cylinder, in: [1], removes: plug")
                  STEP("rest", "removes: plug") STEP("back", "refits: plug"),
              FAULT_PART_OUT, "rest", 4);
    is_sound(none, STEP("change", "removes: lid, parts: {lid: 1}, refits: {lid: {new: true}}")
                       STEP("again", "removes: lid") STEP("back", "refits: lid"));
}

static void the_shortest_way_to_put_back_what_is_in_is_told(void **state)
{
    (void)state;
    struct proven proven;
    proven_begin(&proven, "inputs: {kind: {choices: [one, two]}}\n",
                 STEP("before", "") STEP("out", "optional: true, removes: lid")
                     STEP("back", "refits: lid") STEP("twice", "refits: lid"));
    assert_int_equal(proven.proof.verdict, PROOF_SOUND);
    assert_int_equal(proven.proof.path_count, 0);
    assert_int_equal(proven.proof.doubt_count, 2);
    const struct unsafe_path *doubt = &proven.proof.doubts[0];
    assert_int_equal(doubt->fault, FAULT_PART_IN);
    assert_true(text_equal(doubt->work->step->name, TEXT("back")));
    assert_int_equal(doubt->event_count, 2);
    assert_int_equal(doubt->events[1].kind, PATH_PASSED_OVER);
    assert_int_equal(doubt->cause, CAUSE_PASSED_OVER);
    assert_true(text_equal(proven.proof.doubts[1].work->step->name, TEXT("twice")));
    proven_end(&proven);
    /* one that is out is enough: only where both are in is it doubtful */
    proven_begin(&proven, "inputs: {kind: {choices: [one, two]}}\n",
                 STEP("out", "each: cylinder, removes: plug")
                     STEP("one", "each: cylinder, in: [1], refits: plug")
                         STEP("back", "refits: plug"));
    assert_int_equal(proven.proof.doubt_count, 1);
    doubt = &proven.proof.doubts[0];
    assert_int_equal(doubt->event_count, 6);
    assert_true(doubt->events[2].kind == PATH_SUBSET && doubt->events[2].truth);
    assert_true(doubt->events[3].kind == PATH_SUBSET && doubt->events[3].truth);
    proven_end(&proven);
}

/* --- away, and stops ----------------------------------------------------------------------------- */

static void hands_that_are_not_free_want_it_all_at_the_start(void **state)
{
    (void)state;
    static const char head[] =
        "conditions: {a: {ask: Is it?, expect: \"yes it is\", otherwise: [not so]}, b: {}}\n";
    is_sound(head,
             STEP("set", "sets: [a]") "  - section: S\n    away: true\n    steps:\n" IN_SECTION(
                 "b", "sets: [b]") IN_SECTION("use", "needs: [a, b]"));
    is_unsafe(
        head, /* what has a question cannot be shown on the way */
        STEP("first", "sets: [b]") "  - section: S\n    away: true\n    steps:\n" IN_SECTION(
            "set", "sets: [a]") IN_SECTION("use", "needs: [a]"),
        FAULT_NEED, "S", 1);
}

static const char held[] =
    "conditions:\n"
    "  held: {ask: Kick it., expect: stayed, otherwise: [moved], lapses_after: 30 min}\n"
    "  up: {restore: Lower it.}\n";

static void after_a_stop_what_lapsed_must_be_shown_again(void **state)
{
    (void)state;
    is_sound(held, STEP("hold", "sets: [held]") STEP("raise", "needs: [held], sets: [up]")
                       STEP("lower", "needs: [held], clears: [up]"));
    is_unsafe(held, /* the step that shows it cannot be done again */
              STEP("hold", "once: true, sets: [held]")
                  STEP("raise", "needs: [held], sets: [up]")
                      STEP("lower", "needs: [held], clears: [up]"),
              FAULT_NO_ORDER, "raise", 2);
}

/* Found by a random procedure: what lapsed is required by what has no need of being put right. */
static void what_mends_a_broken_requirement_is_a_way_back(void **state)
{
    (void)state;
    static const char head[] =
        "conditions:\n"
        "  held: {ask: Kick it., expect: stayed, otherwise: [moved], lapses_after: 30 min}\n"
        "  propped: {requires: [held]}\n"
        "  open: {restore: Close it.}\n";
    is_sound(head, STEP("hold", "sets: [held]") STEP("prop", "sets: [propped]")
                       STEP("open", "needs: [propped], sets: [open]")
                           STEP("close", "clears: [open]"));
}

static void a_step_begun_may_have_done_it(void **state)
{
    (void)state;
    static const char head[] = "conditions: {open: {restore: Close it.}, lit: {}}\n";
    is_sound(head, STEP("open", "sets: [open]") STEP("close", "clears: [open]"));
    /* begun, the only step that closes it cannot be begun again */
    is_unsafe(head, STEP("open", "sets: [open]") STEP("close", "once: true, clears: [open]"),
              FAULT_NO_ORDER, "close", 2);
    /* closing wants a lamp, and the way back may pass the step that lights it, whatever its when */
    is_sound(head, STEP("light", "sets: [lit]") STEP("open", "sets: [open]")
                       STEP("close", "needs: [lit], clears: [open]"));
}

static void what_takes_something_out_is_no_way_back(void **state)
{
    (void)state;
    static const char head[] = "conditions: {open: {restore: Close it.}}\n";
    is_unsafe(head,
              STEP("open", "sets: [open]") STEP("close", "removes: lid, clears: [open]")
                  STEP("lid", "refits: lid"),
              FAULT_NO_ORDER, "open", 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_optional_step_is_done_and_passed_over),
        cmocka_unit_test(the_same_truth_is_taken_the_same_side),
        cmocka_unit_test(and_and_or_are_taken_apart),
        cmocka_unit_test(a_name_is_its_definition),
        cmocka_unit_test(a_constant_is_no_question),
        cmocka_unit_test(a_reading_taken_again_is_another_truth),
        cmocka_unit_test(a_reading_passed_over_leaves_what_was_decided),
        cmocka_unit_test(one_alternative_of_either_is_taken),
        cmocka_unit_test(alternatives_that_name_every_choice_leave_none),
        cmocka_unit_test(a_repeat_is_done_once_or_more),
        cmocka_unit_test(a_long_repeat_leads_back_to_its_first_step),
        cmocka_unit_test(behind_a_repeat_its_until_is_true),
        cmocka_unit_test(once_is_once),
        cmocka_unit_test(what_is_forbidden_may_not_be_owed_either),
        cmocka_unit_test(becoming_true_makes_others_untrue),
        cmocka_unit_test(what_is_required_stays_as_long),
        cmocka_unit_test(what_is_asked_at_the_start_is_both),
        cmocka_unit_test(what_was_found_open_at_the_start_is_owed),
        cmocka_unit_test(what_is_asked_at_the_gate_needs_no_step),
        cmocka_unit_test(every_position_has_its_own),
        cmocka_unit_test(the_same_subset_is_the_same),
        cmocka_unit_test(a_subset_by_truth_is_the_same_until_it_is_read_again),
        cmocka_unit_test(reading_here_leaves_the_other_position_as_it_was),
        cmocka_unit_test(a_when_that_names_the_position_is_looked_at_in_each_round),
        cmocka_unit_test(any_and_none_follow_from_the_subset),
        cmocka_unit_test(not_all_may_be_two),
        cmocka_unit_test(a_quantity_of_positions_is_one_truth_however_it_is_asked),
        cmocka_unit_test(a_round_leaves_the_machine_as_it_found_it),
        cmocka_unit_test(a_round_leaves_the_positions_of_another_index_as_it_found_them),
        cmocka_unit_test(what_was_taken_out_is_put_back),
        cmocka_unit_test(what_is_out_is_not_taken_out),
        cmocka_unit_test(the_shortest_way_to_put_back_what_is_in_is_told),
        cmocka_unit_test(hands_that_are_not_free_want_it_all_at_the_start),
        cmocka_unit_test(after_a_stop_what_lapsed_must_be_shown_again),
        cmocka_unit_test(what_mends_a_broken_requirement_is_a_way_back),
        cmocka_unit_test(a_step_begun_may_have_done_it),
        cmocka_unit_test(what_takes_something_out_is_no_way_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
