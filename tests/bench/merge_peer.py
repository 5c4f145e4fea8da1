#!/usr/bin/python3
"""Merges 250, 500 and 1,000 profiles, and pools the same figures with NumPy and R's metafor.

usage: merge_peer.py BRINEBAND VISIT FOLDER
The profiles are one fitted visit's with other digests, their sand moved at random. The peers pool
what brineband says each visit found, by Paule and Mandel; NumPy reads the same files first, metafor
is handed the numbers. Neither checks a profile or makes the club's. metafor ends its search for
the variance between early, so that its means agree less well than NumPy's. Times are the
processor's: the machine may be busy.
"""
import hashlib
import json
import os
import random
import shutil
import subprocess
import sys
import time

brineband, visit, folder = sys.argv[1:4]
R = """
suppressMessages(library(metafor)); d <- read.csv(commandArgs(TRUE)[1])
run <- function(q) rma.uni(yi = q$y, vi = q$v, method = "PM", test = "knha",
                           control = list(tol = 1e-12, maxiter = 1000))
parts <- split(d, d$quantity)
took <- system.time(fits <- lapply(parts, run))[["user.self"]]
cat(took, sapply(fits, function(f) f$beta[1]))
"""


def profiles(count):
    with open(f"{visit}/profile.json", encoding="utf-8") as file:
        profile = json.load(file)
    shutil.rmtree(folder, ignore_errors=True)
    os.makedirs(folder)
    rng = random.Random(1)
    own = [p["estimate"] for p in profile["parameters"]]
    paths = []
    for i in range(count):
        for parameter, estimate in zip(profile["parameters"], own):
            zone = parameter["name"].startswith("zone.")
            parameter["estimate"] = estimate + (rng.gauss(0, parameter["sd"]) if zone else 0)
        profile["data"]["digest"] = hashlib.sha256(str(i).encode()).hexdigest()
        paths.append(f"{folder}/{i}.json")
        with open(paths[-1], "w", encoding="utf-8") as file:
            json.dump(profile, file)
    return paths


def merge(paths):
    least, peak = float("inf"), 0
    for _ in range(3):
        run = subprocess.Popen([brineband, "merge", *paths, "-o", f"{folder}/club"],
                               stdout=subprocess.DEVNULL)
        _, status, usage = os.wait4(run.pid, 0)
        assert status == 0
        least = min(least, usage.ru_utime + usage.ru_stime)
        peak = max(peak, usage.ru_maxrss)
    return least, peak / 1024


def found(paths):
    words = [brineband, "merge", *paths, "-o", f"{folder}/club", "--json"]
    return json.loads(subprocess.run(words, check=True, capture_output=True).stdout)["quantities"]


def with_numpy(quantities):
    import numpy as np # here, for a child's peak memory counts its parent's
    means = []
    began = time.process_time()
    for path in paths:
        with open(path, encoding="utf-8") as file:
            json.load(file)
    for quantity in quantities:
        y = np.array([entry["estimate"] for entry in quantity["by_visit"]])
        v = np.array([entry["sd"] for entry in quantity["by_visit"]]) ** 2
        tau2 = 0
        for _ in range(500):
            w = 1 / (v + tau2)
            mean = (w * y).sum() / w.sum()
            excess = (w * (y - mean) ** 2).sum() - len(y) + 1
            if not excess > 1e-12 * len(y):
                break
            tau2 += excess / (w**2 * (y - mean) ** 2).sum()
        means.append(mean)
    return time.process_time() - began, means


def with_metafor(quantities):
    path = f"{folder}/figures.csv"
    with open(path, "w", encoding="utf-8") as file:
        file.write("quantity,y,v\n")
        for i, quantity in enumerate(quantities):
            for entry in quantity["by_visit"]:
                file.write(f"{i:03},{entry['estimate']!r},{entry['sd'] ** 2!r}\n")
    said = subprocess.run(["Rscript", "--vanilla", "-e", R, path], check=True,
                          capture_output=True, text=True).stdout.split()
    return float(said[0]), [float(word) for word in said[1:]]


paths = profiles(1000)
for count in (250, 500, 1000):
    seconds, peak = merge(paths[:count])
    print(f"merge, {count:4} profiles  {seconds:7.3f} s  {peak:5.1f} MB at most", flush=True)
quantities = [q for q in found(paths) if q["visits"] > 1]
peers = [("NumPy, files read", with_numpy, 1e-6)]
if shutil.which("Rscript") and subprocess.run(
        ["Rscript", "--vanilla", "-e", "library(metafor)"], capture_output=True).returncode == 0:
    peers.append(("metafor, in memory", with_metafor, 1e-3))
for name, pool, limit in peers:
    took, means = pool(quantities)
    worst = max(abs(mean - q["mean"]) / q["se"] for mean, q in zip(means, quantities))
    print(f"{name:20} {len(quantities)} quantities  {took:7.3f} s  {took / seconds:6.2f} x the whole "
          f"merge's; means within {worst:.0e} standard errors")
    assert worst < limit, worst
shutil.rmtree(folder)
