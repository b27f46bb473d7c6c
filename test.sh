#!/usr/bin/env bash
# Installs what is missing, then checks everything: reference figures, format, lints, tests, docs.
set -euo pipefail
cd "$(dirname "$0")"

say() { printf '\n== %s\n' "$1"; }
# Root on a bare machine has no sudo; anyone else needs it.
as_root() { if [ "$(id -u)" -eq 0 ]; then "$@"; else sudo "$@"; fi; }

say "what is needed"
command -v cargo >/dev/null || { echo "Rust is missing: install it from https://rustup.rs, then run this again"; exit 1; }
rustup component add rustfmt clippy >/dev/null 2>&1 || cargo fmt --version >/dev/null
if ! command -v cc >/dev/null || ! python3 -c 'import venv, ensurepip' 2>/dev/null; then
  as_root apt-get update -q
  as_root apt-get install -y -q gcc libc6-dev python3 python3-venv
fi
[ -x .venv/bin/python ] || python3 -m venv .venv
.venv/bin/python -m pip install --quiet --disable-pip-version-check -r reference/requirements.txt

say "reference figures, computed anew by NumPy and SciPy"
for program in reference/*.py; do
  .venv/bin/python "$program" --check
done

say "format"
cargo fmt --all --check

say "lints"
cargo clippy --workspace --all-targets --locked -- -D warnings

say "tests"
cargo test --workspace --locked

say "docs"
RUSTDOCFLAGS="-D warnings" cargo doc --workspace --no-deps --locked

say "all passed"
