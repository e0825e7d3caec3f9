"""A second, plain reading of the measures and standings: entries in, standings out."""

import re
from datetime import date, datetime, timedelta, timezone
from fractions import Fraction
from functools import lru_cache
from zoneinfo import ZoneInfo

INF = 1 << 62
MINUTE = 60_000
HOUR = 60 * MINUTE
AIR_HOLDS = 4 * HOUR
START_WINDOW = 60 * MINUTE
LATE = 2 * MINUTE
RANK = {"within": 0, "return": 1, "use": 2, "discard": 3}
TIMES = ("total_out", "since_first_out", "longest_spell", "out_above", "cooled")
CONFIG = ("site", "place", "rule", "product")
SERVING = ("served", "sold", "handed-over", "used")
FRESH = "*"  # the place of "if it were taken out now": in every use, its air above nothing


# ---------------------------------------------------------------- the built-in rules

def _f(value):
    return {"value": value, "unit": "F"}


_START_41 = {"measure": "start_temperature", "limit": _f("41.0"), "at_limit": "allowed", "verdict": "deviation"}

BUILT_IN = {
    "house-2h-4h": {"returns": "any", "clauses": [
        {"measure": "total_out", "limit": "PT2H", "at_limit": "breach", "verdict": "return"},
        {"measure": "total_out", "limit": "PT4H", "at_limit": "breach", "verdict": "discard"}]},
    "sum-2h-4h": {"returns": "until-use", "clauses": [
        {"measure": "total_out", "limit": "PT2H", "at_limit": "breach", "verdict": "use"},
        {"measure": "total_out", "limit": "PT4H", "at_limit": "breach", "verdict": "discard"}]},
    "us-time-4h": {"returns": "never", "clauses": [
        {"measure": "since_first_out", "limit": "PT4H", "at_limit": "allowed", "verdict": "discard"},
        _START_41]},
    "us-prep-then-4h": {"returns": "never", "clauses": [
        {"measure": "since_first_out", "uses": ["display", "transport", "away"],
         "limit": "PT4H", "at_limit": "allowed", "verdict": "discard"},
        {"measure": "total_out", "limit": "PT4H", "at_limit": "allowed", "verdict": "discard"},
        _START_41]},
    "us-time-6h": {"returns": "never", "clauses": [
        {"measure": "since_first_out", "limit": "PT6H", "at_limit": "allowed", "verdict": "discard"},
        {"measure": "food_temperature", "limit": _f("70.0"), "at_limit": "allowed", "verdict": "discard"},
        _START_41]},
    "us-cooling": {"returns": "any", "clauses": [
        {"measure": "cooled", "from": _f("135.0"), "to": _f("70.0"), "limit": "PT2H",
         "at_limit": "allowed", "verdict": "discard"},
        {"measure": "cooled", "from": _f("135.0"), "to": _f("41.0"), "limit": "PT6H",
         "at_limit": "allowed", "verdict": "discard"},
        {"measure": "cooled", "to": _f("41.0"), "limit": "PT4H", "at_limit": "allowed", "verdict": "deviation"}]},
    "uk-display-4h": {"returns": "until-use", "clauses": [
        {"measure": "longest_spell", "uses": ["display"], "limit": "PT4H", "at_limit": "breach", "verdict": "discard"},
        {"measure": "spells", "uses": ["display"], "limit": 1, "verdict": "discard"}]},
    "two-hour": {"returns": "any", "clauses": [
        {"measure": "total_out", "limit": "PT2H", "at_limit": "breach", "verdict": "discard"},
        {"measure": "out_above", "above": _f("90.0"), "limit": "PT1H", "at_limit": "breach",
         "unread": "not-above", "verdict": "discard"}]},
    "banded-70f": {"returns": "any", "clauses": [
        {"measure": "total_out", "limit": "PT4H", "at_limit": "allowed", "verdict": "discard"},
        {"measure": "out_above", "above": _f("70.0"), "limit": "PT2H", "at_limit": "allowed", "verdict": "discard"}]},
    "keep-7d": {"returns": "any", "clauses": [
        {"measure": "day", "limit": 7, "verdict": "discard"}]},
}


# ---------------------------------------------------------------- small values

_STAMP = re.compile(r"(\d{4})-(\d\d)-(\d\d)[Tt](\d\d):(\d\d):(\d\d)(?:\.(\d+))?(?:([Zz])|([+-])(\d\d):(\d\d))$")
_EPOCH = datetime(1970, 1, 1, tzinfo=timezone.utc)


@lru_cache(maxsize=100_000)
def instant(text):
    """Milliseconds since 1970 in UTC; anything finer is cut."""
    year, month, day, hour, minute, second, fraction, zulu, sign, off_h, off_m = _STAMP.match(text).groups()
    moment = datetime(int(year), int(month), int(day), int(hour), int(minute), int(second), tzinfo=timezone.utc)
    offset = 0 if zulu else (int(off_h) * 60 + int(off_m)) * (1 if sign == "+" else -1)
    return (moment - _EPOCH) // timedelta(seconds=1) * 1000 + int(((fraction or "") + "000")[:3]) - offset * MINUTE


