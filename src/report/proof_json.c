#include "report/proof_json.h"

#include <assert.h>

#include <jansson.h>

/* --- names: docs/check-json.md --------------------------------------------------------- */

static const char *verdict_name(enum proof_verdict verdict)
{
    switch (verdict) {
    case PROOF_SOUND:
        return "sound";
    case PROOF_MISTAKES:
        return "mistakes";
    case PROOF_PART:
        return "part";
    case PROOF_UNSAFE:
        return "unsafe";
    case PROOF_TOO_LARGE:
        return "too large";
    }
    return "";
}

static const char *event_name(enum path_event_kind kind)
{
    switch (kind) {
    case PATH_ASKED_AT_START:
        return "asked at start";
    case PATH_DONE:
        return "done";
    case PATH_PASSED_OVER:
        return "passed over";
    case PATH_DECIDED:
        return "decided";
    case PATH_SUBSET:
        return "subset";
    case PATH_ROUND:
        return "round";
    case PATH_STOPPED:
        return "stopped";
    case PATH_BEGUN:
        return "begun";
    }
    return "";
}

static const char *fault_name(enum path_fault fault)
{
    switch (fault) {
    case FAULT_NEED:
        return "need";
    case FAULT_FORBIDDEN:
        return "forbidden";
    case FAULT_REQUIRES:
        return "requires";
    case FAULT_LEFT:
        return "left";
    case FAULT_PART_LEFT:
        return "part left";
    case FAULT_PART_OUT:
        return "part out";
    case FAULT_PART_IN:
        return "part in";
    case FAULT_ONCE:
        return "once";
    case FAULT_NO_ORDER:
        return "no order";
    case FAULT_ROUND:
        return "round";
    case FAULT_UNREACHED:
        return "unreached";
    }
    return "";
}

static const char *cause_name(enum path_cause cause)
{
    switch (cause) {
    case CAUSE_NO_STEP:
        return "no step";
    case CAUSE_NOT_YET:
        return "not yet";
    case CAUSE_PASSED_OVER:
        return "passed over";
    case CAUSE_LEFT_OUT:
        return "left out";
    case CAUSE_UNDONE:
        return "undone";
    }
    return "";
}

static const char *severity_name(enum severity severity)
{
    switch (severity) {
    case SEVERITY_NOTE:
        return "note";
    case SEVERITY_WARNING:
        return "warning";
    case SEVERITY_ERROR:
        return "error";
    }
    return "";
}

/* --- putting it together ------------------------------------------------------------------ */

static void put(json_t *object, const char *key, json_t *value)
{
    int status = json_object_set_new_nocheck(object, key, value);
    assert(status == 0);
    (void)status;
}

static void append(json_t *array, json_t *value)
{
    int status = json_array_append_new(array, value);
    assert(status == 0);
    (void)status;
}

/* Every text in the program is UTF-8. */
static json_t *text_json(struct text text)
{
    return json_stringn_nocheck(text.length == 0 ? "" : text.bytes, text.length);
}

static void put_text(json_t *object, const char *key, struct text text)
{
    put(object, key, text_json(text));
}

static void put_word(json_t *object, const char *key, const char *word)
{
    put(object, key, json_string_nocheck(word));
}

static void put_place(json_t *object, struct place place)
{
    if (place.source == NULL)
        return;
    put_text(object, "file", place.source->path);
    put(object, "line", json_integer(place.line));
    put(object, "column", json_integer(place.column));
}

static json_t *findings_json(const struct diagnostics *found)
{
    json_t *findings = json_array(), *notes = NULL;
    for (const struct diagnostic *at = found->first; at != NULL; at = at->next) {
        json_t *one = json_object();
        if (at->is_related && notes != NULL) {
            put_place(one, at->place);
            put_text(one, "sentence", at->message);
            append(notes, one);
            continue;
        }
        put_word(one, "code", finding_code(at->finding));
        put_word(one, "severity", severity_name(finding_severity(at->finding)));
        put_place(one, at->place);
        put_text(one, "sentence", at->message);
        notes = json_array();
        put(one, "notes", notes);
        append(findings, one);
    }
    return findings;
}

/* --- a path ---------------------------------------------------------------------------------- */

static void put_work(json_t *object, const char *key, const struct work *work)
{
    if (work == NULL)
        put(object, key, json_null());
    else if (work->kind == WORK_STEP)
        put_text(object, key, work->step->name);
    else
        put_text(object, key, work->title);
}

static const char *position_name(int position)
{
    return position == 0 ? "this one" : "another";
}

/* Only where there is one. */
static void put_here(json_t *object, const struct procedure *procedure, const int *here,
                     struct arena *scratch)
{
    json_t *positions = json_object();
    for (size_t i = 0; here != NULL && i < procedure->index_count; i++)
        if (here[i] != INDEX_NONE)
            put(positions, text_terminated(scratch, procedure->index_names[i]),
                json_string_nocheck(position_name(here[i])));
    if (json_object_size(positions) > 0)
        put(object, "here", positions);
    else
        json_decref(positions);
}

