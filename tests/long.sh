#!/bin/sh
# The long forms of the random checks, for a night or before a release: sh tests/long.sh
# What they need is put there by `sh tests/all.sh setup`.
set -eu

cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-target}
case "$target" in /*) ;; *) target=$(pwd)/$target ;; esac
binary=$target/debug/counterclock
python=tests/outside/.venv/bin/python
[ -x "$python" ] || { echo "tests/outside/.venv is missing: sh tests/all.sh setup" >&2; exit 1; }

postgres=
trap '[ -z "$postgres" ] || sh tests/postgres.sh stop "$postgres"' EXIT
trap 'exit 130' INT TERM HUP
postgres=$(mktemp -d "${TMPDIR:-/tmp}/counterclock-pg.XXXXXX")
COUNTERCLOCK_TEST_PG=$(sh tests/postgres.sh start "$postgres" $$)
export COUNTERCLOCK_TEST_PG

run() {
  begun=$(date +%s)
  echo "--- $*"
  "$@"
  echo "--- passed in $(($(date +%s) - begun)) s"
}

cargo build --locked
run env PROPTEST_CASES=2000 cargo test --locked
for seed in $(seq 1 50); do
  run env COUNTERCLOCK_SEED="$seed" cargo test --locked --test it a_random_month
done
run env COUNTERCLOCK_FUZZ=2000000 sh tests/all.sh fuzz
run "$python" tests/outside/compare.py "$binary" --ledgers 5000 --instants 20
run "$python" tests/outside/service.py "$binary" --ledgers 500 --instants 20
run "$python" tests/durability/kill.py "$binary" --kills 100
run "$python" tests/durability/kill.py "$binary" --kills 100 --db-url "$COUNTERCLOCK_TEST_PG"
run "$python" tests/durability/order.py "$binary" --posts 2000
