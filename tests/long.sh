#!/bin/sh
# The long forms, for a night or before a release: sh tests/long.sh [PART...]
# What they need is put there by `sh tests/all.sh setup`. Kills and soak are of the program that COUNTERCLOCK_BINARY names,
# or of the tests' own build. The table of the last run is in DEVELOPERS.md.
#
#   random   properties, months, ledgers and plans from new seeds
#   kills    200 kills a database under load; the order of system calls for 2,000 posts
#   soak     20 minutes at 200 moves a second with exports, on each database: memory and descriptors
#   fuzz     10 minutes a target
set -eu

cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-target}
case "$target" in /*) ;; *) target=$(pwd)/$target ;; esac
binary=${COUNTERCLOCK_BINARY:-$target/debug/counterclock}
python=tests/outside/.venv/bin/python
[ -x "$python" ] || { echo "tests/outside/.venv is missing: sh tests/all.sh setup" >&2; exit 1; }
parts=${*:-kills soak fuzz random}

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

# The program as the tests' own build made it.
export CARGO_INCREMENTAL="${CARGO_INCREMENTAL:-0}"
cargo test --locked --no-run --test it

for part in $parts; do
  case "$part" in
    kills)
      run "$python" tests/durability/kill.py "$binary" --kills 200
      run "$python" tests/durability/kill.py "$binary" --kills 200 --db-url "$COUNTERCLOCK_TEST_PG"
      run "$python" tests/durability/order.py "$binary" --posts 2000
      run "$python" tests/durability/servers.py "$binary" --seconds 300
      ;;
    soak)
      run "$python" tests/durability/soak.py "$binary" --minutes 20
      run "$python" tests/durability/soak.py "$binary" --minutes 20 --db-url "$COUNTERCLOCK_TEST_PG"
      ;;
    fuzz)
      for name in $(cargo test --locked --test it -- --ignored --list fuzz:: 2>/dev/null | sed -n 's/: test$//p'); do
        run env COUNTERCLOCK_FUZZ_SECONDS=600 cargo test --locked --test it -- --ignored --exact "$name" --nocapture
      done
      ;;
    random)
      run env PROPTEST_CASES=2000 cargo test --locked
      for seed in $(seq 1 50); do
        run env COUNTERCLOCK_SEED="$seed" cargo test --locked --test it a_random_month
      done
      run "$python" tests/outside/compare.py "$binary" --ledgers 5000 --instants 20
      run "$python" tests/outside/service.py "$binary" --ledgers 500 --instants 20
      ;;
    *) echo "long.sh: no part $part, there are: kills soak fuzz random" >&2; exit 2 ;;
  esac
done
