"""The plain reading against the service: random ledgers posted to it, and what it then says at random instants.

    service.py BINARY [--ledgers 60] [--instants 20] [--seed S] [--first 0]

The random ledgers lie in years the service would call the future, so it runs under libfaketime: those with a time of
recording see the clock stand at it, the others a clock that runs from 2029 on. What may be written is judged by
validity.py over the ledger as it has become, rules taken into use included.
"""

import argparse
import json
import multiprocessing
import os
import random
import subprocess
import sys
import time
from glob import glob

from compare import normal, run
from ledgers import instants, random_ledger
from program import Client, Database, Service, Trouble, add_token, command
from reference import BUILT_IN, RANK, instant, open_book, stamp
from validity import refusal

OWN = ("by", "by_how", "device", "seq", "recorded_at", "late_ms")  # the server's members
AFTER_ALL = "2029-06-01T12:00:00.000Z"


def at_hand(seed):
    """A random ledger without places in others' hands: what is there the service closes by itself after a day, which is
    no question here. compare.py has them as they are."""
    ledger = random_ledger(seed)
    for line in ledger:
        for part in (line, line.get("set") or {}):
            if part.get("use") == "away":
                part["use"] = "transport"
    return ledger


class Clock:
    """What the service takes for now: standing where it is put, or running from 2029 on."""

    def __init__(self, folder, stands):
        self.stands, self.file = stands, os.path.join(folder, "clock")
        library = glob("/usr/lib/*/faketime/libfaketimeMT.so.1")
        if not library:
            raise Trouble("libfaketime is missing (Debian: apt-get install faketime)")
        self.env = {"LD_PRELOAD": library[0], "FAKETIME_DONT_FAKE_MONOTONIC": "1", "NO_FAKE_STAT": "1", "TZ": "UTC",
                    "COUNTERCLOCK_TEST_SYNCHRONOUS": "OFF"}  # the order of writes is no question here
        if stands:
            self.env |= {"FAKETIME_TIMESTAMP_FILE": self.file, "FAKETIME_NO_CACHE": "1"}
        else:
            self.env["FAKETIME"] = "@2029-05-31 23:00:00"

    def start(self):
        """For the service itself: a running clock starts with each process, and the token was made before."""
        if not self.stands:
            self.env["FAKETIME"] = "@2029-06-01 00:00:00"

    def put(self, ms):
        if self.stands:
            text = stamp(ms)  # half a millisecond more, so that no rounding takes it to the one before
            with open(self.file + ".new", "w") as file:
                file.write("%s %s5\n" % (text[:10], text[11:23]))
            os.replace(self.file + ".new", self.file)


