"""Multiple-choice knapsacks made at random and solved with scipy.optimize.milp (HiGHS, gap 0): the outside reference of
tests/fixtures/fit-to-budget.json. A problem has groups of ways [cost, worth]; one way a group, cost at most the budget, most worth.
usage: fit_to_budget.py OUT.json
"""
import json, random, sys
import numpy as np
import scipy
from scipy.optimize import Bounds, LinearConstraint, milp


def solve(groups, budget):
    ways = [(g, c, w) for g, group in enumerate(groups) for c, w in group]
    one = np.zeros((len(groups), len(ways)))
    for at, (g, _, _) in enumerate(ways):
        one[g, at] = 1
    result = milp(
        [-w for _, _, w in ways],
        integrality=np.ones(len(ways)),
        bounds=Bounds(0, 1),
        constraints=[LinearConstraint(one, 1, 1), LinearConstraint([[c for _, c, _ in ways]], -np.inf, budget)],
        options={"mip_rel_gap": 0},
    )
    return round(-result.fun) if result.success else None


def problem(rng, groups, most):
    made = []
    for _ in range(groups):
        count, each = rng.randint(1, 20), rng.randint(200, 15000)
        factors = [1.0] + [rng.uniform(0.4, 1.6) for _ in range(rng.randint(1, most))]
        weight = (count * each // 100 + 1) * rng.randint(0, 10)
        made.append([[count * round(each * f / 50) * 50, weight * round(100 * f ** rng.uniform(0.3, 1.5))] for f in factors])
    whole = sum(group[0][0] for group in made)
    return made, round(whole * rng.uniform(0.5, 1.3))


rng = random.Random(20261125)
problems = []
for at in range(60):
    groups, budget = problem(rng, rng.choice([3, 5, 8, 12, 20, 30]), 3)
    problems.append({"name": f"fit-{at + 1}", "groups": groups, "budget": budget, "most_worth": solve(groups, budget)})
source = f"made at random (seed 20261125) by tests/outside/fit_to_budget.py; scipy {scipy.__version__} optimize.milp (HiGHS), gap 0"
lines = ",\n".join(json.dumps(p, separators=(",", ":")) for p in problems)
open(sys.argv[1], "w").write('{"source":' + json.dumps(source) + ',"problems":[\n' + lines + "\n]}\n")
