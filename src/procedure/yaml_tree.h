#ifndef PROCEDURE_YAML_TREE_H
#define PROCEDURE_YAML_TREE_H
/*
 * yaml_tree.h - a YAML file as a tree of texts, lists and maps.
 *
 * Purpose   Whoever reads a file sees texts with their places and no YAML: no
 *           types guessed, no anchors, no second document, no key twice.
 * Owns      libyaml, and what of YAML is refused.
 * May call  base; libyaml.
 */
#include "base/diagnostic.h"

enum {
    YAML_DEPTH_MAX = 32,
    YAML_MEBIBYTES_MAX = 4 /* of a file */
};

enum yaml_shape { SHAPE_TEXT, SHAPE_LIST, SHAPE_MAP };

struct yaml_node {
    enum yaml_shape shape;
    bool is_quoted; /* '...' or "..." */
    bool is_faulty; /* a finding was made; say nothing more about it */
    struct text
        text; /* SHAPE_TEXT: trimmed, normalised; empty and not quoted: nothing was given */
    struct place place;
    /* LIST: the items.  MAP: key, value, key, value. */
    struct yaml_node *first, *next;
    size_t count; /* items, or pairs */
};

/* NULL after reporting why, if the file cannot be read as a tree at all. */
const struct yaml_node *yaml_read(const struct source *source, struct diagnostics *found,
                                  struct arena *arena);

/* The value of a key, or NULL. */
const struct yaml_node *yaml_find(const struct yaml_node *map, struct text key);
/* "a text", "a list", "a map" */
const char *yaml_shape_name(enum yaml_shape shape);
/* Where a part of a text stands: `from` and `to` count bytes of node->text.  The whole text's place
 * if escapes, folding or trimming moved the bytes. */
struct place yaml_place_in(const struct yaml_node *node, size_t from, size_t to);
/* Do the bytes of the text stand in the file as they are, on one line? */
bool yaml_is_verbatim(const struct yaml_node *node);
/* The same two texts, lists in order, maps in any order? */
bool yaml_alike(const struct yaml_node *a, const struct yaml_node *b);

#endif
