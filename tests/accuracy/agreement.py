"""Coefficients of agreement and tests of bias from the papers' formulas, with 50 digits.

A study comes as distinct rows (one entry an assessor, None for a gap) with how often each occurs, in all or for each
patient. A coefficient is a function of those numbers as weights, so that every linearized error is its derivative by each
row's weight, taken numerically with 50 digits: no formula of an error is written twice.
"""
from mpmath import mp, mpf

from high_precision import (
    beta_quantile, chi_quantile, chi_upper, f_tails, jackknife, normal_cdf, normal_quantile, solve, solve_linear, t_quantile,
)

STEP = mpf(10) ** -16


def weight_table(name, scores):
    q = len(scores)
    spread = max(scores) - min(scores)

    def weight(i, j):
        if not isinstance(name, str):
            return mpf(name[i][j])
        if i == j:
            return mpf(1)
        apart = abs(mpf(scores[i]) - scores[j]) / spread
        return {
            "identity": mpf(0),
            "linear": 1 - apart,
            "quadratic": 1 - apart**2,
            "radical": 1 - mp.sqrt(apart),
            "ordinal": 1 - mpf((abs(i - j) + 1) * abs(i - j)) / (q * (q - 1)),
        }[name]

    return [[weight(i, j) for j in range(q)] for i in range(q)]


class Study:
    def __init__(self, data):
        self.rows = data["rows"]
        self.q = data["categories"]
        self.scores = data.get("scores") or list(range(self.q))
        self.weights = weight_table(data.get("weights", "identity"), self.scores)
        self.metric = data.get("metric")
        self.category = data.get("category")
        self.within = data.get("within", 0)
        self.counting = data.get("counting", "target-averaged")
        self.listwise = data.get("missing") == "listwise"
        self.read = [[x for x in row if x is not None] for row in self.rows]
        if "clusters" in data:
            self.clusters = [[mpf(c) for c in one] for one in data["clusters"]]
            self.counts = [sum(column) for column in zip(*self.clusters)]
        else:
            self.clusters = None
            self.counts = [mpf(c) for c in data["counts"]]

    def pair_agreement(self, row, weight):
        r = len(row)
        total = mpf(0)
        for i in range(r):
            for j in range(r):
                if i != j:
                    total += weight(row[i], row[j])
        return total


def ratio(a, b):
    return a / b if b != 0 else mp.nan


def chance_corrected(observed, expected):
    return (observed - expected) / (1 - expected) if expected != 1 else mp.nan


def two(study, w):
    """Cells of the table of the first two assessors."""
    table = [[mpf(0)] * study.q for _ in range(study.q)]
    for row, c in zip(study.rows, w):
        if row[0] is not None and row[1] is not None:
            table[row[0]][row[1]] += c
    return table


def kappa_of(table, weights):
    q = len(table)
    n = sum(map(sum, table))
    if n == 0:
        return mp.nan, mp.nan, mp.nan
    rows = [sum(r) / n for r in table]
    columns = [sum(table[i][j] for i in range(q)) / n for j in range(q)]
    observed = sum(weights[i][j] * table[i][j] for i in range(q) for j in range(q)) / n
    expected = sum(weights[i][j] * rows[i] * columns[j] for i in range(q) for j in range(q))
    return chance_corrected(observed, expected), observed, expected


def cohen(study, w, fixed=None):
    return kappa_of(two(study, w), study.weights)


def prevalences(study, w, least, each_reading=False):
    shares = [mpf(0)] * study.q
    for row, c in zip(study.read, w):
        if len(row) >= least:
            for x in row:
                shares[x] += c if each_reading else c / len(row)
    total = sum(shares)
    return [s / total for s in shares]


def mean_agreement(study, w, fixed, each_pair=False):
    """Mean weighted agreement of pairs, targets read twice or more; with `fixed` their share of all targets is held fixed."""
    top = bottom = everyone = mpf(0)
    for row, c in zip(study.read, w):
        r = len(row)
        if r >= 1:
            everyone += c
        if r < 2:
            continue
        pairs = r * (r - 1)
        agreement = study.pair_agreement(row, lambda a, b: study.weights[a][b])
        top += c * (agreement if each_pair else agreement / pairs)
        bottom += c * (pairs if each_pair else 1)
    if fixed is None:
        return top / bottom, mpf(1)
    return top / (fixed * everyone), bottom / (fixed * everyone)


