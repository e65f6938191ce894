#include "measure/uncertainty.h"

#include <math.h>

static size_t term_count(const struct gradient *gradient)
{
    return gradient == NULL ? 0 : gradient->count;
}

static struct gradient *gradient_new(struct arena *arena, size_t count)
{
    size_t bytes = sizeof(struct gradient) + count * sizeof(struct error_term);
    return arena_allocate(arena, 1, bytes, alignof(struct gradient));
}

const struct gradient *gradient_combine(struct arena *arena, const struct gradient *a,
                                        double slope_a, const struct gradient *b,
                                        double slope_b)
{
    size_t count_a = term_count(a);
    size_t count_b = term_count(b);
    if (count_a + count_b == 0)
        return NULL;
    struct gradient *sum = gradient_new(arena, count_a + count_b);
    size_t i = 0;
    size_t j = 0;
    while (i < count_a || j < count_b) {
        bool takes_a =
            j == count_b || (i < count_a && a->terms[i].source <= b->terms[j].source);
        bool takes_b =
            i == count_a || (j < count_b && b->terms[j].source <= a->terms[i].source);
        struct error_term *term = &sum->terms[sum->count++];
        if (takes_a) {
            term->source = a->terms[i].source;
            term->slope += slope_a * a->terms[i++].slope;
        }
        if (takes_b) {
            term->source = b->terms[j].source;
            term->slope += slope_b * b->terms[j++].slope;
        }
        if (term->slope == 0)
            sum->count--;
        if (term->slope == 0)
            *term = (struct error_term){0};
    }
    return sum->count > 0 ? sum : NULL;
}

double gradient_combined(const struct gradient *gradient)
{
    double largest = 0;
    for (size_t i = 0; i < term_count(gradient); i++)
        largest = fmax(largest, fabs(gradient->terms[i].slope));
    if (largest == 0)
        return 0;
    double sum =
        0; /* of squares relative to the largest, which can neither overflow nor vanish */
    for (size_t i = 0; i < term_count(gradient); i++) {
        double relative = gradient->terms[i].slope / largest;
        sum += relative * relative;
    }
    return largest * sqrt(sum);
}
