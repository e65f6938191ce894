#!/usr/bin/env python3
"""Writes procedures of a given number of steps that all differ and are all sound.

    generate_procedures.py FOLDER COUNT STEPS [VARIED]

FOLDER/NAME.yaml for each, FOLDER/machines/bench_engine.yaml, and for the first
one FOLDER/answers/NAME.yaml, which rehearses it.  After VARIED steps (none given: never) come
only steps that bring no new fact and no new way: the length grows, and what multiplies does not.
The same arguments give the same bytes.
"""
import pathlib
import random
import sys

PLACES = ["front cover", "left rail", "rear bearing", "water pump", "intake flange", "rocker cover",
          "belt guard", "pump housing", "air box", "filter bracket", "rear mount", "oil gallery"]
TOOLS = ["socket 13 mm", "feeler gauge", "soft brush", "torque wrench", "flat scraper", "lamp",
         "steel rule", "magnet on a rod"]
LOOKS = ["An even edge all round, no step to feel with a finger nail.",
         "Dry; a dark streak shows where it has been weeping.",
         "The mark stands opposite the pointer, not beside it.",
         "No grit between the faces, none on the cloth afterwards."]
WHYS = ["Dirt that falls in here scores the bore, and the reading after it means nothing.",
        "The other side carries the load meanwhile; both slack at once would let it shift.",
        "A face that is not clean sits proud, and the torque is spent on squeezing dirt.",
        "Read before anything is moved, the value still tells how it ran."]
HAZARDS = [("caution", "The edge of the sheet is sharp.", "Cut fingers."),
           ("warning", "A spring behind the cover is still tensioned.", "A blow to the face."),
           ("notice", "The thread in the housing is soft.", "A new housing is needed."),
           ("warning", "The weight hangs on one bolt once the other is out.", "Crushed fingers.")]

MACHINE = """\
# An invented engine for measuring speed.
machine: bench_engine
title: An engine for measuring speed
positions:
  cylinder: [1, 2, 3, 4]
firing_order: [1, 3, 4, 2]
values:
  displacement: {is: 1731 mL, source: "manual, page 12"}
  compression_ratio: {is: 9.7, source: "manual, page 12"}
  lowest_pressure: {is: 8.8 bar, source: "manual, page 13"}
  cover_torque: {is: 21 N.m, source: "manual, page 14"}
"""


