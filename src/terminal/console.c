#include "terminal/console.h"

#include "terminal/layout.h"

#include <assert.h>
#include <errno.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/select.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include <readline/history.h>
#include <readline/readline.h>

enum { WIDTH_MIN = 20, WIDTH_MAX = 100, WIDTH_USUAL = 80, LINE_MAX_BYTES = 4096 };
enum { HISTORY_LINES = 500 };
/* A glove that strikes Enter twice does so within this; nobody reads a prompt and answers it in it. */
enum { BOUNCE_MILLISECONDS = 150 };
/* Kept free below a page: the line that asks for more, and two that a narrow window may take. */
enum { ROWS_BELOW = 3, ROWS_MIN = 8 };

/* Signal handlers and readline's callbacks get no pointer of ours, so these few words are the one
 * state outside a struct.  Only one terminal can be open at a time. */
static volatile sig_atomic_t was_interrupted, was_stopped, was_resized;
static struct terminal *reading; /* whose line is being edited */

struct terminal {
    struct terminal_settings settings;
    struct arena *arena;
    struct writer out; /* on standard output */
    sigset_t outside;  /* the signal mask while it waits */
    struct sigaction before[3];
    const struct prompt *prompt; /* being asked: for completion */
    char *line;                  /* from readline; NULL at the end of input */
    bool has_line;
    long long asked_at; /* when the line being edited was asked for, on the steady clock */
    char *kept; /* from readline: a word typed at the end of a page, for the next prompt */
    unsigned rows_shown;  /* since the last time somebody was waited for */
    bool is_page_unasked; /* the person is leaving: what is still said is not held up */
};

static const int caught[] = {SIGINT, SIGTERM, SIGHUP};

/* --- signals ------------------------------------------------------------------------------ */

static void note_signal(int number)
{
    if (number == SIGINT)
        was_interrupted = 1;
    else if (number == SIGWINCH)
        was_resized = 1;
    else
        was_stopped = 1;
}

/* Signals are let in only while we wait for the person, so that none can come between an answer
 * and its being written down. */
static void catch_signals(struct terminal *terminal)
{
    sigset_t ours;
    (void)sigemptyset(&ours);
    struct sigaction action = {.sa_handler = note_signal};
    (void)sigemptyset(&action.sa_mask);
    for (size_t i = 0; i < sizeof caught / sizeof caught[0]; i++) {
        (void)sigaddset(&ours, caught[i]);
        (void)sigaction(caught[i], &action, &terminal->before[i]);
    }
    (void)sigaddset(&ours, SIGWINCH);
    (void)sigaction(SIGWINCH, &action, NULL);
    (void)sigprocmask(SIG_BLOCK, &ours, &terminal->outside);
    for (size_t i = 0; i < sizeof caught / sizeof caught[0]; i++)
        (void)sigdelset(&terminal->outside, caught[i]);
    (void)sigdelset(&terminal->outside, SIGWINCH);
    struct sigaction ignore = {.sa_handler = SIG_IGN};
    (void)sigaction(SIGPIPE, &ignore, NULL);
}

/* --- output -------------------------------------------------------------------------------- */

static bool put_on_stdout(struct writer *writer, const char *bytes, size_t length)
{
    (void)writer;
    return fwrite(bytes, 1, length, stdout) == length;
}

/* A question that nobody can see must not be answered: what could not be shown ends the session. */
static bool is_shown(struct terminal *terminal)
{
    if (fflush(stdout) != 0)
        terminal->out.failed = true;
    return !terminal->out.failed;
}

unsigned terminal_columns(unsigned wanted)
{
    unsigned width = wanted;
    struct winsize window;
    if (width == 0 && ioctl(STDOUT_FILENO, TIOCGWINSZ, &window) == 0)
        width = window.ws_col;
    if (width == 0)
        width = WIDTH_USUAL;
    if (width < WIDTH_MIN)
        return WIDTH_MIN;
    return width > WIDTH_MAX ? WIDTH_MAX : width;
}

