"""Cases worked by hand: published ones, and one day, one failed fridge and one joined tub through every built-in rule.

    vectors.py            against the plain reading
    vectors.py BINARY     against the program
"""

import sys

from reference import standings

MIN = 60_000
HOURS = 60 * MIN


def on(clock, day="2026-05-02"):
    """`08:00` or `08:00:00.001` of a day, in UTC, as standings print it."""
    full = clock + ":00.000" if len(clock) == 5 else clock
    return "%sT%sZ" % (day, full)


def shop(*lines, zone="UTC"):
    start = on("00:00", "2026-01-01")
    return [
        {"at": start, "kind": "site", "name": "The shop", "zone": zone, "units": "C"},
        {"at": start, "kind": "place", "place": "fridge", "name": "Fridge", "control": "cold"},
        {"at": start, "kind": "place", "place": "freezer", "name": "Freezer", "control": "frozen"},
        {"at": start, "kind": "place", "place": "bench", "name": "Bench", "control": "none"},
        {"at": start, "kind": "place", "place": "case", "name": "Counter", "control": "none", "use": "display"},
        *lines]


def item(at, name, place, *rules, **more):
    return {"at": at, "kind": "item", "item": name, "name": name, "place": place,
            **({"rules": list(rules)} if rules else {}), **more}


def move(at, name, place):
    return {"at": at, "kind": "move", "item": name, "place": place}


def food(at, name, value, unit="F"):
    return {"at": at, "kind": "reading", "item": name, "value": value, "unit": unit}


def air(at, place, value, unit="F"):
    return {"at": at, "kind": "reading", "place": place, "value": value, "unit": unit}


def own_rule(name, returns, *clauses):
    return {"at": on("00:00", "2026-01-01"), "kind": "rule", "rule": name, "name": name, "returns": returns,
            "clauses": list(clauses), "source": {"title": "Shop's own", "edition": "1", "section": "1",
                                                 "basis": "common practice"}}


def reason(rule, measure, verdict, reached_at, **rest):
    return {"rule": rule, "measure": measure, "verdict": verdict, "reached_at": reached_at, **rest}


def at(when, code, rule=None):
    return {"at": when, "code": code, **({"rule": rule} if rule else {})}


CASES = []


def case(title, source, ledger, when, which, **expected):
    CASES.append((title, source, ledger, when, which, expected))


# ============================================================ published cases

# 10:30 + 4 h = 14:30; just taken out, so all 4 h are left.
case("out 10:30, four-hour hold", "Fairfax County VA, time-control log sample",
     shop(item(on("09:00"), "dip", "fridge", "us-time-4h"), move(on("10:30"), "dip", "case")),
     on("10:30"), "dip", verdict="within", total_out_ms=0, spells=1, discard_by=on("14:30"), left_ms=4 * HOURS,
     return_by=None, decides={"rule": "us-time-4h", "measure": "since_first_out"})

# 6:30 to 8:30 is 2:00 of 4 h; closed, so nothing is still to come.
case("out 6:30, all served 8:30", "Texas DSHS chart F23-13363 sample (the food there is hot: only the arithmetic)",
     shop(item(on("06:00"), "eggs", "fridge", "us-time-4h"), move(on("06:30"), "eggs", "case"),
          {"at": on("08:30"), "kind": "close", "item": "eggs", "as": "served"}),
     on("12:00"), "eggs", state="closed", as_of=on("08:30"), verdict="within", total_out_ms=2 * HOURS,
     spell_ms=2 * HOURS, discard_by=on("10:30"), left_ms=2 * HOURS, return_by=None, next=None, use_by=None)

SANDWICHES = [item(on("10:30"), "sandwiches", "bench", "sum-2h-4h"), move(on("11:30"), "sandwiches", "case")]

# an hour of making is an hour of the four: 4 h - 1 h = 3 h, so until 14:30; back in the cold before 12:30.
case("sandwiches made 10:30-11:30, then on display", "City of Charles Sturt SA, food safety kit",
     shop(*SANDWICHES), on("11:30"), "sandwiches", verdict="within", total_out_ms=1 * HOURS, left_ms=3 * HOURS,
     discard_by=on("14:30"), return_by=on("12:30"), next={"at": on("12:30"), "verdict": "use"}, spells=1)

# 2 h used, 2 h left; the return at exactly 2:00 is not "less than 2 hours", so it is late.
case("the same, chilled at 12:30", "City of Charles Sturt SA; the edge: FSANZ, less than 2 hours",
     shop(*SANDWICHES, move(on("12:30"), "sandwiches", "fridge")), on("12:30"), "sandwiches", state="cold",
     verdict="use", total_out_ms=2 * HOURS, left_ms=2 * HOURS, discard_by=None, return_by=None,
     deviations=[at(on("12:30"), "returned-late", "sum-2h-4h")])

