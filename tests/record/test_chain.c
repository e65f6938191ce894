#include "record/chain.h"
#include "record_fixture.h"

static void expect_digest(struct text bytes, const char *digest)
{
    struct digest found = digest_of(bytes);
    assert_memory_equal(found.hexadecimal, digest, DIGEST_LENGTH);
}

/* NIST, "Examples with Intermediate Values", SHA-256, one and two blocks; and the empty message of
 * the NIST CAVP byte-oriented short message vectors. */
static void digests_are_those_of_the_standard(void **state)
{
    (void)state;
    expect_digest(TEXT("abc"),
                  "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    expect_digest(TEXT("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
                  "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    expect_digest((struct text){0},
                  "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

static void two_lists_of_fields_never_read_the_same(void **state)
{
    struct fixture *fixture = *state;
    const struct text one[] = {TEXT("ab"), TEXT("c")}, other[] = {TEXT("a"), TEXT("bc")};
    struct digest first = digest_of_fields(one, 2, &fixture->arena);
    struct digest second = digest_of_fields(other, 2, &fixture->arena);
    assert_memory_not_equal(first.hexadecimal, second.hexadecimal, DIGEST_LENGTH);
    struct digest written_out = digest_of(TEXT("2:ab1:c"));
    assert_memory_equal(first.hexadecimal, written_out.hexadecimal, DIGEST_LENGTH);
}

static void everything_about_an_event_changes_its_digest(void **state)
{
    struct fixture *fixture = *state;
    struct arena *arena = &fixture->arena;
    const struct digest digests[] = {
        digest_of_event(TEXT("p"), 1, 2, TEXT("read"), TEXT("{}"), arena),
        digest_of_event(TEXT("q"), 1, 2, TEXT("read"), TEXT("{}"), arena),
        digest_of_event(TEXT("p"), 2, 2, TEXT("read"), TEXT("{}"), arena),
        digest_of_event(TEXT("p"), 1, 3, TEXT("read"), TEXT("{}"), arena),
        digest_of_event(TEXT("p"), 1, 2, TEXT("done"), TEXT("{}"), arena),
        digest_of_event(TEXT("p"), 1, 2, TEXT("read"), TEXT("{ }"), arena)};
    for (size_t i = 0; i < sizeof digests / sizeof *digests; i++)
        for (size_t j = 0; j < i; j++)
            assert_memory_not_equal(digests[i].hexadecimal, digests[j].hexadecimal,
                                    DIGEST_LENGTH);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(digests_are_those_of_the_standard),
        cmocka_unit_test_setup_teardown(two_lists_of_fields_never_read_the_same, fixture_begin,
                                        fixture_end),
        cmocka_unit_test_setup_teardown(everything_about_an_event_changes_its_digest,
                                        fixture_begin, fixture_end)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
