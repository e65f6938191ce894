# embed.awk - a text file as a C array of characters.
#
#   awk -f src/record/embed.awk -v name=record_sql schemas/record.sql > record_sql.h
#
# An array, not a string: C11 promises only 4095 characters of a literal.

BEGIN { printf "static const char %s[] = {", name }

{
    printf "\n"
    for (i = 1; i <= length($0); i++) {
        character = substr($0, i, 1)
        printf "'%s',", character ~ /['\\]/ ? "\\" character : character
    }
    printf "'\\n',"
}

END { print "'\\0'};" }
