#include "procedure/loaded.h"
#include "report/picture.h"
#include "report/svg.h"

/* An invented pump: one of everything that has a shape of its own. */
static const char everything[] =
    "  - step: chock\n    optional: true\n    do: Chock it.\n    sets: [chocked]\n"
    "  - section: Opening\n    when: hours > 100 h\n    steps:\n"
    "      - step: open\n        do: Open the lid & look < inside.\n        needs: [chocked]\n"
    "        danger: {hazard: A spring., harm: Blindness.}\n"
    "      - repeat: level\n        until: seen == \"between\"\n        at_most: 6\n        "
    "steps:\n"
    "          - step: look\n            do: Look at the stick.\n"
    "            record: {seen: {choices: [below, between], again: replaces}}\n"
    "  - step: turn\n    each: cylinder\n    do: Turn number {cylinder}.\n    clears: [wet]\n"
    "  - either:\n"
    "      - when: hours > 50 h\n        steps:\n          - step: old\n            do: Old.\n"
    "      - otherwise: true\n        steps:\n          - step: young\n            do: Young.\n"
    "  - section: Beneath\n    away: true\n    steps:\n"
    "      - step: beneath\n        do: Feel beneath it.\n"
    "  - step: last\n    do: Take the chocks away.\n    clears: [chocked]\n";
static const char head[] = "inputs: {hours: {unit: h}}\n";

struct drawn {
    struct loaded loaded;
    struct path_event events[40];
    struct unsafe_path path;
    struct proof proof;
};

static void begin(struct drawn *drawn)
{
    *drawn = (struct drawn){0};
    load_steps(&drawn->loaded, head, everything);
    if (drawn->loaded.procedure == NULL)
        for (const struct diagnostic *at = drawn->loaded.found.first; at != NULL; at = at->next)
            print_error("%.*s\n", (int)at->message.length, at->message.bytes);
    assert_non_null(drawn->loaded.procedure);
}

static const struct work *named(struct drawn *drawn, const char *name)
{
    const struct work *work = procedure_find_step(drawn->loaded.procedure, text_from(name));
    assert_non_null(work);
    return work;
}

/* The chocks are passed over; the lid is opened all the same. */
static void make_unsafe(struct drawn *drawn)
{
    const struct work *open = named(drawn, "open");
    drawn->events[0] = (struct path_event){
        .kind = PATH_PASSED_OVER, .work = named(drawn, "chock"), .position = INDEX_NONE};
    drawn->events[1] = (struct path_event){.kind = PATH_DECIDED,
                                           .expression = open->parent->when,
                                           .position = INDEX_NONE,
                                           .truth = true};
    int chocked = procedure_find_condition(drawn->loaded.procedure, TEXT("chocked"));
    assert_true(chocked >= 0);
    drawn->path = (struct unsafe_path){.fault = FAULT_NEED,
                                       .work = open,
                                       .condition = (unsigned)chocked,
                                       .position = INDEX_NONE,
                                       .cause = CAUSE_PASSED_OVER,
                                       .helper = named(drawn, "chock"),
                                       .events = drawn->events,
                                       .event_count = 2};
    drawn->proof = (struct proof){
        .verdict = PROOF_UNSAFE, .branches = 4, .paths = &drawn->path, .path_count = 1};
}

static struct text draw(struct drawn *drawn, const struct proof *proof)
{
    struct page page;
    page_begin(&page, &drawn->loaded.arena);
    picture_write(drawn->loaded.procedure, proof, &page.writer, &drawn->loaded.arena);
    return page_text(&page);
}

static bool has(struct text whole, const char *wanted)
{
    return text_find(whole, text_from(wanted)) < whole.length;
}

static size_t count_of(struct text whole, const char *wanted)
{
    size_t count = 0;
    struct text what = text_from(wanted);
    for (size_t at = 0; at + what.length <= whole.length; at++)
        count += text_equal(text_slice(whole, at, at + what.length), what);
    return count;
}

static void every_step_question_and_title_is_in_it(void **state)
{
    (void)state;
    struct drawn drawn;
    begin(&drawn);
    struct text svg = draw(&drawn, NULL);
    const char *const wanted[] = {
        ">Chock it.<",
        ">Opening<",
        ">if hours &gt; 100 h<",
        ">repeat: level<",
        ">otherwise<",
        ">for each cylinder<",
        ">Beneath (away: hands not free)<",
        ">DANGER<",
        ">Turn number {cylinder}.<",
        ">8<",
        ">A spring.<",
        ">again until seen == &quot;between&quot;, at most 6 times<",
        ">+ chocked<",
        ">− chocked<",
        ">needs chocked<",
    };
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++)
        if (!has(svg, wanted[i]))
            fail_msg("missing: %s", wanted[i]);
    assert_true(has(svg, "NOT examined"));
    assert_true(has(svg, ">Revision 3 · 8 steps<"));
    loaded_close(&drawn.loaded);
}

