"""Holds what check draws and tells against their formats, for every procedure that ships.

usage: check_outputs.py PROGRAM

Pictures: XML as Python's parser reads it (expat), no text beside the sheet, no two
texts on one another, the same bytes twice.  JSON: schemas/check.schema.json, and
the example of docs/check-json.md.  Needs python3-jsonschema.
"""

import json
import pathlib
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ElementTree

import jsonschema

SVG = "{http://www.w3.org/2000/svg}"
passed = failed = 0


def expect(truth, what):
    global passed, failed
    if truth:
        passed += 1
    else:
        failed += 1
        print(f"FAILED: {what}")


def run(program, *arguments):
    return subprocess.run([program, "check", *arguments], capture_output=True, timeout=120)


def size_of(words, style):
    if style == "title":
        return 54
    return 25 if style in ("small", "side", "marktext", "onred", "onblue", "onlight") else 32


def text_boxes(root):
    """Each text as (left, top, right, bottom, words).  0.5 em is the mean advance of a
    proportional sans-serif font (from memory), so what overlaps here overlaps on the sheet."""
    for element in root.iter(SVG + "text"):
        words = "".join(element.itertext())
        size = size_of(words, element.get("class"))
        x, y = int(element.get("x")), int(element.get("y"))
        width = 0.5 * size * len(words)
        if element.get("class") == "marktext":
            x -= width / 2
        yield x, y - 0.7 * size, x + width, y, words


def check_picture(program, folder, path):
    files = [folder / "a.svg", folder / "b.svg"]
    for file in files:
        run(program, "--picture", str(file), str(path))
        if not file.exists():
            expect(False, f"{path}: no picture")
            return
    expect(files[0].read_bytes() == files[1].read_bytes(), f"{path}: the same bytes twice")
    root = ElementTree.parse(files[0]).getroot()
    expect(root.get("role") == "img", f"{path}: role")
    expect(root.find(SVG + "title").text, f"{path}: title")
    expect(root.find(SVG + "desc").text, f"{path}: desc")
    width, height = map(int, root.get("viewBox").split()[2:])
    boxes = sorted(text_boxes(root), key=lambda box: box[1])
    for i, (left, top, right, bottom, words) in enumerate(boxes):
        if left < 0 or top < 0 or right > width or bottom > height:
            expect(False, f"{path}: beside the sheet: {words}")
        for other in boxes[i + 1:]:
            if other[1] >= bottom:
                break
            if left < other[2] and other[0] < right:
                expect(False, f"{path}: {words!r} on {other[4]!r}")
    text = "".join(root.itertext())
    source = path.read_text(encoding="utf-8")
    steps = len(re.findall(r"^ *- step: ", source, re.MULTILINE))
    numbers = [int(element.text) for element in root.iter(SVG + "text")
               if element.get("class") == "bold" and (element.text or "").isdigit()]
    expect(numbers == list(range(1, len(numbers) + 1)) and len(numbers) >= steps,
           f"{path}: every step, numbered")
    expect("Revision" in text, f"{path}: revision")
    for file in files:
        file.unlink()


def check_json(program, validator, path, verdicts):
    for line in run(program, "--json", str(path)).stdout.decode("utf-8").splitlines():
        told = json.loads(line)
        flaws = [flaw.message for flaw in validator.iter_errors(told)]
        expect(not flaws, f"{path}: {flaws}")
        if told["proof"]:
            verdicts.add(told["proof"]["verdict"])


def without_sentences(told):
    if isinstance(told, dict):
        return {key: without_sentences(value) for key, value in told.items()
                if key not in ("sentence", "text", "words", "assuming")}
    if isinstance(told, list):
        return [without_sentences(value) for value in told]
    return told


def check_example(program, folder, validator):
    document = pathlib.Path("docs/check-json.md").read_text(encoding="utf-8")
    written = re.search(r"```yaml\n(.*?)```", document, re.DOTALL).group(1)
    shown = json.loads(re.search(r"```json\n(.*?)```", document, re.DOTALL).group(1))
    (folder / "lid.yaml").write_text(written, encoding="utf-8")
    ran = subprocess.run([pathlib.Path(program).resolve(), "check", "--json", "lid.yaml"],
                         cwd=folder, capture_output=True, timeout=60)
    told = json.loads(ran.stdout)
    expect(ran.returncode == 1, "the example cannot be used")
    expect(without_sentences(told) == without_sentences(shown), "the example of the document")
    expect(not list(validator.iter_errors(shown)), "the document's example fits the schema")
    check_picture(program, folder, folder / "lid.yaml")


def check_refusals(program, folder):
    procedures = sorted(str(path) for path in pathlib.Path("procedures").glob("*.yaml"))
    two = run(program, "--picture", str(folder / "x.svg"), *procedures[:2])
    expect(two.returncode == 2, "a picture is of one procedure")
    (folder / "kept.yaml").write_text("kept", encoding="utf-8")
    other = run(program, "--picture", str(folder / "kept.yaml"), procedures[0])
    expect(other.returncode == 2, "a picture is an .svg")
    expect((folder / "kept.yaml").read_text(encoding="utf-8") == "kept", "nothing is written over")
    none = run(program, "--picture", str(folder / "y.svg"), "procedures/safety.yaml")
    expect(none.returncode == 1 and not (folder / "y.svg").exists(), "no picture of a library")
    misread = run(program, "--picture", str(folder / "y.svg"),
                  "tests/procedures/faulty/duplicate_key.yaml")
    expect(misread.returncode == 1 and not (folder / "y.svg").exists(),
           "no picture of what was misread")
    nowhere = run(program, "--picture", str(folder / "none" / "y.svg"), procedures[0])
    expect(nowhere.returncode == 3, "a folder that is not there")


def main():
    program = sys.argv[1]
    schema = json.loads(pathlib.Path("schemas/check.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    verdicts = set()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        for path in sorted(pathlib.Path("procedures").glob("*.yaml")):
            check_json(program, validator, path, verdicts)
            if re.search(r"^procedure:", path.read_text(encoding="utf-8"), re.MULTILINE):
                check_picture(program, folder, path)
        for path in sorted(pathlib.Path("tests/procedures/faulty").glob("*.yaml")):
            check_json(program, validator, path, verdicts)
        check_example(program, folder, validator)
        check_refusals(program, folder)
    expect({"sound", "part", "unsafe"} <= verdicts, f"verdicts that were met: {verdicts}")
    print(f"{passed} passed, {failed} failed")
    return failed > 0 or passed == 0


sys.exit(main())
