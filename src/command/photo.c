/* A picture that somebody names at a prompt. */
#include "command.h"

#include <stdlib.h>

static struct text with_home(struct text path, struct arena *arena)
{
    const char *home = getenv("HOME");
    if (!text_starts(path, TEXT("~/")) || home == NULL || home[0] == '\0')
        return path;
    return text_fill(arena, "{}{}", text_from(home), text_slice(path, 1, path.length));
}

static bool has_at(struct text bytes, size_t at, struct text wanted)
{
    return bytes.length >= at + wanted.length &&
           text_equal(text_slice(bytes, at, at + wanted.length), wanted);
}

/* ISO/IEC 23008-12 (2022), annex B: the brands of a still picture or a series of them. */
static bool is_heic(struct text bytes)
{
    static const struct text brands[] = {TEXT_CONSTANT("heic"), TEXT_CONSTANT("heix"),
                                         TEXT_CONSTANT("heim"), TEXT_CONSTANT("heis"),
                                         TEXT_CONSTANT("hevc"), TEXT_CONSTANT("hevx"),
                                         TEXT_CONSTANT("mif1"), TEXT_CONSTANT("msf1")};
    if (!has_at(bytes, 4, TEXT("ftyp")))
        return false;
    for (size_t i = 0; i < sizeof brands / sizeof *brands; i++)
        if (has_at(bytes, 8, brands[i]))
            return true;
    return false;
}

/* By its first bytes: JPEG (ISO/IEC 10918-1, B.1.1.3), PNG (ISO/IEC 15948, 5.2), WebP (RFC 9649,
 * 2.4), TIFF (revision 6.0, section 2), HEIC. */
static bool is_picture(struct text bytes)
{
    return has_at(bytes, 0, TEXT("\xFF\xD8\xFF")) ||
           has_at(bytes, 0, TEXT("\x89PNG\r\n\x1A\n")) ||
           (has_at(bytes, 0, TEXT("RIFF")) && has_at(bytes, 8, TEXT("WEBP"))) ||
           has_at(bytes, 0, TEXT("II*\0")) || has_at(bytes, 0, TEXT("MM\0*")) || is_heic(bytes);
}

bool photo_read(void *self, struct text typed, struct text *bytes, struct arena *arena,
                struct failure *failure)
{
    (void)self;
    struct text path = with_home(typed, arena);
    const struct source *source;
    if (!file_read_up_to(PHOTO_BYTES_MAX, path, &source, arena, failure))
        return false;
    if (!is_picture(source->bytes)) {
        *failure = (struct failure){TEXT("keep"), path,
                                    TEXT("it is no picture (JPEG, PNG, WebP, HEIC or TIFF)")};
        return false;
    }
    *bytes = source->bytes;
    return true;
}
