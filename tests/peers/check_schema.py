"""Checks every bulletin of a folder against the schema in docs, and that the
schema itself is sound, complete and not empty of meaning.
Usage: check_schema.py SCHEMA FOLDER"""

import copy
import json
import pathlib
import sys

import jsonschema


def keys_of(value, path=""):
    """Every key of a bulletin, as a path without the numbers of rows."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield f"{path}/{key}"
            yield from keys_of(inner, f"{path}/{key}")
    elif isinstance(value, list):
        for inner in value:
            yield from keys_of(inner, path)


def described(schema, root, path=""):
    if "$ref" in schema:
        schema = root["$defs"][schema["$ref"].rsplit("/", 1)[1]]
    for key, inner in schema.get("properties", {}).items():
        yield f"{path}/{key}"
        yield from described(inner, root, f"{path}/{key}")
    if "items" in schema:
        yield from described(schema["items"], root, path)


def must_fail(validator, bulletin, what, change):
    broken = copy.deepcopy(bulletin)
    change(broken)
    if validator.is_valid(broken):
        sys.exit(f"the schema lets through: {what}")


def main():
    schema = json.loads(pathlib.Path(sys.argv[1]).read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    paths = sorted(pathlib.Path(sys.argv[2]).glob("*.bulletin.json"))
    if len(paths) < 14:
        sys.exit(f"only {len(paths)} bulletins")
    seen = set()
    for path in paths:
        bulletin = json.loads(path.read_text())
        for error in validator.iter_errors(bulletin):
            sys.exit(f"{path.name}: {error.json_path}: {error.message}")
        seen |= set(keys_of(bulletin))
    known = set(described(schema, schema))
    if seen != known:
        sys.exit(f"written, not described: {sorted(seen - known)}; "
                 f"described, never written: {sorted(known - seen)}")

    plain = json.loads(
        (pathlib.Path(sys.argv[2]) / "plain.bulletin.json").read_text())
    must_fail(validator, plain, "a chance of 2",
              lambda b: b["days"][2].update(run_chance=2))
    must_fail(validator, plain, "a strength not known",
              lambda b: b["days"][2].update(strength="gusher"))
    must_fail(validator, plain, "a time without offset",
              lambda b: b.update(made="2026-03-06T18:10:00"))
    must_fail(validator, plain, "a known day without volumes",
              lambda b: b["days"][2].pop("sap_l_p50"))
    must_fail(validator, plain, "another version",
              lambda b: b.update(version=2))
    must_fail(validator, plain, "a lack not known",
              lambda b: b.update(no_plan={"lacks": "luck", "words": "No."}))
    must_fail(validator, plain, "no bush",
              lambda b: b.update(bushes=[]))
    print(f"{len(paths)} bulletins, {len(known)} keys")


main()
