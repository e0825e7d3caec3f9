"""The plain reading tested against itself: reaches by bisection, verdicts that never become milder, written forms."""

import os
import subprocess
import sys

import vectors
from ledgers import instants, random_ledger
from reference import HOUR, INF, RANK, instant, merge, open_book, stamp, standings, standings_of
from validity import refusal

SEEDS = range(40)


def worlds():
    for seed in SEEDS:
        ledger = random_ledger("test %s" % seed)
        book = open_book(ledger)
        for t in instants(book, "test %s" % seed, 6):
            yield ledger, book, t


def test_random_ledgers_are_valid_in_every_prefix():
    for seed in range(25):
        ledger = random_ledger("prefix %s" % seed)
        for n in range(1, len(ledger) + 1):
            assert refusal(ledger[:n]) is None


def test_reach_is_the_first_instant_the_measure_is_at_its_limit():
    tried = 0
    for _, book, t in worlds():
        world = book.world(t)
        for i in world.items:
            for c in world.items[i].clauses:
                if c.measure not in ("total_out", "out_above", "longest_spell", "since_first_out"):
                    continue
                reach, lo = world.reach(i, c, t, INF), world.items[i].begin
                hi = t + c.limit + 40 * HOUR
                full = lambda x: (world.value(i, c, x, INF) or 0) >= c.limit
                if not full(hi):
                    assert reach is None or reach > hi
                    continue
                if full(lo):
                    assert reach is not None and reach <= lo
                    continue
                while hi - lo > 1:
                    mid = (lo + hi) // 2
                    lo, hi = (lo, mid) if full(mid) else (mid, hi)
                # a clock taken over at a join may have run out before it
                assert reach == hi or (c.measure == "since_first_out" and reach <= hi)
                tried += 1
    assert tried > 100


def test_what_is_breached_has_a_reach_that_has_come():
    for _, book, t in worlds():
        world = book.world(t)
        for i in world.items:
            for c in world.items[i].clauses:
                reach = world.reach(i, c, t, INF)
                if world.breached(i, c, t, INF):
                    assert reach is not None and reach <= t, (i, c.raw)
                elif reach is not None and c.measure not in ("spells", "day", "food_temperature", "start_temperature"):
                    assert reach >= t or world.value(i, c, t, INF) in (None, c.limit), (i, c.raw)


def test_no_verdict_becomes_milder_as_time_passes():
    for seed in SEEDS:
        ledger = random_ledger("test %s" % seed)
        book, worst = open_book(ledger), {}
        for t in sorted(instants(book, "test %s" % seed, 30)):
            for s in standings_of(book, stamp(t)):
                rank = RANK[s["verdict"]] if s["verdict"] != "return" else 0
                assert rank >= worst.get(s["item"], 0), (seed, s)
                worst[s["item"]] = rank


def test_discard_by_is_when_it_is_over_and_left_counts_to_it():
    for ledger, book, t in worlds():
        for s in standings_of(book, stamp(t)):
            if s["state"] == "closed":
                continue
            if s["verdict"] == "discard":
                assert s["left_ms"] == 0 and instant(s["discard_by"]) <= t
            if s["state"] == "out" and s["discard_by"]:
                assert s["left_ms"] == max(0, instant(s["discard_by"]) - t)


def test_prefix_standings_need_no_later_lines():
    for seed in range(25):
        ledger = random_ledger("test %s" % seed)
        if "seq" in ledger[0]:
            half = ledger[: len(ledger) * 2 // 3]
            if half[-1]["recorded_at"] == ledger[len(half)]["recorded_at"]:
                continue
            t = half[-1]["recorded_at"]
            assert standings(half, t) == standings(ledger, t, known_at=t)


def test_stamps():
    assert stamp(instant("2026-05-02T15:20:00Z")) == "2026-05-02T15:20:00.000Z"
    assert stamp(instant("2026-05-02T15:20:00.9999+01:00")) == "2026-05-02T14:20:00.999Z"
    assert stamp(instant("1969-12-31T23:59:59.001Z")) == "1969-12-31T23:59:59.001Z"


def test_touching_spans_are_one():
    assert merge([(5, 7), (1, 3), (3, 4), (8, 8), (6, 9)]) == [(1, 4), (5, 9)]


def test_vectors():
    assert vectors.check(standings) == []


def test_a_seed_makes_the_same_ledgers_and_instants_in_every_process():
    """Texts have another hash in each process, and with it sets another order."""
    code = ("from ledgers import instants, random_ledger; from reference import open_book\n"
            "for n in range(20):\n"
            "    ledger = random_ledger('same %d' % n)\n"
            "    print(ledger, instants(open_book(ledger), n, 5))")
    made = [subprocess.run([sys.executable, "-c", code], env={**os.environ, "PYTHONHASHSEED": seed}, capture_output=True,
                           text=True, check=True).stdout for seed in ("1", "2", "3")]
    assert made[0] and made == [made[0]] * 3
