"""Probes by MQTT, through Mosquitto: readings arrive, the broker goes and comes back, and what says nothing of now is refused.

    mqtt.py BINARY

Guards against S-63 of SAFETY.md.
"""

import http.client
import json
import os
import re
import socket
import subprocess
import sys
import tempfile
import time

from program import Database, add_token

failures = []
MOSQUITTO = "/usr/sbin/mosquitto"


def check(what, true, more=""):
    print("%s: %s" % ("ok" if true else "FAILED", what), more if not true else "")
    if not true:
        failures.append(what)


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


def wait(holds, seconds=40):
    until = time.monotonic() + seconds
    while not holds():
        if time.monotonic() > until:
            return False
        time.sleep(0.1)
    return True


class Broker:
    def __init__(self, folder):
        self.port, self.process = free_port(), None
        self.config = os.path.join(folder, "mosquitto.conf")
        with open(self.config, "w") as f:
            f.write("listener %d 127.0.0.1\nallow_anonymous true\npersistence true\npersistence_location %s/\n" % (self.port, folder))
            if os.geteuid() == 0:
                f.write("user root\n")

    def begin(self):
        self.process = subprocess.Popen([MOSQUITTO, "-c", self.config], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

        def answers():
            with socket.socket() as s:
                return s.connect_ex(("127.0.0.1", self.port)) == 0

        if not wait(answers):
            sys.exit("Mosquitto did not come up")

    def end(self):
        self.process.terminate()
        self.process.wait()

    def publish(self, topic, payload, *more):
        subprocess.run(["mosquitto_pub", "-h", "127.0.0.1", "-p", str(self.port), "-q", "1", "-t", topic, "-m", payload, *more], check=True)


def main():
    binary = sys.argv[1]
    with Database() as db, tempfile.TemporaryDirectory() as folder:
        token = add_token(binary, db.url, zone="UTC").strip()
        broker = Broker(folder)
        broker.begin()
        # Kept by the broker since last year, as it says; and since nobody knows when.
        broker.publish("cellar/old", json.dumps({"value": "25.0", "at": "2025-07-01T12:00:00Z"}), "-r")
        broker.publish("cellar/kept", "24.0", "-r")
        port = free_port()
        log = open(os.path.join(folder, "log"), "w+")
        program = subprocess.Popen(
            [binary, "serve", "--db", db.url, "--listen", "127.0.0.1:%d" % port, "--site-zone", "UTC",
             "--mqtt", "mqtt://127.0.0.1:%d" % broker.port, "--mqtt-topic", "cellar/t1=walk-in,cellar/f=case:F",
             "--mqtt-topic", "cellar/old=walk-in", "--mqtt-topic", "cellar/kept=walk-in", "--mqtt-topic", "cellar/x=nowhere"],
            env={**os.environ, "RUST_LOG": "info"}, stdout=subprocess.PIPE, stderr=log, text=True)
        try:
            assert program.stdout.readline().startswith("listening")

            def ask(method, path, body=None, kind="application/json"):
                c = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
                c.request(method, path, body, {"authorization": "Bearer " + token, "content-type": kind})
                answer = c.getresponse()
                return answer.status, answer.read().decode()

            def readings():
                entries = json.loads(ask("GET", "/s/shop/api/entries?limit=1000")[1])["entries"]
                return [(e["place"], e["value"], e["unit"], e["by"]) for e in entries if e["kind"] == "reading"]

            said = lambda: open(log.name).read()
            places = [{"kind": "place", "place": p, "name": p, "control": "cold"} for p in ("walk-in", "case")]
            check("the shop is set up", ask("POST", "/s/shop/api/entries", json.dumps(places))[0] == 201)
            check("the broker was found", wait(lambda: "the MQTT broker is there" in said()))
            broker.publish("cellar/t1", "3.21")
            check("a reading arrives, up to the next tenth", wait(lambda: len(readings()) == 1), said())
            check("as it was read", readings()[0][:3] == ("walk-in", "3.3", "C"), readings())
            broker.publish("cellar/f", json.dumps({"value": 38.0, "battery": 71}))
            check("one in Fahrenheit", wait(lambda: ("case", "38.0", "F") in [r[:3] for r in readings()]))
            broker.publish("cellar/t1", "3.2")
            broker.publish("cellar/t1", "5.0")
            check("within the minute only a warmer one", wait(lambda: len(readings()) == 3) and readings()[-1][1] == "5.0")
            for payload in ("warm", "1e9", "x" * 3000, "{"):
                broker.publish("cellar/t1", payload)
            broker.publish("cellar/x", "4.0")
            broker.publish("cellar/other", "4.0")
            subprocess.run(["mosquitto_pub", "-h", "127.0.0.1", "-p", str(broker.port), "-t", "cellar/t1", "-s"],
                           input=b"y" * 200_000, check=True)
            check("what is no reading is said", wait(lambda: "that is not a temperature" in said()), said())
            check("a place that isn't there is said", wait(lambda: "not-found" in said()), said())
            check("what the broker had kept is refused", "doesn't say when it was read" in said(), said())
            check("and what is of last year", "more than an hour old" in said(), said())
            # It goes, and comes back.
            broker.end()
            check("that it went is said once", wait(lambda: "cannot be heard" in said()))
            time.sleep(2)
            check("and once only", said().count("cannot be heard") <= 2, said())
            check("the service goes on", ask("GET", "/healthz")[0] == 200)
            broker.begin()
            check("it is found again", wait(lambda: said().count("the MQTT broker is there") >= 2), said())
            broker.publish("cellar/t1", "7.5")
            check("and heard", wait(lambda: readings()[-1][1] == "7.5"), readings())
            check("nothing else was written", len(readings()) == 4, readings())
            # A manager sees it among the probes, and may revoke it.
            page = ask("GET", "/s/shop/probes")[1]
            check("it stands among the probes", "MQTT cellar/t1" in page)
            action = re.search(r'action="[^"]*(probes/%s/revoke)"' % readings()[0][3], page)
            form = "application/x-www-form-urlencoded"
            check("it may be revoked", action and ask("POST", "/s/shop/" + action.group(1), "", form)[0] == 303)
            broker.publish("cellar/t1", "9.5")
            check("and is heard no more", wait(lambda: "was revoked" in said()) and len(readings()) == 4, said())
        finally:
            program.kill()
            program.wait()
            broker.end()
    sys.exit(1 if failures else 0)


main()
