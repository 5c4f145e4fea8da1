#!/usr/bin/python3
"""Compares the numbers of two folders of JSON: python3 tests/same.py FOLDER OTHER

Everything but a number must be the same; numbers within 1e-9 of 1 + their size.
"""
import json
import os
import sys

LIMIT = 1e-9


def differences(one, other, where):
    if isinstance(one, dict) and isinstance(other, dict) and list(one) == list(other):
        for key in one:
            yield from differences(one[key], other[key], f"{where}.{key}")
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        for index, pair in enumerate(zip(one, other)):
            yield from differences(*pair, f"{where}[{index}]")
    elif isinstance(one, float) or isinstance(other, float):
        yield abs(one - other) / (1 + abs(one)), where
    elif one != other:
        yield float("inf"), where


def load(path):
    with open(path, encoding="utf-8") as file:
        return json.load(file)


folder, other = sys.argv[1:3]
found = []
for root, _, names in os.walk(folder):
    for name in sorted(names):
        path = os.path.join(root, name)
        if name.endswith(".json"):
            found += differences(load(path), load(other + path[len(folder):]), path[len(folder):])
worst, where = max(found)
print(f"{os.path.basename(other)} and {os.path.basename(folder)}: {len(found)} numbers, worst "
      f"{worst:.1e} of 1 + its size at {where}; limit {LIMIT:.0e}")
sys.exit(worst > LIMIT)
