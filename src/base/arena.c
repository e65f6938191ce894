#include "base/arena.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#if defined(__SANITIZE_ADDRESS__)
#define ARENA_SANITIZED 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define ARENA_SANITIZED 1
#endif
#endif

#ifdef ARENA_SANITIZED
#include <sanitizer/asan_interface.h>
#define FENCE               16
#define forbid(from, bytes) ASAN_POISON_MEMORY_REGION((from), (bytes))
#define permit(from, bytes) ASAN_UNPOISON_MEMORY_REGION((from), (bytes))
#else
#define FENCE               0
#define forbid(from, bytes) ((void)(from), (void)(bytes))
#define permit(from, bytes) ((void)(from), (void)(bytes))
#endif

/* A block this large comes as fresh pages from the kernel: nothing of it is resident before it is
 * written, so a large capacity costs address space only.  That is also why it is not zeroed here. */
struct arena arena_open(size_t capacity, arena_exhausted_fn *exhausted)
{
    char *base = malloc(capacity > 0 ? capacity : 1);
    if (base == NULL) {
        exhausted(capacity);
        abort();
    }
    forbid(base, capacity);
    return (struct arena){base, base, base + capacity, exhausted};
}

void arena_close(struct arena *arena)
{
    if (arena->base != NULL)
        permit(arena->base, (size_t)(arena->limit - arena->base));
    free(arena->base);
    *arena = (struct arena){0};
}

void *arena_allocate(struct arena *arena, size_t size, size_t count, size_t alignment)
{
    size_t padding = (size_t)(-(uintptr_t)arena->next & (alignment - 1));
    size_t available = (size_t)(arena->limit - arena->next);
    size_t bytes = SIZE_MAX;

    if (__builtin_mul_overflow(size, count, &bytes))
        bytes = SIZE_MAX;
    if (__builtin_expect(available < padding + FENCE || bytes > available - padding - FENCE,
                         0)) {
        arena->exhausted(bytes);
        abort();
    }
    char *place = arena->next + padding;
    arena->next = place + bytes + FENCE;
    permit(place, bytes);
    return memset(place, 0, bytes);
}

struct arena_mark arena_mark(const struct arena *arena)
{
    return (struct arena_mark){arena->next};
}

void arena_rewind(struct arena *arena, struct arena_mark mark)
{
    forbid(mark.next, (size_t)(arena->next - mark.next));
    arena->next = mark.next;
}
