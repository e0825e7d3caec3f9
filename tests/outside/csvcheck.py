"""Checks a record's CSV with Python's csv: rectangular, numbers as numbers, spells that add up to their total exactly.

    csvcheck.py FILE...
"""

import csv
import sys
from decimal import Decimal, InvalidOperation

# the record's column names
ITEM = "item"
SPELL = "ms_this_spell"
TOTAL = "ms_in_all"
MINUTES = (("minutes_this_spell", SPELL), ("minutes_in_all", TOTAL))  # never rounded down, by less than a hundredth


def number(text):
    try:
        value = Decimal(text)
    except InvalidOperation:
        return None
    return value if value.is_finite() and value >= 0 else None


def check(file):
    """(rows, items, troubles)."""
    troubles, spells, totals = [], {}, {}
    rows = list(csv.reader(file, strict=True))
    if not rows:
        return 0, 0, ["no header"]
    header = rows[0]
    if len(set(header)) != len(header):
        troubles.append("a column name is used twice")
    missing = [name for name in (ITEM, SPELL, TOTAL) if name not in header]
    if missing:
        return 0, 0, troubles + ["no column " + name for name in missing]
    for n, row in enumerate(rows[1:], 2):
        if len(row) != len(header):
            troubles.append("row %d has %d fields of %d" % (n, len(row), len(header)))
            continue
        cells = dict(zip(header, row))
        item = cells[ITEM]
        for minutes, ms in MINUTES:
            shown, exact = number(cells.get(minutes, "")), number(cells.get(ms, ""))
            if shown is None or exact is None or not exact <= shown * 60000 < exact + 600:
                troubles.append("row %d: %s is %r for %r ms" % (n, minutes, cells.get(minutes), cells.get(ms)))
        for name, kept in ((SPELL, spells), (TOTAL, totals)):
            if cells[name] == "":
                continue
            value = number(cells[name])
            if value is None:
                troubles.append("row %d: %s is %r, not a number" % (n, name, cells[name]))
            elif name == SPELL:
                kept[item] = kept.get(item, 0) + value
            elif kept.setdefault(item, value) != value:
                troubles.append("row %d: %s has two totals" % (n, item))
    for item, total in totals.items():
        if spells.get(item, 0) != total:
            troubles.append("%s: spells of %s ms, a total of %s" % (item, spells.get(item, 0), total))
    return len(rows) - 1, len(totals), troubles


def main():
    bad = 0
    for name in sys.argv[1:]:
        with open(name, encoding="utf-8-sig", newline="") as file:
            rows, items, troubles = check(file)
        print("\n".join(troubles + ["%s: %d rows, %d items, %d troubles" % (name, rows, items, len(troubles))]))
        bad += len(troubles) or rows == 0
    return 1 if bad or len(sys.argv) < 2 else 0


if __name__ == "__main__":
    sys.exit(main())
