"""Notices against other people's receivers: mail taken by aiosmtpd, webhooks verified by the `standardwebhooks` library.
At least once, under an id that stays: whoever drops repeats by id sees each exactly once, though the receivers are dead for
30 minutes of the test clock, and though the program is killed between sending and marking.

    notices.py BINARY

Guards against S-61 of SAFETY.md.
"""

import datetime
import email
import http.client
import http.server
import json
import os
import re
import signal
import socket
import ssl
import subprocess
import sys
import tempfile
import threading
import time
from urllib.parse import urlencode

from aiosmtpd.controller import Controller
from standardwebhooks.webhooks import Webhook

import standardwebhooks.webhooks as library
from program import Database, add_token

failures = []


def check(what, true, more=""):
    print("%s: %s" % ("ok" if true else "FAILED", what), more if not true else "")
    if not true:
        failures.append(what)


class Clock:
    """The machine's, ahead by what the file says."""

    def __init__(self, folder):
        self.file, self.ms = os.path.join(folder, "ahead"), 0
        self.ahead(0)

    def ahead(self, minutes):
        self.ms += int(minutes * 60_000)
        with open(self.file + ".new", "w") as f:
            f.write(str(self.ms))
        os.replace(self.file + ".new", self.file)

    def now(self):
        return datetime.datetime.now(datetime.timezone.utc) + datetime.timedelta(milliseconds=self.ms)


class Shifted(datetime.datetime):
    """The library refuses what is five minutes off: it is shown the test's clock."""

    clock = None

    @classmethod
    def now(cls, tz=None):
        return Shifted.clock.now().astimezone(tz)


class Hooks:
    """A receiver of webhooks: dead, or alive; it may kill whoever sends something new before it answers."""

    def __init__(self):
        self.followed = False
        self.seen, self.wrong, self.alive, self.kill, self.secret = [], [], True, None, None
        self.known = set()
        outer = self

        class Handler(http.server.BaseHTTPRequestHandler):
            def log_message(self, *_):
                pass

            def do_GET(self):
                outer.followed = True
                self.send_response(404)
                self.end_headers()

            def do_POST(self):
                body = self.rfile.read(int(self.headers["content-length"]))
                if self.path == "/redirects":
                    self.send_response(302)
                    self.send_header("location", "http://127.0.0.1:%d/in" % outer.port)
                    self.end_headers()
                    return
                if self.path == "/hangs":
                    time.sleep(40)
                    return
                if not outer.alive:
                    self.send_response(503)
                    self.end_headers()
                    return
                try:
                    Webhook(outer.secret).verify(body, dict(self.headers))
                except Exception as e:  # whatever the library says
                    outer.wrong.append(repr(e))
                outer.seen.append((self.headers["webhook-id"], json.loads(body)))
                if outer.kill and self.headers["webhook-id"] not in outer.known:
                    victim, outer.kill = outer.kill, None
                    victim.send_signal(signal.SIGKILL)
                    victim.wait()
                    return
                self.send_response(204)
                self.end_headers()

        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.server.daemon_threads = True
        self.port = self.server.server_address[1]
        threading.Thread(target=self.server.serve_forever, daemon=True).start()


class Mail:
    """A mail server: dead, or alive; it may kill whoever sends something new once it has the mail."""

    def __init__(self, port):
        self.port, self.seen, self.kill, self.controller = port, [], None, None
        self.known = set()

    async def handle_DATA(self, server, session, envelope):
        message = email.message_from_bytes(envelope.content)
        self.seen.append((message["message-id"], message["subject"], message))
        if self.kill and message["message-id"] not in self.known:
            victim, self.kill = self.kill, None
            victim.send_signal(signal.SIGKILL)
            victim.wait()
        return "250 taken"

    def begin(self):
        self.controller = Controller(self, hostname="127.0.0.1", port=self.port)
        self.controller.start()

    def end(self):
        if self.controller:
            self.controller.stop()
            self.controller = None


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