def stamp(ms):
    if ms is None:
        return None
    moment = _EPOCH + timedelta(milliseconds=ms)
    return moment.strftime("%Y-%m-%dT%H:%M:%S.") + "%03dZ" % (ms % 1000)


def duration(text):
    hours, minutes, seconds = re.fullmatch(r"PT(?:(\d+)H)?(?:(\d+)M)?(?:(\d+)S)?", text).groups()
    return int(hours or 0) * HOUR + int(minutes or 0) * MINUTE + int(seconds or 0) * 1000


@lru_cache(maxsize=10_000)
def celsius(value, unit):
    """The exact temperature, as a fraction of a degree Celsius."""
    exact = Fraction(str(value))
    return exact if unit == "C" else (exact - 32) * 5 / 9


FIVE = celsius("5.0", "C")


def merge(spans):
    """Half-open spans made maximal: touching ones are one, empty ones vanish."""
    merged = []
    for a, b in sorted(s for s in spans if s[0] < s[1]):
        if merged and a <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(b, merged[-1][1]))
        else:
            merged.append((a, b))
    return merged


def overlap(spans, lo, hi):
    return sum(max(0, min(b, hi) - max(a, lo)) for a, b in spans)


# ---------------------------------------------------------------- the ledger after corrections

class Entry:
    def __init__(self, raw, seq):
        self.raw, self.seq, self.kind = raw, seq, raw["kind"]
        self.at = instant(raw["at"])
        self.recorded = instant(raw["recorded_at"]) if raw.get("recorded_at") else None

    def get(self, name, default=None):
        return self.raw.get(name, default)

    @property
    def order(self):
        return (self.at, self.seq)


class Clause:
    def __init__(self, rule_id, returns, raw):
        self.rule, self.returns, self.raw = rule_id, returns, raw
        self.measure, self.verdict = raw["measure"], raw["verdict"]
        self.uses = tuple(sorted(raw["uses"])) if raw.get("uses") else None
        self.strict = raw.get("at_limit", "breach") == "breach"
        limit = raw["limit"]
        self.limit = (duration(limit) if self.measure in TIMES
                      else int(limit) if self.measure in ("spells", "day")
                      else celsius(limit["value"], limit["unit"]))
        self.start = celsius(**raw["from"]) if raw.get("from") else None
        self.end = celsius(**raw["to"]) if raw.get("to") else None
        self.above = celsius(**raw["above"]) if raw.get("above") else None
        self.unread_is_above = raw.get("unread") != "not-above"

    def over(self, value):
        return value > self.limit or (self.strict and value == self.limit)


class Book:
    """The lines known, with the latest correction of each entry applied to the original."""

    def __init__(self, entries, zone=None):
        self.lines = sorted(entries, key=lambda e: e.seq)
        self.zone_wanted = zone
        corrections = {}
        for e in self.lines:
            if e.kind == "correct":
                corrections[e.get("entry")] = e
        self.entries = []
        for e in self.lines:
            fix = corrections.get(e.seq)
            if fix is None:
                self.entries.append(e)
            elif not fix.get("void"):
                raw = {**e.raw, **fix.get("set", {})}
                self.entries.append(Entry({k: v for k, v in raw.items() if v is not None}, e.seq))
        self.happened = sorted((e for e in self.entries if e.kind not in CONFIG and e.kind != "correct"),
                               key=lambda e: e.order)
        sites = [e for e in self.entries if e.kind == "site"]
        self.zone = zone or (sites[0].get("zone") if sites else None) or "UTC"
        self.days = Days(self.zone)
        self.places = {}
        for e in self.entries:
            if e.kind == "place" and e.get("place") not in self.places:
                control = e.get("control")
                use = e.get("use") or ("work" if control == "none" else "store")
                self.places[e.get("place")] = (control, use)
        self.rules = {name: [Clause(name, rule["returns"], c) for c in rule["clauses"]]
                      for name, rule in BUILT_IN.items()}
        for e in self.entries:
            if e.kind == "rule":
                self.rules[e.get("rule")] = [Clause(e.get("rule"), e.get("returns"), c) for c in e.get("clauses")]
        self._worlds, self._prefixes, self._entered_late = {}, {}, {}

    def product(self, name, seq):
        """The product as it was when the entry of that seq was made."""
        found = None
        for e in self.entries:
            if e.kind == "product" and e.get("product") == name and e.seq < seq:
                found = e
        return found

    def world(self, as_of, upto=INF):
        if (as_of, upto) not in self._worlds:
            self._worlds[as_of, upto] = World(self, as_of, upto)
        return self._worlds[as_of, upto]

    def world_of(self, item, as_of):
        """The world an item's standing is taken in: of its closing, if it has closed. None before it began."""
        world = self.world(as_of)
        if item not in world.items:
            return None
        close = world.closed.get(item)
        return self.world(close.at, close.seq) if close else world

    def prefix(self, seq):
        if seq not in self._prefixes:
            self._prefixes[seq] = Book([e for e in self.lines if e.seq <= seq], self.zone_wanted)
        return self._prefixes[seq]

    def discard_by_at(self, item, as_of):
        world = self.world_of(item, as_of)
        return world and (world.discard_by(item, world.as_of, INF)[0] or INF)

    def entered_late(self, item):
        """What was entered late, and moved discard_by later than the last mark: (instant, entry)."""
        if item not in self._entered_late:
            found, marked = [], False
            for e in self.lines:
                entered = e.recorded
                if e.kind == "correct":
                    entered = e.at if entered is None else entered
                late = e.kind == "correct" or (entered is not None and entered - e.at > LATE)
                if marked and late:
                    after, before = self.prefix(e.seq), self.prefix(e.seq - 1)
                    marks = [m for m in after.entries
                             if m.kind == "mark" and m.get("item") == item and m.seq < e.seq]
                    now = marks and after.discard_by_at(item, entered)
                    if now and now > instant(max(marks, key=lambda m: m.order).get("discard_by")):
                        then = before.discard_by_at(item, entered)
                        if then and now > then:
                            found.append((entered, e))
                marked = marked or (e.kind == "mark" and e.get("item") == item)
            self._entered_late[item] = found
        return self._entered_late[item]


