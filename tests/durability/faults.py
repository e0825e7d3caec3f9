"""What a shop's years bring, on the real program: a full disk, no descriptors left, a clock that is set, a spoiled file, slow
guests, a panic, an operator who stops it in the middle of a write. Nothing acknowledged is lost, nothing is half there, and
what is wrong is said.

    faults.py BINARY [--db-url postgres://…] [--only NAME]

Without --db-url everything on SQLite; with it what another database doesn't answer for by itself.

Guards against S-20, S-67, S-68, S-69, S-70, S-71, S-72 of SAFETY.md.
"""

import argparse
import concurrent.futures
import csv
import http.client
import io
import json
import os
import random
import re
import resource
import shutil
import socket
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from glob import glob

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "outside"))
from program import Client, Database, Service, Trouble, Unanswered, add_token, command, environment  # noqa: E402

PLACES = [{"kind": "place", "place": "fridge", "name": "Fridge", "control": "cold"},
          {"kind": "place", "place": "bench", "name": "Bench", "control": "none"}]
SLOW, SLOW_GONE_S, MOVE_P99_S = 2_000, 15, 0.2
STREAMS, STOPPED_S = 100, 5
DESCRIPTORS = 4_096


def must(holds, said):
    if not holds:
        raise Trouble(said)


class Shop:
    """A database with a shop, its token, and a service that can be started anew."""

    def __init__(self, asked, env=None, **how):
        self.binary, self.env, self.how = asked.binary, env, how
        self.database = Database(asked.db_url)
        self.token = add_token(asked.binary, self.database.url)
        self.service = None
        self.start()
        client = self.client()
        client.must_post(PLACES)
        client.must_post({"kind": "item", "item": "tub", "name": "Tub", "place": "fridge", "rules": ["sum-2h-4h"]})
        client.close()

    def start(self, **how):
        self.service = Service(self.binary, self.database, env=self.env, **{**self.how, **how})

    def client(self, patience=30):
        return Client(self.service.address, self.token, patience=patience)

    def check(self):
        command(self.binary, "check", "--db", self.database.url)

    def log(self):
        with open(os.path.join(self.database.folder, "log"), errors="replace") as file:
            return file.read()

    def file(self):
        return self.database.url.removeprefix("sqlite://")

    def __enter__(self):
        return self

    def __exit__(self, *_):
        try:
            if self.service:
                self.service.kill()
        finally:
            self.database.__exit__()


def move(n):
    return {"kind": "move", "item": "tub", "place": ("bench", "fridge")[n % 2]}


def page(address, token, path):
    """A page, as whoever signed in with the token sees it."""
    c = http.client.HTTPConnection(address, timeout=30)
    c.request("POST", "/sign-in", "token=" + token, {"Content-Type": "application/x-www-form-urlencoded"})
    answer = c.getresponse()
    answer.read()
    cookie = (answer.getheader("Set-Cookie") or "").split(";")[0]
    must(cookie, "signing in brought no cookie: %d" % answer.status)
    c.request("GET", path, headers={"Cookie": cookie})
    answer = c.getresponse()
    text = answer.read().decode()
    c.close()
    return answer.status, text


def ready(address):
    c = http.client.HTTPConnection(address, timeout=30)
    c.request("GET", "/readyz")
    text = c.getresponse().read()
    c.close()
    return json.loads(text)


def until(found, seconds, what):
    """Looks again and again until `found()` is something."""
    end = time.monotonic() + seconds
    while True:
        got = found()
        if got:
            return got
        must(time.monotonic() < end, "after %d s still not: %s" % (seconds, what))
        time.sleep(0.1)


def many_descriptors():
    hard = resource.getrlimit(resource.RLIMIT_NOFILE)[1]
    resource.setrlimit(resource.RLIMIT_NOFILE, (hard, hard))


def connect(address):
    host, port = address.rsplit(":", 1)
    s = socket.create_connection((host, int(port)), timeout=30)
    s.setblocking(False)
    return s


