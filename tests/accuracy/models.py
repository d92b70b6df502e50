"""Likelihoods of the models at given numbers, and fits that are short enough, with 40 digits."""
from mpmath import mp, mpf

from high_precision import chi_upper, normal_cdf


def generator(rates):
    q = mp.matrix(len(rates))
    for r, row in enumerate(rates):
        for s, x in enumerate(row):
            if r != s:
                q[r, s] = mpf(x)
                q[r, r] -= mpf(x)
    return q


def exponential(q, t):
    """exp(Q t) by scaling and squaring of the Taylor series."""
    a = q * mpf(t)
    halvings = max(0, int(mp.ceil(mp.log(max(mpf(1), mp.mnorm(a, 1)), 2))) + 6)
    a = a / 2**halvings
    result = term = mp.eye(a.rows)
    for k in range(1, 40):
        term = term * a / k
        result += term
    for _ in range(halvings):
        result = result * result
    return result


def transition(data):
    p = exponential(generator(data["rates"]), data["time"])
    return {f"{r} {s}": p[r, s] for r in range(p.rows) for s in range(p.cols)}


def visits_by_subject(data):
    rows = sorted(zip(data["subject"], data["time"], data["category"]))
    by = {}
    for subject, time, category in rows:
        by.setdefault(subject, []).append((mpf(time), category))
    return list(by.values())


def hidden(data):
    """Forward and backward recursions; without `readings` the states are seen."""
    q = generator(data["rates"])
    states = q.rows
    readings = data.get("readings")
    known = {}

    def step(t):
        if t not in known:
            known[t] = exponential(q, t)
        return known[t]

    logarithm, result = mpf(0), {}
    for at, visits in enumerate(visits_by_subject(data)):
        seen = lambda s, c: mpf(readings[s][c]) if readings else mpf(s == c)
        start = [mpf(x) for x in data["initial"]] if readings else [mpf(s == visits[0][1]) for s in range(states)]
        forward = [[start[s] * seen(s, visits[0][1]) for s in range(states)]]
        for (before, _), (now, category) in zip(visits, visits[1:]):
            p = step(now - before)
            forward.append([sum(forward[-1][r] * p[r, s] for r in range(states)) * seen(s, category) for s in range(states)])
        total = sum(forward[-1])
        logarithm += mp.log(total)
        if at == 0 and readings:
            backward = [mpf(1)] * states
            smoothed = [f * b / total for f, b in zip(forward[-1], backward)]
            for v in range(len(visits) - 2, -1, -1):
                p = step(visits[v + 1][0] - visits[v][0])
                backward = [sum(p[r, s] * seen(s, visits[v + 1][1]) * backward[s] for s in range(states)) for r in range(states)]
                smoothed = [f * b / total for f, b in zip(forward[v], backward)]
            for s in range(states):
                result[f"smoothed first {s}"] = smoothed[s]
                result[f"filtered last {s}"] = forward[-1][s] / total
    return {"logLikelihood": logarithm, **result}


def covariance(data, variances):
    n = len(data["response"])
    v = mp.eye(n) * variances[-1]
    for groups, s in zip(data["groups"], variances):
        for i in range(n):
            for j in range(n):
                if groups[i] == groups[j]:
                    v[i, j] += s
    return v


