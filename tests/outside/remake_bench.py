"""Solve spreading problems of the bench plan with scipy.optimize.linprog (HiGHS): the outside reference.

For each problem two linear programs: the least overtime; then, at that overtime, the least sum of work x days before the last
day of its window. usage: remake_bench.py OUT.json
"""
import json, random, sys
import numpy as np
import scipy
from scipy.optimize import linprog


def solve(spells, loads):
    pairs = [(i, b) for i, l in enumerate(loads) for b in range(l["first"], l["last"] + 1)]
    n, m = len(pairs), len(spells)
    eq = np.zeros((len(loads), n + m))
    ub = np.zeros((m, n + m))
    early = np.zeros(n + m)
    for k, (i, b) in enumerate(pairs):
        eq[i, k] = 1
        ub[b, k] = 1
        early[k] = spells[loads[i]["last"]]["day"] - spells[b]["day"]
    for b in range(m):
        ub[b, n + b] = -1
    over = np.concatenate([np.zeros(n), np.ones(m)])
    work = [l["work"] for l in loads]
    room = [s["room"] for s in spells]
    least = linprog(over, A_ub=ub, b_ub=room, A_eq=eq, b_eq=work, method="highs")
    tie = linprog(early, A_ub=np.vstack([ub, over]), b_ub=room + [round(least.fun)], A_eq=eq, b_eq=work, method="highs")
    assert least.status == 0 and tie.status == 0
    return round(least.fun), round(tie.fun)


def problem(rng):
    days = rng.randint(1, 7)
    spells = [{"day": d, "room": rng.choice([0, 120, 240, 480, rng.randint(0, 1500)])}
              for d in range(days) for _ in range(rng.randint(1, 3))]
    loads = []
    for _ in range(rng.randint(1, 25)):
        a, b = sorted((rng.randrange(len(spells)), rng.randrange(len(spells))))
        loads.append({"first": a, "last": b, "work": rng.randint(0, 400)})
    over, early = solve(spells, loads)
    return {"spells": spells, "loads": loads, "overtime": over, "early": early}


if __name__ == "__main__":
    rng = random.Random(20260516)
    out = {"source": f"scipy.optimize.linprog (HiGHS), scipy {scipy.__version__}, tests/outside/remake_bench.py, seed 20260516",
           "problems": [problem(rng) for _ in range(60)]}
    json.dump(out, open(sys.argv[1], "w"), separators=(",", ":"))
