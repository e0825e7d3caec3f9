"""Kills the service with SIGKILL under load, again and again: nothing acknowledged is lost, nothing is there twice.

    kill.py BINARY [--db-url postgres://…] [--kills 10] [--seed S]

Without --db-url on a SQLite file of its own, else on a fresh database of that server.

Guards against S-20 of SAFETY.md.
"""

import argparse
import json
import os
import random
import sys
import threading
import time

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "outside"))
from program import Client, Database, Service, Trouble, Unanswered, add_token, command  # noqa: E402

ITEMS_EACH = 3
AGAIN = (503,)  # busy, not recorded, unknown outcome: sent again with the same key


class Till:
    """A client with items of its own: what it sent, what was acknowledged, what it never heard back about."""

    def __init__(self, number, seed):
        self.number, self.rng = number, random.Random("till %s %d" % (seed, number))
        self.items = ["t%d-%d" % (number, n) for n in range(ITEMS_EACH)]
        self.out = {item: False for item in self.items}
        self.sent = 0
        self.notes = {}  # of every entry ever sent: the key of its request
        self.acknowledged = {}  # note: (seq, hash)
        self.open = None  # (key, text, notes) of the request without an answer

    def request(self):
        """The next request: one move, or an array of moves and readings."""
        rng, key = self.rng, "till%d-%d" % (self.number, self.sent)
        self.sent += 1
        entries, moved = [], rng.sample(self.items, 1 if rng.random() < 0.7 else rng.randint(2, ITEMS_EACH))
        for item in moved:
            entries.append({"kind": "move", "item": item, "place": "fridge" if self.out[item] else "bench"})
            if len(moved) > 1 and rng.random() < 0.5:
                entries.append({"kind": "reading", "item": item, "value": "7.%d" % rng.randint(0, 9), "unit": "C"})
            self.out[item] = not self.out[item]
        for n, entry in enumerate(entries):
            entry["note"] = "%s/%d" % (key, n)
            self.notes[entry["note"]] = key
        return key, json.dumps(entries if len(entries) > 1 else entries[0]), [e["note"] for e in entries]

    def send(self, client):
        """Sends what is open until it is answered."""
        key, text, notes = self.open
        while True:
            status, answer = client.post(text, key)
            if status == 201:
                break
            if status not in AGAIN:
                raise Trouble("%d for %s: %s" % (status, text, answer))
            time.sleep(0.02)
        told = [(e["note"], (e["seq"], e["hash"])) for e in json.loads(answer)["entries"]]
        if [note for note, _ in told] != notes:
            raise Trouble("the answer to %s is about others: %s" % (text, answer))
        self.acknowledged.update(told)
        self.open = None
        return answer

    def work(self, load):
        client = Client(load.address, load.token)
        try:
            while not load.over.is_set():
                self.open = self.request()
                self.send(client)
                load.count()
        except Unanswered:
            pass  # killed: what is open stays so
        except Exception as e:  # noqa: BLE001 the main thread tells
            load.fail(e)
        finally:
            client.close()


class Load:
    """All clients at once against one run of the service."""

    def __init__(self, address, token, tills):
        self.address, self.token = address, token
        self.over, self.answered, self.trouble = threading.Event(), 0, None
        self.more = threading.Condition()
        self.threads = [threading.Thread(target=till.work, args=(self,), daemon=True) for till in tills]
        for thread in self.threads:
            thread.start()

    def count(self):
        with self.more:
            self.answered += 1
            self.more.notify()

    def fail(self, trouble):
        with self.more:
            self.trouble = self.trouble or trouble
            self.more.notify()

    def wait(self, answers):
        with self.more:
            done = self.more.wait_for(lambda: self.trouble or self.answered >= answers, 60)
        if self.trouble:
            raise self.trouble
        if not done:
            raise Trouble("only %d of %d requests were answered in a minute" % (self.answered, answers))

    def end(self):
        self.over.set()
        for thread in self.threads:
            thread.join(60)
        if self.trouble:
            raise self.trouble
        if any(thread.is_alive() for thread in self.threads):
            raise Trouble("a client hangs")


def found_wanting(tills, tail):
    """Every way in which the ledger is not what was acknowledged."""
    wrong, there = [], {}
    for before, e in zip([None] + tail, tail):
        if e["seq"] != (before["seq"] + 1 if before else 1):
            wrong.append("after %s comes %s" % (before and before["seq"], e["seq"]))
        if e["prev"] != (before["hash"] if before else "0" * 64):
            wrong.append("%d does not follow the hash before it" % e["seq"])
        if "note" in e:
            if e["note"] in there:
                wrong.append("%s is there twice: %d, %d" % (e["note"], there[e["note"]][0], e["seq"]))
            there[e["note"]] = (e["seq"], e["hash"])
    for till in tills:
        for note, told in till.acknowledged.items():
            if there.get(note) != told:
                wrong.append("%s was acknowledged as %s and is %s" % (note, told, there.get(note)))
        for note in till.open[2] if till.open else ():
            if (note in there) != (till.open[2][0] in there):
                wrong.append("only a part of %s is there" % till.open[0])
    known = {note for till in tills for note in till.notes}
    wrong += ["%s was never sent" % note for note in there if note not in known]
    return wrong, there