static struct layout layout_now(const struct terminal *terminal)
{
    return (struct layout){terminal_columns(terminal->settings.width),
                           terminal->settings.has_colour};
}

/* --- completion -------------------------------------------------------------------------------- */

static bool may_follow(struct text candidate, const char *typed)
{
    struct text start = text_from(typed);
    return candidate.length >= start.length &&
           text_equal_folded(text_slice(candidate, 0, start.length), start);
}

/* Readline frees what it is given, so it must come from malloc: strdup. */
static char *nth_candidate(const char *typed, int state)
{
    static size_t next; /* readline asks for one after another */
    if (state == 0)
        next = 0;
    const struct prompt *prompt = reading->prompt;
    while (next < prompt->choices.count) {
        struct text choice = prompt->choices.texts[next++];
        if (may_follow(choice, typed))
            return strndup(choice.bytes, choice.length);
    }
    struct session_word word;
    while (session_word_at(next - prompt->choices.count, &word)) {
        next++;
        const char *stem = typed;
        if (prompt->is_free_text) {
            if (typed[0] != '.')
                continue;
            stem++;
        }
        if (!may_follow(text_from(word.word), stem))
            continue;
        const char *dot = prompt->is_free_text ? "." : "";
        return strdup(
            text_terminated(reading->arena, text_fill(reading->arena, "{}{}", text_from(dot),
                                                      text_from(word.word))));
    }
    return NULL;
}

static char **complete(const char *typed, int start, int end)
{
    (void)start;
    (void)end;
    rl_attempted_completion_over = 1; /* never file names: nothing here is one but `photo` */
    if (strncmp(rl_line_buffer, "photo ", 6) == 0 || strncmp(rl_line_buffer, ".photo ", 7) == 0)
        return rl_completion_matches(typed, rl_filename_completion_function);
    return rl_completion_matches(typed, nth_candidate);
}

/* --- waiting for a line -------------------------------------------------------------------------- */

