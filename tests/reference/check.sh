#!/bin/sh
# Makes the virtual environment once, then compares the committed values with the libraries'.
# Any argument replaces --check, for instance: tests/reference/check.sh --write
set -eu
cd "$(dirname "$0")/../.."
venv=target/reference-venv
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/python" -m pip install --quiet --disable-pip-version-check -r tests/reference/requirements.txt
"$venv/bin/python" tests/reference/regenerate.py "${1:---check}"