def must_hold(tills, tail):
    wrong, there = found_wanting(tills, tail)
    if wrong:
        raise Trouble("%d faults, the first: %s" % (len(wrong), "; ".join(wrong[:5])))
    return there


def must_bite(tills, tail):
    """The check itself: on ledgers that were spoiled it must complain."""
    told = [n for n, e in enumerate(tail) if "note" in e]
    middle = told[len(told) // 2]
    spoiled = {
        "an entry less": tail[:middle] + tail[middle + 1:],
        "the last entry less": tail[:told[-1]],
        "another hash": tail[:middle] + [{**tail[middle], "hash": "0" * 64}] + tail[middle + 1:],
        "an entry twice": tail + [{**tail[middle], "seq": tail[-1]["seq"] + 1, "prev": tail[-1]["hash"]}],
        "a stranger": tail + [{**tail[middle], "seq": tail[-1]["seq"] + 1, "prev": tail[-1]["hash"], "note": "x"}],
    }
    for how, ledger in spoiled.items():
        if not found_wanting(tills, ledger)[0]:
            raise Trouble("the check sees nothing wrong in a ledger with %s" % how)


def set_up(client, tills):
    client.must_post([
        {"kind": "place", "place": "fridge", "name": "Fridge", "control": "cold"},
        {"kind": "place", "place": "bench", "name": "Bench", "control": "none"}])
    client.must_post([{"kind": "item", "item": item, "name": "Tub", "place": "fridge", "rules": ["sum-2h-4h"]}
                      for till in tills for item in till.items])


def resend(address, token, tills, there):
    """Sends what had no answer again with its key, twice. (requests, of them recorded before the kill)."""
    client, recorded, again = Client(address, token), 0, 0
    for till in tills:
        if till.open:
            notes = till.open[2]
            again += 1
            before = [there.get(note) for note in notes]
            recorded += before[0] is not None
            asked = till.open
            answer = till.send(client)
            if before[0] is not None and [till.acknowledged[note] for note in notes] != before:
                raise Trouble("%s was recorded as %s and came back as %s" % (asked[0], before, answer))
            till.open = asked
            if till.send(client) != answer:
                raise Trouble("%s was answered differently the second time" % asked[0])
    client.close()
    return again, recorded


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("binary")
    asked.add_argument("--db-url", default=None)
    asked.add_argument("--kills", type=int, default=10)
    asked.add_argument("--seed", default=None)
    asked = asked.parse_args()
    seed = asked.seed if asked.seed is not None else str(random.SystemRandom().randrange(10 ** 9))
    print("seed %s" % seed, flush=True)
    rng, began = random.Random("kill %s" % seed), time.monotonic()
    tills = [Till(n, seed) for n in range(rng.randint(16, 32))]
    again = recorded = 0
    with Database(asked.db_url) as database:
        token = add_token(asked.binary, database.url)
        service = Service(asked.binary, database)
        try:
            client = Client(service.address, token)
            set_up(client, tills)
            client.close()
            for _ in range(asked.kills):
                load = Load(service.address, token, tills)
                load.wait(rng.randint(60, 300))
                time.sleep(rng.uniform(0, 0.1))  # else it would always fall just after an answer
                service.kill()
                load.end()
                service = Service(asked.binary, database)
                client = Client(service.address, token)
                there = must_hold(tills, client.tail())
                more = resend(service.address, token, tills, there)
                again, recorded = again + more[0], recorded + more[1]
                tail = client.tail()
                client.close()
                if len(must_hold(tills, tail)) != sum(len(till.notes) for till in tills):
                    raise Trouble("not everything that was sent is there in the end")
            must_bite(tills, tail)
            service.stop()
        finally:
            service.kill()
        print(command(asked.binary, "check", "--db", database.url), end="")
    if not again:
        raise Trouble("no kill left a request without an answer: this proved little")
    print("%s: %d kills under load of %d clients; %d requests, %d entries acknowledged, all there; %d requests "
          "without an answer (%d of them were recorded), sent again, there once; %.0f s"
          % ("PostgreSQL" if asked.db_url else "SQLite", asked.kills, len(tills), sum(till.sent for till in tills),
             sum(len(till.acknowledged) for till in tills), again, recorded, time.monotonic() - began))
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except Trouble as trouble:
        print(trouble)
        sys.exit(1)
