#!/usr/bin/python3
"""Does the work of bench_physics with NumPy and SciPy, and prints both times.

usage: build/bench_physics | /usr/bin/python3 tests/bench/physics_peer.py
"""
import sys
import time

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import ive, j1, jv, kve

MU0 = 4e-7 * np.pi
OMEGA, RADIUS, HEIGHT = 2 * np.pi * 15e3, 0.14, 0.05
ETA = HEIGHT / RADIUS
A = np.array([0.0080, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081])
B = np.array([0.0005, -0.0056, -0.0066, -0.0375, 0.0636, -0.0144])
C = np.array([0.6766097, 2.00564e-2, 1.104259e-4, -6.9698e-7, 1.0031e-9])


def swept(count):
    return 1 + 3 * np.arange(count) / count


def reflection(x, sigma, layered):
    kappa2 = 1j * OMEGA * MU0 * sigma * RADIUS**2
    if not layered:
        return -kappa2 / (x + np.sqrt(x * x + kappa2)) ** 2
    mu = 1 + 1e-3
    u1 = np.sqrt(x * x + mu * kappa2 * 0.05 / sigma)
    u2 = np.sqrt(x * x + mu * kappa2)
    top, bottom = (mu * x - u1) / (mu * x + u1), (u1 - u2) / (u1 + u2)
    seen = bottom * np.exp(-2 * u1 * 0.1 / RADIUS)
    return (top + seen) / (1 + top * seen)


def panels():
    """Gauss-Legendre between the waves of J1, and a few geometric panels below the first."""
    edges = np.concatenate([[0], 10.0 ** np.arange(-4, 0), np.arange(1, 60 / (2 * ETA), np.pi)])
    node, weight = np.polynomial.legendre.leggauss(16)
    half = np.diff(edges)[:, None] / 2
    x = (edges[:-1, None] + half + half * node).ravel()
    w = (half * weight).ravel()
    return x, w * j1(x) ** 2 * np.exp(-2 * ETA * x)


X, W = panels()


def ground_numpy(sigma, layered):
    """J1 and the nodes kept from call to call, which is the best that arrays can do."""
    return -np.pi * np.dot(W, reflection(X, sigma, layered)).imag


def ground_quad(sigma, layered):
    def integrand(x):
        return (j1(x) ** 2 * reflection(x, sigma, layered) * np.exp(-2 * ETA * x)).imag

    return -np.pi * quad(integrand, 0, 60 / (2 * ETA), limit=500, epsabs=0, epsrel=1e-9)[0]


T = 15 * 1.00024
F = (T - 15) / (1 + 0.0162 * (T - 15))
COEFFICIENTS = (A + F * B)[::-1]
RISE = 4.2914 * np.polyval(C[::-1], T)


def water_numpy(salinity):
    """All values at once by Newton."""
    x = 0.17 * np.sqrt(salinity)
    slope = np.polyder(COEFFICIENTS)
    for _ in range(5):
        x = x - (np.polyval(COEFFICIENTS, x) - salinity) / np.polyval(slope, x)
    return RISE * x * x


def water_brentq(salinity):
    root = brentq(lambda x: np.polyval(COEFFICIENTS, x) - salinity, 0.1, 1.2, xtol=1e-14)
    return RISE * root * root


def radial_part(k, bore, count):
    """Hankel transforms of orthonormal polynomials (Zernike's on a disc), and half their moments."""
    if bore == 0:
        i = np.arange(count)
        norm = 2 * np.sqrt(i + 1) * (-1.0) ** i
        return norm * jv(2 * i + 2, k[:, None]) / k[:, None], 0.25 * (i == 0)
    node, weight = np.polynomial.legendre.leggauss(200)
    r = (1 + bore) / 2 + (1 - bore) / 2 * node
    weight = weight * r * (1 - bore) / 2
    q, _ = np.linalg.qr(np.sqrt(weight)[:, None] * np.polynomial.legendre.legvander(node, count - 1))
    q = np.sqrt(weight)[:, None] * q
    return j1(np.outer(k, r)) @ q, r @ q / 2


