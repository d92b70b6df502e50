"""Runs reference functions. Reads a JSON list of {id, module, function, input}, prints one JSON line each: {id, values} or {id, error}."""
import importlib
import json
import sys
import time

sys.path.insert(0, __file__.rsplit("/", 1)[0])
from mpmath import mp, mpf


def shown(value):
    if isinstance(value, float):
        return repr(value)
    value = mpf(value)
    return "NaN" if mp.isnan(value) else mp.nstr(value, 30, min_fixed=-5, max_fixed=5)


for task in json.load(open(sys.argv[1])):
    start = time.time()
    try:
        values = getattr(importlib.import_module(task["module"]), task["function"])(task["input"])
        line = {"id": task["id"], "values": {name: shown(value) for name, value in values.items()}}
    except Exception as problem:  # A reference that fails is reported as such, with the others still run.
        line = {"id": task["id"], "error": f"{type(problem).__name__}: {problem}"}
    line["seconds"] = round(time.time() - start, 1)
    print(json.dumps(line), flush=True)
