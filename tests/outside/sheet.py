"""Opens a record's CSV in LibreOffice Calc, without a screen, and compares every cell with what Python's csv reads:
text stays that text, numbers are numbers of that value, and nothing has become a formula. A name or a lot that is written
like a number is one there too: no table without types can say otherwise.

    sheet.py FILE...
"""

import csv
import os
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as tree
from decimal import Decimal, InvalidOperation

TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
TEXT_SPACES = TEXT + "s"
# columns of names, which need be no numbers where they look like some
NAMES = {"item", "lot", "product", "inherited_from", "made_from", "place", "probe", "beside_probe", "hash", "name",
         "product_name", "readings", "deviations"}


def text_of(element):
    """A cell's text; runs of blanks are elements of their own."""
    out = element.text or ""
    for child in element:
        if child.tag == TEXT_SPACES:
            out += " " * int(child.get(TEXT + "c", "1"))
        else:
            out += text_of(child)
        out += child.tail or ""
    return out


def sheet(path):
    """Rows of (kind, value, formula)."""
    rows = []
    for row in tree.parse(path).iter(TABLE + "table-row"):
        cells = []
        for cell in row.iter(TABLE + "table-cell"):
            value = cell.get(OFFICE + "value")
            text = "\n".join(text_of(p) for p in cell.iter(TEXT + "p"))
            one = (cell.get(OFFICE + "value-type"), value if value is not None else text, cell.get(TABLE + "formula"))
            many = int(cell.get(TABLE + "number-columns-repeated", "1"))
            cells += [one] * (many if many < 1000 else 0)
        rows += [cells] * min(int(row.get(TABLE + "number-rows-repeated", "1")), 2)
    return rows


def number(text):
    try:
        return Decimal(text)
    except InvalidOperation:
        return None


def compare(name, converted):
    with open(name, encoding="utf-8", newline="") as file:
        wanted = list(csv.reader(file, strict=True))
    troubles, numbers, texts = [], 0, 0
    got = [row for row in sheet(converted) if any(cell[0] for cell in row)]
    if len(got) != len(wanted):
        troubles.append("%d rows, %d in the sheet" % (len(wanted), len(got)))
    for n, (want, have) in enumerate(zip(wanted, got), 1):
        have = have + [(None, "", None)] * (len(want) - len(have))
        for column, text, (kind, value, formula) in zip(wanted[0], want, have):
            where = "row %d, %s" % (n, column)
            if formula is not None:
                troubles.append("%s: %r became the formula %r" % (where, text, formula))
            elif kind == "float":
                numbers += 1
                if number(text) is None or number(text) != Decimal(value):
                    troubles.append("%s: %r became the number %s" % (where, text, value))
            elif n > 1 and text and number(text) is not None and column not in NAMES:
                troubles.append("%s: %r is no number in the sheet, but %s" % (where, text, kind))
            elif value != text:
                troubles.append("%s: %r became %r" % (where, text, value))
            else:
                texts += bool(text)
    print("%s: %d rows, %d texts, %d numbers, %d troubles" % (name, len(wanted), texts, numbers, len(troubles)))
    return troubles


def main():
    bad = []
    with tempfile.TemporaryDirectory() as work:
        for name in sys.argv[1:]:
            # 44: comma; 34: quotes; 76: UTF-8; 1: from the first line; the rest as the import dialogue has it.
            subprocess.run(
                ["soffice", "--headless", "--norestore", "-env:UserInstallation=file://" + work + "/profile",
                 "--infilter=CSV:44,34,76,1", "--convert-to", "fods", "--outdir", work, name],
                check=True, timeout=120, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            )
            stem = os.path.splitext(os.path.basename(name))[0]
            bad += compare(name, os.path.join(work, stem + ".fods"))
    print("\n".join(bad[:20]))
    return 1 if bad or len(sys.argv) < 2 else 0


if __name__ == "__main__":
    sys.exit(main())
