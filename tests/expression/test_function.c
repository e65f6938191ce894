#include "world.h"

static void words_and_functions_are_reserved(void **state)
{
    (void)state;
    static const char *const words[] = {"and", "or", "not", "in", "pi"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        assert_true(expression_reserves(text_from(words[i])));
    for (int i = 0; i < FUNCTION_COUNT; i++)
        assert_true(expression_reserves(text_from(function_name((enum function)i))));
    assert_false(expression_reserves(TEXT("dry")));
    assert_false(expression_reserves(TEXT("mi")));
    assert_false(expression_reserves(TEXT("mins")));
    assert_false(expression_reserves(TEXT("")));
}

static void every_function_says_how_it_is_used(void **state)
{
    (void)state;
    for (int i = 0; i < FUNCTION_COUNT; i++) {
        enum function function = (enum function)i;
        struct text signature = text_from(function_signature(function));
        assert_true(text_starts(signature, text_from(function_name(function))));
    }
}

static void values_are_made_whole(void **state)
{
    (void)state;
    struct world *world = world_open();
    struct value number = value_number(&world->arena, 3, (struct kind){0});
    assert_int_equal(number.count, 1);
    assert_int_equal(number.type.index, INDEX_NONE);
    assert_near(number.items[0].number.value, 3, 0);
    assert_null(number.items[0].number.gradient);
    assert_text(value_words(&world->arena, TEXT("brown")).items[0].text, "brown");
    struct type type = {.base = TYPE_TRUTH, .index = CYLINDER};
    struct value missing = value_missing(&world->arena, type, 4, TEXT("dry"));
    assert_int_equal(missing.count, 4);
    for (size_t i = 0; i < 4; i++) {
        assert_true(missing.items[i].is_missing);
        assert_text(missing.items[i].missing_name, "dry");
    }
    world_close(world);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(words_and_functions_are_reserved),
        cmocka_unit_test(every_function_says_how_it_is_used),
        cmocka_unit_test(values_are_made_whole),
    };
    return cmocka_run_group_tests_name("expression/function", tests, NULL, NULL);
}
