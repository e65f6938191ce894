#include "procedure/procedure.h"

bool work_is_each(const struct work *work)
{
    return work->kind != WORK_REPEAT && work->loop.index != INDEX_NONE;
}

bool work_is_ruled_out(const struct work *work,
                       bool (*is_known)(void *self, const struct expression *when, bool truth),
                       void *self)
{
    for (; work != NULL; work = work->parent) {
        if (work->when != NULL && is_known(self, work->when, false))
            return true;
        const struct work *either = work->parent;
        if (either == NULL || either->kind != WORK_EITHER)
            continue;
        for (size_t i = 0; either->children[i] != work; i++) {
            const struct expression *earlier = either->children[i]->when;
            if (earlier == NULL || is_known(self, earlier, true))
                return true;
        }
    }
    return false;
}

struct text say_name(struct arena *arena, struct text name)
{
    size_t from = 0;
    for (size_t i = 0; i < name.length; i++)
        if (name.bytes[i] == '.')
            from = i + 1;
    char *words = arena_array(arena, char, name.length - from);
    for (size_t i = from; i < name.length; i++)
        words[i - from] = name.bytes[i];
    for (size_t i = 0; i < name.length - from; i++)
        if (words[i] == '_')
            words[i] = ' ';
    return (struct text){words, name.length - from};
}
