#!/usr/bin/env python3
"""Parts are listed apart and not started; what `new` writes is walked to its end.

    test_parts.py PROGRAM [PART-OF-A-NAME]

Every test has a home and a folder of its own.  Needs Python's standard library alone.
"""
import re
import sys

from person import Stuck, by_name, van_answers
from place import TREE, require, require_status, require_words, run_tests, test

LONELY = """\
procedure: lonely
title: Used by nobody
part: true
revision: 1
about: A part.
steps:
  - step: look
    do: Look at it.
    needs: [held_still]
"""

ANSWERS = """\
procedure: mine
machine:
  spark_plug_socket: {is: 16 mm, source: "manual, page 2"}
  spark_plug_torque: {is: 25 N.m, source: "manual, page 3"}
begins: 2026-10-03T09:30:00Z
seed: 7
answers:
  odometer: 88150 km
  held_still: stayed put
  out_of_gear: lever swings free from side to side
  parking_brake: applied
  safe_to_touch: cold
  ground_level: stayed where it was laid
  level_and_chock.push: stayed still
  gap:
    gap: {1: [0.80 mm, 0.82 mm], 2: [0.9 mm, 0.9 mm], 3: [1 mm, 1 mm], 4: [1.25 mm, 1.25 mm]}
  plug_tight: {torque: {1: 25 N.m, 2: 25 N.m, 3: 25 N.m, 4: 25 N.m}}
expect:
  # the mean of plug 1 is (0.80 + 0.82) / 2 = 0.81 mm; 1.25 - 0.81 = 0.44 mm, above 0.2 mm
  widest: {is: 1.25 mm}
  difference: {is: 0.44 mm, verdict: fail}
"""


def shipped_parts():
    files = sorted((TREE / "procedures").glob("*.yaml"))
    return [file.stem for file in files if "\npart: true" in file.read_text()]


@test
def parts_are_listed_apart(bench):
    done = bench.run("list")
    require_status(done, 0)
    require(done.stdout.count("Parts, used by others") == 1, done.stdout)
    startable, rest = done.stdout.split("Parts, used by others")
    parts, machines = rest.split("Machine ")
    names = shipped_parts()
    require(len(names) > 5, "there are hardly any parts")
    for name in names:
        require(f"\n{name} " in parts, f"{name} is not among the parts")
        require(f"\n{name} " not in startable, f"{name} is among what can be started")
    require("\nlook_underneath " in startable and "\nlook_underneath " not in parts,
            "look_underneath is no part")
    require("cannot be used" not in done.stdout, done.stdout)


@test
def a_part_is_not_started_and_what_uses_it_is_named(bench):
    for command in ("start", "kit"):
        done = bench.run(command, "raise_on_stands", "-m", "rookdale_van")
        require_status(done, 1)
        require_words(done.stderr, "raise_on_stands is a part of other procedures and is not "
                                   "started alone; look_underneath uses it")
        require(done.stdout == "", done.stdout)
    require(not (bench.home / "record.sqlite").exists(), "a job was begun")


@test
def every_shipped_part_names_what_uses_it(bench):
    for name in shipped_parts():
        done = bench.run("start", name, "-m", "rookdale_van")
        require_status(done, 1)
        require_words(done.stderr, f"{name} is a part", "uses it")


@test
def a_part_nobody_uses_is_not_started_either(bench):
    bench.write("procedures/lonely.yaml", LONELY)
    done = bench.run("start", "lonely", "-m", "rookdale_van")
    require_status(done, 1)
    require_words(done.stderr, "lonely is a part of other procedures and is not started alone")
    require("uses it" not in done.stderr, done.stderr)


@test
def what_is_said_of_a_part_is_not_that_it_was_proven(bench):
    done = bench.run("check", TREE / "procedures" / "drain_oil.yaml")
    require_status(done, 0)
    require_words(done.stdout, "drain_oil.yaml: a part of 7 steps, no mistake found",
                  "A part is proven in the procedures that follow it, not alone.")
    require("Proven" not in done.stdout, done.stdout)


@test
def without_its_word_a_part_lacks_what_it_needs(bench):
    path = bench.write("procedures/lonely.yaml", LONELY.replace("part: true\n", ""))
    done = bench.run("check", path)
    require_status(done, 1)
    require_words(done.stderr, "[N013]")
    done = bench.run("list")
    require_words(done.stdout.split("Parts, used by others")[0], "lonely cannot be used")


@test
def a_procedure_is_told_what_its_part_lacks(bench):
    bench.write("procedures/lonely.yaml", LONELY)
    path = bench.write("procedures/caller.yaml",
                       "procedure: caller\ntitle: It follows\nrevision: 1\nabout: It follows.\n"
                       "steps:\n  - follow: lonely\n")
    done = bench.run("check", path)
    require_status(done, 1)
    require_words(done.stderr, "[N013]", "lonely.yaml:9")