class Program:
    def __init__(self, binary, url, clock, smtp, more=None):
        self.binary, self.url, self.clock, self.more = binary, url, clock, more or {}
        self.smtp = smtp if isinstance(smtp, str) else "smtp://127.0.0.1:%d" % smtp
        self.port = free_port()
        self.process = None

    def begin(self):
        env = {**os.environ, "RUST_LOG": "warn", "COUNTERCLOCK_TEST_CLOCK": self.clock.file, **self.more}
        self.process = subprocess.Popen(
            [self.binary, "serve", "--db", self.url, "--listen", "127.0.0.1:%d" % self.port, "--site-zone", "UTC",
             "--smtp", self.smtp, "--mail-from", "Clock <clock@shop.example>",
             "--notify-private", "127.0.0.1"],
            env=env, stdout=subprocess.PIPE, text=True)
        line = self.process.stdout.readline()
        if not line.startswith("listening"):
            sys.exit("the service did not come up: %r" % line)
        return self.process

    def ask(self, method, path, token, body=None, kind="application/json"):
        c = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        c.request(method, path, body, {"authorization": "Bearer " + token, "content-type": kind})
        answer = c.getresponse()
        return answer.status, answer.read().decode()


def wait(what, holds, seconds=60):
    until = time.monotonic() + seconds
    while not holds():
        if time.monotonic() > until:
            check(what, False, "not within %d s" % seconds)
            return False
        time.sleep(0.05)
    return True


def once(pairs):
    """What whoever drops repeats by id is left with."""
    return dict((id, rest) for id, *rest in pairs)


def main():
    binary = sys.argv[1]
    with Database() as db, tempfile.TemporaryDirectory() as folder:
        clock = Clock(folder)
        Shifted.clock = clock
        library.datetime = Shifted
        hooks, mail = Hooks(), Mail(free_port())
        env = {"COUNTERCLOCK_TEST_CLOCK": clock.file}
        token = add_token(binary, db.url, zone="UTC", env=env).strip()
        program = Program(binary, db.url, clock, mail.port)
        program.begin()
        try:
            run(program, token, clock, hooks, mail)
        finally:
            program.process.kill()
            program.process.wait()
            mail.end()
    hanging(binary)
    by_tls(binary)
    sys.exit(1 if failures else 0)


def by_tls(binary):
    """Mail by TLS from the first byte: taken where the server's authority is trusted, and not sent where it isn't."""
    form = "application/x-www-form-urlencoded"
    with Database() as db, tempfile.TemporaryDirectory() as folder:
        subprocess.run([binary, "certificate", "--host", "127.0.0.1", "--out", folder], check=True, stdout=subprocess.DEVNULL)
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(os.path.join(folder, "server.crt"), os.path.join(folder, "server.key"))
        mail, clock = Mail(free_port()), Clock(folder)
        mail.controller = Controller(mail, hostname="127.0.0.1", port=mail.port, ssl_context=context)
        mail.controller.start()
        token = add_token(binary, db.url, zone="UTC").strip()
        try:
            for trusted in (False, True):
                more = {"SSL_CERT_FILE": os.path.join(folder, "authority.crt")} if trusted else {}
                program = Program(binary, db.url, clock, "smtps://127.0.0.1:%d" % mail.port, more)
                program.begin()
                if not trusted:
                    fields = {"name": "Owner", "way": "mail", "address": "owner@shop.example", "topic": "cold"}
                    program.ask("POST", "/s/shop/notices", token, urlencode(fields), form)
                    page = program.ask("GET", "/s/shop/notices", token)[1]
                    path = re.search(r'action="[^"]*(notices/[^/"]+/try)"', page).group(1)
                    program.ask("POST", "/s/shop/" + path, token, "", form)
                    wait("it was tried", lambda: "tried 1 times" in program.ask("GET", "/s/shop/notices", token)[1])
                    page = program.ask("GET", "/s/shop/notices", token)[1]
                    check("a server nobody vouches for gets no mail", not mail.seen and "ertificate" in page, page[-600:])
                else:
                    clock.ahead(2)
                    wait("one that is trusted does", lambda: len(mail.seen) == 1)
                    check("by TLS", len(mail.seen) == 1)
                program.process.kill()
                program.process.wait()
        finally:
            program.process.kill()
            mail.end()


