"""Three servers on one PostgreSQL database, 64 clients on several shops, one server killed every second, the database
killed once: nothing acknowledged is lost, nothing is there twice, every chain verifies, and every listener heard every
entry once and in order.

    servers.py BINARY [--seconds 30] [--clients 64] [--sites 4] [--seed S]

On a cluster of its own, since it kills it.
"""

import argparse
import http.client
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import threading
import time
import uuid

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "outside"))
sys.path.insert(0, HERE)
from kill import AGAIN, Till, must_bite, must_hold, set_up  # noqa: E402
from program import Client, Service, Trouble, Unanswered, add_token, command  # noqa: E402

LISTENERS = 2  # a site


class Cluster:
    """A PostgreSQL of its own."""

    def __init__(self):
        self.folder = tempfile.mkdtemp(prefix="counterclock-servers-")
        os.rmdir(self.folder)
        self.script = os.path.join(HERE, "..", "postgres.sh")
        started = subprocess.run(["sh", self.script, "start", self.folder, str(os.getpid())], check=True, capture_output=True, text=True)
        self.server = started.stdout.strip()
        name = "counterclock_" + uuid.uuid4().hex
        self.sql(self.server, 'create database "%s"' % name)
        self.url = self.server.rsplit("/", 1)[0] + "/" + name

    def sql(self, url, text):
        subprocess.run(["psql", "-X", "-q", "-v", "ON_ERROR_STOP=1", "-d", url, "-c", text], check=True)

    def crash(self):
        """SIGKILL to the database server, as when its machine runs out of memory; then it is started again."""
        as_user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
        binaries = subprocess.run(["pg_config", "--bindir"], capture_output=True, text=True).stdout.strip()
        if not os.path.exists(os.path.join(binaries or "/", "pg_ctl")):
            binaries = sorted(p for p in (os.path.join("/usr/lib/postgresql", v, "bin") for v in os.listdir("/usr/lib/postgresql")))[-1]
        port = self.server.rsplit(":", 1)[1].split("/")[0]
        with open(self.folder + "/data/postmaster.pid") as file:
            os.kill(int(file.readline()), signal.SIGKILL)
        until = time.monotonic() + 60
        # Its children end once they see that it is gone; before that another one doesn't start.
        while subprocess.run([*as_user, os.path.join(binaries, "pg_ctl"), "start", "--pgdata", self.folder + "/data", "--silent",
                              "--wait", "--log", self.folder + "/log", "--options", "-p " + port],
                             capture_output=True, cwd="/").returncode:
            if time.monotonic() > until:
                raise Trouble("the database server does not start again")
            time.sleep(0.2)

    def end(self):
        subprocess.run(["sh", self.script, "stop", self.folder], check=True)


class Shared:
    """What `Service` asks of a database."""

    def __init__(self, folder, url):
        self.folder, self.url = folder, url


class Servers:
    """Any of them may be asked; one that was killed is another at the same place in the list."""

    def __init__(self, binary, url, number):
        self.binary, self.url = binary, url
        self.folder = tempfile.mkdtemp(prefix="counterclock-servers-log-")
        self.all = [self.begin() for _ in range(number)]
        self.killed = 0

    def begin(self):
        until = time.monotonic() + 30
        while True:
            try:
                return Service(self.binary, Shared(self.folder, self.url))
            except Trouble:
                # The database may be restarting: a start then says so and ends.
                if time.monotonic() > until:
                    raise
                time.sleep(0.1)

    def address(self, rng):
        return rng.choice(self.all).address

    def kill_one(self):
        n = self.killed % len(self.all)
        self.all[n].kill()
        self.all[n] = self.begin()
        self.killed += 1


class Clerk(Till):
    """A client that goes to another server when one doesn't answer, with the same key."""

    def __init__(self, number, seed, site):
        super().__init__(number, seed)
        self.site, self.sends, self.retries = site, 0, 0

    def deliver(self, servers, token, over):
        client = None
        try:
            while not over.is_set():
                self.open = self.request()
                while self.open:
                    try:
                        client = client or Client(servers.address(self.rng), token, self.site, patience=15)
                        self.send(client)
                        self.sends += 1
                    except Unanswered:
                        self.retries += 1
                        client = None
                        time.sleep(0.02)
        except Exception as e:  # noqa: BLE001 the main thread tells
            self.trouble = e


