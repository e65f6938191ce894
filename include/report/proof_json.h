#ifndef REPORT_PROOF_JSON_H
#define REPORT_PROOF_JSON_H
/*
 * proof_json.h - what check found, for other programs.
 *
 * Purpose   An editor or a script gets the findings with their places, and the
 *           proof with its paths, without reading sentences.
 * Owns      the names of docs/check-json.md and schemas/check.schema.json.
 * May call  base, procedure, verify.
 */
#include "base/writer.h"
#include "verify/verify.h"

struct checked_file {
    struct text path;
    const struct diagnostics *found;
    const struct procedure *procedure; /* NULL: not one, or it cannot be used */
    const struct proof *proof;         /* NULL: no proof was tried */
};

/* One JSON object in one line, and a newline. */
void proof_json_write(const struct checked_file *checked, struct writer *writer,
                      struct arena *scratch);

#endif
