#!/bin/sh
# Runs the browser tests against the program: sh tests/browser/run.sh BINARY
# Their packages are in node_modules beside this file, put there by tests/all.sh from package-lock.json.
set -eu

[ $# = 1 ] && [ -x "$1" ] || { echo "run.sh BINARY" >&2; exit 2; }
COUNTERCLOCK_BINARY=$(realpath "$1")
export COUNTERCLOCK_BINARY
cd "$(dirname "$0")"
[ -d node_modules/playwright-core ] || { echo "tests/browser/node_modules is missing: sh tests/all.sh setup" >&2; exit 1; }
exec node --test-reporter=spec all.mjs
