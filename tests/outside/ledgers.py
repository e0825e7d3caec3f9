"""Random ledgers that would be accepted, and instants worth asking about."""

import json
import random
from datetime import datetime, timedelta, timezone

from reference import (BUILT_IN, HOUR, INF, MINUTE, Days, celsius, duration, instant, open_book, stamp,
                       standings_of)
from validity import refusal

DAY = 24 * HOUR
# first days worth a ledger: before changes of the clocks, and plain ones
STARTS = {
    "Europe/London": ["2026-03-28", "2026-10-24", "2026-06-01"],
    "America/New_York": ["2026-03-07", "2026-10-31", "2026-05-02"],
    "Australia/Lord_Howe": ["2026-04-04", "2026-10-03"],
    "Asia/Kathmandu": ["2026-02-27", "2026-12-31"],
    "America/Havana": ["2026-03-07", "2026-10-31"],
    "UTC": ["2026-05-02", "2028-02-28"],
}
CONTROLS = ["cold", "frozen", "none"]
USES = ["store", "work", "display", "transport", "away"]
TEMPERATURES = [("41.0", "F"), ("41.1", "F"), ("40.9", "F"), ("5.0", "C"), ("5.1", "C"), ("4.9", "C"),
                ("70.0", "F"), ("70.1", "F"), ("69.9", "F"), ("21.1", "C"), ("21.2", "C"),
                ("135.0", "F"), ("134.9", "F"), ("57.2", "C"), ("57.3", "C"),
                ("90.0", "F"), ("90.1", "F"), ("32.2", "C"), ("32.3", "C"), ("-18.0", "C"), ("3.0", "C"),
                ("75.0", "C"), ("50.0", "F")]
LIMITS = ["PT30M", "PT45M", "PT1H", "PT90M", "PT2H", "PT3H", "PT4H", "PT1H20M30S"]
CALM_LIMITS = ["PT4H", "PT5H", "PT6H", "PT8H", "PT9H30M", "PT12H", "PT24H", "PT48H"]
TIMED = ["total_out", "since_first_out", "longest_spell", "out_above"]


def _temperature(rng):
    if rng.random() < 0.15:
        return "%.1f" % rng.uniform(-5, 60), "C"
    if rng.random() < 0.25:
        return rng.choice([("41.0", "F"), ("5.0", "C"), ("4.9", "C"), ("3.5", "C")])
    return rng.choice(TEMPERATURES)


def _limit_temperature(rng):
    value, unit = rng.choice(TEMPERATURES)
    return {"value": value, "unit": unit}


def _clause(rng, measure, calm):
    clause = {"measure": measure}
    if measure in TIMED + ["spells"] and rng.random() < 0.45:
        clause["uses"] = rng.sample(USES, rng.randint(1, 3))
    if measure in TIMED + ["cooled"]:
        clause["limit"] = rng.choice(CALM_LIMITS if calm and rng.random() < 0.7 else LIMITS)
    elif measure in ("spells", "day"):
        clause["limit"] = rng.randint(2, 6) if calm else rng.randint(1, 3)
    else:
        clause["limit"] = _limit_temperature(rng)
    if measure == "out_above":
        clause["above"] = _limit_temperature(rng)
        if rng.random() < 0.6:
            clause["unread"] = rng.choice(["above", "not-above"])
    if measure == "cooled":
        clause["to"] = _limit_temperature(rng)
        if rng.random() < 0.6:
            while True:
                clause["from"] = _limit_temperature(rng)
                if celsius(**clause["from"]) > celsius(**clause["to"]):
                    break
                clause["to"] = _limit_temperature(rng)
    if rng.random() < 0.75:
        clause["at_limit"] = rng.choice(["breach", "allowed"])
    clause["verdict"] = rng.choice(["return", "use", "use", "discard", "discard", "discard", "deviation"])
    return clause


def _rule(rng, name, calm):
    rarer = [] if calm else ["food_temperature", "start_temperature"]
    measures = [rng.choice(TIMED + ["spells", "day", "cooled", "food_temperature", "start_temperature"] + rarer)
                for _ in range(rng.randint(1, 4))]
    if "start_temperature" in measures:  # which of several clocks it would go by is not said
        while measures.count("since_first_out") > 1:
            measures.remove("since_first_out")
    return {"kind": "rule", "rule": name, "name": "Shop rule " + name,
            "returns": rng.choice(["any", "until-use", "never"]),
            "clauses": [_clause(rng, m, calm) for m in measures],
            "source": {"title": "Shop's own", "edition": "1", "section": "1", "basis": "common practice"}}


