"""Under strace: no 201 is written before the WAL, with the entry in it, was synchronised.

    order.py BINARY [--posts 200]

For every answer 201 the transaction that holds its entries is found in the write-ahead log: from the first write
that carries an entry's hash to the frame that commits. A synchronisation of the log must have begun after that
frame was written and have ended before the first byte of the answer was. strace reports one call's beginning or end
at a time, so the order of its lines is the order of events.

Then the same with COUNTERCLOCK_TEST_SYNCHRONOUS=OFF, where every answer must be found wanting: else the check proves
nothing.
"""

import argparse
import bisect
import codecs
import json
import os
import re
import sys
import threading
import time

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "outside"))
from program import Client, Database, Service, Trouble, add_token  # noqa: E402

CALLS = "pwrite64,pwritev,pwritev2,write,writev,sendto,sendmsg,sendmmsg,fdatasync,fsync"
SYNCS = ("fdatasync", "fsync")
LINE = re.compile(r"(?:\d+ +)(?:\d+\.\d+) (.*)", re.S)
CALL = re.compile(r"(\w+)\(\d+<(.*?)>(?:\(deleted\))?(?=[,)])(.*)\) += (-?\d+)", re.S)
STRING = re.compile(r'"((?:[^"\\]|\\.)*)"(\.\.\.)?')
FRAME_HEADER = 24


class Call:
    def __init__(self, name, file, data, begin, end):
        self.name, self.file, self.data, self.begin, self.end = name, file, data, begin, end


def read_calls(lines):
    """The calls that succeeded, each with the lines at which it began and ended."""
    begun, calls = {}, []
    for n, line in enumerate(lines):
        thread = line.split(None, 1)[0]
        rest = LINE.match(line)
        if not rest:
            raise Trouble("strace wrote what cannot be read: %s" % line[:200])
        text, begin = rest.group(1).rstrip("\n"), n
        if text.startswith(("---", "+++")):
            continue
        if text.endswith("<unfinished ...>"):
            begun[thread] = (n, text[:-len("<unfinished ...>")].rstrip())
            continue
        if text.startswith("<... "):
            begin, first = begun.pop(thread)
            text = first + re.sub(r"^<\.\.\. \w+ resumed>", "", text)
        call = CALL.match(text)
        if not call:
            if re.search(r"\) += (-1 E|\?)", text):
                continue
            raise Trouble("strace wrote what cannot be read: %s" % text[:200])
        name, file, arguments, result = call.groups()
        data = b""
        if name not in SYNCS:
            for string, cut in STRING.findall(arguments):
                if cut:
                    raise Trouble("strace cut a string short: %s" % text[:200])
                data += codecs.escape_decode(string.encode("latin-1"))[0]
            data = data[:int(result)]
        calls.append(Call(name, file, data, begin, n))
    return sorted(calls, key=lambda c: c.begin)


def answers(calls):
    """(line at which its first byte was written, body) of every answer 201, from each connection's stream."""
    streams = {}
    for call in calls:
        if call.file.startswith("TCP:"):
            streams.setdefault(call.file, []).append(call)
    found = []
    for written in streams.values():
        stream = b"".join(c.data for c in written)
        starts, total = [], 0
        for c in written:
            starts.append(total)
            total += len(c.data)
        at = 0
        while at < len(stream):
            head, _, _ = stream[at:].partition(b"\r\n\r\n")
            length = re.search(rb"(?i)\r\ncontent-length: (\d+)", head)
            if not head.startswith(b"HTTP/1.1 ") or not length:
                raise Trouble("an answer cannot be read: %r" % stream[at:at + 200])
            body = at + len(head) + 4
            if head.startswith(b"HTTP/1.1 201"):
                first = written[bisect.bisect_right(starts, at) - 1]
                found.append((first.begin, stream[body:body + int(length.group(1))]))
            at = body + int(length.group(1))
    return sorted(found)


def wanting(calls):
    """(answers 201, entries in them, what is wrong with each that is wanting)."""
    log = [c for c in calls if c.file.endswith("-wal")]
    writes = [c for c in log if c.name not in SYNCS]
    syncs = [c for c in log if c.name in SYNCS]
    first = {}
    for n, w in enumerate(writes):
        for found in re.findall(rb'"hash":"([0-9a-f]{64})"', w.data):
            first.setdefault(found.decode(), n)
    # A frame is its header, then its page; the header of the one that commits says how many pages there are.
    commits = [n + 1 for n, w in enumerate(writes)
               if len(w.data) == FRAME_HEADER and int.from_bytes(w.data[4:8], "big")]
    entries, wrong, said = 0, [], answers(calls)
    for sent, body in said:
        told = json.loads(body)["entries"]
        entries += len(told)
        troubles = [(e["seq"], _wanting(e, sent, writes, syncs, first, commits)) for e in told]
        wrong += ["entry %d: %s" % t for t in troubles if t[1]][:1]
    return len(said), entries, wrong


