# Lines and branches that the tests took, per file, from `gcov -t -b -c`.
#
# Two sorts of branches are no test's to take, and are left out and counted apart:
# - those of an assert: it holds, or we were wrong and the program stops;
# - the way out of a switch that names every value of an enumeration: the compiler refuses one that
#   does not (-Wswitch-enum), and puts a branch for "none of them" behind the last.
# A switch with a `default:` has no such way out; its last branch counts like any other.
# -v missed=1 lists the lines and branches that were not taken.

function flush_switch()
{
    if (!is_switch || last_taken > 0)
        return
    way_outs++; branches--; untaken--
    waiting = list[--listed]
    waiting_indent = indent; is_waiting = 1
    is_switch = 0
}

function flush_list(  i)
{
    for (i = 0; missed && i < listed; i++)
        print list[i]
    listed = 0
}

function tell()
{
    flush_switch(); flush_list()
    if (file == "")
        return
    printf "%-36s lines %6.2f %%  branches %6.2f %% of %4d", file, part(lines - unrun, lines), \
           part(branches - untaken, branches), branches
    printf "  (left out: %d of asserts, %d of switches)\n", asserted, way_outs
    all_lines += lines; all_unrun += unrun; all_branches += branches; all_untaken += untaken
    all_asserted += asserted; all_way_outs += way_outs
    lines = unrun = branches = untaken = asserted = way_outs = 0
    is_waiting = is_switch = 0
}

function part(some, all)
{
    return all == 0 ? 100 : 100 * some / all
}

/^ *-: +0:Source:/ {
    tell()
    file = $0
    sub(/.*Source:/, "", file)
    if (file !~ /^src\/.*\.c$/ || file in told)
        file = ""
    else
        told[file] = 1
    next
}
file == "" || /^ *-: +0:/ { next }

/^ *[0-9#=-]+\*?: *[0-9]+:/ {
    flush_switch(); flush_list()
    is_switch = 0
    last_taken = 1
    split($0, field, ":")
    count = field[1]; number = field[2] + 0
    code = substr($0, length(field[1]) + length(field[2]) + 3)
    match(code, /^ */); indent = RLENGTH
    is_assert = code ~ /(^|[^_a-z])assert\(/
    is_switch = code ~ /^ *switch \(/
    if (is_waiting && code ~ /^ *default:/ && indent == waiting_indent) {
        way_outs--; branches++; untaken++; is_waiting = 0
        if (missed)
            print waiting
    }
    if (is_waiting && code ~ /^ *}/ && indent == waiting_indent)
        is_waiting = 0
    if (count !~ /-/)
        lines++
    if (count ~ /[#=]/) {
        unrun++
        if (missed)
            print "  " file ":" number ": not run: " code
    }
    next
}

/^branch/ {
    if (is_assert) { asserted++; next }
    branches++
    last_taken = $0 ~ /never executed/ ? 0 : $4 + 0
    if (last_taken == 0) {
        untaken++
        list[listed++] = "  " file ":" number ": branch " $2 " not taken: " code
    }
}

END {
    tell()
    printf "%-36s lines %6.2f %%  branches %6.2f %% of %4d", "all", \
           part(all_lines - all_unrun, all_lines), part(all_branches - all_untaken, all_branches), \
           all_branches
    printf "  (left out: %d of asserts, %d of switches)\n", all_asserted, all_way_outs
}
