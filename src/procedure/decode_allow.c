#include "procedure/loading.h"

/* `allow`: a writing rule that does not hold here, and why. */

static bool find_rule(struct text code, enum finding *rule)
{
    for (unsigned i = 0; i < FINDING_COUNT; i++)
        if (text_equal(code, text_from(finding_code((enum finding)i)))) {
            *rule = (enum finding)i;
            return true;
        }
    return false;
}

/* Why this one cannot be silenced; NULL: it can. */
static const char *why_not(struct text code, enum finding *rule)
{
    if (!find_rule(code, rule))
        return "there is no such rule";
    if (code.bytes[0] != 'W')
        return "it is no rule of writing";
    if (finding_severity(*rule) == SEVERITY_ERROR)
        return "it is an error, not a warning";
    return *rule == FINDING_ALLOW_UNUSED ? "take out what is not used instead" : NULL;
}

static bool has_two_words(struct text reason)
{
    struct text word;
    unsigned words = 0;
    while (text_cut(&reason, ' ', &word))
        words += text_trim(word).length > 0;
    return words >= 2;
}

const struct allowance *read_allow(struct loader *loader, const struct yaml_node *key,
                                   size_t *count)
{
    *count = 0;
    if (!wants_shape(loader, key, SHAPE_MAP))
        return NULL;
    struct allowance *all = arena_array(loader->arena, struct allowance, key->next->count);
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next) {
        struct allowance *allowance = &all[*count];
        *allowance = (struct allowance){.place = at->place};
        const char *reason_not = why_not(at->text, &allowance->rule);
        if (reason_not != NULL)
            report(loader->found, FINDING_NOT_ALLOWED, at->place, at->text,
                   text_from(reason_not));
        else if (!read_text(loader, at, &allowance->reason))
            continue;
        else if (!has_two_words(allowance->reason))
            report(loader->found, FINDING_ALLOWED_UNEXPLAINED, at->next->place, at->text);
        else
            ++*count;
    }
    return all;
}
