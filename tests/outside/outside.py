"""Checks the program against general-purpose libraries: spells against portion, local days against zoneinfo.

    outside.py            the plain reading instead of the program
    outside.py BINARY     [--seed S] [--days 300]

Guards against S-01 of SAFETY.md.
"""

import argparse
import random
import sys
from datetime import datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import portion

from compare import run, written
from reference import stamp, standings
from vectors import item, move, own_rule, shop

MINUTE, HOUR, DAY = 60_000, 3_600_000, 86_400_000
MIDNIGHT = 1_777_680_000_000  # 2026-05-02T00:00:00Z
EPOCH = datetime(1970, 1, 1, tzinfo=timezone.utc)
ZONES = ["Europe/London", "America/New_York", "Australia/Lord_Howe", "America/Havana", "Asia/Kathmandu", "UTC",
         "Pacific/Auckland"]


def length(spans):
    return sum(s.upper - s.lower for s in spans) if not spans.empty else 0


def days_against_portion(answer, rng, days):
    """One item's random day: out by its place or by the fridge's failing."""
    wrong = []
    for n in range(days):
        ends = MIDNIGHT + DAY
        instants = sorted(MIDNIGHT + rng.choice([rng.randrange(DAY), rng.randrange(96) * 15 * MINUTE])
                          for _ in range(rng.randint(1, 12)))
        lines, where, begun = [], None, instants[0]
        stays = []
        for t in instants:
            place = rng.choice([p for p in ("fridge", "bench", "case") if p != where])
            lines.append(item(stamp(t), "tub", place, "house-2h-4h") if where is None else move(stamp(t), "tub", place))
            stays.append((t, place))
            where = place
        lapses, t = portion.empty(), MIDNIGHT
        while rng.random() < 0.6 and t < ends - 2 * HOUR:
            start = t + rng.randrange(8) * 15 * MINUTE
            t = start + rng.randint(1, 16) * 15 * MINUTE
            lines += [{"at": stamp(start), "kind": "lapse", "place": "fridge"},
                      {"at": stamp(t), "kind": "restore", "place": "fridge"}]
            lapses |= portion.closedopen(start, t)
        out = portion.empty()
        for k, (start, place) in enumerate(stays):
            stay = portion.closedopen(start, stays[k + 1][0] if k + 1 < len(stays) else ends)
            out |= stay & lapses if place == "fridge" else stay
        as_of = rng.choice([rng.randint(begun, ends - 1), rng.choice(instants), ends - 1])
        past = out & portion.closedopen(begun, as_of)
        begun_spells = [s for s in out if not out.empty and s.lower <= as_of]
        present = [s for s in begun_spells if as_of in s]
        expected = {
            "state": "out" if as_of in out else "cold",
            "total_out_ms": length(past),
            "spells": len(begun_spells),
            "spell_ms": as_of - present[0].lower if present else 0,
            "first_out_at": stamp(begun_spells[0].lower) if begun_spells else None,
        }
        found = answer(shop(*lines), stamp(as_of))[0]
        wrong += ["day %d at %s: %s expected %s, found %s\n%s"
                  % (n, stamp(as_of), k, v, found[k], written(lines)) for k, v in expected.items() if found[k] != v]
    return wrong


def changes(zone, year=2026):
    """The instants in a year at which the zone's offset changes, to the minute; two plain ones if it has none."""
    start = datetime(year, 1, 1, tzinfo=timezone.utc)
    found, offset = [], start.astimezone(zone).utcoffset()
    for hour in range(366 * 24):
        t = start + timedelta(hours=hour)
        if t.astimezone(zone).utcoffset() != offset:
            offset = t.astimezone(zone).utcoffset()
            found.append(t)
    return found or [start + timedelta(days=90), start + timedelta(days=300)]


def ms(moment):
    return (moment - EPOCH) // timedelta(milliseconds=1)


def local_date(t, zone):
    return (EPOCH + timedelta(milliseconds=t)).astimezone(zone).date()