def hanging(binary):
    """A mail server that takes the connection and says nothing."""
    with Database() as db, tempfile.TemporaryDirectory() as folder, socket.socket() as silent:
        silent.bind(("127.0.0.1", 0))
        silent.listen()
        clock = Clock(folder)
        token = add_token(binary, db.url, zone="UTC").strip()
        program = Program(binary, db.url, clock, silent.getsockname()[1])
        program.begin()
        try:
            form = "application/x-www-form-urlencoded"
            fields = {"name": "Owner", "way": "mail", "address": "owner@shop.example", "topic": "cold"}
            program.ask("POST", "/s/shop/notices", token, urlencode(fields), form)
            page = program.ask("GET", "/s/shop/notices", token)[1]
            path = re.search(r'action="[^"]*(notices/[^/"]+/try)"', page).group(1)
            program.ask("POST", "/s/shop/" + path, token, "", form)
            said = lambda: "did not answer in time" in program.ask("GET", "/s/shop/notices", token)[1]
            check("a mail server that hangs is given up for now", wait("it is said", said, 40) is not False)
            program.process.terminate()
            check("and keeps no stop waiting", program.process.wait(10) == 0)
        finally:
            program.process.kill()


def run(program, token, clock, hooks, mail):
    form = "application/x-www-form-urlencoded"

    def add(**fields):
        fields = {"name": fields.pop("name"), **fields}
        status, page = program.ask("POST", "/s/shop/notices", token, urlencode(fields, doseq=True), form)
        return status, page

    def target(name, path="/in"):
        status, page = add(name=name, way="webhook", address="http://127.0.0.1:%d%s" % (hooks.port, path),
                           topic=["discard", "cold"], lead="15")
        check("a webhook is added", status == 200, page[-300:])
        return re.search(r'id="the-secret">([^<]+)<', page).group(1)

    hooks.secret = target("Kitchen")
    status, _ = add(name="Owner", way="mail", address="owner@shop.example", topic=["discard", "cold"], lead="15")
    check("a mail address is added", status == 303)
    target("Sends elsewhere", "/redirects")
    target("Never answers", "/hangs")
    # A name that leads inside is found out as it is looked up.
    status, _ = add(name="Inside", way="webhook", address="https://localhost:%d/in" % hooks.port, topic="discard", lead="15")
    check("a name is taken", status == 200)
    entries = [
        {"kind": "place", "place": "bench", "name": "Bench", "control": "none", "use": "work"},
        {"kind": "place", "place": "fridge", "name": "Fridge", "control": "cold"},
        {"kind": "item", "item": "tub", "name": "Tub\u2028é", "rules": ["sum-2h-4h"], "place": "bench"},
        {"kind": "item", "item": "cake", "name": "Cake", "rules": ["sum-2h-4h"], "place": "bench"},
    ]
    status, text = program.ask("POST", "/s/shop/api/entries", token, json.dumps(entries))
    check("the shop is set up", status == 201, text)

    # Dead for 30 minutes of the clock, in steps of one: the mail server isn't there, the webhook answers 503.
    hooks.alive = False
    clock.ahead(3 * 60 + 44)
    tries = lambda: program.ask("GET", "/s/shop/notices", token)[1]
    clock.ahead(2)
    wait("it was tried while they were dead", lambda: "tried 1 times" in tries())
    for _ in range(28):
        clock.ahead(1)
        time.sleep(0.6)
    check("nothing was delivered", not hooks.seen and not mail.seen)
    check("what is wrong is said", "answered 503" in tries(), tries()[-2000:])
    hooks.alive = True
    mail.begin()
    # Two items, each fifteen and five minutes before its limit and at it: six notices to each receiver.
    until = time.monotonic() + 90
    while time.monotonic() < until:
        clock.ahead(2)
        time.sleep(0.3)
        if len(once(hooks.seen)) >= 6 and len(once(mail.seen)) >= 6:
            break
    check("the webhook got six", len(once(hooks.seen)) == 6, [s[1]["data"] for s in hooks.seen])
    check("the mail server got six", len(once(mail.seen)) == 6, [s[1] for s in mail.seen])
    told = sorted((b["data"]["item"], b["data"]["minutes"]) for (b,) in once(hooks.seen).values())
    check("each of them once", told == [(item, m) for item in ("cake", "tub") for m in (0, 5, 15)], told)
    check("each is of its type and time", all(b["type"] == "item.limit" and b["timestamp"].endswith("Z") for _, b in hooks.seen))
    check("the library verified every one", hooks.wrong == [], hooks.wrong[:3])

    # Killed between sending and marking: sent again, under the same id.
    for receiver, what in ((hooks, "webhook"), (mail, "mail")):
        if what == "mail":
            status, text = program.ask("POST", "/s/shop/api/entries", token, json.dumps({"kind": "restore", "place": "fridge"}))
            check("the cold is back", status == 201, text)
        # What had been sent when it was killed before may come again.
        known = receiver.known = set(once(receiver.seen))
        receiver.kill = program.process
        new = lambda: [id for id in once(receiver.seen) if id not in known]
        try:
            program.ask("POST", "/s/shop/api/entries", token, json.dumps({"kind": "lapse", "place": "fridge"}))
        except (OSError, http.client.HTTPException):
            pass  # it was killed before it could answer
        wait("the %s was sent" % what, new)
        wait("the program is dead", lambda: program.process.poll() is not None)
        first = new()[0]
        program.begin()
        # What it had taken is its own for two minutes; then anybody may send it.
        clock.ahead(3)
        wait("the %s was sent again" % what, lambda: [s[0] for s in receiver.seen].count(first) == 2)
        wait("both have it", lambda: len(once(hooks.seen)) == len(once(mail.seen)) == len(known) + 1)
        check("the %s again under the same id, and no other" % what, new() == [first], new())
    # How the day ended, with where the ledger ends.
    status, page = add(name="Office", way="webhook", address="http://127.0.0.1:%d/in" % hooks.port, topic="closing", closing="00:00")
    kitchen, hooks.secret = hooks.secret, re.search(r'id="the-secret">([^<]+)<', page).group(1)
    clock.ahead(1.1)
    closed = lambda: [b for _, b in hooks.seen if b["type"] == "day.closing"]
    wait("the day's end is told", lambda: closed())
    last = json.loads(program.ask("GET", "/s/shop/api/entries?after=%d" % (closed()[0]["data"]["head"]["seq"] - 1), token)[1])["entries"][0]
    check("with the ledger's head", closed()[0]["data"]["head"] == {"seq": last["seq"], "hash": last["hash"]}, closed()[0])
    check("and what is over", [o["item"] for o in closed()[0]["data"]["over"]] == ["cake", "tub"], closed()[0])
    check("once", len(closed()) == 1)
    page = tries()
    check("a redirect is not followed", "it redirects" in page and not hooks.followed)
    check("a name that leads inside is not reached", "leads into a private network" in page, page[-3000:])
    check("who never answers holds nobody up", wait("it is said of who never answers", lambda: "did not answer in time" in tries()))
    ids = [s[0] for s in mail.seen]
    check("message ids are of the sender's domain", all(re.fullmatch(r"<[0-9a-f]{32}@shop\.example>", i) for i in ids), ids[:2])
    check("mail says that a program wrote it", all(s[2]["auto-submitted"] == "auto-generated" for s in mail.seen))
    print("%d webhooks, %d by id; %d mails, %d by id" % (len(hooks.seen), len(once(hooks.seen)), len(mail.seen), len(once(mail.seen))))


main()
