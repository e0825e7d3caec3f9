"""Plans against the plain reading of the rules (reference.py, intervals by the `portion` library): what the service says a
plan comes to is what the reading makes of the same entries and steps.

    plan.py BINARY [--plans 120] [--seed S]

Guards against S-57 of SAFETY.md.
"""

import argparse
import datetime
import json
import random
import sys

from program import Client, Database, Service, add_token
from reference import instant, stamp, standings

PLACES = [("bench", "none", "work"), ("fridge", "cold", "store"), ("case", "cold", "display"), ("freezer", "frozen", "store"),
          ("van", "none", "transport"), ("hall", "none", "away")]
RULES = ["house-2h-4h", "sum-2h-4h", "us-time-4h", "two-hour", "uk-display-4h", "banded-70f", "keep-7d"]
MINUTE = 60_000


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("binary")
    parser.add_argument("--plans", type=int, default=120)
    parser.add_argument("--seed", type=int, default=351820744)
    args = parser.parse_args()
    rng = random.Random(args.seed)
    with Database() as db:
        token = add_token(args.binary, db.url)
        service = Service(args.binary, db)
        try:
            compared, verdicts = compare(Client(service.address, token), rng, args.plans)
        finally:
            service.stop()
    print("seed %d: %d plans as the reading has them; when served: %s" % (args.seed, compared, verdicts))
    # A comparison in which nothing ever came to a limit would show little.
    enough = min(verdicts.get("within", 0), verdicts.get("discard", 0)) >= args.plans // 20
    sys.exit(0 if compared == args.plans and enough else 1)


def compare(client, rng, plans):
    now = int(datetime.datetime.now(datetime.timezone.utc).timestamp() * 1000)
    begin = now - 9 * 60 * MINUTE
    client.must_post([{"kind": "place", "place": p, "name": p, "control": c, "use": u} for p, c, u in PLACES])
    items = past(client, rng, begin, now)
    ledger = client.tail()
    verdicts, compared = {}, 0
    for n in range(plans):
        item, steps, serve = plan(rng, items, ledger, now, n)
        asked = {"item": item, "serve_at": stamp(serve), "steps": steps}
        status, text = client.ask("POST", "plan", json.dumps(asked).encode())
        if status != 200:
            print("%d for %s: %s" % (status, asked, text))
            break
        told = json.loads(text)["standing"]
        seq = ledger[-1]["seq"]
        lines = ledger + [{**step, "seq": seq + k} for k, step in enumerate(steps, 1)]
        read = next(s for s in standings(lines, as_of=stamp(serve)) if s["item"] == item)
        if json.dumps(told, sort_keys=True) != json.dumps(read, sort_keys=True):
            print("plan: %s\nservice:   %s\nreading:   %s" % (json.dumps(asked), json.dumps(told), json.dumps(read)))
            break
        compared += 1
        verdicts[told["verdict"]] = verdicts.get(told["verdict"], 0) + 1
    return compared, verdicts


def past(client, rng, begin, now):
    """A morning of eight items, moved about and joined; where each is now."""
    where, entries = {}, []
    for n in range(8):
        at, item, place = begin + rng.randrange(400) * MINUTE, "i%d" % n, rng.choice(PLACES)[0]
        rules = rng.sample(RULES, rng.randint(1, 2))
        entries.append({"kind": "item", "at": stamp(at), "item": item, "name": item, "rules": rules, "place": place})
        where[item] = place
    at = begin + 400 * MINUTE
    while at < now - 10 * MINUTE:
        at += rng.randrange(5, 60) * MINUTE
        if at >= now - MINUTE:
            break
        item = rng.choice(list(where))
        if rng.random() < 0.15:
            other = rng.choice([i for i in where if i < item] or [None])
            if other:
                entries.append({"kind": "join", "at": stamp(at), "item": item, "from": [other]})
            continue
        place = rng.choice([p[0] for p in PLACES if p[0] != where[item]])
        entries.append({"kind": "move", "at": stamp(at), "item": item, "place": place})
        where[item] = place
    for n in range(0, len(entries), 100):
        client.must_post(entries[n:n + 100])
    return where


def plan(rng, items, ledger, now, n):
    at, steps = now + 30 * MINUTE, []
    if rng.random() < 0.5:
        item, place = rng.choice(list(items.items()))
    else:
        item, place = "new-%d" % n, rng.choice(PLACES)[0]
        begin = {"kind": "item", "at": stamp(at), "item": item, "name": item, "place": place,
                 "rules": rng.sample(RULES, rng.randint(1, 2))}
        if rng.random() < 0.7:
            begin["from"] = rng.sample(list(items), rng.randint(1, 2))
        steps.append(begin)
    for _ in range(rng.randint(0, 6)):
        at += rng.randrange(1, 60) * MINUTE + rng.randrange(MINUTE)
        if rng.random() < 0.2:
            other = rng.choice([i for i in items if i != item])
            # What was made from it can't go into it: a ledger would refuse it.
            if item.startswith("new") or other < item:
                steps.append({"kind": "join", "at": stamp(at), "item": item, "from": [other]})
            continue
        place = rng.choice([p[0] for p in PLACES if p[0] != place])
        steps.append({"kind": "move", "at": stamp(at), "item": item, "place": place})
    return item, steps, at + rng.randrange(0, 120) * MINUTE


if __name__ == "__main__":
    main()