def with_chance(study, w, fixed, chance, least=1, each=False):
    observed, share = mean_agreement(study, w, fixed, each)
    expected = chance(prevalences(study, w, least, each))
    if expected == 1:
        return mp.nan, observed, expected
    return (observed - share * expected) / (1 - expected), observed, expected


def drawn(study):
    return lambda pi: sum(study.weights[k][l] * pi[k] * pi[l] for k in range(study.q) for l in range(study.q))


def fleiss(study, w, fixed=None):
    return with_chance(study, w, fixed, drawn(study), each=study.counting == "pair-weighted")


def scott(study, w, fixed=None):
    return with_chance(study, w, None, drawn(study), least=2)


def brennan(study, w, fixed=None):
    total = sum(map(sum, study.weights))
    return with_chance(study, w, fixed, lambda pi: total / study.q**2)


def gwet(study, w, fixed=None):
    total = sum(map(sum, study.weights))
    return with_chance(study, w, fixed, lambda pi: total / (study.q * (study.q - 1)) * sum(p * (1 - p) for p in pi))


def conger(study, w, fixed=None):
    observed, share = mean_agreement(study, w, fixed)
    margins = []
    for g in range(len(study.rows[0])):
        margin = [mpf(0)] * study.q
        for row, c in zip(study.rows, w):
            if row[g] is not None:
                margin[row[g]] += c
        total = sum(margin)
        if total > 0:
            margins.append([m / total for m in margin])
    m = len(margins)
    expected = mpf(0)
    for g in range(m):
        for h in range(m):
            if g != h:
                expected += sum(
                    study.weights[k][l] * margins[g][k] * margins[h][l] for k in range(study.q) for l in range(study.q)
                )
    expected /= m * (m - 1)
    if expected == 1:
        return mp.nan, observed, expected
    return (observed - share * expected) / (1 - expected), observed, expected


def light(study, w, fixed=None):
    columns = len(study.rows[0])
    kappas = []
    for g in range(columns):
        for h in range(g + 1, columns):
            table = [[mpf(0)] * study.q for _ in range(study.q)]
            for row, c in zip(study.rows, w):
                if study.listwise and None in row:
                    continue
                if row[g] is not None and row[h] is not None:
                    table[row[g]][row[h]] += c
            kappa = kappa_of(table, study.weights)[0]
            if not mp.isnan(kappa):
                kappas.append(kappa)
    return (sum(kappas) / len(kappas),)


def alpha(study, w, fixed=None, limit=False):
    q = study.q
    counts = [mpf(0)] * q
    coincidences = [[mpf(0)] * q for _ in range(q)]
    for row, c in zip(study.read, w):
        if len(row) < 2:
            continue
        for i, a in enumerate(row):
            counts[a] += c
            for j, b in enumerate(row):
                if i != j:
                    coincidences[a][b] += c / (len(row) - 1)
    n = sum(counts)

    def distance(c, k):
        if c == k:
            return mpf(0)
        if study.metric == "nominal":
            return mpf(1)
        s, t = mpf(study.scores[c]), mpf(study.scores[k])
        if study.metric == "interval":
            return (s - t) ** 2
        if study.metric == "ratio":
            return ((s - t) / (s + t)) ** 2
        low, high = min(c, k), max(c, k)
        return (sum(counts[low : high + 1]) - (counts[c] + counts[k]) / 2) ** 2

    d = [[distance(c, k) for k in range(q)] for c in range(q)]
    observed = sum(coincidences[c][k] * d[c][k] for c in range(q) for k in range(q))
    expected = sum(counts[c] * counts[k] * d[c][k] for c in range(q) for k in range(q))
    if expected == 0:
        return (mp.nan,)
    return (1 - (n if limit else n - 1) * observed / expected, observed / n, expected / (n * (n - 1)))


def percent(study, w, fixed=None):
    top = bottom = everyone = mpf(0)
    for row, c in zip(study.read, w):
        r = len(row)
        everyone += c if r else 0
        if r >= 2:
            top += c * study.pair_agreement(row, lambda a, b: mpf(abs(a - b) <= study.within)) / (r * (r - 1))
            bottom += c
    return (ratio(top, bottom if fixed is None else fixed * everyone),)


def specific(study, w, fixed=None):
    top = bottom = mpf(0)
    for row, c in zip(study.read, w):
        k = row.count(study.category)
        top += c * k * (k - 1)
        bottom += c * k * (len(row) - 1)
    return (ratio(top, bottom),)