def connect_all(address, number):
    """Several at a time: they are to be there at once."""
    with concurrent.futures.ThreadPoolExecutor(32) as pool:
        return list(pool.map(connect, [address] * number))


def gone(s):
    """Whether the other side has ended it. What it still said is thrown away."""
    try:
        while True:
            if not s.recv(65_536):
                return True
    except BlockingIOError:
        return False
    except OSError:
        return True


# --- The cases -----------------------------------------------------------------------------------------------------------


def a_stop_in_the_middle(asked):
    with Shop(asked) as shop:
        heard = []
        for _ in range(STREAMS):
            s = connect(shop.service.address)
            s.setblocking(True)
            s.sendall(("GET /s/shop/api/stream HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\n\r\n" % shop.token).encode())
            must(b" 200 " in s.recv(4096), "a stream isn't answered")
            heard.append(s)
        # Somebody else holds the ledger, so that the write is under way when the stop comes.
        if asked.db_url:
            held = subprocess.Popen(["psql", "-X", "-q", "-A", "-t", "-d", shop.database.url], text=True,
                                    stdin=subprocess.PIPE, stdout=subprocess.PIPE)
            held.stdin.write("begin; update site set head = head; select 'held';\n")
            held.stdin.flush()
            must(held.stdout.readline() == "held\n", "the site's row isn't held")

            def release():
                time.sleep(0.5)
                held.communicate("rollback;\n")
        else:
            other = sqlite3.connect(shop.file(), isolation_level=None)
            other.execute("begin immediate")

            def release():
                time.sleep(0.5)
                other.execute("rollback")
                other.close()
        answers = []
        client = shop.client()
        writing = threading.Thread(target=lambda: answers.append(client.post(move(0), "in-flight")))
        writing.start()
        time.sleep(0.2)  # on its way to the writer
        must(not answers, "the write was not under way when the stop came")
        begun = time.monotonic()
        shop.service.process.terminate()
        release()
        code = shop.service.process.wait(60)
        took = time.monotonic() - begun
        writing.join(10)
        must(code == 0 and took < STOPPED_S, "it ended with %d after %.1f s" % (code, took))
        must(answers and answers[0][0] == 201, "the write in flight was answered with %s" % answers)
        for s in heard:
            s.settimeout(5)
            while s.recv(65_536):
                pass
            s.close()
        shop.start()
        client = shop.client()
        must(client.tail()[-1]["kind"] == "move", "the write that was acknowledged isn't there")
        client.close()
        shop.check()
        return "stopped after %.2f s with %d streams open; the write in flight was answered 201 and is there" % (took, STREAMS)


def slow_guests(asked):
    many_descriptors()
    with Shop(asked) as shop:
        head = ("POST /s/shop/api/entries HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nAuthorization: Bearer %s\r\n"
                "Content-Length: 4000\r\n\r\n" % shop.token).encode()
        slowly = b"GET / HTTP/1.1\r\nX-Slow: " + b"a" * 100
        guests = [(s, slowly if n % 2 else b" " * len(slowly)) for n, s in enumerate(connect_all(shop.service.address, SLOW))]
        begun = time.monotonic()
        # Half of them take their time over the head of the request, half over its body.
        for s, _ in guests[::2]:
            s.send(head)
        client, times, stop = shop.client(), [], threading.Event()

        def moves():
            n = 0
            while not stop.is_set():
                t = time.monotonic()
                status, text = client.post(move(n))
                times.append(time.monotonic() - t)
                must(status == 201, "a move was answered %d: %s" % (status, text))
                n += 1
                stop.wait(0.02)
        mover = threading.Thread(target=moves)
        mover.start()
        left, gone_after, second = guests, None, 0
        try:
            while left and time.monotonic() - begun < SLOW_GONE_S + 5:
                tick = time.monotonic()
                for s, text in left:
                    try:
                        s.send(text[second:second + 1])
                    except OSError:
                        pass  # looked at next
                left = [(s, text) for s, text in left if not gone(s)]
                gone_after, second = time.monotonic() - begun, second + 1
                stop.wait(max(0, 1 - (time.monotonic() - tick)))
        finally:
            stop.set()
            mover.join()
            for s, _ in guests:
                s.close()
        must(not left and gone_after < SLOW_GONE_S, "%d of %d are still there after %.1f s" % (len(left), SLOW, gone_after))
        times.sort()
        p99 = times[int(len(times) * 0.99)]
        must(len(times) > 100 and p99 < MOVE_P99_S, "p99 of %d moves was %.0f ms" % (len(times), p99 * 1000))
        client.close()
        shop.service.stop()
        shop.check()
        return "%d connections at a byte a second: gone after %.1f s; %d moves meanwhile, p99 %.0f ms" % (
            SLOW, gone_after, len(times), p99 * 1000)


