"""Runs the program and the plain reading over random ledgers, and stops at the first difference.

    compare.py BINARY [--ledgers 500] [--instants 20] [--seed S] [--shrink]

Guards against S-01 of SAFETY.md.
"""

import argparse
import json
import random
import subprocess
import sys
import time

from ledgers import instants, random_ledger
from reference import open_book, stamp, standings, standings_of
from validity import refusal


def run(binary, text, as_of, known_at=None, zone=None):
    command = [binary, "evaluate", "--as-of", as_of]
    command += ["--known-at", known_at] if known_at else []
    command += ["--zone", zone] if zone else []
    done = subprocess.run(command + ["-"], input=text, capture_output=True, text=True)
    if done.returncode != 0:
        return None, "exit %d: %s" % (done.returncode, done.stderr.strip())
    return [json.loads(line) for line in done.stdout.splitlines()], ""


def written(ledger):
    return "".join(json.dumps(line) + "\n" for line in ledger)


def normal(standings):
    """With numbers, strings and the order of lists as they are; only the order of members is free."""
    return [json.dumps(s, sort_keys=True) for s in standings]


def differs(binary, ledger, question):
    theirs, trouble = run(binary, written(ledger), *question)
    return theirs is None or normal(theirs) != normal(standings(ledger, *question))


def show(binary, ledger, question, seed):
    as_of, known_at, zone = question
    theirs, trouble = run(binary, written(ledger), *question)
    ours = standings(ledger, *question)
    print("--- ledger %s" % seed)
    print(written(ledger), end="")
    print("--- as_of %s known_at %s zone %s" % (as_of, known_at, zone))
    if theirs is None:
        print("program: " + trouble)
        return
    names = [s["item"] for s in ours], [s.get("item") for s in theirs]
    if names[0] != names[1]:
        print("items, reference: %s\nitems, program:   %s" % names)
        return
    for a, b in zip(ours, theirs):
        if json.dumps(a, sort_keys=True) != json.dumps(b, sort_keys=True):
            print("reference: " + json.dumps(a))
            print("program:   " + json.dumps({k: b[k] for k in sorted(b, key=(list(a) + sorted(b)).index)}))
            for name in list(a) + sorted(set(b) - set(a)):
                if json.dumps(a.get(name, "(none)"), sort_keys=True) != json.dumps(b.get(name, "(none)"), sort_keys=True):
                    print("  %s: reference %s, program %s"
                          % (name, json.dumps(a.get(name, "(none)")), json.dumps(b.get(name, "(none)"))))


def smaller(ledger):
    """Every ledger with one line, or one member of one of its lists, less."""
    for n in reversed(range(len(ledger))):
        yield ledger[:n] + ledger[n + 1:]
    for n, line in enumerate(ledger):
        for name in ("rules", "clauses", "from", "uses"):
            for k in range(len(line.get(name) or []) if isinstance(line.get(name), list) else 0):
                fewer = line[name][:k] + line[name][k + 1:]
                less = {**line, name: fewer} if fewer else {k: v for k, v in line.items() if k != name}
                yield ledger[:n] + [less] + ledger[n + 1:]
        for name in ("chill_ms", "at_limit", "count", "note", "by", "device", "by_how", "late_ms", "lot", "soft_ms",
                     "firm_ms", "probe", "probed"):
            if name in line:
                yield ledger[:n] + [{k: v for k, v in line.items() if k != name}] + ledger[n + 1:]


def shrink(binary, ledger, question):
    if "seq" not in ledger[0]:
        numbered = [{**line, "seq": n} for n, line in enumerate(ledger, 1)]
        if differs(binary, numbered, question):
            ledger = numbered
    going = True
    while going:
        going = False
        for candidate in smaller(ledger):
            if candidate and refusal(candidate) is None and differs(binary, candidate, question):
                theirs, _ = run(binary, written(candidate), *question)
                if theirs is not None or run(binary, written(ledger), *question)[0] is None:
                    ledger, going = candidate, True
                    break
    return ledger


def questions(book, ledger, seed, n):
    rng, recorded = random.Random("questions %s" % seed), [e.get("recorded_at") for e in ledger]
    for t in instants(book, seed, n):
        known_at = rng.choice(recorded[len(recorded) // 3:]) if recorded[0] and rng.random() < 0.15 else None
        zone = rng.choice(["UTC", "Pacific/Auckland", "America/St_Johns"]) if rng.random() < 0.05 else None
        yield stamp(t), known_at, zone


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("binary")
    asked.add_argument("--ledgers", type=int, default=500)
    asked.add_argument("--instants", type=int, default=20)
    asked.add_argument("--seed", default=None)
    asked.add_argument("--shrink", action="store_true")
    asked = asked.parse_args()
    seed = asked.seed if asked.seed is not None else str(random.SystemRandom().randrange(10 ** 9))
    print("seed %s" % seed, flush=True)
    began, compared, looked_at = time.time(), 0, 0
    for n in range(asked.ledgers):
        name = "%s-%d" % (seed, n)
        ledger = random_ledger(name)
        text, books = written(ledger), {(None, None): open_book(ledger)}
        for question in questions(books[None, None], ledger, name, asked.instants):
            if question[1:] not in books:
                books[question[1:]] = open_book(ledger, *question[1:])
            ours = standings_of(books[question[1:]], question[0])
            theirs, _ = run(asked.binary, text, *question)
            looked_at += 1
            if theirs is None or normal(theirs) != normal(ours):
                show(asked.binary, ledger, question, name)
                if asked.shrink:
                    print("--- made smaller")
                    show(asked.binary, shrink(asked.binary, ledger, question), question, name)
                print("%d ledgers, %d instants, 1 difference" % (n + 1, looked_at))
                return 1
            compared += len(ours)
    print("%d standings in %.0f s" % (compared, time.time() - began))
    if compared == 0:
        print("no standing was compared")
        return 1
    print("%d ledgers, %d instants, 0 differences" % (asked.ledgers, looked_at))
    return 0


if __name__ == "__main__":
    sys.exit(main())