def mean_difference(study, w, fixed=None):
    both = [(row, c) for row, c in zip(study.rows, w) if row[0] is not None and row[1] is not None]
    n = sum(c for _, c in both)
    if study.category is None:
        return (sum(c * (mpf(study.scores[row[1]]) - study.scores[row[0]]) for row, c in both) / n,)
    k = study.category
    return (sum(c * ((row[1] == k) - (row[0] == k)) for row, c in both) / n,)


# name: function, scale, divisor n − 1 with t quantiles, fewest readings of a target that enters, share read twice held fixed
COEFFICIENTS = {
    "cohen": (cohen, "fisher", False, 2, False),
    "fleiss": (fleiss, "fisher", True, 1, True),
    "scott": (scott, "fisher", False, 2, False),
    "brennan": (brennan, "fisher", True, 1, True),
    "gwet": (gwet, "fisher", True, 1, True),
    "conger": (conger, "fisher", True, 1, True),
    "light": (light, "fisher", False, 2, False),
    "alpha": (alpha, "fisher", True, 2, False),
    "percent": (percent, "logit", True, 1, True),
    "specific": (specific, "logit", False, 2, False),
    "shift": (mean_difference, "plain", False, 2, False),
}


def derivatives(function, counts):
    result = []
    for at in range(len(counts)):
        up, down = list(counts), list(counts)
        up[at] += STEP * max(1, counts[at])
        down[at] -= STEP * max(1, counts[at])
        result.append((function(up) - function(down)) / (2 * STEP * max(1, counts[at])))
    return result


def coefficient(data):
    study = Study(data)
    function, scale, uses_t, least, holds = COEFFICIENTS[data["name"]]
    uses_t = uses_t and study.counting != "pair-weighted"
    holds = holds and study.counting != "pair-weighted"
    parts = function(study, study.counts)
    value = parts[0]
    result = {"value": value}
    if len(parts) == 3:
        names = ("observedDisagreement", "expectedDisagreement") if data["name"] == "alpha" else (
            "observedAgreement", "expectedAgreement")
        result.update(zip(names, parts[1:]))
    if mp.isnan(value) or data.get("only") == "value":
        return result
    smooth = (lambda w: alpha(study, w, limit=True)[0]) if data["name"] == "alpha" else (lambda w: function(study, w)[0])
    level = mpf(data.get("level", 0.95))
    if data["interval"] == "cluster-robust":
        enters = lambda at: len(study.read[at]) >= least and not (study.listwise and None in study.rows[at])
        kept = [one for one in study.clusters if any(c > 0 and enters(at) for at, c in enumerate(one))]
        left_out = [function(study, [a - b for a, b in zip(study.counts, one)])[0] for one in kept]
        result.update(jackknife(value, left_out, scale, level))
        slopes = derivatives(smooth, study.counts)
        k = len(kept)
        shares = [sum(c * s for c, s in zip(one, slopes)) for one in kept]
        result["linearizedStandardError"] = mp.sqrt(mpf(k) / (k - 1) * sum(s * s for s in shares))
        return result
    n = sum(c for row, c in zip(study.read, study.counts) if len(row) >= least)
    if data["name"] == "percent" and not holds_gaps(study):
        return {**result, **wilson(value, n, level, data.get("proportion", "wilson"))}
    fixed = None
    if holds:
        fixed = sum(c for row, c in zip(study.read, study.counts) if len(row) >= 2) / n
        smooth = lambda w: function(study, w, fixed)[0]
    slopes = derivatives(smooth, study.counts)
    squares = sum(c * s * s for c, s in zip(study.counts, slopes))
    error = mp.sqrt(squares * (n / (n - 1) if uses_t else 1))
    upper = 1 - (1 - level) / 2
    reach = error * (t_quantile(upper, n - 1) if uses_t else normal_quantile(upper))
    result.update({"standardError": error, "lower": value - reach, "upper": value + reach})
    if data["name"] == "cohen":
        result.update(kappa_details(study, parts))
    return result


def holds_gaps(study):
    return len(study.rows[0]) > 2 or any(None in row for row in study.rows)


def wilson(p, n, level, method):
    if method == "clopper-pearson":
        x, tail = p * n, (1 - level) / 2
        return {"standardError": mp.sqrt(p * (1 - p) / n),
                "lower": beta_quantile(tail, x, n - x + 1), "upper": beta_quantile(1 - tail, x + 1, n - x)}
    z = normal_quantile(1 - (1 - level) / 2)
    center = (p + z * z / (2 * n)) / (1 + z * z / n)
    reach = z * mp.sqrt(p * (1 - p) / n + z * z / (4 * n * n)) / (1 + z * z / n)
    return {"standardError": mp.sqrt(p * (1 - p) / n), "lower": center - reach, "upper": center + reach}


