#!/usr/bin/env python3
"""Gauges of one's own, and what an earlier job read with them.

    test_gauges.py PROGRAM [PART-OF-A-NAME]

Every test has a home and a folder of its own.  Needs Python's standard library alone.
"""
import subprocess
import sys

from place import PROGRAM, TREE, require, require_status, require_words, run_tests, test

WATCH = """\
procedure: watch
title: Watch the oil pressure
revision: 1
about: The same reading every day.
gauges:
  dial: {unit: bar, resolution: 0.1 bar, accuracy: 2 %}
steps:
  - step: read
    do: Read the gauge.
    record: {pressure: {gauge: dial, readings: 3, between: [0 bar, 25 bar]}}
  - step: fill
    when: pressure < 3 bar
    do: Fill it up.
    record: {poured: {unit: L, again: adds, between: [0 L, 5 L]}}
results:
  - {result: change, value: pressure - earlier.pressure, unit: bar}
  - {result: poured_then, value: earlier.poured, unit: mL}
"""
SHEET = "machine: shed_pump\ntitle: Shed pump\n"
BRASS = """\
gauges:
  dial: {title: Brass dial, unit: psi, resolution: 1 psi, accuracy: 2 psi, due: 2020-01-31}
"""
FINE = "gauges:\n  dial: {title: Fine dial, unit: bar, accuracy: 0.1 bar, due: 2999-01-31}\n"


def set_up(bench, gauges):
    bench.write("procedures/watch.yaml", WATCH)
    bench.write("procedures/machines/shed_pump.yaml", SHEET)
    bench.write("home/gauges.yaml", gauges)


def walk(bench, *lines):
    done = subprocess.run([PROGRAM, "start", "watch", "-m", "shed_pump"], cwd=bench.folder,
                          env=bench.environment, input="\n".join(lines) + "\n",
                          capture_output=True, text=True, timeout=60, check=False)
    require(done.returncode == 0, f"status {done.returncode}: {done.stdout}{done.stderr}")
    return done.stdout


def near(value, wanted):
    return abs(float(value) - wanted) <= 1e-4 * abs(wanted)


@test
def what_is_typed_bare_is_in_the_unit_on_the_scale_of_ones_own_gauge(bench):
    set_up(bench, BRASS)
    told = walk(bench, "58", "60", "4.2 bar")
    # NIST SP 811: 1 psi = 6894.757 Pa
    require_words(told, "pressure (1 of 3), in psi", "pressure: 58 psi (3.999 bar)",
                  "pressure: 4.2 bar")
    read = [event for event in bench.events() if event["kind"] == "read"]
    require([event["typed"] for event in read] == ["58", "60", "4.2 bar"], str(read))
    require(near(read[0]["value"], 58 * 6894.757), str(read[0]))
    require_words(bench.run("card", "1").stdout, "58 psi 58", "Brass dial psi 1 psi 2 psi")


@test
def a_gauge_past_its_calibration_is_said_before_the_work_and_on_the_card(bench):
    set_up(bench, BRASS)
    past = "Brass dial: calibration was due 2020-01-31: past."
    kit = bench.run("kit", "watch", "-m", "shed_pump")
    require_status(kit, 0)
    require_words(kit.stdout, "Brass dial psi", past)
    require_words(walk(bench, "kit", "58", "60", "60"), past,
                  "Brass dial, in psi; calibration was due 2020-01-31: past")
    require_words(bench.run("card", "1").stdout, past)
    bench.write("home/gauges.yaml", FINE)
    for told in (bench.run("kit", "watch", "-m", "shed_pump").stdout, walk(bench, "4", "4", "4"),
                 bench.run("card", "2").stdout):
        require("past" not in told, told)