static void what_an_author_writes_is_never_mark_up(void **state)
{
    (void)state;
    struct drawn drawn;
    begin(&drawn);
    struct text svg = draw(&drawn, NULL);
    assert_true(has(svg, "Open the lid &amp; look &lt; inside."));
    assert_false(has(svg, "lid & look"));
    loaded_close(&drawn.loaded);
}

static void the_unsafe_path_is_numbered_struck_and_named(void **state)
{
    (void)state;
    struct drawn drawn;
    begin(&drawn);
    make_unsafe(&drawn);
    struct text svg = draw(&drawn, &drawn.proof);
    /* Two on the path, one in the legend. */
    assert_int_equal(count_of(svg, "class=\"marktext\""), 3);
    assert_int_equal(count_of(svg, "class=\"struck\""), 1);
    assert_int_equal(count_of(svg, "class=\"fault\""), 1);
    assert_true(has(svg, "UNSAFE: needs chocked, not in force"));
    assert_true(has(svg, "would have set it"));
    assert_true(has(svg, ">1: passed over<"));
    assert_true(has(svg, ">2: yes<"));
    assert_true(has(svg, "8 steps, 4 branches"));
    assert_true(has(svg, "UNSAFE: one unsafe path, marked: 2 things that happen."));
    loaded_close(&drawn.loaded);
}

static void without_an_unsafe_path_nothing_is_marked(void **state)
{
    (void)state;
    struct drawn drawn;
    begin(&drawn);
    drawn.proof = (struct proof){.verdict = PROOF_SOUND, .branches = 4};
    struct text svg = draw(&drawn, &drawn.proof);
    assert_int_equal(count_of(svg, "class=\"marktext\""), 0);
    assert_int_equal(count_of(svg, "class=\"walk\""), 0);
    assert_int_equal(count_of(svg, "class=\"fault\""), 0);
    assert_true(has(svg, "No unsafe path was found"));
    loaded_close(&drawn.loaded);
}

static void a_fault_at_the_end_stands_at_the_end(void **state)
{
    (void)state;
    struct drawn drawn;
    begin(&drawn);
    make_unsafe(&drawn);
    drawn.path.fault = FAULT_LEFT;
    drawn.path.work = NULL;
    struct text svg = draw(&drawn, &drawn.proof);
    assert_true(has(svg, "UNSAFE: chocked is left so at the end"));
    assert_true(text_find(svg, TEXT("class=\"fault\"")) >
                text_find(svg, TEXT("The job is done")));
    loaded_close(&drawn.loaded);
}

static void a_path_that_comes_by_often_keeps_its_marks_short(void **state)
{
    (void)state;
    struct drawn drawn;
    begin(&drawn);
    make_unsafe(&drawn);
    for (size_t i = 0; i < 40; i++)
        drawn.events[i] = (struct path_event){.kind = i % 2 == 0 ? PATH_DONE : PATH_STOPPED,
                                              .work = i % 2 == 0 ? named(&drawn, "look") : NULL,
                                              .position = INDEX_NONE};
    drawn.path.event_count = 40;
    struct text svg = draw(&drawn, &drawn.proof);
    assert_true(has(svg, ">1, 2, 3 …<"));
    assert_true(has(svg, "and more: see the list below"));
    assert_true(has(svg, ">40  "));
    loaded_close(&drawn.loaded);
}

/* Opening and the older alternative have no event of their own; the path comes by neither. */
static void what_is_led_round_is_struck_though_no_event_tells_it(void **state)
{
    (void)state;
    struct drawn drawn;
    begin(&drawn);
    make_unsafe(&drawn);
    drawn.events[0].kind = PATH_DONE;
    drawn.events[1] = (struct path_event){
        .kind = PATH_DONE, .work = named(&drawn, "young"), .position = INDEX_NONE};
    drawn.path.fault = FAULT_LEFT;
    drawn.path.work = NULL;
    drawn.path.helper = NULL;
    drawn.path.undoer = named(&drawn, "chock");
    struct text svg = draw(&drawn, &drawn.proof);
    assert_int_equal(count_of(svg, "class=\"struck\""), 3); /* open, look, old */
    assert_true(has(svg, "made it so"));
    loaded_close(&drawn.loaded);
}

