"""Reference values for tests/models/logistic-gee.test.ts: the sandwich after Mancl and DeRouen.

Run: /usr/bin/python3 tests/reference/logistic-gee.py > tests/reference/logistic-gee.json
Reads the data that mixed-ordinal-models.R wrote; statsmodels calls this covariance "bias_reduced".
"""
import json
import pathlib

import numpy as np
import statsmodels
import statsmodels.api as sm

here = pathlib.Path(__file__).parent
data = json.loads((here / "mixed-ordinal-models.json").read_text())["data"]
outcome = (np.array(data["grade"]) >= 2).astype(float)
columns = np.column_stack([np.ones(len(outcome)), data["warm"], data["day"]])
fits = {}
for name, structure in [("independence", sm.cov_struct.Independence()), ("exchangeable", sm.cov_struct.Exchangeable())]:
    model = sm.GEE(outcome, columns, groups=data["patient"], family=sm.families.Binomial(), cov_struct=structure)
    fit = model.fit(maxiter=500, ctol=1e-12, params_niter=1)
    fits[name] = {
        "coefficients": list(fit.params),
        "robust": list(fit.bse),
        "correlation": float(getattr(structure, "dep_params", 0) or 0),
        "corrected": list(np.sqrt(np.diag(model.fit(maxiter=500, ctol=1e-12, cov_type="bias_reduced").cov_params()))),
    }
print(json.dumps({"program": f"statsmodels {statsmodels.__version__}", "fits": fits}, indent=1))
