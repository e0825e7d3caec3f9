#!/bin/sh
# Installs what the checks need, then runs every check, stopping at the first stage that fails.
#
#   sh tests/all.sh              everything
#   sh tests/all.sh clippy test  only these stages, in this order
#
# A new stage is a function stage_NAME here and its name in `stages`. A stage whose files are missing fails.
set -eu

stages="setup fmt clippy doc deny unit test fuzz outside durability browser"

cd "$(dirname "$0")/.."

# --- What must be there ------------------------------------------------------------------------------------------

have() {
  command -v "$1" >/dev/null 2>&1
}

# Debian's packages that are missing, of those the checks use.
missing_packages() {
  have cc || echo build-essential
  have curl || echo curl
  have git || echo git
  have jq || echo jq
  have openssl || echo openssl
  have strace || echo strace
  have faketime || echo faketime
  have setsid && have runuser || echo util-linux
  have systemd-analyze || echo systemd
  have chromium || echo chromium
  # The second engine, and a screen for it that nobody sees.
  have WebKitWebDriver || echo webkit2gtk-driver
  have Xvfb || echo xvfb
  have zbarimg || echo zbar-tools
  # Neither is run as a service of the machine's.
  have nginx || [ -x /usr/sbin/nginx ] || echo nginx-light
  have caddy || echo caddy
  have qpdf || echo qpdf
  have pdftotext && have pdftoppm || echo poppler-utils
  have soffice || echo libreoffice-calc-nogui
  [ -x /usr/sbin/mosquitto ] || echo mosquitto
  have mosquitto_pub || echo mosquitto-clients
  have node || echo nodejs
  have npm || echo npm
  have python3 || echo python3
  python3 -c 'import ensurepip' 2>/dev/null || echo python3-venv
  ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 || echo postgresql
  # Chromium draws boxes without a font, and measures them.
  ls /usr/share/fonts/truetype/dejavu/DejaVuSans.ttf >/dev/null 2>&1 || echo fonts-dejavu
}

as_root() {
  if [ "$(id -u)" = 0 ]; then "$@"; else sudo "$@"; fi
}

# Unoptimised, it is built in a third of the time and still checks in two seconds.
install_deny() {
  [ "$("$tools/bin/cargo-deny" --version 2>/dev/null)" = "cargo-deny $cargo_deny" ] ||
    CARGO_PROFILE_DEV_DEBUG=0 cargo install cargo-deny --version "$cargo_deny" --locked --debug \
      --no-default-features --force --quiet --root "$tools"
}

stage_setup() {
  if ! have cargo; then
    echo "cargo is missing: install Rust (the version is in rust-toolchain.toml) and run this again"
    return 1
  fi
  # It is built while the rest is fetched, if there is a linker for it already.
  deny=
  if have cc; then
    install_deny &
    deny=$!
  fi
  packages=$(missing_packages)
  if [ -n "$packages" ]; then
    echo "installing" $packages
    as_root apt-get update -q
    # shellcheck disable=SC2086 # several words
    as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends $packages
  fi
  still=$(missing_packages)
  if [ -n "$still" ]; then
    echo "still missing after installing:" $still
    return 1
  fi

  cargo fetch --locked

  [ -x tests/outside/.venv/bin/python ] || python3 -m venv tests/outside/.venv
  tests/outside/.venv/bin/python -m pip install --quiet --disable-pip-version-check \
    --requirement tests/outside/requirements.txt

  npm ci --prefix tests/browser --no-audit --no-fund --loglevel error

  if [ -n "$deny" ]; then wait "$deny"; else install_deny; fi
}

# --- The stages --------------------------------------------------------------------------------------------------

stage_fmt() {
  cargo fmt --check
}

stage_clippy() {
  cargo clippy --locked --all-targets -- -D warnings
}

stage_doc() {
  RUSTDOCFLAGS="-D warnings" cargo doc --locked --no-deps --document-private-items
}

# Bans, licences and sources are read from Cargo.lock and the sources cargo has; only the advisories are elsewhere.
stage_deny() {
  "$tools/bin/cargo-deny" --offline --locked --log-level error check --hide-inclusion-graph bans licenses sources
  if GIT_TERMINAL_PROMPT=0 timeout 120 "$tools/bin/cargo-deny" fetch db > "$work/fetch.log" 2>&1; then
    "$tools/bin/cargo-deny" --locked check --hide-inclusion-graph --disable-fetch advisories
    note "deny: advisories checked"
  else
    note "deny: advisories NOT checked, the advisory database is out of reach"
  fi
}

# The unit for systemd: that it can be read, and how much of the machine it leaves to the service (0 to 10, less is better).
stage_unit() {
  sed 's#^ExecStart=/usr/local/bin/counterclock#ExecStart=/bin/true#' operate/counterclock.service > "$work/counterclock.service"
  systemd-analyze verify "$work/counterclock.service"
  systemd-analyze security --offline=true --no-pager --threshold=20 operate/counterclock.service > "$work/exposed" ||
    { cat "$work/exposed"; return 1; }
  tail -n 1 "$work/exposed"
}