class Maker:
    """Adds one line after another, each only if the whole still stands."""

    def __init__(self, seed):
        self.rng = rng = random.Random(seed)
        self.zone = rng.choice(sorted(STARTS))
        self.days = Days(self.zone)
        day = datetime.fromisoformat(rng.choice(STARTS[self.zone])).replace(tzinfo=timezone.utc)
        self.now = int(day.timestamp()) * 1000 + rng.choice([0, 6, 9, 14, 20]) * HOUR
        self.full = rng.random() < 0.5  # with seq and recorded_at
        self.pace = rng.choice([1, 1, 1, 1, 2, 6])  # slower ones run over several days
        self.calm = rng.random() < 0.6  # fewer rules, longer limits: little is over
        self.grid = rng.choice([5, 5, 15] if self.calm else [5, 15, 15, 30]) * MINUTE
        self.lines, self.ids = [], []
        self.limits = [2 * HOUR, 4 * HOUR]

    # ---- writing

    def add(self, line, at=None):
        line = {"at": self.when(self.now if at is None else at), **line}
        if self.full:
            recorded = self.now
            line["seq"] = (self.lines[-1]["seq"] if self.lines else 0) + self.rng.choice([1, 1, 1, 1, 2])
            line["recorded_at"] = stamp(recorded)
            late = recorded - instant(line["at"])
            if late > 2 * MINUTE:
                line["late_ms"] = late
            if self.rng.random() < 0.3:
                line.update(by="p-%d" % self.rng.randint(1, 4), by_how="pin", device="tablet")
        line = json.loads(json.dumps(line))
        if refusal(self.lines + [line]) is None:
            self.lines.append(line)
            return True
        return False

    def when(self, ms):
        """The same instant, written in one of several ways."""
        style = self.rng.random()
        if style < 0.6:
            return stamp(ms)
        if style < 0.7 and ms % 1000 == 0:
            return stamp(ms)[:-5] + "Z"
        if style < 0.75:
            return stamp(ms)[:-1] + "%03dZ" % self.rng.randint(0, 999)
        offset = self.rng.choice([-300, 60, 345, 630])
        sign, off = ("-" if offset < 0 else "+"), abs(offset)
        return stamp(ms + offset * MINUTE)[:-1] + "%s%02d:%02d" % (sign, off // 60, off % 60)

    # ---- time

    def step(self):
        rng = self.rng
        how = rng.random()
        if how < 0.22:
            return
        if how < 0.42:
            since = rng.choice(self.lines)
            ahead = instant(since["at"]) + rng.choice(self.limits)
            if self.now < ahead < self.now + self.pace * 3 * HOUR:
                self.now = ahead
                return
        if how < 0.47:
            midnight = self.days.start(self.days.date(self.now) + timedelta(days=1))
            if midnight < self.now + self.pace * 4 * HOUR:
                self.now = midnight + rng.choice([-1, 0, 0, 1])
                return
        if how < 0.55:
            self.now += rng.randint(1, 90 * MINUTE)
            return
        steps = rng.choice([1, 1, 1, 2, 3, 4]) * self.pace
        self.now = (self.now // self.grid + steps) * self.grid

    def past(self):
        """Mostly now; sometimes an earlier instant, often one at which something happened."""
        rng, how = self.rng, self.rng.random()
        if how < 0.75:
            return self.now
        if how < 0.9:
            return min(self.now, instant(rng.choice(self.lines[-12:])["at"]) + rng.choice([0, 0, 0, 1, self.grid]))
        return self.now - rng.choice([1, 2, 4, 8]) * self.grid

    # ---- what may happen

    def some(self, kind, member):
        found = sorted(set(e[member] for e in self.lines if e["kind"] == kind))
        return self.rng.choice(found) if found else None

    def place(self):
        return self.some("place", "place")

    def place_to_go(self):
        """In a calm shop food mostly goes back into the cold."""
        cold = sorted(set(e["place"] for e in self.lines if e["kind"] == "place" and e["control"] != "none"))
        return self.rng.choice(cold) if self.calm and self.rng.random() < 0.5 else self.place()

    def item(self):
        return self.rng.choice(self.ids[-8:]) if self.ids else None

    def others(self, item, most):
        pool = [i for i in self.ids if i != item]
        return self.rng.sample(pool, min(len(pool), self.rng.randint(1, most)))

    def do_item(self):
        rng = self.rng
        line = {"kind": "item", "item": "i%d" % (len(self.ids) + 1), "name": "Tub", "place": self.place_to_go()}
        if rng.random() < 0.6:
            line["product"] = self.some("product", "product")
        if "product" not in line or rng.random() < (0.1 if self.calm else 0.4):
            names = self.rule_names()
            line["rules"] = sorted(dict.fromkeys(rng.choices(names, k=rng.randint(1, 2 if self.calm else 4))), key=lambda _: rng.random())
        if self.ids and rng.random() < 0.5:
            line["from"] = self.others(None, 3)
        if rng.random() < 0.3:
            line["count"] = rng.randint(2, 12)
        if self.add(line, self.past()):
            self.ids.append(line["item"])

    def do_move(self):
        self.add({"kind": "move", "item": self.item(), "place": self.place_to_go()}, self.past())

    def do_late_return(self):
        """A marked item's way back into the cold, or out a little later, entered late: its time may move later."""
        rng = self.rng
        marked = self.some("mark", "item")
        if marked is None or rng.random() < 0.7:
            marked = rng.choice(self.ids[-3:])
            was, self.now = self.now, self.now - rng.choice([0, 0, 1, 2]) * self.grid
            if self.full and instant(self.lines[-1]["recorded_at"]) > self.now:
                self.now = was
            self.mark(marked)
            self.now = was + rng.choice([0, 1, 2]) * self.grid
        stays = [n for n, e in enumerate(self.lines) if e["kind"] in ("item", "move") and e["item"] == marked]
        last = self.lines[stays[-1]]
        between = rng.randint(min(instant(last["at"]) + 1, self.now), self.now)
        if rng.random() < 0.7:
            cold = rng.choice([e["place"] for e in self.lines if e["kind"] == "place" and e["control"] != "none"])
            self.add({"kind": "move", "item": marked, "place": cold}, rng.choice([between, self.now - self.grid]))
        else:
            self.add({"kind": "correct", "entry": last.get("seq", stays[-1] + 1), "reason": "it was later",
                      "set": {"at": stamp(between)}})

    def do_moves_at_once(self):
        item, at = self.item(), self.past()
        for _ in range(self.rng.randint(2, 3)):
            self.add({"kind": "move", "item": item, "place": self.place()}, at)

    def do_join(self):
        item = self.item()
        self.add({"kind": "join", "item": item, "from": self.others(item, 2)}, self.past())

    def do_food(self):
        value, unit = _temperature(self.rng)
        line = {"kind": "reading", "item": self.item(), "value": value, "unit": unit}
        if self.rng.random() < 0.2:
            line["value"] = float(value)
        if self.rng.random() < 0.2:
            line["probe"] = "p1"
        self.add(line, self.past())

    def do_rack(self):
        value, unit = _temperature(self.rng)
        at, probed = self.past(), self.item()
        for item in [probed] + self.others(probed, 3):
            self.add({"kind": "reading", "item": item, "probed": probed, "value": value, "unit": unit}, at)

    def do_air(self):
        value, unit = _temperature(self.rng)
        self.add({"kind": "reading", "place": self.place(), "value": value, "unit": unit}, self.past())

    def do_lapse(self):
        line, at = {"kind": "lapse", "place": self.place()}, self.past()
        if self.rng.random() < 0.4:
            at = self.now - self.rng.randint(1, 8) * self.grid
            line["until"] = stamp(self.rng.choice([self.now, at + self.grid]))
        self.add(line, at)

    def do_restore(self):
        self.add({"kind": "restore", "place": self.some("lapse", "place") or self.place()}, self.past())

    def do_mark(self):
        self.mark(self.item())

    def mark(self, item):
        rng = self.rng
        discard_by = open_book(self.lines).discard_by_at(item, self.now)
        ms = discard_by if discard_by and discard_by < INF else self.now + rng.choice(self.limits)
        ms += rng.choice([0, 0, 0, -1, 1, -self.grid, self.grid])
        copy = 1 + sum(1 for e in self.lines if e["kind"] == "mark" and e["item"] == item)
        self.add({"kind": "mark", "item": item, "discard_by": stamp(ms),
                  "how": rng.choice(["written", "printed"]), "copy": copy}, self.past())

    def do_seen(self):
        self.add({"kind": "seen", "item": self.item(), "place": self.place()}, self.past())

    def do_close(self):
        line = {"kind": "close", "item": self.item(),
                "as": self.rng.choice(["served", "sold", "used", "handed-over", "discarded", "lost"])}
        if self.rng.random() < 0.5:
            line["count"] = self.rng.randint(1, 3)
        self.add(line, self.past())

    def do_correct(self):
        rng = self.rng
        pool = [n for n, e in enumerate(self.lines) if e["kind"] in
                ("item", "move", "join", "reading", "lapse", "restore", "mark", "close", "seen")]
        corrected = [e["entry"] for e in self.lines if e["kind"] == "correct"]
        if not pool:
            return
        n = rng.choice(pool[-15:])
        target = self.lines[n]
        line = {"kind": "correct", "entry": target.get("seq", n + 1), "reason": "typed wrong"}
        if corrected and rng.random() < 0.2:
            line["entry"] = rng.choice(corrected)
            line["set"] = {}
        elif rng.random() < 0.3:
            line["void"] = True
        else:
            line["set"] = change = {}
            if rng.random() < 0.6:
                change["at"] = stamp(rng.choice([self.past(), instant(target["at"]) - self.grid,
                                                 instant(target["at"]) + self.grid,
                                                 instant(rng.choice(self.lines)["at"])]))
            if "place" in target and rng.random() < 0.5:
                change["place"] = self.place()
            if target["kind"] == "reading":
                change["value"], change["unit"] = _temperature(rng)
                if "item" in target and rng.random() < 0.2:
                    change["probed"] = rng.choice([None, self.item()])
            if target["kind"] == "lapse" and rng.random() < 0.5:
                change["until"] = rng.choice([None, stamp(self.now)])
            if target["kind"] == "mark":
                change["discard_by"] = stamp(instant(target["discard_by"]) + rng.choice([-self.grid, self.grid]))
            if target["kind"] == "item" and rng.random() < 0.3:
                change["rules"] = rng.choices(self.rule_names(), k=1)
            if target["kind"] in ("join", "item") and "from" in target and rng.random() < 0.5:
                change["from"] = self.others(target["item"], 2)
        self.add(line)

    def do_config(self):
        rng, how = self.rng, self.rng.random()
        at = self.now + rng.choice([0, 0, -DAY])
        if how < 0.3:
            self.add(self.new_product(self.some("product", "product")), at)
        elif how < 0.6:
            self.add(self.new_place(), at)
        elif how < 0.8:
            self.add(self.new_rule(), at)
        elif how < 0.85:
            same = rng.choice([e for e in self.lines if e["kind"] == "place"])
            self.add({**{k: same[k] for k in ("kind", "place", "control", "use") if k in same}, "name": "Renamed"}, at)
        elif how < 0.92:
            self.add({"kind": "site", "name": "Another name", "zone": self.zone, "units": "F"}, at)
        else:
            name = rng.choice(sorted(BUILT_IN))
            self.add({"kind": "rule", "rule": name, "name": name, **BUILT_IN[name],
                      "source": {"title": "The rule book", "basis": "published"}}, at)

    def do_other(self):
        self.add(self.rng.choice([
            {"kind": "review", "from": stamp(self.now - DAY), "to": stamp(self.now)},
            {"kind": "approve", "what": self.some("rule", "rule") or "keep-7d", "reference": "letter 7"},
            {"kind": "decide", "about": self.place(), "action": "acknowledge", "reason": "seen"}]))

    # ---- the shop

    def new_place(self):
        count = sum(1 for e in self.lines if e["kind"] == "place")
        control = ["cold", "none"][count] if count < 2 else self.rng.choice(CONTROLS + ["none"])
        line = {"kind": "place", "place": "p%d" % (count + 1), "name": "Place %d" % (count + 1), "control": control}
        if self.rng.random() < 0.7:
            line["use"] = self.rng.choice(USES)
        return line

    def rule_names(self):
        return sorted(BUILT_IN) + [e["rule"] for e in self.lines if e["kind"] == "rule"] * 4

    def new_rule(self):
        line = _rule(self.rng, "shop-%d" % (1 + sum(1 for e in self.lines if e["kind"] == "rule")), self.calm)
        self.limits += [duration(c["limit"]) for c in line["clauses"] if isinstance(c["limit"], str)]
        return line

    def new_product(self, name=None):
        rng = self.rng
        names = self.rule_names()
        line = {"kind": "product", "name": "Sponge",
                "product": name or "pr%d" % (1 + sum(1 for e in self.lines if e["kind"] == "product")),
                "rules": list(dict.fromkeys(rng.choices(names, k=rng.randint(1, 2 if self.calm else 3))))}
        if rng.random() < 0.6:
            line["chill_ms"] = rng.choice([10, 15, 30, 60]) * MINUTE
        if rng.random() < 0.2:
            line["soft_ms"], line["firm_ms"] = 20 * MINUTE, 40 * MINUTE
        if rng.random() < 0.08:
            line["rules"] = []
            line["exempt"] = {"reason": "shelf-stable", "evidence": "test 12"}
        return line

    def make(self):
        rng = self.rng
        self.add({"kind": "site", "name": "The shop", "zone": self.zone, "units": rng.choice("CF")}, self.now - DAY)
        for _ in range(rng.randint(3, 8)):
            self.add(self.new_place(), self.now - DAY)
        for _ in range(rng.randint(0, 4)):
            self.add(self.new_rule(), self.now - DAY)
        for _ in range(rng.randint(1, 4)):
            self.add(self.new_product(), self.now - DAY)
        most = rng.choice([1, 2, 3, 5, 8, 15, 15])
        weights = {"item": 13, "move": 30, "moves_at_once": 3, "join": 7, "food": 10, "rack": 2, "air": 8, "lapse": 5,
                   "restore": 5, "mark": 5, "seen": 1, "close": 3, "correct": 6, "late_return": 5, "config": 2, "other": 1}
        self.do_item()
        for _ in range(rng.randint(10, 160)):
            self.step()
            kind = rng.choices(list(weights), list(weights.values()))[0]
            if kind == "item" and len(self.ids) >= most:
                kind = "move"
            if self.ids or kind in ("item", "config"):
                getattr(self, "do_" + kind)()
            else:
                self.do_item()
        return self.lines


def random_ledger(seed):
    return Maker("%s" % seed).make()


def instants(book, seed, n):
    """n instants: of events and of reaches, a millisecond to either side, midnights, and any."""
    rng = random.Random("instants %s" % seed)
    events = sorted(set(e.at for e in book.happened))
    if not events:
        return [book.lines[0].at]
    first, last = events[0], events[-1]
    reaches = []
    for t in rng.sample(events, min(3, len(events))) + [last]:
        for s in standings_of(book, stamp(t)):
            wanted = [s["discard_by"], s["return_by"], s["next"] and s["next"]["at"]]
            wanted += [r["reached_at"] for r in s["reasons"]]
            reaches += [instant(w) for w in wanted if w]
            if s["left_ms"]:
                reaches.append(t + s["left_ms"])
    reaches = [r for r in reaches if first - HOUR <= r <= last + 8 * DAY] or events
    found = []
    while len(found) < n:
        how = rng.random()
        if how < 0.5:
            t = rng.choice(events) + rng.choice([-1, 0, 0, 0, 1])
        elif how < 0.75:
            t = rng.choice(reaches) + rng.choice([-1, 0, 0, 1])
        elif how < 0.8:
            t = book.days.start(book.days.date(rng.choice(events)) + timedelta(days=1)) + rng.choice([-1, 0])
        elif how < 0.97:
            t = rng.randint(first, last + 6 * HOUR)
        else:
            t = rng.randint(last, last + 3 * DAY)
        found.append(t)
    return found
