#include "language.h"

struct function_row {
    struct text name;
    const char *spelled, *signature;
};

static const struct function_row functions[] = {
#define FUNCTION(name, minimum, maximum, signature, summary)                                   \
    {{#name, sizeof(#name) - 1}, #name, signature},
#include "expression/function_list.h"
#undef FUNCTION
};

const char *function_name(enum function function)
{
    return functions[function].spelled;
}

const char *function_signature(enum function function)
{
    return functions[function].signature;
}

/* Looked for only where a name stands before `(`; lengths tell nearly all of them apart. */
bool function_find(struct text name, enum function *function)
{
    for (int i = 0; i < FUNCTION_COUNT; i++)
        if (functions[i].name.length == name.length && text_equal(functions[i].name, name)) {
            *function = (enum function)i;
            return true;
        }
    return false;
}

struct text function_nearest(struct text name)
{
    struct text names[FUNCTION_COUNT];
    for (int i = 0; i < FUNCTION_COUNT; i++)
        names[i] = functions[i].name;
    return text_nearest(name, names, FUNCTION_COUNT);
}

bool expression_reserves(struct text word)
{
    enum function function;
    return text_equal(word, TEXT("and")) || text_equal(word, TEXT("or")) ||
           text_equal(word, TEXT("not")) || text_equal(word, TEXT("in")) ||
           text_equal(word, TEXT("pi")) || function_find(word, &function);
}