class Poster:
    """Posts a ledger's lines, and knows for each whether it must be accepted."""

    def __init__(self, name, ledger, client, clock):
        self.rng, self.ledger, self.client, self.clock = random.Random("poster %s" % name), ledger, client, clock
        self.tail = client.tail()
        self.seqs = {}  # a line's number in the random ledger: its number here
        self.counts = {"accepted": 0, "refused": 0, "arrays": 0, "answers": 0, "sent again": 0}

    def now(self, line):
        return instant(line["recorded_at"] if self.clock.stands else self.tail[-1]["recorded_at"])

    def request(self, n):
        """The next lines that go in one request: how many, and the entries as they are sent."""
        most = self.rng.randint(2, 6) if self.rng.random() < 0.4 else 1
        taken, sent = 0, []
        for line in self.ledger[n:n + most]:
            entry = {k: v for k, v in line.items() if k not in OWN}
            if line["kind"] == "correct":
                entry["entry"] = self.seqs.get(line["entry"])
                if entry["entry"] is None:  # its target was refused, or goes in the same request
                    if not sent:
                        taken = 1
                    break
            if sent and self.clock.stands and line["recorded_at"] != self.ledger[n]["recorded_at"]:
                break
            taken += 1
            sent.append(entry)
        return taken, sent

    def folded(self, sent):
        """Lines that differ by their item alone as one with `items`."""
        found = []
        for entry in sent:
            last = found[-1] if found else None
            if last and "item" in entry and entry["kind"] in ("move", "reading", "seen", "close") and (
                    {**entry, "item": 0} == {**last[0], "item": 0}):
                last.append(entry)
            else:
                found.append([entry])
        if self.rng.random() < 0.3:
            return sent
        together = []
        for entries in found:
            items = [e["item"] for e in entries if "item" in e]
            rack = entries[0]["kind"] != "reading" or entries[0].get("probed") in items
            if len(entries) > 1 and rack and len(set(items)) == len(items):
                together.append({**{k: v for k, v in entries[0].items() if k != "item"}, "items": items})
            else:
                together += entries
        return together

    def wrong(self, sent, now):
        """Why a request must be refused, or None. Without a correction in it each beginning of it is judged too."""
        lines, flaw, now = list(self.tail), None, max(now, instant(self.tail[-1]["recorded_at"]))
        whole = any(e["kind"] == "correct" for e in sent)
        for n, entry in enumerate(sent, 1):
            taken = {e["rule"] for e in lines if e["kind"] == "rule"}
            named = entry.get("rules") or [] if entry["kind"] in ("item", "product") else []
            # A built-in rule is written down when it is first used, before what uses it.
            rules = [{"kind": "rule", "at": stamp(now), "rule": r, "name": r, **BUILT_IN[r]}
                     for r in dict.fromkeys(named) if r in BUILT_IN and r not in taken]
            for line in rules + [entry]:
                lines.append({**line, "seq": len(lines) + 1, "recorded_at": stamp(now)})
            if n == len(sent) or not whole:
                flaw = refusal(lines)
            if flaw:
                return flaw
        return None

    def post(self, sent, now, body=None):
        """Posts and compares with what must become of it. The entries written, None if it was refused."""
        flaw = self.wrong(sent, now) if sent else "it is none"
        if body is None:
            body = self.folded(sent)
            body = body[0] if len(body) == 1 and self.rng.random() < 0.5 else body
        status, text = self.client.post(body)
        if (status == 201) != (flaw is None) or status not in (201, 400, 409):
            raise Trouble("%s\nreference: %s\nservice: %d %s" % (json.dumps(body), flaw or "accepted", status, text))
        if status != 201:
            self.counts["refused"] += 1
            if self.client.head() != len(self.tail):
                raise Trouble("%s was refused, and the ledger's head moved" % json.dumps(body))
            return None
        answer, before = json.loads(text), len(self.tail)
        self.tail += self.client.tail(len(self.tail))
        self.counts["accepted"] += len(sent)
        self.counts["arrays"] += len(sent) > 1
        self._same(sent, answer, body, before)
        return answer["entries"]

    def _same(self, sent, answer, body, before):
        """What was answered is what is in the ledger, and that is what was sent."""
        told = answer["entries"]
        if [self.tail[e["seq"] - 1] for e in told] != told or len(told) != len(sent):
            raise Trouble("%s was answered with other entries: %s" % (json.dumps(body), json.dumps(told)))
        for was, e in zip(sent, told):
            same = instant(was["at"]) == instant(e["at"]) if "at" in was else True
            for name in set(was) - {"at", "value", "set", "until", "discard_by", "from", "to"}:
                same = same and was[name] == e.get(name)
            if not same:
                raise Trouble("%s was sent and %s written" % (json.dumps(was), json.dumps(e)))
        # A reading of a place's air that was there already is answered with that one, and nothing else is.
        written, again = {e["seq"] for e in self.tail[before:]}, []
        for was, e in zip(sent, told):
            if e["seq"] in written:
                written.remove(e["seq"])
                continue
            again.append(e["seq"])
            air = [(instant(r.get("at", stamp(self.now_put))), float(r["value"]), r["unit"], r.get("probe"), r.get("note"))
                   for r in (was, e) if r["kind"] == "reading" and "place" in r]
            if len(air) < 2 or air[0] != air[1]:
                raise Trouble("%s was sent and nothing written but %s" % (json.dumps(was), json.dumps(e)))
        self.counts["sent again"] += len(again)
        if self.clock.stands:
            late = [e for e in told if e["recorded_at"] != stamp(self.now_put) and e["seq"] not in again]
            if late:
                raise Trouble("the clock stood at %s: %s" % (stamp(self.now_put), json.dumps(late)))
        if self.rng.random() < 0.15:
            book = open_book(self.tail)
            for s in answer["standings"]:
                self.counts["answers"] += 1
                must_equal(one(book, s["item"], self.asked(s)), s, self.tail, "the answer to %s" % json.dumps(body))

    def asked(self, s):
        return s["as_of"] if s["state"] != "closed" else AFTER_ALL if not self.clock.stands else stamp(self.now_put)

    def prove_clock(self):
        """That the service sees the clock it is given."""
        status, text = self.client.post({"kind": "review", "from": "2026-01-01", "to": "2026-01-02"})
        if status != 201:
            raise Trouble("%d %s" % (status, text))
        e = json.loads(text)["entries"][0]
        seen = e["recorded_at"] == stamp(self.now_put) if self.clock.stands else e["recorded_at"][:11] == "2029-06-01T"
        if not seen or e["at"] != e["recorded_at"]:
            raise Trouble("the service does not see the clock it is given: %s" % text)
        self.tail += self.client.tail(len(self.tail))

    def bad(self, now):
        """The text of something that must be refused; None as long as there is no item to say it of."""
        rng, tail = self.rng, self.tail
        at = stamp(now)
        items = sorted(open_book(tail).world(instant(AFTER_ALL)).items)
        if not items:
            return None
        item, place = rng.choice(items), rng.choice([e["place"] for e in tail if e["kind"] == "place"])
        plain = {"at": at, "kind": "move", "item": item, "place": place}
        entry = rng.choice([
            {**plain, "item": "nobody"}, {**plain, "place": "nowhere"}, {**plain, "at": stamp(now + 600_000)},
            {**plain, "at": "2019-01-01T00:00:00Z"}, {**plain, "colour": "red"}, {**plain, "at": "yesterday"},
            {**plain, "item": "a b"}, {"at": at, "kind": "moved", "item": item, "place": place},
            {"at": at, "kind": "move", "item": item}, {**plain, "seq": 1}, {**plain, "note": "x" * 501},
            {"at": at, "kind": "item", "item": item, "name": "Again", "place": place, "rules": ["keep-7d"]},
            {"at": at, "kind": "item", "item": "new", "name": "No rule", "place": place},
            {"at": at, "kind": "item", "item": "new", "name": "No", "place": place, "rules": ["no-such"]},
            {"at": at, "kind": "item", "item": "new", "name": "No", "place": place, "product": "no-such"},
            {"at": at, "kind": "join", "item": item, "from": [item]},
            {"at": at, "kind": "join", "item": item, "from": []},
            {"at": at, "kind": "reading", "item": item, "value": "5.05", "unit": "C"},
            {"at": at, "kind": "reading", "item": item, "value": "9000.0", "unit": "C"},
            {"at": at, "kind": "reading", "item": item, "value": "5.0", "unit": "C", "probed": "nobody"},
            {"at": at, "kind": "decide", "about": "nobody", "action": "keep", "reason": "so"}, {**plain, "note": None},
            {"at": at, "kind": "close", "item": item, "as": "eaten"},
            {"at": at, "kind": "close", "item": item, "as": "sold", "count": 1000},
            {"at": at, "kind": "correct", "entry": len(tail) + 9, "void": True, "reason": "no such"},
            {"at": at, "kind": "correct", "entry": len(tail), "reason": "neither"},
            {"at": at, "kind": "site", "name": "Moved", "zone": "Asia/Tokyo", "units": "C"},
            {"at": at, "kind": "place", "place": place, "name": "Other", "control": "cold", "use": "away"}
            if not any(e["kind"] == "place" and e["place"] == place and e.get("use") == "away" for e in tail)
            else {**plain, "item": "nobody"},
        ])
        text = json.dumps(entry)
        how = rng.random()
        if how < 0.1:
            text = text[:-1] + ', "kind": "move"}'
        elif how < 0.2:
            text = text[:-1]
        elif how < 0.5:  # with something good before it
            text = json.dumps([{"at": at, "kind": "seen", "item": item, "place": place},
                               {"at": at, "kind": "decide", "about": place, "action": "keep", "reason": "so"}, entry])
        return text

    def again(self, now):
        """A line there is already, at another time or of another item: the plain reading judges it."""
        pool = [e for e in self.tail if e["kind"] in ("move", "join", "reading", "lapse", "restore", "close", "seen")]
        if not pool:
            return None
        line = {k: v for k, v in self.rng.choice(pool).items() if k not in OWN + ("prev", "hash")}
        shift = self.rng.choice([1, -1, 60_000, 3_600_000, -3_600_000, 0])
        line["at"] = stamp(min(instant(line["at"]) + shift, now))
        if "item" in line and self.rng.random() < 0.5:
            line["item"] = self.rng.choice([e["item"] for e in self.tail if e["kind"] == "item"])
        return line

    def make(self):
        n = 0
        self.now_put = self.now(self.ledger[0])
        self.prove_clock()
        while n < len(self.ledger):
            now = self.now_put = self.now(self.ledger[n])
            self.clock.put(now)
            taken, sent = self.request(n)
            if sent:
                written = self.post(sent, now)
                for k, e in enumerate(written or ()):
                    self.seqs[self.ledger[n + k].get("seq", n + k + 1)] = e["seq"]
            n += taken
            how = self.rng.random()
            if how < 0.06:
                text = self.bad(now)
                if text:
                    self.post(None, now, text)
            elif how < 0.1:
                line = self.again(now)
                if line:
                    self.post([line], now)


