#include "chain.h"

#include <stdint.h>
#include <sys/types.h>

#include <sha2.h>

static struct digest finished(SHA2_CTX *context)
{
    static const char figures[] = "0123456789abcdef";
    uint8_t bytes[SHA256_DIGEST_LENGTH];
    SHA256Final(bytes, context);
    struct digest digest;
    for (size_t i = 0; i < sizeof bytes; i++) {
        digest.hexadecimal[2 * i] = figures[bytes[i] >> 4];
        digest.hexadecimal[2 * i + 1] = figures[bytes[i] & 0xF];
    }
    return digest;
}

static void add(SHA2_CTX *context, struct text bytes)
{
    if (bytes.length > 0)
        SHA256Update(context, (const uint8_t *)bytes.bytes, bytes.length);
}

struct digest digest_of(struct text bytes)
{
    SHA2_CTX context;
    SHA256Init(&context);
    add(&context, bytes);
    return finished(&context);
}

struct digest digest_of_fields(const struct text *fields, size_t count, struct arena *scratch)
{
    SHA2_CTX context;
    SHA256Init(&context);
    for (size_t i = 0; i < count; i++) {
        add(&context, text_number(scratch, (long long)fields[i].length));
        add(&context, TEXT(":"));
        add(&context, fields[i]);
    }
    return finished(&context);
}

struct digest digest_of_event(struct text previous, unsigned job, unsigned number,
                              struct text kind, struct text body, struct arena *scratch)
{
    const struct text fields[] = {previous, text_number(scratch, job),
                                  text_number(scratch, number), kind, body};
    return digest_of_fields(fields, sizeof fields / sizeof *fields, scratch);
}

struct text digest_text(const struct digest *digest)
{
    return (struct text){digest->hexadecimal, DIGEST_LENGTH};
}
