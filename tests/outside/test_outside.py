"""The outside checks tested on things known to be right, and on the same ones spoiled."""

import hashlib
import io
import json

import pytest

import chain
import csvcheck
from validity import refusal
from vectors import air, food, item, move, on, shop


def test_fixed_link():
    # the canonical text written out by hand
    entry = {"kind": "seen", "at": "2026-05-02T08:00:00Z", "seq": 1, "prev": chain.FIRST}
    text = "0" * 64 + "\n" + '{"at":"2026-05-02T08:00:00Z","kind":"seen","seq":1}'
    assert chain.link(entry) == hashlib.sha256(text.encode()).hexdigest()


def record():
    entries, prev = [], chain.FIRST
    for seq in range(1, 6):
        entry = {"seq": seq, "at": "2026-05-02T08:0%d:00Z" % seq, "kind": "seen", "note": "café é", "prev": prev}
        entry["hash"] = prev = chain.link(entry)
        entries.append(entry)
    return entries


def test_chain_holds_and_shows_what_was_changed():
    entries = record()
    lines = [json.dumps(e) for e in entries]
    assert chain.verify(lines) == (5, 4, [])
    assert chain.verify(lines[:2] + lines[3:]) == (4, 2, [])
    for spoil in ({"note": "other"}, {"prev": "1" * 64}, {"hash": "1" * 64}, {"value": 1.5}):
        assert chain.verify([json.dumps({**e, **(spoil if e["seq"] == 3 else {})}) for e in entries])[2]


def test_csv_adds_up():
    header = "item,minutes_this_spell,minutes_in_all,ms_this_spell,ms_in_all\n"
    good = '"tub, 1",50.00,125.01,3000000,7500001\n"tub, 1",75.01,125.01,4500001,7500001\n'
    assert csvcheck.check(io.StringIO(header + good)) == (2, 1, [])
    assert csvcheck.check(io.StringIO(header + good.replace("4500001", "4500000")))[2]
    assert csvcheck.check(io.StringIO(header + good.replace("75.01", "75.00")))[2]
    assert csvcheck.check(io.StringIO(header + "tub,50.00,50.00,3000000\n"))[2]
    assert csvcheck.check(io.StringIO(header + "tub,fifty,50.00,3000000,3000000\n"))[2]


TUB = item(on("07:00"), "tub", "fridge", "sum-2h-4h")
LAPSE = {"at": on("09:00"), "kind": "lapse", "place": "fridge"}
RESTORE = {"at": on("10:00"), "kind": "restore", "place": "fridge"}
CLOSE = {"at": on("12:00"), "kind": "close", "item": "tub", "as": "served"}
JOIN = {"at": on("09:00"), "kind": "join", "item": "cake", "from": ["tub"]}
CAKE = item(on("08:00"), "cake", "bench", "sum-2h-4h")


@pytest.mark.parametrize("lines", [
    [TUB, move(on("08:00"), "tub", "bench"), CLOSE],
    [TUB, LAPSE, RESTORE],
    [TUB, CAKE, JOIN],
    [TUB, CAKE, JOIN, {"at": on("13:00"), "kind": "correct", "entry": 8, "void": True, "reason": "wrong"}],
])
def test_accepted(lines):
    assert refusal(shop(*lines)) is None


@pytest.mark.parametrize("code, lines", [
    ("already-there", [TUB, move(on("08:00"), "tub", "fridge")]),
    ("unknown-item", [TUB, move(on("06:00"), "tub", "bench")]),
    ("unknown-item", [move(on("06:00"), "tub", "bench")]),
    ("unknown-place", [TUB, move(on("08:00"), "tub", "attic")]),
    ("unknown-rule", [item(on("07:00"), "tub", "fridge", "no-such-rule")]),
    ("no-rule", [item(on("07:00"), "tub", "fridge")]),
    ("unknown-product", [item(on("07:00"), "tub", "fridge", product="none")]),
    ("id-used", [TUB, TUB]),
    ("closed", [TUB, CLOSE, move(on("13:00"), "tub", "bench")]),
    ("closed", [TUB, CLOSE, CLOSE]),
    ("joined-to-itself", [CAKE, {**JOIN, "from": ["cake"]}]),
    ("unknown-item", [CAKE, item(on("09:30"), "tub", "fridge", "sum-2h-4h"), JOIN]),
    ("parent-closed", [TUB, CAKE, CLOSE, {**JOIN, "at": on("12:30")}]),
    ("already-lapsed", [LAPSE, {**LAPSE, "at": on("09:30")}]),
    ("no-lapse", [RESTORE]),
    ("no-control", [{**LAPSE, "place": "bench"}]),
    ("unknown-member", [{**TUB, "colour": "red"}]),
    ("item-or-place", [TUB, {**food(on("08:00"), "tub", "41.0"), "place": "fridge"}]),
    ("unknown-place", [air(on("08:00"), "attic", "20.0", "C")]),
    ("already-there", [TUB, move(on("08:00"), "tub", "bench"), move(on("09:00"), "tub", "fridge"),
                       {"at": on("10:00"), "kind": "correct", "entry": 7, "void": True, "reason": "wrong"}]),
    ("not-correctable", [TUB, {"at": on("08:00"), "kind": "correct", "entry": 6, "set": {}, "reason": "wrong"},
                         {"at": on("09:00"), "kind": "correct", "entry": 7, "void": True, "reason": "wrong"}]),
    ("count", [TUB, {**CLOSE, "count": 2}]),
    ("zone-changed", [{"at": on("08:00"), "kind": "site", "name": "Shop", "zone": "Asia/Tokyo", "units": "C"}]),
    ("place-changed", [{"at": on("08:00"), "kind": "place", "place": "bench", "name": "Bench", "control": "cold"}]),
])
def test_refused(code, lines):
    assert (refusal(shop(*lines)) or "").endswith(": " + code)
