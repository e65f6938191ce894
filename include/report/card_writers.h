#ifndef REPORT_CARD_WRITERS_H
#define REPORT_CARD_WRITERS_H
/*
 * card_writers.h - a card in one format or another.
 *
 * Purpose   Each writer knows the document and nothing of jobs.
 * Owns      layout.
 * May call  base, report/card.h.
 */
#include "base/writer.h"
#include "report/card.h"

/* Plain text, at most `width` columns (20 or more). */
void text_card_write(const struct card *card, unsigned width, struct writer *writer,
                     struct arena *scratch);

#endif