# Job 1: 58, 60, 62 psi; s = 2 psi, of the mean 2/sqrt(3); 2 psi and half a step of 1 psi over sqrt(3)
# (JCGM 100:2008, 4.2.3 and 4.3.7): u = sqrt(4/3 + 4/3 + 1/12) = 1.6583 psi = 11434 Pa, and by Welch and
# Satterthwaite (G.4.1) 2.75^2 / ((4/3)^2 / 2) = 8.508 degrees of freedom.
# Job 2: three times 4.5 bar within 0.1 bar: u = 0.05774 bar.  The change is 4.5 - 4.1369 = 0.3631 bar, with
# sqrt(0.11434^2 + 0.05774^2) = 0.12809 bar of 13.4 degrees of freedom, t = 2.154: 0.276 bar.
@test
def an_earlier_value_brings_its_own_uncertainty_with_the_gauge_of_then(bench):
    set_up(bench, BRASS)
    walk(bench, "58", "60", "62")
    bench.write("home/gauges.yaml", FINE)
    walk(bench, "4.5", "4.5", "4.5")
    earlier = {value["name"]: value for value in bench.events(2)[0]["earlier"]}
    pressure = earlier["pressure"]
    require(near(pressure["value"], 60 * 6894.757), str(pressure))
    require(near(pressure["uncertainty"], 1.65831 * 6894.757), str(pressure))
    require(near(pressure["freedom"], 8.5078), str(pressure))
    card = bench.run("card", "2").stdout
    require_words(card, "(0.36 ± 0.28) bar")
    require("Uncertainty of the earlier value unknown" not in card, card)


@test
def an_earlier_reading_that_is_added_up_is_0_where_nothing_was_added(bench):
    set_up(bench, BRASS)
    walk(bench, "10", "10", "10", "0.3")
    walk(bench, "60", "60", "60")
    walk(bench, "60", "60", "60")
    require_words(bench.run("card", "1").stdout, "there is no earlier")
    require_words(bench.run("card", "2").stdout, "300 mL")
    third = {value["name"]: value for value in bench.events(3)[0]["earlier"]}
    require(float(third["poured"]["value"]) == 0 and float(third["poured"]["uncertainty"]) == 0,
            str(third))
    require_words(bench.run("card", "3").stdout, "Poured then 0 mL")
    walk(bench, "10", "10", "10", "skip no oil there")   # nobody knows: not 0
    walk(bench, "60", "60", "60")
    fifth = bench.run("card", "5").stdout
    require_words(fifth, "Poured then 0 mL")   # that of job 3


# The gauges that docs/procedure-format.md shows, and a job with one of each.
BENCH = """\
procedure: bench
title: One of each
revision: 1
about: One of each.
machine: {nut_torque: N.m, cap_torque: N.m, wrench_length: mm}
gauges:
  oil_gauge: {unit: bar, resolution: 0.1 bar, accuracy: 2 %}
  multimeter: {unit: V, resolution: 0.01 V, accuracy: 1 %}
  torque_wrench: {unit: N.m, resolution: 0.5 N.m, accuracy: 4 %}
  thermometer: {unit: °C, accuracy: 1 °C}
steps:
  - step: read
    do: Read them.
    record:
      oil: {gauge: oil_gauge, between: [0 bar, 12 bar]}
      rest: {gauge: multimeter, between: [9 V, 15 V]}
      warm: {gauge: thermometer, between: [-20 °C, 150 °C]}
  - step: nut
    do: Tighten the nut.
    torque:
      is: machine.nut_torque
      gauge: torque_wrench
      extension: 60 mm
      wrench_length: machine.wrench_length
  - step: cap
    do: Tighten the cap.
    torque: {is: machine.cap_torque, gauge: torque_wrench}
results:
  - {result: pressure, value: oil, unit: psi}
  - {result: battery, value: rest, unit: V, limit: {at_least: 12.4 V}, source: common practice}
  - {result: warmth, value: warm, unit: °C}
  - {result: nut_set, value: nut.torque, unit: N.m}
"""
BENCH_SHEET = """\
machine: shed_pump
title: Shed pump
values:
  nut_torque: {is: 46 N.m, source: "leaflet, page 1"}
  cap_torque: {is: 8 N.m, source: "leaflet, page 1"}
  wrench_length: {is: 400 mm, source: the wrench}
"""
BENCH_ANSWERS = """\
procedure: bench
machine: shed_pump
answers:
  oil: 42 psi
  rest: 12.43
  warm: 176 °F
  nut: {torque: 40}
  cap: {torque: 8}
expect:
  battery: {verdict: too close to call}
"""


