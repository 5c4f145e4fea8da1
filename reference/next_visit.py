#!/usr/bin/python3
"""Writes next_visit.csv: 90 % limits of a new visit by the Q profile.

For each chi squared u with k - 1 degrees of freedom the variance between visits is the one at which
Q is u (0 where Q never is so large); a new visit is normal about the mean at that variance. The
mixture over u by adaptive quadrature, its quantiles by bracketing.
"""
import csv
import numpy as np
import scipy
from scipy import integrate, optimize
from scipy.stats import chi2, norm


def column(path, name):
    with open(path) as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        return np.array([float(row[name]) for row in rows])


def centre(y, v, tau2):
    w = 1 / (v + tau2)
    mean = (w * y).sum() / w.sum()
    return mean, w.sum(), (w * (y - mean) ** 2).sum()


def below(x, y, v):
    freedom, q = len(y) - 1, centre(y, v, 0)[2]

    def part(tau2):
        mean, weight, _ = centre(y, v, tau2)
        return norm.cdf((x - mean) / np.sqrt(tau2 + 1 / weight))

    def at(log_u):
        u = np.exp(log_u)
        high = ((y - y.mean()) ** 2).sum() / u
        tau2 = optimize.brentq(lambda t: centre(y, v, t)[2] - u, 0, high, xtol=1e-16, rtol=1e-14)
        return part(tau2) * chi2.pdf(u, freedom) * u
    inside = integrate.quad(at, np.log(chi2.ppf(1e-9, freedom)), np.log(q), epsabs=1e-10,
                            epsrel=1e-9, limit=500)[0]
    return inside + part(0) * chi2.sf(q, freedom)


def quantile(p, y, v):
    spread = 30 * y.std() + 30 * np.sqrt(v.mean())
    return optimize.brentq(lambda x: below(x, y, v) - p, y.mean() - spread, y.mean() + spread,
                           xtol=1e-10)


def main():
    sets = {name: (column(path, "yi"), column(path, "vi"))
            for name, path in (("bcg_log_rr", "reference/bcg.csv"),
                               ("homogeneous4", "reference/homogeneous4.csv"))}
    print("# 90 % limits of a new visit, by reference/next_visit.py.")
    print("dataset,low,high,source")
    for name, (y, v) in sets.items():
        print(f"{name},{quantile(.05, y, v):.9f},{quantile(.95, y, v):.9f},"
              f"computed: SciPy {scipy.__version__} integrate.quad over chi squared")


main()
