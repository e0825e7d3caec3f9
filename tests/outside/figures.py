"""`/metrics` and `doctor` of a running service: the text form is read by the Prometheus client library's own parser.

    figures.py BINARY
"""

import http.client
import os
import subprocess
import sys
import tempfile
import time

from prometheus_client.parser import text_string_to_metric_families as families

from program import Client, Database, add_token

failures = []


def check(what, true, more=""):
    print("%s: %s" % ("ok" if true else "FAILED", what), more if not true else "")
    if not true:
        failures.append(what)


def read(address):
    c = http.client.HTTPConnection(address, timeout=20)
    c.request("GET", "/metrics")
    answer = c.getresponse()
    text = answer.read().decode()
    check("it is answered", answer.status == 200, text)
    return {(s.name, tuple(sorted(s.labels.items()))): s.value for f in families(text) for s in f.samples}, text


def main():
    binary = sys.argv[1]
    with Database() as db, tempfile.TemporaryDirectory() as backups:
        token = add_token(binary, db.url).strip()
        program = subprocess.Popen(
            [binary, "serve", "--db", db.url, "--listen", "127.0.0.1:0", "--metrics-listen", "127.0.0.1:0", "--backup-dir", backups],
            env={**os.environ, "RUST_LOG": "warn"}, stdout=subprocess.PIPE, text=True)
        try:
            lines = [program.stdout.readline(), program.stdout.readline()]
            address = next(l for l in lines if l.startswith("listening")).strip().rpartition("/")[2]
            figures = next(l for l in lines if l.startswith("figures")).split("//")[1].split("/")[0]
            client = Client(address, token)
            client.must_post([{"kind": "place", "place": "bench", "name": "Bench", "control": "none"},
                              {"kind": "place", "place": "fridge", "name": "Fridge", "control": "cold"}])
            before = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(time.time() - 5 * 3600))
            client.must_post({"kind": "item", "item": "old", "name": "A name nobody is to read here", "place": "bench",
                              "rules": ["sum-2h-4h"], "at": before})
            client.must_post({"kind": "item", "item": "new", "name": "New", "place": "bench", "rules": ["sum-2h-4h"]})
            status, _ = client.post({"kind": "move", "item": "new", "place": "bench"})
            check("a refusal", status == 409)
            until = time.monotonic() + 20
            while not os.listdir(backups) and time.monotonic() < until:
                time.sleep(0.1)
            found, text = read(figures)
            shop = (("site", "shop"),)
            for name, labels, value in [
                ("counterclock_entries_total", (("kind", "place"),), 2),
                ("counterclock_entries_total", (("kind", "item"),), 2),
                ("counterclock_refusals_total", (("code", "already-there"),), 1),
                ("counterclock_items_open", shop, 2),
                ("counterclock_items_over_limit", shop, 1),
                ("counterclock_queue_requests", shop, 0),
                ("counterclock_stream_clients", shop, 0),
                ("counterclock_outbox_oldest_seconds", (), 0),
            ]:
                check("%s %s is %d" % (name, labels, value), found.get((name, labels)) == value, found.get((name, labels)))
            check("commits are timed", found[("counterclock_commit_seconds_count", ())] >= 3)
            check("the backup has an age", 0 <= found[("counterclock_backup_age_seconds", ())] < 60)
            check("nobody's name is in it", "nobody is to read" not in text)
            c = http.client.HTTPConnection(figures, timeout=20)
            c.request("GET", "/s/shop/")
            check("nothing else is there", c.getresponse().status == 404)
            c = http.client.HTTPConnection(address, timeout=20)
            c.request("GET", "/metrics")
            check("and it is nowhere else", c.getresponse().status == 404)
            os.chmod(db.url.removeprefix("sqlite://"), 0o640)
            told = subprocess.run([binary, "doctor", "--db", db.url, "--backup-dir", backups], capture_output=True, text=True)
            check("doctor finds nothing to be done", told.returncode == 0, told.stdout + told.stderr)
            os.chmod(db.url.removeprefix("sqlite://"), 0o644)
            told = subprocess.run([binary, "doctor", "--db", db.url], capture_output=True, text=True)
            looks = [l for l in told.stdout.splitlines() if l.startswith("LOOK")]
            check("and what is to be done, where there is", told.returncode == 1 and len(looks) == 2, told.stdout)
            missing = subprocess.run([binary, "doctor", "--db", "sqlite:///nowhere/x.db"], capture_output=True, text=True)
            check("a database that isn't there is not made", missing.returncode == 1 and "no database" in missing.stderr)
        finally:
            program.kill()
            program.wait()
    sys.exit(1 if failures else 0)


main()
