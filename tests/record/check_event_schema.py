"""Holds the events the program writes against schemas/event.schema.json.

usage: check_event_schema.py SCHEMA TEST_EVENT_JSON

Runs the test program, which leaves one file per event; those it reads must fit
the schema, those it refuses (in "faulty") must not.  Needs python3-jsonschema.
"""

import json
import os
import pathlib
import subprocess
import sys
import tempfile

import jsonschema


def main():
    schema_path, program = sys.argv[1:]
    schema = json.loads(pathlib.Path(schema_path).read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    passed = failed = 0
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        (folder / "faulty").mkdir()
        environment = dict(os.environ, EVENT_FOLDER=name)
        subprocess.run([program], env=environment, check=True, stderr=subprocess.DEVNULL,
                       stdout=subprocess.DEVNULL)
        kinds = set()
        for path in sorted(folder.rglob("*.json")):
            event = json.loads(path.read_text(encoding="utf-8"))
            is_faulty = path.parent != folder
            flaws = [flaw.message for flaw in validator.iter_errors(event)]
            if not is_faulty:
                kinds.add(event["kind"])
            if bool(flaws) == is_faulty:
                passed += 1
            else:
                failed += 1
                print(f"{'fits' if is_faulty else flaws}: {path.read_text(encoding='utf-8')}")
    for kind in schema["properties"]["kind"]["enum"]:
        if kind in kinds:
            passed += 1
        else:
            failed += 1
            print(f"no event of kind {kind} was written")
    print(f"{passed} passed, {failed} failed")
    return failed > 0 or passed == 0


sys.exit(main())