def solve(thickness, bore, radial=20, axial=8, last=2000):
    """Time constants and strengths of a disc or ring of radius 1, in mu0 sigma and 1."""
    node, weight = np.polynomial.legendre.leggauss(12)
    edges = np.arange(0, last + 1, 2.5)
    k = (edges[:-1, None] + 1.25 + 1.25 * node).ravel()
    dk = np.tile(1.25 * weight, len(edges) - 1)
    f, field = radial_part(k, bore, radial)
    x, m = k[:, None] * thickness / 2, np.arange(axial)
    upper, lower = ive(2 * m + 0.5, x), kve(2 * m + 0.5, x)
    norm, big, small = np.sqrt(4 * m + 1), np.maximum.outer(m, m), np.minimum.outer(m, m)
    z = 2 / k[:, None, None] * (np.eye(axial) - np.outer(norm, norm) * upper[:, big] * lower[:, small])
    pairs = (f[:, :, None] * f[:, None, :]).reshape(len(k), -1)
    matrix = 0.5 * (pairs * dk[:, None]).T @ z.reshape(len(k), -1)
    matrix = matrix.reshape(radial, radial, axial, axial).transpose(0, 2, 1, 3)
    tau, vectors = np.linalg.eigh(matrix.reshape(radial * axial, -1))
    b = np.outer(field * np.sqrt(thickness), np.eye(axial)[0]).ravel() @ vectors
    return tau[tau > 0], (2 * np.pi * b * b / tau)[tau > 0]


def body_numpy(scale, radius, thickness, bore, sigma):
    tau, strength = solve(thickness / radius, bore / radius)
    turns = 1j * 2 * np.pi * 10e3 * MU0 * sigma * scale * radius**2 * tau
    return radius**3 * np.sum(strength * turns / (1 + turns)).imag


def modes_numpy(scale, radius, thickness, bore, sigma):
    tau, strength = solve(thickness / radius, bore / radius)
    return MU0 * sigma * scale * radius**2 * tau[np.argmax(strength)]


def sphere_numpy(scale):
    """Wait's sphere of permeability 100, as in textbooks."""
    k = 0.01 * np.sqrt(1j * 2 * np.pi * 10e3 * MU0 * 100 * 10e6 * scale)
    a, b = k - np.tanh(k), k * k * np.tanh(k) - k + np.tanh(k)
    return (2 * np.pi * 1e-6 * (b - 200 * a) / (100 * a + b)).imag


DISC, RING = (11.625e-3, 2.33e-3, 0, 9.3e6), (10e-3, 3e-3, 8.5e-3, 7e6)


def one_by_one(function, *rest, scale=1):
    return lambda count: [function(scale * value, *rest) for value in swept(count)]


PEERS = {
    "ground, half space": [
        ("NumPy, nodes kept", one_by_one(ground_numpy, False), 100),
        ("SciPy quad", one_by_one(ground_quad, False), 2),
    ],
    "ground, two layers, magnetic": [
        ("NumPy, nodes kept", one_by_one(ground_numpy, True), 50),
        ("SciPy quad", one_by_one(ground_quad, True), 2),
    ],
    "water conductivity": [
        ("NumPy, all at once", lambda count: water_numpy(10 * swept(count)), 20000),
        ("SciPy brentq", one_by_one(water_brentq, scale=10), 50),
    ],
    "disc, from the table": [("NumPy, solved", one_by_one(body_numpy, *DISC), 1)],
    "ring, from the table": [("NumPy, solved", one_by_one(body_numpy, *RING), 1)],
    "sphere, magnetic": [("NumPy", one_by_one(sphere_numpy), 200)],
    "disc, all modes solved": [("NumPy, solved", one_by_one(modes_numpy, *DISC), 1)],
}


def main():
    print(f"{'work':<30} {'ours us':>8}  {'peer':<20} {'peer us':>9} {'ratio':>7} {'difference':>10}")
    for line in sys.stdin:
        name, taken, value = line.rstrip("\n").split("\t")
        for peer, function, count in PEERS.get(name, []):
            rounds = []
            for _ in range(20 if count > 1 else 3):
                start = time.perf_counter()
                values = function(count)
                rounds.append((time.perf_counter() - start) / count * 1e6)
            ratio = min(rounds) / float(taken)
            print(f"{name:<30} {float(taken):8.3f}  {peer:<20} {min(rounds):9.2f} {ratio:6.1f}x "
                  f"{abs(values[0] / float(value) - 1):10.1e}")


if __name__ == "__main__":
    main()
