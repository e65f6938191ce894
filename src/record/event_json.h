#ifndef EVENT_JSON_H
#define EVENT_JSON_H
/*
 * event_json.h - an event as one line of JSON, and back.
 *
 * Purpose   What stands in the record can be read in twenty years without this
 *           program.  Nothing an event holds is lost, whatever its kind; what
 *           its kind is about is always written, also when it is empty.
 * Owns      the names of kinds and fields.  schemas/event.schema.json says the
 *           same; tests/record/check_event_schema.py compares.
 * May call  base; jansson.
 *
 * A number that somebody measured, and one of 64 bits, travels as a string:
 * 17 significant digits give back every double exactly (IEEE 754-2008, 5.12.2).
 */
#include "job/event.h"

/* For ATTACHED, the digest of its bytes ("sha256:…") goes into `source`; the bytes do not. */
struct text event_json_write(const struct event *event, struct arena *arena);

/* Strict: an unknown key, a missing one, a wrong type is false with `flaw` in words. */
bool event_json_read(struct text body, struct event *event, struct text *flaw,
                     struct arena *arena);

const char *event_kind_name(enum event_kind kind); /* "answered" */

#endif
