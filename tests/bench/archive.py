#!/usr/bin/python3
"""Writes a season's archive: a visit's sweeps drawn again and again: archive.py VISIT FOLDER ROWS [timed].

Every number is a row of its own and stands a step or two beside the one that was read, so that the
archive has more cells than the visit, though not more with every row. timed: every row has a time of
day, one of 300 minutes, so that few rows are alike.
"""
import csv
import pathlib
import random
import re
import shutil
import sys

visit, folder, rows = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]), int(sys.argv[3])
folder.mkdir(parents=True, exist_ok=True)
for name in ("beach.ini", "kit.csv"):
    shutil.copy(visit / name, folder / name)
said = dict(re.findall(r"^(scale_\w+) = (-?\d+)", (visit / "beach.ini").read_text(), re.M))
low, high, step = (int(said["scale_" + word]) for word in ("low", "high", "step"))
lines = [line for line in (visit / "sweeps.csv").open() if line[0] != "#"]
swept = [(row, number) for row in csv.DictReader(lines) for number in row["reading"].split()]
timed = "timed" in sys.argv[4:]
dice = random.Random(1)
piece = []
for _ in range(100000):
    row, number = dice.choice(swept)
    near = max(low, min(high, int(number) + step * dice.randint(-2, 2)))
    time = f",{10 + dice.randrange(5)}:{dice.randrange(60):02}" if timed else ""
    piece.append(f"{row['zone']},{row['target']},{row['depth_cm']},{near},{row['height_cm']}{time}\n")
with (folder / "sweeps.csv").open("w") as file:
    file.write("zone,target,depth_cm,reading,height_cm" + (",time" if timed else "") + "\n")
    for left in range(rows, 0, -len(piece)):
        file.write("".join(piece[:left]))