def proportion(data):
    n, x = mpf(data["trials"]), mpf(data["successes"])
    one = wilson(x / n, n, mpf(0.95), data["method"])
    if data["method"] != "wilson":
        if x == 0:
            one["lower"] = mpf(0)
        if x == n:
            one["upper"] = mpf(1)
    return {"lower": one["lower"], "upper": one["upper"]}


def kappa_details(study, parts):
    """Error under kappa 0 (Fleiss, Cohen, Everitt 1969) and the greatest kappa of unweighted margins."""
    _, _, expected = parts
    table = two(study, study.counts)
    q, n = study.q, sum(map(sum, table))
    rows = [sum(r) / n for r in table]
    columns = [sum(table[i][j] for i in range(q)) / n for j in range(q)]
    w = study.weights
    of_row = [sum(w[i][j] * columns[j] for j in range(q)) for i in range(q)]
    of_column = [sum(w[i][j] * rows[i] for i in range(q)) for j in range(q)]
    square = sum(rows[i] * columns[j] * (w[i][j] - of_row[i] - of_column[j]) ** 2 for i in range(q) for j in range(q))
    result = {"nullStandardError": mp.sqrt((square - expected**2) / n) / (1 - expected)}
    if all(w[i][j] == (i == j) for i in range(q) for j in range(q)):
        most = sum(min(a, b) for a, b in zip(rows, columns))
        result["greatestAttainable"] = (most - expected) / (1 - expected)
    return result


def fleiss_null(data):
    """Errors under kappa 0 (Fleiss, Nee, Landis 1979), and kappa of each category against the others."""
    study = Study(data)
    m, n = len(study.rows[0]), sum(study.counts)
    pi = prevalences(study, study.counts, 1)
    spread = sum(p * (1 - p) for p in pi)
    skew = sum(p * (1 - p) * (1 - 2 * p) for p in pi)
    each = mp.sqrt(mpf(2) / (n * m * (m - 1)))
    result = {"nullStandardError": each * mp.sqrt(spread**2 - skew) / spread}
    for k in range(study.q):
        one = Study({**data, "categories": 2, "scores": [0, 1],
                     "rows": [[None if x is None else int(x == k) for x in row] for row in study.rows]})
        result[f"category {k}"] = fleiss(one, one.counts)[0]
    return result


def mcnemar(data):
    """From the difference of each patient; sign changes within patients enumerated by convolution of whole numbers."""
    d = [x for x in data["differences"] if x != 0]
    total, squares = sum(d), sum(x * x for x in d)
    result = {}
    for method in ("asymptotic", "continuity-corrected"):
        reach = max(0, abs(total) - 1) if method == "continuity-corrected" else abs(total)
        chi = mpf(reach) ** 2 / squares
        result[f"{method} statistic"] = chi
        result[f"{method} p"] = chi_upper(chi, 1)
    ways = {0: 1}
    if all(abs(x) == 1 for x in d):
        ways, c = {}, 1
        for up in range(len(d) + 1):
            ways[2 * up - len(d)] = c
            c = c * (len(d) - up) // (up + 1)
    else:
        for x in d:
            following = {}
            for s, c in ways.items():
                for t in (s + abs(x), s - abs(x)):
                    following[t] = following.get(t, 0) + c
            ways = following
    beyond = mpf(sum(c for s, c in ways.items() if s > abs(total))) / 2 ** len(d)
    at = mpf(ways.get(abs(total), 0)) / 2 ** len(d)
    result["exact p"] = min(mpf(1), mpf(1) if total == 0 else 2 * (beyond + at))
    result["mid-p p"] = min(mpf(1), 2 * beyond + at)
    return result


