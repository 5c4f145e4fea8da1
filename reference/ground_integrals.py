"""Computes reference/ground_integrals.csv by ways that the library does not use.

usage: python3 reference/ground_integrals.py > reference/ground_integrals.csv   (mpmath, 6 minutes)
"""
from mpmath import besselj, ellipe, ellipk, exp, mp, mpc, mpf, nstr, pi, quad, sqrt

mp.dps = 30  # the far image loses 20 digits by cancellation


def mutual(gap):
    """Maxwell's M / (mu0 a) of two equal coaxial loops, the gap in radii, also complex."""
    m = 4 / (4 + gap**2)
    k = sqrt(m)
    return (2 / k - k) * ellipk(m) - 2 / k * ellipe(m)


def by_images(kappa, eta):
    """Salt as a line of image loops: (kappa / (x + u))^2 is the Laplace transform of
    2 J2(kappa s) / s, taken along s = r exp(-j pi / 4), where kappa s is real."""
    turn = exp(mpc(0, -1) * pi / 4)
    wave = pi / kappa
    edges = [mpf(0)] + [mpf(10) ** e for e in range(-3, 1) if mpf(10) ** e < wave]
    while edges[-1] < wave:
        edges.append(edges[-1] * 4)
    edges += [edges[-1] + 2 * wave * i for i in range(1, 200)]

    def image(r):
        return 2 * besselj(2, kappa * r) / r * mutual(2 * eta + r * turn) if r else mpf(0)

    return quad(image, edges, method="gauss-legendre", maxdegree=4)


def direct(kappa, eta, chi, layer, kappa_layer):
    """The defining integral between the waves of J1; thicknesses in radii."""
    mu = 1 + chi
    edges = [mpf(0)] + [mpf(10) ** e for e in range(-7, 0)]
    edges += [mpf(1)] + [pi * i / 2 for i in range(1, int(22 / eta / (pi / 2)) + 2)]

    def integrand(x):
        u1 = sqrt(x * x + mpc(0, mu * kappa_layer**2))
        u2 = sqrt(x * x + mpc(0, mu * kappa**2))
        r01, r12, e = (mu * x - u1) / (mu * x + u1), (u1 - u2) / (u1 + u2), exp(-2 * u1 * layer)
        return besselj(1, x) ** 2 * (r01 + r12 * e) / (1 + r01 * r12 * e) * exp(-2 * eta * x)

    return -pi * quad(integrand, edges, method="gauss-legendre", maxdegree=4)


def row(source, kappa, eta, chi, layer, kappa_layer, p):
    numbers = [nstr(mpf(v), 6) for v in (kappa, eta, chi, layer, kappa_layer)]
    print(",".join(numbers + [nstr(p.real, 14), nstr(p.imag, 14), source]), flush=True)


print("kappa,eta,susceptibility,layer_radii,kappa_layer,re_P,im_P,source")
for kappa in ("1e-4", "1e-3", "0.01", "0.1", "0.5", "1", "3"):
    for eta in ("0.02", "0.1", "0.35", "1", "2"):
        p = by_images(mpf(kappa), mpf(eta))
        row("computed: line of image loops", kappa, eta, 0, 0, 0, p)
for case in (
    ("0.05", "0.1", "1e-3", 0, 0),
    ("0.05", "0.1", "1", 0, 0),
    ("3", "0.1", "0.1", 0, 0),
    ("1e-3", "0.5", "0.03", 0, 0),
    ("0.05", "0.35", 0, "0.7", "0.01"),
    ("0.2", "0.1", 0, "0.05", "3"),
    ("3", "0.1", 0, "0.3", "1e-3"),
    ("1e-3", "0.5", 0, "2", "1"),
    ("0.1", "0.02", 0, "0.01", "0.3"),
    ("1", "2", 0, "5", "0.1"),
    ("0.1", "0.1", "0.01", "0.5", "0.02"),
    ("1", "0.3", "0.3", "0.2", "0.1"),
):
    p = direct(*(mpf(v) for v in case))
    row("computed: quadrature between waves", *case, p)