static long long wall_now(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_REALTIME, &now);
    return (long long)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static long long steady_now(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (long long)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

enum waited { WAITED_INPUT, WAITED_SIGNAL, WAITED_TIME, WAITED_FAILED };

/* Waits for input, a signal, or the time; signals are let in only here. */
static enum waited wait_for_input(const struct terminal *terminal, long long wakes_at)
{
    struct timespec limit;
    struct timespec *until = NULL;
    if (wakes_at > 0) {
        long long left = wakes_at - wall_now();
        if (left <= 0)
            return WAITED_TIME;
        limit = (struct timespec){.tv_sec = (time_t)(left / 1000),
                                  .tv_nsec = (long)(left % 1000) * 1000000};
        until = &limit;
    }
    fd_set readable; /* pselect is in POSIX.1-2008; ppoll is not */
    FD_ZERO(&readable);
    FD_SET(STDIN_FILENO, &readable);
    int ready = pselect(STDIN_FILENO + 1, &readable, NULL, NULL, until, &terminal->outside);
    if (ready > 0)
        return WAITED_INPUT;
    if (ready == 0)
        return WAITED_TIME;
    return errno == EINTR ? WAITED_SIGNAL : WAITED_FAILED;
}

/* An Enter that came before anybody can have read the prompt is the rest of the one before; readline
 * shows the cue again. */
static void take_line(char *line)
{
    if (line != NULL && line[0] == '\0' &&
        steady_now() - reading->asked_at < BOUNCE_MILLISECONDS) {
        free(line);
        return;
    }
    reading->line = line;
    reading->has_line = true;
    rl_callback_handler_remove();
}

static void leave_editing(void)
{
    rl_free_line_state();
    rl_callback_sigcleanup();
    rl_cleanup_after_signal();
    rl_callback_handler_remove();
    (void)fputc('\n', stdout);
    (void)fflush(stdout);
}

/* True when a signal ends the waiting; a change of the window's size does not. */
static bool signal_ends(bool is_editing, struct answer *answer)
{
    if (was_resized) {
        was_resized = 0;
        if (is_editing)
            rl_resize_terminal();
    }
    if (was_stopped)
        answer->kind = ANSWER_STOP;
    else if (was_interrupted)
        answer->kind = ANSWER_INTERRUPT;
    else
        return false;
    was_interrupted = 0;
    return true;
}

static void edit_line(struct terminal *terminal, const char *cue, struct answer *answer)
{
    terminal->has_line = false;
    terminal->line = NULL;
    terminal->asked_at = steady_now();
    rl_callback_handler_install(cue, take_line);
    while (!terminal->has_line) {
        /* a line begun is not taken away by a timer */
        long long wakes_at = rl_end > 0 ? 0 : terminal->prompt->wakes_at;
        enum waited waited = wait_for_input(terminal, wakes_at);
        if (waited == WAITED_INPUT) {
            rl_callback_read_char();
        } else if (waited == WAITED_TIME) {
            answer->kind = ANSWER_WAKE;
            leave_editing();
            return;
        } else if (waited == WAITED_FAILED || signal_ends(true, answer)) {
            if (waited == WAITED_FAILED)
                answer->kind = ANSWER_END;
            leave_editing();
            return;
        }
    }
    answer->kind = terminal->line == NULL ? ANSWER_END : ANSWER_TYPED;
    if (terminal->line == NULL)
        (void)fputc('\n', stdout);
}

/* Without a terminal: a line from standard input, byte by byte, so that none is read too many. */
static void read_line(struct terminal *terminal, const char *cue, struct answer *answer,
                      struct arena *scratch)
{
    (void)fputs(cue, stdout);
    (void)fflush(stdout);
    char *bytes = arena_array(scratch, char, LINE_MAX_BYTES);
    size_t length = 0;
    for (;;) {
        enum waited waited =
            wait_for_input(terminal, length > 0 ? 0 : terminal->prompt->wakes_at);
        if (waited == WAITED_TIME) {
            answer->kind = ANSWER_WAKE;
            return;
        }
        if (waited == WAITED_SIGNAL && signal_ends(false, answer))
            return;
        if (waited == WAITED_SIGNAL)
            continue;
        char byte;
        ssize_t got = waited == WAITED_FAILED ? -1 : read(STDIN_FILENO, &byte, 1);
        if (got <= 0 && length == 0) {
            answer->kind = ANSWER_END;
            return;
        }
        if (got <= 0 || byte == '\n')
            break;
        if (length < LINE_MAX_BYTES)
            bytes[length++] = byte;
    }
    answer->kind = ANSWER_TYPED;
    answer->typed = (struct text){bytes, length};
    (void)fwrite(bytes, 1, length, stdout); /* the transcript shows what was taken */
    (void)fputc('\n', stdout);
}

/* --- paging --------------------------------------------------------------------------------------- */

/* Lines that a window shows before the first of them leaves it; 0: nobody knows, or nobody reads. */
static unsigned page_rows(const struct terminal *terminal)
{
    struct winsize window;
    if (!terminal->settings.is_interactive || ioctl(STDOUT_FILENO, TIOCGWINSZ, &window) != 0 ||
        window.ws_row < ROWS_MIN)
        return 0;
    return (unsigned)window.ws_row - ROWS_BELOW;
}

static bool is_session_word(struct text typed)
{
    struct text front = typed;
    struct session_word word;
    if (!text_cut(&typed, ' ', &front))
        return false;
    if (front.length > 0 && front.bytes[0] == '.')
        front = text_slice(front, 1, front.length);
    for (size_t i = 0; session_word_at(i, &word); i++) {
        if (text_equal_folded(text_from(word.word), front))
            return true;
    }
    return false;
}

/* True if the line turns the page.  A word of the session ends the paging, and is kept for the next
 * prompt; `q` only ends it. */
static bool turns_page(struct terminal *terminal)
{
    struct text typed = text_trim(text_from(terminal->line));
    if (typed.length == 0)
        return true;
    terminal->is_page_unasked = text_equal_folded(typed, TEXT("q")) || is_session_word(typed);
    if (is_session_word(typed)) {
        terminal->kept = terminal->line;
        terminal->line = NULL;
    }
    if (!terminal->is_page_unasked)
        (void)fputs("Not taken: there is more to read first. q shows the rest at once.\n",
                    stdout);
    return terminal->is_page_unasked;
}

/* A signal or the end of input is not swallowed: it is given to whoever asks next. */
static void wait_for_more(struct terminal *terminal)
{
    const struct prompt nothing = {.enter_passes = true};
    struct answer answer;
    bool is_turned = false;
    terminal->rows_shown = 0;
    if (!is_shown(terminal) || was_stopped || was_interrupted || terminal->is_page_unasked)
        return;
    terminal->prompt = &nothing;
    reading = terminal;
    do {
        answer = (struct answer){0};
        edit_line(terminal, "Enter for more > ", &answer);
        is_turned = answer.kind != ANSWER_TYPED || turns_page(terminal);
        free(terminal->line);
        terminal->line = NULL;
    } while (!is_turned);
    terminal->prompt = NULL;
    if (answer.kind == ANSWER_INTERRUPT)
        was_interrupted = 1;
    terminal->is_page_unasked = terminal->is_page_unasked || answer.kind != ANSWER_TYPED;
}

static unsigned count_lines(struct text text)
{
    unsigned count = 0;
    for (size_t i = 0; i < text.length; i++)
        count += text.bytes[i] == '\n';
    return count;
}

/* What belongs together stays together if a page can hold it. */
static void show_paged(struct terminal *terminal, struct text block)
{
    unsigned rows = page_rows(terminal);
    unsigned lines = count_lines(block);
    if (rows > 0 && terminal->rows_shown > 0 && lines <= rows &&
        terminal->rows_shown + lines > rows)
        wait_for_more(terminal);
    struct text line;
    while (text_cut(&block, '\n', &line)) {
        if (rows > 0 && terminal->rows_shown >= rows)
            wait_for_more(terminal);
        write_text(&terminal->out, line);
        write_text(&terminal->out, TEXT("\n"));
        terminal->rows_shown++;
    }
}

static void tell(void *self, enum tone tone, struct text paragraph)
{
    struct terminal *terminal = self;
    struct layout layout = layout_now(terminal);
    struct arena_mark mark = arena_mark(terminal->arena);
    struct page page;
    page_begin(&page, terminal->arena);
    layout_paragraph(&layout, tone, paragraph, &page.writer, terminal->arena);
    show_paged(terminal, page_text(&page));
    arena_rewind(terminal->arena, mark);
    (void)is_shown(terminal);
}

static void show_question(struct terminal *terminal, const struct prompt *prompt,
                          struct arena *scratch)
{
    struct layout layout = layout_now(terminal);
    struct page page;
    page_begin(&page, scratch);
    layout_question(&layout, prompt, &page.writer, scratch);
    show_paged(terminal, page_text(&page));
}

/* --- asking --------------------------------------------------------------------------------------- */

/* What was typed must be a sound text before it goes further; a stray escape sequence is asked
 * again rather than guessed at. */
static bool is_sound(struct terminal *terminal, struct answer *answer)
{
    size_t offset;
    if (answer->kind != ANSWER_TYPED || text_check(answer->typed, &offset) == TEXT_SOUND)
        return true;
    tell(terminal, TONE_REFUSAL,
         TEXT("There is a character in that line that cannot be used. Please type it again."));
    return false;
}

static void remember(const struct answer *answer, struct arena *scratch)
{
    struct text typed = text_trim(answer->typed);
    if (answer->kind == ANSWER_TYPED && typed.length > 1)
        add_history(text_terminated(scratch, typed));
}

/* What was typed at the end of a page, where it means what it meant there: a text of the person's own
 * it is not. */
static bool take_kept(struct terminal *terminal, const struct prompt *prompt, const char *cue,
                      struct answer *answer, struct arena *scratch)
{
    if (terminal->kept == NULL)
        return false;
    struct text typed = text_copy(scratch, text_trim(text_from(terminal->kept)));
    free(terminal->kept);
    terminal->kept = NULL;
    terminal->is_page_unasked = false;
    if (prompt->is_free_text && typed.bytes[0] != '.') {
        tell(terminal, TONE_REFUSAL,
             text_fill(scratch, "'{}' was not taken; here a word has a dot in front.", typed));
        return false;
    }
    *answer = (struct answer){.kind = ANSWER_TYPED, .typed = typed};
    write_text(&terminal->out, text_fill(scratch, "{}{}\n", text_from(cue), typed));
    return true;
}

static bool ask(void *self, const struct prompt *prompt, struct answer *answer,
                struct arena *scratch)
{
    struct terminal *terminal = self;
    show_question(terminal, prompt, scratch);
    terminal->rows_shown = 0;
    terminal->prompt = prompt;
    reading = terminal;
    if (!is_shown(terminal)) {
        /* a window that was closed is a stop; a file that takes no more is a failure */
        *answer = (struct answer){.kind = ANSWER_STOP};
        return terminal->settings.is_interactive;
    }
    const char *cue = text_terminated(scratch, layout_cue(prompt, scratch));
    do {
        *answer = (struct answer){0};
        if (was_stopped || was_interrupted) {
            (void)signal_ends(false, answer);
            return true;
        }
        if (!terminal->settings.is_interactive) {
            read_line(terminal, cue, answer, scratch);
            continue;
        }
        if (take_kept(terminal, prompt, cue, answer, scratch))
            continue;
        edit_line(terminal, cue, answer);
        terminal->is_page_unasked = false;
        if (answer->kind == ANSWER_TYPED) {
            answer->typed = text_copy(scratch, text_from(terminal->line));
            remember(answer, scratch);
        }
        free(terminal->line);
        terminal->line = NULL;
    } while (!is_sound(terminal, answer));
    return true;
}

/* --- opening and closing -------------------------------------------------------------------------- */

/* A session that was killed at its prompt leaves the window without echo and line mode, and the next one
 * would show nothing of what is typed. */
static void put_echo_right(void)
{
    struct termios modes;
    if (tcgetattr(STDIN_FILENO, &modes) != 0 ||
        ((modes.c_lflag & ECHO) != 0 && (modes.c_lflag & ICANON) != 0))
        return;
    modes.c_lflag |= ECHO | ICANON;
    modes.c_iflag |= ICRNL;
    (void)tcsetattr(STDIN_FILENO, TCSADRAIN, &modes);
}

struct terminal *terminal_open(struct terminal_settings settings, struct arena *arena)
{
    struct terminal *terminal = arena_new(arena, struct terminal);
    terminal->settings = settings;
    terminal->arena = arena;
    terminal->out.put = put_on_stdout;
    catch_signals(terminal);
    if (settings.is_interactive) {
        put_echo_right();
        rl_readline_name = "banksman";
        rl_catch_signals = 0;
        rl_catch_sigwinch = 0;
        rl_attempted_completion_function = complete;
        rl_completer_word_break_characters =
            ""; /* a choice has spaces: complete the whole line */
        (void)rl_variable_bind("enable-bracketed-paste", "off");
        using_history();
        stifle_history(HISTORY_LINES);
        if (settings.history_path.length > 0)
            (void)read_history(text_terminated(arena, settings.history_path));
    }
    return terminal;
}

void terminal_close(struct terminal *terminal)
{
    free(terminal->kept); /* typed where nothing more was asked */
    if (terminal->settings.is_interactive) {
        if (terminal->settings.history_path.length > 0)
            (void)write_history(
                text_terminated(terminal->arena, terminal->settings.history_path));
        clear_history();
    }
    /* A hang-up that came meanwhile is let in while it is still ours: it has been acted on. */
    (void)sigprocmask(SIG_SETMASK, &terminal->outside, NULL);
    for (size_t i = 0; i < sizeof caught / sizeof caught[0]; i++)
        (void)sigaction(caught[i], &terminal->before[i], NULL);
    reading = NULL;
}

struct console terminal_console(struct terminal *terminal)
{
    return (struct console){terminal, ask, tell};
}