def linear_mixed(data):
    """−2 ln of the restricted likelihood at given variances, or its minimum by average information and exact scores."""
    y = mp.matrix([mpf(x) for x in data["response"]])
    n = len(y)
    x = mp.matrix([[mpf(1)] + [mpf(column[i]) for column in data["fixed"]] for i in range(n)])
    mp.dps = 30
    z = []
    for groups in data["groups"]:
        z.append([[i for i in range(n) if groups[i] == g] for g in sorted(set(groups))])

    def apply(k, vector):
        """Z Zᵀ times a vector; the last is the identity."""
        if k == len(z):
            return vector
        result = mp.matrix(n, 1)
        for members in z[k]:
            total = sum(vector[i] for i in members)
            for i in members:
                result[i] = total
        return result

    def parts(variances):
        inverse = covariance(data, variances) ** -1
        vx = inverse * x
        middle = x.T * vx
        beta = mp.lu_solve(middle, vx.T * y)
        p = inverse - vx * (middle**-1) * vx.T
        return inverse, middle, beta, p

    def criterion(variances):
        v = covariance(data, variances)
        inverse, middle, beta, p = parts(variances)
        return mp.log(mp.det(v)) + mp.log(mp.det(middle)) + (y.T * p * y)[0] + (n - x.cols) * mp.log(2 * mp.pi)

    if "variances" in data:
        result = criterion([mpf(s) for s in data["variances"]])
        mp.dps = 50
        return {"criterion": result}
    s = [mpf(v) for v in data["start"]]
    for _ in range(40):
        _, _, beta, p = parts(s)
        py = p * y
        work = [apply(k, py) for k in range(len(s))]
        score, information = mp.matrix(len(s), 1), mp.matrix(len(s))
        for k in range(len(s)):
            if k == len(z):
                trace = sum(p[i, i] for i in range(n))
            else:
                trace = sum(p[i, j] for members in z[k] for i in members for j in members)
            score[k] = (trace - (py.T * work[k])[0]) / 2
            pw = p * work[k]
            for l in range(len(s)):
                information[k, l] = (work[l].T * pw)[0] / 2
        step = mp.lu_solve(information, -score)
        size = mpf(1)
        while any(s[k] + size * step[k] <= 0 for k in range(len(s))):
            size /= 2
        s = [s[k] + size * step[k] for k in range(len(s))]
        if max(abs(step[k]) / s[k] for k in range(len(s))) < mpf(10) ** -18:
            break
    result = {**{f"variance {k}": v for k, v in enumerate(s)}, **{f"fixed {k}": b for k, b in enumerate(beta)}, "criterion": criterion(s)}
    mp.dps = 50
    return result


# Certified coefficients, https://www.itl.nist.gov/div898/strd/lls/lls.shtml.
CERTIFIED = {
    "Longley": ["-3482258.63459582", "15.0618722713733", "-0.0358191792925910", "-2.02022980381683", "-1.03322686717359",
                "-0.0511041056535807", "1829.15146461355"],
    "Norris": ["-0.262323073774029", "1.00211681802045"],
    "Wampler3": ["1"] * 6, "Wampler4": ["1"] * 6, "Wampler5": ["1"] * 6,
}


def least_squares(data):
    """Ordinary least squares, with exact normal equations."""
    y = [mpf(v) for v in data["response"]]
    columns = [[mpf(1)] * len(y)] + [[mpf(v) for v in column] for column in data["columns"]]
    k = len(columns)
    mp.dps = 80
    a = mp.matrix([[sum(u * v for u, v in zip(c, d)) for d in columns] for c in columns])
    b = mp.lu_solve(a, mp.matrix([sum(u * v for u, v in zip(c, y)) for c in columns]))
    rest = sum((v - sum(b[j] * columns[j][i] for j in range(k))) ** 2 for i, v in enumerate(y))
    sigma = rest / (len(y) - k)
    inverse = a**-1
    result = {f"fixed {j}": b[j] for j in range(k)}
    result.update({f"error {j}": mp.sqrt(sigma * inverse[j, j]) for j in range(k)})
    result["residual"] = sigma
    for j, text in enumerate(CERTIFIED.get(data["name"], [])):
        if abs(b[j] / mpf(text) - 1) > mpf(10) ** -13:
            raise ValueError(f"{data['name']}: coefficient {j} is not the certified one")
    mp.dps = 50
    return result