# a millisecond earlier it is in time, and a millisecond more is left.
case("the same, chilled a millisecond before", "FSANZ, less than 2 hours",
     shop(*SANDWICHES, move(on("12:29:59.999"), "sandwiches", "fridge")), on("13:00"), "sandwiches", state="cold",
     verdict="within", total_out_ms=2 * HOURS - 1, left_ms=2 * HOURS + 1, discard_by=None, deviations=[], reasons=[])

# it pauses and does not reset: out again at 15:00, 15:00 + 2 h = 17:00.
case("the same, out again at 15:00", "City of Charles Sturt SA, food safety kit",
     shop(*SANDWICHES, move(on("12:30"), "sandwiches", "fridge"), move(on("15:00"), "sandwiches", "case")),
     on("15:30"), "sandwiches", verdict="use", total_out_ms=2 * HOURS + 30 * MIN, spell_ms=30 * MIN, spells=2,
     left_ms=1 * HOURS + 30 * MIN, discard_by=on("17:00"))

# the other edge, as a rule of the shop's: at 2:00 it may still go back.
case("the same, at the other edge", "City of Charles Sturt SA, food safety kit, as the shop's rule",
     shop(own_rule("kit", "until-use",
                   {"measure": "total_out", "limit": "PT2H", "at_limit": "allowed", "verdict": "use"},
                   {"measure": "total_out", "limit": "PT4H", "at_limit": "allowed", "verdict": "discard"}),
          item(on("10:30"), "sandwiches", "bench", "kit"), move(on("12:30"), "sandwiches", "fridge")),
     on("12:30"), "sandwiches", state="cold", verdict="within", total_out_ms=2 * HOURS, left_ms=2 * HOURS,
     discard_by=None, deviations=[], reasons=[])

