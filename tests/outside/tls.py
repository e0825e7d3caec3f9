"""A shop's own certificate, as openssl and Python's ssl see it, and the service that speaks TLS with it.

    tls.py BINARY

Guards against S-49, S-50 of SAFETY.md.
"""

import http.client
import os
import re
import socket
import ssl
import stat
import subprocess
import sys
import tempfile
import warnings
from glob import glob

HOSTS = ["localhost", "127.0.0.1", "bakery.example"]
failures = []


def check(what, true, more=""):
    print("%s: %s" % ("ok" if true else "FAILED", what), more if not true else "")
    if not true:
        failures.append(what)


def run(*command, env=None):
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, env={**os.environ, **(env or {})})
    return done.returncode, done.stdout, done.stderr


def make(binary, folder, *hosts, env=None):
    return run(binary, "certificate", "--out", folder, *[a for h in hosts for a in ("--host", h)], env=env)


class Server:
    """The service over TLS, and /trust beside it."""

    def __init__(self, binary, folder, certificate):
        c = lambda name: os.path.join(certificate, name)
        self.child = subprocess.Popen(
            [binary, "serve", "--listen", "127.0.0.1:0", "--db", "sqlite://" + os.path.join(folder, "tls.db"),
             "--site-zone", "Europe/London", "--tls-cert", c("server.crt"), "--tls-key", c("server.key"),
             "--trust-listen", "127.0.0.1:0", "--authority", c("authority.crt"), "--address", "https://bakery.example/"],
            stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        said = ""
        while "listening on" not in said:
            line = self.child.stdout.readline()
            if not line:
                raise SystemExit("the service ended: " + said)
            said += line
        self.port = int(re.search(r"listening on https://127\.0\.0\.1:(\d+)", said).group(1))
        self.trust = int(re.search(r"trust at http://127\.0\.0\.1:(\d+)/trust", said).group(1))
        self.fingerprint = re.search(r"SHA-256: (\S+)", said).group(1)

    def stop(self):
        self.child.terminate()
        return self.child.wait(15)


def handshake(port, context, name):
    with socket.create_connection(("127.0.0.1", port), timeout=10) as plain:
        with context.wrap_socket(plain, server_hostname=name) as tls:
            return tls.version(), tls.selected_alpn_protocol()


def refused(port, context, name):
    try:
        return "%s %s" % handshake(port, context, name) and None
    except (ssl.SSLError, ConnectionError) as e:
        return str(e)


def plain(port, path, headers=()):
    c = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    c.request("GET", path, headers=dict(headers))
    answer = c.getresponse()
    return answer.status, answer.getheader("content-type"), answer.read()


def certificates(binary, work):
    own = os.path.join(work, "own")
    code, out, err = make(binary, own, *HOSTS)
    check("a certificate is made", code == 0, err)
    file = lambda name: os.path.join(own, name)
    root, leaf = file("authority.crt"), file("server.crt")
    for name in HOSTS[::2]:
        code, out, err = run("openssl", "verify", "-x509_strict", "-purpose", "sslserver", "-verify_hostname", name,
                             "-CAfile", root, leaf)
        check("openssl verifies it for " + name, code == 0, out + err)
    code, out, _ = run("openssl", "verify", "-verify_ip", "127.0.0.1", "-CAfile", root, leaf)
    check("and for its address", code == 0)
    code, out, _ = run("openssl", "verify", "-verify_hostname", "other.example", "-CAfile", root, leaf)
    check("and for no other name", code != 0)
    _, text, _ = run("openssl", "x509", "-in", root, "-noout", "-text")
    check("the authority is one, for those hosts alone",
          "CA:TRUE, pathlen:0" in text and "DNS:bakery.example" in text and "Permitted" in text, text)
    _, text, _ = run("openssl", "x509", "-in", leaf, "-noout", "-text")
    check("the leaf is for servers", "TLS Web Server Authentication" in text and "DNS:bakery.example" in text
          and "IP Address:127.0.0.1" in text and "CA:TRUE" not in text, text)
    code, _, _ = run("openssl", "x509", "-in", leaf, "-noout", "-checkend", str(398 * 86400))
    check("and ends within 398 days", code == 1)
    for name in ("authority.key", "server.key"):
        check(name + " is nobody else's to read", stat.S_IMODE(os.stat(file(name)).st_mode) == 0o600)
    with open(root) as f:
        before = f.read()
    code, _, _ = make(binary, own, "bakery.example")
    with open(root) as f:
        check("next year's comes from the same authority", code == 0 and f.read() == before)
    code, _, err = make(binary, own, "other.example")
    check("which speaks for no other host", code == 2 and "alone, not for other.example" in err, err)
    for wrong in ("", "a b", "x-.example", "https://bakery.example", "*.example", "x" * 300):
        code, _, err = make(binary, os.path.join(work, "none"), wrong)
        check("%r is no host" % wrong[:30], code == 2 and "is no name and no address" in err, err)
    code, _, err = make(binary, "/proc/nowhere", "bakery.example")
    check("a folder that can't be written to is told", code == 2 and "--out" in err, err)
    make(binary, own, *HOSTS)
    return own


def started_with(binary, work, cert, key, env=None):
    return run(binary, "serve", "--listen", "127.0.0.1:0", "--db", "sqlite://" + os.path.join(work, "no.db"),
               "--tls-cert", cert, "--tls-key", key, env=env)


def bad_ones(binary, work, own):
    other = os.path.join(work, "other")
    make(binary, other, "bakery.example")
    crt, key = os.path.join(own, "server.crt"), os.path.join(own, "server.key")
    code, _, err = started_with(binary, work, crt, os.path.join(other, "server.key"))
    check("another certificate's key is told", code == 1 and "don't belong together" in err, err)
    code, _, err = started_with(binary, work, crt, "/nowhere.key")
    check("a key that isn't there is told", code == 2 and "cannot be read" in err, err)
    code, _, err = started_with(binary, work, key, key)
    check("a file that is no certificate is told", code == 1 and "no certificate in it" in err, err)
    library = glob("/usr/lib/*/faketime/libfaketimeMT.so.1")
    for shift, said in (("+400d", "ended"), ("-10d", "begins only")):
        fake = {"LD_PRELOAD": library[0], "FAKETIME": shift, "FAKETIME_DONT_FAKE_MONOTONIC": "1", "NO_FAKE_STAT": "1"}
        code, _, err = started_with(binary, work, crt, key, env=fake)
        check("a certificate %s is told" % said, code == 1 and said in err, err)


def over_tls(binary, work, own):
    server = Server(binary, work, own)
    try:
        root = os.path.join(own, "authority.crt")
        trusts = ssl.create_default_context(cafile=root)
        check("with the authority alone, by name", handshake(server.port, trusts, "bakery.example")[0] in ("TLSv1.2", "TLSv1.3"))
        check("and by address", handshake(server.port, trusts, "127.0.0.1")[0] in ("TLSv1.2", "TLSv1.3"))
        check("by no other name", "Hostname mismatch" in (refused(server.port, trusts, "other.example") or ""))
        check("without the authority it is refused",
              "CERTIFICATE_VERIFY_FAILED" in (refused(server.port, ssl.create_default_context(), "bakery.example") or ""))
        old = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
        old.load_verify_locations(root)
        old.set_ciphers("ALL:@SECLEVEL=0")
        old.minimum_version, old.maximum_version = ssl.TLSVersion.TLSv1, ssl.TLSVersion.TLSv1_1
        said = refused(server.port, old, "bakery.example") or ""
        check("the server refuses TLS 1.1", "alert" in said.lower(), said)
        c = http.client.HTTPSConnection("localhost", server.port, context=trusts, timeout=10)
        c.request("GET", "/sign-in")
        answer = c.getresponse()
        check("the service answers over it", answer.status == 200 and b"Sign in" in answer.read())
        c.request("POST", "/language", "language=es", {
            "content-type": "application/x-www-form-urlencoded", "origin": "https://localhost", "host": "localhost",
            "sec-fetch-site": "same-origin"})
        check("and takes a form", c.getresponse().status == 303)
        try:
            status = plain(server.port, "/")[0]
        except (http.client.HTTPException, OSError):
            status = None
        check("plain http is not spoken there", status is None, status)
        status, kind, page = plain(server.trust, "/trust", [("accept-language", "es")])
        check("/trust says how, in the phone's language, with the fingerprint",
              status == 200 and server.fingerprint.encode() in page and "Confiar".encode() in page)
        status, kind, der = plain(server.trust, "/trust/authority.crt")
        check("and offers the authority", status == 200 and kind == "application/x-x509-ca-cert"
              and ssl.DER_cert_to_PEM_cert(der).split() == open(root).read().split())
        for path in ("/", "/s/shop/", "/sign-in", "/api/openapi.json", "/healthz", "/static/live.js", "/trust/authority.key"):
            status, _, text = plain(server.trust, path)
            check("nothing else is there: " + path, status == 404 and b"https://bakery.example/" in text)
    finally:
        check("it stops when told to", server.stop() == 0)


def main():
    warnings.simplefilter("ignore", DeprecationWarning)  # an old protocol is what is asked for here
    binary = os.path.abspath(sys.argv[1])
    with tempfile.TemporaryDirectory() as work:
        own = certificates(binary, work)
        bad_ones(binary, work, own)
        over_tls(binary, work, own)
    print("%d failures" % len(failures))
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
