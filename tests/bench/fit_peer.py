#!/usr/bin/python3
"""Fits a visit's model with SciPy and with R's minpack.lm, as brineband fit does, and prints the times.

usage: fit_peer.py BRINEBAND VISIT
The same parameters, priors, expectation over the jitter (nine nodes) and machine's curve as
reference/model.md states them, numerical Jacobian, from the prior's mean; the noise is held at what
brineband found, so that SciPy has one solve to make where brineband makes some ten and proves the last.
"""
import csv
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time

import numpy as np
from scipy.optimize import least_squares

brineband, visit = sys.argv[1:3]
KNOTS = np.array([-90, -40, 0, 10, 25, 45, 65, 80, 90.0])
WIDTH = np.diff(KNOTS)
XI = 0.8 * np.arange(-4, 5)
WEIGHT = np.exp(-XI**2 / 2) / np.exp(-XI**2 / 2).sum()


def ask(*words):
    return json.loads(subprocess.run([brineband, *words, "--json"], check=True,
                                     capture_output=True, text=True).stdout)


def rows(name):
    with open(f"{visit}/{name}") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


ask("fit", visit)
profile = json.load(open(f"{visit}/profile.json"))
fitted = {p["name"]: p for p in profile["parameters"]}
names = list(fitted)
machine, beach = profile["machine"], profile["beach"]
low, high = machine["scale_low"], machine["scale_high"]
radius, swing = machine["coil_diameter_cm"] / 200, beach["swing_height_cm"] / 100
omega = 2 * np.pi * machine["frequency_khz"] * 1e3
noise = profile["noise"]
s0 = np.exp(noise["ln_reading_numbers"]["estimate"])
wander = np.exp(noise["ln_wander_deg"]["estimate"])

modes = {}
for piece in rows("kit.csv"):
    words = ["body", "--shape", piece["shape"], "--diameter", piece["diameter_mm"], "--material",
             piece["material"], "--frequency", str(machine["frequency_khz"]),
             "--thickness", piece["thickness_mm"]]
    if piece["bore_mm"]:
        words += ["--bore", piece["bore_mm"]]
    poles = ask(*words)["poles"]
    modes[piece["target"]] = (np.array([p["strength_m3"] for p in poles]),
                              np.array([p["time_constant_us"] * 1e-6 for p in poles]))

ground, jitter = {}, {}
for i, zone in enumerate(profile["zones"]):
    for height in {swing} | {float(r["height_cm"]) / 100 for r in rows("sweeps.csv")
                             if r.get("height_cm")}:
        at = ask("sand", "--salinity", str(beach["water_salinity"]), "--temperature",
                 str(beach["water_temperature_c"]), "--porosity", str(beach["sand_porosity"]),
                 "--saturation", str(zone["saturation"]), "--frequency",
                 str(machine["frequency_khz"]), "--coil-diameter",
                 str(machine["coil_diameter_cm"]), "--height", str(100 * height))["ground"]
        ground[zone["name"], height] = (at["strength"], at["angle_deg"])
    jitter[zone["name"]] = np.exp(noise["ln_jitter"][i]["estimate"])

readings = []
for row in rows("sweeps.csv"):
    for number in (row["reading"] or "").split():
        height = float(row["height_cm"]) / 100 if row.get("height_cm") else swing
        depth = float(row["depth_cm"] or 0) / 100
        readings.append((row["zone"], row["target"], depth, height, float(number)))


def curve(theta, angle):
    share = np.exp(theta[2:10]) * WIDTH
    value = theta[0] + (theta[1] - theta[0]) * np.concatenate(([0], np.cumsum(share / share.sum())))
    secant = np.diff(value) / WIDTH
    slope = np.concatenate(([secant[0]],
                            3 * (WIDTH[:-1] + WIDTH[1:]) / ((WIDTH[:-1] + 2 * WIDTH[1:]) / secant[:-1]
                                                            + (2 * WIDTH[:-1] + WIDTH[1:]) / secant[1:]),
                            [secant[-1]]))
    i = np.clip(np.searchsorted(KNOTS, angle) - 1, 0, 7)
    t = (angle - KNOTS[i]) / WIDTH[i]
    u = 1 - t
    return ((1 + 2 * t) * u * u * value[i] + t * t * (3 - 2 * t) * value[i + 1]
            + WIDTH[i] * t * u * (u * slope[i] - t * slope[i + 1]))


index = {name: i for i, name in enumerate(names)}


