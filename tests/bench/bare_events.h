#ifndef BARE_EVENTS_H
#define BARE_EVENTS_H
/*
 * bare_events.h - the least that reading a YAML file can cost: every event of it from libyaml,
 * and nothing done with any.
 */
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

#include <yaml.h>

/* False if the file cannot be read or is no YAML.  The file is read whole first, as the program
 * that is compared does. */
static inline bool bare_events_read(const char *path, unsigned long *events)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL || fseek(file, 0, SEEK_END) != 0)
        return false;
    long size = ftell(file);
    rewind(file);
    unsigned char *bytes = malloc(size > 0 ? (size_t)size : 1);
    if (bytes == NULL || fread(bytes, 1, (size_t)size, file) != (size_t)size)
        return false;
    (void)fclose(file);
    yaml_parser_t parser;
    if (!yaml_parser_initialize(&parser))
        return false;
    yaml_parser_set_input_string(&parser, bytes, (size_t)size);
    bool is_sound = true;
    for (bool is_over = false; is_sound && !is_over;) {
        yaml_event_t event;
        is_sound = yaml_parser_parse(&parser, &event) != 0;
        if (!is_sound)
            break;
        is_over = event.type == YAML_STREAM_END_EVENT;
        (*events)++;
        yaml_event_delete(&event);
    }
    yaml_parser_delete(&parser);
    free(bytes);
    return is_sound;
}

#endif