@test
def all_that_ships_passes_check(bench):
    files = sorted((TREE / "procedures").glob("*.yaml"))
    for folder in ("machines", "answers"):
        files += sorted((TREE / "procedures" / folder).glob("*.yaml"))
    done = bench.run("check", *files)
    require_status(done, 0)
    require_words(done.stdout, f"{len(files)} files, 0 that cannot be used")
    require(done.stderr == "", done.stderr)


@test
def what_new_writes_is_walked_to_its_end(bench):
    require_status(bench.run("new", "procedure", "mine"), 0)
    require_status(bench.run("new", "machine", "my_car"), 0)
    bench.write("procedures/answers/mine.yaml", ANSWERS)
    done = bench.run("start", "mine", "-m", "my_car", "--answers", "procedures/answers/mine.yaml")
    require_status(done, 0)
    require_words(done.stdout, "Spark plug cylinder 4", "take_chocks_away")
    require(done.stderr == "", done.stderr)


def oil_check(bench, odometers, topped_up, heights):
    """One oil_consumption_check by a person, its two levels met at the first look."""
    by_question = {"wanted distance": "1000", "wanted change": "100",
                   "Odometer": odometers[0], "Odometer now": odometers[1],
                   "topped up": topped_up, "added": "0"}
    left = list(heights)
    person = bench.sit_down("start", "oil_consumption_check", "-m", "rookdale_van")
    for _ in range(400):
        prompt = person.read()
        if prompt is None:
            break
        asked = re.sub(r"(?: \(\d of \d\))?, in \S+$", "", by_name(prompt.about))
        if "at the upper mark" in prompt.choices:
            person.answer(prompt.number_of("at the upper mark"))
        elif asked == "height":
            person.answer(left.pop(0))
        elif asked in by_question:
            person.answer(by_question[asked])
        else:
            person.answer(van_answers(prompt))
    else:
        raise Stuck("four hundred questions and no end")
    require(person.status == 0 and not left, f"status {person.status}: {person.since[-1500:]}")


@test
def what_an_earlier_job_read_in_a_part_used_twice_is_held_against_this_one(bench):
    text = (TREE / "procedures" / "level_by_ruler.yaml").read_text()
    bench.write("procedures/level_by_ruler.yaml", text.replace("at_least: 10 min", "at_least: 1 s"))
    same = ["21.5", "22", "21.5"] * 2
    oil_check(bench, ("86000", "87000"), "0.40", same)
    first = bench.run("card", "1").stdout
    require_words(first, "400 ±", "there is no earlier")
    oil_check(bench, ("87000", "88000"), "0.90", same)
    # By hand: of one level u = 11.02 mL (procedures/answers/oil_consumption_check_...), so
    # two runs of 1000 km cannot show less than 1.96 * 11.02 * 2 = 43.2 mL/1000 km; 900 - 400 = 500.
    second = bench.run("card", "2").stdout
    require_words(second, "500 ±", "43.21 mL/1000km", "more than the 43.2")
    # 0.88 L, and one millimetre, 50 mL, lower at the end than at the beginning, against 0.90 L
    oil_check(bench, ("88000", "89000"), "0.88", same[:3] + ["20.5", "21", "20.5"])
    third = bench.run("card", "3").stdout
    require_words(third, "930 ±", "(30 ±", "nothing shown")


@test
def repeats_that_come_out_exactly_alike_are_no_certainty(bench):
    """A coarse gauge, or one reading copied: no scatter is known, and no verdict rests on none."""
    text = (TREE / "procedures/answers/cylinder_soak_trial_inconclusive.yaml").read_text()
    text = text[:text.index("expect:")].replace("4: {times: [10.3 bar", "4: {times: [10.2 bar")
    text = re.sub(r"\[(\S+ bar), \S+ bar, \S+ bar\]", r"[\1, \1, \1]", text)
    done = bench.run("start", "--answers", str(bench.write("alike.yaml", text)))
    require_status(done, 0)
    require_words(done.stdout, "The readings before did not scatter at all")
    require_words(done.stdout, "the repeats were all the same, so there is no spread to judge by")


# Worked by hand in procedures/answers/cylinder_soak_trial_*.yaml.
@test
def a_soak_that_helped_is_told_from_one_that_shows_nothing_and_from_a_claim(bench):
    for answers in ("helped", "inconclusive", "contradicted"):
        require_status(bench.run("start", "--answers", f"cylinder_soak_trial_{answers}"), 0)
    helped, inconclusive, contradicted = (bench.run("card", number).stdout for number in (1, 2, 3))
    require_words(helped, "went up by 1.15 bar", "give or take 0.57 bar",
                  "2 of the 6 ways")
    require_words(inconclusive, "the smallest change this could have shown is 0.57 bar")
    require_words(contradicted, "CONTRADICTION: You named cylinder 4", "NOT treated",
                  "the smallest change this could have shown is 0.57 bar")
    for card in (helped, inconclusive):
        require("CONTRADICTION" not in card, card[:2500])
    for card in (helped, inconclusive, contradicted):
        require("because" not in card, card[:2500])


if __name__ == "__main__":
    sys.exit(run_tests())