def one(book, item, as_of):
    """The standing of one item; None before it began."""
    t = instant(as_of)
    world = book.world_of(item, t)
    if world is None:
        return None
    world.asked = t
    return world.standing(item)


def shown(tail):
    return "".join(json.dumps({k: v for k, v in e.items() if k not in ("by", "by_how", "prev", "hash")}) + "\n"
                   for e in tail)


def must_equal(ours, theirs, tail, what):
    if ours is None or theirs is None or normal([ours]) != normal([theirs]):
        differing = [k for k in ours if ours[k] != theirs.get(k)] if ours and theirs else []
        raise Trouble("%s%s\nreference: %s\nservice:   %s\ndiffering: %s" % (
            shown(tail), what, json.dumps(ours), json.dumps(theirs), differing))


def urgency(s):
    left = s["left_ms"]
    return (-RANK[s["verdict"]], s["state"] != "out", left is None, left or 0, s["item"])


def look(binary, name, client, tail, many):
    """Compares at `many` instants. (instants, standings)."""
    rng, compared = random.Random("look %s" % name), 0
    items = [e["item"] for e in tail if e["kind"] == "item"]
    recorded = [e["recorded_at"] for e in tail]
    books = {None: open_book(tail)}
    asked = [stamp(t) for t in instants(books[None], name, many)]
    for as_of in asked + [AFTER_ALL]:
        known_at = rng.choice(recorded[len(recorded) // 4:]) if rng.random() < 0.3 else None
        if known_at not in books:
            books[known_at] = open_book(tail, known_at)
        for item in rng.sample(items, min(len(items), rng.randint(1, 2))):
            ours = one(books[known_at], item, as_of)
            status, text = client.get("items/" + item, as_of=as_of, known_at=known_at)
            what = "%s at %s known_at %s: %d" % (item, as_of, known_at, status)
            if status == 404 and ours is None:
                continue
            if status != 200:
                raise Trouble("%s%s\n%s" % (shown(tail), what, text))
            must_equal(ours, json.loads(text)["standing"], tail, what)
            compared += 1
    compared += look_now(client, tail, books[None], items)
    compared += look_at_record(binary, rng, client, tail, books[None], asked[-1])
    return len(asked) + 1, compared


def look_now(client, tail, book, items):
    """The lists, and each item as it stands now."""
    now = None
    for item in items:
        status, text = client.get("items/" + item)
        if status == 404 and one(book, item, AFTER_ALL) is None:  # its beginning is void
            continue
        s = json.loads(text)["standing"]
        if s["state"] != "closed":
            now = s["as_of"]
        must_equal(one(book, item, s["as_of"] if s["state"] != "closed" else AFTER_ALL), s, tail, item + " now")
    listed = client.must_get("items", limit=500)["items"]
    if listed:
        now = listed[0]["as_of"]
    all_of_them = [s for s in (one(book, item, now or AFTER_ALL) for item in items) if s]
    ours = sorted((s for s in all_of_them if s["state"] != "closed"), key=urgency)
    if [s["item"] for s in ours] != [s["item"] for s in listed]:
        raise Trouble("the open list: reference %s, service %s" % (
            [urgency(s) for s in ours], [urgency(s) for s in listed]))
    for a, b in zip(ours, listed):
        must_equal(a, b, tail, "in the open list")
    closed = client.must_get("items", limit=500, state="closed")["items"]
    if sorted(s["item"] for s in closed) != sorted(s["item"] for s in all_of_them if s["state"] == "closed"):
        raise Trouble("the closed list: %s" % [s["item"] for s in closed])
    for s in closed:
        must_equal(one(book, s["item"], AFTER_ALL), s, tail, "in the closed list")
    return len(items) + len(listed) + len(closed)


def look_at_record(binary, rng, client, tail, book, as_of):
    """The record through `evaluate`: all of it, and a stretch of it for the items that are in it."""
    dates = sorted(e["at"][:10] for e in tail if e["kind"] not in ("site", "place", "rule", "product"))
    some = sorted(rng.choices(dates, k=2))
    compared = 0
    for first, last in (("2020-01-01", "2030-01-01"), some):
        status, text = client.get("record.jsonl", **{"from": first, "to": last})
        if status != 200:
            raise Trouble("%d for the record: %s" % (status, text))
        theirs, trouble = run(binary, text, as_of)
        if theirs is None:
            raise Trouble("%sevaluate on the record from %s to %s: %s" % (text, first, last, trouble))
        ours = [one(book, s["item"], as_of) for s in theirs]
        for a, b in zip(ours, theirs):
            must_equal(a, b, tail, "the record from %s to %s through evaluate, at %s" % (first, last, as_of))
        whole = {i for i in book.world(instant(as_of)).items}
        if first == "2020-01-01" and {s["item"] for s in theirs} != whole:
            raise Trouble("the record has %s, the ledger %s" % (sorted(s["item"] for s in theirs), sorted(whole)))
        compared += len(theirs)
    return compared


def begin_worker(enough):
    global stopped
    stopped = enough


def check_ledger(task):
    binary, name, many = task
    if stopped.is_set():
        return name, {}, ""
    began, ledger = time.monotonic(), at_hand(name)
    try:
        with Database() as database:
            clock = Clock(database.folder, "recorded_at" in ledger[0])
            if clock.stands:
                clock.put(instant(ledger[0]["recorded_at"]))
            token = add_token(binary, database.url, zone=ledger[0]["zone"], env=clock.env)
            clock.start()
            service = Service(binary, database, env=clock.env)
            try:
                client = Client(service.address, token)
                poster = Poster(name, ledger, client, clock)
                poster.make()
                if client.tail() != poster.tail:
                    raise Trouble("the tail is not what was answered")
                looked_at, compared = look(binary, name, client, poster.tail, many)
                client.close()
                service.stop()
                command(binary, "check", "--db", database.url, env=clock.env)
            finally:
                service.kill()
    except (Trouble, subprocess.SubprocessError, KeyError, OSError) as e:
        return name, None, "%s: %s" % (type(e).__name__, e)
    except Exception as e:  # noqa: BLE001 a worker's own words would be lost
        import traceback
        return name, None, "%s%s" % (traceback.format_exc(), e)
    return name, {**poster.counts, "instants": looked_at, "standings": compared,
                  "stood": int(clock.stands), "seconds": time.monotonic() - began}, ""


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("binary")
    asked.add_argument("--ledgers", type=int, default=60)
    asked.add_argument("--instants", type=int, default=20)
    asked.add_argument("--seed", default=None)
    asked.add_argument("--first", type=int, default=0, help="the number of the first ledger, to see one again")
    asked = asked.parse_args()
    seed = asked.seed if asked.seed is not None else str(random.SystemRandom().randrange(10 ** 9))
    print("seed %s" % seed, flush=True)
    began, total, ran = time.monotonic(), {}, 0
    tasks = [(os.path.abspath(asked.binary), "%s-%d" % (seed, n), asked.instants)
             for n in range(asked.first, asked.first + asked.ledgers)]
    enough, failed = multiprocessing.Event(), False
    with multiprocessing.Pool(2, initializer=begin_worker, initargs=(enough,)) as workers:
        for name, counts, trouble in workers.imap_unordered(check_ledger, tasks):
            if counts is None:
                print("--- ledger %s\n%s" % (name, trouble))
                print("again: service.py BINARY --seed %s --first %s --ledgers 1" % tuple(name.rsplit("-", 1)))
                failed = True
                enough.set()  # and the other worker ends the service it has begun
                continue
            ran += 1
            for k, v in counts.items():
                total[k] = total.get(k, 0) + v
    if failed:
        return 1
    if not total.get("standings") or not total["accepted"] or not total["refused"]:
        print("nothing was compared: %s" % total)
        return 1
    print("%d ledgers (%d with the clock standing at their times) in %.0f s, %.1f s each on one of two workers"
          % (ran, total["stood"], time.monotonic() - began, total["seconds"] / ran))
    print("%(accepted)d entries accepted, %(arrays)d arrays among the requests, %(refused)d requests refused, as the "
          "plain reading says; %(sent again)d readings were there already; %(instants)d instants, %(standings)d standings and %(answers)d in answers to posts, "
          "0 differences" % total)
    return 0


if __name__ == "__main__":
    sys.exit(main())