def _wanting(entry, sent, writes, syncs, first, commits):
    at = first.get(entry["hash"])
    if at is None:
        return "it was never written to the log"
    commit = bisect.bisect_left(commits, at)
    if commit == len(commits) or commits[commit] >= len(writes):
        return "its transaction was never committed"
    last = writes[commits[commit]]
    if last.end >= sent:
        return "the 201 was written before its transaction was"
    if not any(last.end < s.begin and s.end < sent for s in syncs):
        return "no synchronisation of the log lies between its last write and the 201"
    return None


def must_bite(calls):
    """The check itself: with one synchronisation less, or one begun too early, it must complain."""
    log = [c for c in calls if c.file.endswith("-wal")]
    syncs = [n for n, c in enumerate(log) if c.name in SYNCS]
    sync = log[syncs[len(syncs) // 3]]
    before = [w for w in log[:log.index(sync)] if w.name not in SYNCS][-1]
    rest = [c for c in calls if c is not sync]
    for how, spoiled in (("less", rest),
                         ("begun too early", rest + [Call(sync.name, sync.file, b"", before.begin, sync.end)]),
                         ("ended too late", rest + [Call(sync.name, sync.file, b"", sync.begin, calls[-1].end)])):
        if not wanting(sorted(spoiled, key=lambda c: c.begin))[2]:
            raise Trouble("the check sees nothing wrong with one synchronisation %s" % how)


def load(service, token, posts):
    """`posts` moves one after another, then as many from eight clients at once, some in arrays. Entries, answers."""
    client = Client(service.address, token)
    client.must_post([{"kind": "place", "place": "fridge", "name": "Fridge", "control": "cold"},
                      {"kind": "place", "place": "bench", "name": "Bench", "control": "none"}])
    # Each takes its part: one item has 2,000 entries at most.
    items = ["tub-%d" % n for n in range(8)]
    client.must_post([{"kind": "item", "item": i, "name": "Tub", "place": "fridge", "rules": ["sum-2h-4h"]}
                      for i in items])
    acknowledged, trouble, lock = [2 + len(items), 2], [], threading.Lock()

    def work(item, count, arrays):
        own = Client(service.address, token)
        try:
            for n in range(count):
                moves = [{"kind": "move", "item": item, "place": place} for place in ("bench", "fridge")]
                body = moves if arrays and n % 5 == 0 else moves[0] if where[item] == "fridge" else moves[1]
                if isinstance(body, dict):
                    where[item] = body["place"]
                elif where[item] == "bench":
                    body = body[::-1]
                got = own.must_post(body)
                with lock:
                    acknowledged[0] += len(got["entries"])
                    acknowledged[1] += 1
        except Exception as e:  # noqa: BLE001 the main thread tells
            trouble.append(e)
        own.close()

    where = dict.fromkeys(items, "fridge")
    for item in items:
        work(item, posts // 8, False)
    threads = [threading.Thread(target=work, args=(item, posts // 8, True)) for item in items]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    client.close()
    if trouble:
        raise trouble[0]
    return acknowledged


def traced(binary, posts, env):
    with Database() as database:
        token, trace = add_token(binary, database.url), os.path.join(database.folder, "trace")
        service = Service(binary, database, env=env, before=[
            "strace", "-f", "-ttt", "-yy", "-s", "100000", "-o", trace, "-e", "trace=" + CALLS, "-e", "signal=none"])
        try:
            acknowledged = load(service, token, posts)
            service.stop()
        finally:
            service.kill()
        with open(trace, encoding="latin-1") as lines:
            calls = read_calls(lines)
    said, entries, wrong = wanting(calls)
    if [entries, said] != acknowledged:
        raise Trouble("%s entries and answers were acknowledged, traced were %s" % (acknowledged, [entries, said]))
    syncs = sum(1 for c in calls if c.name in SYNCS and c.file.endswith("-wal"))
    if syncs and not wrong:
        must_bite(calls)
    return said, entries, syncs, wrong


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("binary")
    asked.add_argument("--posts", type=int, default=200)
    asked = asked.parse_args()
    began = time.monotonic()
    said, entries, syncs, wrong = traced(asked.binary, asked.posts, {"COUNTERCLOCK_TEST_SYNCHRONOUS": ""})
    print("%d answers 201 with %d entries traced, %d synchronisations of the log, %d answers wanting; %.0f s"
          % (said, entries, syncs, len(wrong), time.monotonic() - began), flush=True)
    if wrong:
        raise Trouble("\n".join(wrong[:10]))
    began = time.monotonic()
    said, entries, syncs, wrong = traced(asked.binary, asked.posts, {"COUNTERCLOCK_TEST_SYNCHRONOUS": "OFF"})
    print("with synchronous=OFF: %d answers 201 with %d entries traced, %d synchronisations of the log, %d answers "
          "wanting; %.0f s" % (said, entries, syncs, len(wrong), time.monotonic() - began))
    if len(wrong) != said:
        raise Trouble("with synchronous=OFF every answer must be found wanting, else this check proves nothing")
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except Trouble as trouble:
        print(trouble)
        sys.exit(1)
