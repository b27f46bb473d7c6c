#!/usr/bin/env bash
# A throw-away PostgreSQL server for tests: loopback only, no passwords, its own port.
#   tools/postgres-for-tests.sh start DIR   makes it in DIR unless it is there already, starts it, prints its URL
#   tools/postgres-for-tests.sh stop DIR    stops it; what it holds stays in DIR and can be started again
set -euo pipefail

die() { printf '%s\n' "$1" >&2; exit 1; }
usage="usage: $(basename "$0") start|stop DIR"
[ $# -eq 2 ] || die "$usage"
action=$1
# This user must prove a password, so that wrong ones can be tested; everyone else is trusted.
user_with_password=faultwright_with_password

as_root() { if [ "$(id -u)" -eq 0 ]; then "$@"; else sudo "$@"; fi; }

# The folder of the newest PostgreSQL programs; not all systems have them in PATH.
find_programs() {
  local initdb
  initdb=$(command -v initdb || ls -1 /usr/lib/postgresql/*/bin/initdb 2>/dev/null | sort -V | tail -n 1)
  [ -n "$initdb" ] && dirname "$(readlink -f "$initdb")"
}

if ! programs=$(find_programs); then
  { as_root apt-get update -q && as_root apt-get install -y -q postgresql; } >&2
  programs=$(find_programs) || die "PostgreSQL is missing and could not be installed"
fi

# PostgreSQL refuses to run as root.
as_owner() { "$@"; }
if [ "$(id -u)" -eq 0 ]; then
  owner=nobody
  if id postgres >/dev/null 2>&1; then owner=postgres; fi
  as_owner() { setpriv --reuid "$owner" --regid "$(id -g "$owner")" --clear-groups "$@"; }
fi

free_port() {
  local port
  for _ in $(seq 100); do
    port=$((20000 + RANDOM % 12000))
    if ! (exec 3<>"/dev/tcp/127.0.0.1/$port") 2>/dev/null; then echo "$port"; return; fi
  done
  die "no free port found"
}

control() { (cd "$dir" && as_owner "$programs/pg_ctl" --pgdata="$dir/data" "$@"); }

make() {
  mkdir -p "$dir"
  if [ -n "${owner:-}" ]; then chown "$owner" "$dir"; fi
  as_owner test -w "$dir" || die "$dir is out of reach for user ${owner:-$(id -un)}; choose a folder below /tmp"
  (cd "$dir" && as_owner "$programs/initdb" --pgdata="$dir/data" --username=faultwright --auth=trust \
    --encoding=UTF8 --locale=C) >&2
  as_owner tee "$dir/data/pg_hba.conf" >/dev/null <<RULES
host all $user_with_password 127.0.0.1/32 scram-sha-256
host all all 127.0.0.1/32 trust
RULES
  as_owner tee -a "$dir/data/postgresql.conf" >/dev/null <<SETTINGS
listen_addresses = '127.0.0.1'
unix_socket_directories = ''
port = $(free_port)
fsync = on
SETTINGS
}

case $action in
  start)
    dir=$(realpath -m "$2")
    [ -f "$dir/data/PG_VERSION" ] || make
    if ! control status >/dev/null; then
      control --log="$dir/log" --wait start >&2 || { cat "$dir/log" >&2; die "the server did not start"; }
    fi
    port=$(sed -n 's/^port = //p' "$dir/data/postgresql.conf" | tail -n 1)
    echo "postgresql://faultwright@127.0.0.1:$port/postgres"
    ;;
  stop)
    dir=$(realpath "$2")
    control --mode=fast --wait stop >&2
    ;;
  *) die "$usage" ;;
esac
