#!/bin/sh
# A private PostgreSQL for the tests, from the installed package's own programs: loopback only, on a free port,
# everything of it in one folder. The system's own cluster, if there is one, is left alone.
#
#   sh tests/postgres.sh start DIR [PID]   makes DIR, prints the URL; with PID, ends by itself when that process has
#   sh tests/postgres.sh stop DIR          ends the server of DIR, and only that one, and removes DIR
set -eu

fail() {
  echo "postgres.sh: $*" >&2
  exit 1
}

# Debian keeps the server's programs off the PATH; the newest version installed is taken.
programs() {
  if command -v pg_config >/dev/null 2>&1 && [ -x "$(pg_config --bindir)/initdb" ]; then
    pg_config --bindir
    return
  fi
  newest=$(printf '%s\n' /usr/lib/postgresql/*/bin/initdb | sort -t / -k 5 -n | tail -n 1)
  [ -x "$newest" ] || fail "no PostgreSQL server is installed (Debian: apt-get install postgresql)"
  dirname "$newest"
}

# The server refuses to run as root.
as_postgres() {
  if [ "$(id -u)" = 0 ]; then
    runuser -u postgres -- "$@"
  else
    "$@"
  fi
}

mark=counterclock-test-cluster

stop() {
  [ -e "$dir" ] || return 0
  [ -e "$dir/$mark" ] || fail "$dir was not made by this script; nothing was touched"
  cd "$dir"
  if [ -e data/postmaster.pid ]; then
    # Nothing in it is worth a checkpoint.
    as_postgres "$bin/pg_ctl" stop --pgdata "$dir/data" --mode immediate --silent --timeout 30 >&2 || true
  fi
  cd /
  rm -rf "$dir"
}

start() {
  mkdir -p "$dir"
  [ -z "$(ls -A "$dir")" ] || fail "$dir is not empty"
  : > "$dir/$mark"
  trap 'stop' EXIT
  trap 'exit 130' INT TERM HUP
  [ "$(id -u)" != 0 ] || chown postgres "$dir"
  cd "$dir"

  # A language's collation where the server has one: on a cluster of bytes, an order that was left to chance passes.
  locale=--locale=C.UTF-8
  if "$bin/initdb" --help | grep -q -e --icu-locale; then
    locale="$locale --locale-provider=icu --icu-locale=en"
  fi
  # shellcheck disable=SC2086 # several words
  as_postgres "$bin/initdb" --pgdata "$dir/data" --username postgres --auth trust --encoding UTF8 $locale \
    --no-instructions > "$dir/initdb.log" 2>&1 || { cat "$dir/initdb.log" >&2; fail "initdb failed"; }
  # fsync stays on, as in a shop: nothing here is made quicker by promising less.
  cat >> "$dir/data/postgresql.conf" <<CONF
listen_addresses = '127.0.0.1'
unix_socket_directories = ''
max_connections = 200
CONF

  tries=0
  while :; do
    # A port is free only until someone else takes it, so the server's own word decides.
    port=$((20000 + $(od -An -N2 -tu2 /dev/urandom) % 12000))
    if as_postgres "$bin/pg_ctl" start --pgdata "$dir/data" --silent --wait --timeout 60 --log "$dir/log" \
      --options "-p $port" > "$dir/start.log" 2>&1; then
      break
    fi
    tries=$((tries + 1))
    if [ "$tries" -ge 20 ] || ! grep -q 'Address already in use' "$dir/log"; then
      cat "$dir/start.log" "$dir/log" >&2
      fail "the server did not start"
    fi
    rm -f "$dir/log"
  done

  if [ -n "$owner" ]; then
    setsid sh "$self" watch "$dir" "$owner" > /dev/null 2>&1 < /dev/null &
  fi
  echo "postgres://postgres@127.0.0.1:$port/postgres"
  trap - EXIT
}

# A trap does not run in a process that was killed outright, so the server is watched from outside as well.
watch() {
  while kill -0 "$owner" 2>/dev/null && [ -e "$dir" ]; do sleep 1; done
  stop
}

self=$(realpath "$0")
case "${1:-}:$#" in
  start:2 | start:3 | stop:2 | watch:3) ;;
  *) fail "start DIR [PID] | stop DIR" ;;
esac
case "$2" in
  /*) dir=$2 ;;
  *) dir=$(pwd)/$2 ;;
esac
owner=${3:-}
bin=$(programs)
"$1"