class Days:
    """Local dates of a zone."""

    def __init__(self, name):
        self.zone, self._starts = ZoneInfo(name), {}

    def date(self, ms):
        return (_EPOCH + timedelta(milliseconds=ms)).astimezone(self.zone).date()

    def start(self, day):
        """The first instant whose local date is `day` or later."""
        if day not in self._starts:
            noon = int((datetime(day.year, day.month, day.day, tzinfo=timezone.utc) - _EPOCH).total_seconds()) * 1000
            lo, hi = noon - 36 * HOUR, noon + 36 * HOUR
            while hi - lo > 1:
                mid = (lo + hi) // 2
                if self.date(mid) >= day:
                    hi = mid
                else:
                    lo = mid
            self._starts[day] = hi
        return self._starts[day]


# ---------------------------------------------------------------- one instant's view of it all

class Item:
    pass


def cached(method):
    name = method.__name__

    def wrapped(self, *key):
        store = self._cache.setdefault(name, {})
        if key not in store:
            store[key] = method(self, *key)
        return store[key]
    return wrapped


class World:
    """All that happened up to an instant (and, at it, up to a seq). `taken_out`: an item moved out then."""

    def __init__(self, book, as_of, upto=INF, taken_out=None):
        self.book, self.as_of, self.upto, self.taken_out = book, as_of, upto, taken_out
        self.asked = as_of
        self._cache = {}
        self.items, self.closed = {}, {}
        self.air, self.lapses = {}, {}
        waiting = {}
        for e in book.happened:
            if e.order > (as_of, upto):
                break
            if e.kind == "item":
                self._begin(e)
            elif e.kind == "join":
                self.items[e.get("item")].joins.append((e.at, e.seq, tuple(e.get("from"))))
            elif e.kind == "move":
                self.items[e.get("item")].moves.append((e.at, e.get("place")))
            elif e.kind == "reading":
                reading = (e.at, celsius(e.get("value"), e.get("unit")), "%.1f" % float(e.get("value")), e.seq)
                if e.get("item") is not None:
                    self.items[e.get("item")].food.append(reading)
                else:
                    self.air.setdefault(e.get("place"), []).append(reading)
            elif e.kind == "lapse":
                until = instant(e.get("until")) if e.get("until") else INF
                span = [e.at, until if until <= as_of else INF]
                self.lapses.setdefault(e.get("place"), []).append(span)
                if not e.get("until"):
                    waiting[e.get("place")] = span
            elif e.kind == "restore":
                waiting[e.get("place")][1] = e.at
            elif e.kind == "mark":
                self.items[e.get("item")].marks.append(e)
            elif e.kind == "close":
                item = self.items[e.get("item")]
                item.closes.append(e)
                if e.get("count") is not None and e.get("count") < item.left:
                    item.left -= e.get("count")
                else:
                    self.closed[e.get("item")] = e

    def _begin(self, e):
        item = Item()
        item.begin, item.seq = e.at, e.seq
        item.parents = tuple(e.get("from") or ())
        item.moves = [(e.at, e.get("place"))]
        item.joins = [(e.at, e.seq, item.parents)] if item.parents else []
        item.food, item.marks, item.closes = [], [], []
        item.left = e.get("count", 1)
        product = self.book.product(e.get("product"), e.seq) if e.get("product") else None
        names = list(product.get("rules") or []) if product else []
        names += [r for r in e.get("rules") or [] if r not in names]
        item.rules = names
        item.clauses = [c for name in names for c in self.book.rules[name]]
        item.chill = (product.get("chill_ms") or 0) if product else 0
        self.items[e.get("item")] = item

    # ------------------------------------------------ where it is, and when it counts as out

    def joins(self, i, t, s):
        return [j for j in self.items[i].joins if (j[0], j[1]) < (t, s)]

    @cached
    def segments(self, i):
        """(from, to, place): of several moves at one instant the last says where it is."""
        moves = dict(self.items[i].moves)
        if self.taken_out == i:
            moves[self.as_of] = FRESH
        steps = sorted(moves.items())
        ends = [at for at, _ in steps[1:]] + [INF]
        return [(at, end, place) for (at, place), end in zip(steps, ends)]

    def place_at(self, i, t):
        return next(p for a, b, p in self.segments(i) if a <= t < b)

    def control(self, place):
        return "none" if place == FRESH else self.book.places[place][0]

    @cached
    def real_pieces(self, i):
        """(from, to, place) while really out of temperature control."""
        pieces = []
        for a, b, place in self.segments(i):
            if self.control(place) == "none":
                pieces.append((a, b, place))
            else:
                pieces += [(max(a, la), min(b, lb), place) for la, lb in merge(map(tuple, self.lapses.get(place, [])))
                           if max(a, la) < min(b, lb)]
        return pieces

    @cached
    def real(self, i):
        return merge((a, b) for a, b, _ in self.real_pieces(i))

    def really_out(self, i, t):
        return any(a <= t < b for a, b in self.real(i))

    @cached
    def pieces(self, i):
        """(from, to, places) while it counts as out: really out, or still chilling."""
        item, real = self.items[i], self.real(i)
        pieces = [(a, b, (place,)) for a, b, place in self.real_pieces(i)]
        if not item.chill:
            return pieces
        coming_in = [(b, tuple(p for _, end, p in self.real_pieces(i) if end == b)) for _, b in real if b < INF]
        if item.parents and not self.really_out(i, item.begin):
            warm = [place for p in item.parents for place in self.places_when_out(p, item.begin)]
            if warm:
                coming_in.append((item.begin, tuple(warm)))
        for t, places in coming_in:
            ends = [t + item.chill]
            ends += [at for at, value, _, _ in item.food if at >= t and value <= FIVE]
            ends += [a for a, _ in real if a >= t]
            if min(ends) > t:
                pieces.append((t, min(ends), places))
        return sorted(pieces)

    def places_when_out(self, p, t):
        """Where a parent counts as being, if out at t or in a stretch that ended at t."""
        now = [places for a, b, places in self.pieces(p) if a <= t < b]
        ended = [places for a, b, places in self.pieces(p) if b == t]
        return (now or ended or [()])[0]

    def counts(self, place, uses):
        if uses is None or place == FRESH:
            return True
        use = self.book.places[place][1]
        return use in uses or use == "store"

    @cached
    def out(self, i, uses):
        """The maximal stretches it counts as out, in those uses."""
        return merge((a, b) for a, b, places in self.pieces(i) if any(self.counts(p, uses) for p in places))

    @cached
    def warm_air(self, place, above, unread_is_above):
        if place == FRESH:
            return []
        spans, known_to = [], -INF
        readings = sorted(dict((at, value) for at, value, _, _ in self.air.get(place, [])).items())
        for n, (at, value) in enumerate(readings):
            following = readings[n + 1][0] if n + 1 < len(readings) else INF
            if unread_is_above:
                spans.append((known_to, at))
            known_to = min(following, at + AIR_HOLDS)
            if value > above:
                spans.append((at, known_to))
        if unread_is_above:
            spans.append((known_to, INF))
        return merge(spans)

    @cached
    def out_in_warm_air(self, i, uses, above, unread_is_above):
        return merge((max(a, wa), min(b, wb))
                     for a, b, places in self.pieces(i) for p in places if self.counts(p, uses)
                     for wa, wb in self.warm_air(p, above, unread_is_above))

    def summed(self, i, c):
        if c.measure == "out_above":
            return self.out_in_warm_air(i, c.uses, c.above, c.unread_is_above)
        return self.out(i, c.uses)

    @cached
    def not_frozen(self, i):
        return merge([(a, b) for a, b, place in self.segments(i) if self.control(place) != "frozen"]
                     + [(a, b) for a, b, _ in self.pieces(i)])

    # ------------------------------------------------ the measures at t, with the joins before (t, s)

    @cached
    def total(self, i, c, t, s):
        """total_out and out_above: own time since the last join, on top of the larger at it."""
        since, base = self.items[i].begin, 0
        joins = self.joins(i, t, s)
        if joins:
            since, seq, parents = joins[-1]
            base = max([self.total(i, c, since, seq)] + [self.total(p, c, since, seq) for p in parents])
        return base + overlap(self.summed(i, c), since, t)

    def total_reach(self, i, c, t, s):
        marks = [(self.items[i].begin, 0)]
        marks += [(at, self.total(i, c, at, seq + 1)) for at, seq, _ in self.joins(i, t, s)]
        for n, (since, base) in enumerate(marks):
            if base >= c.limit:
                return since
            upto = marks[n + 1][0] if n + 1 < len(marks) else INF
            for a, b in self.summed(i, c):
                a, b = max(a, since), min(b, upto)
                if a < b:
                    if base + (b - a) >= c.limit:
                        return a + c.limit - base
                    base += b - a
        return None

    @cached
    def first_out(self, i, uses, t, s):
        firsts = [a for a, _ in self.out(i, uses)[:1] if a <= t]
        firsts += [self.first_out(p, uses, at, seq) for at, seq, parents in self.joins(i, t, s) for p in parents]
        return min((f for f in firsts if f is not None), default=None)

    def stretch(self, i, uses, t, ended=False):
        """The stretch it is out in at t; with `ended`, also one that ended at t."""
        for a, b in self.out(i, uses):
            if a <= t < b or (ended and t == b):
                return a, b
        return None

    @cached
    def stretch_start(self, i, uses, a, b, t, s):
        """When the stretch [a, b) began, with the longer ones of parents out at a join in it."""
        starts = [a]
        for at, seq, parents in self.joins(i, t, s):
            if a <= at < b:
                for p in parents:
                    theirs = self.stretch(p, uses, at, ended=True)
                    if theirs:
                        starts.append(self.stretch_start(p, uses, *theirs, at, seq))
        return min(starts)

    @cached
    def longest(self, i, uses, t, s):
        lengths = [0]
        for a, b in self.out(i, uses):
            if a <= t:
                lengths.append(min(b, t) - self.stretch_start(i, uses, a, b, t, s))
        lengths += [self.longest(p, uses, at, seq) for at, seq, parents in self.joins(i, t, s) for p in parents]
        return max(lengths)

    def longest_reach(self, i, c, t, s):
        reaches = []
        joins = self.joins(i, t, s)
        for at, seq, parents in joins:
            if any(self.longest(p, c.uses, at, seq) >= c.limit for p in parents):
                reaches.append(at)
        for a, b in self.out(i, c.uses):
            inside = [(at, seq) for at, seq, _ in joins if a <= at < b]
            froms = [(a, a)] + [(at, self.stretch_start(i, c.uses, a, b, at, seq + 1)) for at, seq in inside]
            for n, (since, start) in enumerate(froms):
                upto = froms[n + 1][0] if n + 1 < len(froms) else b
                reach = max(since, start + c.limit)
                if reach <= upto and start + c.limit < INF:
                    reaches.append(reach)
        return min(reaches, default=None)

    @cached
    def spells(self, i, uses, t, s):
        since, base = -INF, 0
        joins = self.joins(i, t, s)
        if joins:
            since, seq, parents = joins[-1]
            base = max([self.spells(i, uses, since, seq)]
                       + [self.spells_of_parent(i, p, uses, since, seq) for p in parents])
        return base + sum(1 for a, _ in self.out(i, uses) if since < a <= t)

    def one_more(self, i, p, uses, t):
        return self.stretch(i, uses, t) is not None and self.stretch(p, uses, t, ended=True) is None

    def spells_of_parent(self, i, p, uses, t, s):
        return self.spells(p, uses, t, s) + (1 if self.one_more(i, p, uses, t) else 0)

    @cached
    def spells_reach(self, i, uses, limit, t, s):
        since, base = -INF, 0
        joins = self.joins(i, t, s)
        if joins:
            since, seq, parents = joins[-1]
            reaches = [self.spells_reach(i, uses, limit, since, seq)]
            for p in parents:
                if self.spells(p, uses, since, seq) > limit:
                    reaches.append(self.spells_reach(p, uses, limit, since, seq))
                elif self.spells_of_parent(i, p, uses, since, seq) > limit:
                    a, b = self.stretch(i, uses, since)
                    reaches.append(self.stretch_start(i, uses, a, b, since, seq))
            reaches = [r for r in reaches if r is not None]
            if reaches:
                return min(reaches)
            base = self.spells(i, uses, since, seq + 1)
        begun = [a for a, _ in self.out(i, uses) if since < a <= t]
        return begun[limit - base] if len(begun) > limit - base else None

    # ------------------------------------------------ readings

    @cached
    def readings(self, i, t, s):
        """Its own food readings and those of what went in."""
        found = [r for r in self.items[i].food if r[0] <= t]
        for at, seq, parents in self.joins(i, t, s):
            for p in parents:
                found += [r for r in self.readings(p, at, seq) if r not in found]
        return sorted(found, key=lambda r: (r[0], r[3]))

    def food_breach(self, i, c, t, s):
        first = self.first_out(i, None, t, s)
        if first is None:
            return None
        return next((r for r in self.readings(i, t, s) if r[0] >= first and c.over(r[1])), None)

    @cached
    def start_reading(self, i, uses, t, s):
        """(first instant out, its reading or None): of the item whose instant it was; of several the worse."""
        found = []
        own = self.out(i, uses)
        if own and own[0][0] <= t:
            first = own[0][0]
            near = [r for r in self.items[i].food if first - START_WINDOW <= r[0] <= first]
            found.append((first, near[-1] if near else None))
        for at, seq, parents in self.joins(i, t, s):
            found += [self.start_reading(p, uses, at, seq) for p in parents]
        found = [f for f in found if f is not None]
        if not found:
            return None
        first = min(f for f, _ in found)
        same = [r for f, r in found if f == first]
        return first, (None if None in same else max(same, key=lambda r: r[1]))

    def start_of_rule(self, i, c, t, s):
        """The start that counts: the first instant's, or an earlier-judged bad one that a join replaced by a better."""
        clocks = [k.uses for k in self.items[i].clauses if k.rule == c.rule and k.measure == "since_first_out"]
        return self.worst_start(i, c, tuple(clocks) or (None,), t, s)

    @cached
    def worst_start(self, i, c, clocks, t, s):
        bad = self.bad_starts(i, c, clocks, t, s)
        starts = [self.start_reading(i, uses, t, s) for uses in clocks]
        starts = [x for x in starts if x is not None]
        first = min(starts, key=lambda x: x[0]) if starts else None
        if first is not None and self.bad_start(c, first):
            bad = bad | {first}
        if not bad:
            return first
        at = min(x[0] for x in bad)
        same = [r for f, r in bad if f == at]
        return at, (None if None in same else max(same, key=lambda r: r[1]))

    def bad_start(self, c, start):
        return start[1] is None or c.over(start[1][1])

    @cached
    def bad_starts(self, i, c, clocks, t, s):
        """Bad starts that had stood before a join, the item's and its parents': no join makes a verdict milder."""
        found = frozenset()
        if c.verdict == "deviation":
            return found
        for at, seq, parents in self.joins(i, t, s):
            before = self.worst_start(i, c, clocks, at, seq)
            if before is not None and before[0] < at and self.bad_start(c, before):
                found |= {before}
            for p in parents:
                found |= self.bad_starts(p, c, clocks, at, seq)
        return found

    @cached
    def cooling(self, i, c, t, s):
        """(over-long clocks that ended, start of the running one, hot reading with no lower one yet)."""
        item = self.items[i]
        over, running, hot = (), None, None
        joins = self.joins(i, t, s)
        if joins:
            since, seq, parents = joins[-1]
            states = [self.cooling(x, c, since, seq) for x in (i,) + parents]
            over = tuple(sorted(set(k for state in states for k in state[0])))
            running = min((x[1] for x in states if x[1] is not None), default=None)
            hot = min((x[2] for x in states if x[2] is not None), default=None)
        else:
            since = item.begin - 1
            if c.start is None and not item.parents and self.really_out(i, item.begin):
                running = item.begin
        for at, value, _, _ in item.food:
            if not since < at <= t:
                continue
            if c.start is not None:
                if value >= c.start:
                    hot = at
                elif hot is not None:
                    running = hot if running is None else min(running, hot)
                    hot = None
            if running is not None and value <= c.end and at > running:
                if c.over(at - running):
                    over += ((running, at),)
                running = None
        return over, running, hot

    def over_long(self, i, c, t, s):
        """(start, time run) of the earliest over-long clock, if any."""
        over, running, _ = self.cooling(i, c, t, s)
        clocks = [(start, end - start) for start, end in over]
        if running is not None and c.over(t - running):
            clocks.append((running, t - running))
        return min(clocks, key=lambda k: (k[0], -k[1]), default=None)

    # ------------------------------------------------ days

    def dates(self, i, lo, hi):
        """The dates with an instant in [lo, hi] at which it was not frozen."""
        found, day = set(), timedelta(days=1)
        for a, b in self.not_frozen(i):
            a, last = max(a, lo), min(b - 1, hi)
            if a <= last:
                first, end = self.book.days.date(a), self.book.days.date(last)
                while first <= end:
                    found.add(first)
                    first += day
        return found

    @cached
    def day(self, i, t, s):
        """(count, whether today is one of them)."""
        today = self.book.days.date(t)
        joins = self.joins(i, t, s)
        if not joins:
            dates = self.dates(i, self.items[i].begin, t) | {self.book.days.date(self.items[i].begin)}
            return len(dates), today in dates
        since, seq, parents = joins[-1]
        # on equal counts the one that may yet count today is the worse
        count, counted = max([self.day(i, since, seq)] + [self.day_of_parent(p, since, seq) for p in parents],
                             key=lambda state: (state[0], not state[1]))
        dates = self.dates(i, since, t)
        if counted:
            dates.discard(self.book.days.date(since))
        joined_today = counted and self.book.days.date(since) == today
        return count + len(dates), joined_today or today in dates

    def day_of_parent(self, p, t, s):
        count, counted = self.day(p, t, s)
        return count + (0 if counted else 1), True

    @cached
    def day_over(self, i, limit, t, s):
        """The date on which the count went over, or None."""
        joins = self.joins(i, t, s)
        if joins:
            since, seq, parents = joins[-1]
            overs = [self.day_over(i, limit, since, seq)]
            for p in parents:
                if self.day(p, since, seq)[0] > limit:
                    overs.append(self.day_over(p, limit, since, seq))
                elif self.day_of_parent(p, since, seq)[0] > limit:
                    overs.append(self.book.days.date(since))
            overs = [d for d in overs if d is not None]
            if overs:
                return min(overs)
            count, counted = self.day(i, since, seq + 1)
            dates = self.dates(i, since, t) - ({self.book.days.date(since)} if counted else set())
        else:
            began = self.book.days.date(self.items[i].begin)
            count, dates = 1, self.dates(i, self.items[i].begin, t) - {began}
            if count > limit:
                return began
        dates = sorted(dates)
        return dates[limit - count] if len(dates) > limit - count else None

    def day_reach(self, i, limit, t, s):
        over = self.day_over(i, limit, t, s)
        if over is not None:
            return self.book.days.start(over)
        until = next((b for a, b in self.not_frozen(i) if a <= t < b), None)
        if until is None:
            return None
        left = limit - self.day(i, t, s)[0]
        midnight = self.book.days.start(self.book.days.date(t) + timedelta(days=left + 1))
        return midnight if midnight < until else None

    # ------------------------------------------------ clauses

    def value(self, i, c, t, s):
        """The measure as a plain number; None where it has none."""
        if c.measure in ("total_out", "out_above"):
            return self.total(i, c, t, s)
        if c.measure == "longest_spell":
            return self.longest(i, c.uses, t, s)
        if c.measure == "since_first_out":
            first = self.first_out(i, c.uses, t, s)
            return None if first is None else t - first
        if c.measure == "spells":
            return self.spells(i, c.uses, t, s)
        if c.measure == "day":
            return self.day(i, t, s)[0]
        return None

    @cached
    def breached(self, i, c, t, s):
        if c.measure in ("spells", "day"):
            return self.value(i, c, t, s) > c.limit
        if c.measure == "food_temperature":
            return self.food_breach(i, c, t, s) is not None
        if c.measure == "start_temperature":
            start = self.start_of_rule(i, c, t, s)
            return start is not None and self.bad_start(c, start)
        if c.measure == "cooled":
            return self.over_long(i, c, t, s) is not None
        value = self.value(i, c, t, s)
        return value is not None and c.over(value)

    @cached
    def reach(self, i, c, t, s):
        if c.measure in ("total_out", "out_above"):
            return self.total_reach(i, c, t, s)
        if c.measure == "longest_spell":
            return self.longest_reach(i, c, t, s)
        if c.measure == "since_first_out":
            first = self.first_out(i, c.uses, t, s)
            return None if first is None else first + c.limit
        if c.measure == "spells":
            return self.spells_reach(i, c.uses, c.limit, t, s)
        if c.measure == "day":
            return self.day_reach(i, c.limit, t, s)
        if c.measure == "food_temperature":
            reading = self.food_breach(i, c, t, s)
            return reading and reading[0]
        if c.measure == "start_temperature":
            return self.start_of_rule(i, c, t, s)[0] if self.breached(i, c, t, s) else None
        over = self.over_long(i, c, t, s)
        start = over[0] if over else self.cooling(i, c, t, s)[1]
        return None if start is None else start + c.limit

    def used(self, i, c, t, s):
        if c.measure in TIMES:
            used = self.over_long(i, c, t, s)[1] if c.measure == "cooled" else self.value(i, c, t, s)
            return {"used_ms": used, "limit_ms": c.limit}
        if c.measure in ("spells", "day"):
            return {"used": self.value(i, c, t, s), "limit": c.limit}
        reading = (self.food_breach(i, c, t, s) if c.measure == "food_temperature"
                   else self.start_of_rule(i, c, t, s)[1])
        return {"used": reading and reading[2], "limit": c.raw["limit"]}

    # ------------------------------------------------ discard, inherited

    @cached
    def over_parents(self, i, t, s):
        """(instant, seq, parent) of the joins with a parent at discard."""
        return [(at, seq, p) for at, seq, parents in self.joins(i, t, s) for p in parents
                if self.at_discard(p, at, seq)]

    @cached
    def at_discard(self, i, t, s):
        return (any(c.verdict == "discard" and self.breached(i, c, t, s) for c in self.items[i].clauses)
                or bool(self.over_parents(i, t, s)))

    def inherited(self, i, t, s):
        return [self.discard_by(p, at, seq) for at, seq, p in self.over_parents(i, t, s)]

    @cached
    def discard_by(self, i, t, s):
        """(instant, what decides it), both None if nothing will."""
        found = [(self.reach(i, c, t, s), {"rule": c.rule, "measure": c.measure})
                 for c in self.items[i].clauses if c.verdict == "discard"]
        found = [f for f in found + self.inherited(i, t, s) if f[0] is not None]
        return min(found, key=lambda f: f[0]) if found else (None, None)

    def never_begun(self, i, rule, t, s):
        """Whether a rule that allows no return has begun to count."""
        clauses = [c for c in self.items[i].clauses if c.rule == rule]
        if not clauses or clauses[0].returns != "never":
            return False
        clocks = [c.uses for c in clauses if c.measure == "since_first_out"] or [None]
        return any(self.first_out(i, uses, t, s) is not None for uses in clocks)

    # ------------------------------------------------ the standing

    def state(self, i, t):
        if self.really_out(i, t):
            return "out"
        return self.control(self.place_at(i, t))

    def verdict(self, i, t, s):
        if self.at_discard(i, t, s):
            return "discard"
        out = self.really_out(i, t)
        counting = [c.verdict for c in self.items[i].clauses
                    if c.verdict in RANK and (c.verdict != "return" or out) and self.breached(i, c, t, s)]
        return max(counting, key=RANK.get, default="within")

    def left(self, i):
        t = self.as_of
        if self.at_discard(i, t, INF):
            return 0
        discard_by = self.discard_by(i, t, INF)[0]
        if discard_by is None or not self.really_out(i, t):
            discard_by = World(self.book, t, self.upto, taken_out=i).discard_by(i, t, INF)[0]
        return None if discard_by is None else max(0, discard_by - t)

    def deviations(self, i):
        t, item = self.as_of, self.items[i]
        found = set()
        for _, back in self.real(i):
            if back <= t:
                for rule in item.rules:
                    clauses = [c for c in item.clauses if c.rule == rule]
                    if clauses and clauses[0].returns == "until-use" and any(
                            c.verdict in ("use", "discard") and self.breached(i, c, back, INF) for c in clauses):
                        found.add((back, "returned-late", rule))
                    if self.never_begun(i, rule, back, INF):
                        found.add((back, "returned-not-allowed", rule))
        for c in item.clauses:
            if c.verdict == "deviation" and self.breached(i, c, t, INF):
                if c.measure == "start_temperature":
                    first, reading = self.start_of_rule(i, c, t, INF)
                    found.add((first, "start-unread" if reading is None else "start-warm", c.rule))
                elif c.measure == "cooled":
                    found.add((self.reach(i, c, t, INF), "not-cooled", c.rule))
        for at, _, _ in self.over_parents(i, t, INF):
            found.add((at, "made-from-over", ""))
        for e in item.closes:
            if e.get("as") in SERVING and self.at_discard(i, e.at, e.seq):
                found.add((e.at, "served-late", ""))
        discard_by = self.discard_by(i, t, INF)[0]
        if item.marks and discard_by is not None and instant(item.marks[-1].get("discard_by")) > discard_by:
            found.add((item.marks[-1].at, "label-late", ""))
        for entered, e in self.book.entered_late(i):
            # Also what was entered after the item had closed.
            if entered <= self.asked and (e.kind == "correct" or e.order <= (self.asked, INF)):
                found.add((entered, "entered-late", ""))
        return [{"at": stamp(at), "code": code, **({"rule": rule} if rule else {})}
                for at, code, rule in sorted(found)]

    def standing(self, i):
        t, item, s = self.as_of, self.items[i], INF
        closed, out = i in self.closed, self.really_out(i, t)
        verdict, state = self.verdict(i, t, s), self.state(i, t)
        discard_by, decides = self.discard_by(i, t, s)
        reaches = [(self.reach(i, c, t, s), c) for c in item.clauses]
        reaches = [(r, c) for r, c in reaches if r is not None]

        return_by = None
        if out and not closed and not any(self.never_begun(i, rule, t, s) for rule in item.rules):
            return_by = min([r for r, c in reaches if c.verdict in RANK]
                            + [r for r, _ in self.inherited(i, t, s) if r is not None], default=None)

        ahead = [] if closed else [
            (r, -RANK[c.verdict], c.verdict) for r, c in reaches
            if r >= t and c.verdict in RANK and RANK[c.verdict] > RANK[verdict]
            and (c.verdict != "return" or out) and not self.breached(i, c, t, s)]
        nearest = min(ahead, default=None)

        days = [c for c in item.clauses if c.measure == "day"]
        use_by = None
        if days and not closed and state != "frozen":
            midnight = min(self.day_reach(i, c.limit, t, s) for c in days)
            use_by = (self.book.days.date(midnight) - timedelta(days=1)).isoformat()

        stretch = self.stretch(i, None, t)
        return {
            "item": i,
            "as_of": stamp(t),
            "place": self.place_at(i, t),
            "state": "closed" if closed else state,
            "verdict": verdict,
            "total_out_ms": self.total(i, _ALL, t, s),
            "spell_ms": t - self.stretch_start(i, None, *stretch, t, s) if stretch else 0,
            "spells": self.spells(i, None, t, s),
            "first_out_at": stamp(self.first_out(i, None, t, s)),
            "discard_by": stamp(discard_by),
            "left_ms": self.left(i),
            "return_by": stamp(return_by),
            "next": {"at": stamp(nearest[0]), "verdict": nearest[2]} if nearest else None,
            "use_by": use_by,
            "decides": decides,
            "reasons": [{"rule": c.rule, "measure": c.measure, "verdict": c.verdict,
                         "reached_at": stamp(r), **self.used(i, c, t, s)}
                        for r, c in reaches if self.breached(i, c, t, s)],
            "deviations": self.deviations(i),
        }


_ALL = Clause("", "any", {"measure": "total_out", "limit": "PT0S", "verdict": "deviation"})


# ---------------------------------------------------------------- the way in

def open_book(lines, known_at=None, zone=None):
    entries = [Entry(raw, raw.get("seq", n)) for n, raw in enumerate(lines, 1)]
    if known_at is not None:
        known = instant(known_at)
        entries = [e for e in entries if (e.at if e.recorded is None else e.recorded) <= known]
    return Book(entries, zone)


def standings_of(book, as_of=None):
    t = instant(as_of) if as_of is not None else max((e.at for e in book.entries), default=0)
    world = book.world(t)
    found = []
    for i in world.items:
        its = book.world_of(i, t)
        its.asked = t
        found.append(its.standing(i))
    return found


def standings(lines, as_of=None, known_at=None, zone=None):
    return standings_of(open_book(lines, known_at, zone), as_of)