def cumulative_link(data):
    """Proportional odds with one effect, by Newton's method on derivatives taken with 50 digits; frequency weights."""
    rows = [(y, mpf(x), mpf(w)) for y, x, w in zip(data["response"], data["x"], data["weights"])]
    top = max(y for y, _, _ in rows)
    f = (lambda t: 1 / (1 + mp.exp(-t))) if data["link"] == "logit" else normal_cdf

    def logarithm(p):
        total = mpf(0)
        for y, x, w in rows:
            high = f(p[y] - p[-1] * x) if y < top else mpf(1)
            low = f(p[y - 1] - p[-1] * x) if y > 0 else mpf(0)
            total += w * mp.log(high - low)
        return total

    if "parameters" in data:
        return {"logLikelihood": logarithm([mpf(v) for v in data["parameters"]])}
    k = top + 1
    h = mpf(10) ** -12
    p = [mpf(v) for v in data["start"]]

    def moved(i, a, j=0, b=0):
        q = list(p)
        q[i] += a * h
        q[j] += b * h
        return logarithm(q)

    for _ in range(30):
        here = logarithm(p)
        gradient = mp.matrix([(moved(i, 1) - moved(i, -1)) / (2 * h) for i in range(k)])
        hessian = mp.matrix(k)
        for i in range(k):
            for j in range(i + 1):
                hessian[i, j] = hessian[j, i] = ((moved(i, 1) - 2 * here + moved(i, -1)) / h**2 if i == j else
                    (moved(i, 1, j, 1) - moved(i, 1, j, -1) - moved(i, -1, j, 1) + moved(i, -1, j, -1)) / (4 * h**2))
        step = mp.lu_solve(hessian, -gradient)
        p = [a + b for a, b in zip(p, step)]
        if max(abs(v) for v in step) < mpf(10) ** -19:
            break
    inverse = (-hessian) ** -1
    return {"logLikelihood": logarithm(p), **{f"parameter {i}": v for i, v in enumerate(p)},
            **{f"error {i}": mp.sqrt(inverse[i, i]) for i in range(k)}}


def grade_change(data):
    prior, t, (first, second), (a, b) = data["prior"], data["transitions"], data["errors"], data["observed"]
    joint = [[mpf(prior[g]) * first[g][a] * t[g][h] * second[h][b] for h in range(len(prior))] for g in range(len(prior))]
    total = sum(map(sum, joint))
    pick = lambda keep: sum(joint[g][h] for g in range(len(prior)) for h in range(len(prior)) if keep(g, h)) / total
    return {"probabilityOfReadings": total, "fell": pick(lambda g, h: h < g), "stayed": pick(lambda g, h: h == g), "rose": pick(lambda g, h: h > g)}


def odds_check(data):
    return {"pValue": chi_upper(mpf(data["statistic"]), data["degrees"])}


def laplace(data):
    """ln L of the cumulative-link model with a random intercept, each patient's integral by Laplace's approximation at the exact mode."""
    p, s = [mpf(v) for v in data["parameters"]], mpf(data["deviation"])
    top = max(data["response"])
    f = lambda t: 1 / (1 + mp.exp(-t))
    total = mpf(0)
    for patient in sorted(set(data["patient"])):
        rows = [(y, mpf(x)) for y, x, own in zip(data["response"], data["x"], data["patient"]) if own == patient]

        def parts(u):
            """Value, slope and curvature of ln of the integrand by u, the effect in standard deviations."""
            value, slope, curve = -u * u / 2, -u, mpf(-1)
            for y, x in rows:
                ends = []
                for j in (y, y - 1):
                    if j == top or j < 0:
                        ends.append((mpf(j == top), mpf(0), mpf(0)))
                    else:
                        c = f(p[j] - p[-1] * x - s * u)
                        ends.append((c, -s * c * (1 - c), s * s * c * (1 - c) * (1 - 2 * c)))
                g, d, e = (a - b for a, b in zip(*ends))
                value += mp.log(g)
                slope += d / g
                curve += e / g - (d / g) ** 2
            return value, slope, curve

        u = mpf(0)
        for _ in range(100):
            _, slope, curve = parts(u)
            u -= slope / curve
            if abs(slope) < mpf(10) ** -40:
                break
        value, _, curve = parts(u)
        total += value - mp.log(-curve) / 2
    return {"logLikelihood": total}