def expected(theta):
    out = np.empty(len(readings))
    alpha = {}
    for name, (strength, tau) in modes.items():
        x = 1j * omega * np.exp(theta[index[f"target.{name}.log_time"]]) * tau
        alpha[name] = (np.exp(theta[index[f"target.{name}.log_strength"]])
                       * (strength * x / (1 + x)).sum())
    for r, (zone, target, depth, height, _) in enumerate(readings):
        if target == "sand":
            angle = theta[index[f"zone.{zone}.angle_deg"]] + wander * XI
            out[r] = WEIGHT @ curve(theta, np.clip(angle, -90, 90))
            continue
        if zone == "air":
            a = alpha[target]
            out[r] = curve(theta, np.degrees(np.arctan(a.real / a.imag)))
            continue
        strength, angle = ground[zone, height]
        at_swing, angle0 = ground[zone, swing]
        psi = np.radians(theta[index[f"zone.{zone}.angle_deg"]] + angle - angle0)
        level = 0.002 * strength * np.exp(theta[index["salt.log_level"]]
                                          + theta[index[f"zone.{zone}.log_salt"]])
        residual = level + jitter[zone] * strength / at_swing * XI
        gap = depth + height
        total = (alpha[target] * radius**3 / (4 * (radius**2 + gap**2) ** 3)
                 + residual * (np.sin(psi) + 1j * np.cos(psi)))
        out[r] = WEIGHT @ curve(theta, np.degrees(np.arctan(total.real / total.imag)))
    return out


prior_mean = np.array([fitted[n]["prior_mean"] for n in names])
prior_sd = np.array([fitted[n]["prior_sd"] for n in names])
number = np.array([r[4] for r in readings])
weight = 1 / np.sqrt(s0**2 + 1 / 12)


def residuals(theta):
    slopes = theta[2:10]
    prior = (theta - prior_mean) / prior_sd
    return np.concatenate((weight * (expected(theta) - number), prior[:2],
                           np.diff(slopes) / 0.7, [slopes.mean()], prior[10:]))


began = time.perf_counter()
solved = least_squares(residuals, prior_mean, method="trf", x_scale=prior_sd, max_nfev=200)
peer = time.perf_counter() - began

least = np.inf
for _ in range(20):
    began = time.perf_counter()
    subprocess.run([brineband, "fit", visit, "--json"], check=True, stdout=subprocess.DEVNULL)
    least = min(least, time.perf_counter() - began)
gap = np.abs(expected(solved.x) - expected(np.array([fitted[n]["estimate"] for n in names])))
print(f"fit, {len(readings)} readings, {len(names)} parameters: brineband {1e3 * least:.1f} ms whole "
      f"process; SciPy {1e3 * peer:.0f} ms one solve ({solved.nfev} evaluations); ratio "
      f"{peer / least:.0f}; their expectations differ by {np.median(gap):.2f} numbers (median), "
      f"{gap.max():.2f} at most (SciPy has no guard against readings that the jitter may turn over)")


def write(folder, name, header, rows):
    with open(os.path.join(folder, name), "w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([header, *rows])


def with_minpack(folder):
    write(folder, "readings.csv", ["zone", "target", "depth", "height", "number"], readings)
    write(folder, "modes.csv", ["target", "strength", "tau"],
          [(name, *mode) for name, both in modes.items() for mode in zip(*both)])
    write(folder, "ground.csv", ["zone", "height", "strength", "angle"],
          [(*place, *answer) for place, answer in ground.items()])
    write(folder, "jitter.csv", ["zone", "jitter"], jitter.items())
    write(folder, "parameters.csv", ["name", "prior_mean", "prior_sd"],
          zip(names, prior_mean, prior_sd))
    write(folder, "scalars.csv", ["omega", "radius", "swing", "wander", "weight"],
          [(omega, radius, swing, wander, weight)])
    script = os.path.join(os.path.dirname(__file__), "fit_peer.R")
    said = subprocess.run(["Rscript", "--vanilla", script, folder], check=True,
                          capture_output=True, text=True).stdout.split()
    return float(said[0]), int(said[1]), float(said[2])


if shutil.which("Rscript") and subprocess.run(
        ["Rscript", "--vanilla", "-e", "library(minpack.lm)"], capture_output=True).returncode == 0:
    with tempfile.TemporaryDirectory() as folder:
        seconds, rounds, squares = with_minpack(folder)
    print(f"fit, the same in R: minpack.lm {1e3 * seconds:.0f} ms one solve ({rounds} iterations); "
          f"ratio {seconds / least:.0f}; sum of squares {squares:.3f}, SciPy's {2 * solved.cost:.3f}")
