#!/usr/bin/python3
"""Plans 24 sweeps of a fitted visit with NumPy, as brineband plan does, and prints the times.

usage: plan_peer.py BRINEBAND VISIT
The same candidates, numbers that decide and weights; gradients by differences of the model in
visit_model.py; the greedy choice and its exchanges with all candidates in one product. NumPy's time
starts with the profile read and the ground's response known, ours is the whole process's. The doubt
before and after must agree, or there is no figure.
"""
import subprocess
import sys
import time

import numpy as np
from visit_model import WEIGHT, Visit, curve

SWEEPS, A_LAYING, MOST = 24, 2, 2
LAYING_WORTH = 100  # sweeps: no laying tells more
RAISED, HOLE, BENCH, DEPTH_ERROR = 0.05, 0.08, 0.10, 0.005  # m
AS_MUCH = 1.1
STEP = 1e-5

brineband, folder = sys.argv[1:3]
visit = Visit(brineband, folder)
visit.look_at({visit.swing + RAISED, visit.swing + 2 * RAISED})
zones = [zone["name"] for zone in visit.profile["zones"]]
machine = visit.profile["machine"]
theta = np.array([visit.fitted[name]["estimate"] for name in visit.names])
told = visit.ask("plan", folder, "--count", str(SWEEPS))
assert all(stop["target"] != "sand" for stop in told["stops"]), "more bare sweeps are wanted"


def symmetric(rows):
    lower = np.zeros((len(rows), len(rows)))
    for i, row in enumerate(rows):
        lower[i, :i + 1] = row
    return lower + np.tril(lower, -1).T


def gradients(places):
    here = visit.expected(theta, places)
    out = np.empty((len(places), len(theta)))
    for i in range(len(theta)):
        moved = theta.copy()
        moved[i] += STEP
        out[:, i] = (visit.expected(moved, places) - here) / STEP
    return here, out


def variances(places, here):
    """Of the mean of a laying: reading, wander, jitter, rounding; what its sweeps share; its depth."""
    alpha, out = visit.alphas(theta), np.empty(len(places))
    deeper = visit.expected(theta, [(z, t, d + STEP, h) for z, t, d, h in places])
    for i, place in enumerate(places):
        angle = visit.angles(theta, alpha, place)
        one = visit.s0**2 + machine["scale_step"] ** 2 / 12
        if place[0] != "air":
            number = curve(theta, angle)
            total, level = visit.over_sand(theta, alpha[place[1]], place[0], *place[2:])
            slope = (curve(theta, angle + STEP) - number) / STEP
            one += WEIGHT @ (number - here[i]) ** 2
            one += WEIGHT @ (visit.wander * level / np.abs(total) * slope) ** 2
        shared = one / LAYING_WORTH
        out[i] = one / A_LAYING + shared + (DEPTH_ERROR * (deeper[i] - here[i]) / STEP) ** 2
    return out


def interests():
    near = 0.05 * (machine["scale_high"] - machine["scale_low"])
    places, gold = [], []
    for zone in zones:
        places.append((zone, "sand", 0, visit.swing))
        gold.append(1)
        for piece in visit.kit:
            if piece["keep"] == "yes":
                places += [(zone, piece["target"], depth, visit.swing) for depth in (0.02, 0.05, 0.10)]
                gold += [3 if piece["group"] == "small gold" else 1] * 3
    here, rows = gradients(places)
    sand = {place[0]: number for place, number in zip(places, here) if place[1] == "sand"}
    off = np.array([number - sand[place[0]] for place, number in zip(places, here)]) / near
    return rows, (1 + 4 * np.exp(-off**2 / 2)) * np.array(gold)


def run(covariance, gradient, variance, sign):
    along = covariance @ gradient
    return covariance - sign * np.outer(along, along) / (variance + sign * gradient @ along)


def choose(covariance, gradient, variance, interest, weight):
    """Greedy, then exchanges until none gains."""
    times = np.zeros(len(variance), int)

    def worth():
        along = covariance @ gradient.T
        scale = variance + np.einsum("ij,ji->i", gradient, along)
        gain = weight @ (interest @ along) ** 2 / scale
        return gain, np.where(times < MOST, gain, -np.inf)

    whole = weight @ np.einsum("ij,jk,ik->i", interest, covariance, interest)
    for _ in range(SWEEPS // A_LAYING):
        best = int(np.argmax(worth()[1]))
        times[best] += 1
        covariance = run(covariance, gradient[best], variance[best], 1)
    moved, passes = True, 0
    while moved and passes < 20:
        moved, passes = False, passes + 1
        for c in np.flatnonzero(times):
            covariance = run(covariance, gradient[c], variance[c], -1)
            times[c] -= 1
            all_gains, free = worth()
            best = int(np.argmax(free))
            if best == c or free[best] <= all_gains[c] + 1e-9 * whole:
                best = c
            moved |= best != c
            times[best] += 1
            covariance = run(covariance, gradient[best], variance[best], 1)
    return covariance


def doubt(covariance, interest, weight):
    return np.sqrt(weight @ np.einsum("ij,jk,ik->i", interest, covariance, interest) / weight.sum())


def plan():
    pieces = [piece["target"] for piece in visit.kit]
    places = [("air", piece, BENCH, 0) for piece in pieces]
    places += [(zone, piece, 0, visit.swing + lift * RAISED)
               for piece in pieces for zone in zones for lift in range(3)]
    raised = len(places)
    places += [(zone, piece, HOLE, visit.swing) for piece in pieces for zone in zones]
    here, gradient = gradients(places)
    variance = variances(places, here)
    deciding = interests()
    covariance = symmetric(visit.profile["covariance"])
    began = time.perf_counter()
    without = choose(covariance, gradient[:raised], variance[:raised], *deciding)
    dug = choose(covariance, gradient, variance, *deciding)
    chosen = time.perf_counter() - began
    holes = doubt(without, *deciding) > AS_MUCH * doubt(dug, *deciding)
    return doubt(covariance, *deciding), doubt(dug if holes else without, *deciding), chosen


def least_of(count, work):
    least = np.inf
    for _ in range(count):
        began = time.perf_counter()
        result = work()
        least = min(least, time.perf_counter() - began)
    return least, result


ours, _ = least_of(20, lambda: subprocess.run(
    [brineband, "plan", folder, "--count", str(SWEEPS)], check=True, stdout=subprocess.DEVNULL))
peer, (now, after, chosen) = least_of(3, plan)
for what, wanted, got in (("doubt_before", now, told["doubt_before"]),
                          ("doubt_after", after, told["doubt_after"])):
    assert abs(got / wanted - 1) < 0.01, f"{what}: NumPy {wanted:.4f}, brineband {got:.4f}"
print(f"plan of {SWEEPS} sweeps: brineband {1e3 * ours:.1f} ms whole process; NumPy {1e3 * peer:.0f} ms "
      f"with the gradients, {1e3 * chosen:.0f} ms for the choice alone; ratio {peer / ours:.0f}; doubt "
      f"{told['doubt_before']:.3f} now and {told['doubt_after']:.3f} after, NumPy {now:.3f} and "
      f"{after:.3f}")