def gauges_of_the_document():
    document = (TREE / "docs" / "procedure-format.md").read_text()
    return document.split("```yaml gauges\n")[1].split("```")[0]


# By hand, each a half width over sqrt(3) (JCGM 100:2008, 4.3.7), the root of the squares (5.1.2), and 1.96:
# oil      1.6 % of 160 psi = 2.56 psi, half a step 0.5 psi: u = 1.506 psi, 2.95 psi
# rest     0.5 % of 12.43 V = 0.06215 V, 0.02 V, half a step 0.005 V: u = 0.0378 V, 0.0741 V
# warm     2 °F, half a step 0.5 °F: u = 1.190 °F = 0.6612 K, 1.30 K; 176 °F = 80 °C
# nut      4 % of 40 N·m = 1.6 N·m, half a step 0.25 N·m: u = 0.935 N·m, 1.83 N·m
# The wrench with 60 mm in line: 46 N·m * 400 / 460 = 40 N·m (TM 1-1500-204-23-9).
# 12.43 V against 12.4 V: 0.03 / 0.0378 = 0.794 u, normal 0.786: too close to call.
@test
def the_gauges_in_the_document_come_out_on_the_card_as_good_as_they_are_said_to_be(bench):
    bench.write("procedures/bench.yaml", BENCH)
    bench.write("procedures/machines/shed_pump.yaml", BENCH_SHEET)
    bench.write("procedures/answers/bench.yaml", BENCH_ANSWERS)
    bench.write("home/gauges.yaml", gauges_of_the_document())
    require_status(bench.run("check", "home/gauges.yaml"), 0)
    done = bench.run("start", "--answers", "bench")
    require_status(done, 0)
    require_words(done.stdout, "Torque 46 N·m; with the extension in line, set the wrench to 40 N·m.",
                  "oil, in psi", "warm: 176 °F (80 °C)")
    card = bench.run("card", "1").stdout
    require_words(card, "(42.0 ± 3.0) psi", "(12.430 ± 0.074) V", "(80.0 ± 1.3) °C",
                  "(40.0 ± 1.8) N·m", "chance that it is within its limit is 79 in 100",
                  "1.6 % of 160 psi", "reading and 0.02 V", "4 % of the reading",
                  "Nut 40 N·m, for 46 N·m with the")
    for term in ("2 °F", "1 °F"):
        require_words(card, term)


@test
def a_wrench_with_another_scale_is_told_what_to_set_on_it(bench):
    bench.write("procedures/bench.yaml", BENCH)
    bench.write("procedures/machines/shed_pump.yaml", BENCH_SHEET)
    bench.write("procedures/answers/bench.yaml", BENCH_ANSWERS)
    bench.write("home/gauges.yaml", "gauges:\n  torque_wrench: {unit: lbf.ft, accuracy: 4 %}\n")
    done = bench.run("start", "--answers", "bench")
    require_status(done, 0)
    # NIST SP 811, B.8: 1 lbf.ft = 1.355 818 N.m; 40 N.m = 29.50 lbf.ft, 8 N.m = 5.900 lbf.ft
    require_words(done.stdout, "Torque: 46 N·m. Set the wrench to 29.5 lbf·ft",
                  "Torque 46 N·m; with the extension in line, set the wrench to 29.5 lbf·ft.",
                  "Torque: 8 N·m, 5.9 lbf·ft on this wrench.", "Torque 8 N·m (5.9 lbf·ft).")
    require_words(bench.run("card", "1").stdout, "Nut 29.5 lbf·ft, for 46 N·m with the")


ANSWERS = """\
procedure: watch
answers:
  pressure: [4, 4.1, 60 psi]
"""


@test
def a_bare_number_in_an_answers_file_is_in_the_unit_of_the_procedure(bench):
    set_up(bench, BRASS)
    bench.write("procedures/answers/watch.yaml", ANSWERS)
    done = bench.run("start", "watch", "-m", "shed_pump", "--answers", "watch")
    require_status(done, 0)
    require_words(done.stdout, "pressure: 4 bar", "pressure: 60 psi (4.137 bar)")


if __name__ == "__main__":
    sys.exit(run_tests())
