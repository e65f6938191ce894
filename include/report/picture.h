#ifndef REPORT_PICTURE_H
#define REPORT_PICTURE_H
/*
 * picture.h - a procedure as a picture, with the unsafe path marked in it.
 *
 * Purpose   An author sees at a glance where the work can go, what each step
 *           needs and changes, and by which way somebody comes to a step
 *           without its precaution.  One SVG file, as wide as a sheet of A4,
 *           from top to bottom; its text stays text.
 * Owns      layout, drawing, the escaping of text.
 * May call  base, procedure, verify.
 *
 * Signal words stand as words beside a shape; the colours (ANSI Z535.1) only
 * repeat them.  The same procedure and proof give the same bytes.
 */
#include "base/writer.h"
#include "verify/verify.h"

/* proof: NULL: not examined, which the picture says.  Each of its paths, the shortest first, is marked on a sheet
 * of its own, one below the other, and each sheet begins on a new page when it is printed on A4. */
void picture_write(const struct procedure *procedure, const struct proof *proof,
                   struct writer *writer, struct arena *scratch);

#endif
