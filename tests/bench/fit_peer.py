#!/usr/bin/python3
"""Fits a visit's model with SciPy and with R's minpack.lm, as brineband fit does, and prints the times.

usage: fit_peer.py BRINEBAND VISIT
The same parameters, priors, expectation over the jitter (nine nodes) and machine's curve as
reference/model.md states them, numerical Jacobian. The noise is held at what brineband found, so that
SciPy makes one solve from the prior's mean, and one from its far side to prove that, where brineband
makes some ten with the noise between them and one from the far side.
"""
import csv
import os
import shutil
import subprocess
import sys
import tempfile
import time

import numpy as np
from scipy.optimize import least_squares
from visit_model import Visit

brineband, visit = sys.argv[1:3]
model = Visit(brineband, visit)
fitted, names = model.fitted, model.names
places, number = [], []
for row in model.rows("sweeps.csv"):
    for reading in (row["reading"] or "").split():
        height = float(row["height_cm"]) / 100 if row.get("height_cm") else model.swing
        places.append((row["zone"], row["target"], float(row["depth_cm"] or 0) / 100, height))
        number.append(float(reading))
number = np.array(number)
prior_mean = np.array([fitted[n]["prior_mean"] for n in names])
prior_sd = np.array([fitted[n]["prior_sd"] for n in names])
weight = 1 / np.sqrt(model.s0**2 + 1 / 12)


def residuals(theta):
    slopes = theta[2:10]
    prior = (theta - prior_mean) / prior_sd
    return np.concatenate((weight * (model.expected(theta, places) - number), prior[:2],
                           np.diff(slopes) / 0.7, [slopes.mean()], prior[10:]))


def solve(start):
    began = time.perf_counter()
    solved = least_squares(residuals, start, method="trf", x_scale=prior_sd, max_nfev=200)
    return solved, time.perf_counter() - began


solved, peer = solve(prior_mean)
again, second = solve(prior_mean - 0.5 * (solved.x - prior_mean))

least = np.inf
for _ in range(100):
    began = time.perf_counter()
    subprocess.run([brineband, "fit", visit, "--json"], check=True, stdout=subprocess.DEVNULL)
    least = min(least, time.perf_counter() - began)
ours = np.array([fitted[n]["estimate"] for n in names])
gap = np.abs(model.expected(solved.x, places) - model.expected(ours, places))
print(f"fit, {len(places)} readings, {len(names)} parameters: brineband {1e3 * least:.1f} ms whole "
      f"process; SciPy {1e3 * peer:.0f} ms one solve ({solved.nfev} evaluations), ratio "
      f"{peer / least:.0f}; with the second start {1e3 * (peer + second):.0f} ms, ratio "
      f"{(peer + second) / least:.0f} (sum of squares {2 * solved.cost:.3f} and {2 * again.cost:.3f}); "
      f"their expectations differ by {np.median(gap):.2f} numbers (median), {gap.max():.2f} at most "
      f"(SciPy has no guard against readings that the jitter may turn over)")


def write(folder, name, header, rows):
    with open(os.path.join(folder, name), "w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([header, *rows])


def with_minpack(folder):
    write(folder, "readings.csv", ["zone", "target", "depth", "height", "number"],
          [(*place, reading) for place, reading in zip(places, number)])
    write(folder, "modes.csv", ["target", "strength", "tau"],
          [(name, *mode) for name, both in model.modes.items() for mode in zip(*both)])
    write(folder, "ground.csv", ["zone", "height", "strength", "angle"],
          [(*place, *answer) for place, answer in model.ground.items()])
    write(folder, "jitter.csv", ["zone", "jitter"], model.jitter.items())
    write(folder, "parameters.csv", ["name", "prior_mean", "prior_sd"],
          zip(names, prior_mean, prior_sd))
    write(folder, "scalars.csv", ["omega", "radius", "swing", "wander", "weight"],
          [(model.omega, model.radius, model.swing, model.wander, weight)])
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
