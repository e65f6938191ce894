/* bare_check FILE... - what `check` is held against: the events of the same files, and no more. */
#include "bare_events.h"

int main(int argc, char **argv)
{
    unsigned long events = 0;
    for (int i = 1; i < argc; i++)
        if (!bare_events_read(argv[i], &events)) {
            (void)fprintf(stderr, "bare_check: cannot read %s\n", argv[i]);
            return 3;
        }
    printf("%lu events\n", events);
    return 0;
}