def no_descriptors(asked):
    many_descriptors()
    with Shop(asked, before=["prlimit", "--nofile=%d:%d" % (DESCRIPTORS, DESCRIPTORS)], execs=True) as shop:
        known = shop.client()
        known.must_post(move(0))
        idle = connect_all(shop.service.address, DESCRIPTORS + 200)
        most = len(os.listdir("/proc/%d/fd" % shop.service.pid))
        must(most > DESCRIPTORS - 200, "only %d descriptors are in use: this proves little" % most)
        # Whoever was there before them is served all the while.
        known.must_post(move(1))
        known.must_get("items")
        until(lambda: all([gone(s) for s in idle]), 40, "those who ask for nothing are cut off")
        for s in idle:
            s.close()
        fresh = shop.client()
        fresh.must_post(move(2))
        fresh.close()
        known.close()
        shop.service.stop()
        shop.check()
        return "%d descriptors of %d in use: a move on a line that was there is answered, and all others once they are gone" % (
            most, DESCRIPTORS)


def a_writer_that_panics(asked):
    with Shop(asked, env={"COUNTERCLOCK_TEST_PANIC": "panic-now"}) as shop:
        client = shop.client()
        told = client.must_post(move(0))["entries"]
        try:
            status, _ = client.post({**move(1), "note": "panic-now"})
            must(status == 503, "it was answered %d" % status)
        except Unanswered:
            pass
        code = shop.service.process.wait(30)
        must(code == 70, "it ended with %d" % code)
        said = "the writer ended; so does the program"
        must(said in shop.log(), "it did not say why it ended:\n" + shop.log())
        must("a fault in the program" in shop.log() and "panic_if_asked" not in shop.log(), "the panic is no event:\n" + shop.log())
        shop.env = None
        shop.start()
        client = shop.client()
        tail = client.tail()
        must(tail[-1]["hash"] == told[0]["hash"], "what was acknowledged isn't the end of the ledger")
        client.must_post(move(1))
        client.close()
        shop.service.stop()
        shop.check()
        return "it ended with 70 and said so; what was acknowledged is there"