static void to_a_step_that_no_way_leads_to_none_is_drawn(void **state)
{
    (void)state;
    struct drawn drawn;
    begin(&drawn);
    make_unsafe(&drawn);
    drawn.path.fault = FAULT_UNREACHED;
    drawn.path.helper = NULL;
    drawn.path.event_count = 0;
    struct text svg = draw(&drawn, &drawn.proof);
    assert_int_equal(count_of(svg, "class=\"walk\""), 0);
    assert_true(has(svg, "NEVER REACHED"));
    struct unsafe_path both[2] = {drawn.path, drawn.path};
    both[1].fault = FAULT_NEED;
    drawn.proof.paths = both;
    drawn.proof.path_count = 2;
    assert_true(has(draw(&drawn, &drawn.proof), "UNSAFE: needs chocked, not in force"));
    loaded_close(&drawn.loaded);
}

static int number_after(struct text tag, const char *name)
{
    size_t at = text_find(tag, text_from(name));
    assert_true(at < tag.length);
    return atoi(tag.bytes + at + strlen(name));
}

/* ISO 216: a sheet of A4 is 297 mm high. */
enum { CUT = 2970, LETTER_ABOVE = 40, LETTER_BELOW = 12 };

/* The lid, and the chocks that are left at the end. */
static void each_unsafe_path_has_its_sheet_and_a_link_to_it(void **state)
{
    (void)state;
    struct drawn drawn;
    begin(&drawn);
    make_unsafe(&drawn);
    struct unsafe_path both[2] = {drawn.path, drawn.path};
    both[1].fault = FAULT_LEFT;
    both[1].work = NULL;
    drawn.proof.paths = both;
    drawn.proof.path_count = 2;
    struct text svg = draw(&drawn, &drawn.proof);
    assert_int_equal(count_of(svg, "class=\"fault\""), 2);
    assert_int_equal(count_of(svg, "<view id=\"path-1\" viewBox=\"0 0 2100 "), 1);
    size_t second = text_find(svg, TEXT("<view id=\"path-2\""));
    int top = number_after(text_slice(svg, second, svg.length), "viewBox=\"0 ");
    assert_true(top > 0 && top % CUT == 0);
    assert_int_equal(count_of(svg, "<a href=\"#path-1\">"), 2);
    assert_int_equal(count_of(svg, "<a href=\"#path-2\">"), 2);
    assert_true(number_after(svg, " height=\"") * 10 == 2 * top);
    assert_true(
        has(svg, ">UNSAFE: 2 unsafe paths; marked here is path 2: 2 things that happen.<"));
    assert_true(has(svg,
                    ">▶ path 2, marked here: UNSAFE: chocked is left so at the end (at the "
                    "end)<"));
    assert_true(has(svg, ">path 1: UNSAFE: needs chocked, not in force (at open)<"));
    loaded_close(&drawn.loaded);
}

static void stands_on_one_page(struct text tag, int top, int bottom)
{
    if (top / CUT != bottom / CUT)
        fail_msg("%.*s", (int)tag.length, tag.bytes);
}

static void no_row_and_no_word_stands_across_the_cut_between_two_pages(void **state)
{
    (void)state;
    static char steps[12000];
    size_t length = 0;
    for (int i = 0; i < 90; i++)
        length += (size_t)snprintf(steps + length, sizeof steps - length,
                                   "  - step: s%d\n    do: Look at plate number %d.\n%s", i, i,
                                   i % 7 == 0 ? "    optional: true\n" : "");
    struct drawn drawn = {0};
    load_steps(&drawn.loaded, head, steps);
    assert_non_null(drawn.loaded.procedure);
    struct text svg = draw(&drawn, NULL);
    int pages = 0, boxes = 0;
    for (size_t at = 0; at < svg.length; at++) {
        struct text rest = text_slice(svg, at, svg.length);
        struct text tag = text_slice(rest, 0, text_find(rest, TEXT(">")));
        if (text_starts(rest, TEXT("<rect class=\"box\""))) {
            int y = number_after(tag, " y=\"");
            stands_on_one_page(tag, y, y + number_after(tag, " height=\""));
            boxes++;
        }
        if (text_starts(rest, TEXT("<text "))) {
            int y = number_after(tag, " y=\"");
            stands_on_one_page(tag, y - LETTER_ABOVE, y + LETTER_BELOW);
            pages = y / CUT > pages ? y / CUT : pages;
        }
    }
    assert_int_equal(boxes, 90 + 1); /* one in the legend */
    assert_in_range(pages, 2, 6);
    assert_true(has(svg, "@page{size:A4;margin:0}"));
    assert_true(has(svg, ">page 2 of "));
    loaded_close(&drawn.loaded);
}