class Listener:
    """Hears a shop's stream, going on where it was on whichever server answers."""

    def __init__(self, site, number):
        self.site, self.rng, self.heard, self.lines, self.wrong = site, random.Random("listener %s %d" % (site, number)), 0, {}, []

    def listen(self, servers, token, over):
        while not over.is_set():
            try:
                c = http.client.HTTPConnection(servers.address(self.rng), timeout=10)
                c.request("GET", "/s/%s/api/stream" % self.site, headers={"Authorization": "Bearer " + token, "Last-Event-ID": str(self.heard)})
                answer = c.getresponse()
                if answer.status != 200:
                    time.sleep(0.05)
                    continue
                while not over.is_set():
                    line = answer.readline()
                    if not line:
                        break
                    self.take(line.decode().rstrip("\n"))
            except (OSError, http.client.HTTPException, AttributeError):
                time.sleep(0.05)

    def take(self, line):
        if line.startswith("id: "):
            self.seq = int(line[4:])
        elif line.startswith("data: ") and getattr(self, "seq", None):
            if self.seq != self.heard + 1:
                self.wrong.append("%s: after %d comes %d" % (self.site, self.heard, self.seq))
            self.heard = self.seq
            self.lines[self.seq] = json.loads(line[6:])["hash"]
            self.seq = None


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("binary")
    asked.add_argument("--seconds", type=int, default=30)
    asked.add_argument("--clients", type=int, default=64)
    asked.add_argument("--sites", type=int, default=4)
    asked.add_argument("--seed", type=int, default=random.randrange(1 << 30))
    args = asked.parse_args()
    print("seed %d" % args.seed, flush=True)
    cluster = Cluster()
    try:
        run(args, cluster)
    finally:
        cluster.end()


def run(args, cluster):
    add_token(args.binary, cluster.url)
    sites = ["shop"] + ["shop-%d" % n for n in range(2, args.sites + 1)]
    for site in sites[1:]:
        cluster.sql(cluster.url, "insert into site (site, head, hash) values ('%s', 0, '%s')" % (site, "0" * 64))
    token = command(args.binary, "token", "add", "--name", "all", "--role", "manager", "--all", "--db", cluster.url).strip()
    servers = Servers(args.binary, cluster.url, 3)
    clerks = [Clerk(n, args.seed, sites[n % len(sites)]) for n in range(args.clients)]
    for clerk in clerks:
        clerk.trouble = None
    first = random.Random(args.seed)
    for site in sites:
        client = Client(servers.address(first), token, site)
        if site != "shop":
            client.must_post({"kind": "site", "name": site, "zone": "UTC", "units": "C"})
        set_up(client, [c for c in clerks if c.site == site])
    over, deaf = threading.Event(), threading.Event()
    listeners = [Listener(site, n) for site in sites for n in range(LISTENERS)]
    threads = [threading.Thread(target=c.deliver, args=(servers, token, over), daemon=True) for c in clerks]
    ears = [threading.Thread(target=each.listen, args=(servers, token, deaf), daemon=True) for each in listeners]
    for thread in threads + ears:
        thread.start()
    begun = time.monotonic()
    restarted = False
    for second in range(1, args.seconds + 1):
        time.sleep(max(0, begun + second - time.monotonic()))
        servers.kill_one()
        if not restarted and second >= args.seconds // 2:
            cluster.crash()
            restarted = True
    over.set()
    for thread in threads:
        thread.join(90)
    if any(t.is_alive() for t in threads):
        raise Trouble("a client hangs")
    for clerk in clerks:
        if clerk.trouble:
            raise clerk.trouble
    tails = {site: Client(servers.address(first), token, site).tail() for site in sites}
    until = time.monotonic() + 30
    behind = lambda: [e for e in listeners if e.heard < tails[e.site][-1]["seq"]]
    while behind() and time.monotonic() < until:
        time.sleep(0.05)
    deaf.set()
    for site in sites:
        mine = [c for c in clerks if c.site == site]
        must_hold(mine, tails[site])
    must_bite([c for c in clerks if c.site == "shop"], tails["shop"])
    for each in listeners:
        told = {e["seq"]: e["hash"] for e in tails[each.site]}
        if each.wrong or {n: h for n, h in each.lines.items() if n in told} != told:
            raise Trouble("a listener of %s heard otherwise: %s, %d of %d" % (each.site, each.wrong[:3], len(each.lines), len(told)))
    for server in servers.all:
        server.stop()
    command(args.binary, "check", "--db", cluster.url)
    entries, sends, retries = sum(len(t) for t in tails.values()), sum(c.sends for c in clerks), sum(c.retries for c in clerks)
    print("%d servers killed and the database restarted in %d s; %d requests acknowledged, %d sent again; %d entries in %d "
          "ledgers, each heard once and in order by %d listeners" %
          (servers.killed, time.monotonic() - begun, sends, retries, entries, len(sites), len(listeners)))


if __name__ == "__main__":
    main()
