#!/bin/sh
# Finds a PostgreSQL server's programs for the tests of records on a server; installs them from the distribution's
# packages where this user may. Says in one line what is missing; the tests that need them are then skipped and say why.
found() { command -v initdb >/dev/null 2>&1 || ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1; }
if found; then exit 0; fi
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
  echo "Installing PostgreSQL for the tests of records on a server ..."
  if apt-get update -qq >/dev/null 2>&1 && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq postgresql >/dev/null 2>&1 && found; then exit 0; fi
fi
echo "No PostgreSQL found: the tests of records on a server will be skipped. Install it with your system's package manager (package 'postgresql')."
exit 0
