#!/usr/bin/env python3
"""The safety library that ships, against what it promises and against its own page.

    test_safety_library.py            compares procedures/safety.yaml with docs/safety-library.md
    test_safety_library.py --write    writes the two lists of the page anew

An independent reader (PyYAML) looks at the file, so that a fault of the loader is not shared.
Every scalar is read as a text.
"""
import re
import sys

import yaml

LIBRARY, PAGE = "procedures/safety.yaml", "docs/safety-library.md"
SIGNALS = {"danger", "warning", "caution", "notice"}  # ANSI Z535.4: how bad, and how likely
# What anybody would say whether or not it holds.
EMPTY_WORDS = {"yes", "no", "done", "checked", "ok", "okay", "true", "false", "ready", "confirmed",
               "correct", "fine", "good", "safe", "in order"}
# A message tells what can happen.  The protection lies in the needs; a message that begins so is an order.
ORDERS = {"always", "never", "do", "don't", "keep", "wear", "use", "make", "check", "switch", "turn",
          "stay", "stand", "avoid", "remove", "put", "take", "let", "open", "close", "disconnect",
          "be", "beware", "ensure", "hold", "watch", "wait", "set", "stop", "release", "block"}

failed = 0


def check(is_right, what):
    global failed
    if not is_right:
        failed += 1
        print("failed:", what)


def as_list(value):
    return value if isinstance(value, list) else [] if value is None else [value]


def read_library():
    with open(LIBRARY, encoding="utf-8") as file:
        return yaml.load(file, Loader=yaml.BaseLoader)


# --- what the library promises ---------------------------------------------------------------


def begins_as_an_order(text):
    return any(re.findall(r"[a-z']+", sentence.lower())[:1] and
               re.findall(r"[a-z']+", sentence.lower())[0] in ORDERS
               for sentence in re.split(r"[.;:]\s+", text))


def check_condition(name, condition, conditions):
    condition = condition or {}
    expected, others = as_list(condition.get("expect")), as_list(condition.get("otherwise"))
    if "ask" in condition:
        check(expected and others, f"{name}: has an answer that shows it, and one that shows it is not so")
        check("?" in condition["ask"], f"{name}: asks")
        check(expected != ["any text"], f"{name}: wants one of the answers it names")
    for answer in expected + others:
        check(answer.lower() not in EMPTY_WORDS, f"{name}: '{answer}' is what anybody would say")
    check(len(set(expected + others)) == len(expected + others), f"{name}: answers differ")
    if condition:
        check(condition.get("source"), f"{name}: says where the rule was read")
    for other in as_list(condition.get("requires")) + as_list(condition.get("voids")):
        check(other in conditions, f"{name}: {other} is a condition")


def check_activity(name, activity, conditions):
    check(activity.get("signal") in SIGNALS, f"{name}: has a signal word")
    for key in ("hazard", "harm", "source"):
        check(activity.get(key), f"{name}: has a {key}")
    for key in ("hazard", "harm"):
        check(not begins_as_an_order(activity.get(key, "")), f"{name}: its {key} tells, it does not order")
    is_refused = activity.get("refused") == "true"
    check(is_refused == ("reason" in activity), f"{name}: refused with a reason, or neither")
    check(is_refused or as_list(activity.get("needs")) + as_list(activity.get("forbids")),
          f"{name}: brings more than words")
    check(is_refused or activity["signal"] != "danger" or as_list(activity.get("needs")),
          f"{name}: a danger has a precaution")
    # What is needed is asked for, or is itself a thing that somebody put there and must take away.
    for other in as_list(activity.get("needs")):
        check({"ask", "restore"} & set(conditions[other] or {}), f"{name}: what shows {other} is a question")
    # What is forbidden stays owed until it is put right; no void and no answer makes it go away.
    for other in as_list(activity.get("forbids")):
        check("restore" in conditions[other], f"{name}: forbids {other}, which nobody would owe")
    for other in as_list(activity.get("clears")):
        check("restore" not in conditions[other], f"{name}: lets go of {other}, which is owed")


def check_promises(library):
    conditions, activities = library["conditions"], library["activities"]
    for name, condition in conditions.items():
        check_condition(name, condition, conditions)
    for name, activity in activities.items():
        check_activity(name, activity, conditions)
    for name, reason in library["not_a_precaution"].items():
        check(name not in conditions, f"{name}: is no condition")
        check(len(reason) > 20, f"{name}: has a reason")


