#!/usr/bin/env bash
# Installs what is missing, then checks everything: reference figures, format, lints, tests, docs.
set -euo pipefail
cd "$(dirname "$0")"

say() { printf '\n== %s\n' "$1"; }
# Root on a bare machine has no sudo; anyone else needs it.
as_root() { if [ "$(id -u)" -eq 0 ]; then "$@"; else sudo "$@"; fi; }

# Everything is built once here, so what would speed up a second build is left off: it takes gigabytes.
export CARGO_INCREMENTAL=0

say "what is needed"
command -v cargo >/dev/null || { echo "Rust is missing: install it from https://rustup.rs, then run this again"; exit 1; }
rustup component add rustfmt clippy >/dev/null 2>&1 || cargo fmt --version >/dev/null
missing=()
command -v cc >/dev/null || missing+=(gcc libc6-dev)
python3 -c 'import venv, ensurepip' 2>/dev/null || missing+=(python3 python3-venv)
command -v chromium >/dev/null || missing+=(chromium)
command -v chromedriver >/dev/null || missing+=(chromium-driver)
if ! command -v initdb >/dev/null && ! ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1; then missing+=(postgresql); fi
if [ "${#missing[@]}" -gt 0 ]; then
  as_root apt-get update -q
  as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -q "${missing[@]}"
fi
[ -x .venv/bin/python ] || python3 -m venv .venv
.venv/bin/python -m pip install --quiet --disable-pip-version-check -r reference/requirements.txt
# Only the accessibility checker that it carries is used, none of what it would drive.
.venv/bin/python -m pip install --quiet --disable-pip-version-check --no-deps axe-playwright-python==0.1.8

say "a PostgreSQL server for the tests"
database="$(mktemp -d)"
references_said="$(mktemp)"
references_run=
trap 'tools/postgres-for-tests.sh stop "$database" || true
  [ -z "$references_run" ] || kill "$references_run" 2>/dev/null || true
  rm -rf "$database" "$references_said"' EXIT
FAULTWRIGHT_TEST_POSTGRES="$(tools/postgres-for-tests.sh start "$database")"
export FAULTWRIGHT_TEST_POSTGRES
echo "$FAULTWRIGHT_TEST_POSTGRES"

# One after the other they take one core, and the lints beside them have the other.
references() {
  for program in reference/*.py; do
    .venv/bin/python "$program" --check
  done
}
references >"$references_said" 2>&1 &
references_run=$!

say "format"
cargo fmt --all --check

say "lints"
cargo clippy --workspace --all-targets --locked -- -D warnings

say "reference figures, computed anew by NumPy and SciPy"
wait "$references_run" || { cat "$references_said"; exit 1; }
cat "$references_said"

say "tests"
cargo test --workspace --locked

say "docs"
RUSTDOCFLAGS="-D warnings" cargo doc --workspace --no-deps --locked

say "all passed"