def a_full_disk(asked):
    folder = os.path.join("/tmp", "counterclock-full-%d" % os.getpid())
    os.mkdir(folder)
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=12m", "tmpfs", folder], capture_output=True).returncode == 0
    shop = None
    try:
        how = {} if mounted else {"before": ["env", "--ignore-signal=XFSZ", "prlimit", "--fsize=2000000:"], "execs": True}
        database = Database()
        database.url = "sqlite://%s/shop.db" % folder  # its log goes elsewhere
        shop = Shop.__new__(Shop)
        shop.binary, shop.env, shop.how, shop.database = asked.binary, None, how, database
        shop.token, shop.service = add_token(asked.binary, database.url), None
        shop.start()
        client = shop.client()
        client.must_post(PLACES)
        client.must_post({"kind": "item", "item": "tub", "name": "Tub", "place": "bench", "rules": ["sum-2h-4h"]})
        filler = os.path.join(folder, "filler")
        if mounted:
            room = os.statvfs(folder)
            with open(filler, "wb") as file:
                file.write(bytes(max(0, room.f_bavail * room.f_frsize - 3_000_000)))
        kept, n = 0, 0
        while True:
            seen = [{"kind": "seen", "item": "tub", "place": "bench", "note": "%d.%d %s" % (n, i, "x" * 400)} for i in range(20)]
            status, text = client.post(seen, "full-%d" % n)
            if status != 201:
                break
            kept += len(json.loads(text)["entries"])
            n += 1
            must(n < 2_000, "it is never full")
        # A limit on files is an error of the disk to SQLite, after which it can't be known whether the commit is on it.
        codes = ("not-recorded",) if mounted else ("not-recorded", "unknown-outcome")
        must(status == 503 and json.loads(text)["code"] in codes, "a full disk was answered %d: %s\n%s" % (status, text, shop.log()))
        must("disk" in shop.log() or "full" in shop.log(), "the log doesn't say that the disk is full:\n" + shop.log())
        # Reading goes on, and a record that is taken now is whole.
        head = client.head()
        status, record = client.get("record.jsonl")
        must(status == 200, "the record was answered %d" % status)
        saved = os.path.join("/tmp", "counterclock-full-%d.jsonl" % os.getpid())
        with open(saved, "w") as file:
            file.write(record)
        command(asked.binary, "verify", saved)
        os.remove(saved)
        if mounted:
            backup = os.path.join(folder, "backup.db")
            done = subprocess.run([asked.binary, "backup", "--db", database.url, backup], capture_output=True, text=True)
            must(done.returncode != 0 and done.stderr.strip(), "a backup onto a full disk went well")
            must(not os.path.exists(backup) and not os.path.exists(backup + ".part"), "a part of a backup was left")
            os.remove(filler)
        else:
            subprocess.run(["prlimit", "--pid", str(shop.service.pid), "--fsize=unlimited:"], check=True)
        status, text = until(lambda: (lambda a: a if a[0] == 201 else None)(client.post(seen, "full-%d" % n)), 20, "room again")
        must(client.head() == head + 20, "the request that was refused is there by halves, or twice")
        client.close()
        shop.service.stop()
        shop.check()
        return "%s: full after %d entries, answered 503; the record whole; taken again once there was room" % (
            "tmpfs of 12 MB" if mounted else "no mounts here, RLIMIT_FSIZE of 2 MB", kept)
    finally:
        if shop:
            shop.__exit__()
        if mounted:
            subprocess.run(["umount", folder], check=True)
        shutil.rmtree(folder, ignore_errors=True)