static json_t *event_json(const struct procedure *procedure, const struct path_event *event,
                          struct arena *scratch)
{
    json_t *object = json_object();
    put_word(object, "kind", event_name(event->kind));
    put_work(object, "step", event->work);
    put_text(object, "text", path_event_words(procedure, event, scratch));
    put_here(object, procedure, event->here, scratch);
    switch (event->kind) {
    case PATH_ASKED_AT_START:
        put_text(object, "condition", procedure->conditions[event->condition]->name);
        put(object, "truth", json_boolean(event->truth));
        break;
    case PATH_DECIDED:
        if (event->expression != NULL)
            put_text(object, "decision", event->expression->written);
        if (event->text.length > 0)
            put_text(object, "answer", event->text);
        else
            put(object, "truth", json_boolean(event->truth));
        break;
    case PATH_SUBSET:
        put_word(object, "position", position_name(event->position));
        put(object, "truth", json_boolean(event->truth));
        break;
    case PATH_ROUND:
        put(object, "truth", json_boolean(event->truth));
        break;
    case PATH_DONE:
    case PATH_PASSED_OVER:
    case PATH_STOPPED:
    case PATH_BEGUN:
        break;
    }
    return object;
}

static void put_condition(json_t *object, const char *key, const struct procedure *procedure,
                          unsigned condition)
{
    put_text(object, key, procedure->conditions[condition]->name);
}

/* What the fault is about: a condition, a part, or the step itself. */
static void put_subject(json_t *object, const struct procedure *procedure,
                        const struct unsafe_path *path)
{
    switch (path->fault) {
    case FAULT_REQUIRES:
        put_condition(object, "condition", procedure, path->condition);
        put_condition(object, "required", procedure, path->required);
        break;
    case FAULT_NO_ORDER:
        put_condition(object, "condition", procedure, path->condition);
        if (path->is_blocked) {
            put_condition(object, "blocked", procedure, path->blocked);
            put(object, "is_forbidden", json_boolean(path->is_forbidden));
        }
        break;
    case FAULT_NEED:
    case FAULT_FORBIDDEN:
    case FAULT_LEFT:
    case FAULT_ROUND:
        put_condition(object, "condition", procedure, path->condition);
        break;
    case FAULT_PART_LEFT:
    case FAULT_PART_OUT:
    case FAULT_PART_IN:
        put_text(object, "part", procedure->parts[path->part].name);
        break;
    case FAULT_ONCE:
    case FAULT_UNREACHED:
        return;
    }
    if (path->position != INDEX_NONE)
        put_word(object, "position", position_name(path->position));
}

static json_t *path_json(const struct procedure *procedure, const struct unsafe_path *path,
                         struct arena *scratch)
{
    json_t *object = json_object();
    put_word(object, "fault", fault_name(path->fault));
    put_work(object, "step", path->work);
    put_here(object, procedure, path->here, scratch);
    put_subject(object, procedure, path);
    put_word(object, "cause", cause_name(path->cause));
    put_work(object, "helper", path->helper);
    put_work(object, "undoer", path->undoer);
    put(object, "length", json_integer((json_int_t)path->event_count));
    json_t *events = json_array();
    for (size_t i = 0; i < path->event_count; i++)
        append(events, event_json(procedure, &path->events[i], scratch));
    put(object, "events", events);
    put_text(object, "words", path_fault_words(procedure, path, scratch));
    return object;
}

/* docs/safety.md, section 6. */
static const char *const assumptions[] = {
    "every index has two positions: this one and another",
    "every answer is true, and every step is done as it is written",
    "an expression that is written alike has one truth",
    "the safety library is complete, and a step exposes to no more than its activities say",
    "nothing is skipped by force, and no time passes but at a stop",
};

static json_t *proof_json(const struct procedure *procedure, const struct proof *proof,
                          struct arena *scratch)
{
    json_t *object = json_object();
    put_word(object, "verdict", verdict_name(proof->verdict));
    put(object, "states", json_integer((json_int_t)proof->states));
    put(object, "branches", json_integer((json_int_t)proof->branches));
    put(object, "safe_orders", json_integer((json_int_t)proof->safe_orders));
    json_t *assuming = json_array(), *multiplies = json_array(), *paths = json_array();
    json_t *doubts = json_array();
    for (size_t i = 0; i < sizeof assumptions / sizeof *assumptions; i++)
        append(assuming, json_string_nocheck(assumptions[i]));
    put(object, "assuming", assuming);
    for (size_t i = 0; i < proof->multiply_count; i++)
        append(multiplies, text_json(proof->multiplies[i]));
    put(object, "multiplies", multiplies);
    for (size_t i = 0; procedure != NULL && i < proof->path_count; i++)
        append(paths, path_json(procedure, &proof->paths[i], scratch));
    put(object, "paths", paths);
    for (size_t i = 0; procedure != NULL && i < proof->doubt_count; i++)
        append(doubts, path_json(procedure, &proof->doubts[i], scratch));
    put(object, "doubts", doubts);
    return object;
}

static int dump(const char *bytes, size_t length, void *writer)
{
    write_text(writer, (struct text){bytes, length});
    return 0;
}

void proof_json_write(const struct checked_file *checked, struct writer *writer,
                      struct arena *scratch)
{
    json_t *object = json_object();
    put_text(object, "file", checked->path);
    put(object, "findings", findings_json(checked->found));
    put(object, "proof",
        checked->proof == NULL ? json_null()
                               : proof_json(checked->procedure, checked->proof, scratch));
    int status = json_dump_callback(object, dump, writer, JSON_COMPACT);
    assert(status == 0);
    (void)status;
    json_decref(object);
    write_text(writer, TEXT("\n"));
}
