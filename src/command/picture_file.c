#include "picture_file.h"

#include "report/picture.h"

#include <errno.h>
#include <stdio.h>

static bool write_over(struct text path, struct text bytes, struct arena *arena,
                       struct failure *failure)
{
    *failure = (struct failure){.operation = TEXT("write"), .object = path};
    FILE *file = fopen(text_terminated(arena, path), "we");
    bool is_written =
        file != NULL && fwrite(bytes.bytes, 1, bytes.length, file) == bytes.length;
    failure->reason = text_copy(arena, text_from(strerror(errno)));
    bool is_closed = file != NULL && fclose(file) == 0;
    if (is_written && !is_closed)
        failure->reason = text_copy(arena, text_from(strerror(errno)));
    return is_written && is_closed;
}

enum status picture_file_write(struct world *world, struct text path,
                               const struct procedure *procedure, const struct proof *proof,
                               bool is_quiet)
{
    struct arena *arena = &world->scratch;
    /* What was misread would be missing in it: a branch, a need. */
    if (procedure == NULL || proof->verdict == PROOF_MISTAKES) {
        if (!is_quiet)
            print_text(TEXT("No picture: it would lack what could not be read.\n"));
        return STATUS_NO;
    }
    struct page page;
    struct failure failure;
    page_begin(&page, arena);
    picture_write(procedure, proof, &page.writer, arena);
    if (!write_over(path, page_text(&page), arena, &failure))
        return fail(failure);
    if (!is_quiet)
        print_text(text_fill(arena, "  Drawn: {}\n", path));
    return STATUS_FINE;
}