def a_clock_that_is_set(asked):
    library = glob("/usr/lib/*/faketime/libfaketimeMT.so.1")
    must(library, "libfaketime is missing (Debian: apt-get install faketime)")
    file = os.path.join("/tmp", "counterclock-clock-%d" % os.getpid())

    def put(ahead):
        with open(file + ".new", "w") as f:
            f.write("%+d\n" % ahead)
        os.replace(file + ".new", file)
    put(0)
    env = {"LD_PRELOAD": library[0], "FAKETIME_DONT_FAKE_MONOTONIC": "1", "NO_FAKE_STAT": "1",
           "FAKETIME_TIMESTAMP_FILE": file, "FAKETIME_NO_CACHE": "1"}
    try:
        with Shop(asked, env=env) as shop:
            client, last = shop.client(), ""

            def post(entry, ahead):
                nonlocal last
                entry = client.must_post(entry)["entries"][0]
                at = time.mktime(time.strptime(entry["at"][:19], "%Y-%m-%dT%H:%M:%S")) - time.timezone
                must(abs(at - time.time() - ahead) < 5, "the program did not see the clock at %+d s: %s" % (ahead, entry["at"]))
                must(entry["recorded_at"] >= last, "recorded_at ran back: %s after %s" % (entry["recorded_at"], last))
                last = entry["recorded_at"]
                return entry

            def day(off):
                return time.strftime("%Y-%m-%d", time.gmtime(time.time() + off * 86_400))

            def jumps():
                rows = csv.reader(io.StringIO(client.get("record.csv", table="clock", **{"from": day(-2)}, to=day(2))[1].lstrip("\ufeff")))
                return [row for row in rows if "jump" in row]

            def decisions(n):
                _, text = page(shop.service.address, shop.token, "/s/shop/decisions")
                must(len(re.findall(r'class="matter m-clock', text)) == n, "not %d jumps wait for a decision" % n)
            post(move(0), 0)
            put(-3600)
            until(lambda: len(jumps()) == 1, 30, "the jump back is in the record")
            decisions(1)
            # The tub began later than that: nothing is written of it. What is new has the clock's time.
            status, text = client.post(move(1))
            must(status == 409 and json.loads(text)["code"] == "before-beginning", "it was answered %d: %s" % (status, text))
            post({"kind": "item", "item": "pot", "name": "Pot", "place": "fridge", "rules": ["sum-2h-4h"]}, -3600)
            put(86_400)
            until(lambda: len(jumps()) == 2, 30, "the jump forward is in the record")
            wrong = post(move(1), 86_400)
            decisions(2)
            # Set right again, what was written with a clock a day fast can be put right.
            put(0)
            until(lambda: len(jumps()) == 3, 30, "the clock that was set right is in the record")
            decisions(3)
            now = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime())
            client.must_post({"kind": "correct", "entry": wrong["seq"], "set": {"at": now}, "reason": "The clock was a day fast."})
            post({"kind": "move", "item": "tub", "place": "bench"}, 0)
            standing = client.must_get("items/tub")["standing"]
            must(standing["total_out_ms"] < 120_000 and standing["verdict"] == "within", "it isn't right again: %s" % standing)
            client.close()
            shop.service.stop()
            shop.check()
            return "seen by the program at 0, -1 h and +1 day; recorded_at never ran back; each jump waits for a decision"
    finally:
        os.remove(file)


def load(shop, entries):
    client, told = shop.client(), []
    for n in range(entries):
        told += client.must_post({**move(n), "note": "n%d" % n})["entries"]
    client.close()
    return told


