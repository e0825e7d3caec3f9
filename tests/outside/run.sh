#!/bin/sh
# Runs every outside check against the program: sh tests/outside/run.sh BINARY
# The Python they need is in .venv beside this file, made by tests/all.sh from requirements.txt.
set -eu

checks="test_reference.py test_outside.py vectors.py outside.py compare.py service.py chain.py csvcheck.py sheet.py words.py tls.py proxies.py notices.py mqtt.py schema.py plan.py figures.py logs.py"
parts="program.py reference.py validity.py ledgers.py" # read by the checks

[ $# = 1 ] && [ -x "$1" ] || { echo "run.sh BINARY" >&2; exit 2; }
binary=$(realpath "$1")
cd "$(dirname "$0")"
python=.venv/bin/python
[ -x "$python" ] || { echo "tests/outside/.venv is missing: sh tests/all.sh setup" >&2; exit 1; }

# A check that is listed and not there fails, and so does one that is there and not listed.
for name in $checks $parts; do
  [ -f "$name" ] || { echo "tests/outside/$name is missing" >&2; exit 1; }
done
for name in *.py; do
  case " $checks $parts " in
    *" $name "*) ;;
    *) echo "tests/outside/$name is run by nothing: list it in run.sh" >&2; exit 1 ;;
  esac
done

run() {
  begun=$(date +%s)
  echo "--- $*"
  "$python" "$@"
  echo "--- $1 passed in $(($(date +%s) - begun)) s"
}

work=$(mktemp -d)
service=
half=
notices=
mqtt=
schema=
tidy() {
  for pid in $service $half $notices $mqtt $schema; do kill "$pid" 2>/dev/null || true; done
  rm -rf "$work"
}
trap tidy EXIT
trap 'exit 130' INT TERM HUP

# Waits for one that went on beside, and shows what it said.
ended() {
  code=0
  wait "$2" || code=$?
  echo "--- $1, which went on beside"
  cat "$work/$3"
  [ "$code" = 0 ] || exit "$code"
}

# What mostly waits for others goes on beside the rest.
"$python" notices.py "$binary" > "$work/notices" 2>&1 &
notices=$!
"$python" mqtt.py "$binary" > "$work/mqtt" 2>&1 &
mqtt=$!
"$python" schema.py "$binary" > "$work/schema" 2>&1 &
schema=$!

# First the checks themselves, on things known to be right and on the same ones spoiled.
run -m pytest -q -p no:cacheprovider test_reference.py test_outside.py
run vectors.py "$binary"
run outside.py "$binary"
run words.py
run tls.py "$binary"
run proxies.py "$binary"
run plan.py "$binary"
run figures.py "$binary"
run logs.py "$binary"

# 500 random ledgers at 20 instants each: in two halves, one a core. The seeds are fixed here, so that a run says the
# same twice; tests/long.sh draws new ones.
"$python" compare.py "$binary" --ledgers 250 --instants 20 --seed 759140752 > "$work/half" 2>&1 &
half=$!
run compare.py "$binary" --ledgers 250 --instants 20 --seed 943920560
ended compare.py "$half" half
half=
ended schema.py "$schema" schema
schema=
ended notices.py "$notices" notices
notices=
ended mqtt.py "$mqtt" mqtt
mqtt=

# And the same reading against the service, each ledger posted to one of its own. One after the other: it keeps both cores busy.
run service.py "$binary" --ledgers 250 --seed 697792542
run service.py "$binary" --ledgers 250 --seed 314159265

# The record of the demo's two days, as a person downloads it.
port=$("$python" -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')
db="sqlite://$work/demo.db"
"$binary" serve --demo --listen "127.0.0.1:$port" --db "$db" > "$work/out" 2> "$work/err" &
service=$!
tries=0
until curl -fs -o /dev/null "http://127.0.0.1:$port/readyz"; do
  tries=$((tries + 1))
  if [ "$tries" -ge 150 ] || ! kill -0 "$service" 2>/dev/null; then
    echo "the service did not come up:" >&2
    cat "$work/out" "$work/err" >&2
    exit 1
  fi
  sleep 0.2
done
token=$("$binary" token add --name outside --role inspector --site shop --db "$db")
# Names that a spreadsheet might run, or break at.
manager=$("$binary" token add --name outside --role manager --site shop --db "$db")
for name in "=HYPERLINK(\\\"#\\\";1+1)" "+1+1" "-2+3" "@SUM(1)" "עוגת שמנת" "Torta «fina», 🍰; \\\"dos\\\"" "1e5"; do
  printf '{"kind":"item","name":"%s","product":"frosting","place":"bench","lot":"%s"}' "$name" "$name" |
    curl -fsS -o /dev/null -H "Authorization: Bearer $manager" -H "Content-Type: application/json" --data-binary @- \
      "http://127.0.0.1:$port/s/shop/api/entries"
done
curl -fsS -H "Authorization: Bearer $token" -o "$work/cold.csv" "http://127.0.0.1:$port/s/shop/api/record.csv?table=cold"
for kind in jsonl csv; do
  curl -fsS -H "Authorization: Bearer $token" -o "$work/record.$kind" \
    "http://127.0.0.1:$port/s/shop/api/record.$kind"
  [ -s "$work/record.$kind" ] || { echo "record.$kind is empty" >&2; exit 1; }
done
run chain.py "$work/record.jsonl"
run csvcheck.py "$work/record.csv"
run sheet.py "$work/record.csv" "$work/cold.csv"
"$binary" verify "$work/record.jsonl"
