/*
 * token_list.h - every token of the expression language, one row each.
 *
 * Columns: name, as it is called in a finding, how tightly it binds between two
 * operands, the node it makes there (NODE_NUMBER where it makes none).
 * No include guard: the file is included once for each table made from it.
 */
/* clang-format off */
TOKEN(END,           "the end",        NONE,       NODE_NUMBER)
TOKEN(NUMBER,        "a number",       NONE,       NODE_NUMBER)
TOKEN(TEXT,          "a text",         NONE,       NODE_NUMBER)
TOKEN(NAME,          "a name",         NONE,       NODE_NUMBER)
TOKEN(UNIT_SIGN,     "a unit",         NONE,       NODE_NUMBER)
TOKEN(LEFT_ROUND,    "'('",            NONE,       NODE_NUMBER)
TOKEN(RIGHT_ROUND,   "')'",            NONE,       NODE_NUMBER)
TOKEN(LEFT_SQUARE,   "'['",            NONE,       NODE_NUMBER)
TOKEN(RIGHT_SQUARE,  "']'",            NONE,       NODE_NUMBER)
TOKEN(COMMA,         "','",            NONE,       NODE_NUMBER)
TOKEN(PLUS_MINUS,    "'±'",            NONE,       NODE_NUMBER)
TOKEN(OR,            "'or'",           OR,         NODE_OR)
TOKEN(AND,           "'and'",          AND,        NODE_AND)
TOKEN(NOT,           "'not'",          NONE,       NODE_NUMBER)
TOKEN(LESS,          "'<'",            COMPARISON, NODE_LESS)
TOKEN(LESS_EQUAL,    "'<='",           COMPARISON, NODE_LESS_EQUAL)
TOKEN(GREATER,       "'>'",            COMPARISON, NODE_GREATER)
TOKEN(GREATER_EQUAL, "'>='",           COMPARISON, NODE_GREATER_EQUAL)
TOKEN(EQUAL,         "'=='",           COMPARISON, NODE_EQUAL)
TOKEN(NOT_EQUAL,     "'!='",           COMPARISON, NODE_NOT_EQUAL)
TOKEN(PLUS,          "'+'",            SUM,        NODE_ADD)
TOKEN(MINUS,         "'-'",            SUM,        NODE_SUBTRACT)
TOKEN(TIMES,         "'*'",            PRODUCT,    NODE_MULTIPLY)
TOKEN(DIVIDE,        "'/'",            PRODUCT,    NODE_DIVIDE)
TOKEN(POWER,         "'^'",            NONE,       NODE_NUMBER)
/* clang-format on */
