#include "job/say.h"
#include "support/walked_job.h"

/* Ratios: NIST SP 811 (2008), appendix B; the products and quotients by hand. */
static const char shed[] =
    HEAD "inputs:\n"
         "  used: {unit: L}\n"
         "  driven: {unit: km}\n"
         "  force: {unit: N}\n"
         "  arm: {unit: cm}\n"
         "  pressure: {unit: bar}\n"
         "  took: {unit: min}\n"
         "  current: {unit: A}\n"
         "  volts: {unit: V}\n"
         "  bore: {unit: mm}\n"
         "  stroke: {unit: mm}\n"
         "  warm: {unit: \"°C\"}\n"
         "  odd: {unit: psi}\n"
         "  speed: {unit: rpm}\n"
         "  load: {unit: kW}\n"
         "names:\n"
         "  rate: used / driven\n"
         "  area: 0.785398 * bore^2\n"
         "  work: pressure * used\n"
         "steps:\n"
         "  - step: last\n"
         "    do: >\n"
         "      A {used / driven}; B {rate}; C {use}; D {driven / used}; E {work}; F {force * "
         "arm};\n"
         "      G {used / took}; H {pressure / took}; I {volts * current}; J {area}; K {area * "
         "stroke};\n"
         "      L {used / area}; M {sqrt(bore * stroke)}; N {used * took}; O {pressure / (used "
         "* took)};\n"
         "      P {bore^4}; Q {warm - 10 °C}; R {6 / took}; S {odd * odd}; T {max(rate, 1 "
         "L/100km)};\n"
         "      U {load / speed}; V {-(work / took)}; W {2 * bore / stroke}; X {unnamed}; Y "
         "{driven / took};\n"
         "      Z {volts / took / took}; b {bore * driven};\n"
         "      c {abs(used) / driven}; d {sqrt(area) * took}; e {(used - 0.1 L) / driven}.\n"
         "results:\n"
         "  - {result: use, value: rate, unit: L/1000km}\n"
         "  - {result: unnamed, value: pressure * took * used}\n";

static struct text filled(struct walked *walked)
{
    static const char *const typed[] = {"0.4", "1000", "10", "5",  "5",   "10",   "5",
                                        "12",  "80",   "90", "30", "100", "3000", "15"};
    walked_begin(walked, shed);
    for (size_t i = 0; i < sizeof typed / sizeof *typed; i++)
        walked_say(walked, typed[i]);
    assert_prompt(walked, PROMPT_ACTION, "last");
    return job_fill(walked->job, &walked->prompt.work->step->action, &walked->prompt.spot,
                    &walked->scratch);
}

static void what_is_declared_or_shown_as_a_result_is_said_in_its_unit(void **state)
{
    (void)state;
    struct walked walked;
    struct text said = filled(&walked);
    assert_says(said, "B 0.4\u00a0L/1000km;");
    assert_says(said, "C 0.4\u00a0L/1000km;");
    assert_says(said, "T 10\u00a0L/1000km;");
    walked_close(&walked);
}

static void one_thing_per_another_is_said_so(void **state)
{
    (void)state;
    struct walked walked;
    struct text said = filled(&walked);
    assert_says(said, "A 0.0004\u00a0L/km;");
    assert_says(said, "D 2500\u00a0km/L;");
    assert_says(said, "E 2\u00a0bar·L;");
    assert_says(said, "F 50\u00a0cN·m;");
    assert_says(said, "G 0.04\u00a0L/min;");
    assert_says(said, "H 0.5\u00a0bar/min;");
    assert_says(said, "I 60\u00a0W;"); /* V·A */
    assert_says(said, "R 0.6\u00a01/min;");
    assert_says(said, "c 0.0004\u00a0L/km;");
    assert_says(said, "e 0.0003\u00a0L/km.");
    assert_says(said, "Y 100\u00a0km/min;");
    walked_close(&walked);
}