def days_against_zoneinfo(answer, rng):
    """Counted days, last date and discarding midnight over both changes of the clocks, with frozen stretches."""
    wrong, looked_at = [], 0
    counting = own_rule("count-days", "any", {"measure": "day", "limit": 1, "verdict": "deviation"})
    for name in ZONES:
        zone = ZoneInfo(name)
        for change in changes(zone):
            for frozen_between in (False, True):
                day = (change - timedelta(days=rng.randint(2, 4))).astimezone(zone).date()
                midnight = ms(datetime(day.year, day.month, day.day, tzinfo=zone).astimezone(timezone.utc))
                begun = midnight + rng.choice([0, 12 * HOUR, DAY // 2 + 11 * HOUR + 59 * MINUTE + 59_999])
                lines = [item(stamp(begun), "tub", "fridge", "keep-7d", "count-days")]
                frozen = portion.empty()
                if frozen_between:
                    stop = begun + rng.randint(1, 60) * HOUR
                    thaw = stop + rng.randint(1, 90) * HOUR
                    frozen = portion.closedopen(stop, thaw)
                    lines += [move(stamp(stop), "tub", "freezer"), move(stamp(thaw), "tub", "fridge")]
                ledger = shop(counting, *lines, zone=name)
                for _ in range(12):
                    as_of = begun + rng.choice([rng.randrange(7 * DAY), rng.randrange(7 * 24) * HOUR])
                    dates = {local_date(begun, zone)}
                    for t in list(range(begun, as_of, 30 * MINUTE)) + [as_of]:
                        if t not in frozen:
                            dates.add(local_date(t, zone))
                    today, count, use_by, discard_by = local_date(as_of, zone), len(dates), None, None
                    if as_of not in frozen:
                        last = sorted(dates)[6] if count >= 7 else today + timedelta(days=7 - count)
                        if count <= 7:
                            use_by = last
                            after = last + timedelta(days=1)
                            discard_by = ms(datetime(after.year, after.month, after.day, tzinfo=zone)
                                            .astimezone(timezone.utc))
                    if count > 7:
                        continue
                    found = answer(ledger, stamp(as_of))[0]
                    counted = [r["used"] for r in found["reasons"] if r["rule"] == "count-days"]
                    if as_of not in frozen:
                        use_by_one = sorted(dates)[1] - timedelta(days=1) if count > 1 else today
                        use_by = min(use_by, use_by_one)
                    expected = [([count] if count > 1 else [], counted, "days"),
                                (use_by and use_by.isoformat(), found["use_by"], "use_by"),
                                (stamp(discard_by), found["discard_by"], "discard_by")]
                    looked_at += 1
                    wrong += ["%s at %s: %s expected %s, found %s\n%s"
                              % (name, stamp(as_of), what, want, got, written(lines))
                              for want, got, what in expected if want != got]
    return wrong, looked_at


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("binary", nargs="?")
    asked.add_argument("--seed", default=None)
    asked.add_argument("--days", type=int, default=300)
    asked = asked.parse_args()
    seed = asked.seed if asked.seed is not None else str(random.SystemRandom().randrange(10 ** 9))
    print("seed %s" % seed)

    def answer(ledger, as_of):
        if not asked.binary:
            return standings(ledger, as_of)
        found, trouble = run(asked.binary, written(ledger), as_of)
        if found is None:
            sys.exit("%s\n%s" % (trouble, written(ledger)))
        return found

    wrong = days_against_portion(answer, random.Random(seed), asked.days)
    print("\n".join(wrong[:5] + ["%d days against portion, %d differences" % (asked.days, len(wrong))]))
    wrong_days, looked_at = days_against_zoneinfo(answer, random.Random(seed))
    print("\n".join(wrong_days[:5] + ["%d instants of local days against zoneinfo, %d differences"
                                      % (looked_at, len(wrong_days))]))
    return 1 if wrong or wrong_days or looked_at == 0 else 0


if __name__ == "__main__":
    sys.exit(main())