def a_truncated_log(asked, rng):
    """Only the disk can lose what was written; what is there then must be a beginning of the ledger, whole in itself."""
    lost = 0
    for _ in range(6):
        with Shop(asked) as shop:
            told = load(shop, 60)
            shop.service.kill()
            wal = shop.file() + "-wal"
            size = os.path.getsize(wal)
            os.truncate(wal, rng.randrange(size // 3, size))
            shop.check()
            shop.start()
            client = shop.client()
            tail = client.tail()
            hashes = {e["seq"]: e["hash"] for e in told}
            must(all(hashes.get(e["seq"], e["hash"]) == e["hash"] for e in tail), "what is there isn't what was written")
            missing = [e for e in told if e["seq"] > tail[-1]["seq"]]
            lost += len(missing)
            if missing:
                head = "%d:%s" % (told[-1]["seq"], told[-1]["hash"][:12])
                done = subprocess.run([asked.binary, "check", "--db", shop.database.url, "--head", head], capture_output=True, text=True)
                must(done.returncode == 1, "a head that was given out and is gone is not missed: " + done.stdout)
            client.must_post({"kind": "seen", "item": "tub", "place": "bench"})
            client.close()
            shop.service.stop()
            shop.check()
    must(lost, "nothing was lost by it: this proved little")
    return "6 times: what is left is a beginning of the ledger and verifies; the %d that the disk lost are missed by --head" % lost


def a_flipped_byte(asked, rng):
    with Shop(asked) as shop:
        load(shop, 300)
        shop.service.stop()
        file = shop.file()
        with open(file, "rb") as f:
            whole = f.read()
        lines = sqlite3.connect(file).execute("select seq, line from entry order by seq").fetchall()
        refused = started = 0
        for n, (seq, line) in enumerate(rng.sample(lines, 10)):
            text = line.encode()
            # A page that was split may still hold an old copy: every one is spoiled.
            begins = [m.start() for m in re.finditer(re.escape(text), whole)]
            must(begins, "entry %d isn't in one piece" % seq)
            at, bit, spoiled = rng.randrange(len(text)), 1 << rng.randrange(7), bytearray(whole)
            if n == 0:
                # A digit of the hash is another: it can be read, so only the pass over the chain finds it.
                at, bit = text.index(b'"hash":"') + 8, 1
            for begin in begins:
                spoiled[begin + at] ^= bit
            with open(file, "wb") as f:
                f.write(spoiled)
            what = "entry %d" % seq
            done = subprocess.run([asked.binary, "check", "--db", shop.database.url], capture_output=True, text=True)
            must(done.returncode == 1 and what in done.stdout + done.stderr,
                 "check says of %s at %d: %s%s" % (what, at, done.stdout, done.stderr))
            os.truncate(os.path.join(shop.database.folder, "log"), 0)
            try:
                shop.start()
            except Trouble as said:
                # What is still open is read at the start.
                must(what in str(said) and "restore" in str(said), "it doesn't start, and says: %s" % said)
                refused += 1
                continue
            started += 1
            until(lambda: ready(shop.service.address)["broken"] == 1, 30, "the background pass finds it")
            must("entry %d" % seq in shop.log() and "restore" in shop.log(), "the log names neither it nor a way out: " + shop.log())
            client = shop.client()
            status, answer = client.post(move(0))
            must(status == 503 and what in json.loads(answer)["detail"] and "restore" in json.loads(answer)["detail"],
                 "a move was answered %d: %s" % (status, answer))
            client.must_get("items")
            client.close()
            shop.service.stop()
        with open(file, "wb") as f:
            f.write(whole)
        shop.check()
        shop.start()
        client = shop.client()
        client.must_post(move(0))
        client.close()
        must(started, "it never started with one: the background pass was not seen")
        return "10 bytes in 10 entries: each named by check; %d times it doesn't start and says why, %d times the background " \
               "pass names it and nothing more is written" % (refused, started)


def a_restore_beside_an_old_log(asked):
    with Shop(asked) as shop:
        load(shop, 40)
        backup = os.path.join(shop.database.folder, "backup.db")
        command(asked.binary, "backup", "--db", shop.database.url, backup)
        told = load(shop, 40)
        shop.service.kill()
        file = shop.file()
        must(os.path.getsize(file + "-wal") > 0, "there is no log to be stale")
        stale = os.path.join(shop.database.folder, "stale")
        shutil.copy(file + "-wal", stale)
        # As the operator's page says: the old database goes aside, `restore` fills a new one; the log was forgotten.
        os.rename(file, file + ".old")
        command(asked.binary, "restore", backup, "--db", shop.database.url)
        shop.check()

        def entries():
            return sqlite3.connect(file).execute("select count(*) from entry").fetchone()[0]
        kept = entries()
        must(kept < told[-1]["seq"], "what was written after the backup came back by itself")
        # As somebody in a hurry: the backup copied over the database, the old log still beside it.
        for end in ("", "-wal", "-shm"):
            if os.path.exists(file + end):
                os.remove(file + end)
        shutil.copy(backup, file)
        shutil.copy(stale, file + "-wal")
        done = subprocess.run([asked.binary, "check", "--db", shop.database.url], capture_output=True, text=True)
        must(done.returncode != 0 or entries() in (kept, told[-1]["seq"]), "a mixture passes for a ledger: " + done.stdout)
        mixed = "is named by check" if done.returncode else "is a whole ledger"
        return "`restore` fills a new database and the old log doesn't come back; a backup copied beside it %s" % mixed


def two_programs(asked):
    with Shop(asked) as shop:
        done = subprocess.run([asked.binary, "serve", "--listen", "127.0.0.1:0", "--db", shop.database.url],
                              capture_output=True, text=True, timeout=30, env=environment(None))
        must(done.returncode != 0 and "already" in done.stderr, "a second program serves the same file: " + done.stdout + done.stderr)
        client = shop.client()
        client.must_post(move(0))
        client.close()
        # A backup and a check may go on beside.
        shop.check()
        shop.service.kill()
        shop.start()
        return "the second says that another serves the file, and what to do; after a SIGKILL nothing keeps the next out"


def told_to_the_service_manager(asked):
    """As systemd's protocol has it (sd_notify(3)): ready, alive again and again, stopping."""
    folder = tempfile.mkdtemp(prefix="counterclock-notify-")
    path = os.path.join(folder, "notify")
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(path)
        manager.settimeout(20)
        try:
            with Shop(asked, env={"NOTIFY_SOCKET": path, "WATCHDOG_USEC": "1500000"}) as shop:
                heard = [manager.recv(4096).decode().strip() for _ in range(4)]
                must(heard == ["READY=1"] + ["WATCHDOG=1"] * 3, "the manager heard %s" % heard)
                # Somebody holds the ledger: its writer hangs, and no more is said.
                if not asked.db_url:
                    other = sqlite3.connect(shop.file(), isolation_level=None)
                    other.execute("begin immediate")
                    client = shop.client()
                    writing = threading.Thread(target=client.post, args=(move(0),))
                    writing.start()
                    manager.settimeout(2)
                    try:
                        for _ in range(3):
                            manager.recv(4096)
                        raise Trouble("it says that it is alive while its writer hangs")
                    except TimeoutError:
                        pass
                    other.execute("rollback")
                    manager.settimeout(20)
                    must(manager.recv(4096).strip() == b"WATCHDOG=1", "it isn't alive again")
                    writing.join()
                shop.service.stop()
                heard = []
                while not heard or heard[-1] != "STOPPING=1":
                    heard.append(manager.recv(4096).decode().strip())
                return "READY=1, WATCHDOG=1 while every writer takes its turn, STOPPING=1"
        finally:
            shutil.rmtree(folder)


WAITS = [a_clock_that_is_set]  # for the next look at the clock: it goes on beside the others
BOTH = [a_stop_in_the_middle, slow_guests, no_descriptors, a_writer_that_panics, told_to_the_service_manager]
SQLITE = [a_full_disk, a_truncated_log, a_flipped_byte, a_restore_beside_an_old_log, two_programs]


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("binary")
    asked.add_argument("--db-url", default=None)
    asked.add_argument("--only", default=None, help="a part of a case's name; several with commas")
    asked.add_argument("--seed", default=str(random.SystemRandom().randrange(10 ** 9)))
    asked = asked.parse_args()
    print("seed %s" % asked.seed, flush=True)

    def run(case):
        name = case.__name__.replace("_", " ")
        if asked.only and not any(part in name for part in asked.only.split(",")):
            return
        begun = time.monotonic()
        rng = [random.Random("%s %s" % (name, asked.seed))] if case in (a_truncated_log, a_flipped_byte) else []
        try:
            said = case(asked, *rng)
        except Trouble as trouble:
            raise Trouble("%s: %s" % (name, trouble)) from None
        print("%s: %s; %.0f s" % (name, said, time.monotonic() - begun), flush=True)

    with concurrent.futures.ThreadPoolExecutor() as beside:
        waiting = [beside.submit(run, case) for case in WAITS]
        for case in BOTH + ([] if asked.db_url else SQLITE):
            run(case)
        for one in waiting:
            one.result()
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except Trouble as trouble:
        print(trouble)
        sys.exit(1)
