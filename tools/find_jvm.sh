#!/bin/sh
# Finds a Java runtime for the Spark tests; installs it from the distribution's packages where this user may.
# Says in one line what is missing; the tests that need it are then left out with the reason printed.
if [ -n "$JAVA_HOME" ] && [ -x "$JAVA_HOME/bin/java" ]; then exit 0; fi
if command -v java >/dev/null 2>&1; then exit 0; fi
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
  echo "Installing a Java runtime for the Spark tests ..."
  if apt-get update -qq >/dev/null 2>&1 && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq openjdk-17-jre-headless >/dev/null 2>&1; then exit 0; fi
fi
echo "No Java runtime found: the Spark tests will be left out. Install Java 17 (Debian: package 'openjdk-17-jre-headless')."
exit 0
