"""The service as a process of its own, and what a client needs to talk to it."""

import http.client
import json
import os
import select
import shutil
import signal
import subprocess
import tempfile
import time
import uuid
from urllib.parse import quote, urlsplit, urlunsplit


class Trouble(Exception):
    """Something is not as it must be."""


class Unanswered(Exception):
    """No whole answer came: what was asked for may or may not have been done."""


class Database:
    """A fresh database: a file of its own, or one on the given PostgreSQL server, and gone afterwards."""

    def __init__(self, server=None):
        self.folder = tempfile.mkdtemp(prefix="counterclock-")
        self.server, self.name = server, "counterclock_" + uuid.uuid4().hex
        if server:
            self._psql('create database "%s"' % self.name)
            self.url = urlunsplit(urlsplit(server)._replace(path="/" + self.name))
        else:
            self.url = "sqlite://%s/counterclock.db" % self.folder

    def _psql(self, sql):
        subprocess.run(["psql", "-X", "-q", "-v", "ON_ERROR_STOP=1", "-d", self.server, "-c", sql], check=True)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        if self.server:
            self._psql('drop database if exists "%s" with (force)' % self.name)
        shutil.rmtree(self.folder, ignore_errors=True)


def command(binary, *arguments, env=None):
    done = subprocess.run([binary, *arguments], capture_output=True, text=True, env=environment(env))
    if done.returncode != 0:
        raise Trouble("%s: exit %d\n%s%s" % (" ".join(arguments), done.returncode, done.stdout, done.stderr))
    return done.stdout


def environment(more):
    return {**os.environ, "RUST_LOG": "warn", **(more or {})}


def add_token(binary, url, zone="Europe/London", role="manager", env=None):
    return command(binary, "token", "add", "--name", "outside", "--role", role, "--site-zone", zone, "--db", url,
                   env=env).strip()


class Service:
    """`serve` on a free port; `before` is put before the command, as for a tracer, or for what becomes it (`execs`)."""

    def __init__(self, binary, database, env=None, before=(), execs=False, arguments=()):
        self.log = open(os.path.join(database.folder, "log"), "ab")
        self.process = subprocess.Popen(
            [*before, binary, "serve", "--listen", "127.0.0.1:0", "--db", database.url, *arguments],
            stdout=subprocess.PIPE, stderr=self.log, env=environment(env))
        self.traced = bool(before) and not execs
        line = self._first_line(60)
        if not line.startswith("listening on http://"):
            self.kill()
            with open(self.log.name, errors="replace") as log:
                raise Trouble("the service did not come up: %s%s" % (line, log.read()))
        self.address = line.strip().rpartition("/")[2]

    def _first_line(self, seconds):
        until, got = time.monotonic() + seconds, b""
        while not got.endswith(b"\n"):
            ready = select.select([self.process.stdout], [], [], max(0, until - time.monotonic()))[0]
            more = os.read(self.process.stdout.fileno(), 1) if ready else b""
            if not more:
                break
            got += more
        return got.decode()

    @property
    def pid(self):
        if not self.traced:
            return self.process.pid
        with open("/proc/%d/task/%d/children" % (self.process.pid, self.process.pid)) as children:
            return int(children.read().split()[0])

    def kill(self):
        """With SIGKILL: nothing of it runs any more. Harmless after it has ended."""
        if self.process.poll() is None:
            os.kill(self.pid, signal.SIGKILL)
        self._gone()

    def stop(self):
        """As an operator stops it; it must end well."""
        os.kill(self.pid, signal.SIGTERM)
        try:
            code = self.process.wait(60)
        except subprocess.TimeoutExpired:
            self.kill()
            raise Trouble("the service did not end within a minute of SIGTERM") from None
        self._gone()
        if code != 0:
            raise Trouble("the service ended with %d" % code)

    def _gone(self):
        self.process.wait()
        self.process.stdout.close()
        self.log.close()


class Client:
    """One connection, kept open."""

    def __init__(self, address, token, site="shop", patience=30):
        self.token, self.base = token, "/s/%s/api/" % site
        self.connection = http.client.HTTPConnection(address, timeout=patience)

    def ask(self, method, path, body=None, headers=()):
        """(status, text)."""
        headers = {"Authorization": "Bearer " + self.token, **dict(headers)}
        if body is not None:
            headers["Content-Type"] = "application/json"
        try:
            self.connection.request(method, self.base + path, body, headers)
            answer = self.connection.getresponse()
            return answer.status, answer.read().decode()
        except (OSError, http.client.HTTPException) as e:
            self.connection.close()
            raise Unanswered(str(e) or type(e).__name__) from None

    def post(self, body, key=None):
        """One entry or a list, as objects or already as text."""
        text = body if isinstance(body, str) else json.dumps(body)
        return self.ask("POST", "entries", text.encode(), {"Idempotency-Key": key} if key else {})

    def must_post(self, body):
        status, text = self.post(body)
        if status != 201:
            raise Trouble("%d for %s: %s" % (status, body, text))
        return json.loads(text)

    def get(self, path, **query):
        asked = "&".join("%s=%s" % (k, quote(str(v))) for k, v in query.items() if v is not None)
        return self.ask("GET", path + ("?" + asked if asked else ""))

    def must_get(self, path, **query):
        status, text = self.get(path, **query)
        if status != 200:
            raise Trouble("%d for %s %s: %s" % (status, path, query, text))
        return json.loads(text)

    def tail(self, after=0):
        found = []
        while True:
            page = self.must_get("entries", after=after, limit=1000)
            found += page["entries"]
            if not page["entries"] or page["entries"][-1]["seq"] >= page["head"]:
                return found
            after = found[-1]["seq"]

    def head(self):
        return self.must_get("entries", after=1 << 40)["head"]

    def close(self):
        self.connection.close()
