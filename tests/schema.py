#!/usr/bin/env python3
"""Does reference/profile.schema.json accept the sample and refuse what its column says it can?

Run from the top of the tree: python3 tests/schema.py [PROFILE.json...] (further profiles to accept)
"""
import json
import sys

from jsonschema import Draft202012Validator

SAMPLE = "tests/data/profile.json"
CASES = "tests/data/invalid_profiles/cases.tsv"


def refuse_constant(name):
    raise ValueError(f"{name} is not JSON")


def verdict(validator, text):
    try:
        profile = json.loads(text, parse_constant=refuse_constant)
    except ValueError:
        return "-"
    return "no" if validator.is_valid(profile) else "yes"


with open("reference/profile.schema.json", encoding="utf-8") as file:
    schema = json.load(file)
Draft202012Validator.check_schema(schema)
validator = Draft202012Validator(schema)

for path in [SAMPLE, *sys.argv[1:]]:
    with open(path, encoding="utf-8") as file:
        validator.validate(json.load(file))

with open(SAMPLE, encoding="utf-8") as file:
    sample = file.read()
refused = wrong = 0
with open(CASES, encoding="utf-8") as file:
    rows = [line.rstrip("\n").split("\t") for line in file if not line.startswith("#")]
for name, old, new, _, wanted in rows[1:]:
    assert old == "*" or old in sample, f"{name}: the sample has no {old}"
    got = verdict(validator, new if old == "*" else sample.replace(old, new, 1))
    refused += got == "yes"
    if got != wanted:
        wrong += 1
        print(f"{name}: refused by the schema: wanted {wanted}, got {got}")
print(f"{len(rows) - 1} invalid profiles, {refused} refused by the schema, {wrong} not as stated")
sys.exit(wrong > 0)