static void the_same_input_gives_the_same_bytes(void **state)
{
    (void)state;
    struct drawn drawn;
    begin(&drawn);
    make_unsafe(&drawn);
    assert_true(text_equal(draw(&drawn, &drawn.proof), draw(&drawn, &drawn.proof)));
    loaded_close(&drawn.loaded);
}

static void every_element_is_closed(void **state)
{
    (void)state;
    struct drawn drawn;
    begin(&drawn);
    make_unsafe(&drawn);
    struct text svg = draw(&drawn, &drawn.proof);
    assert_true(
        text_starts(svg, TEXT("<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\"")));
    assert_true(text_ends(svg, TEXT("</svg>\n")));
    assert_int_equal(count_of(svg, "<text"), count_of(svg, "</text>"));
    assert_int_equal(count_of(svg, "<"), 2 * count_of(svg, "</") + count_of(svg, "/>"));
    loaded_close(&drawn.loaded);
}

static void wrapped_lines_are_no_wider_than_wanted(void **state)
{
    (void)state;
    struct text rest = TEXT("Push the chocks hard against both sides of a "
                            "wheelthatstaysonthegroundandisverylongindeed, twice.");
    size_t lines = 0;
    while (rest.length > 0) {
        struct text line = svg_wrap(&rest, 400, 32);
        assert_true(line.length > 0);
        assert_true(svg_width(line, 32) <= 400);
        lines++;
    }
    assert_in_range(lines, 4, 8);
}

static void what_does_not_fit_ends_in_an_ellipsis(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, out_of_memory);
    struct text lines[2];
    size_t count = svg_fit(TEXT("one two three four five six seven eight nine ten"), 200, 32,
                           lines, 2, &arena);
    assert_int_equal(count, 2);
    assert_true(text_ends(lines[1], TEXT("…")));
    assert_true(svg_width(lines[1], 32) <= 200);
    assert_int_equal(svg_fit(TEXT("one"), 200, 32, lines, 2, &arena), 1);
    assert_true(text_equal(lines[0], TEXT("one")));
    arena_close(&arena);
}

/* XML 1.0 (W3C, fifth edition), 2.2: U+FFFE and U+FFFF are no characters of a document. */
static void what_xml_forbids_is_replaced(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, out_of_memory);
    struct page page;
    page_begin(&page, &arena);
    struct svg svg = svg_begin(&page.writer, &arena);
    svg_words(&svg, "a\"b", 1, 2, TEXT("<\xEF\xBF\xBE&\t>"));
    assert_true(text_equal(page_text(&page), TEXT("<text class=\"a&quot;b\" x=\"1\" y=\"2\">"
                                                  "&lt;\xEF\xBF\xBD&amp; &gt;</text>")));
    arena_close(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_step_question_and_title_is_in_it),
        cmocka_unit_test(what_an_author_writes_is_never_mark_up),
        cmocka_unit_test(the_unsafe_path_is_numbered_struck_and_named),
        cmocka_unit_test(without_an_unsafe_path_nothing_is_marked),
        cmocka_unit_test(a_fault_at_the_end_stands_at_the_end),
        cmocka_unit_test(a_path_that_comes_by_often_keeps_its_marks_short),
        cmocka_unit_test(what_is_led_round_is_struck_though_no_event_tells_it),
        cmocka_unit_test(to_a_step_that_no_way_leads_to_none_is_drawn),
        cmocka_unit_test(each_unsafe_path_has_its_sheet_and_a_link_to_it),
        cmocka_unit_test(no_row_and_no_word_stands_across_the_cut_between_two_pages),
        cmocka_unit_test(the_same_input_gives_the_same_bytes),
        cmocka_unit_test(every_element_is_closed),
        cmocka_unit_test(wrapped_lines_are_no_wider_than_wanted),
        cmocka_unit_test(what_does_not_fit_ends_in_an_ellipsis),
        cmocka_unit_test(what_xml_forbids_is_replaced),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
