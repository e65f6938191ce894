#ifndef VERIFY_VERIFY_H
#define VERIFY_VERIFY_H
/*
 * verify.h - what must be true of a procedure before anyone follows it.
 *
 * Purpose   A job can be begun with a `struct sound_procedure` only, and only
 *           this module makes one.
 * Owns      that type, and what it claims.
 * May call  base, measure, expression, procedure, safety.
 *
 * The claim so far: the file was read without an error, so every name, kind,
 * gate and restoring step in it is there.  Whether every precaution is reached
 * on every path is not examined yet, and whoever prints a verdict must say so
 * (`paths_examined`).
 *
 * A part is never sound: what it needs and what it leaves was not looked at,
 * because only the procedure that follows it can show that.
 */
#include "procedure/procedure.h"

struct sound_procedure {
    const struct procedure *procedure;
    bool paths_examined;
};

enum soundness {
    SOUNDNESS_SOUND,
    SOUNDNESS_MISTAKES, /* errors were found, or there is no procedure */
    SOUNDNESS_PART      /* no error in it, but it is proven in what follows it */
};
enum soundness verify_soundness(const struct procedure *procedure,
                                const struct diagnostics *found);

/* False unless it is sound. */
bool verify_procedure(const struct procedure *procedure, const struct diagnostics *found,
                      struct sound_procedure *sound);

#endif