stage_test() {
  # One more than there are cores: some wait for the disk.
  cargo test --locked -- --test-threads=$(($(nproc) + 1))
  note "test: PDFs checked by qpdf, poppler, zbar and krilla's PDF/UA-1 rules; veraPDF NOT run"
}

# The tests' own binary, so nothing is built for it. The long form is in tests/long.sh.
stage_fuzz() {
  COUNTERCLOCK_FUZZ="${COUNTERCLOCK_FUZZ:-300000}" cargo test --locked --test it -- --ignored fuzz:: --nocapture
}

# The program as the tests' own build made it: `cargo build` alone would build every dependency anew, without the
# features that only the tests ask for.
build() {
  cargo test --locked --no-run --test it
}

stage_outside() {
  build
  sh tests/outside/run.sh "$target/debug/counterclock"
}

stage_durability() {
  build
  python3 tests/durability/kill.py "$target/debug/counterclock"
  python3 tests/durability/kill.py "$target/debug/counterclock" --db-url "$COUNTERCLOCK_TEST_PG"
  python3 tests/durability/order.py "$target/debug/counterclock"
  python3 tests/durability/servers.py "$target/debug/counterclock"
  # Both mostly wait: for clocks to be looked at, for slow guests to be cut off.
  python3 tests/durability/faults.py "$target/debug/counterclock" --db-url "$COUNTERCLOCK_TEST_PG" > "$work/faults" 2>&1 &
  beside=$!
  python3 tests/durability/faults.py "$target/debug/counterclock"
  code=0
  wait "$beside" || code=$?
  cat "$work/faults"
  [ "$code" = 0 ]
}

stage_browser() {
  build
  sh tests/browser/run.sh "$target/debug/counterclock"
}

# --- Running them ------------------------------------------------------------------------------------------------

# Printed again under the table, where someone reads it.
note() {
  echo "$*"
  echo "$*" >> "$work/notes"
}

target=${CARGO_TARGET_DIR:-target}
case "$target" in /*) ;; *) target=$(pwd)/$target ;; esac
tools=$target/tools
cargo_deny=0.20.2
export CARGO_TERM_COLOR="${CARGO_TERM_COLOR:-never}"
# What would make a second build of this crate quicker takes a fifth of the first. Whoever runs this again and again sets it to 1.
export CARGO_INCREMENTAL="${CARGO_INCREMENTAL:-0}"

# A stage runs as a process of its own, in its own group: so that it keeps `set -e`, and can be ended as one.
if [ "${1:-}" = --one ]; then
  work=$3
  "stage_$2"
  exit
fi

for name in "$@"; do
  case " $stages " in
    *" $name "*) ;;
    *) echo "all.sh: no stage $name, there are: $stages" >&2; exit 2 ;;
  esac
done
asked=${*:-$stages}

work=$(mktemp -d "${TMPDIR:-/tmp}/counterclock-all.XXXXXX")
postgres=
running=
begun=$(date +%s)
: > "$work/table"
: > "$work/notes"

tidy() {
  trap '' INT TERM HUP
  if [ -n "$running" ]; then
    kill -s TERM -- "-$running" 2>/dev/null || true
    wait "$running" 2>/dev/null || true
    running=
  fi
  [ -z "$postgres" ] || sh tests/postgres.sh stop "$postgres" || true
  rm -rf "$work"
}
trap tidy EXIT
trap 'echo "interrupted"; exit 130' INT TERM HUP

summary() {
  echo
  echo "stage      seconds"
  cat "$work/table"
  cat "$work/notes"
}

for name in $asked; do
  echo
  echo "=== $name"
  case "$name" in
    setup | fmt | clippy | doc | deny | unit | fuzz) ;;
    *)
      # Only once it is needed; the servers that tests start of their own read the address from here too.
      if [ -z "${COUNTERCLOCK_TEST_PG:-}" ]; then
        postgres=$(mktemp -d "${TMPDIR:-/tmp}/counterclock-pg.XXXXXX")
        COUNTERCLOCK_TEST_PG=$(sh tests/postgres.sh start "$postgres" $$)
        export COUNTERCLOCK_TEST_PG
      fi
      ;;
  esac
  stage_begun=$(date +%s)
  setsid sh -eu tests/all.sh --one "$name" "$work" < /dev/null &
  running=$!
  code=0
  wait "$running" || code=$?
  # A stage that failed may have left something going on beside it.
  kill -s TERM -- "-$running" 2>/dev/null || true
  running=
  took=$(($(date +%s) - stage_begun))
  if [ "$code" = 0 ]; then
    printf '%-10s %7d\n' "$name" "$took" >> "$work/table"
    echo "=== $name passed in $took s"
  else
    printf '%-10s %7d  FAILED\n' "$name" "$took" >> "$work/table"
    summary
    echo "stage $name failed (exit code $code) after $took s"
    exit 1
  fi
done

summary
took=$(($(date +%s) - begun))
if [ "$asked" = "$stages" ]; then
  echo "all stages passed in $took s"
else
  echo "passed, of all stages only: $asked, in $took s"
fi
