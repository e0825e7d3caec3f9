"""Whether a ledger is one that would be accepted: each refusal, plainly, over the whole of it."""

from reference import BUILT_IN, CONFIG, HOUR, INF, LATE, Entry, instant

DAY = 24 * HOUR
COMMON = {"at", "kind", "note"}
SERVER = {"by", "by_how", "device", "seq", "recorded_at", "late_ms", "prev", "hash"}
MEMBERS = {  # kind: (needed, allowed besides)
    "site": ({"name", "zone", "units"}, set()),
    "place": ({"place", "name", "control"}, {"use"}),
    "rule": ({"rule", "name", "returns", "clauses"}, {"source"}),
    "product": ({"product", "name", "rules"}, {"chill_ms", "soft_ms", "firm_ms", "exempt"}),
    "item": ({"item", "name", "place"}, {"product", "rules", "from", "count", "lot"}),
    "join": ({"item", "from"}, set()),
    "move": ({"item", "place"}, set()),
    "reading": ({"value", "unit"}, {"item", "place", "probed", "probe"}),
    "lapse": ({"place"}, {"until"}),
    "restore": ({"place"}, set()),
    "mark": ({"item", "discard_by", "how", "copy"}, set()),
    "seen": ({"item", "place"}, set()),
    "close": ({"item", "as"}, {"count", "reason"}),
    "decide": ({"about", "action", "reason"}, set()),
    "approve": ({"what"}, {"reference"}),
    "correct": ({"entry", "reason"}, {"void", "set"}),
    "review": ({"from", "to"}, set()),
}
MOST_ENTRIES, MOST_PARENTS, MOST_GENERATIONS = 2000, 64, 32


class Refused(Exception):
    pass


def require(condition, e, code):
    if not condition:
        raise Refused("%s: %s" % (e.seq, code))


def refusal(lines):
    """None, or `seq: code` of the first thing wrong."""
    try:
        _check(lines)
    except Refused as wrong:
        return str(wrong)
    return None


def _members(e):
    require(e.kind in MEMBERS, e, "unknown-kind")
    needed, more = MEMBERS[e.kind]
    have = set(e.raw) - COMMON - SERVER
    require(needed <= have, e, "missing-member")
    require(have <= needed | more, e, "unknown-member")
    require(all(e.raw[name] is not None for name in e.raw), e, "null")
    if e.kind == "reading":
        require((e.get("item") is None) != (e.get("place") is None), e, "item-or-place")
        require(e.get("probed") is None or e.get("item") is not None, e, "probed-without-item")


def _check(lines):
    entries = [Entry(raw, raw.get("seq", n)) for n, raw in enumerate(lines, 1)]
    by_seq, latest = {}, {}
    for before, e in zip([None] + entries, entries):
        require(("seq" in e.raw) == ("seq" in entries[0].raw), e, "seq-on-all-or-none")
        require(before is None or e.seq > before.seq, e, "seq-order")
        require(e.recorded is None or e.at <= e.recorded + LATE, e, "future")
        require(before is None or e.recorded is None or e.recorded >= before.recorded, e, "recorded-order")
        _members(e)
        if e.kind == "correct":
            _correction(e, by_seq)
            latest[e.get("entry")] = e
        by_seq[e.seq] = e
    require(entries[0].kind == "site", entries[0], "site-first")

    true, begun = [], {e.get("item"): e.seq for e in reversed(entries) if e.kind == "item"}
    placed = {e.get("place"): e.seq for e in reversed(entries) if e.kind == "place"}
    for e in entries:
        fix = latest.get(e.seq)
        _names_known(e, e.seq, begun, placed)
        if fix is None:
            true.append(e)
        elif not fix.get("void"):
            raw = {**e.raw, **fix.get("set", {})}
            changed = Entry({k: v for k, v in raw.items() if v is not None}, e.seq)
            _members(changed)
            limit = fix.recorded if fix.recorded is not None else INF
            require(changed.at <= limit + LATE, e, "future")
            _names_known(changed, fix.seq, begun, placed)
            true.append(changed)
    begun = min(e.at for e in entries if e.kind in CONFIG)
    for e in true:
        if e.kind == "lapse" or (e.kind == "reading" and e.get("place") is not None):
            require(e.at >= begun - DAY, e, "before-ledger")
    known = _config(true)
    _replay(sorted((e for e in true if e.kind not in CONFIG and e.kind != "correct"), key=lambda e: e.order), known)


def _names_known(e, worded, begun, placed):
    """What a reading was probed at, or a decision is about, was written down before the entry that says so."""
    if e.kind == "reading" and e.get("probed") is not None:
        require(begun.get(e.get("probed"), INF) < worded, e, "unknown-item")
    if e.kind == "decide" and isinstance(e.get("about"), str):
        require(min(begun.get(e.get("about"), INF), placed.get(e.get("about"), INF)) < worded, e, "unknown-item")
    if e.kind == "decide" and isinstance(e.get("about"), int):
        require(0 < e.get("about") < worded, e, "unknown-entry")


