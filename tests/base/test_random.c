/*
 * What is drawn, and that it is drawn again.
 */
#include "base/check.h"
#include "base/random.h"

/* The first numbers of splitmix64 from the seeds 0 and 1234567: from memory. */
static void the_first_numbers_are_those_of_splitmix64(void **state)
{
    (void)state;
    uint64_t zero = 0, other = 1234567;
    assert_true(random_next(&zero) == 0xe220a8397b1dcdafU);
    assert_true(random_next(&other) == 6457827717110365317U);
    assert_true(random_next(&other) == 3203168211198807973U);
    assert_true(random_next(&other) == 9817491932198370423U);
}

static void the_same_seed_draws_the_same(void **state)
{
    (void)state;
    uint64_t one = 42, two = 42, other = 43;
    uint64_t drawn = random_next(&one);
    assert_true(drawn == random_next(&two));
    assert_true(drawn != random_next(&other));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_first_numbers_are_those_of_splitmix64),
        cmocka_unit_test(the_same_seed_draws_the_same),
    };
    return cmocka_run_group_tests_name("base/random", tests, NULL, NULL);
}
