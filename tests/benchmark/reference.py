"""One piece of work by Python, in a process of its own, on the data that write-data.mjs wrote: prints as JSON what was
computed, how long the work took once data and package were read, and the most memory of the process.

usage: python3 tests/benchmark/reference.py <piece> <folder of the data> [name=number ...]
"""
import json
import pathlib
import resource
import sys
import time

import numpy as np

piece, folder = sys.argv[1], pathlib.Path(sys.argv[2])
settings = {name: int(value) for name, value in (one.split("=") for one in sys.argv[3:])}


def whole(name):
    return np.fromfile(folder / f"{name}.i32", dtype=np.int32)


def fraction(name):
    return np.fromfile(folder / f"{name}.f64", dtype=np.float64)


def one_kappa():
    from sklearn.metrics import cohen_kappa_score

    codes = whole("codes").reshape(-1, 2)
    return lambda: {"kappa": cohen_kappa_score(codes[:, 0], codes[:, 1], weights="quadratic")}


def bootstrap():
    from sklearn.metrics import cohen_kappa_score

    a, b = whole("codes").reshape(-1, 2).T
    patient = whole("patient")
    rows = np.split(np.arange(len(patient)), np.flatnonzero(np.diff(patient)) + 1)
    random = np.random.default_rng(20261127)

    def work():
        for _ in range(settings["replicates"]):
            at = np.concatenate([rows[k] for k in random.integers(0, len(rows), len(rows))])
            cohen_kappa_score(a[at], b[at], weights="quadratic")
        return {"kappa": cohen_kappa_score(a, b, weights="quadratic")}

    return work


def marginal_logistic():
    import statsmodels.api as sm

    outcome, x, group = whole("yes").astype(float), fraction("x"), whole("group")
    columns = np.column_stack([np.ones(len(x)), x])

    def work():
        model = sm.GEE(outcome, columns, groups=group, family=sm.families.Binomial(), cov_struct=sm.cov_struct.Exchangeable())
        fit = model.fit(maxiter=500, ctol=1e-10, params_niter=1)
        return {"effect": fit.params[1], "error": fit.bse[1], "correlation": float(model.cov_struct.dep_params)}

    return work


def nothing():
    return dict


pieces = {
    "one-kappa": one_kappa,
    "bootstrap": bootstrap,
    "marginal-logistic": marginal_logistic,
    "nothing": nothing,
}
work = pieces[piece]()
start = time.perf_counter()
numbers = {name: float(value) for name, value in work().items()}
seconds = time.perf_counter() - start
# Kilobytes, but bytes on macOS.
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (1 if sys.platform == "darwin" else 1024)
print(json.dumps({"seconds": {"work": seconds}, "peak": peak, "numbers": numbers}))
