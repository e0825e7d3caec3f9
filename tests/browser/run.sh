#!/bin/sh
# Runs the browser tests against the program: sh tests/browser/run.sh BINARY [NAME...]
# With names, like `main`, those files alone. Their packages are in node_modules beside this file, put there by tests/all.sh
# from package-lock.json.
set -eu

[ $# -ge 1 ] && [ -x "$1" ] || { echo "run.sh BINARY [NAME...]" >&2; exit 2; }
COUNTERCLOCK_BINARY=$(realpath "$1")
export COUNTERCLOCK_BINARY
shift
cd "$(dirname "$0")"
[ -d node_modules/playwright-core ] || { echo "tests/browser/node_modules is missing: sh tests/all.sh setup" >&2; exit 1; }

run() {
  node --test-reporter=spec all.mjs "$@"
}
[ $# = 0 ] || { run "$@"; exit; }

# What measures time has the machine to itself; then what looks at one page after another goes on beside all the rest.
alone="speed"
screens="languages main"
rest=
for file in *.test.mjs; do
  name=${file%.test.mjs}
  case " $alone $screens " in *" $name "*) ;; *) rest="$rest $name" ;; esac
done

said=$(mktemp)
beside=
trap '[ -z "$beside" ] || kill "$beside" 2>/dev/null || true; rm -f "$said"' EXIT
trap 'exit 130' INT TERM HUP

# shellcheck disable=SC2086 # several words
{
  run $alone
  node --test-reporter=spec all.mjs $screens > "$said" 2>&1 &
  beside=$!
  run $rest
}
code=0
wait "$beside" || code=$?
beside=
echo "--- $screens, which went on beside"
# Of some hundred pages only what is wrong with one, and how many there were.
if [ "$code" = 0 ]; then tail -n 8 "$said"; else cat "$said"; fi
exit "$code"
