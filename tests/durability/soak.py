"""The service for a long time at a steady load with copies of the record taken all the while: what it takes of memory and of
descriptors stays as it was once it was warm. Its clock runs thirty times as fast: what has ended stays in memory for an hour.

    soak.py BINARY [--minutes 20] [--rate 200] [--db-url postgres://…]
"""

import argparse
import json
import os
import random
import sys
import threading
import time

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "outside"))
from program import Client, Database, Service, Trouble, add_token, command  # noqa: E402

CLIENTS, ITEMS, LIFE = 8, 400, 60  # items at once; moves of one before it is closed and another begins
APART = 0.10  # of the first half's median
FASTER, WARM_S = 30, 240  # an hour is over in two minutes


def resident_kb(pid):
    with open("/proc/%d/status" % pid) as status:
        return next(int(line.split()[1]) for line in status if line.startswith("VmRSS"))


class Mover(threading.Thread):
    """Items of its own, moved at its share of the rate."""

    def __init__(self, number, address, token, every, over):
        super().__init__(daemon=True)
        self.number, self.client, self.every, self.over = number, Client(address, token), every, over
        self.rng, self.made, self.moves, self.late, self.trouble = random.Random(number), 0, 0, 0.0, None

    def begin(self):
        self.made += 1
        item = "s%d-%d" % (self.number, self.made)
        self.client.must_post({"kind": "item", "item": item, "name": "Tub", "place": "fridge", "rules": ["sum-2h-4h"]})
        return [item, 0]

    def run(self):
        try:
            mine = [self.begin() for _ in range(ITEMS // CLIENTS)]
            due = time.monotonic()
            while not self.over.is_set():
                n = self.rng.randrange(len(mine))
                item = mine[n]
                self.client.must_post({"kind": "move", "item": item[0], "place": ("bench", "fridge")[item[1] % 2]})
                item[1] += 1
                self.moves += 1
                if item[1] >= LIFE:
                    self.client.must_post({"kind": "close", "item": item[0], "as": "used"})
                    mine[n] = self.begin()
                due += self.every
                wait = due - time.monotonic()
                self.late = max(self.late, -wait)
                self.over.wait(max(0, wait))
        except Exception as e:  # noqa: BLE001 the main thread tells
            self.trouble = e


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("binary")
    asked.add_argument("--minutes", type=float, default=20)
    asked.add_argument("--rate", type=float, default=200)
    asked.add_argument("--db-url", default=None)
    asked = asked.parse_args()
    with Database(asked.db_url) as database:
        token = add_token(asked.binary, database.url)
        clock = os.path.join(database.folder, "ahead")
        service = Service(asked.binary, database, env={"COUNTERCLOCK_TEST_CLOCK": clock})
        try:
            client = Client(service.address, token)
            client.must_post([{"kind": "place", "place": "fridge", "name": "Fridge", "control": "cold"},
                              {"kind": "place", "place": "bench", "name": "Bench", "control": "none"}])
            over = threading.Event()
            movers = [Mover(n, service.address, token, CLIENTS / asked.rate, over) for n in range(CLIENTS)]
            for m in movers:
                m.start()
            begun, samples, exports = time.monotonic(), [], 0
            while time.monotonic() - begun < asked.minutes * 60:
                with open(clock + ".new", "w") as file:
                    file.write("%d" % ((time.monotonic() - begun) * (FASTER - 1) * 1000))
                os.replace(clock + ".new", clock)
                for what in ("record.jsonl", "record.csv"):
                    status, text = client.get(what)
                    if status != 200:
                        raise Trouble("%s was answered %d" % (what, status))
                    exports += 1
                # Between two exports, as it is when nothing but moves go on.
                over.wait(5)
                samples.append((time.monotonic() - begun, resident_kb(service.pid), len(os.listdir("/proc/%d/fd" % service.pid))))
                if any(m.trouble for m in movers):
                    raise next(m.trouble for m in movers if m.trouble)
            over.set()
            for m in movers:
                m.join(30)
            head, moves = client.head(), sum(m.moves for m in movers)
            client.close()
            service.stop()
        finally:
            service.kill()
        command(asked.binary, "check", "--db", database.url)
    warm = [s for s in samples if s[0] > WARM_S]
    half = len(warm) // 2

    def median(of, n):
        return sorted(s[n] for s in of)[len(of) // 2]
    said = []
    for n, name, unit in ((1, "memory", " KB"), (2, "descriptors", "")):
        first, second = median(warm[:half], n), median(warm[half:], n)
        said.append("%s %d%s, then %d" % (name, first, unit, second))
        if abs(second - first) > APART * first:
            raise Trouble("%s is not steady: %d, then %d\n%s" % (name, first, second, samples))
    print("%s: %.0f minutes, %d moves (%.0f a second), %d entries, %d copies of the record; medians of the halves: %s; the "
          "latest move %.0f ms late" % ("PostgreSQL" if asked.db_url else "SQLite", asked.minutes, moves,
                                        moves / (asked.minutes * 60), head, exports, "; ".join(said), max(m.late for m in movers) * 1000))
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except Trouble as trouble:
        print(trouble)
        sys.exit(1)