def symmetry(data):
    """Bowker, Stuart–Maxwell or Bhapkar from each patient's vector of differences (count says how many are alike)."""
    vectors, counts, targets = data["vectors"], data["counts"], data["targets"]
    size = len(vectors[0])
    total = [sum(c * v[i] for v, c in zip(vectors, counts)) for i in range(size)]
    n = sum(c * t for c, t in zip(counts, targets))
    k = sum(counts)
    centered = data["test"] == "bhapkar"
    spread = [[mpf(0)] * size for _ in range(size)]
    for v, c, t in zip(vectors, counts, targets):
        own = [mpf(v[i]) - (mpf(t) * total[i] / n if centered else 0) for i in range(size)]
        for i in range(size):
            for j in range(size):
                spread[i][j] += c * own[i] * own[j]
    x, rank = solve_linear(spread, total)
    value = sum(a * b for a, b in zip(x, total))
    result = {"statistic": value, "degreesOfFreedom": mpf(rank)}
    if data["clustered"]:
        wald = value if centered else value / (1 - value / k)
        f = mpf(k - rank) / (rank * k) * wald
        result["F"] = f
        result["pValue"] = f_tails(f, rank, k - rank)[1]
    else:
        result["pValue"] = chi_upper(value, rank)
    return result


def goodness_of_fit(data):
    """Donner and Eliasziw 1992: both roots of the misfit less the quantile of chi-square."""
    both, one, neither = (mpf(x) for x in data["counts"])
    n = both + one + neither
    p = (2 * both + one) / (2 * n)
    s = p * (1 - p)
    kappa = 1 - one / (2 * n * s)
    bound = chi_quantile(0.95, 1)

    def misfit(at):
        chances = (p * p + s * at, 2 * s * (1 - at), (1 - p) ** 2 + s * at)
        return sum((x - n * c) ** 2 / (n * c) for x, c in zip((both, one, neither), chances)) - bound

    tiny = mpf(10) ** -45
    least = max(-p / (1 - p), -(1 - p) / p)
    lower = solve(misfit, kappa, least + tiny) if misfit(least + tiny) > 0 else least
    upper = mpf(1) if one == 0 else solve(misfit, kappa, 1 - tiny)
    error = mp.sqrt((1 - kappa) * ((1 - kappa) * (1 - 2 * kappa) + kappa * (2 - kappa) / (2 * s)) / n)
    return {"value": kappa, "standardError": error, "lower": lower, "upper": upper}


def compare(data):
    """Differences of coefficients in groups: jackknife over all patients, or linearized where they are unknown (groups independent)."""
    values, errors = [], []
    for group in data["groups"]:
        one = coefficient(group)
        values.append(one["value"])
        errors.append(one["standardError"])
    difference = values[0] - values[1]
    error = mp.sqrt(errors[0] ** 2 + errors[1] ** 2)
    z = difference / error
    return {"difference": difference, "standardError": error, "pValue": 2 * normal_cdf(-abs(z)),
            "statistic": z}


def latent_classes(data):
    """EM of Dawid and Skene (1979) for full matrices with 50 digits, from the shares of readings, until nothing moves."""
    rows, q = data["rows"], data["categories"]
    assessors = len(rows[0])
    member = []
    for row in rows:
        read = [x for x in row if x is not None]
        member.append([mpf(read.count(g)) / len(read) for g in range(q)])
    previous = None
    for _ in range(data.get("turns", 3000)):
        share = [sum(m[g] for m in member) / len(rows) for g in range(q)]
        errors = [[[mpf(0)] * q for _ in range(q)] for _ in range(assessors)]
        for row, m in zip(rows, member):
            for a, x in enumerate(row):
                if x is not None:
                    for g in range(q):
                        errors[a][g][x] += m[g]
        for a in range(assessors):
            for g in range(q):
                total = sum(errors[a][g])
                errors[a][g] = [e / total if total > 0 else mpf(0) for e in errors[a][g]]
        logarithm = mpf(0)
        for at, row in enumerate(rows):
            p = list(share)
            for a, x in enumerate(row):
                if x is not None:
                    p = [p[g] * errors[a][g][x] for g in range(q)]
            total = sum(p)
            member[at] = [x / total for x in p]
            logarithm += mp.log(total)
        if previous is not None and abs(logarithm - previous) < mpf(10) ** -34:
            break
        previous = logarithm
    return {"logLikelihood": logarithm, **{f"share {g}": s for g, s in enumerate(share)},
            "error 0 0 0": errors[0][0][0]}


def adjust(data):
    p = sorted((mpf(x), at) for at, x in enumerate(data["p"]))
    m = len(p)
    result, bound = {}, mpf(0)
    for rank, (x, at) in enumerate(p, 1):
        bound = max(bound, min(mpf(1), (m - rank + 1) * x))
        result[f"holm {at}"] = bound
    bound = mpf(1)
    for rank in range(m, 0, -1):
        x, at = p[rank - 1]
        bound = min(bound, m * x / rank)
        result[f"benjamini-hochberg {at}"] = bound
    return result
