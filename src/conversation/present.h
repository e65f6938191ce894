#ifndef CONVERSATION_PRESENT_H
#define CONVERSATION_PRESENT_H
/*
 * present.h - what a person sees: everything a session tells between two questions.
 *
 * Purpose   Short paragraphs that read well at 40 columns, in a log and aloud.
 *           Nothing here asks, decides or records.
 * Owns      the words around a step, the opening, sections, a pause, the end.
 * May call  job, outcome.
 */
#include "conversation/session.h"

/* What was told already, so that an answer refused does not bring the whole step again. */
struct talk {
    struct session *session;
    bool has_spot; /* the headline of this spot was told */
    struct spot spot;
    bool messages_told; /* at this spot */
    bool action_told;
    const struct work *inside; /* the innermost work the person was last at, or NULL */
    struct spot inside_spot;
    const struct work *away_told;    /* its card was shown */
    const struct trial *design_told; /* what it can show was */
};

void talk_tell(struct talk *talk, enum tone tone, struct text paragraph);
/* The scratch arena of the session. */
struct arena *talk_scratch(const struct talk *talk);
/* One paragraph for each item, with a dash in front. */
void talk_list(struct talk *talk, enum tone tone, const struct text *items, size_t count);

/* "DANGER: The vehicle can fall. Crushing." */
struct text present_message_words(struct arena *arena, enum signal signal, struct text hazard,
                                  struct text harm);

/* Before a new job. */
void present_opening(struct talk *talk);
void present_kit(struct talk *talk);

/* What belongs in front of this prompt and was not told yet: sections left and entered, the headline,
 * warnings, the action. */
void present_before(struct talk *talk, const struct prompt *prompt, struct instant now);
/* Before the hands go in: everything that could hurt in the section, worst of each step first.  False
 * if this is no such prompt, its card was shown, or there is nothing to warn of. */
bool present_away_messages(struct talk *talk, const struct prompt *prompt);
void present_away_card(struct talk *talk, const struct prompt *prompt);
/* Everything is said again at the next prompt. */
void present_forget(struct talk *talk);
/* A step is about to be entered: sections that end before it are said now, while what is open is not
 * yet what that step opens. */
void present_going_to(struct talk *talk, const struct event *entered);
/* The last sections are left: the work is over. */
void present_work_over(struct talk *talk);

/* Worst first. */
void present_messages(struct talk *talk, const struct step *step, const struct spot *spot);
void present_action(struct talk *talk, const struct step *step, const struct spot *spot);
/* What hangs on the step, if much does or nobody knows. */
void present_hanging(struct talk *talk, const struct work *step);
void present_why(struct talk *talk, const struct work *work, const struct spot *spot);
/* Timers that run, one paragraph each. */
void present_timers(struct talk *talk, struct instant now);
/* How far, what is out, timers, what comes next. */
void present_where(struct talk *talk, const struct prompt *prompt, struct instant now);

void present_makesafe(struct talk *talk, struct instant now);
void present_paused(struct talk *talk, struct instant now);
/* After a pause or a crash: how long it was, the last three steps, what is asked again. */
void present_resumed(struct talk *talk, struct instant now);
void present_end(struct talk *talk);

bool present_stands_in(const struct work *work, const struct work *section);
/* "Dry test · cylinder 3": where a spot is. */
struct text present_place(struct talk *talk, const struct work *work, const struct spot *spot);

#endif