# out from 08:00: 1:59 may return, 2:00 use, 3:59 use, 4:00 discard; discard by 12:00.
for clock, minutes, verdict in (("09:59", 119, "within"), ("10:00", 120, "use"),
                                ("11:59", 239, "use"), ("12:00", 240, "discard")):
    case("total of %d:%02d" % (minutes // 60, minutes % 60), "FSANZ table",
         shop(item(on("08:00"), "pie", "bench", "sum-2h-4h")), on(clock), "pie", verdict=verdict,
         total_out_ms=minutes * MIN, discard_by=on("12:00"), left_ms=(240 - minutes) * MIN, return_by=on("10:00"))

HOT = [item(on("11:00"), "soup", "case", "us-time-4h"), food(on("11:00"), "soup", "140.0"),
       item(on("11:00"), "soup6", "case", "us-time-6h"), food(on("11:00"), "soup6", "140.0")]

# 11:00 + 4 h = 15:00, with the start noted as too warm.
case("hot-held food taken off at 11:00, four hours", "a note on Food Code 2022 (3-501.19)",
     shop(*HOT), on("11:00"), "soup", verdict="within", total_out_ms=0, discard_by=on("15:00"), left_ms=4 * HOURS,
     deviations=[at(on("11:00"), "start-warm", "us-time-4h")])

# 140 F is over 70 F at once: six hours are not open to it.
case("hot-held food taken off at 11:00, six hours", "a note on Food Code 2022 (3-501.19)",
     shop(*HOT), on("11:00"), "soup6", verdict="discard", total_out_ms=0, discard_by=on("11:00"), left_ms=0,
     decides={"rule": "us-time-6h", "measure": "food_temperature"},
     reasons=[reason("us-time-6h", "food_temperature", "discard", on("11:00"), used="140.0",
                     limit={"value": "70.0", "unit": "F"}),
              reason("us-time-6h", "start_temperature", "deviation", on("11:00"), used="140.0",
                     limit={"value": "41.0", "unit": "F"})])


def warmed(value, unit="F", rule="us-time-6h"):
    return shop(own_rule("reached-70", "never",
                         {"measure": "since_first_out", "limit": "PT6H", "at_limit": "allowed", "verdict": "discard"},
                         {"measure": "food_temperature", "limit": {"value": "70.0", "unit": "F"},
                          "at_limit": "breach", "verdict": "discard"}),
                item(on("07:00"), "cold-plate", "fridge", rule), food(on("07:30"), "cold-plate", "5.0", "C"),
                move(on("08:00"), "cold-plate", "case"), food(on("12:00"), "cold-plate", value, unit))


# 08:00 + 6 h = 14:00; 5.0 C = 41 F is no warm start.
case("70.0 F after 4 h stays", "Food Code 3-501.19(C)", warmed("70.0"), on("12:00"), "cold-plate", verdict="within",
     total_out_ms=4 * HOURS, discard_by=on("14:00"), left_ms=2 * HOURS, deviations=[])
case("70.0 F after 4 h is discarded", "New York City 81.10, reached or exceeded, as the shop's rule",
     warmed("70.0", rule="reached-70"), on("12:00"), "cold-plate", verdict="discard", total_out_ms=4 * HOURS,
     discard_by=on("12:00"), left_ms=0, decides={"rule": "reached-70", "measure": "food_temperature"})
case("70.1 F after 4 h is discarded", "Food Code 3-501.19(C)", warmed("70.1"), on("12:00"), "cold-plate",
     verdict="discard", total_out_ms=4 * HOURS, discard_by=on("12:00"), left_ms=0)
# 21.1 C = 69.98 F stays, 21.2 C = 70.16 F does not.
case("21.1 C after 4 h stays", "Food Code 3-501.19(C), exact conversion", warmed("21.1", "C"), on("12:00"),
     "cold-plate", verdict="within", total_out_ms=4 * HOURS, discard_by=on("14:00"), left_ms=2 * HOURS)
case("21.2 C after 4 h is discarded", "Food Code 3-501.19(C), exact conversion", warmed("21.2", "C"), on("12:00"),
     "cold-plate", verdict="discard", total_out_ms=4 * HOURS, discard_by=on("12:00"), left_ms=0)

# 1 April is day 1, 7 April day 7; over at the midnight after, 00:00 of the 8th at UTC-7. From 09:00 on the 1st
# (16:00 UTC) that is 6 days and 15 hours.
case("made 1 April", "Southern Nevada Health District",
     shop(item(on("16:00", "2026-04-01"), "salad", "fridge", "keep-7d"), zone="America/Los_Angeles"),
     on("16:00", "2026-04-01"), "salad", verdict="within", total_out_ms=0, use_by="2026-04-07",
     discard_by=on("07:00", "2026-04-08"), left_ms=159 * HOURS)

# 3 June is day 3 of the ingredient, so 7 June is day 7; over at 00:00 of the 8th, 07:00 UTC. From 18:00 UTC on the
# 3rd that is 4 days and 13 hours.
case("ingredient of 1 June used on 3 June", "Southern Nevada Health District",
     shop(item(on("18:00", "2026-06-01"), "chicken", "fridge", "keep-7d"),
          item(on("18:00", "2026-06-03"), "salad", "fridge", "keep-7d", **{"from": ["chicken"]}),
          zone="America/Los_Angeles"),
     on("18:00", "2026-06-03"), "salad", verdict="within", total_out_ms=0, use_by="2026-06-07",
     discard_by=on("07:00", "2026-06-08"), left_ms=109 * HOURS)

# 1 + 6 days; midnight at UTC-5 is 05:00 UTC. From 17:00 UTC on the 1st: 6 days and 12 hours.
for month in ("07", "05"):
    case("made the 1st of month " + month, "Dubuque IA",
         shop(item(on("17:00", "2026-%s-01" % month), "ham", "fridge", "keep-7d"), zone="America/Chicago"),
         on("17:00", "2026-%s-01" % month), "ham", verdict="within", total_out_ms=0, use_by="2026-%s-07" % month,
         discard_by=on("05:00", "2026-%s-08" % month), left_ms=156 * HOURS)

# the earliest governs: 10:00 + 4 h = 14:00 local, 06:00 UTC; at 10:45, 3 h 15 min are left and 45 min are used.
case("ready 10:00 and 10:45 under one sign", "Singapore EPH (Food Hygiene) Regs r. 13B (clock times derived)",
     shop(item(on("02:00"), "rolls", "case", "us-time-4h"), item(on("02:45"), "buns", "case", "us-time-4h"),
          item(on("02:45"), "platter", "case", "us-time-4h", **{"from": ["rolls", "buns"]}), zone="Asia/Singapore"),
     on("02:45"), "platter", verdict="within", total_out_ms=45 * MIN, discard_by=on("06:00"), left_ms=195 * MIN,
     first_out_at=on("02:00"), spells=1)

ROOM = [item(on("07:00"), "cream", "fridge", "two-hour"), move(on("08:00"), "cream", "case")]

# one hour above 90 F is up at 09:00.
case("92 F room, out 1 h 05", "consumer two-hour rule (minutes derived)",
     shop(air(on("07:30"), "case", "92.0"), *ROOM), on("09:05"), "cream", verdict="discard", total_out_ms=65 * MIN,
     discard_by=on("09:00"), left_ms=0, decides={"rule": "two-hour", "measure": "out_above"},
     reasons=[reason("two-hour", "out_above", "discard", on("09:00"), used_ms=65 * MIN, limit_ms=1 * HOURS)])
# only the two hours count: 10:00, 55 min left.
case("75 F room, out 1 h 05", "consumer two-hour rule (minutes derived)",
     shop(air(on("07:30"), "case", "75.0"), *ROOM), on("09:05"), "cream", verdict="within", total_out_ms=65 * MIN,
     discard_by=on("10:00"), left_ms=55 * MIN, reasons=[])

# ============================================================ cooling

COOLING = [item(on("10:00"), "custard", "bench", "us-cooling"), food(on("10:00"), "custard", "135.0"),
           food(on("10:05"), "custard", "134.9")]

# the clocks run from the 135.0 F at 10:00; 70 F is due by 12:00.
case("custard, cooling begun", "Food Code 3-501.14(A)", shop(*COOLING), on("10:05"), "custard", verdict="within",
     total_out_ms=5 * MIN, discard_by=on("12:00"), left_ms=115 * MIN, decides={"rule": "us-cooling", "measure": "cooled"})
# 70.0 F at exactly two hours is in time, then 41 F is due by 16:00.
case("custard at 70 F in two hours", "Food Code 3-501.14(A)", shop(*COOLING, food(on("12:00"), "custard", "70.0")),
     on("12:00"), "custard", verdict="within", total_out_ms=2 * HOURS, discard_by=on("16:00"), left_ms=4 * HOURS)
case("custard at 70.1 F in two hours", "Food Code 3-501.14(A)",
     shop(*COOLING, food(on("12:00"), "custard", "70.1")), on("12:00:00.001"), "custard", verdict="discard",
     total_out_ms=2 * HOURS + 1, discard_by=on("12:00"), left_ms=0)
# 41.0 F at exactly six hours: nothing is over, nothing runs; the four hours for ambient mixes had gone at 14:00.
case("custard at 41 F in six hours", "Food Code 3-501.14(A), (B)",
     shop(*COOLING, food(on("12:00"), "custard", "70.0"), move(on("12:00"), "custard", "fridge"),
          food(on("16:00"), "custard", "41.0")),
     on("17:00"), "custard", state="cold", verdict="within", total_out_ms=2 * HOURS, discard_by=None, left_ms=None,
     deviations=[at(on("14:00"), "not-cooled", "us-cooling")])

# ============================================================ elapsed time and local days

# clocks go forward at 01:00 UTC on 29 March 2026; four hours are four hours: 00:30 + 4 h = 04:30 UTC.
case("four hours across a change of the clocks", "the written rules of the project: limits are elapsed time",
     shop(item(on("00:30", "2026-03-29"), "cake", "case", "us-time-4h"), zone="Europe/London"),
     on("02:00", "2026-03-29"), "cake", verdict="within", total_out_ms=90 * MIN,
     discard_by=on("04:30", "2026-03-29"), left_ms=150 * MIN)

# made 23 March, day 7 is the 29th; its midnight is at 23:00 UTC, an hour early, because the clocks went forward.
# From 12:00 UTC on the 28th that is 35 hours.
case("seven days across a change of the clocks", "the written rules of the project: days are local",
     shop(item(on("12:00", "2026-03-23"), "cake", "fridge", "keep-7d"), zone="Europe/London"),
     on("12:00", "2026-03-28"), "cake", verdict="within", total_out_ms=0, use_by="2026-03-29",
     discard_by=on("23:00", "2026-03-29"), left_ms=35 * HOURS)

# 1 and 2 May in the cold are days 1 and 2, frozen 3 to 8 May count nothing, 9 May is day 3; day 7 is the 13th.
# From 08:00 on the 9th to 00:00 on the 14th: 4 days and 16 hours.
case("frozen days are not counted", "Food Code 3-501.17, county and state documents",
     shop(item(on("12:00", "2026-05-01"), "pie", "fridge", "keep-7d"), move(on("20:00", "2026-05-02"), "pie", "freezer"),
          move(on("08:00", "2026-05-09"), "pie", "fridge")),
     on("08:00", "2026-05-09"), "pie", verdict="within", total_out_ms=0, use_by="2026-05-13",
     discard_by=on("00:00", "2026-05-14"), left_ms=112 * HOURS)

# 60 + 30 + 20 min are 110; 10 min to "use" (15:30), 130 to "discard" (17:30); days 2 to 8 May.
case("three spells under two rules", "the written rules of the project: the example standing",
     shop(item(on("09:00"), "tub-3", "fridge", "sum-2h-4h", "keep-7d"),
          move(on("11:00"), "tub-3", "bench"), move(on("12:00"), "tub-3", "fridge"),
          move(on("13:00"), "tub-3", "bench"), move(on("13:30"), "tub-3", "fridge"),
          move(on("15:00"), "tub-3", "bench")),
     on("15:20"), "tub-3", place="bench", state="out", verdict="within", total_out_ms=6600000, spell_ms=1200000,
     spells=3, first_out_at=on("11:00"), discard_by=on("17:30"), left_ms=7800000, return_by=on("15:30"),
     next={"at": on("15:30"), "verdict": "use"}, use_by="2026-05-08",
     decides={"rule": "sum-2h-4h", "measure": "total_out"}, reasons=[], deviations=[])

CHILLED = shop({"at": on("00:00", "2026-01-01"), "kind": "product", "product": "ganache", "name": "Ganache",
                "rules": ["sum-2h-4h"], "chill_ms": 30 * MIN},
               item(on("07:00"), "bowl", "fridge", product="ganache"),
               move(on("08:00"), "bowl", "bench"), move(on("09:40"), "bowl", "fridge"))

# 100 min out, and chilling counts on: 09:55 has 115; 10:00 has 120, "use"; 10:10 ends it at 130 min.
case("still chilling, before the two hours", "the written rules of the project: chilling counts as before",
     CHILLED, on("09:55"), "bowl", state="cold", verdict="within", total_out_ms=115 * MIN, spells=1, discard_by=None,
     left_ms=125 * MIN, return_by=None, next={"at": on("10:00"), "verdict": "use"})
case("chilled, after the two hours", "the written rules of the project: chilling counts as before",
     CHILLED, on("11:00"), "bowl", state="cold", verdict="use", total_out_ms=130 * MIN, spells=1, spell_ms=0,
     discard_by=None, left_ms=110 * MIN,
     reasons=[reason("sum-2h-4h", "total_out", "use", on("10:00"), used_ms=130 * MIN, limit_ms=2 * HOURS)],
     deviations=[])
case("found cold while chilling", "the written rules of the project: a reading at 5 C ends it",
     CHILLED + [food(on("09:50"), "bowl", "5.0", "C")], on("11:00"), "bowl", state="cold", verdict="within",
     total_out_ms=110 * MIN, discard_by=None, left_ms=130 * MIN)

# ============================================================ one day through every built-in rule
# out 08:00-08:50, 10:00-11:15, 13:30-14:00: 50, 125, 155 min; the sum is at 120 min at 11:10.
# Source: the written rules of the project ("four hours" is three clocks); `house-2h-4h` is common practice, no source.


def day(rule, place="case"):
    moves = [("08:00", place), ("08:50", "fridge"), ("10:00", place), ("11:15", "fridge"), ("13:30", place),
             ("14:00", "fridge")]
    return shop(item(on("07:00"), "tub", "fridge", rule), *[move(on(clock), "tub", to) for clock, to in moves])


def same_day(rule, clock, source, place="case", **expected):
    case("the day under %s in the %s at %s" % (rule, place, clock), source, day(rule, place), on(clock), "tub", **expected)


PRACTICE = "common practice, no source"
FSANZ = "FSANZ 2-hour/4-hour rule"

# 140 min at 13:45: "return" since 11:10; 240 would be reached 115 min after 13:30.
same_day("house-2h-4h", "13:45", PRACTICE, state="out", verdict="return", total_out_ms=140 * MIN, spells=3,
         spell_ms=15 * MIN, discard_by=on("15:25"), left_ms=100 * MIN, return_by=on("11:10"),
         next={"at": on("15:25"), "verdict": "discard"}, deviations=[])
# back in the cold "return" is done; 240 - 155 = 85 min are left.
same_day("house-2h-4h", "14:00", PRACTICE, state="cold", verdict="within", total_out_ms=155 * MIN, spell_ms=0, spells=3,
         first_out_at=on("08:00"), discard_by=None, left_ms=85 * MIN, return_by=None, next=None, decides=None,
         reasons=[reason("house-2h-4h", "total_out", "return", on("11:10"), used_ms=155 * MIN, limit_ms=2 * HOURS)],
         deviations=[])
# the return at 11:15 had 125 min: late; so is that at 14:00; 08:50 had 50.
same_day("sum-2h-4h", "08:50", FSANZ, state="cold", verdict="within", total_out_ms=50 * MIN, discard_by=None,
         left_ms=190 * MIN, deviations=[])
same_day("sum-2h-4h", "11:15", FSANZ, state="cold", verdict="use", total_out_ms=125 * MIN, discard_by=None,
         left_ms=115 * MIN, deviations=[at(on("11:15"), "returned-late", "sum-2h-4h")])
same_day("sum-2h-4h", "14:00", FSANZ, state="cold", verdict="use", total_out_ms=155 * MIN, discard_by=None,
         left_ms=85 * MIN, deviations=[at(on("11:15"), "returned-late", "sum-2h-4h"),
                                       at(on("14:00"), "returned-late", "sum-2h-4h")])
# one clock from 08:00: over after 12:00 whatever the fridge did; at 12:00 itself not yet.
same_day("us-time-4h", "11:15", "Food Code 3-501.19(B)", state="cold", verdict="within", total_out_ms=125 * MIN,
         discard_by=on("12:00"), left_ms=45 * MIN, next={"at": on("12:00"), "verdict": "discard"})
same_day("us-time-4h", "12:00", "Food Code 3-501.19(B)", state="cold", verdict="within", total_out_ms=125 * MIN,
         discard_by=on("12:00"), left_ms=0)
same_day("us-time-4h", "12:00:00.001", "Food Code 3-501.19(B)", state="cold", verdict="discard",
         total_out_ms=125 * MIN, discard_by=on("12:00"), left_ms=0)
same_day("us-time-4h", "14:00", "Food Code 3-501.19(B); no return: Minnesota MDH and others", state="cold",
         verdict="discard", total_out_ms=155 * MIN, discard_by=on("12:00"), left_ms=0,
         reasons=[reason("us-time-4h", "since_first_out", "discard", on("12:00"), used_ms=6 * HOURS, limit_ms=4 * HOURS),
                  reason("us-time-4h", "start_temperature", "deviation", on("08:00"), used=None,
                         limit={"value": "41.0", "unit": "F"})],
         deviations=[at(on("08:00"), "start-unread", "us-time-4h")]
         + [at(on(clock), "returned-not-allowed", "us-time-4h") for clock in ("08:50", "11:15", "14:00")])
# in the case: the display's clock from 08:00, as above. The sum of 155 min is under its 4 h.
same_day("us-prep-then-4h", "14:00", "project's reading of 3-501.16(A), .14(B), .19(B)", state="cold",
         verdict="discard", total_out_ms=155 * MIN, discard_by=on("12:00"), left_ms=0,
         decides={"rule": "us-prep-then-4h", "measure": "since_first_out"},
         deviations=[at(on("08:00"), "start-unread", "us-prep-then-4h")]
         + [at(on(clock), "returned-not-allowed", "us-prep-then-4h") for clock in ("08:50", "11:15", "14:00")])
# on the bench: no display, so only the sum, and 85 min of it are left.
same_day("us-prep-then-4h", "14:00", "project's reading of 3-501.16(A), .14(B), .19(B)", place="bench", state="cold",
         verdict="within", total_out_ms=155 * MIN, discard_by=None, left_ms=85 * MIN, reasons=[], deviations=[])
# 08:00 + 6 h = 14:00, and at 14:00 itself not yet over.
same_day("us-time-6h", "14:00", "Food Code 3-501.19(C)", state="cold", verdict="within", total_out_ms=155 * MIN,
         discard_by=on("14:00"), left_ms=0, next={"at": on("14:00"), "verdict": "discard"},
         deviations=[at(on("08:00"), "start-unread", "us-time-6h")]
         + [at(on(clock), "returned-not-allowed", "us-time-6h") for clock in ("08:50", "11:15", "14:00")])
same_day("us-time-6h", "14:00:00.001", "Food Code 3-501.19(C)", verdict="discard", total_out_ms=155 * MIN,
         discard_by=on("14:00"), left_ms=0)
# begun in the cold, never read hot: no clock runs and none would.
same_day("us-cooling", "14:00", "Food Code 3-501.14", verdict="within", total_out_ms=155 * MIN, discard_by=None,
         left_ms=None, decides=None, reasons=[], deviations=[])
# at 08:50 itself it could still go on as the same display, 240 - 50 min; from then on a display would be a second one.
same_day("uk-display-4h", "08:50", "SR 2006/3 Sch. 4 para 5; England's from memory", verdict="within",
         total_out_ms=50 * MIN, discard_by=None, left_ms=190 * MIN, deviations=[])
same_day("uk-display-4h", "09:00", "SR 2006/3 Sch. 4 para 5; England's from memory", verdict="within",
         total_out_ms=50 * MIN, discard_by=None, left_ms=0, deviations=[])
# the second display at 10:00 is one too many; the longest, 75 min, is not over.
same_day("uk-display-4h", "14:00", "SR 2006/3 Sch. 4 para 5; England's from memory", verdict="discard",
         total_out_ms=155 * MIN, discard_by=on("10:00"), left_ms=0, decides={"rule": "uk-display-4h", "measure": "spells"},
         reasons=[reason("uk-display-4h", "spells", "discard", on("10:00"), used=3, limit=1)],
         deviations=[at(on("11:15"), "returned-late", "uk-display-4h"), at(on("14:00"), "returned-late", "uk-display-4h")])
# on the bench it was never displayed: one display of 4 h is all there.
same_day("uk-display-4h", "14:00", "SR 2006/3 Sch. 4 para 5; England's from memory", place="bench", verdict="within",
         total_out_ms=155 * MIN, discard_by=None, left_ms=4 * HOURS, reasons=[], deviations=[])
same_day("two-hour", "14:00", "USDA/FDA consumer advice", verdict="discard", total_out_ms=155 * MIN,
         discard_by=on("11:10"), left_ms=0, decides={"rule": "two-hour", "measure": "total_out"},
         reasons=[reason("two-hour", "total_out", "discard", on("11:10"), used_ms=155 * MIN, limit_ms=2 * HOURS)],
         deviations=[])
# no air reading, so all of it counts as warm: 120 min at 11:10, allowed there, over after.
same_day("banded-70f", "11:10", "FDA Fish and Fishery Products guidance, App. 4", verdict="within",
         total_out_ms=120 * MIN, discard_by=on("11:10"), left_ms=0)
same_day("banded-70f", "14:00", "FDA Fish and Fishery Products guidance, App. 4", verdict="discard",
         total_out_ms=155 * MIN, discard_by=on("11:10"), left_ms=0, decides={"rule": "banded-70f", "measure": "out_above"},
         deviations=[])
# day 7 of 2 May is 8 May; from 14:00 on the 2nd to 00:00 on the 9th: 6 days and 10 hours.
same_day("keep-7d", "14:00", "Food Code 3-501.17", verdict="within", total_out_ms=155 * MIN, use_by="2026-05-08",
         discard_by=on("00:00", "2026-05-09"), left_ms=154 * HOURS, decides={"rule": "keep-7d", "measure": "day"})

# ============================================================ a fridge that failed for five hours
# in it since 07:00, failed 09:00 to 14:00, nothing moved: one spell of 300 min; 2 h at 11:00, 4 h at 13:00.


def failed(rule, source, clock="14:00", **expected):
    ledger = shop(item(on("07:00"), "tub", "fridge", rule), {"at": on("09:00"), "kind": "lapse", "place": "fridge"},
                  {"at": on("14:00"), "kind": "restore", "place": "fridge"})
    case("the failed fridge under %s at %s" % (rule, clock), source, ledger, on(clock), "tub",
         **{"first_out_at": on("09:00"), "spells": 1, **expected})


FIVE_HOURS = {"total_out_ms": 5 * HOURS, "state": "cold"}

failed("house-2h-4h", PRACTICE, verdict="discard", discard_by=on("13:00"), left_ms=0, deviations=[], **FIVE_HOURS,
       reasons=[reason("house-2h-4h", "total_out", "return", on("11:00"), used_ms=5 * HOURS, limit_ms=2 * HOURS),
                reason("house-2h-4h", "total_out", "discard", on("13:00"), used_ms=5 * HOURS, limit_ms=4 * HOURS)])
failed("sum-2h-4h", FSANZ, verdict="discard", discard_by=on("13:00"), left_ms=0, **FIVE_HOURS,
       deviations=[at(on("14:00"), "returned-late", "sum-2h-4h")])
# while it lasts: 3 h at 12:00, use it, an hour left.
failed("sum-2h-4h", FSANZ, "12:00", state="out", place="fridge", verdict="use", total_out_ms=3 * HOURS,
       spell_ms=3 * HOURS, discard_by=on("13:00"), left_ms=1 * HOURS, return_by=on("11:00"), deviations=[])
failed("us-time-4h", "Food Code 3-501.19(B)", verdict="discard", discard_by=on("13:00"), left_ms=0, **FIVE_HOURS,
       deviations=[at(on("09:00"), "start-unread", "us-time-4h"), at(on("14:00"), "returned-not-allowed", "us-time-4h")])
# a failed store counts in every use, so the display's clock runs from 09:00 too; of two ends at 13:00 the first named.
failed("us-prep-then-4h", "project's reading; a fridge that fails counts in every rule", verdict="discard",
       discard_by=on("13:00"), left_ms=0, decides={"rule": "us-prep-then-4h", "measure": "since_first_out"}, **FIVE_HOURS,
       deviations=[at(on("09:00"), "start-unread", "us-prep-then-4h"),
                   at(on("14:00"), "returned-not-allowed", "us-prep-then-4h")])
failed("us-time-6h", "Food Code 3-501.19(C)", verdict="within", discard_by=on("15:00"), left_ms=1 * HOURS, **FIVE_HOURS,
       deviations=[at(on("09:00"), "start-unread", "us-time-6h"), at(on("14:00"), "returned-not-allowed", "us-time-6h")])
failed("us-cooling", "Food Code 3-501.14", verdict="within", discard_by=None, left_ms=None, deviations=[], **FIVE_HOURS)
failed("uk-display-4h", "SR 2006/3 Sch. 4 para 5; a fridge that fails counts in every rule", verdict="discard",
       discard_by=on("13:00"), left_ms=0, decides={"rule": "uk-display-4h", "measure": "longest_spell"}, **FIVE_HOURS,
       deviations=[at(on("14:00"), "returned-late", "uk-display-4h")])
failed("two-hour", "USDA/FDA consumer advice", verdict="discard", discard_by=on("11:00"), left_ms=0, deviations=[],
       **FIVE_HOURS)
# its air unread counts as warm: 2 h of that at 11:00, before the sum's 13:00.
failed("banded-70f", "FDA Fish and Fishery Products guidance, App. 4", verdict="discard", discard_by=on("11:00"),
       left_ms=0, decides={"rule": "banded-70f", "measure": "out_above"}, deviations=[], **FIVE_HOURS)
failed("keep-7d", "Food Code 3-501.17", verdict="within", discard_by=on("00:00", "2026-05-09"), left_ms=154 * HOURS,
       use_by="2026-05-08", deviations=[], **FIVE_HOURS)

# ============================================================ a tub joined to a cake
# tub: in the fridge from 1 May, read 41.0 F at 07:50, bench 08:00-09:30 and from 11:00.
# cake: in the fridge from 08:00, in the case from 10:30; the tub goes onto it at 11:30; looked at 12:30.
# at 11:30 the tub has 90 + 30 = 120 min in 2 spells since 08:00, the cake 60 min in 1 since 10:30; both are out.
# so the cake has 120 at 11:30 and 180 at 12:30, 2 spells, first out 08:00, this stretch since 10:30.


def joined(rule, source, **expected):
    ledger = shop(item(on("20:00", "2026-05-01"), "tub", "fridge", rule), food(on("07:50"), "tub", "41.0"),
                  move(on("08:00"), "tub", "bench"), item(on("08:00"), "cake", "fridge", rule),
                  move(on("09:30"), "tub", "fridge"), move(on("10:30"), "cake", "case"), move(on("11:00"), "tub", "bench"),
                  {"at": on("11:30"), "kind": "join", "item": "cake", "from": ["tub"]})
    case("the tub on the cake under " + rule, source, ledger, on("12:30"), "cake",
         **{"state": "out", "total_out_ms": 180 * MIN, "spell_ms": 120 * MIN, "spells": 2,
            "first_out_at": on("08:00"), **expected})


# the two hours came with the join, so at 11:30; the other two go on to 13:30.
joined("house-2h-4h", PRACTICE, verdict="return", discard_by=on("13:30"), left_ms=60 * MIN, return_by=on("11:30"),
       next={"at": on("13:30"), "verdict": "discard"}, deviations=[],
       reasons=[reason("house-2h-4h", "total_out", "return", on("11:30"), used_ms=180 * MIN, limit_ms=2 * HOURS)])
joined("sum-2h-4h", FSANZ, verdict="use", discard_by=on("13:30"), left_ms=60 * MIN, return_by=on("11:30"),
       next={"at": on("13:30"), "verdict": "discard"}, deviations=[],
       reasons=[reason("sum-2h-4h", "total_out", "use", on("11:30"), used_ms=180 * MIN, limit_ms=2 * HOURS)])
# the tub's removal at 08:00 governs, and its reading of 41.0 F was cold enough.
joined("us-time-4h", "Food Code 3-501.19(B); earliest removal: Singapore, US date marks", verdict="discard",
       discard_by=on("12:00"), left_ms=0, return_by=None, next=None, deviations=[],
       reasons=[reason("us-time-4h", "since_first_out", "discard", on("12:00"), used_ms=270 * MIN, limit_ms=4 * HOURS)])
# the tub was never on display: that clock is the cake's, 10:30 + 4 h = 14:30, unread; the sum ends first, at 13:30.
joined("us-prep-then-4h", "project's reading of 3-501.16(A), .14(B), .19(B)", verdict="within", discard_by=on("13:30"),
       left_ms=60 * MIN, return_by=None, decides={"rule": "us-prep-then-4h", "measure": "total_out"},
       deviations=[at(on("10:30"), "start-unread", "us-prep-then-4h")])
joined("us-time-6h", "Food Code 3-501.19(C)", verdict="within", discard_by=on("14:00"), left_ms=90 * MIN,
       return_by=None, next={"at": on("14:00"), "verdict": "discard"}, reasons=[], deviations=[])
joined("us-cooling", "Food Code 3-501.14", verdict="within", discard_by=None, left_ms=None, return_by=None, deviations=[])
# one display, since 10:30, whatever the tub's day on the bench: until 14:30.
joined("uk-display-4h", "SR 2006/3 Sch. 4 para 5; England's from memory", verdict="within", discard_by=on("14:30"),
       left_ms=120 * MIN, return_by=on("14:30"), next={"at": on("14:30"), "verdict": "discard"}, reasons=[], deviations=[])
# the tub had its two hours at 11:30 exactly, so it went in over.
joined("two-hour", "USDA/FDA consumer advice; largest sum", verdict="discard", discard_by=on("11:30"), left_ms=0,
       decides={"rule": "two-hour", "measure": "total_out"}, deviations=[at(on("11:30"), "made-from-over")])
# 120 min of unread air at 11:30 are allowed, so it did not go in over; after that it is over.
joined("banded-70f", "FDA Fish and Fishery Products guidance, App. 4", verdict="discard", discard_by=on("11:30"),
       left_ms=0, decides={"rule": "banded-70f", "measure": "out_above"}, deviations=[],
       reasons=[reason("banded-70f", "out_above", "discard", on("11:30"), used_ms=180 * MIN, limit_ms=2 * HOURS)])
# 2 May is the tub's day 2, so the cake's; day 7 is 7 May. From 12:30 on the 2nd to 00:00 on the 8th: 131 h 30 min.
joined("keep-7d", "Food Code 3-501.17, combined food keeps the earliest date", verdict="within", use_by="2026-05-07",
       discard_by=on("00:00", "2026-05-08"), left_ms=131 * HOURS + 30 * MIN, deviations=[])


# ============================================================ running them

def check(answer):
    """The members that differ, as lines of text."""
    wrong = []
    for name, source, ledger, as_of, which, expected in CASES:
        found = next((s for s in answer(ledger, as_of) if s["item"] == which), {})
        for member, value in expected.items():
            if found.get(member, "(none)") != value:
                wrong.append("%s [%s]\n  %s: expected %s, found %s"
                             % (name, source, member, value, found.get(member, "(none)")))
    return wrong


def main():
    if len(sys.argv) > 1:
        from compare import run, written

        def answer(ledger, as_of):
            found, trouble = run(sys.argv[1], written(ledger), as_of)
            if found is None:
                print(trouble)
            return found or []
    else:
        answer = standings
    wrong = check(answer)
    print("\n".join(wrong + ["%d vectors, %d wrong members" % (len(CASES), len(wrong))]))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