class Procedure:
    """The text of one procedure, grown step by step, and the answers that it takes."""

    def __init__(self, name, steps, varied, seed):
        self.name, self.steps_wanted, self.steps_varied = name, steps, varied
        self.random = random.Random(seed)
        self.lines, self.answers = [], []
        self.step = 0
        self.depth = 2
        self.numbers, self.vectors, self.choices = [], [], []

    def put(self, text):
        self.lines.append(" " * self.depth + text)

    def begin(self, action, **keys):
        self.step += 1
        name = f"work_{self.step}"
        self.put(f"- step: {name}")
        for key, value in keys.items():
            self.put(f"  {key}: {value}")
        self.put(f"  do: {action}")
        return name

    def place(self):
        return self.random.choice(PLACES)

    def dress(self):
        """What most steps also say."""
        if self.random.random() < 0.6:
            self.put(f"  look_for: {self.random.choice(LOOKS)}")
        if self.random.random() < 0.6:
            self.put("  why: >")
            self.put(f"    {self.random.choice(WHYS)}")
        if self.random.random() < 0.5:
            self.put(f"  tools: [{', '.join(self.random.sample(TOOLS, 2))}]")

    def message(self):
        signal, hazard, harm = self.random.choice(HAZARDS)
        self.put(f"  {signal}:")
        self.put(f"    hazard: {hazard}")
        self.put(f"    harm: {harm}")

    # --- kinds of step ---

    def plain(self):
        self.begin(f"Wipe the {self.place()} clean with a dry cloth, from the outside in.")
        self.dress()

    def warned(self):
        self.begin(f"Slacken the {self.place()} by a quarter turn, crosswise.")
        self.message()
        self.dress()

    def read_one(self):
        name = self.begin(f"Read the gauge at the {self.place()}, its needle at rest.")
        reading = f"value_{self.step}"
        self.put("  record:")
        self.put(f"    {reading}:")
        self.put("      gauge: dial")
        self.put("      readings: 2")
        self.put("      between: [0 bar, 25 bar]")
        self.dress()
        self.numbers.append(reading)
        value = 10 + self.random.randrange(20) / 10
        self.answers.append(f"{name}: {{{reading}: [{value} bar, {value + 0.1:.1f} bar]}}")

    def read_each(self):
        name = self.begin("Read cylinder {cylinder} twice, the needle down at zero between.",
                          each="cylinder")
        reading = f"values_{self.step}"
        self.put("  record:")
        self.put(f"    {reading}:")
        self.put("      gauge: dial")
        self.put("      between: [0 bar, 25 bar]")
        self.dress()
        self.vectors.append(reading)
        values = ", ".join(f"{i}: {11 + self.random.randrange(9) / 10} bar" for i in range(1, 5))
        self.answers.append(f"{name}: {{{reading}: {{{values}}}}}")

    def choose(self):
        name = self.begin(f"Look at the {self.place()} with the lamp from both sides.")
        reading = f"look_{self.step}"
        self.put(f"  record: {{{reading}: {{choices: [dry, damp, dripping]}}}}")
        self.dress()
        self.choices.append(reading)
        self.answers.append(f"{name}: {{{reading}: dry}}")

    def hold(self):
        name = self.begin(f"Press against the {self.place()} with the flat hand.")
        self.put("  hold:")
        self.put("    ask: What did it do?")
        self.put("    expect: stayed where it was")
        self.put("    otherwise: [moved, moved and came back]")
        self.dress()
        self.answers.append(f"{name}: stayed where it was")

    def tighten(self):
        name = self.begin(f"Tighten the bolts of the {self.place()} in a star, in two rounds.")
        self.put("  torque: {is: machine.cover_torque, gauge: wrench}")
        self.dress()
        self.answers.append(f"{name}: {{torque: 21 N.m}}")

    def condition_pair(self):
        number = self.step
        place = self.place()
        self.conditions.append(
            f"  propped_{number}:\n"
            f"    ask: The prop {number} at the {place} kicked hard by foot. What did it do?\n"
            "    expect: stood firm\n"
            "    otherwise: [rocked, slid away]\n"
            "    restore: Take the prop away.\n")
        self.begin(f"Set the prop under the {place} until it carries.", sets=f"[propped_{number}]")
        self.dress()
        self.begin(f"Take the weight off the {place}, eyes behind it.",
                   needs=f"[propped_{number}]")
        self.message()
        self.dress()
        self.begin(f"Take the prop at the {place} away.", clears=f"[propped_{number}]")
        self.answers.append(f"propped_{number}: stood firm")

    def part_pair(self):
        part = f"cover_{self.step}"
        place = self.place()
        self.begin(f"Take the cover off the {place} on to the bench.", removes=part)
        self.dress()
        self.begin(f"Put the cover of the {place} back by hand.", refits=part)
        self.put("  consumes:")
        self.put("    assembly grease: {is: 0.05 * room, at_most: 0.2 * room}")
        self.dress()

    def branch(self):
        if not self.numbers:
            self.read_one()
        reading = self.random.choice(self.numbers)
        self.put("- section: Only when it is low")
        self.put(f"  when: {reading} < 0.9 * machine.lowest_pressure or {reading} > 40 bar")
        self.put("  steps:")
        self.depth += 4
        self.plain()
        self.warned()
        self.depth -= 4

    # --- what gives a proof more than one way to follow ---

    def optional(self):
        name = self.begin(f"Brush the {self.place()} over.", optional="true")
        self.answers.append(f"{name}: {{optional: do}}")
        self.dress()

    def optional_tag(self):
        number = self.step
        self.conditions.append(f"  tagged_{number}:\n    restore: Take the tag {number} off.\n")
        name = self.begin(f"Tie a tag to the {self.place()}.",
                          optional="true", sets=f"[tagged_{number}]")
        self.answers.append(f"{name}: {{optional: pass over}}")
        self.warned()
        self.begin("Take the tag off.", clears=f"[tagged_{number}]")

    def choice(self):
        if not self.choices:
            self.choose()
        reading = self.random.choice(self.choices)
        self.put("- either:")
        self.depth += 4
        answers = len(self.answers)
        self.alternative(f"when: {reading} == \"dripping\"", self.condition_pair)
        del self.answers[answers:]              # it is dry in the rehearsal
        self.alternative("otherwise: true", self.plain)
        self.depth -= 4

    def alternative(self, key, kind):
        self.put(f"- {key}")
        self.put("  steps:")
        self.depth += 4
        kind()
        self.depth -= 4

    def again(self):
        reading = f"seen_{self.step}"
        self.put(f"- repeat: rounds_{self.step}")
        self.put(f"  until: {reading} == \"dry\"")
        self.put("  at_most: 4")
        self.put("  steps:")
        self.depth += 4
        self.condition_pair()
        name = self.begin(f"Look at the {self.place()} once more.")
        self.put(f"  record: {{{reading}: {{choices: [dry, damp], again: replaces}}}}")
        self.answers.append(f"{name}: {{{reading}: dry}}")
        self.depth -= 4

    def round_each(self):
        number = self.step
        vector = self.random.choice(self.vectors)
        self.conditions.append(f"  open_{number}:\n    each: cylinder\n"
                               f"    restore: Close this cylinder again.\n")
        self.put("- section: Only the weak ones")
        self.put("  each: cylinder")
        self.put(f"  in: {vector} < 0.5 * max({vector})")
        self.put("  steps:")
        self.depth += 4
        self.begin("Open cylinder {cylinder} by a turn.", sets=f"[\"open_{number}[cylinder]\"]")
        self.begin("Look into cylinder {cylinder}.", needs=f"[\"open_{number}[cylinder]\"]")
        self.begin("Close cylinder {cylinder}.", clears=f"[\"open_{number}[cylinder]\"]")
        self.depth -= 4

    def head_section(self):
        """Whatever comes next, no section is longer than `check` thinks good: 12 steps."""
        if self.headed is None or self.step - self.headed >= 8:
            self.headed = self.step
            self.parts += 1
            self.put(f"- section: Part {self.parts}, the {self.place()}")

    def write(self):
        self.conditions = []
        self.headed, self.parts = None, 0
        even = [self.plain, self.warned, self.read_one, self.read_each, self.choose, self.hold,
                self.tighten]
        kinds = [*even, self.condition_pair, self.part_pair, self.branch, self.optional,
                 self.optional_tag, self.choice, self.again, self.round_each]
        self.read_each()
        while self.step < self.steps_wanted - 3:
            self.head_section()
            self.random.choice(kinds if self.step < self.steps_varied else even)()
        while self.step < self.steps_wanted:
            self.head_section()
            self.plain()
        return self.head() + "\n".join(self.lines) + "\n" + self.tail()

    def head(self):
        conditions = "conditions:\n" + "".join(self.conditions) if self.conditions else ""
        return (f"# Made by a generator, for measuring speed.\nprocedure: {self.name}\n"
                f"title: Inspection number {self.name[6:]} of the series\nrevision: 1\n"
                "about: >\n  Every kind of line that a procedure can hold, in an order of its own.\n"
                "machine:\n  displacement: mL\n  compression_ratio: \"1\"\n"
                "  lowest_pressure: bar\n  cover_torque: N.m\n"
                "gauges:\n  dial: {unit: bar, resolution: 0.1 bar, accuracy: 2 %}\n"
                "  wrench: {unit: N.m, resolution: 0.5 N.m, accuracy: 4 %}\n"
                f"{conditions}steps:\n")

    def tail(self):
        text = ["names:",
                "  room: machine.displacement / size(cylinder) / (machine.compression_ratio - 1)"]
        first = self.vectors[0]
        text.append(f"  weak: {first} < 0.75 * max({first}) or {first} < machine.lowest_pressure")
        text.append("results:")
        for reading in self.vectors:
            text += [f"  - result: lowest_{reading}", f"    value: min({reading})", "    unit: bar",
                     "    limit: {at_least: machine.lowest_pressure}", "    source: the sheet",
                     f"  - result: share_{reading}",
                     f"    value: min({reading}) / mean({reading})", "    unit: \"%\"",
                     "    limit: {at_least: 80 %}", "    source: common practice"]
        for reading in self.numbers:
            text += [f"  - result: result_{reading}", f"    value: {reading} / max({first}) - 1",
                     "    unit: \"%\""]
        text.append("findings:")
        for reading in self.vectors:
            text += [f"  - when: any({reading} < 0.8 * mean({reading}))",
                     f"    say: \"Far below the mean: cylinder {{where({reading} < 0.8 * "
                     f"mean({reading}))}}.\"", "    source: common practice"]
        for reading in self.choices:
            text += [f"  - when: {reading} == \"dripping\"",
                     "    say: It loses more than it should.", "    source: common practice"]
        text += ["  - when: any(weak)", "    say: \"Weak: cylinder {where(weak)}.\"",
                 "    source: common practice",
                 "follow_up:", "  - what: Look at it again after the first long run",
                 "    within: 12 months"]
        return "\n".join(text) + "\n"

    def answers_file(self):
        return (f"procedure: {self.name}\nmachine: bench_engine\nbegins: 2026-03-07T09:00:00Z\n"
                "seed: 3\nanswers:\n" + "".join(f"  {line}\n" for line in self.answers))


def main():
    folder, count, steps = pathlib.Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    varied = int(sys.argv[4]) if len(sys.argv) > 4 else steps
    for subfolder in ("machines", "answers"):
        (folder / subfolder).mkdir(parents=True, exist_ok=True)
    (folder / "machines" / "bench_engine.yaml").write_text(MACHINE)
    for number in range(count):
        procedure = Procedure(f"bench_{steps}_{number:04}", steps, varied, number)
        (folder / f"{procedure.name}.yaml").write_text(procedure.write())
        if number == 0:
            (folder / "answers" / f"{procedure.name}.yaml").write_text(procedure.answers_file())


main()
