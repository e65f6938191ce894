#ifndef PICTURE_FILE_H
#define PICTURE_FILE_H
/*
 * picture_file.h - the picture of check, in a file.
 *
 * Purpose   A picture is drawn anew whenever its procedure changes, so an older
 *           one is written over; nothing but a picture ever is.
 * Owns      the rule for its name.
 * May call  command.h, report/picture.h.
 */
#include "command.h"

/* Prints what was written, unless quiet, or why nothing was. */
enum status picture_file_write(struct world *world, struct text path,
                               const struct procedure *procedure, const struct proof *proof,
                               bool is_quiet);

#endif
