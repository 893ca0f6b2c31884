#!/bin/sh
# Sees that the browser tests have what they need: Node 20 or newer, npm, and Chromium (or what CHROMIUM names). What is
# missing it installs from Debian's packages where that can be done without asking, as root with apt-get; elsewhere it says
# what to install and exits with 3. Where all is there it touches nothing.
set -eu

missing() {
	node --version 2>/dev/null | grep -Eq '^v(2[0-9]|[3-9][0-9]|[0-9]{3,})\.' || printf 'nodejs '
	command -v npm >/dev/null 2>&1 || printf 'npm '
	[ -x "${CHROMIUM:-/usr/bin/chromium}" ] || printf 'chromium '
}

need=$(missing)
[ -n "$need" ] || exit 0
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
	export DEBIAN_FRONTEND=noninteractive
	apt-get update -q >&2 || true
	# shellcheck disable=SC2086 # a list of packages
	apt-get install -q -y --no-install-recommends $need >&2 || true
	need=$(missing)
	[ -n "$need" ] || exit 0
fi
echo "the browser tests need Node 20 or newer, npm and Chromium; missing here: $need(Debian: apt-get install nodejs npm chromium; another Chromium: CHROMIUM=/path)" >&2
[ "$need" = "chromium " ] || exit 4
exit 3
