#!/usr/bin/env python3
"""The fit of BenchmarkFitTen by scipy.optimize.least_squares over batched NumPy solves, on one thread, for make bench.

The same circuit of ten unknown values, the same 40 settings of 101 points, the same data, start and tolerances as in
study/identify/bench_test.go, as a nodal model of eight unknowns that is solved for all points at once. Prints a line in Go's
benchmark format, with the cost at the minimum, which must be that of the Go fit. Needs Debian's python3-scipy.
"""

import os
import time

os.environ["OPENBLAS_NUM_THREADS"] = "1"
import numpy as np  # noqa: E402  (the number of threads must be set before)
from scipy.optimize import least_squares  # noqa: E402

NODES = {n: i for i, n in enumerate(["ant", "a", "b", "c", "d", "e", "f", "rx"])}
TRUTH = dict(C3=56e-12, C4=9e-12, C5=120e-12, C6=68e-12, L1=47e-6, L2=45e-6, L3=5e-6, Q1=150, Q2=130, R1=2e3)
START = dict(C3=80e-12, C4=14e-12, C5=90e-12, C6=50e-12, L1=40e-6, L2=52e-6, L3=7e-6, Q1=100, Q2=100, R1=1.5e3)
NAMES = list(TRUTH)

f = np.linspace(0.8e6, 4e6, 101)
w = np.tile(2 * np.pi * f, 40)
dial = np.arange(40)
travel = lambda reading: 12e-12 + (365e-12 - 12e-12) * reading / 10  # noqa: E731
C1 = np.repeat(travel(1 + dial % 8), 101)
C2 = np.repeat(travel(1 + 2 * (dial // 8) * 0.9), 101)
STRAIGHT = 50 / 320


def add(y, p, q, admittance):
    """Stamps an admittance between two nodes; None is ground."""
    i = NODES[p]
    y[:, i, i] += admittance
    if q is not None:
        k = NODES[q]
        y[:, k, k] += admittance
        y[:, i, k] -= admittance
        y[:, k, i] -= admittance


FIXED = np.zeros((w.size, 8, 8), complex)
add(FIXED, "ant", None, 1 / 270)
add(FIXED, "rx", None, 1 / 50)
add(FIXED, "a", None, 1j * w * C1)
add(FIXED, "b", None, 1j * w * C2)
add(FIXED, "d", "rx", 1 / (1j * w * 2e-6 + w * 2e-6 / 100))
add(FIXED, "e", "rx", 1j * w * 47e-12)
add(FIXED, "e", None, 1e-3)
add(FIXED, "e", "f", 1e-3)
add(FIXED, "f", None, 1j * w * 100e-12)
DRIVE = np.zeros((w.size, 8, 1), complex)
DRIVE[:, NODES["ant"], 0] = 1 / 270


def model(v):
    """The ratio to straight through at every point."""
    y = FIXED.copy()
    add(y, "ant", "a", 1j * w * v["C3"])
    add(y, "a", "b", 1j * w * v["C4"])
    add(y, "b", "c", 1j * w * v["C5"])
    add(y, "d", None, 1j * w * v["C6"])
    add(y, "a", None, 1 / (w * v["L1"] * (1j + 1 / v["Q1"])))
    add(y, "b", None, 1 / (w * v["L2"] * (1j + 1 / v["Q2"])))
    add(y, "c", "d", 1 / (w * v["L3"] * (1j + 1 / 100)))
    add(y, "c", None, 1 / v["R1"])
    return np.abs(np.linalg.solve(y, DRIVE)[:, NODES["rx"], 0]) / STRAIGHT


data = model(TRUTH) * (1 + 0.01 * np.sqrt(2) * np.cos(2 * np.pi * np.modf(np.arange(w.size) * 0.6180339887498949)[0]))


def residuals(p):
    return (model(dict(zip(NAMES, np.exp(p)))) - data) / (0.01 * data)


def fit():
    start = np.log([START[n] for n in NAMES])
    span = np.log(20)
    return least_squares(residuals, start, bounds=(start - span, start + span), ftol=1e-8, xtol=1e-8, gtol=1e-8)


def main():
    fit()
    best = np.inf
    for _ in range(3):
        begun = time.perf_counter()
        found = fit()
        best = min(best, time.perf_counter() - begun)
    print(f"BenchmarkSciPyFitTen 1 {best * 1e9:.0f} ns/op {found.cost:.9g} cost {found.nfev} evaluations {found.njev} jacobians")
    print("# values:", ", ".join(f"{n} {x:.6g}" for n, x in zip(NAMES, np.exp(found.x))))


main()
