"""Solve buying-plan instances with scipy.optimize.milp (HiGHS, gap 0): the outside reference.

Reads a list of problems in the form of tests/fixtures/orders.json and prints, or writes back, the optimum of each.
usage: remake_reference.py FILE.json [--per-delivery-caps] [--only NAME] [--limit SECONDS]
       remake_reference.py --random COUNT SEED OUT.json [big|small]
"""
import json, random, sys, time
import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix


def solve(p, per_delivery_caps=False, limit=60):
    sup = {s["id"]: s for s in p["suppliers"]}
    deliveries = [(s["id"], d) for s in p["suppliers"] for d in s["dates"]]
    at = {k: i for i, k in enumerate(deliveries)}
    cols, cost, lo, hi, integ = 0, [], [], [], []

    def col(c, h, i):
        nonlocal cols
        cost.append(c); lo.append(0); hi.append(h); integ.append(i)
        cols += 1
        return cols - 1

    x, rows = {}, []
    for j, o in enumerate(p["offers"]):
        for d in sup[o["supplier"]]["dates"]:
            if o.get("dates") is None or d in o["dates"]:
                most = o.get("max_packs")
                need = sum(r["stems"] for r in p["requirements"])
                room = max(sup[o["supplier"]]["min_order"], sup[o["supplier"]].get("free_over") or 0)
                big = -(-need // o["size"]) + room // max(o["price"], 1) + 2 + (o.get("min_packs") or 0)
                x[j, d] = col(o["price"], big if most is None else most, 1)
    y = {k: col(sup[k[0]]["fee"], 1, 1) for k in deliveries}
    for (j, d), v in x.items():
        o = p["offers"][j]
        rows.append(({v: 1, y[o["supplier"], d]: -hi[v]}, -np.inf, 0))
        if (o.get("min_packs") or 0) > 1:
            z = col(0, 1, 1)
            rows.append(({v: 1, z: -hi[v]}, -np.inf, 0))
            rows.append(({v: 1, z: -o["min_packs"]}, 0, np.inf))
    if not per_delivery_caps:
        for j, o in enumerate(p["offers"]):
            if o.get("max_packs") is not None:
                rows.append(({v: 1 for (i, d), v in x.items() if i == j}, -np.inf, o["max_packs"]))
    for k in deliveries:
        s = sup[k[0]]
        spend = {v: p["offers"][j]["price"] for (j, d), v in x.items() if (p["offers"][j]["supplier"], d) == k}
        if s["min_order"]:
            rows.append(({**spend, y[k]: -s["min_order"]}, 0, np.inf))
        if s.get("free_over") is not None:
            w = col(-s["fee"], 1, 1)
            rows.append(({w: 1, y[k]: -1}, -np.inf, 0))
            rows.append(({**spend, w: -s["free_over"]}, 0, np.inf))
    supply = {}
    for (j, d), v in x.items():
        supply.setdefault((p["offers"][j]["material"], d), {})[v] = p["offers"][j]["size"]
    flows = {}
    for r in p["requirements"]:
        row = {}
        for c in supply:
            if c[0] in r["accepts"] and r["earliest"] <= c[1] <= r["latest"]:
                f = col(0, r["stems"], 0)
                flows.setdefault(c, []).append(f)
                row[f] = 1
        for i, s in enumerate(p.get("stock") or []):
            if s["material"] in r["accepts"] and s["from"] <= r["latest"] and s["until"] >= r["earliest"]:
                f = col(0, r["stems"], 0)
                flows.setdefault(("stock", i), []).append(f)
                row[f] = 1
        rows.append((row, r["stems"], np.inf))
    for c, fs in flows.items():
        if c[0] == "stock":
            rows.append(({f: 1 for f in fs}, -np.inf, p["stock"][c[1]]["stems"]))
        else:
            rows.append(({**{v: -s for v, s in supply[c].items()}, **{f: 1 for f in fs}}, -np.inf, 0))
    if any(not row and low > 0 for row, low, high in rows):
        return None, False
    ri, ci, vv, lb, ub = [], [], [], [], []
    for i, (row, low, high) in enumerate(rows):
        for c, v in row.items():
            ri.append(i); ci.append(c); vv.append(v)
        lb.append(low); ub.append(high)
    a = coo_matrix((vv, (ri, ci)), shape=(len(rows), cols))
    res = milp(cost, constraints=LinearConstraint(a, lb, ub), bounds=Bounds(lo, hi), integrality=integ,
               options={"mip_rel_gap": 0, "time_limit": limit})
    if res.x is None:
        return None, res.status == 2
    return round(res.fun), res.status == 0


def make(rng, big):
    mats = [f"m{i}" for i in range(rng.randint(2, 12 if big else 4))]
    days = rng.randint(1, 3)
    sups, offers, reqs = [], [], []
    for i in range(rng.randint(2, 5 if big else 3)):
        s = {"id": f"s{i}", "fee": rng.choice([0, 1200, 2500, 4000]), "min_order": rng.choice([0, 0, 5000, 12000, 20000]),
             "dates": sorted(rng.sample(range(days), rng.randint(1, days)))}
        if rng.random() < 0.35:
            s["free_over"] = rng.choice([8000, 15000, 30000])
        sups.append(s)
        for m in mats:
            for size in rng.sample([5, 10, 12, 20, 25, 50, 100], rng.randint(0, 3)):
                o = {"supplier": s["id"], "material": m, "size": size, "price": round(size * rng.uniform(30, 180))}
                if rng.random() < 0.2: o["max_packs"] = rng.randint(2, 6)
                if rng.random() < 0.2: o["min_packs"] = rng.randint(2, 3)
                if o.get("max_packs", 9) < o.get("min_packs", 1): del o["max_packs"]
                if rng.random() < 0.15: o["dates"] = sorted(rng.sample(s["dates"], rng.randint(1, len(s["dates"]))))
                offers.append(o)
    for e in range(rng.randint(1, 6 if big else 3)):
        for m in rng.sample(mats, rng.randint(1, len(mats))):
            last = rng.randrange(days)
            accepts = [m] if rng.random() < 0.75 else sorted({m, *rng.sample(mats, rng.randint(1, min(3, len(mats))))})
            reqs.append({"event": f"e{e}", "accepts": accepts, "stems": rng.randint(1, 90),
                         "earliest": rng.randint(0, last), "latest": last})
    p = {"suppliers": sups, "offers": offers, "requirements": reqs}
    if rng.random() < 0.3:
        p["stock"] = [{"material": rng.choice(mats), "stems": rng.randint(1, 40), "from": 0, "until": rng.randrange(days)}]
    return p


def main(args):
    if args[0] == "--random":
        rng, out = random.Random(int(args[2])), []
        while len(out) < int(args[1]):
            p = make(rng, args[4:] == ["big"])
            cost, proven = solve(p)
            if cost is None or not proven:
                continue
            out.append({"name": f"random-{args[2]}-{len(out)}", **p, "optimum": cost})
        json.dump(out, open(args[3], "w"), separators=(",", ":"))
        return
    cases, per_delivery = json.load(open(args[0])), "--per-delivery-caps" in args
    only = args[args.index("--only") + 1] if "--only" in args else None
    limit = float(args[args.index("--limit") + 1]) if "--limit" in args else 60
    for c in cases:
        if only and c["name"] != only:
            continue
        t = time.time()
        cost, proven = solve(c, per_delivery, limit)
        print(c["name"], cost, "proven" if proven else "open", f"{time.time() - t:.2f}s",
              "" if cost == c.get("optimum") else f"PUBLISHED {c.get('optimum')}", flush=True)


main(sys.argv[1:])
