#!/usr/bin/python3
"""An invented visit of so many pieces and sweeps: invented.py BRINEBAND FOLDER TARGETS SWEEPS

Discs of bronze and cupronickel of many sizes, swept in air and over wet sand, whose numbers lie on a
straight curve from response angle to number, with noise.
"""
import json
import pathlib
import random
import subprocess
import sys

LOW, HIGH, SAND_DEG, WANDER_DEG, READING = 0, 80, 2, 2, 0.4
BEACH = f"""[machine]
scale_low = {LOW}
scale_high = {HIGH}
frequency_khz = 10
coil_diameter_cm = 28
[beach]
water_salinity = 33
water_temperature_c = 12
[zone wet]
wetness = wet
"""


def angle_deg(brineband, diameter_mm, material):
    told = subprocess.run([brineband, "body", "--shape", "disc", "--diameter", str(diameter_mm),
                           "--thickness", "1.2", "--material", material, "--frequency", "10",
                           "--json"], check=True, capture_output=True, text=True).stdout
    return json.loads(told)["angle_deg"]


def number(chance, angle):
    exact = LOW + (angle + 90) / 180 * (HIGH - LOW) + chance.gauss(0, READING)
    return min(max(round(exact), LOW), HIGH)


def visit(brineband, at, targets, sweeps):
    """A fifth of the sweeps over bare sand, the others shared out evenly; no two rows are one place."""
    chance = random.Random(1000 * targets + sweeps)
    at = pathlib.Path(at)
    at.mkdir(parents=True)
    kit, rows = ["target,shape,material,diameter_mm,thickness_mm"], ["zone,target,depth_cm,reading"]
    pieces = []
    for k in range(targets):
        diameter, material = 10 + 18 * k / targets, ("bronze", "cupronickel")[k % 2]
        kit.append(f"disc {k + 1},disc,{material},{diameter:.2f},1.2")
        pieces.append((f"disc {k + 1}", angle_deg(brineband, diameter, material)))
    rows += [f"wet,sand,,{number(chance, SAND_DEG + chance.gauss(0, WANDER_DEG))}"
             for _ in range(sweeps // 5)]
    for i in range(sweeps - sweeps // 5):
        name, angle = pieces[i % targets]
        again = i // targets
        place = ("air", 10) if again % 3 == 0 else ("wet", again % 9)
        rows.append(f"{place[0]},{name},{place[1]},{number(chance, angle)}")
    (at / "beach.ini").write_text(BEACH)
    (at / "kit.csv").write_text("\n".join(kit) + "\n")
    (at / "sweeps.csv").write_text("\n".join(rows) + "\n")
    return at


if __name__ == "__main__":
    visit(sys.argv[1], sys.argv[2], *map(int, sys.argv[3:5]))
