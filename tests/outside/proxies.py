"""The service behind nginx and behind Caddy, each speaking TLS for it and keeping it under a path of its own: every way on
stays under that path, cookies are those of TLS, and a stream arrives while it lasts.

    proxies.py BINARY
"""

import http.client
import json
import os
import re
import socket
import ssl
import subprocess
import sys
import tempfile
import time
from html.parser import HTMLParser
from urllib.parse import urlencode, urljoin, urlsplit

BASE = "/holding/"
NGINX = """
daemon off; pid {work}/nginx.pid; error_log {work}/nginx.log;
events {{}}
http {{
  access_log off; client_body_temp_path {work}/a; proxy_temp_path {work}/b; fastcgi_temp_path {work}/c;
  uwsgi_temp_path {work}/d; scgi_temp_path {work}/e;
  server {{
    listen 127.0.0.1:{port} ssl; ssl_certificate {cert}/server.crt; ssl_certificate_key {cert}/server.key;
    location /holding/ {{
      proxy_pass http://127.0.0.1:{service}/;
      proxy_http_version 1.1;
      proxy_set_header Host $http_host;
      proxy_set_header X-Forwarded-For $proxy_add_x_forwarded_for;
    }}
  }}
}}
"""
CADDY = """
{{
  admin off
  auto_https off
  storage file_system {work}/caddy
}}
https://localhost:{port} {{
  bind 127.0.0.1
  tls {cert}/server.crt {cert}/server.key
  handle_path /holding/* {{
    reverse_proxy 127.0.0.1:{service}
  }}
}}
"""
failures = []


def check(what, true, more=""):
    print("%s: %s" % ("ok" if true else "FAILED", what), more if not true else "")
    if not true:
        failures.append(what)


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


def listening(port, child):
    for _ in range(200):
        if child.poll() is not None:
            raise SystemExit("it ended: %s" % child.args)
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return
        except OSError:
            time.sleep(0.05)
    raise SystemExit("nobody listens on %d" % port)


class Ways(HTMLParser):
    """All that a page leads to or loads."""

    def __init__(self, text):
        super().__init__()
        self.ways, self.lang = [], None
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        for name, value in attributes:
            if name in ("href", "src", "action", "data-stream", "data-fragment", "data-still", "data-live") and value:
                self.ways.append(value)


class Browser:
    """Cookies, and a page's way on as a browser finds it."""

    def __init__(self, port, trusts, at="127.0.0.1"):
        self.at = at
        self.root = "https://localhost:%d" % port
        self.port, self.trusts, self.jar, self.set = port, trusts, {}, []

    def ask(self, method, address, form=None, headers=()):
        address = urljoin(self.root + BASE, address)
        path = address[len(self.root):]
        c = http.client.HTTPSConnection("localhost", self.port, context=self.trusts, timeout=15, source_address=(self.at, 0))
        all_headers = {"cookie": "; ".join("%s=%s" % p for p in self.jar.items()), **dict(headers)}
        if form is not None:
            all_headers |= {"content-type": "application/x-www-form-urlencoded", "origin": self.root,
                            "sec-fetch-site": "same-origin"}
        c.request(method, path, urlencode(form) if form is not None else None, all_headers)
        answer = c.getresponse()
        for cookie in answer.headers.get_all("set-cookie") or []:
            self.set.append(cookie)
            name, value = cookie.split(";")[0].split("=", 1)
            self.jar[name] = value
        to = answer.headers.get("location")
        return answer.status, urljoin(address, to) if to else address, answer.read().decode("utf-8", "replace")

    def stream(self, address):
        c = http.client.HTTPSConnection("localhost", self.port, context=self.trusts, timeout=15)
        c.request("GET", BASE + address, headers={"cookie": "; ".join("%s=%s" % p for p in self.jar.items())})
        return c, c.getresponse()


