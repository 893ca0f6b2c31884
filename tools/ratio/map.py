#!/usr/bin/env python3
"""The map of BenchmarkMap by batched dense solves in NumPy, on one thread, for make bench to compare.

The same coupler as in physics/multiaffine/bench_test.go as a nodal model of eight unknowns, solved for all 64 x 64
positions of the two knobs at some of the combinations and frequencies. It first checks itself against values that the Go
model gave (physics/multiaffine/testdata/map.csv), then prints a line in Go's benchmark format. Needs Debian's
python3-numpy.
"""

import csv
import os
import pathlib
import time

os.environ["OPENBLAS_NUM_THREADS"] = "1"
import numpy as np  # noqa: E402  (the number of threads must be set before)

NODES = ["ant", "in", "s1", "s2", "a", "t1", "t2", "t3", "l2", "b", "out", "w", "v", "rx"]
# What each position of the three switches joins; g is ground. A winding that nothing is connected to is left out.
OUTPUT = [[("b", "rx")], [("b", "w"), ("v", "g"), ("out", "rx")], [("b", "w"), ("v", "l2"), ("out", "rx")]]
COUPLING = [[("ant", "in"), ("in", "a")], [("ant", "in"), ("s1", "a")], [("ant", "in"), ("s2", "a")]]
RANGE = [[("b", "t1")], [("b", "t2")], [("b", "t3")], [("b", "l2")]]


def coils(w, inductance, resistance):
    """Admittances of coupled branches: the inverse of jwL + R."""
    return np.linalg.inv(1j * w * np.asarray(inductance) + np.diag(resistance))


def lossy(w, farad, q=1000):
    """Admittance of a capacitor whose series resistance is 1/(wCQ)."""
    return 1 / ((1 / q - 1j) / (w * farad))


def circuit(combination, f):
    """Matrix and right-hand side without the knobs, and the unknowns of the knobs' nodes and of the load."""
    output, coupling, span = OUTPUT[combination // 12], COUPLING[combination // 4 % 3], RANGE[combination % 4]
    name = {n: n for n in NODES} | {"g": "g"}
    for p, q in output + coupling + span:
        p, q = name[p], name[q]
        if p == "g":
            p, q = q, p
        name = {n: q if m == p else m for n, m in name.items()}
    linked = combination // 12 > 0
    if not linked:
        name["w"] = name["v"] = "g"
    free = sorted({m for m in name.values() if m != "g"})
    at = {m: i for i, m in enumerate(free)}
    size = len(free)
    y = np.zeros((size, size), complex)
    where = lambda n: at.get(name[n], -1)  # noqa: E731

    def branches(ends, admittance):
        for i, (a, b) in enumerate(ends):
            for k, (c, d) in enumerate(ends):
                for row, s in ((where(a), 1), (where(b), -1)):
                    for column, t in ((where(c), 1), (where(d), -1)):
                        if row >= 0 and column >= 0:
                            y[row, column] += s * t * admittance[i, k]

    def one(a, b, admittance):
        branches([(a, b)], np.array([[admittance]]))

    w = 2 * np.pi * f
    shape = np.array([1.5, 0.8, 0.5, 0.8, 2, 1.2, 0.5, 1.2, 3]).reshape(3, 3)
    turns = np.array([8, 10, 14])
    whole = 20e-6
    branches([("a", "t1"), ("t1", "t2"), ("t2", "t3")], coils(w, whole * shape / shape.sum(), w * whole / 180 * turns / turns.sum()))
    one("a", "l2", 1 / (w * 68e-6 * (1j + 1 / 60)))
    one("in", "s1", lossy(w, 20e-12))
    one("in", "s2", lossy(w, 100e-12))
    one("b", "g", lossy(w, 8e-12))
    l1, l2, m = 2e-6, 10e-6, 0.6 * np.sqrt(2e-6 * 10e-6)
    if linked:
        branches([("out", "g"), ("w", "v")], coils(w, [[l1, m], [m, l2]], [w * l1 / 120, w * l2 / 120]))
    else:
        one("out", "g", 1 / (w * l1 * (1j + 1 / 120)))
    source = 1 / (20 + 1j * w * 1e-6 + 1 / (1j * w * 100e-12))
    one("ant", "g", source)
    one("rx", "g", 1 / 50)
    right = np.zeros(size, complex)
    right[where("ant")] = source
    return y, right, where("a"), where("b"), where("rx")


def powers(system, w, x, z):
    """|H|^2 for arrays of the two knobs' positions, x at node a and z at node b."""
    y, right, a, b, load = system
    matrices = np.broadcast_to(y, (len(x), *y.shape)).copy()
    matrices[:, a, a] += lossy(w, 202e-12 + 188e-12 * x)
    matrices[:, b, b] += lossy(w, 202e-12 + 188e-12 * z)
    h = np.linalg.solve(matrices, np.broadcast_to(right[:, None], (len(x), len(right), 1)))[:, load, 0]
    return h.real**2 + h.imag**2


def check():
    """Against the Go model; the nodal form loses some digits at its small resistances."""
    path = pathlib.Path(__file__).parents[2] / "physics" / "multiaffine" / "testdata" / "map.csv"
    rows, worst = 0, 0.0
    with path.open() as file:
        for row in csv.DictReader(line for line in file if not line.startswith("#")):
            f = float(row["frequency_hz"])
            system = circuit(int(row["combination"]), f)
            got = powers(system, 2 * np.pi * f, np.array([float(row["a"])]), np.array([float(row["b"])]))[0]
            want = float(row["power"])
            worst = max(worst, abs(got - want) / max(want, 1e-20))  # where the switches short the output, 0 is as good
            rows += 1
    if rows < 30 or not worst < 1e-6:
        raise SystemExit(f"{rows} rows, worst {worst:.1e}: not the same map")
    print(f"# NumPy {np.__version__}: the same map in {rows} rows, worst {worst:.1e}")


def main():
    check()
    x, z = (k.ravel() for k in np.meshgrid(*[np.linspace(-1, 1, 64)] * 2))
    some = [(c, 1e6 * 8 ** (i / 400)) for c in (0, 13, 26, 35) for i in (40, 120, 200, 280, 360)]
    settings, best = len(some) * len(x), float("inf")
    for _ in range(7):
        since = time.perf_counter()
        for combination, f in some:
            powers(circuit(combination, f), 2 * np.pi * f, x, z)
        best = min(best, time.perf_counter() - since)
    print(f"# {settings} of {36 * 64 * 64 * 401} settings, unknowns: {sorted({len(circuit(c, f)[1]) for c, f in some})}")
    print(f"BenchmarkNumPyMap\t{settings}\t{best / settings * 1e9:.1f} ns/op")


main()
