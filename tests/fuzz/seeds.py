#!/usr/bin/python3
"""Makes the inputs that the fuzzers start from, out of tests/data: seeds.py BRINEBAND FOLDER."""
import csv
import json
import pathlib
import random
import shutil
import subprocess
import sys
import tempfile

brineband, folder = sys.argv[1], pathlib.Path(sys.argv[2])
data = pathlib.Path("tests/data")


def keep(kind, name, content):
    place = folder / kind
    place.mkdir(parents=True, exist_ok=True)
    (place / name).write_bytes(content)


# The readers of a visit: what the tests accept and what they refuse. sweeps: a piece's size first.
for kind, file, first in (("ini", "beach.ini", b""), ("kit", "kit.csv", b""),
                          ("sweeps", "sweeps.csv", b"\n")):
    for path in sorted(data.glob(f"*/*/{file}")) + [data / "base" / file, data / "full" / file]:
        keep(kind, path.parent.name, first + path.read_bytes())

# Enough lines that those that come again are known, but for their times.
keep("sweeps", "again", b"\ntime,zone,target,depth_cm,reading\n" +
     b"".join(b"9:%02d,wet,sand,,%d\n" % (i % 60, 20 + i % 3) for i in range(90)))

for line in csv.DictReader(row for row in (data / "invalid_digs.csv").open() if row[0] != "#"):
    keep("digs", line["case"], line["text"].replace("|", "\n").encode())
keep("digs", "accepted", b"zone,reading,found,depth_cm,where,time,minutes,lat,lon,note\n"
     b"wet,23 24,foil,4,east end,14:10,3,50.5,-1.25,words\nwet,,,,east end,,20,,,\n"
     b"damp,30,nothing,,,,,,,\n")

# Profiles: the sample, small ones from whole fits, and each fault of the tests.
sample = (data / "profile.json").read_text()
profiles = {"sample": sample,
            "doubts": sample.replace('"target_sweeps"', '"air_before": 6, "hard_to_believe": 2, '
                                     '"read_though_lost": [[0, 0, -6, 3], [1, 1, 2, 1]], "target_sweeps"')}
for case in ("base", "valid/two-minutes", "valid/black-sand", "valid/scale-in-steps"):
    with tempfile.TemporaryDirectory() as visit:
        for source in (data / "base", data / case):
            shutil.copytree(source, visit, dirs_exist_ok=True)
        if subprocess.run([brineband, "fit", visit], capture_output=True).returncode == 0:
            profiles[pathlib.Path(case).name] = (pathlib.Path(visit) / "profile.json").read_text()
for name, text in profiles.items():
    tight = json.dumps(json.loads(text), separators=(",", ":")).encode()
    keep("profile", name, tight)
    keep("stranger", name, tight)
for line in (data / "invalid_profiles" / "cases.tsv").read_text().split("\n"):
    field = line.split("\t")
    if len(field) == 5 and field[0] != "name":
        text = field[2] if field[1] == "*" else sample.replace(field[1], field[2], 1)
        keep("profile", field[0].replace("/", " "), text.encode())

# Visits: bytes to draw one from, and those that once broke something.
for path in sorted(pathlib.Path("tests/fuzz/found").glob("fit-*")):
    keep("fit", path.name, path.read_bytes())
dice = random.Random(1)
for i in range(12):
    keep("fit", str(i), dice.randbytes(dice.randint(30, 900)))
