"""The names of days and months, and the decimal sign, of each language against CLDR, as `babel` carries it; and plural
forms: each number's form in CLDR is the one the messages have for it.

    words.py
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
    print("\n".join(troubles[:20] + ["%d words and numbers against CLDR, %d differences" % (looked, len(troubles))]))
    return 1 if troubles else 0


if __name__ == "__main__":
    sys.exit(main())