def _correction(e, by_seq):
    target = by_seq.get(e.get("entry"))
    require(target is not None, e, "unknown-entry")
    require(target.kind not in ("correct", "rule"), e, "not-correctable")
    require((e.get("void") is True) != ("set" in e.raw), e, "void-or-set")
    needed, more = MEMBERS[target.kind]
    members = set(e.get("set", {}))
    require(not members & {"kind", "item", "items", "by"}, e, "member-not-correctable")
    require(members <= needed | more | {"at", "note"}, e, "unknown-member")


def _full(clause):
    """A clause with what it means where it says nothing."""
    more = {"unread": "above"} if clause["measure"] == "out_above" else {}
    return {"at_limit": "breach", **more, **clause}


def _config(true):
    """For each id the seq it is known from; for products all their versions."""
    known = {"place": {}, "rule": {name: (0, None) for name in BUILT_IN}, "product": {}, "zone": None}
    for e in true:
        if e.kind == "site":
            require(known["zone"] in (None, e.get("zone")), e, "zone-changed")
            known["zone"] = e.get("zone")
        elif e.kind == "place":
            use = e.get("use") or ("work" if e.get("control") == "none" else "store")
            seq, was = known["place"].get(e.get("place"), (e.seq, (e.get("control"), use)))
            require(was == (e.get("control"), use), e, "place-changed")
            known["place"][e.get("place")] = (seq, was)
        elif e.kind == "rule":
            text = (e.get("returns"), e.get("clauses"))
            require(e.get("rule") not in known.setdefault("taken", set()), e, "id-used")
            known["taken"].add(e.get("rule"))
            if e.get("rule") in BUILT_IN:
                built_in = BUILT_IN[e.get("rule")]
                require(text[0] == built_in["returns"] and list(map(_full, text[1]))
                        == list(map(_full, built_in["clauses"])), e, "rule-changed")
            else:
                require(e.get("rule") not in known["rule"], e, "id-used")
                known["rule"][e.get("rule")] = (e.seq, text)
        elif e.kind == "product":
            for rule in e.get("rules"):
                require(rule in known["rule"] and known["rule"][rule][0] < e.seq, e, "unknown-rule")
            require(e.get("rules") or e.get("exempt"), e, "no-rule")
            known["product"].setdefault(e.get("product"), []).append(e)
    return known


def _replay(entries, known):
    items, lapses = {}, set()

    def place_known(e, name):
        require(name in known["place"] and known["place"][name][0] < e.seq, e, "unknown-place")

    def live(e, name, code="closed"):
        require(name in items, e, "unknown-item")
        require(not items[name]["closed"], e, code)
        return items[name]

    def parents(e, item):
        names = e.get("from")
        require(names and len(set(names)) == len(names), e, "doubled-parent")
        require(e.get("item") not in names, e, "joined-to-itself")
        for name in names:
            parent = live(e, name, "parent-closed")
            item["generation"] = max(item["generation"], parent["generation"] + 1)
        item["parents"] += len(names)
        require(item["parents"] <= MOST_PARENTS, e, "too-many-parents")
        require(item["generation"] <= MOST_GENERATIONS, e, "too-many-generations")

    for e in entries:
        name = e.get("item")
        if e.kind == "item":
            require(name not in items, e, "id-used")
            place_known(e, e.get("place"))
            rules, product = list(e.get("rules") or []), None
            for rule in rules:
                require(rule in known["rule"] and known["rule"][rule][0] < e.seq, e, "unknown-rule")
            if e.get("product"):
                versions = [p for p in known["product"].get(e.get("product"), []) if p.seq < e.seq]
                require(versions, e, "unknown-product")
                product = versions[-1]
                rules += product.get("rules")
            require(rules or (product and product.get("exempt")), e, "no-rule")
            require(e.get("count", 1) >= 1, e, "count")
            item = {"place": e.get("place"), "closed": False, "left": e.get("count", 1), "entries": 1,
                    "parents": 0, "generation": 1}
            if e.get("from") is not None:
                parents(e, item)
            items[name] = item
            continue
        if e.kind in ("join", "move", "mark", "seen", "close") or (e.kind == "reading" and name is not None):
            item = live(e, name)
            item["entries"] += 1
            require(item["entries"] <= MOST_ENTRIES, e, "too-many-entries")
        if e.get("place") is not None:
            place_known(e, e.get("place"))
        if e.kind == "join":
            parents(e, item)
        elif e.kind == "move":
            require(item["place"] != e.get("place"), e, "already-there")
            item["place"] = e.get("place")
        elif e.kind == "close":
            count = e.get("count", item["left"])
            require(1 <= count <= item["left"], e, "count")
            item["left"] -= count
            item["closed"] = item["left"] == 0
        elif e.kind == "lapse":
            require(known["place"][e.get("place")][1][0] != "none", e, "no-control")
            until = instant(e.get("until")) if e.get("until") else INF
            require(until > e.at, e, "until-before-at")
            require(until == INF or e.recorded is None or until <= e.recorded, e, "future")
            # Only an open one keeps another open one out; stretches with an end may overlap.
            if until == INF:
                require(e.get("place") not in lapses, e, "already-lapsed")
                lapses.add(e.get("place"))
        elif e.kind == "restore":
            require(e.get("place") in lapses, e, "no-lapse")
            lapses.remove(e.get("place"))
