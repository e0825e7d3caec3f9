"""The API against its own description: schemathesis makes requests from the served OpenAPI document, right ones and wrong
ones, one by one and following its links, and checks each answer.

    schema.py BINARY [--seconds 20] [--seed S]

All of its checks, but for:
- `positive_data_acceptance`, that whatever the schemas allow is accepted: no schema can say that a cursor is one that the list
  gave, that an idempotency key is new, that `from` isn't after `to`, or that a measure takes `uses`. What is to be accepted is
  posted by the project's own tests, each example of the document among it.
- the stream of events, which has no end to be looked at.
- making random bodies of entries and plans from the document as it is: schemathesis can't from schemas that are closed by
  `unevaluatedProperties`. They are made, and links followed, from a copy without that word.
"""

import argparse
import http.client
import json
import os
import re
import subprocess
import sys
import tempfile

from program import Client, Database, Service, Trouble, command

LEAST = 2_000  # requests


def without(schema, word):
    if isinstance(schema, dict):
        return {k: without(v, word) for k, v in schema.items() if k != word}
    return [without(v, word) for v in schema] if isinstance(schema, list) else schema


def run(folder, source, address, token, *more):
    """(what it said, requests)."""
    tool = os.path.join(os.path.dirname(sys.executable), "schemathesis")
    done = subprocess.run(
        [tool, "run", source, "--url", "http://" + address, "--header", "Authorization: Bearer " + token, "--checks", "all",
         "--exclude-checks", "positive_data_acceptance", "--continue-on-failure", "--warnings", "off", "--no-color", *more],
        cwd=folder, capture_output=True, text=True, env={**os.environ, "PYTHONWARNINGS": "ignore"})
    said = done.stdout + done.stderr
    counted = re.search(r"(\d+) generated", said)
    if done.returncode or not counted:
        raise Trouble(said)
    return said, int(counted.group(1))


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("binary")
    asked.add_argument("--seconds", type=int, default=20, help="for each of three runs, at most")
    asked.add_argument("--seed", default="20261127")
    asked = asked.parse_args()
    with Database() as database, tempfile.TemporaryDirectory() as folder:
        service = Service(asked.binary, database, arguments=["--demo"])
        try:
            token = command(asked.binary, "token", "add", "--name", "outside", "--role", "manager", "--db", database.url).strip()
            client = Client(service.address, token)
            item = client.must_get("items", limit=1)["items"][0]["item"]
            with open(os.path.join(folder, "schemathesis.toml"), "w") as file:
                file.write('[parameters]\n"path.site" = "shop"\n"path.item" = "%s"\n' % item)
            c = http.client.HTTPConnection(service.address)
            c.request("GET", "/api/openapi.json")
            document = json.loads(c.getresponse().read())
            c.close()
            copy = os.path.join(folder, "open.json")
            with open(copy, "w") as file:
                json.dump(without(document, "unevaluatedProperties"), file)
            served = "http://%s/api/openapi.json" % service.address
            common = ["--seed", asked.seed, "--max-time", str(asked.seconds)]
            bodies = ["--include-operation-id", "write_entries", "--include-operation-id", "work_out_plan"]
            no_bodies = ["--exclude-operation-id", "write_entries", "--exclude-operation-id", "work_out_plan"]
            stream = ["--exclude-operation-id", "stream"]
            runs = {
                "examples and edges of every operation": (served, "--phases", "examples,coverage", *stream),
                "random requests without a body": (served, "--phases", "fuzzing", *stream, *no_bodies),
                "random bodies": (copy, "--phases", "fuzzing", *bodies),
                "following links": (copy, "--phases", "stateful", *stream),
            }
            requests = 0
            for what, (source, *more) in runs.items():
                said, made = run(folder, source, service.address, token, *common, *more)
                links = re.search(r"API Links:\s+(\d+) covered", said)
                if what == "following links" and not (links and int(links.group(1))):
                    raise Trouble("no link was followed:\n" + said)
                print("%s: %d requests" % (what, made), flush=True)
                requests += made
            if requests < LEAST:
                raise Trouble("only %d requests were made" % requests)
            client.close()
            service.stop()
        finally:
            service.kill()
        command(asked.binary, "check", "--db", database.url)
    print("%d requests made by schemathesis, seed %s: every answer is as the document says, and the ledger verifies" % (requests, asked.seed))
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except Trouble as trouble:
        print(trouble)
        sys.exit(1)
