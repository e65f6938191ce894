#include "base/arena.h"
#include "base/check.h"

#include <stdio.h>

static jmp_buf exhausted_here;
static size_t exhausted_by;

static void note_exhaustion(size_t bytes_wanted)
{
    exhausted_by = bytes_wanted;
    longjmp(exhausted_here, 1);
}

static void hands_out_zeroed_memory_at_the_right_alignment(void **state)
{
    (void)state;
    struct arena arena = arena_open(4096, note_exhaustion);
    (void)arena_array(&arena, char, 3);
    double *numbers = arena_array(&arena, double, 5);
    assert_int_equal((uintptr_t)numbers % alignof(double), 0);
    for (int i = 0; i < 5; i++)
        assert_true(numbers[i] == 0.0);
    arena_close(&arena);
}

static void memory_used_before_a_rewind_is_zeroed_again(void **state)
{
    (void)state;
    struct arena arena = arena_open(4096, note_exhaustion);
    struct arena_mark mark = arena_mark(&arena);
    memset(arena_array(&arena, char, 1000), 0xAA, 1000);
    arena_rewind(&arena, mark);
    const char *again = arena_array(&arena, char, 1000);
    for (int i = 0; i < 1000; i++)
        assert_int_equal(again[i], 0);
    arena_close(&arena);
}

static void calls_its_owner_instead_of_returning_null(void **state)
{
    (void)state;
    struct arena arena = arena_open(64, note_exhaustion);
    if (setjmp(exhausted_here) == 0) {
        (void)arena_array(&arena, char, 65);
        fail_msg("65 bytes came out of 64");
    }
    assert_int_equal(exhausted_by, 65);
    arena_close(&arena);
}

static void a_count_that_overflows_is_exhaustion(void **state)
{
    (void)state;
    struct arena arena = arena_open(64, note_exhaustion);
    if (setjmp(exhausted_here) == 0) {
        (void)arena_array(&arena, double, SIZE_MAX / 4);
        fail_msg("an impossible array was handed out");
    }
    assert_true(exhausted_by == SIZE_MAX);
    arena_close(&arena);
}

static void nothing_is_never_null(void **state)
{
    (void)state;
    struct arena arena = arena_open(64, note_exhaustion);
    assert_non_null(arena_array(&arena, double, 0));
    arena_close(&arena);
}

static void rewinding_gives_the_same_place_again(void **state)
{
    (void)state;
    struct arena arena = arena_open(4096, note_exhaustion);
    struct arena_mark mark = arena_mark(&arena);
    int *before = arena_new(&arena, int);
    arena_rewind(&arena, mark);
    assert_ptr_equal(before, arena_new(&arena, int));
    arena_close(&arena);
}

/* The second number of /proc/self/statm: pages in memory. */
static long resident_pages(void)
{
    FILE *file = fopen("/proc/self/statm", "r");
    assert_non_null(file);
    long pages = 0;
    assert_int_equal(fscanf(file, "%*d %ld", &pages), 1);
    fclose(file);
    return pages;
}

static void a_large_reservation_is_not_touched_before_it_is_used(void **state)
{
    (void)state;
#ifdef __SANITIZE_ADDRESS__
    skip(); /* the sanitizer keeps notes about every byte */
#endif
    enum { PAGES_OF_ONE_MEBIBYTE = 256 };
    long before = resident_pages();
    struct arena arena = arena_open(256 * MEBIBYTE, note_exhaustion);
    (void)arena_array(&arena, char, 4096);
    assert_true(resident_pages() - before < PAGES_OF_ONE_MEBIBYTE);
    arena_close(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hands_out_zeroed_memory_at_the_right_alignment),
        cmocka_unit_test(memory_used_before_a_rewind_is_zeroed_again),
        cmocka_unit_test(calls_its_owner_instead_of_returning_null),
        cmocka_unit_test(a_count_that_overflows_is_exhaustion),
        cmocka_unit_test(nothing_is_never_null),
        cmocka_unit_test(rewinding_gives_the_same_place_again),
        cmocka_unit_test(a_large_reservation_is_not_touched_before_it_is_used),
    };
    return cmocka_run_group_tests_name("base/arena", tests, NULL, NULL);
}
