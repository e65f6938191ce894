#include "verify/verify.h"

enum soundness verify_soundness(const struct procedure *procedure,
                                const struct diagnostics *found)
{
    if (procedure == NULL || found->count_by_severity[SEVERITY_ERROR] > 0)
        return SOUNDNESS_MISTAKES;
    return procedure->is_part ? SOUNDNESS_PART : SOUNDNESS_SOUND;
}

bool verify_procedure(const struct procedure *procedure, const struct diagnostics *found,
                      struct sound_procedure *sound)
{
    if (verify_soundness(procedure, found) != SOUNDNESS_SOUND)
        return false;
    *sound = (struct sound_procedure){.procedure = procedure, .paths_examined = false};
    return true;
}
