#ifndef CHAIN_H
#define CHAIN_H
/*
 * chain.h - digests, and how each event carries the one before.
 *
 * Purpose   Somebody who changes an old answer in the file would have to change
 *           every event after it, and the digest printed on the card.
 * Owns      what goes into a digest, and in which order.
 * May call  base; libmd.
 *
 * A digest is SHA-256 (FIPS 180-4) in lower-case hexadecimal.  A chained digest
 * is taken over its fields, each preceded by its length in bytes in decimal
 * and a colon, so that no two lists of fields read the same.
 */
#include "base/text.h"

enum { DIGEST_LENGTH = 64 };

struct digest {
    char hexadecimal[DIGEST_LENGTH];
};

struct digest digest_of(struct text bytes);
struct digest digest_of_fields(const struct text *fields, size_t count, struct arena *scratch);
/* previous, job, number, kind, body */
struct digest digest_of_event(struct text previous, unsigned job, unsigned number,
                              struct text kind, struct text body, struct arena *scratch);
/* A view of the digest. */
struct text digest_text(const struct digest *digest);

#endif