# --- the page ----------------------------------------------------------------------------------


def code(names):
    return ", ".join(f"`{name}`" for name in as_list(names)) or "-"


def one_line(text):
    return " ".join((text or "-").split())


def activity_rows(library):
    yield "| Activity | Word | Needs | Forbids | Takes away | Source |"
    yield "| --- | --- | --- | --- | --- | --- |"
    for name, activity in library["activities"].items():
        needs = code(activity.get("needs"))
        if activity.get("refused") == "true":
            needs = "refused: " + one_line(activity["reason"])
        yield (f"| `{name}` | {activity['signal'].upper()} | {needs} | "
               f"{code(activity.get('forbids'))} | {code(activity.get('clears'))} | "
               f"{one_line(activity['source'])} |")


def condition_rows(library):
    yield "| Condition | Shown by | Lapses | Requires | Voids | Put right by | Source |"
    yield "| --- | --- | --- | --- | --- | --- | --- |"
    for name, condition in library["conditions"].items():
        condition = condition or {}
        yield (f"| `{name}` | {one_line(condition.get('ask'))} | {condition.get('lapses_after', '-')} | "
               f"{code(condition.get('requires'))} | "
               f"{code(condition.get('voids'))} | {one_line(condition.get('restore'))} | "
               f"{one_line(condition.get('source'))} |")


def no_precaution_rows(library):
    yield "| Offered as a precaution | Why it is none |"
    yield "| --- | --- |"
    for name, reason in library["not_a_precaution"].items():
        yield f"| `{name}` | {one_line(reason)} |"


LISTS = {"activities": activity_rows, "conditions": condition_rows, "no precautions": no_precaution_rows}


def between(page, name):
    start, end = f"<!-- {name}: begin -->\n", f"<!-- {name}: end -->"
    check(page.count(start) == 1 and page.count(end) == 1, f"{PAGE} has the marks of the list '{name}'")
    return page.index(start) + len(start), page.index(end)


def check_lists(library, page):
    for name, rows in LISTS.items():
        first, last = between(page, name)
        written, wanted = page[first:last].splitlines(), list(rows(library))
        for line in wanted:
            check(line in written, f"{PAGE} lacks or words otherwise: {line}")
        for line in written:
            check(line in wanted, f"{PAGE} says what the library does not: {line}")
        check(written == wanted, f"{PAGE}: the list '{name}' is in the order of the library")


def check_hazards(library, page):
    """Every row of the first table names what answers it, and everything answers some row."""
    first, last = between(page, "hazards")
    rows = [line for line in page[first:last].splitlines() if line.startswith("| `")]
    conditions, activities = library["conditions"], library["activities"]
    named = set()
    for row in rows:
        cells = [cell.strip() for cell in row.strip("|").split("|")]
        check(len(cells) == 5, f"{cells[0]}: exposure, activities, conditions, what is left, source")
        its_activities = re.findall(r"`(\w+)`", cells[1])
        check(its_activities, f"{cells[0]}: an activity answers it")
        for name in its_activities:
            check(name in activities, f"{cells[0]}: {name} is an activity")
        for name in re.findall(r"`(\w+)`", cells[2]):
            check(name in conditions, f"{cells[0]}: {name} is a condition")
        check(len(cells[-1]) > 5, f"{cells[0]}: names its source")
        named.update(re.findall(r"`(\w+)`", cells[1] + cells[2]))
    for name in list(activities) + list(conditions):
        check(name in named, f"{name}: answers no hazard in {PAGE}")
    check(len(rows) >= 24, f"{PAGE} has every exposure")


def write_lists(library, page):
    for name, rows in LISTS.items():
        first, last = between(page, name)
        page = page[:first] + "\n".join(rows(library)) + "\n" + page[last:]
    with open(PAGE, "w", encoding="utf-8") as file:
        file.write(page)


def main():
    library = read_library()
    with open(PAGE, encoding="utf-8") as file:
        page = file.read()
    if "--write" in sys.argv:
        write_lists(library, page)
        return 0
    check_promises(library)
    check_lists(library, page)
    check_hazards(library, page)
    print(f"the safety library: {len(library['conditions'])} conditions, "
          f"{len(library['activities'])} activities; {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
