#!/usr/bin/env python3
"""Schemas and loader say the same.

    test_schemas.py PROGRAM     PROGRAM is the built tests/schemas/tell.c

An independent reader (PyYAML) and an independent validator (jsonschema, draft 2020-12) look at
every fixture and every file that ships:

- what a schema refuses, the loader refuses too;
- what is sound is valid;
- every map of a schema has the keys of the loader's table, and requires the same;
- every key has a description, every map a title and no room for other keys.

Every scalar is read as a text, as the loader reads it: a key decides the type, never YAML.
"""
import glob
import json
import subprocess
import sys

import yaml
from jsonschema import Draft202012Validator

FORMS = ["procedure", "machine", "gauges", "safety", "answers"]
passed, failed = 0, 0


def check(is_right, what):
    global passed, failed
    if is_right:
        passed += 1
    else:
        failed += 1
        print("failed:", what)


def parse(path):
    """The file as lists, maps and texts; None where an independent reader refuses it."""
    try:
        with open(path, encoding="utf-8-sig") as file:
            # What `banksman new` writes has its name put in first.
            return yaml.load(file.read().replace("NEW_NAME", "new_name"), yaml.BaseLoader)
    except (yaml.YAMLError, UnicodeDecodeError, TypeError, ValueError):
        return None


def form_of(document):
    """What a file says it is, by its keys at the top; a procedure if they say nothing."""
    keys = set(document) if isinstance(document, dict) else set()
    if "steps" in keys or "title" in keys and "procedure" in keys:
        return "procedure"
    if "procedure" in keys and keys & {"answers", "expect", "machine", "pause_before"}:
        return "answers"
    for form in ("procedure", "machine", "gauges"):
        if form in keys:
            return form
    return "safety" if keys & {"conditions", "activities", "not_a_precaution"} else "procedure"


def load_schemas():
    schemas = {}
    for form in FORMS:
        with open(f"schemas/{form}.schema.json", encoding="utf-8") as file:
            schemas[form] = json.load(file)
        Draft202012Validator.check_schema(schemas[form])
    return schemas


def maps_of(node):
    """Every map in a schema that stands for a map of the loader's table."""
    if isinstance(node, dict):
        comment = node.get("$comment", "")
        if comment.startswith("map: "):
            yield comment[len("map: "):], node
        for value in node.values():
            yield from maps_of(value)
    elif isinstance(node, list):
        for value in node:
            yield from maps_of(value)


def key_table(program):
    table = {}
    rows = subprocess.run([program, "keys"], check=True, capture_output=True, text=True).stdout
    for row in rows.splitlines():
        name, key, is_required = row.split("\t")
        table.setdefault(name, {})[key] = is_required == "required"
    return table


def compare_maps(schemas, table):
    seen = set()
    for form, schema in schemas.items():
        for name, node in maps_of(schema):
            where = f"{form}.schema.json, map '{name}'"
            seen.add(name)
            check(name in table, f"{where}: the loader has no such map")
            loader = table.get(name, {})
            keys = set(node["properties"])
            check(keys == set(loader),
                  f"{where}: only in the schema {sorted(keys - set(loader))}, "
                  f"only in the loader {sorted(set(loader) - keys)}")
            required = {key for key, is_required in loader.items() if is_required}
            check(set(node.get("required", [])) == required,
                  f"{where}: the loader requires {sorted(required)}, "
                  f"the schema {sorted(node.get('required', []))}")
            check(node.get("additionalProperties") is False, f"{where}: takes any key")
            check(bool(node.get("title")), f"{where}: has no title")
            for key, value in node["properties"].items():
                check(bool(value.get("description")), f"{where}: '{key}' has no description")
    for name in sorted(set(table) - seen):
        check(False, f"the loader's map '{name}' is in no schema")


def loader_errors(program, path):
    """How many errors the loader finds; None if it did not come to an end."""
    told = subprocess.run([program, "errors", path], capture_output=True, check=False)
    return int(told.stdout.split(b"\t")[0]) if told.returncode == 0 else None


def first_refusal(schema, document):
    for error in Draft202012Validator(schema).iter_errors(document):
        return f"at {'/'.join(str(part) for part in error.absolute_path)}: {error.message[:200]}"
    return None


def compare_files(schemas, program):
    sound = sorted(glob.glob("tests/procedures/sound/*.yaml") +
                   glob.glob("tests/procedures/parts/*.yaml"))
    shipped = sorted(glob.glob("procedures/**/*.yaml", recursive=True))
    faulty = sorted(glob.glob("tests/procedures/faulty/*.yaml"))
    check(len(sound) > 20 and len(faulty) > 50, "there are fixtures to look at")
    for path in sound + shipped:
        document = parse(path)
        check(document is not None, f"{path} is sound, but cannot be read")
        form = form_of(document)
        refusal = first_refusal(schemas[form], document)
        check(refusal is None, f"{path} is sound, but {form}.schema.json refuses it {refusal}")
    refused = 0
    for path in sound + faulty:
        errors = loader_errors(program, path)
        check(errors is not None, f"the loader fell over {path}")
        document = parse(path)
        refusal = "as YAML"
        if document is not None:
            refusal = first_refusal(schemas[form_of(document)], document)
        if refusal is not None and errors is not None:
            refused += 1
            check(errors > 0, f"the schema refuses {path} {refusal}, but the loader does not")
    check(refused > 30, "the schemas refuse some of the faulty files")


def main():
    if len(sys.argv) != 2:
        sys.exit("test_schemas.py PROGRAM")
    schemas = load_schemas()
    for form, schema in schemas.items():
        check(schema.get("$id", "").startswith("urn:banksman:"), f"{form}: $id is no urn")
    compare_maps(schemas, key_table(sys.argv[1]))
    compare_files(schemas, sys.argv[1])
    print(f"{passed} passed, {failed} failed")
    sys.exit(1 if failed else 0)


main()