/* pi/4 * 80^2 = 5026.55 mm²; times 90 mm 452.39 cm³; 0.4 L over it 79.58 mm; sqrt(80 * 90) = 84.85. */
static void a_length_a_surface_and_a_volume_are_said_in_their_own(void **state)
{
    (void)state;
    struct walked walked;
    struct text said = filled(&walked);
    assert_says(said, "J 5027\u00a0mm²;");
    assert_says(said, "K 0.4524\u00a0L;");
    assert_says(said, "L 79.58\u00a0mm;");
    assert_says(said, "M 84.85\u00a0mm;");
    assert_says(said, "W 1.778;");
    assert_says(said, "b 80000000000\u00a0mm²;");
    walked_close(&walked);
}

static void what_has_no_unit_of_its_own_is_said_in_those_of_its_parts(void **state)
{
    (void)state;
    struct walked walked;
    struct text said = filled(&walked);
    assert_says(said, "N 4\u00a0L·min;");
    assert_says(said, "O 1.25\u00a0bar/(L·min);");
    assert_says(said, "d 709\u00a0mm·min;");
    assert_says(said, "P 40960000\u00a0mm^4;");
    assert_says(said, "X 20\u00a0bar·min·L;");
    assert_says(said, "Z 0.12\u00a0V/min²;");
    walked_close(&walked);
}

static void what_nobody_would_say_is_said_in_the_usual_unit(void **state)
{
    (void)state;
    struct walked walked;
    struct text said = filled(&walked);
    assert_says(said, "Q 20\u00a0K;");
    assert_says(said, "U 47.75\u00a0N·m;"); /* 15 kW at 3000 rpm = 314.16 rad/s */
    /* 100 psi = 689 475.7 Pa; its square is beyond whole numbers as a ratio */
    assert_says(said, "S 475376781317\u00a0kg2/");
    assert_says(said, "V -0.0003333\u00a0kW;"); /* 200 J in ten minutes */
    walked_close(&walked);
}

static void a_result_without_a_unit_is_said_as_the_blank_is(void **state)
{
    (void)state;
    struct walked walked;
    struct text said = filled(&walked);
    const struct procedure *procedure = walked.sound.procedure;
    for (size_t i = 0; i < procedure->result_count; i++) {
        const struct result *result = &procedure->results[i];
        const struct unit *unit =
            say_unit(&walked.scratch, walked.fitted, result->definition.value);
        assert_says(said, text_terminated(&walked.scratch, unit->symbol));
    }
    walked_close(&walked);
}

static void a_text_or_a_truth_has_no_unit(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "inputs:\n"
                      "  oil: {choices: [thin, thick]}\n"
                      "steps:\n"
                      "  - {step: last, do: \"It is {oil}; {oil == \\\"thin\\\"}.\"}\n");
    walked_say(&walked, "thin");
    const struct template *action = &walked.prompt.work->step->action;
    size_t looked_at = 0;
    for (size_t i = 0; i < action->piece_count; i++)
        if (action->pieces[i].value != NULL) {
            assert_null(say_unit(&walked.scratch, walked.fitted, action->pieces[i].value));
            looked_at++;
        }
    assert_int_equal(looked_at, 2);
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_declared_or_shown_as_a_result_is_said_in_its_unit),
        cmocka_unit_test(one_thing_per_another_is_said_so),
        cmocka_unit_test(a_length_a_surface_and_a_volume_are_said_in_their_own),
        cmocka_unit_test(what_has_no_unit_of_its_own_is_said_in_those_of_its_parts),
        cmocka_unit_test(what_nobody_would_say_is_said_in_the_usual_unit),
        cmocka_unit_test(a_result_without_a_unit_is_said_as_the_blank_is),
        cmocka_unit_test(a_text_or_a_truth_has_no_unit),
    };
    return cmocka_run_group_tests_name("job/composed_unit", tests, NULL, NULL);
}
