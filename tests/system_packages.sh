#!/bin/sh
# Installs the system packages that the tests talk to, where this user may; says plainly what is missing where not.
set -eu

PATH="$PATH:/usr/sbin:/sbin"
missing=""
for pair in mosquitto:mosquitto mosquitto_sub:mosquitto-clients chromium:chromium dbus-daemon:dbus node:nodejs npm:npm; do
    command -v "${pair%%:*}" >/dev/null 2>&1 || missing="$missing ${pair##*:}"
done
python3 -c "import ensurepip" 2>/dev/null || missing="$missing python3-venv"
[ -z "$missing" ] && exit 0

if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
    echo "Installing for the tests:$missing"
    export DEBIAN_FRONTEND=noninteractive
    apt-get update -qq
    # shellcheck disable=SC2086  # a list of words on purpose
    apt-get install -y -qq --no-install-recommends $missing >/dev/null
else
    echo "The tests also need:$missing. Install them, or run as root on a Debian system." >&2
    exit 1
fi
