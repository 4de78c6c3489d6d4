#!/bin/sh
# Finds Chromium for the browser tests; installs it from the distribution's packages where this user may.
# Says in one line what is missing; the tests that need it then say so again and fail.
for name in chromium chromium-browser google-chrome; do
  if command -v "$name" >/dev/null 2>&1; then exit 0; fi
done
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
  echo "Installing Chromium for the browser tests ..."
  if apt-get update -qq >/dev/null 2>&1 && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq chromium >/dev/null 2>&1; then exit 0; fi
fi
echo "No Chromium found: the browser tests will fail. Install it with your system's package manager (package 'chromium')."
exit 0
