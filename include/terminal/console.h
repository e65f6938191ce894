#ifndef TERMINAL_CONSOLE_H
#define TERMINAL_CONSOLE_H
/*
 * console.h - the session's console on a real terminal, or on plain streams.
 *
 * Purpose   A slow reader with greasy gloves, a narrow window, a serial line, a
 *           screen reader, no terminal at all: one scrolling transcript serves
 *           them all.
 * Owns      line editing, history, completion, window width, colour, signals
 *           while it waits.
 * May call  base, job, conversation; readline in console.c.
 */
#include "conversation/session.h"

struct terminal_settings {
    bool is_interactive;      /* both ends are a terminal: line editing and history */
    bool has_colour;          /* never the only carrier of a meaning */
    unsigned width;           /* 0: ask the window, and again when it changes */
    struct text history_path; /* empty: none is kept */
};

struct terminal;
struct terminal *terminal_open(struct terminal_settings settings, struct arena *arena);
void terminal_close(struct terminal *terminal); /* restores the terminal; keeps the history */
struct console terminal_console(struct terminal *terminal);
/* Columns to use now: `wanted`, or if that is 0 the window's, between 20 and 100; 80 without one. */
unsigned terminal_columns(unsigned wanted);

#endif
