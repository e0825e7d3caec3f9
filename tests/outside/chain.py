"""Verifies the chain of a record.jsonl with hashlib and the rfc8785 package.

    chain.py FILE...

Guards against S-19 of SAFETY.md.
"""

import hashlib
import json
import sys

import rfc8785

FIRST = "0" * 64


def link(entry):
    """The hash an entry should carry."""
    bare = {k: v for k, v in entry.items() if k not in ("prev", "hash")}
    return hashlib.sha256(entry["prev"].encode() + b"\n" + rfc8785.dumps(bare)).hexdigest()


def whole_numbers(value):
    if isinstance(value, dict):
        return all(whole_numbers(v) for v in value.values())
    if isinstance(value, list):
        return all(whole_numbers(v) for v in value)
    return not isinstance(value, float)


def verify(lines):
    """(entries, joints checked, troubles). Where a record leaves entries out, only their own hashes are checked."""
    before, joints, troubles, count = None, 0, [], 0
    for number, line in enumerate(lines, 1):
        entry = json.loads(line)
        count += 1
        if not whole_numbers(entry):
            troubles.append("line %d: a number that is not whole" % number)
        if link(entry) != entry["hash"]:
            troubles.append("line %d, seq %s: the hash is not that of the entry" % (number, entry["seq"]))
        if entry["seq"] == 1 and entry["prev"] != FIRST:
            troubles.append("line %d: the first entry does not start the chain" % number)
        if before is not None and entry["seq"] <= before["seq"]:
            troubles.append("line %d: seq %s after %s" % (number, entry["seq"], before["seq"]))
        if before is not None and entry["seq"] == before["seq"] + 1:
            joints += 1
            if entry["prev"] != before["hash"]:
                troubles.append("line %d, seq %s: not joined to the one before" % (number, entry["seq"]))
        before = entry
    return count, joints, troubles


def main():
    bad = 0
    for name in sys.argv[1:]:
        with open(name, encoding="utf-8", newline="\n") as lines:
            count, joints, troubles = verify(line for line in lines if line.strip())
        print("\n".join(troubles + ["%s: %d entries, %d joints, %d troubles" % (name, count, joints, len(troubles))]))
        bad += len(troubles) or count == 0
    return 1 if bad or len(sys.argv) < 2 else 0


if __name__ == "__main__":
    sys.exit(main())