def through(name, browser, token, direct):
    prefix = browser.root + BASE
    status, to, _ = browser.ask("GET", "./")
    check(name + ": the first way on stays under the path", status == 303 and to.startswith(prefix), to)
    status, to, _ = browser.ask("POST", "sign-in", {"token": token})
    check(name + ": signing in leads on under it", status == 303 and to.startswith(prefix), "%s %s" % (status, to))
    check(name + ": the cookie is that of TLS",
          any(c.startswith("__Host-") and "Secure" in c and "HttpOnly" in c for c in browser.set), browser.set)
    pages, seen = ["s/shop/", "s/shop/items/carrot-1", "s/shop/record", "s/shop/procedure", "s/shop/items/none", "sign-in"], 0
    for page in pages:
        status, at, text = browser.ask("GET", page)
        ways = [urljoin(at, w) for w in Ways(text).ways]
        away = [w for w in ways if not w.startswith(prefix)]
        check("%s: %s leads nowhere else" % (name, page), status in (200, 404) and len(ways) > 3 and not away, away[:3])
        for way in sorted({w for w in ways if "/static/" in w}):
            seen += browser.ask("GET", way)[0] == 200
    check(name + ": what pages need is there", seen > 10, seen)
    status, to, _ = browser.ask("POST", "language", {"language": "es"}, [("referer", prefix + "s/shop/")])
    check(name + ": a choice of language comes back to the page", to == prefix + "s/shop/", to)
    # An event arrives through it while the answer goes on.
    c, answer = browser.stream("s/shop/api/stream")
    check(name + ": a stream begins", answer.status == 200 and answer.headers["content-type"] == "text/event-stream")
    entry = {"kind": "decide", "about": "bench", "action": "keep", "reason": "through " + name}
    post = http.client.HTTPConnection("127.0.0.1", direct, timeout=15)
    post.request("POST", "/s/shop/api/entries", json.dumps(entry),
                 {"authorization": "Bearer " + token, "content-type": "application/json"})
    wrote = json.loads(post.getresponse().read())["entries"][0]["seq"]
    began, line = time.monotonic(), b""
    while ("id: %d" % wrote).encode() not in line and time.monotonic() - began < 10:
        line = answer.readline()
    check(name + ": an event arrives before the stream ends", ("id: %d" % wrote).encode() in line, line)
    c.close()
    # The phone's own address counts, since the proxy is named; what the phone says of itself doesn't.
    other = Browser(browser.port, browser.trusts, at="127.0.0.2")
    for n in range(51):
        status = other.ask("POST", "sign-in", {"name": "n%d" % n, "password": "wrong, wrong"},
                           [("x-forwarded-for", "203.0.113.%d" % n)])[0]
    check(name + ": guesses are counted together whatever they claim", status == 429, status)


def main():
    binary = os.path.abspath(sys.argv[1])
    with tempfile.TemporaryDirectory() as work:
        cert = os.path.join(work, "certificate")
        subprocess.run([binary, "certificate", "--host", "localhost", "--out", cert], check=True, stdout=subprocess.DEVNULL)
        trusts = ssl.create_default_context(cafile=os.path.join(cert, "authority.crt"))
        for name, command, text in (
            ("nginx", lambda file: ["nginx", "-c", file, "-e", work + "/nginx.log"], NGINX),
            ("caddy", lambda file: ["caddy", "run", "--config", file, "--adapter", "caddyfile"], CADDY),
        ):
            children = []
            try:
                service = free_port()
                children.append(subprocess.Popen(
                    [binary, "serve", "--demo", "--listen", "127.0.0.1:%d" % service, "--trusted-proxies", "127.0.0.1",
                     "--db", "sqlite://%s/%s.db" % (work, name)],
                    stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True))
                said = ""
                while "sign in at" not in said:
                    said += children[0].stdout.readline()
                token = re.search(r"token=(\S+)", said).group(1)
                port, file = free_port(), os.path.join(work, name + ".conf")
                with open(file, "w") as out:
                    out.write(text.format(work=work, port=port, cert=cert, service=service))
                env = {**os.environ, "PATH": os.environ["PATH"] + ":/usr/sbin", "HOME": work, "XDG_DATA_HOME": work}
                children.append(subprocess.Popen(command(file), env=env, stdout=subprocess.DEVNULL,
                                                 stderr=open(os.path.join(work, name + ".err"), "w")))
                listening(port, children[1])
                through(name, Browser(port, trusts), token, service)
            finally:
                for child in reversed(children):
                    child.terminate()
                    try:
                        child.wait(10)
                    except subprocess.TimeoutExpired:
                        child.kill()
    print("%d failures" % len(failures))
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
