"""The figures in every message are the same in each language. The names of days and months, and the decimal sign, of each language against CLDR, as `babel` carries it; and plural
forms: each number's form in CLDR is the one the messages have for it.

    words.py

Guards against S-52 of SAFETY.md.
"""

import os
import re
import sys

from babel import Locale

HERE = os.path.dirname(os.path.abspath(__file__))
DAYS = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
MONTHS = ["january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
          "december"]


def main():
    troubles, looked = [], 0
    for tag in ("en", "es"):
        with open(os.path.join(HERE, "..", "..", "src", "lang", tag + ".ftl"), encoding="utf-8") as file:
            text = file.read()
        messages = dict(re.findall(r"^([a-z][\w-]*) = (.*)$", text, re.M))
        locale = Locale.parse(tag)
        wanted = {day: locale.days["format"]["abbreviated"][n] for n, day in enumerate(DAYS)}
        wanted |= {month: locale.months["format"]["abbreviated"][n + 1] for n, month in enumerate(MONTHS)}
        wanted["decimal-sign"] = locale.number_symbols["latn"]["decimal"]
        for name, value in wanted.items():
            looked += 1
            if messages[name] != value:
                troubles.append("%s: `%s` is %r, in CLDR %r" % (tag, name, messages[name], value))
        # One form for 1 and another for all else: what the messages are made for, up to what is ever counted here.
        for n in range(100_001):
            looked += 1
            if (locale.plural_form(n) == "one") != (n == 1):
                troubles.append("%s: %d is %r in CLDR" % (tag, n, locale.plural_form(n)))
    figures = []
    for tag in ("en", "es"):
        with open(os.path.join(HERE, "..", "..", "src", "lang", tag + ".ftl"), encoding="utf-8") as file:
            text = re.sub(r"^#.*$", "", file.read(), flags=re.M)
        parts = re.split(r"^(?=[a-z][\w-]* =|    \.next =)", text, flags=re.M)[1:]
        # A thousand has a comma in one and a point in the other.
        found = [(p.split(" =")[0].strip(), sorted(re.findall(r"\d+", re.sub(r"(\d)[.,](?=\d{3}\b)", r"\1", p)))) for p in parts]
        figures.append(found)
    for (name, en), (other, es) in zip(*figures):
        looked += 1
        if (name, en) != (other, es):
            troubles.append("`%s`: %s in English, `%s`: %s in Spanish" % (name, en, other, es))
    print("\n".join(troubles[:20] + ["%d words and numbers against CLDR, %d differences" % (looked, len(troubles))]))
    return 1 if troubles else 0


if __name__ == "__main__":
    sys.exit(main())
